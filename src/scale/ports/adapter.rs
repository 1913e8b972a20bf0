//! Who a serial port is, whatever the system calls it today: a USB adapter by its numbers and its serial number, or,
//! where it has none, by the socket it is plugged into.
//!
//! Read from the kernel's own files below `/sys/class/tty` (their names from memory), so that an invented folder serves
//! as well.

use super::Machine;
use std::fmt;
use std::path::{Path, PathBuf};

/// A USB adapter and the one of its ports that is meant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Adapter {
    vendor: String,
    product: String,
    serial: Option<String>,
    /// Which of the device's interfaces, and which port of that: an adapter can have several.
    interface: String,
    port: String,
    /// The socket it is plugged into, as the kernel numbers them: `1-1.2`.
    socket: String,
}

/// Where an adapter is now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Whereabouts {
    /// There.
    At(String),
    /// Not here. One of the same kind, that may be another, is at the port that is named.
    Gone {
        /// That port.
        alike: Option<String>,
    },
    /// Several say that they are it.
    Several(Vec<String>),
}

impl Adapter {
    /// Whether it is the same: by its serial number where it has one, by its socket where not.
    fn is(&self, other: &Self) -> bool {
        self.is_like(other)
            && self.serial == other.serial
            && (self.serial.is_some() || self.socket == other.socket)
    }

    /// Whether it is the same port of an adapter of the same kind.
    fn is_like(&self, other: &Self) -> bool {
        let kind = |one: &Self| [&one.vendor, &one.product, &one.interface, &one.port].map(String::to_owned);
        kind(self) == kind(other)
    }

    /// Whether it has a serial number, and is known by it in every socket.
    pub(crate) const fn has_serial(&self) -> bool {
        self.serial.is_some()
    }
}

impl fmt::Display for Adapter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "USB {}:{}", self.vendor, self.product)?;
        match &self.serial {
            Some(serial) => write!(f, ", serial number {serial}"),
            None => write!(f, " in socket {}", self.socket),
        }
    }
}

impl Machine {
    /// Who is at that port; none where it is no USB adapter, or where the name is not the kernel's own: a link that the
    /// system keeps stays with its adapter, or its socket, by itself.
    pub(crate) fn adapter(&self, path: &str) -> Option<Adapter> {
        let name = Path::new(path).file_name()?.to_str()?;
        let (folder, _) = path.rsplit_once('/')?;
        if folder == "/dev" { self.adapter_named(name) } else { None }
    }

    fn adapter_named(&self, name: &str) -> Option<Adapter> {
        let device = self.classes().join(name).join("device").canonicalize().ok()?;
        let has = |file: &'static str| move |folder: &&Path| folder.join(file).is_file();
        let usb = device.ancestors().find(has("idVendor"))?;
        let interface = device.ancestors().find(has("bInterfaceNumber"));
        let number =
            |folder: Option<&Path>, file| folder.and_then(|folder| read(folder, file)).unwrap_or_default();
        Some(Adapter {
            vendor: read(usb, "idVendor")?,
            product: read(usb, "idProduct")?,
            serial: read(usb, "serial"),
            interface: number(interface, "bInterfaceNumber"),
            port: number(Some(&device), "port_number"),
            socket: usb.file_name()?.to_string_lossy().into_owned(),
        })
    }

    fn classes(&self) -> PathBuf {
        self.path("/sys/class/tty")
    }

    /// Looks for an adapter among all ports.
    pub(crate) fn whereabouts(&self, known: &Adapter) -> Whereabouts {
        let names = std::fs::read_dir(self.classes()).into_iter().flatten().flatten();
        let names = names.filter_map(|entry| entry.file_name().into_string().ok());
        let mut all: Vec<(String, Adapter)> =
            names.filter_map(|name| Some((format!("/dev/{name}"), self.adapter_named(&name)?))).collect();
        all.sort_by(|a, b| a.0.cmp(&b.0));
        let mut same: Vec<&(String, Adapter)> = all.iter().filter(|(_, one)| known.is(one)).collect();
        // Cheap adapters share a serial number; of several the one in the same socket is meant.
        if same.len() > 1 && same.iter().any(|(_, one)| one.socket == known.socket) {
            same.retain(|(_, one)| one.socket == known.socket);
        }
        match same.as_slice() {
            [] => {
                let alike = all.iter().find(|(_, one)| known.is_like(one));
                Whereabouts::Gone { alike: alike.map(|(path, _)| path.clone()) }
            }
            [(path, _)] => Whereabouts::At(path.clone()),
            several => Whereabouts::Several(several.iter().map(|(path, _)| path.clone()).collect()),
        }
    }
}

/// What a file of the kernel's says, printable and trimmed; none if that is nothing.
fn read(folder: &Path, file: &str) -> Option<String> {
    let text = std::fs::read_to_string(folder.join(file)).ok()?;
    let text = text.replace(char::is_control, " ").trim().to_owned();
    (!text.is_empty()).then_some(text)
}

#[cfg(test)]
mod tests {
    use super::super::invented::{Invented, plugged};
    use super::*;

    fn at(machine: &Machine, path: &str) -> Adapter {
        machine.adapter(path).unwrap()
    }

    #[test]
    fn an_adapter_is_known_by_its_serial_number_in_any_socket() {
        let house = Invented::new();
        house.plug("ttyUSB0", &plugged("1-1.2", Some("A1")));
        let known = at(&house.machine, "/dev/ttyUSB0");
        assert_eq!(known.to_string(), "USB 1a86:7523, serial number A1");
        house.unplug("ttyUSB0");
        assert_eq!(house.machine.whereabouts(&known), Whereabouts::Gone { alike: None });
        house.plug("ttyUSB0", &plugged("1-1.2", Some("B2")));
        let alike = Some("/dev/ttyUSB0".to_owned());
        assert_eq!(house.machine.whereabouts(&known), Whereabouts::Gone { alike });
        house.plug("ttyUSB1", &plugged("1-1.3", Some("A1")));
        assert_eq!(house.machine.whereabouts(&known), Whereabouts::At("/dev/ttyUSB1".to_owned()));
    }

    #[test]
    fn without_a_serial_number_it_is_known_by_its_socket_alone() {
        let house = Invented::new();
        house.plug("ttyUSB0", &plugged("1-1.2", None));
        let known = at(&house.machine, "/dev/ttyUSB0");
        assert_eq!(known.to_string(), "USB 1a86:7523 in socket 1-1.2");
        house.unplug("ttyUSB0");
        house.plug("ttyUSB1", &plugged("1-1.3", None));
        let alike = Some("/dev/ttyUSB1".to_owned());
        assert_eq!(house.machine.whereabouts(&known), Whereabouts::Gone { alike });
        house.plug("ttyUSB7", &plugged("1-1.2", None));
        assert_eq!(house.machine.whereabouts(&known), Whereabouts::At("/dev/ttyUSB7".to_owned()));
    }

    #[test]
    fn of_several_with_one_serial_number_the_one_in_the_same_socket_is_meant() {
        let house = Invented::new();
        house.plug("ttyUSB0", &plugged("1-1.2", Some("0001")));
        let known = at(&house.machine, "/dev/ttyUSB0");
        house.plug("ttyUSB1", &plugged("1-1.3", Some("0001")));
        assert_eq!(house.machine.whereabouts(&known), Whereabouts::At("/dev/ttyUSB0".to_owned()));
        house.unplug("ttyUSB0");
        house.plug("ttyUSB0", &plugged("1-1.4", Some("0001")));
        assert!(
            matches!(house.machine.whereabouts(&known), Whereabouts::Several(several) if several.len() == 2)
        );
    }

    #[test]
    fn the_two_ports_of_one_adapter_are_two() {
        let house = Invented::new();
        let two = plugged("1-1.2", Some("A1"));
        house.plug("ttyUSB0", &two);
        house.plug("ttyUSB1", &super::super::invented::Plugged { interface: "01", ..two });
        let known = at(&house.machine, "/dev/ttyUSB1");
        assert!(!known.is_like(&at(&house.machine, "/dev/ttyUSB0")));
        assert_eq!(house.machine.whereabouts(&known), Whereabouts::At("/dev/ttyUSB1".to_owned()));
    }

    #[test]
    fn a_lasting_name_and_what_is_no_usb_need_no_following() {
        let house = Invented::new();
        house.plug("ttyUSB0", &plugged("1-1.2", Some("A\u{7}1")));
        assert!(at(&house.machine, "/dev/ttyUSB0").to_string().ends_with("A 1"));
        for path in ["/dev/serial/by-id/usb-x-if00", "/dev/ttyS0", "/elsewhere/ttyUSB0", "ttyUSB0"] {
            assert_eq!(house.machine.adapter(path), None, "{path}");
        }
    }
}
