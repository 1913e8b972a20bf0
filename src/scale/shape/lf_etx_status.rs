//! A line of weight, a line of status bytes, ETX.
//!
//! | layout (`_` for a blank) | what it is |
//! |---|---|
//! | LF, sign and weight at the right, unit of two, CR LF, H1 H2, CR ETX | `<LF>____12.34_g<CR><LF>30<CR><ETX>` |
//! | the same with `S` before the status bytes, or with H3 behind them | a sibling; a scale that tells gross from net |
//! | LF, H1 H2 (H3), CR ETX | status alone: the answer to zero and tare, and of some scales while they move |
//! | LF, unit, CR LF, H1 H2 (H3), CR ETX | the answer to the unit key |
//! | LF `?` CR ETX, or STX `?`, a status byte or two, CR | no such command |
//!
//! Of the weight all may be `^` for over, `_` for under, `-` for a zero error. How wide it is differs from scale to
//! scale and stays the same on one line: a field of another width is not read until it came three times in a row.
//!
//! | bit | H1 | H2 | H3 (read second-hand) |
//! |---|---|---|---|
//! | 0 | stable | under | 0, 1: range; `10` the display is held |
//! | 1 | not at zero | over | |
//! | 2 | memory (RAM) is good | memory (ROM) fault | net |
//! | 3 | settings (EEPROM) are good | calibration fault | no zero found |
//! | 4, 5 | 1 | 1 | 1 |
//! | 6 | 0 | H3 follows | 0 |
//!
//! In siblings bits 0–3 of H1 say the opposite (all four of them: read second-hand). With the wrong one of both, a good
//! scale seems to have all faults of H1 at once, which no weight gets past.

use super::control_frames::{ControlFrames, Framed, Read};
use super::{Answer, Ask, Decoded, Decoder, Shape, UsualLine, field};
use crate::scale::{Condition, Frame, Mode, Stability};
use crate::units::Decimal;

const LF: u8 = b'\n';
const CR: u8 = b'\r';
const STX: u8 = 0x02;
const ETX: u8 = 0x03;

/// The widest weight, sign and point included (read second-hand: up to ten).
const WIDEST: usize = 12;
/// What is sent here.
const WIDTH: usize = 8;
const SAME_WIDTH: u32 = 3;

/// Line of weight, line of status, ETX.
#[derive(Clone, Copy, Debug)]
pub struct LfEtxStatus {
    /// Whether the low bits of the first status byte say the opposite.
    inverted: bool,
}

impl LfEtxStatus {
    /// A set bit of the first status byte says stable, not at zero, and no fault.
    pub const PLAIN: Self = Self { inverted: false };
    /// A set bit of the first status byte says moving, at zero, and a fault.
    pub const INVERTED: Self = Self { inverted: true };
}

impl Shape for LfEtxStatus {
    fn name(&self) -> &'static str {
        if self.inverted { "lf-etx-status-inverted" } else { "lf-etx-status" }
    }

    fn looks_like(&self) -> &'static str {
        if self.inverted {
            "the same, with the opposite bits in the first status byte: <LF>   12.34 g<CR><LF>00<CR><ETX>"
        } else {
            "LF, weight, unit, CR LF, two or three status bytes, CR ETX: <LF>   12.34 g<CR><LF>?0<CR><ETX>"
        }
    }

    /// From memory.
    fn usual_line(&self) -> UsualLine {
        UsualLine { baud: 9600, data_bits: 7, parity: 'E', stop_bits: 1 }
    }

    fn decoder(&self) -> Box<dyn Decoder> {
        Box::new(ControlFrames::new(Lines { inverted: self.inverted, width: None, other: (0, 0) }))
    }

    /// Zero and tare are answered with the status alone, so that only the next weight shows that it was done.
    fn ask(&self, what: Ask) -> Option<&[u8]> {
        match what {
            Ask::Now => Some(b"W\r"),
            Ask::Zero => Some(b"Z\r"),
            Ask::Tare => Some(b"T\r"),
            Ask::NextUnit => Some(b"U\r"),
            _ => None,
        }
    }

    fn encode(&self, frame: &Frame) -> Vec<u8> {
        encode(frame, self.inverted).unwrap_or_default()
    }

    fn reply(&self, _to: Ask, answer: &Answer) -> Option<Vec<u8>> {
        (*answer == Answer::Unknown).then(|| b"\n?\r\x03".to_vec())
    }

    fn understand(&self, bytes: &[u8]) -> Option<(Ask, usize)> {
        let known = [("W", Ask::Now), ("Z", Ask::Zero), ("T", Ask::Tare), ("U", Ask::NextUnit)];
        field::understand_line(bytes, &known)
    }
}

struct Lines {
    inverted: bool,
    /// How wide the weight is on this line.
    width: Option<usize>,
    /// Another width, and how often it came in a row.
    other: (usize, u32),
}

impl Framed for Lines {
    /// LF, weight and unit, CR LF, `S` and three, CR ETX.
    const MOST: usize = 1 + WIDEST + 2 + 2 + 4 + 2;

    fn starts(byte: u8) -> bool {
        byte == LF || byte == STX
    }

    #[inline]
    fn read(&mut self, bytes: &[u8], before: u8) -> Read {
        if bytes.starts_with(&[STX]) {
            return no_such_command(bytes);
        }
        let Some((first, rest)) = line(bytes, WIDEST + 2) else { return Read::Nothing };
        let length = first.len() + 2;
        match rest {
            [] => Read::More,
            // After a CR it is the second line of a frame whose first was damaged, and no status alone.
            [ETX, ..] if before != CR => whole(length + 1, self.alone(first)),
            [LF, ..] => match line(rest, 4) {
                Some((_, [])) => Read::More,
                Some((status, [ETX, ..])) => whole(length + status.len() + 3, self.weight(first, status)),
                _ => Read::Nothing,
            },
            _ => Read::Nothing,
        }
    }
}

fn whole(length: usize, decoded: Option<Decoded>) -> Read {
    decoded.map_or(Read::Nothing, |decoded| Read::Whole(length, decoded))
}

/// What stands between the mark at the beginning and the CR, and what comes after it, which is nothing as long as
/// there is no CR. None if no such line of at most that many bytes begins here.
#[inline]
fn line(bytes: &[u8], most: usize) -> Option<(&[u8], &[u8])> {
    let (_, bytes) = bytes.split_first()?;
    let end = bytes.iter().take(most + 1).position(|byte| *byte == CR);
    let (text, rest) = bytes.split_at_checked(end.unwrap_or(bytes.len()))?;
    let fits = text.len() <= most && field::all(text, |byte| matches!(byte, b' '..=0x7f));
    match rest {
        _ if !fits => None,
        [] => Some((text, rest)),
        [_, rest @ ..] => (!text.is_empty()).then_some((text, rest)),
    }
}

/// STX, `?`, one to three status bytes, CR.
fn no_such_command(bytes: &[u8]) -> Read {
    match bytes {
        [_] => Read::More,
        [_, b'?', rest @ ..] => {
            let length = rest.iter().take(4).take_while(|byte| matches!(byte, b'0'..=0x7f)).count();
            match rest.get(length) {
                None if length <= 3 => Read::More,
                Some(&CR) if (1..=3).contains(&length) => {
                    Read::Whole(length + 3, Decoded::Answer(Answer::Unknown))
                }
                _ => Read::Nothing,
            }
        }
        _ => Read::Nothing,
    }
}

/// The status bytes, with those of the first as they are in [`LfEtxStatus::PLAIN`].
struct Status {
    first: u8,
    second: u8,
    third: Option<u8>,
}

impl Status {
    fn read(bytes: &[u8], inverted: bool) -> Option<Self> {
        let (first, second, third) = match bytes.strip_prefix(b"S").unwrap_or(bytes) {
            [first, second] => (*first, *second, None),
            [first, second, third] => (*first, *second, Some(*third)),
            _ => return None,
        };
        let follows = if third.is_some() { 0b0111_0000 } else { 0b0011_0000 };
        let fits = first & 0xf0 == 0b0011_0000
            && second & 0xf0 == follows
            && third.is_none_or(|third| third & 0xf0 == 0b0011_0000);
        let first = if inverted { first ^ 0x0f } else { first };
        fits.then_some(Self { first, second, third })
    }

    const fn stability(&self) -> Stability {
        if self.first & 1 == 0 { Stability::Moving } else { Stability::Stable }
    }

    const fn mode(&self) -> Mode {
        match self.third {
            Some(third) if third & 0b100 == 0 => Mode::Gross,
            Some(_) => Mode::Net,
            None => Mode::Unknown,
        }
    }

    /// Whether nothing is amiss: memories good, neither over nor under, not held.
    const fn is_ok(&self) -> bool {
        let held_or_no_zero = match self.third {
            Some(third) => third & 0b1000 != 0 || third & 0b11 == 0b10,
            None => false,
        };
        self.first & 0b1100 == 0b1100 && matches!(self.second & 0b1111, 0) && !held_or_no_zero
    }

    fn condition(&self) -> Condition {
        for (fault, first, second) in FAULTS {
            let both = first & !self.first | second & self.second;
            if both == first | second {
                return Condition::Device(fault.to_owned());
            }
        }
        match (self.second & 0b11, self.third.unwrap_or(0)) {
            (0b00, third) if third & 0b1000 != 0 => Condition::ZeroError,
            (0b00, third) if third & 0b11 == 0b10 => Condition::Device(HELD.to_owned()),
            (0b00, _) => Condition::Ok,
            (0b01, _) => Condition::Under,
            _ => Condition::Over,
        }
    }
}

const HELD: &str = "display held";
/// What can be broken, by the bits that say so: clear ones of the first byte, set ones of the second.
const FAULTS: [(&str, u8, u8); 5] = [
    ("RAM, EEPROM fault", 0b1100, 0),
    ("RAM fault", 0b0100, 0),
    ("EEPROM fault", 0b1000, 0),
    ("ROM fault", 0, 0b0100),
    ("calibration fault", 0, 0b1000),
];

impl Lines {
    /// A line on its own: without a weight there is none, whatever else the status says.
    #[inline]
    fn alone(&self, line: &[u8]) -> Option<Decoded> {
        if line == b"?" {
            return Some(Decoded::Answer(Answer::Unknown));
        }
        let status = Status::read(line, self.inverted)?;
        let condition = match status.condition() {
            Condition::Ok => Condition::NotReady,
            other => other,
        };
        let (stability, mode) = (status.stability(), status.mode());
        Some(Decoded::Frame(Frame { stability, mode, ..field::no_number(condition) }))
    }

    #[inline]
    fn weight(&mut self, first: &[u8], status: &[u8]) -> Option<Decoded> {
        let status = Status::read(status, self.inverted)?;
        let (weight, unit) = first.split_at_checked(first.len().checked_sub(2)?)?;
        let (unit, unit_text) = field::unit(unit)?;
        if unit_text.is_empty() {
            return None;
        }
        if weight.is_empty() {
            return Some(Decoded::Answer(Answer::Done));
        }
        let (stability, mode) = (status.stability(), status.mode());
        let marked = marks(weight);
        let value = if marked.is_some() { None } else { Some(number(weight)?) };
        if value.is_some() && !self.is_the_width(weight.len()) {
            return None;
        }
        if value.is_none() || !status.is_ok() {
            let condition = match (status.condition(), marked) {
                (Condition::Device(fault), _) => Condition::Device(fault),
                (other, marked) => marked.unwrap_or(other),
            };
            let none = field::no_number(condition);
            return Some(Decoded::Frame(Frame { unit, unit_text, stability, mode, ..none }));
        }
        let centre_of_zero = Some(status.first & 0b10 == 0);
        let rest = field::no_number(Condition::Ok);
        Some(Decoded::Frame(Frame { value, unit, unit_text, stability, mode, centre_of_zero, ..rest }))
    }

    fn is_the_width(&mut self, width: usize) -> bool {
        let known = *self.width.get_or_insert(width);
        if known == width {
            self.other = (0, 0);
            return true;
        }
        let (other, times) = self.other;
        self.other = if other == width { (other, times + 1) } else { (width, 1) };
        if self.other.1 >= SAME_WIDTH {
            self.width = Some(width);
            self.other = (0, 0);
            return true;
        }
        false
    }
}

/// A number at the right, its sign before it or at the left of the field.
#[expect(clippy::inline_always, reason = "handed over in memory, what is read costs as much as reading it")]
#[inline(always)]
fn number(weight: &[u8]) -> Option<Decimal> {
    let (sign, number) = match weight {
        [b'-', rest @ ..] => (b'-', field::after_blanks(rest)),
        _ => field::sign_apart(weight),
    };
    field::signed(sign, field::digits(number)?)
}

/// What a weight made of marks alone says.
#[inline]
fn marks(weight: &[u8]) -> Option<Condition> {
    let marks = field::after_blanks(weight);
    let (mark, rest) = marks.split_first()?;
    let condition = match mark {
        b'^' => Condition::Over,
        b'_' => Condition::Under,
        b'-' => Condition::ZeroError,
        _ => return None,
    };
    (rest.len() >= 2 && rest.iter().all(|byte| byte == mark)).then_some(condition)
}

/// `None` for what the format has no way to say.
fn encode(frame: &Frame, inverted: bool) -> Option<Vec<u8>> {
    let (mut first, mut second) = (0b0011_1110, 0b0011_0000);
    first |= match frame.stability {
        Stability::Stable => 1,
        Stability::Moving => 0,
        Stability::Unknown => return None,
    };
    if frame.centre_of_zero == Some(true) {
        first &= !0b10;
    }
    let weight = match (frame.value, &frame.condition) {
        (Some(value), Condition::Ok) => Some(field::right(&value.to_string(), WIDTH)?),
        (_, Condition::Over) => {
            second |= 0b10;
            Some("^".repeat(WIDTH))
        }
        (_, Condition::Under) => {
            second |= 0b01;
            Some("_".repeat(WIDTH))
        }
        (_, Condition::ZeroError) => Some("-".repeat(WIDTH)),
        (_, Condition::NotReady) => None,
        (_, Condition::Device(said)) => {
            let (_, clear, set) = FAULTS.iter().find(|(fault, ..)| fault == said)?;
            first &= !clear;
            second |= set;
            None
        }
        (_, Condition::Ok | Condition::TareError) => return None,
    };
    first ^= if inverted { 0x0f } else { 0 };
    let third = match frame.mode {
        Mode::Unknown => None,
        Mode::Gross => Some(0b0011_0001),
        Mode::Net => Some(0b0011_0101),
        Mode::Tare => return None,
    };
    second |= if third.is_some() { 0b0100_0000 } else { 0 };
    let mut bytes = Vec::new();
    if let Some(weight) = weight {
        let letters = field::unit_letters(frame);
        let unit = field::right(letters, 2).filter(|_| !letters.is_empty())?;
        bytes.extend(format!("\n{weight}{unit}\r").bytes());
    }
    bytes.extend([LF, first, second]);
    bytes.extend(third);
    bytes.extend([CR, ETX]);
    Some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn values(pieces: &[&str]) -> Vec<String> {
        let mut decoder = LfEtxStatus::PLAIN.decoder();
        let mut out = Vec::new();
        for piece in pieces {
            decoder.push(format!("\n{piece}kg\r\n?0\r\x03").as_bytes(), &mut out);
        }
        let value = |item| if let Decoded::Frame(frame) = item { frame.value } else { None };
        out.into_iter().filter_map(value).map(|value| value.to_string()).collect()
    }

    #[test]
    fn another_width_counts_once_it_came_three_times_in_a_row() {
        assert_eq!(values(&["  1.250", " 1.250", "  1.251"]), ["1.250", "1.251"]);
        assert_eq!(values(&["  1.250", " 1.260", " 1.260", " 1.260"]), ["1.250", "1.260"]);
        assert_eq!(values(&["  1.250", " 1.260", " 1.260", "  1.250", " 1.260"]), ["1.250", "1.250"]);
    }

    /// The opposite polarity of a good scale looks as if two of its memories were broken.
    #[test]
    fn the_wrong_sibling_never_reads_a_weight() {
        for (writes, reads) in
            [(LfEtxStatus::PLAIN, LfEtxStatus::INVERTED), (LfEtxStatus::INVERTED, LfEtxStatus::PLAIN)]
        {
            for stability in [Stability::Stable, Stability::Moving] {
                let frame = Frame {
                    value: Some(Decimal::TEN),
                    unit_text: "g".into(),
                    stability,
                    ..field::no_number(Condition::Ok)
                };
                let mut out = Vec::new();
                reads.decoder().push(&writes.encode(&frame), &mut out);
                let [Decoded::Frame(read)] = out.as_slice() else { panic!("{out:?}") };
                assert_eq!(read.condition, Condition::Device("RAM, EEPROM fault".to_owned()));
            }
        }
    }
}
