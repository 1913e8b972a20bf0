//! A serial port, opened exclusively, with both hand-shake lines raised: some scales stay mute without them.

use super::{OpenError, READ_WAIT_MS, Transport, is_idle};
use crate::scale::ports;
use crate::scale::shape::UsualLine;
use serialport::{DataBits, ErrorKind, FlowControl, Parity, SerialPort, StopBits, TTYPort};
use std::io::{self, Read, Write};
use std::path::Path;
use std::time::Duration;

pub(super) struct SerialLine(TTYPort);

impl SerialLine {
    pub(super) fn open(path: &str, line: UsualLine, dtr: bool, rts: bool) -> Result<Self, OpenError> {
        let mut port = serialport::new(path, line.baud)
            .data_bits(if line.data_bits == 7 { DataBits::Seven } else { DataBits::Eight })
            .parity(match line.parity {
                'E' => Parity::Even,
                'O' => Parity::Odd,
                _ => Parity::None,
            })
            .stop_bits(if line.stop_bits == 2 { StopBits::Two } else { StopBits::One })
            .flow_control(FlowControl::None)
            .timeout(Duration::from_millis(READ_WAIT_MS))
            .open_native()
            .map_err(|error| explain(path, &error))?;
        // A pseudo terminal has no such lines and says so; a real port that refuses is no worse off.
        let _ = port.write_data_terminal_ready(dtr);
        let _ = port.write_request_to_send(rts);
        Ok(Self(port))
    }
}

/// The library gives busy and absent the same kind, so the text and the file itself have to tell.
fn explain(path: &str, error: &serialport::Error) -> OpenError {
    let text = error.to_string();
    let lower = text.to_lowercase();
    let here = || path.to_owned();
    if lower.contains("busy") || lower.contains("exclusive lock") {
        return OpenError::Busy(here());
    }
    let denied = matches!(error.kind(), ErrorKind::Io(io::ErrorKind::PermissionDenied));
    if denied || lower.contains("permission denied") {
        return OpenError::Forbidden { path: here(), remedy: ports::remedy(Path::new(path)) };
    }
    if !Path::new(path).exists() || matches!(error.kind(), ErrorKind::NoDevice) {
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
