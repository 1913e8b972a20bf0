//! A real port to be searched.

use super::marks::{Marks, Unmark};
use super::{Byte, Probe, Refusal};
use crate::scale::Clock;
use crate::scale::address::Address;
use crate::scale::ports::Machine;
use crate::scale::shape::UsualLine;
use crate::scale::transport::{OpenError, Opener, Transport};
use crate::units::Moment;
use std::time::{Duration, Instant};

/// A serial port of this machine. Opened with the first setting that is tried, and closed when it is dropped.
pub struct PortProbe {
    path: String,
    clock: Clock,
    marks: Option<Marks>,
    marked: bool,
    unmark: Unmark,
    open: Option<Box<dyn Transport>>,
}

impl PortProbe {
    /// The port with that path.
    pub fn new(path: &str) -> Self {
        let marks = Marks::of(path);
        Self {
            path: path.to_owned(),
            clock: Clock::running(),
            marked: marks.is_some(),
            marks,
            unmark: Unmark::default(),
            open: None,
        }
    }

    fn open_at(&self, line: UsualLine) -> Result<Box<dyn Transport>, Refusal> {
        let UsualLine { baud, data_bits, parity, stop_bits } = line;
        let line = format!("baud={baud}&line={data_bits}{parity}{stop_bits}");
        // A format belongs to every address; this way knows nothing of it.
        let address: Result<Address, _> = format!("serial:{}?{line}&shape=sma&poll=none", self.path).parse();
        let address = address.map_err(|error| Refusal::Gone(error.to_string()))?;
        // Nobody waits with it: a port is open at once or not at all.
        let opened = Opener::new(&address, &self.clock, Machine::this()).open(&mut |_| false);
        opened.map(|opened| opened.line).map_err(|error| match error {
            OpenError::Other { .. } => Refusal::Setting(error.to_string()),
            _ => Refusal::Gone(error.to_string()),
        })
    }
}

impl std::fmt::Debug for PortProbe {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("PortProbe")
            .field("path", &self.path)
            .field("marked", &self.marked)
            .finish_non_exhaustive()
    }
}

fn gone(path: &str, error: &std::io::Error) -> Refusal {
    Refusal::Gone(format!(
        "{path} went away while it was listened to ({error}): check the cable, then look again"
    ))
}

impl Probe for PortProbe {
    fn now(&self) -> Moment {
        self.clock.now()
    }

    fn set_before(&self) -> Option<UsualLine> {
        self.marks.as_ref().and_then(|marks| marks.before)
    }

    fn set(&mut self, line: UsualLine) -> Result<UsualLine, Refusal> {
        self.open = None;
        let mut port = self.open_at(line)?;
        let begun = self.marks.as_ref().and_then(Marks::begin);
        self.marked = begun.is_some_and(|(_, marked)| marked);
        self.unmark = Unmark::default();
        // What came at another setting, or before the marks, is nothing to judge by.
        let mut old = [0; 1024];
        let until = Instant::now() + Duration::from_millis(200);
        while Instant::now() < until && port.read(&mut old).map_err(|error| gone(&self.path, &error))? > 0 {}
        self.open = Some(port);
        Ok(begun.map_or(line, |(line, _)| line))
    }

    fn read(&mut self, ms: u64, out: &mut Vec<Byte>) -> Result<(), Refusal> {
        let Some(port) = &mut self.open else { return Ok(()) };
        let until = self.clock.now().plus(ms);
        let mut buffer = [0; 1024];
        loop {
            let count = port.read(&mut buffer).map_err(|error| gone(&self.path, &error))?;
            let bytes = buffer.get(..count).unwrap_or_default();
            if self.marked {
                self.unmark.take(bytes, out);
            } else {
                out.extend(bytes.iter().map(|&value| Byte { value, damaged: false }));
            }
            if count > 0 || self.clock.now() >= until {
                return Ok(());
            }
        }
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), Refusal> {
        let Some(port) = &mut self.open else { return Ok(()) };
        port.write(bytes).map_err(|error| gone(&self.path, &error))
    }

    fn tells_damage(&self) -> bool {
        self.marked
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scale::shape::by_name;
    use crate::scale::{Control, Manner, Spec, StandIn};

    /// A pseudo terminal has no parity and says so, and its marks are the system's own: FF comes doubled and is made
    /// one again.
    #[test]
    fn a_port_is_set_and_read_with_its_marks_taken_out() {
        let folder = tempfile::tempdir().unwrap();
        let link = folder.path().join("scale");
        let manner =
            Manner { shape: by_name("sma").unwrap(), spec: Spec::default(), seed: 1, streams: false };
        let bench = StandIn::on_pty(&link, manner).unwrap();
        let mut port = PortProbe::new(link.to_str().unwrap());
        assert!(port.tells_damage() && port.set_before().is_some(), "{port:?}");
        let asked = UsualLine { baud: 2400, data_bits: 7, parity: 'E', stop_bits: 1 };
        assert_eq!(port.set(asked), Ok(UsualLine { baud: 2400, data_bits: 8, parity: 'N', stop_bits: 1 }));
        let sent = [b'a', 0xff, 0x00, 0xff, 0xff, b'b'];
        bench.control(Control::Raw(sent.to_vec()));
        let mut came = Vec::new();
        for _ in 0..100 {
            port.read(50, &mut came).unwrap();
            if came.len() >= sent.len() {
                break;
            }
        }
        assert_eq!(came, sent.map(|value| Byte { value, damaged: false }));
        port.write(b"\nW\r").unwrap();
        came.clear();
        for _ in 0..100 {
            port.read(50, &mut came).unwrap();
            if came.len() >= 20 {
                break;
            }
        }
        assert!(came.first().is_some_and(|byte| byte.value == b'\n') && came.len() == 20, "{came:?}");
    }
}
