//! Cuts a byte stream into frames for the formats that are framed by control bytes, where a frame may hold any
//! byte: a check byte that happens to be a mark, marks inside.
//!
//! Nothing is dropped but the first byte of what turns out to be no frame: another may begin inside it. Bytes are
//! judged as they are: bit 7 is not stripped, for the reason given in [`super::assembler`].

use super::{Decoded, Decoder};

/// What stands at the beginning of some bytes.
pub(super) enum Read {
    /// The beginning of a frame, as far as it goes.
    More,
    /// A frame of that many bytes, and what it says.
    Whole(usize, Decoded),
    /// So many bytes that belong to the line and say nothing.
    Silent(usize),
    /// No frame, whatever may follow.
    Nothing,
}

/// What a byte is that stands outside any frame.
pub(super) enum Outside {
    /// It belongs to nothing.
    Noise,
    /// It belongs to the line and says nothing.
    Silent,
    /// It is an answer of its own.
    Says(Decoded),
}

/// The frames of one format.
pub(super) trait Framed: Send {
    /// The longest frame, in bytes.
    const MOST: usize;
    /// Whether a frame may begin with that byte.
    fn starts(byte: u8) -> bool;
    /// Reads the frame at the beginning of the bytes, of which the first [starts](Framed::starts) one, and before
    /// which that byte stood. What was answered to fewer bytes holds for more: only [`Read::More`] may become
    /// something else.
    fn read(&mut self, bytes: &[u8], before: u8) -> Read;
    /// What a byte is that starts no frame.
    fn outside(&mut self, _byte: u8) -> Outside {
        Outside::Noise
    }
}

/// The decoder of such a format. Holds less than one frame.
pub(super) struct ControlFrames<F> {
    format: F,
    held: Vec<u8>,
    /// The byte before what is held.
    before: u8,
    noise: usize,
}

impl<F: Framed> ControlFrames<F> {
    pub(super) fn new(format: F) -> Self {
        Self { format, held: Vec::with_capacity(F::MOST), before: 0, noise: 0 }
    }

    /// Takes what can be told already; gives back how many bytes that were. Behind them a frame has begun.
    fn cut(&mut self, bytes: &[u8], out: &mut Vec<Decoded>) -> usize {
        let mut used = 0;
        while let Some(rest @ [first, ..]) = bytes.get(used..) {
            self.pass(bytes, used);
            if !F::starts(*first) {
                match self.format.outside(*first) {
                    Outside::Noise => self.noise += 1,
                    Outside::Silent => {}
                    Outside::Says(said) => self.say(said, out),
                }
                used += 1;
                continue;
            }
            match self.format.read(rest, self.before) {
                Read::More if rest.len() < F::MOST => break,
                Read::More | Read::Nothing => {
                    self.noise += 1;
                    used += 1;
                }
                Read::Silent(length) => used += length.max(1),
                Read::Whole(length, said) => {
                    self.say(said, out);
                    used += length.max(1);
                }
            }
        }
        self.pass(bytes, used);
        used
    }

    fn pass(&mut self, bytes: &[u8], used: usize) {
        let last = used.checked_sub(1).and_then(|last| bytes.get(last));
        self.before = last.copied().unwrap_or(self.before);
    }

    fn say(&mut self, said: Decoded, out: &mut Vec<Decoded>) {
        self.report(out);
        out.push(said);
    }

    fn report(&mut self, out: &mut Vec<Decoded>) {
        if self.noise > 0 {
            out.push(Decoded::Noise(std::mem::take(&mut self.noise)));
        }
    }
}

impl<F: Framed> Decoder for ControlFrames<F> {
    fn push(&mut self, bytes: &[u8], out: &mut Vec<Decoded>) {
        let mut rest = bytes;
        // What began before is ended with as much as a frame may need, so that no more than one is ever held.
        while !self.held.is_empty() && !rest.is_empty() {
            let mut held = std::mem::take(&mut self.held);
            let began = held.len();
            let (more, behind) = rest.split_at(rest.len().min(F::MOST.saturating_sub(began)));
            held.extend_from_slice(more);
            let used = self.cut(&held, out);
            if let Some(used) = used.checked_sub(began) {
                // What is told now ends in this read: the next begins there.
                rest = rest.get(used..).unwrap_or_default();
                held.clear();
            } else {
                rest = behind;
                held.drain(..used);
            }
            self.held = held;
        }
        if self.held.is_empty() {
            let used = self.cut(rest, out);
            self.held.extend_from_slice(rest.get(used..).unwrap_or_default());
        }
        self.report(out);
    }
}

#[cfg(test)]
mod tests {
    use super::super::Answer;
    use super::*;

    /// `<ok>` and `<okok>`, with any byte for the last; `!` outside is an answer, `.` is nothing.
    struct Sample;

    impl Framed for Sample {
        const MOST: usize = 6;

        fn starts(byte: u8) -> bool {
            byte == b'<'
        }

        fn read(&mut self, bytes: &[u8], _before: u8) -> Read {
            let whole = Read::Whole(bytes.len().min(6), Decoded::Answer(Answer::Done));
            match bytes {
                [b'<', b'<', ..] => Read::Silent(1),
                [_, b'o', b'k', b'o', b'k', _, ..] => whole,
                [_, b'o', b'k', b'o', b'k'] | [_, b'o', b'k', b'o'] | [_, b'o', b'k'] | [_, b'o'] | [_] => {
                    Read::More
                }
                [_, b'o', b'k', last, ..] if *last != b'o' => Read::Whole(4, Decoded::Answer(Answer::Done)),
                _ => Read::Nothing,
            }
        }

        fn outside(&mut self, byte: u8) -> Outside {
            match byte {
                b'!' => Outside::Says(Decoded::Answer(Answer::Unknown)),
                b'.' => Outside::Silent,
                _ => Outside::Noise,
            }
        }
    }

    fn decode(pieces: &[&[u8]]) -> Vec<Decoded> {
        let mut decoder = ControlFrames::new(Sample);
        let mut out = Vec::new();
        for piece in pieces {
            decoder.push(piece, &mut out);
            assert!(decoder.held.len() < Sample::MOST, "{:?} held", decoder.held);
        }
        out
    }

    const DONE: Decoded = Decoded::Answer(Answer::Done);
    const UNKNOWN: Decoded = Decoded::Answer(Answer::Unknown);

    #[test]
    fn frames_are_found_wherever_they_begin() {
        assert_eq!(decode(&[b"<ok>"]), [DONE]);
        assert_eq!(decode(&[b"xy<ok>z"]), [Decoded::Noise(2), DONE, Decoded::Noise(1)]);
        assert_eq!(decode(&[b"<okok>!.<ok<!"]), [DONE, UNKNOWN, DONE, UNKNOWN]);
        assert_eq!(decode(&[b"<", b"o", b"k", b"o", b"k", b">"]), [DONE]);
        assert_eq!(decode(&[b"<ok"]), []);
        assert_eq!(decode(&[b"<<ok>"]), [DONE]);
    }

    #[test]
    fn a_frame_inside_what_is_none_is_not_lost() {
        assert_eq!(decode(&[b"<oko<okok>"]), [Decoded::Noise(4), DONE]);
        assert_eq!(decode(&[b"<oko", b"<o", b"k>"]), [Decoded::Noise(4), DONE]);
        assert_eq!(decode(&[b"<ox<ok>"]), [Decoded::Noise(3), DONE]);
    }

    #[test]
    fn memory_is_bounded() {
        assert_eq!(decode(&[&[b'x'; 10_000], b"<ok>"]), [Decoded::Noise(10_000), DONE]);
        let starts = [b'<'; 1_000];
        assert_eq!(decode(&[&starts, &starts, b"ok>"]), [DONE]);
    }
}
