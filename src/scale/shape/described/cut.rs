//! Cuts a byte stream into the lines of a described format.

use super::Framed;
use super::place::LONGEST;
use crate::scale::UnitText;
use crate::scale::shape::{Decoded, Decoder, field};
use std::sync::Arc;

/// The decoder of a described format. Holds one line at most.
///
/// Bytes are judged as they are, and a line with one that cannot be printed is noise. All bytes of what does not
/// fit count as noise; an empty line harms nobody.
pub(super) struct Cutter {
    of: Arc<Framed>,
    /// The line so far, or while outside of one, as many bytes as may be part of the mark that leads in.
    held: Vec<u8>,
    inside: bool,
    noise: usize,
    last_unit: field::Unit,
}

impl Cutter {
    pub(super) fn new(of: Arc<Framed>) -> Self {
        let inside = of.start.is_empty();
        Self { of, held: Vec::with_capacity(LONGEST), inside, noise: 0, last_unit: (None, UnitText::EMPTY) }
    }

    fn take(&mut self, of: &Framed, byte: u8, out: &mut Vec<Decoded>) {
        let Framed { start, end, layout } = of;
        self.held.push(byte);
        if start.last() == Some(&byte) && self.held.ends_with(start) {
            // A new start in the middle of a line: the end of that one was lost.
            self.noise += self.held.len() - start.len() + if self.inside { start.len() } else { 0 };
            self.held.clear();
            self.inside = true;
        } else if !self.inside {
            self.outside(of);
        } else if end.is_empty() {
            if layout.lengths.first() == Some(&self.held.len()) {
                self.end(of, out);
            }
        } else if end.last() == Some(&byte) && self.held.ends_with(end) {
            self.end(of, out);
        } else if self.held.len() > LONGEST + end.len() {
            self.drop_held();
            self.inside = false;
        }
    }

    /// Waits for a start mark; without one in the format, for the end of a line that is too long.
    fn outside(&mut self, of: &Framed) {
        let Framed { start, end, .. } = of;
        let lead = if start.is_empty() { end } else { start };
        if start.is_empty() && self.held.ends_with(end) {
            self.drop_held();
            self.inside = true;
        } else if self.held.len() >= lead.len() {
            self.held.remove(0);
            self.noise += 1;
        }
    }

    fn end(&mut self, of: &Framed, out: &mut Vec<Decoded>) {
        let Framed { start, end, layout } = of;
        let line = self.held.get(..self.held.len() - end.len()).unwrap_or_default();
        let printable =
            line.iter().all(|byte| matches!(byte, b' '..=b'~') || layout.separator == Some(*byte));
        let frame = printable.then(|| layout.read(line, &mut self.last_unit).ok()).flatten();
        if let Some(frame) = frame {
            self.report(out);
            out.push(Decoded::Frame(frame));
            self.held.clear();
        } else {
            if self.held.len() == end.len() && start.is_empty() {
                self.held.clear();
            }
            self.drop_held();
        }
        self.inside = start.is_empty();
    }

    /// What was held, and the start mark before it, belong to no line after all.
    fn drop_held(&mut self) {
        self.noise += self.held.len() + if self.inside { self.of.start.len() } else { 0 };
        self.held.clear();
    }

    fn report(&mut self, out: &mut Vec<Decoded>) {
        if self.noise > 0 {
            out.push(Decoded::Noise(std::mem::take(&mut self.noise)));
        }
    }
}

impl Decoder for Cutter {
    fn push(&mut self, bytes: &[u8], out: &mut Vec<Decoded>) {
        let of = Arc::clone(&self.of);
        for &byte in bytes {
            self.take(&of, byte, out);
        }
        self.report(out);
    }
}
