//! A recorded byte stream, played at its own speed or as fast as it goes, then at its end.

use super::{OpenError, READ_WAIT_MS, Transport};
use crate::scale::Clock;
use crate::scale::shape::Shape;
use crate::scale::tape::{Chunk, Tape};
use crate::units::Moment;
use std::collections::VecDeque;
use std::io;
use std::path::Path;
use std::time::Duration;

pub(super) struct TapeLine {
    chunks: VecDeque<Chunk>,
    shape: Option<&'static dyn Shape>,
    full_speed: bool,
    begun: Moment,
    clock: Clock,
    arrived: Option<Moment>,
}

impl TapeLine {
    pub(super) fn open(file: &Path, full_speed: bool, clock: &Clock) -> Result<Self, OpenError> {
        let tape = Tape::load(file).map_err(|error| OpenError::Tape(error.to_string()))?;
        Ok(Self {
            chunks: tape.chunks.into(),
            shape: tape.shape,
            full_speed,
            begun: clock.now(),
            clock: clock.clone(),
            arrived: None,
        })
    }
}

impl Transport for TapeLine {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let Some(next) = self.chunks.front_mut() else {
            return Err(io::Error::new(io::ErrorKind::UnexpectedEof, "the tape is at its end"));
        };
        let due = self.begun.plus(next.at_ms);
        if !self.full_speed {
            let wait = due.since(self.clock.now());
            if wait > 0 {
                std::thread::sleep(Duration::from_millis(wait.min(READ_WAIT_MS)));
                return Ok(0);
            }
        }
        self.arrived = Some(due);
        let count = next.bytes.len().min(buffer.len());
        for (slot, byte) in buffer.iter_mut().zip(next.bytes.drain(..count)) {
            *slot = byte;
        }
        if next.bytes.is_empty() {
            self.chunks.pop_front();
        }
        Ok(count)
    }

    fn write(&mut self, _bytes: &[u8]) -> io::Result<()> {
        Ok(())
    }

    fn arrived(&self) -> Option<Moment> {
        self.arrived
    }

    fn shape(&self) -> Option<&'static dyn Shape> {
        self.shape
    }

    fn ends(&self) -> bool {
        true
    }
}
