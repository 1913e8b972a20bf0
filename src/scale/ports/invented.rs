//! A machine that is not there, for tests: a folder with the files that a kernel keeps of serial ports.

use super::Machine;
use std::fs;
use std::path::PathBuf;
use tempfile::TempDir;

/// A folder in the place of the root folder.
pub(crate) struct Invented {
    pub(crate) folder: TempDir,
    pub(crate) machine: Machine,
}

/// What is plugged in where.
#[derive(Clone, Copy)]
pub(crate) struct Plugged {
    pub(crate) socket: &'static str,
    pub(crate) serial: Option<&'static str>,
    pub(crate) interface: &'static str,
}

/// An adapter with one port.
pub(crate) const fn plugged(socket: &'static str, serial: Option<&'static str>) -> Plugged {
    Plugged { socket, serial, interface: "00" }
}

impl Invented {
    pub(crate) fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let machine = Machine::below(folder.path());
        fs::create_dir_all(folder.path().join("sys/class/tty")).unwrap();
        fs::create_dir_all(folder.path().join("dev")).unwrap();
        Self { folder, machine }
    }

    pub(crate) fn write(&self, path: &str, text: &str) {
        let path = self.folder.path().join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    /// The device's own place, where a stand-in can put its link.
    pub(crate) fn device(&self, name: &str) -> PathBuf {
        self.folder.path().join("dev").join(name)
    }

    /// As the kernel lists an adapter of the usbserial kind: the port below the interface below the device.
    pub(crate) fn plug(&self, name: &str, plugged: &Plugged) {
        let Plugged { socket, serial, interface } = plugged;
        let usb = format!("sys/devices/usb1/{socket}");
        let port = format!("{usb}/{socket}:1.{interface}/{name}");
        self.write(&format!("{usb}/idVendor"), "1a86\n");
        self.write(&format!("{usb}/idProduct"), "7523\n");
        if let Some(serial) = serial {
            self.write(&format!("{usb}/serial"), &format!("{serial}\n"));
        }
        self.write(&format!("{usb}/{socket}:1.{interface}/bInterfaceNumber"), &format!("{interface}\n"));
        self.write(&format!("{port}/port_number"), "0\n");
        let class = self.folder.path().join("sys/class/tty").join(name);
        fs::create_dir_all(&class).unwrap();
        std::os::unix::fs::symlink(self.folder.path().join(port), class.join("device")).unwrap();
    }

    pub(crate) fn unplug(&self, name: &str) {
        let class = self.folder.path().join("sys/class/tty").join(name);
        let port = class.join("device").canonicalize().unwrap();
        fs::remove_dir_all(class).unwrap();
        fs::remove_dir_all(port.parent().unwrap().parent().unwrap()).unwrap();
    }
}
