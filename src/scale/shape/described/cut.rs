//! Cuts a byte stream into the lines of a described format.

use super::Framed;
use super::place::LONGEST;
use crate::scale::UnitText;
use crate::scale::shape::{Decoded, Decoder, field};
use memchr::memchr2;
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

    /// A line that begins and ends in these bytes, if nothing is held: how many of them it was, with its marks. None
    /// where something is out of the ordinary: that is taken byte by byte.
    fn whole(&mut self, of: &Framed, bytes: &[u8], out: &mut Vec<Decoded>) -> Option<usize> {
        let Framed { start, end, .. } = of;
        let (lead, inside) = match (self.inside, start.as_slice()) {
            (true, _) => (0, bytes),
            // The rest of a line that was too long.
            (false, []) => return None,
            (false, start) => (start.len(), bytes.strip_prefix(start)?),
        };
        let last = *end.last()?;
        let mut length = 0;
        loop {
            let rest = inside.get(length..)?;
            length += memchr2(last, start.last().copied().unwrap_or(last), rest)? + 1;
            let line = inside.get(..length)?;
            if line.len() > LONGEST + end.len() || !start.is_empty() && line.ends_with(start) {
                return None;
            }
            if let Some(line) = line.strip_suffix(&**end) {
                self.inside = true;
                self.end(of, line, out);
                return Some(lead + length);
            }
        }
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
                self.end_held(of, out);
            }
        } else if end.last() == Some(&byte) && self.held.ends_with(end) {
            self.end_held(of, out);
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

    fn end_held(&mut self, of: &Framed, out: &mut Vec<Decoded>) {
        let mut held = std::mem::take(&mut self.held);
        let line = held.strip_suffix(&*of.end).unwrap_or_default();
        self.end(of, line, out);
        held.clear();
        self.held = held;
    }

    /// A line, without its marks, inside of which its end came.
    fn end(&mut self, of: &Framed, line: &[u8], out: &mut Vec<Decoded>) {
        let Framed { start, end, layout } = of;
        let printable = field::all_printable(line)
            || line.iter().all(|byte| matches!(byte, b' '..=b'~') || layout.separator == Some(*byte));
        if let Some(frame) = printable.then(|| layout.read(line, &mut self.last_unit).ok()).flatten() {
            self.report(out);
            out.push(Decoded::Frame(frame));
        } else if !line.is_empty() || !start.is_empty() {
            self.noise += start.len() + line.len() + end.len();
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
        let mut rest = bytes;
        while let Some((byte, behind)) = rest.split_first() {
            let whole = if self.held.is_empty() { self.whole(&of, rest, out) } else { None };
            if let Some(whole) = whole {
                rest = rest.get(whole..).unwrap_or_default();
            } else {
                self.take(&of, *byte, out);
                rest = behind;
            }
        }
        self.report(out);
    }
}
