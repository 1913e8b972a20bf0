//! What else a serial port is busy with: the system's console, a login, a program that holds it. Told from the kernel's
//! own lists below `/proc` (proc(5), from memory), before the port is opened where that can be.

use super::Machine;
use std::os::unix::fs::{FileTypeExt, MetadataExt};
use std::path::{Path, PathBuf};

/// Both numbers of a device.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Device {
    major: u64,
    minor: u64,
}

impl Device {
    fn of(path: &Path) -> Option<Self> {
        let metadata = std::fs::metadata(path).ok()?;
        let rdev = metadata.rdev();
        // The C library's way to put the two numbers into one.
        let major = (rdev >> 8) & 0xFFF | (rdev >> 32) & !0xFFF;
        let minor = rdev & 0xFF | (rdev >> 12) & !0xFF;
        metadata.file_type().is_char_device().then_some(Self { major, minor })
    }

    /// As the kernel writes the controlling terminal of a process.
    const fn from_tty(number: u64) -> Self {
        Self { major: (number >> 8) & 0xFFF, minor: number & 0xFF | (number >> 12) & 0xF_FF00 }
    }
}

/// A program that is running.
struct Process {
    folder: PathBuf,
    id: u32,
}

impl Process {
    fn name(&self) -> Option<String> {
        let name = std::fs::read_to_string(self.folder.join("comm")).ok()?;
        Some(name.trim().replace(char::is_control, " "))
    }

    /// The terminal it is controlled by; none if there is none.
    fn terminal(&self) -> Option<Device> {
        let stat = std::fs::read_to_string(self.folder.join("stat")).ok()?;
        // Its name may have anything in it, a bracket as well: what counts stands behind the last one.
        let (_, rest) = stat.rsplit_once(')')?;
        let number: i64 = rest.split_whitespace().nth(4)?.parse().ok()?;
        let number = u64::from(u32::try_from(number & 0xFFFF_FFFF).ok()?);
        (number != 0).then_some(Device::from_tty(number))
    }

    /// Whether it has that file open; other users' programs do not tell.
    fn holds(&self, file: &Path) -> bool {
        let open = std::fs::read_dir(self.folder.join("fd")).into_iter().flatten().flatten();
        open.into_iter().any(|entry| std::fs::read_link(entry.path()).is_ok_and(|target| target == file))
    }
}

/// The usual service that opens new serial ports to look for modems.
const MODEM_SERVICE: &str = "ModemManager";

impl Machine {
    fn processes(&self) -> impl Iterator<Item = Process> + use<> {
        let entries = std::fs::read_dir(self.path("/proc")).into_iter().flatten().flatten();
        entries.filter_map(|entry| {
            let id = entry.file_name().to_str()?.parse().ok()?;
            Some(Process { folder: entry.path(), id })
        })
    }

    /// What keeps a scale from using that port, and what to do, in a few words; none if nothing is known.
    pub(crate) fn occupied(&self, path: &Path) -> Option<String> {
        let device = Device::of(path)?;
        let name = path.canonicalize().ok()?.file_name()?.to_string_lossy().into_owned();
        let consoles = std::fs::read_to_string(self.path("/proc/consoles")).unwrap_or_default();
        let Device { major, minor } = device;
        if consoles.lines().any(|line| line.split_whitespace().last() == Some(&format!("{major}:{minor}"))) {
            return Some(format!(
                "the system writes its messages to it: take console={name} out of the kernel's command line, or \
                 use another port"
            ));
        }
        let login = self.processes().find(|process| process.terminal() == Some(device))?;
        let program = login.name().unwrap_or_else(|| "a program".to_owned());
        Some(if name.starts_with("tty") {
            format!(
                "it is the terminal of a login ({program}): end that, or run `sudo systemctl disable --now \
                 serial-getty@{name}.service`, or use another port"
            )
        } else {
            format!("it is somebody's terminal window ({program}), and no serial port")
        })
    }

    /// Who holds that port, in a few words, as far as this user may know.
    pub(crate) fn holder(&self, path: &Path) -> Option<String> {
        let file = path.canonicalize().ok()?;
        let mut modem_service = None;
        for process in self.processes() {
            let name = process.name();
            if process.holds(&file) {
                let name = name.unwrap_or_else(|| "unnamed".to_owned());
                return Some(format!("{name}, process {}", process.id));
            }
            if name.as_deref() == Some(MODEM_SERVICE) {
                modem_service = Some("perhaps the modem service, which is running".to_owned());
            }
        }
        modem_service
    }

    /// What stands at that path, if it is no device at all.
    pub(crate) fn no_device(path: &Path) -> Option<&'static str> {
        let kind = std::fs::metadata(path).ok()?.file_type();
        Some(match kind {
            _ if kind.is_char_device() => return None,
            _ if kind.is_dir() => "a folder",
            _ if kind.is_file() => "an ordinary file",
            _ if kind.is_block_device() => "a disk",
            _ => "no device",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::super::invented::Invented;
    use super::*;
    use serialport::{SerialPort, TTYPort};

    #[test]
    fn a_port_with_the_systems_console_or_a_login_on_it_is_told() {
        let house = Invented::new();
        let (_master, slave) = TTYPort::pair().unwrap();
        let path = PathBuf::from(slave.name().unwrap());
        assert_eq!(house.machine.occupied(&path), None);
        let Device { major, minor } = Device::of(&path).unwrap();
        // Below the system's own folder of devices a pseudo terminal has its number for a name.
        assert_eq!(path.file_name().unwrap().to_str().unwrap(), minor.to_string());
        let number = (minor & 0xFF) | (major << 8) | ((minor & !0xFF) << 12);
        house.write("proc/712/comm", "agetty\n");
        house.write("proc/712/stat", &format!("712 (a) getty)) S 1 712 712 {number} 712 4194304 1\n"));
        let why = house.machine.occupied(&path).unwrap();
        assert!(why.contains("agetty"), "{why}");
        house.write("proc/consoles", &format!("ttyS9  -W- (EC p a)  4:73\nttyX -W- (E) {major}:{minor}\n"));
        let why = house.machine.occupied(&path).unwrap();
        assert!(why.contains("console=") && why.contains("command line"), "{why}");
    }

    #[test]
    fn whoever_holds_a_port_is_named_where_that_may_be_known() {
        let (_master, slave) = TTYPort::pair().unwrap();
        let path = PathBuf::from(slave.name().unwrap());
        let holder = Machine::this().holder(&path).unwrap();
        assert!(holder.ends_with(&format!("process {}", std::process::id())), "{holder}");
        let house = Invented::new();
        assert_eq!(house.machine.holder(&path), None);
        house.write("proc/99/comm", MODEM_SERVICE);
        assert!(house.machine.holder(&path).unwrap().contains("modem service"));
    }

    /// The numbers of devices as Linux has had them since 2.6, from memory: eight bits of the minor, twelve of the
    /// major, the rest of the minor.
    #[test]
    fn numbers_of_devices_are_taken_apart() {
        assert_eq!(Device::from_tty(0x8803), Device { major: 136, minor: 3 });
        assert_eq!(Device::from_tty(0x0010_8803), Device { major: 136, minor: 0x103 });
        // Documented in the kernel's list of devices: /dev/null is 1:3.
        assert_eq!(Device::of(Path::new("/dev/null")), Some(Device { major: 1, minor: 3 }));
        assert_eq!(Device::of(&std::env::temp_dir()), None);
    }

    #[test]
    fn what_is_no_device_is_told() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("note.txt");
        std::fs::write(&file, "").unwrap();
        assert_eq!(Machine::no_device(folder.path()), Some("a folder"));
        assert_eq!(Machine::no_device(&file), Some("an ordinary file"));
        assert_eq!(Machine::no_device(Path::new("/dev/null")), None);
        assert_eq!(Machine::no_device(&folder.path().join("none")), None);
    }
}
