//! A serial port, opened exclusively, with both hand-shake lines raised: some scales stay mute without them.

use super::com_port::Wanted;
use super::{OpenError, READ_WAIT_MS, Transport, is_idle};
use crate::scale::address::Flow;
use crate::scale::ports::{self, Machine};
use serialport::{DataBits, ErrorKind, FlowControl, Parity, SerialPort, StopBits, TTYPort};
use std::io::{self, Read, Write};
use std::path::Path;
use std::time::Duration;

pub(super) struct SerialLine(TTYPort);

impl SerialLine {
    /// Opens the device that has that path on that machine.
    pub(super) fn open(machine: &Machine, path: &str, wanted: Wanted) -> Result<Self, OpenError> {
        let Wanted { line, flow, dtr, rts } = wanted;
        let device = machine.path(path);
        if let Some(what) = Machine::no_device(&device) {
            return Err(OpenError::NotAPort { path: path.to_owned(), what });
        }
        if let Some(why) = machine.occupied(&device) {
            return Err(OpenError::Occupied { path: path.to_owned(), why });
        }
        let mut port = serialport::new(device.to_string_lossy(), line.baud)
            .data_bits(if line.data_bits == 7 { DataBits::Seven } else { DataBits::Eight })
            .parity(match line.parity {
                'E' => Parity::Even,
                'O' => Parity::Odd,
                _ => Parity::None,
            })
            .stop_bits(if line.stop_bits == 2 { StopBits::Two } else { StopBits::One })
            .flow_control(match flow {
                Flow::None => FlowControl::None,
                Flow::XonXoff => FlowControl::Software,
                Flow::RtsCts => FlowControl::Hardware,
            })
            .timeout(Duration::from_millis(READ_WAIT_MS))
            .open_native()
            .map_err(|error| explain(machine, path, &device, &error))?;
        // A pseudo terminal has no such lines and says so; a real port that refuses is no worse off.
        let _ = port.write_data_terminal_ready(dtr);
        if flow != Flow::RtsCts {
            let _ = port.write_request_to_send(rts);
        }
        Ok(Self(port))
    }
}

/// The library gives busy and absent the same kind, so the text and the file itself have to tell.
fn explain(machine: &Machine, path: &str, device: &Path, error: &serialport::Error) -> OpenError {
    let text = error.to_string();
    let lower = text.to_lowercase();
    let here = || path.to_owned();
    if lower.contains("busy") || lower.contains("exclusive lock") {
        return OpenError::Busy { path: here(), holder: machine.holder(device) };
    }
    let denied = matches!(error.kind(), ErrorKind::Io(io::ErrorKind::PermissionDenied));
    if denied || lower.contains("permission denied") {
        return OpenError::Forbidden { path: here(), remedy: ports::remedy(device) };
    }
    if lower.contains("typewriter") || lower.contains("inappropriate ioctl") {
        return OpenError::NotAPort { path: here(), what: "another kind of device" };
    }
    if !device.exists() || matches!(error.kind(), ErrorKind::NoDevice) {
        return OpenError::Absent(here());
    }
    OpenError::Other { path: here(), why: text }
}

impl Transport for SerialLine {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        match self.0.read(buffer) {
            // A port at its end has nothing behind it any more.
            Ok(0) => Err(io::Error::new(io::ErrorKind::BrokenPipe, "the port was closed")),
            Err(error) if is_idle(&error) => Ok(0),
            other => other,
        }
    }

    fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.0.write_all(bytes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scale::shape::UsualLine;
    use rstest::rstest;

    fn wanted(flow: Flow) -> Wanted {
        let line = UsualLine { baud: 9600, data_bits: 8, parity: 'N', stop_bits: 1 };
        Wanted { line, flow, dtr: true, rts: true }
    }

    fn refusal(path: &str) -> String {
        match SerialLine::open(&Machine::this(), path, wanted(Flow::None)) {
            Ok(_) => "none".to_owned(),
            Err(error) => error.to_string(),
        }
    }

    #[test]
    fn what_is_no_serial_port_is_said_to_be_none() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("note.txt");
        std::fs::write(&file, "").unwrap();
        for (path, what) in [
            (folder.path(), "a folder"),
            (&*file, "an ordinary file"),
            (Path::new("/dev/null"), "another kind"),
        ] {
            let why = refusal(path.to_str().unwrap());
            assert!(why.contains("is no serial port but") && why.contains(what), "{why}");
        }
        assert!(refusal(folder.path().join("none").to_str().unwrap()).contains("is not there"));
    }

    #[test]
    fn a_port_that_is_held_names_who_holds_it() {
        let (_master, near) = TTYPort::pair().unwrap();
        let path = near.name().unwrap();
        drop(near);
        let _holder = serialport::new(&path, 9600).open_native().unwrap();
        let why = refusal(&path);
        assert!(why.contains("another program holds"), "{why}");
        // The administrator is not kept out by the mark that a port is held, but by its lock alone.
        assert!(why.contains(&format!("process {}", std::process::id())), "{why}");
    }

    #[rstest]
    #[case(Flow::None, FlowControl::None)]
    #[case(Flow::XonXoff, FlowControl::Software)]
    #[case(Flow::RtsCts, FlowControl::Hardware)]
    fn flow_control_is_set(#[case] flow: Flow, #[case] set: FlowControl) {
        let (_master, near) = TTYPort::pair().unwrap();
        let path = near.name().unwrap();
        drop(near);
        let line = SerialLine::open(&Machine::this(), &path, wanted(flow)).unwrap();
        assert_eq!(line.0.flow_control().unwrap(), set);
    }
}
