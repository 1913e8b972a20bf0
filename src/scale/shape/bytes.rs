//! No format at all: what comes in is only looked at, byte by byte, until somebody knows what it means.

use super::{Ask, Decoded, Decoder, Shape, UsualLine};
use crate::scale::Frame;

/// Bytes without a meaning. Nothing is ever sent, and nothing is ever a weight.
#[derive(Clone, Copy, Debug)]
pub struct Bytes;

impl Bytes {
    /// Its name in an address.
    pub const NAME: &'static str = "none";
}

impl Shape for Bytes {
    fn name(&self) -> &'static str {
        Self::NAME
    }

    fn looks_like(&self) -> &'static str {
        "anything: only its bytes are shown"
    }

    /// What most scales are delivered with (common practice, no source).
    fn usual_line(&self) -> UsualLine {
        UsualLine::COMMON
    }

    fn decoder(&self) -> Box<dyn Decoder> {
        Box::new(All)
    }

    fn ask(&self, _what: Ask) -> Option<&[u8]> {
        None
    }

    fn encode(&self, _frame: &Frame) -> Vec<u8> {
        Vec::new()
    }

    fn understand(&self, _bytes: &[u8]) -> Option<(Ask, usize)> {
        None
    }

    /// Nothing, so that the tape can be played later with the format that was found.
    fn on_tape(&self) -> String {
        String::new()
    }
}

struct All;

impl Decoder for All {
    fn push(&mut self, bytes: &[u8], out: &mut Vec<Decoded>) {
        if !bytes.is_empty() {
            out.push(Decoded::Noise(bytes.len()));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_read_and_nothing_is_sent() {
        let mut out = Vec::new();
        Bytes.decoder().push(b"ST,+001234.5  g\r\n", &mut out);
        assert_eq!(out, [Decoded::Noise(17)]);
        for ask in [Ask::Now, Ask::WhenStable, Ask::Repeat, Ask::Zero, Ask::Tare] {
            assert_eq!(Bytes.ask(ask), None);
        }
    }
}
