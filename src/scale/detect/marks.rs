//! Which bytes of a real port came damaged: the system marks them in the stream if it is told to (POSIX, termios,
//! `PARMRK`), and what the port was set to before anybody touched it.

use super::Byte;
use crate::scale::shape::UsualLine;
use rustix::termios::{ControlModes, InputModes, OptionalActions, Termios, tcgetattr, tcsetattr};
use std::fs::{File, OpenOptions};
use std::os::unix::fs::{FileTypeExt, OpenOptionsExt};

/// A second handle of the port, for its settings alone. While it is open the hand-shake lines stay as they are, so
/// that a scale which restarts when they fall does not.
#[derive(Debug)]
pub(super) struct Marks {
    port: File,
    /// What it was set to before.
    pub(super) before: Option<UsualLine>,
}

impl Marks {
    /// Opens it beside the one that reads and writes, and before that: a port that is held is not opened twice.
    pub(super) fn of(path: &str) -> Option<Self> {
        if !std::fs::metadata(path).ok()?.file_type().is_char_device() {
            return None;
        }
        let flags = rustix::fs::OFlags::NOCTTY | rustix::fs::OFlags::NONBLOCK;
        let flags = i32::try_from(flags.bits()).ok()?;
        let port = OpenOptions::new().read(true).write(true).custom_flags(flags).open(path).ok()?;
        let before = line_of(&tcgetattr(&port).ok()?);
        Some(Self { port, before })
    }

    /// Has damaged bytes marked from now on. The setting in force, and whether it is done.
    pub(super) fn begin(&self) -> Option<(UsualLine, bool)> {
        let mut settings = tcgetattr(&self.port).ok()?;
        settings.input_modes.remove(InputModes::IGNPAR | InputModes::ISTRIP);
        settings.input_modes.insert(InputModes::PARMRK | InputModes::INPCK);
        let done = tcsetattr(&self.port, OptionalActions::Now, &settings).is_ok();
        let now = tcgetattr(&self.port).ok()?;
        let marked = now.input_modes.contains(InputModes::PARMRK | InputModes::INPCK);
        Some((line_of(&now)?, done && marked))
    }
}

fn line_of(settings: &Termios) -> Option<UsualLine> {
    let modes = settings.control_modes;
    let data_bits = match modes & ControlModes::CSIZE {
        bits if bits == ControlModes::CS8 => 8,
        bits if bits == ControlModes::CS7 => 7,
        _ => return None,
    };
    let parity = match (modes.contains(ControlModes::PARENB), modes.contains(ControlModes::PARODD)) {
        (false, _) => 'N',
        (true, false) => 'E',
        (true, true) => 'O',
    };
    let stop_bits = if modes.contains(ControlModes::CSTOPB) { 2 } else { 1 };
    let baud = settings.input_speed();
    (baud >= 50).then_some(UsualLine { baud, data_bits, parity, stop_bits })
}

/// Takes the marks out of what was read: FF 00 and a byte is that byte damaged, FF FF a whole FF, in hexadecimal. A mark
/// may be split between reads.
#[derive(Debug, Default)]
pub(super) struct Unmark {
    begun: Vec<u8>,
}

impl Unmark {
    pub(super) fn take(&mut self, bytes: &[u8], out: &mut Vec<Byte>) {
        for &value in bytes {
            self.begun.push(value);
            let (value, damaged) = match self.begun.as_slice() {
                [0xff] | [0xff, 0x00] => continue,
                [0xff, 0x00, value] => (*value, true),
                // Anything else behind the mark's first byte is no mark: the system always doubles it.
                _ => (value, false),
            };
            self.begun.clear();
            out.push(Byte { value, damaged });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_taken_out_wherever_they_are_split() {
        let stream = [b'a', 0xff, 0x00, b'b', 0xff, 0xff, 0xff, 0x00, 0xff, 0xff, 0x00, 0x00, b'c'];
        let byte = |value, damaged| Byte { value, damaged };
        let told = [
            byte(b'a', false),
            byte(b'b', true),
            byte(0xff, false),
            byte(0xff, true),
            byte(0x00, true),
            byte(b'c', false),
        ];
        for split in 0..=stream.len() {
            let (mut unmark, mut out) = (Unmark::default(), Vec::new());
            unmark.take(&stream[..split], &mut out);
            unmark.take(&stream[split..], &mut out);
            assert_eq!(out, told, "{split}");
        }
    }
}
