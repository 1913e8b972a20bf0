//! STX, three status words, digits without a point.
//!
//! | byte | what it is |
//! |---|---|
//! | 0 | STX |
//! | 1–3 | status words A, B, C |
//! | 4–9 | weight, six digits, no sign, no point |
//! | 10–15 | the scale's own tare, likewise |
//! | 16 | CR |
//! | 17 | on some lines: the two's complement of the sum of all before it, seven bits |
//!
//! | word | bits |
//! |---|---|
//! | A | 0–2 P, where the point stands: the value is the digits × 10^(2−P); 3–4 the step: 1, 2, 5 |
//! | B | 0 net · 1 negative · 2 out of range · 3 moving · 4 kg rather than lb · 6 zero not found at power-up |
//! | C | 0–2 unit: 0 as B says, 1 g, 2 t, 3 oz, 4 ozt, 5 dwt, 6 short ton, 7 another · 4 expanded display |
//!
//! The rule of the check byte, the points 0 and 7, the bits B4 and B6 and the unit codes are from memory; the points,
//! B4, B6, kg, lb and g were read second-hand as well. The other bits are constant and differ: in most words bit 5 is set and bit 6 is not. Where
//! word A has them the other way round, B4 and C4 are constant too, and C0 chooses between kg (0) and lb (1) (read
//! second-hand). Where A has both or neither, nobody says what the unit bits mean, and there is no known unit.
//!
//! Where the point stands while the display is expanded is not known, so that such a number is no weight. That blanks
//! may stand for leading zeros is from memory.

use super::control_frames::{ControlFrames, Framed, Outside, Read};
use super::{Ask, Decoded, Decoder, Shape, UsualLine, field};
use crate::scale::{Condition, Frame, Mode, Stability, UnitText};
use crate::units::{Decimal, MassUnit};

const STX: u8 = 0x02;
const CR: u8 = b'\r';
/// Without the check byte.
const LENGTH: usize = 17;
/// So many right check bytes, or missing ones, in a row say whether the line has them. One byte in 128 is right by
/// chance.
const SURE: u32 = 3;

const OTHER_UNIT: &str = "other";
const NO_KNOWN_BITS: &str = "?";
const EXPANDED: &str = "expanded display";

const CONSTANT: u8 = 0b0010_0000;
const NET: u8 = 0b0001;
const NEGATIVE: u8 = 0b0010;
const OUT_OF_RANGE: u8 = 0b0100;
const MOVING: u8 = 0b1000;
const KILOGRAMS: u8 = 0b0001_0000;
const NOT_ZEROED: u8 = 0b0100_0000;
const EXPANDED_BIT: u8 = 0b0001_0000;

/// STX and status words.
#[derive(Clone, Copy, Debug)]
pub struct StxWords;

impl Shape for StxWords {
    fn name(&self) -> &'static str {
        "stx-words"
    }

    fn looks_like(&self) -> &'static str {
        "STX, three status bytes, twelve digits without a point: <STX>, 00012345000000<CR>"
    }

    /// From memory; 4800 and 8N1 are as usual.
    fn usual_line(&self) -> UsualLine {
        UsualLine { baud: 9600, data_bits: 7, parity: 'E', stop_bits: 1 }
    }

    fn decoder(&self) -> Box<dyn Decoder> {
        Box::new(ControlFrames::new(Words::default()))
    }

    /// Single letters, from memory. Most scales of this format send without end, and cannot be stopped.
    fn ask(&self, what: Ask) -> Option<&[u8]> {
        match what {
            Ask::Now => Some(b"P"),
            Ask::Zero => Some(b"Z"),
            Ask::Tare => Some(b"T"),
            Ask::ClearTare => Some(b"C"),
            _ => None,
        }
    }

    fn encode(&self, frame: &Frame) -> Vec<u8> {
        encode(frame).unwrap_or_default()
    }

    fn understand(&self, bytes: &[u8]) -> Option<(Ask, usize)> {
        bytes.iter().enumerate().find_map(|(at, byte)| {
            let ask = match byte {
                b'P' => Ask::Now,
                b'Z' => Ask::Zero,
                b'T' => Ask::Tare,
                b'C' => Ask::ClearTare,
                _ => return None,
            };
            Some((ask, at + 1))
        })
    }
}

#[derive(Default)]
struct Words {
    /// Whether every frame has a check byte.
    checked: bool,
    /// Right check bytes in a row while that is not known, or missing ones once it is.
    in_a_row: u32,
    /// What the check byte of the frame just read would be, until the next byte shows whether there is one.
    awaited: Option<u8>,
}

impl Framed for Words {
    const MOST: usize = LENGTH + 1;

    fn starts(byte: u8) -> bool {
        byte == STX
    }

    #[inline]
    fn read(&mut self, bytes: &[u8], _before: u8) -> Read {
        match (self.awaited, bytes) {
            (Some(STX), [_]) => return Read::More,
            (Some(STX), [_, STX, ..]) => {
                self.right();
                return Read::Silent(1);
            }
            (Some(_), _) => (self.awaited, self.in_a_row) = (None, 0),
            (None, _) => {}
        }
        let Some(frame) = bytes.first_chunk::<LENGTH>() else {
            let begins = bytes.iter().enumerate().all(|(at, byte)| fits(at, *byte));
            return if begins { Read::More } else { Read::Nothing };
        };
        let Some(decoded) = words(frame).map(Decoded::Frame) else { return Read::Nothing };
        let right = check_byte(frame);
        if !self.checked {
            self.awaited = Some(right);
            return Read::Whole(LENGTH, decoded);
        }
        match bytes.get(LENGTH) {
            None => Read::More,
            Some(check) if *check == right => {
                self.in_a_row = 0;
                Read::Whole(LENGTH + 1, decoded)
            }
            Some(&STX) => {
                self.in_a_row += 1;
                if self.in_a_row < SURE {
                    return Read::Nothing;
                }
                (self.checked, self.in_a_row) = (false, 0);
                Read::Whole(LENGTH, decoded)
            }
            Some(_) => Read::Nothing,
        }
    }

    fn outside(&mut self, byte: u8) -> Outside {
        match self.awaited.take() {
            Some(right) if right == byte => {
                self.right();
                Outside::Silent
            }
            Some(_) => {
                self.in_a_row = 0;
                Outside::Noise
            }
            None => Outside::Noise,
        }
    }
}

impl Words {
    fn right(&mut self) {
        self.awaited = None;
        self.in_a_row += 1;
        if self.in_a_row >= SURE {
            (self.checked, self.in_a_row) = (true, 0);
        }
    }
}

const fn fits(at: usize, byte: u8) -> bool {
    match at {
        0 => byte == STX,
        1..=3 => is_word(byte),
        16 => byte == CR,
        _ => is_digit(byte),
    }
}

/// A status word may be any byte of seven bits that is no control byte: its constant bits differ.
const fn is_word(byte: u8) -> bool {
    matches!(byte, b' '..=0x7f)
}

const fn is_digit(byte: u8) -> bool {
    matches!(byte, b'0'..=b'9' | b' ')
}

#[inline]
fn check_byte(frame: &[u8]) -> u8 {
    let sum = frame.iter().fold(0_u8, |sum, byte| sum.wrapping_add(byte & 0x7f));
    sum.wrapping_neg() & 0x7f
}

#[inline]
fn words(frame: &[u8; LENGTH]) -> Option<Frame> {
    let [STX, a, b, c, numbers @ .., CR] = frame else { return None };
    if !(is_word(*a) && is_word(*b) && is_word(*c) && field::all(numbers, is_digit)) {
        return None;
    }
    let (weight, tare) = numbers.split_at_checked(6)?;
    let mut value = field::digits(field::after_blanks(weight))?;
    field::digits(field::after_blanks(tare))?;
    match u32::from(*a & 0b111) {
        0 => value = value.checked_mul(Decimal::ONE_HUNDRED)?,
        1 => value = value.checked_mul(Decimal::TEN)?,
        point => value.set_scale(point.checked_sub(2)?).ok()?,
    }
    let negative = b & NEGATIVE != 0;
    let own_zero = a & 0b0110_0000 == CONSTANT;
    let condition = if b & OUT_OF_RANGE != 0 {
        if negative { Condition::Under } else { Condition::Over }
    } else if b & NOT_ZEROED != 0 {
        Condition::ZeroError
    } else if own_zero && c & EXPANDED_BIT != 0 {
        Condition::Device(EXPANDED.to_owned())
    } else {
        Condition::Ok
    };
    let (unit, unit_text) = unit(*a, *b, *c);
    Some(Frame {
        value: (condition == Condition::Ok).then_some(if negative { -value } else { value }),
        unit,
        unit_text,
        stability: if b & MOVING == 0 { Stability::Stable } else { Stability::Moving },
        mode: if b & NET == 0 { Mode::Gross } else { Mode::Net },
        ..field::no_number(condition)
    })
}

#[inline]
fn unit(a: u8, b: u8, c: u8) -> field::Unit {
    let known = match (a & 0b0110_0000, c & 0b111) {
        (0b0010_0000, 0) if b & KILOGRAMS != 0 => MassUnit::Kilogram,
        (0b0010_0000, 0) => MassUnit::Pound,
        (0b0010_0000, code) => match UNITS.iter().find(|(number, _)| *number == code) {
            Some((_, unit)) => *unit,
            None => return (None, UnitText::from(OTHER_UNIT)),
        },
        (0b0100_0000, code) if code & 1 == 0 => MassUnit::Kilogram,
        (0b0100_0000, _) => MassUnit::Pound,
        _ => return (None, UnitText::from(NO_KNOWN_BITS)),
    };
    (Some(known), UnitText::from(known.symbol()))
}

/// What the bits 0–2 of word C say, besides "as word B" and "another".
const UNITS: [(u8, MassUnit); 6] = [
    (1, MassUnit::Gram),
    (2, MassUnit::Tonne),
    (3, MassUnit::Ounce),
    (4, MassUnit::TroyOunce),
    (5, MassUnit::Pennyweight),
    (6, MassUnit::ShortTon),
];

/// `None` for what the format has no way to say.
fn encode(frame: &Frame) -> Option<Vec<u8>> {
    let value = match &frame.condition {
        Condition::Ok => frame.value?,
        Condition::Over | Condition::ZeroError => Decimal::ZERO,
        Condition::Under => -Decimal::ONE,
        Condition::Device(said) if said == EXPANDED => Decimal::ZERO,
        Condition::TareError | Condition::NotReady | Condition::Device(_) => return None,
    };
    let point = u8::try_from(value.scale().checked_add(2)?).ok().filter(|point| *point <= 7)?;
    let mut b = CONSTANT;
    b |= match frame.mode {
        Mode::Net => NET,
        Mode::Gross => 0,
        Mode::Tare | Mode::Unknown => return None,
    };
    b |= match frame.stability {
        Stability::Moving => MOVING,
        Stability::Stable => 0,
        Stability::Unknown => return None,
    };
    b |= if value.is_sign_negative() { NEGATIVE } else { 0 };
    b |= match frame.condition {
        Condition::Over | Condition::Under => OUT_OF_RANGE,
        Condition::ZeroError => NOT_ZEROED,
        _ => 0,
    };
    let mut c = CONSTANT;
    match frame.unit {
        Some(MassUnit::Kilogram) => b |= KILOGRAMS,
        Some(MassUnit::Pound) => {}
        Some(unit) => c |= UNITS.iter().find(|(_, known)| *known == unit)?.0,
        None if &*frame.unit_text == OTHER_UNIT => c |= 7,
        None => return None,
    }
    c |= if matches!(frame.condition, Condition::Device(_)) { EXPANDED_BIT } else { 0 };
    let digits = value.abs().mantissa().to_string();
    let digits = field::right(&digits, 6)?.replace(' ', "0");
    let mut bytes = vec![STX, CONSTANT | 0b0000_1000 | point, b, c];
    bytes.extend(digits.bytes());
    bytes.extend(b"000000\r");
    Some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn framed(words: [u8; 3], digits: &str) -> Vec<u8> {
        [&[STX][..], &words, digits.as_bytes(), b"000000\r"].concat()
    }

    fn with_check(mut frame: Vec<u8>) -> Vec<u8> {
        frame.push(check_byte(&frame));
        frame
    }

    fn read(decoder: &mut ControlFrames<Words>, bytes: &[u8]) -> (usize, usize) {
        let mut out = Vec::new();
        decoder.push(bytes, &mut out);
        let noise = |item: &Decoded| if let Decoded::Noise(count) = item { *count } else { 0 };
        let frames = out.iter().filter(|item| matches!(item, Decoded::Frame(_))).count();
        (frames, out.iter().map(noise).sum())
    }

    /// All bytes before it and itself sum up to nothing in seven bits.
    #[test]
    fn the_check_byte_ends_the_sum() {
        let frame = with_check(framed([0x2b, 0x20, 0x21], "012345"));
        assert_eq!(frame.iter().map(|byte| u32::from(*byte)).sum::<u32>() % 128, 0);
    }

    #[test]
    fn a_line_with_check_bytes_is_known_by_them_and_then_needs_them() {
        let good: Vec<_> =
            (0..5).map(|n| with_check(framed([0x2b, 0x20, 0x21], &format!("01234{n}")))).collect();
        let mut line = ControlFrames::new(Words::default());
        for frame in &good {
            assert_eq!(read(&mut line, frame), (1, 0));
        }
        let mut wrong = good[0].clone();
        wrong[8] ^= 1;
        assert_eq!(read(&mut line, &wrong), (0, 18));
        assert_eq!(read(&mut line, &good[1]), (1, 0));
    }

    #[test]
    fn a_line_that_has_no_check_bytes_any_more_is_read_again_after_three() {
        let plain = framed([0x2b, 0x20, 0x21], "012345");
        let mut line = ControlFrames::new(Words::default());
        assert_eq!(read(&mut line, &with_check(plain.clone()).repeat(3)), (3, 0));
        assert_eq!(read(&mut line, &plain.repeat(3)), (0, 34));
        assert_eq!(read(&mut line, &plain), (2, 0));
        assert_eq!(read(&mut line, &plain), (1, 0));
    }

    /// Such a check byte cannot be told from the start of the next frame until the byte after it.
    #[test]
    fn a_check_byte_that_is_the_start_mark_is_no_noise() {
        let frame = with_check(b"\x02+ !000049999999\r".to_vec());
        assert_eq!(frame.last(), Some(&STX));
        let mut line = ControlFrames::new(Words::default());
        assert_eq!(read(&mut line, &frame.repeat(10)), (10, 0));
        let mut bytewise = ControlFrames::new(Words::default());
        let frames: usize = frame.repeat(10).iter().map(|byte| read(&mut bytewise, &[*byte]).0).sum();
        assert_eq!(frames, 10);
    }
}
