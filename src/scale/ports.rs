//! The machine's serial ports, and what to do about one that may not be opened.

mod adapter;
#[cfg(test)]
pub(crate) mod invented;
mod occupied;

pub(crate) use adapter::{Adapter, Whereabouts};

use serialport::{SerialPortInfo, SerialPortType};
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

/// A serial port as the system lists it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Port {
    /// The device, `/dev/ttyUSB0`.
    pub path: String,
    /// What the adapter says of itself, printable.
    pub product: Option<String>,
    /// Its USB vendor and product numbers, `1a86:7523`.
    pub usb: Option<String>,
    /// A name that stays with the adapter whatever socket it is plugged into.
    pub lasting: Option<String>,
    /// Why this user may not open it, and what to do.
    pub forbidden: Option<String>,
}

/// The machine whose files say what is plugged in: this one, or a folder that looks like one.
#[derive(Clone, Debug, Default)]
pub struct Machine {
    root: Option<PathBuf>,
}

impl Machine {
    /// This machine.
    pub const fn this() -> Self {
        Self { root: None }
    }

    /// One whose root folder is that folder, for tests.
    pub fn below(root: &Path) -> Self {
        Self { root: Some(root.to_owned()) }
    }

    /// Where a path of that machine really is.
    pub(crate) fn path(&self, path: &str) -> PathBuf {
        match &self.root {
            None => PathBuf::from(path),
            Some(root) => root.join(path.trim_start_matches('/')),
        }
    }
}

/// The machine's serial ports. The motherboard's own (`/dev/ttyS…`) are listed even where no socket leads
/// outside, so they are only given when asked for.
pub fn list(with_built_in: bool) -> Vec<Port> {
    let lasting = lasting_names();
    let mut ports: Vec<Port> = listed()
        .into_iter()
        .filter(|port| with_built_in || !port.port_name.starts_with("/dev/ttyS"))
        .map(|port| {
            let (product, usb) = match port.port_type {
                SerialPortType::UsbPort(usb) => {
                    let words =
                        [usb.manufacturer, usb.product].into_iter().flatten().collect::<Vec<_>>().join(" ");
                    let words = words.replace(char::is_control, " ");
                    let named = !words.trim().is_empty();
                    (named.then(|| words.trim().to_owned()), Some(format!("{:04x}:{:04x}", usb.vid, usb.pid)))
                }
                _ => (None, None),
            };
            let device = Path::new(&port.port_name);
            Port {
                product,
                usb,
                lasting: lasting.iter().find(|(_, target)| target == device).map(|(name, _)| name.clone()),
                forbidden: forbidden(device),
                path: port.port_name,
            }
        })
        .collect();
    add_unlisted(&mut ports, &lasting);
    ports.sort_by(|a, b| a.path.cmp(&b.path));
    ports
}

fn listed() -> Vec<SerialPortInfo> {
    // Without that folder, as in some containers, the library does not return.
    if cfg!(target_os = "linux") && !Path::new("/sys/class/tty").is_dir() {
        return Vec::new();
    }
    serialport::available_ports().unwrap_or_default()
}

/// Adds what the system has a lasting name for and the library does not list: it knows only some kinds of device.
fn add_unlisted(ports: &mut Vec<Port>, lasting: &[(String, PathBuf)]) {
    for (name, device) in lasting {
        let path = device.display().to_string();
        if !ports.iter().any(|port| port.path == path) {
            let forbidden = forbidden(device);
            ports.push(Port { path, product: None, usb: None, lasting: Some(name.clone()), forbidden });
        }
    }
}

/// The links that the system keeps by the adapters' own names, and what they point to.
fn lasting_names() -> Vec<(String, PathBuf)> {
    let Ok(entries) = std::fs::read_dir("/dev/serial/by-id") else { return Vec::new() };
    entries
        .flatten()
        .filter_map(|entry| {
            let target = std::fs::canonicalize(entry.path()).ok()?;
            Some((entry.path().display().to_string(), target))
        })
        .collect()
}

/// Why this user may not open the device; none if nothing speaks against it. Opening is the only sure test,
/// and opening a serial port can reset a scale, so only the file's own rights are looked at.
fn forbidden(device: &Path) -> Option<String> {
    let metadata = std::fs::metadata(device).ok()?;
    let me = Identity::of_this_process()?;
    let mode = metadata.mode();
    let allowed = me.user == 0
        || metadata.uid() == me.user && mode & 0o600 == 0o600
        || me.groups.contains(&metadata.gid()) && mode & 0o060 == 0o060
        || mode & 0o006 == 0o006;
    (!allowed).then(|| remedy(device))
}

/// What to do about a device that may not be opened: names the group that the device really has.
pub fn remedy(device: &Path) -> String {
    let metadata = std::fs::metadata(device).ok();
    // A group that may not use it either is no way in.
    let group = metadata.filter(|metadata| metadata.mode() & 0o060 == 0o060).map(|metadata| metadata.gid());
    remedy_by(group.and_then(group_name).as_deref())
}

fn remedy_by(group: Option<&str>) -> String {
    match group {
        Some(group) if group != "root" => format!(
            "it belongs to the group '{group}'. Run `sudo usermod -aG {group} $USER`, then log out and in again"
        ),
        _ => "only the administrator may use it. A udev rule that gives it to a group is needed; \
              see hardware-notes.md"
            .to_owned(),
    }
}

fn group_name(id: u32) -> Option<String> {
    let groups = std::fs::read_to_string("/etc/group").ok()?;
    groups.lines().find_map(|line| {
        let mut fields = line.split(':');
        let name = fields.next()?;
        (fields.nth(1)?.parse() == Ok(id)).then(|| name.to_owned())
    })
}

/// Who this process is, as the kernel tells in `/proc`.
struct Identity {
    user: u32,
    groups: Vec<u32>,
}

impl Identity {
    fn of_this_process() -> Option<Self> {
        let status = std::fs::read_to_string("/proc/self/status").ok()?;
        let numbers = |key: &str| {
            let line = status.lines().find_map(|line| line.strip_prefix(key))?;
            Some(line.split_whitespace().filter_map(|word| word.parse().ok()).collect::<Vec<u32>>())
        };
        // The second of the four is the one that counts when a file is opened.
        let user = numbers("Uid:")?.get(1).copied()?;
        let mut groups = numbers("Groups:")?;
        groups.extend(numbers("Gid:")?.get(1));
        Some(Self { user, groups })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_remedy_names_the_group_that_the_file_has() {
        use std::os::unix::fs::PermissionsExt;
        let file = tempfile::NamedTempFile::new().unwrap();
        let name = group_name(std::fs::metadata(file.path()).unwrap().gid()).unwrap();
        for (mode, group) in [(0o660, Some(name.as_str())), (0o640, None), (0o600, None)] {
            std::fs::set_permissions(file.path(), std::fs::Permissions::from_mode(mode)).unwrap();
            assert_eq!(remedy(file.path()), remedy_by(group), "{mode:o}");
        }
        assert!(remedy_by(Some("plugdev")).contains("sudo usermod -aG plugdev $USER"));
        assert!(remedy_by(Some("root")).contains("udev") && remedy_by(None).contains("udev"));
    }

    #[test]
    fn what_has_a_lasting_name_is_listed_whoever_knows_it() {
        let named = |path: &str| Port {
            path: path.to_owned(),
            product: None,
            usb: None,
            lasting: Some(format!("{path}-by-id")),
            forbidden: None,
        };
        let mut ports = vec![named("/nowhere/ttyUSB0")];
        let lasting =
            ["/nowhere/ttyUSB0", "/nowhere/ttyODD3"].map(|path| (format!("{path}-by-id"), path.into()));
        add_unlisted(&mut ports, &lasting);
        assert_eq!(ports, [named("/nowhere/ttyUSB0"), named("/nowhere/ttyODD3")]);
    }

    #[test]
    fn the_administrator_is_known_by_number_nought() {
        assert_eq!(group_name(0).as_deref(), Some("root"));
        assert!(Identity::of_this_process().is_some());
    }
}
