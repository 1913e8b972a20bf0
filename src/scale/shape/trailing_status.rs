//! A weight, a unit in capitals, and two letters of status at the end.
//!
//! | bytes | layout (`_` for a blank) | example |
//! |---|---|---|
//! | 14 | sign, seven of value at the right, unit of two at the right, result, status, CR LF | `+_123.45_G_S` |
//! | 15 | the same with eight of value | `+__123.45_G_S` |
//!
//! The result is a comparator's: `L` too light, `G` right, `H` too heavy, or blank; it says nothing about the
//! weight. Status: `S` stable, `U` unstable, `E` over or under the range, blank where the scale has none. What stands
//! in the place of the value beside `E` is not established: a minus there is taken for under, a plus or a number for
//! over (worked out here), and neither for out of range, whichever way.
//!
//! A line of 15 that lost a digit is a line of 14 with another number: see [`field::Width`].

use super::assembler::{Assembler, Layout};
use super::{Ask, Decoded, Decoder, Shape, UsualLine, field};
use crate::scale::{Condition, Frame, Mode, Stability, UnitText};
use crate::units::MassUnit;

/// What stands behind the value: unit, result, status.
const BEHIND: usize = 4;
/// The value with its sign, in the shorter layout.
const VALUE: usize = 8;
const OUT_OF_RANGE: &str = "out of its range";

/// The units that are units of mass. `TL`, `MO`, `to`, `%` and `PC` are others.
const UNITS: [(&str, MassUnit); 9] = [
    ("G", MassUnit::Gram),
    ("KG", MassUnit::Kilogram),
    ("MG", MassUnit::Milligram),
    ("CT", MassUnit::Carat),
    ("OZ", MassUnit::Ounce),
    ("LB", MassUnit::Pound),
    ("OT", MassUnit::TroyOunce),
    ("DW", MassUnit::Pennyweight),
    ("GR", MassUnit::Grain),
];

/// Weight, unit, status at the end.
#[derive(Clone, Copy, Debug)]
pub struct TrailingStatus;

impl Shape for TrailingStatus {
    fn name(&self) -> &'static str {
        "trailing-status"
    }

    fn looks_like(&self) -> &'static str {
        "a weight, a unit in capitals, a letter of status: + 123.45 G S"
    }

    /// That of later scales; earlier ones have 1200 8N2, from memory.
    fn usual_line(&self) -> UsualLine {
        UsualLine::COMMON
    }

    fn decoder(&self) -> Box<dyn Decoder> {
        Box::new(Assembler::new(Fields { width: field::Width::new(VALUE) }))
    }

    /// Related scales have these letters. Whether an end of line belongs to them is not established: it is sent,
    /// because a scale that needs none leaves it out.
    fn ask(&self, what: Ask) -> Option<&[u8]> {
        match what {
            Ask::Now => Some(b"w\r\n"),
            Ask::WhenStable => Some(b"s\r\n"),
            Ask::Tare => Some(b"t\r\n"),
            _ => None,
        }
    }

    fn encode(&self, frame: &Frame) -> Vec<u8> {
        field::line(encode(frame))
    }

    fn understand(&self, bytes: &[u8]) -> Option<(Ask, usize)> {
        field::understand_line(bytes, &[("w", Ask::Now), ("s", Ask::WhenStable), ("t", Ask::Tare)])
    }
}

struct Fields {
    width: field::Width,
}

impl Layout for Fields {
    const MOST: usize = VALUE + 1 + BEHIND;
    const START: Option<u8> = None;

    #[inline]
    fn read(&mut self, frame: &[u8]) -> Option<Decoded> {
        let width = frame.len().checked_sub(BEHIND)?;
        matches!(width, 8 | 9).then_some(())?;
        let (value, behind) = frame.split_at_checked(width)?;
        let [left, right, b'L' | b'G' | b'H' | b' ', status] = behind else { return None };
        let (sign, number) = value.split_first()?;
        let number = field::after_blanks(number);
        let unit = unit([*left, *right])?;
        let stability = match status {
            b'S' => Stability::Stable,
            b'U' => Stability::Moving,
            b' ' => Stability::Unknown,
            b'E' => {
                let frame = out_of_range(*sign, number, unit)?;
                return self.width.admits(width).then_some(Decoded::Frame(frame));
            }
            _ => return None,
        };
        let value = Some(field::signed(*sign, field::digits(number)?)?);
        if !self.width.admits(width) {
            return None;
        }
        let (unit, unit_text) = unit;
        Some(Decoded::Frame(Frame { value, unit, unit_text, stability, ..field::no_number(Condition::Ok) }))
    }
}

/// The number, if there is one, is no weight.
fn out_of_range(sign: u8, number: &[u8], (unit, unit_text): field::Unit) -> Option<Frame> {
    if !number.is_empty() {
        field::digits(number)?;
    }
    let condition = match (sign, number) {
        (b'-', _) => Condition::Under,
        (b' ', []) => Condition::Device(OUT_OF_RANGE.to_owned()),
        (b'+' | b' ', _) => Condition::Over,
        _ => return None,
    };
    Some(Frame { unit, unit_text, ..field::no_number(condition) })
}

/// Two capitals, or one or a percent sign behind a blank, or `to`; nothing else.
#[expect(clippy::inline_always, reason = "handed over in memory, what is read costs as much as reading it")]
#[inline(always)]
fn unit(field: [u8; 2]) -> Option<field::Unit> {
    let [left, right] = field;
    let fits = field == *b"to"
        || (left == b' ' || left.is_ascii_uppercase()) && right.is_ascii_uppercase()
        || field == *b" %";
    let letters = UnitText::new(&field);
    let known = UNITS.iter().find(|(name, _)| name.as_bytes() == letters.as_bytes()).map(|(_, unit)| *unit);
    fits.then_some((known, letters))
}

/// `None` for what the format has no way to say. Always the shorter layout.
fn encode(frame: &Frame) -> Option<String> {
    if frame.mode != Mode::Unknown {
        return None;
    }
    let letters = match frame.unit {
        Some(unit) => UNITS.iter().find(|(_, known)| *known == unit).map(|(letters, _)| *letters)?,
        None => &frame.unit_text,
    };
    let letters = field::right(letters, 2)?;
    let [left, right] = *letters.as_bytes() else { return None };
    unit([left, right])?;
    let (sign, number, status) = match &frame.condition {
        Condition::Ok => {
            let value = frame.value?;
            let status = match frame.stability {
                Stability::Stable => 'S',
                Stability::Moving => 'U',
                Stability::Unknown => ' ',
            };
            (field::sign(value, '+'), value.abs().to_string(), status)
        }
        Condition::Over => ('+', String::new(), 'E'),
        Condition::Under => ('-', String::new(), 'E'),
        Condition::Device(said) if said == OUT_OF_RANGE => (' ', String::new(), 'E'),
        _ => return None,
    };
    Some(format!("{sign}{}{letters} {status}", field::right(&number, VALUE - 1)?))
}
