//! The virtual bench behind a wire of its own: its readings are encoded and decoded like any other's.

use super::{READ_WAIT_MS, Transport};
use crate::scale::Clock;
use crate::scale::address::Address;
use crate::scale::shape::Shape;
use crate::scale::virtual_bench::{Hand, Spec, VirtualBench};
use crate::units::Moment;
use std::io;
use std::time::Duration;

pub(super) struct VirtualLine {
    bench: VirtualBench,
    shape: &'static dyn Shape,
    clock: Clock,
    /// Up to when the model has run.
    run_to: Moment,
    next_frame: Moment,
    frame_ms: u64,
    /// Answers on their way back.
    answers: Vec<u8>,
}

impl VirtualLine {
    pub(super) fn open(address: &Address, seed: u64, rate_hz: u32, clock: &Clock) -> Self {
        let mut spec = Spec { rate_hz, ..Spec::default() };
        if let Some(division) = address.division {
            spec.division = division;
        }
        if let Some(capacity) = address.capacity {
            spec.capacity = capacity;
        }
        let now = clock.now();
        let frame_ms = 1_000_u64.checked_div(u64::from(spec.rate_hz)).unwrap_or(100).max(1);
        Self {
            bench: VirtualBench::new(spec, seed),
            shape: address.shape(),
            clock: clock.clone(),
            run_to: now,
            next_frame: now.plus(frame_ms),
            frame_ms,
            answers: Vec::new(),
        }
    }

    fn run(&mut self, now: Moment) {
        self.bench.advance(now.since(self.run_to));
        self.run_to = now;
    }
}

fn fill(buffer: &mut [u8], bytes: &mut Vec<u8>) -> usize {
    let count = bytes.len().min(buffer.len());
    for (slot, byte) in buffer.iter_mut().zip(bytes.drain(..count)) {
        *slot = byte;
    }
    count
}

impl Transport for VirtualLine {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        if !self.answers.is_empty() {
            return Ok(fill(buffer, &mut self.answers));
        }
        let wait = self.next_frame.since(self.clock.now());
        if wait > 0 {
            std::thread::sleep(Duration::from_millis(wait.min(READ_WAIT_MS)));
        }
        let now = self.clock.now();
        if now < self.next_frame {
            return Ok(0);
        }
        self.run(now);
        self.next_frame = self.next_frame.plus(self.frame_ms).max(now);
        Ok(fill(buffer, &mut self.bench.bytes(self.shape)))
    }

    fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.run(self.clock.now());
        // A link sends whole commands, so nothing is kept of one that is not.
        let mut rest = bytes;
        while let Some((what, used)) = self.shape.understand(rest) {
            self.answers.extend(self.bench.answer(what, self.shape));
            rest = rest.get(used.max(1)..).unwrap_or_default();
        }
        Ok(())
    }

    fn hand(&mut self, hand: Hand) {
        self.run(self.clock.now());
        self.bench.hand(hand);
    }

    fn in_cup(&self) -> Option<f64> {
        Some(self.bench.in_cup())
    }
}
