//! A serial line bit by bit: what a receiver at one setting gets of what was sent at another.
//!
//! A byte is a start bit (low), the data bits with the lowest first, a parity bit if there is one, and stop bits
//! (high); an idle line is high. A receiver waits for the line to fall, and looks at the middle of each bit by its own
//! clock. It looks at the first stop bit only; where that is low, the byte is damaged, and it waits for the line to
//! be high again. Times are nanoseconds.

use super::Byte;
use crate::scale::shape::UsualLine;
use std::collections::VecDeque;

const SECOND_NS: u64 = 1_000_000_000;

/// The level of the line from the moment on.
#[derive(Clone, Copy, Debug)]
struct Edge {
    at: u64,
    high: bool,
}

/// A line with its bits, and when it is free again.
#[derive(Clone, Debug, Default)]
pub(super) struct Wire {
    edges: VecDeque<Edge>,
    free: u64,
}

fn bit_ns(line: UsualLine, bits: u64) -> u64 {
    bits.saturating_mul(SECOND_NS).checked_div(u64::from(line.baud)).unwrap_or(0)
}

const fn parity_of(value: u8, parity: char) -> Option<bool> {
    let odd = value.count_ones() % 2 == 1;
    match parity {
        'E' => Some(odd),
        'O' => Some(!odd),
        _ => None,
    }
}

const fn data_of(byte: u8, line: UsualLine) -> u8 {
    if line.data_bits == 7 { byte & 0x7f } else { byte }
}

impl Wire {
    /// Sends, as soon as the line is free, and not before `at`. Gives the time at which the last stop bit ends.
    pub(super) fn send(&mut self, bytes: &[u8], line: UsualLine, at: u64) -> u64 {
        for &byte in bytes {
            let begun = self.free.max(at);
            let value = data_of(byte, line);
            let data = (0..line.data_bits).map(|bit| value >> bit & 1 == 1);
            let bits =
                std::iter::once(false).chain(data).chain(parity_of(value, line.parity)).chain(Some(true));
            let mut count = 0;
            for high in bits {
                self.set(begun.saturating_add(bit_ns(line, count)), high);
                count += 1;
            }
            let stops = u64::from(line.stop_bits).saturating_sub(1);
            self.free = begun.saturating_add(bit_ns(line, count + stops));
        }
        self.free
    }

    fn set(&mut self, at: u64, high: bool) {
        let level = self.edges.back().is_none_or(|edge| edge.high);
        if level != high {
            self.edges.push_back(Edge { at, high });
        }
    }

    /// When the last that was sent is over.
    pub(super) const fn free_at(&self) -> u64 {
        self.free
    }

    /// Forgets what was before. The level at `before` stays known.
    pub(super) fn forget(&mut self, before: u64) {
        while self.edges.get(1).is_some_and(|next| next.at <= before) {
            self.edges.pop_front();
        }
    }
}

/// A receiver.
#[derive(Clone, Debug)]
pub(super) struct Receiver {
    pub(super) line: UsualLine,
    /// From when on it looks.
    from: u64,
}

impl Receiver {
    pub(super) const fn new(line: UsualLine, from: u64) -> Self {
        Self { line, from }
    }

    /// The bytes that are complete at `now`, each with when it was.
    pub(super) fn take(&mut self, wire: &Wire, now: u64, out: &mut Vec<(u64, Byte)>) {
        let edges = &wire.edges;
        // The index of the first edge after a moment; the level before it is that of the edge before.
        let after = |at: u64| edges.partition_point(|edge| edge.at <= at);
        let level = |at: u64| match after(at).checked_sub(1) {
            Some(index) => edges.get(index).is_none_or(|edge| edge.high),
            None => true,
        };
        loop {
            // A line that is low already has to rise before it can fall.
            let index = after(self.from);
            let Some(start) = edges.range(index..).find(|edge| !edge.high) else { return };
            let middle = |bit: u64| {
                start.at.saturating_add(bit_ns(self.line, bit)).saturating_add(bit_ns(self.line, 1) / 2)
            };
            let data_bits = u64::from(self.line.data_bits);
            let parity_bits = u64::from(self.line.parity != 'N');
            let stop = middle(1 + data_bits + parity_bits);
            if stop > now {
                // The start bit is looked for again once there is more.
                return;
            }
            if level(middle(0)) {
                self.from = middle(0);
                continue;
            }
            let value = (0..data_bits).fold(0, |value, bit| value | u8::from(level(middle(1 + bit))) << bit);
            let wrong_parity = parity_of(value, self.line.parity)
                .is_some_and(|parity| parity != level(middle(1 + data_bits)));
            let damaged = wrong_parity || !level(stop);
            out.push((stop, Byte { value, damaged }));
            self.from = stop;
        }
    }
}

/// What a receiver at `at` gets of bytes that were sent at `sent`, one every so many milliseconds, on a line that is
/// idle otherwise. Nought sends them without a gap.
pub(super) fn garbled(bytes: &[u8], sent: UsualLine, at: UsualLine, every_ms: u64) -> Vec<Byte> {
    let mut wire = Wire::default();
    let mut begins = SECOND_NS / 1_000;
    for byte in bytes {
        wire.send(&[*byte], sent, begins);
        begins = begins.saturating_add(every_ms.saturating_mul(SECOND_NS / 1_000));
    }
    let mut got = Vec::new();
    Receiver::new(at, 0).take(&wire, begins.max(wire.free_at()).saturating_add(SECOND_NS), &mut got);
    got.into_iter().map(|(_, byte)| byte).collect()
}

#[cfg(test)]
mod tests {
    use super::super::line::{FRAMINGS, as_heard_at, framed};
    use super::*;

    fn heard(bytes: &[u8], sent: UsualLine, at: UsualLine) -> Vec<Byte> {
        garbled(bytes, sent, at, 0)
    }

    const fn line(baud: u32, data_bits: u8, parity: char, stop_bits: u8) -> UsualLine {
        UsualLine { baud, data_bits, parity, stop_bits }
    }

    const TEXT: &[u8] = b"\nZ1G        0.00g  \r";

    fn whole(bytes: &[u8]) -> Vec<Byte> {
        bytes.iter().map(|&value| Byte { value, damaged: false }).collect()
    }

    #[test]
    fn the_right_setting_gets_every_byte() {
        for (data_bits, parity) in FRAMINGS {
            for stop_bits in [1, 2] {
                let line = line(9600, data_bits, parity, stop_bits);
                assert_eq!(heard(TEXT, line, line), whole(TEXT), "{line:?}");
            }
        }
        let all: Vec<u8> = (0..=255).collect();
        let line = line(115_200, 8, 'O', 1);
        assert_eq!(heard(&all, line, line), whole(&all));
    }

    /// Bits counted by hand: `A` is 41h, sent 0 1000001 0 1 at 7E1, so that 8N1 gets 41h; `C` is 43h with parity 1,
    /// so that 8N1 gets C3h; at 7O1 the parity bit is the other one.
    #[test]
    fn parity_is_seen_in_bit_seven_or_as_damage() {
        assert_eq!(heard(b"AC", line(9600, 7, 'E', 1), line(9600, 8, 'N', 1)), whole(&[0x41, 0xc3]));
        assert_eq!(heard(b"AC", line(9600, 7, 'O', 1), line(9600, 8, 'N', 1)), whole(&[0xc1, 0x43]));
        let damaged = |value| Byte { value, damaged: true };
        assert_eq!(
            heard(b"AC", line(9600, 7, 'O', 1), line(9600, 7, 'E', 1)),
            [damaged(0x41), damaged(0x43)]
        );
        assert_eq!(heard(b"A", line(9600, 8, 'N', 1), line(9600, 7, 'O', 1)), [damaged(0x41)]);
        // 8E1: the parity of `A` is 0 and stands where 8N1 has its stop bit.
        assert_eq!(heard(b"A", line(9600, 8, 'E', 1), line(9600, 8, 'N', 1)), [damaged(0x41)]);
        assert_eq!(heard(b"C", line(9600, 8, 'E', 1), line(9600, 8, 'N', 1)), whole(b"C"));
    }

    /// A receiver at half the speed gets fewer bytes than were sent, one at twice the speed more, and some are damaged.
    #[test]
    fn the_wrong_speed_is_garbage() {
        let slow = heard(TEXT, line(9600, 8, 'N', 1), line(4800, 8, 'N', 1));
        let fast = heard(TEXT, line(4800, 8, 'N', 1), line(9600, 8, 'N', 1));
        assert!(slow.len() < TEXT.len() && slow.iter().any(|byte| byte.damaged), "{slow:?}");
        assert!(fast.len() > TEXT.len() && fast.iter().any(|byte| byte.damaged), "{fast:?}");
        // A byte of zeros at 1200 is a low line of nine bits, 72 bit times at 9600: one damaged zero, and then nothing
        // before it has risen.
        let zeros = heard(&[0], line(1200, 8, 'N', 1), line(9600, 8, 'N', 1));
        assert_eq!(zeros, [Byte { value: 0, damaged: true }]);
    }

    /// What is worked out from the bits that one setting heard is what the other would have got, for every pair.
    #[test]
    fn what_another_setting_would_have_heard_is_known_at_once() {
        for (data_bits, parity) in FRAMINGS {
            let right = framed(9600, data_bits, parity);
            for (data_bits, parity) in FRAMINGS {
                let at = framed(9600, data_bits, parity);
                // Eleven bits are not shown by a receiver of ten but in its stop bit, and it loses its place where
                // ten come without a gap and it looks for eleven: those are asked one byte at a time.
                for byte in TEXT {
                    let [got] = heard(&[*byte], right, at)[..] else { panic!("{right:?} {at:?} {byte}") };
                    let told = as_heard_at(right, at, got);
                    let eleven = |line: UsualLine| line.data_bits == 8 && line.parity != 'N';
                    if eleven(right) && at.data_bits == 7 {
                        assert_eq!(told, None, "{right:?} {at:?}");
                    } else {
                        assert_eq!(told, Some(*byte), "{right:?} heard at {at:?}");
                    }
                }
            }
        }
    }
}
