//! Cuts a byte stream into frames for every format that marks where a frame ends.
//!
//! Bytes are judged as they are: bit 7 is not stripped. A line with parity is opened with seven data bits, so
//! a byte with bit 7 set is damage or a wrong line setting, and the frame it stands in is noise.

use super::{Decoded, Decoder, field};
use memchr::memchr2;

/// What one whole frame, without its marks, says; `None` if it does not fit the layout exactly.
pub(super) trait Layout: Send {
    /// The longest frame of the format, in bytes without its marks.
    const MOST: usize;
    /// The byte that starts a frame. Without one, a frame starts after the end of the last.
    const START: Option<u8>;
    /// Reads the printable bytes between the marks.
    fn read(&mut self, frame: &[u8]) -> Option<Decoded>;
}

/// The decoder of a format with that layout. Holds one frame at most.
///
/// Frames end with CR; without a start mark LF ends one too, so that CR, LF and CR LF all serve. The marks of a
/// frame that does not fit count as noise where a start mark frames it, and never otherwise: a lone CR LF
/// between lines harms nobody.
pub(super) struct Assembler<L> {
    layout: L,
    held: Vec<u8>,
    place: Place,
    noise: usize,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Place {
    /// Waiting for a start mark, or for the end of a line that is too long.
    Outside,
    Inside,
}

impl<L: Layout> Assembler<L> {
    pub(super) fn new(layout: L) -> Self {
        let place = Self::ground();
        Self { layout, held: Vec::with_capacity(L::MOST), place, noise: 0 }
    }

    const fn ground() -> Place {
        if L::START.is_some() { Place::Outside } else { Place::Inside }
    }

    /// What stands before the next mark, the mark, and what comes behind it.
    fn to_mark(bytes: &[u8]) -> Option<(&[u8], u8, &[u8])> {
        let other = L::START.unwrap_or(b'\n');
        // A start mark and the LF of a CR LF stand right behind the mark before them.
        let at = match bytes {
            [first, ..] if *first == other => 0,
            _ => memchr2(b'\r', other, bytes)?,
        };
        let (run, rest) = bytes.split_at_checked(at)?;
        let (mark, rest) = rest.split_first()?;
        Some((run, *mark, rest))
    }

    /// Bytes without a mark. What does not end with this read is kept for the next, if it may be a frame yet.
    fn hold(&mut self, run: &[u8]) {
        if self.place == Place::Outside {
            self.noise += run.len();
        } else if self.held.len() + run.len() <= L::MOST {
            self.held.extend_from_slice(run);
        } else {
            self.drop_held();
            self.noise += run.len();
            self.place = Place::Outside;
        }
    }

    /// What stands before an end mark. Only what began in a read before is put together first.
    fn end(&mut self, run: &[u8], out: &mut Vec<Decoded>) {
        let together = !self.held.is_empty() || run.len() > L::MOST;
        let mut held = Vec::new();
        if together {
            self.hold(run);
            held = std::mem::take(&mut self.held);
        }
        self.judge(if together { &held } else { run }, out);
        if together {
            held.clear();
            self.held = held;
        }
        self.place = Self::ground();
    }

    /// All that stands between two marks.
    fn judge(&mut self, frame: &[u8], out: &mut Vec<Decoded>) {
        let inside = self.place == Place::Inside;
        let whole = inside && !frame.is_empty() && field::all_printable(frame);
        if let Some(decoded) = whole.then(|| self.layout.read(frame)).flatten() {
            self.report(out);
            out.push(decoded);
        } else {
            let marks = if L::START.is_some() { 1 + usize::from(inside) } else { 0 };
            self.noise += frame.len() + marks;
        }
    }

    /// What was held, and the start mark before it, belong to no frame after all.
    fn drop_held(&mut self) {
        let start = L::START.is_some() && self.place == Place::Inside;
        self.noise += self.held.len() + usize::from(start);
        self.held.clear();
    }

    fn report(&mut self, out: &mut Vec<Decoded>) {
        if self.noise > 0 {
            out.push(Decoded::Noise(std::mem::take(&mut self.noise)));
        }
    }
}

impl<L: Layout> Decoder for Assembler<L> {
    fn push(&mut self, bytes: &[u8], out: &mut Vec<Decoded>) {
        let mut rest = bytes;
        while let Some((run, mark, behind)) = Self::to_mark(rest) {
            if L::START == Some(mark) {
                self.hold(run);
                self.drop_held();
                self.place = Place::Inside;
            } else {
                self.end(run, out);
            }
            rest = behind;
        }
        self.hold(rest);
        self.report(out);
    }
}

#[cfg(test)]
mod tests {
    use super::super::Answer;
    use super::*;

    struct Marked;
    impl Layout for Marked {
        const MOST: usize = 4;
        const START: Option<u8> = Some(b'\n');
        fn read(&mut self, frame: &[u8]) -> Option<Decoded> {
            frame.starts_with(b"ok").then_some(Decoded::Answer(Answer::Done))
        }
    }

    struct Line;
    impl Layout for Line {
        const MOST: usize = 4;
        const START: Option<u8> = None;
        fn read(&mut self, frame: &[u8]) -> Option<Decoded> {
            frame.starts_with(b"ok").then_some(Decoded::Answer(Answer::Done))
        }
    }

    fn decode<L: Layout>(layout: L, bytes: &[u8]) -> Vec<Decoded> {
        let mut out = Vec::new();
        Assembler::new(layout).push(bytes, &mut out);
        out
    }

    const DONE: Decoded = Decoded::Answer(Answer::Done);

    #[test]
    fn a_start_mark_begins_anew_and_what_is_outside_is_noise() {
        assert_eq!(decode(Marked, b"\nok\r"), [DONE]);
        assert_eq!(decode(Marked, b"xyz\nok\r"), [Decoded::Noise(3), DONE]);
        assert_eq!(decode(Marked, b"\nxy\nok\r!"), [Decoded::Noise(3), DONE, Decoded::Noise(1)]);
        assert_eq!(decode(Marked, b"\nno\r\n\r\r"), [Decoded::Noise(7)]);
        assert_eq!(decode(Marked, b"\nok"), []);
    }

    #[test]
    fn a_frame_that_is_too_long_is_noise_to_its_end() {
        assert_eq!(decode(Marked, b"\nok345ok\r\nok\r"), [Decoded::Noise(9), DONE]);
        assert_eq!(decode(Line, b"ok345ok\r\nok\r\n"), [Decoded::Noise(7), DONE]);
        assert_eq!(decode(Line, &[b'x'; 10_000]), [Decoded::Noise(10_000)]);
    }

    #[test]
    fn lines_end_with_either_mark_or_both() {
        assert_eq!(decode(Line, b"ok\rok\nok\r\nok\n\r"), [DONE, DONE, DONE, DONE]);
        assert_eq!(decode(Line, b"\r\n\r\n"), []);
    }

    #[test]
    fn a_byte_that_cannot_be_printed_spoils_its_frame() {
        for byte in [0x00, 0x07, 0x1b, 0x7f, 0x80, 0xff] {
            assert_eq!(decode(Line, &[b'o', b'k', byte, b'\r']), [Decoded::Noise(3)]);
        }
    }
}
