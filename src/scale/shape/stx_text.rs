//! STX, sign, seven characters of weight, letters, ETX.
//!
//! Two layouts, told apart by where ETX stands (`_` for a blank):
//!
//! | bytes | layout | example |
//! |---|---|---|
//! | 11 | STX, sign, seven of weight at the right, status, ETX | `<STX>____12.34G<ETX>` |
//! | 17 | STX, sign, seven of weight, four letters of status, unit of three at the right, ETX | `<STX>_0123.45G__-__g<ETX>` |
//!
//! The sign is a blank or a minus. Status: `G` gross, `N` net, `O` over, `U` under, `E` error; in the short layout `M`
//! for moving stands in their place, so that gross or net is as it was said last. In the long one the second letter
//! is `M` or a blank, the third `Z` at zero, the fourth the range: `-` where there is only one, or `1`, `2`. The unit
//! is blank while the load moves, and the last one is kept to go on showing the number. (Layouts, leading blanks and
//! ranges: seen in an excerpt of the table of formats in *Sensors* 2010, 10, 9337; the whole was not read.)
//!
//! The short layout has no unit at all: without one in the address nothing can be weighed by it.

use super::control_frames::{ControlFrames, Framed, Read};
use super::{Ask, Decoded, Decoder, Shape, UsualLine, field};
use crate::scale::{Condition, Frame, Mode, Stability, UnitText};
use crate::units::Decimal;
use memchr::memchr;

const STX: u8 = 0x02;
const ETX: u8 = 0x03;
const LONG: usize = 17;

const ERROR: &str = "error";

/// STX, weight, letters, ETX.
#[derive(Clone, Copy, Debug)]
pub struct StxText;

impl Shape for StxText {
    fn name(&self) -> &'static str {
        "stx-text"
    }

    fn looks_like(&self) -> &'static str {
        "STX, sign, weight, letters, ETX, with a unit or without: <STX> 0123.45G  -  g<ETX>"
    }

    /// Common practice, no source.
    fn usual_line(&self) -> UsualLine {
        UsualLine::COMMON
    }

    fn decoder(&self) -> Box<dyn Decoder> {
        let fields = Fields { last_unit: (None, UnitText::EMPTY), last_mode: Mode::Unknown };
        Box::new(ControlFrames::new(fields))
    }

    /// Sent without end; no question that all of them understand is known.
    fn ask(&self, _what: Ask) -> Option<&[u8]> {
        None
    }

    fn encode(&self, frame: &Frame) -> Vec<u8> {
        encode(frame).map(|text| format!("\x02{text}\x03").into_bytes()).unwrap_or_default()
    }

    fn understand(&self, _bytes: &[u8]) -> Option<(Ask, usize)> {
        None
    }
}

struct Fields {
    last_unit: field::Unit,
    last_mode: Mode,
}

impl Framed for Fields {
    const MOST: usize = LONG;

    fn starts(byte: u8) -> bool {
        byte == STX
    }

    #[inline]
    fn read(&mut self, bytes: &[u8], _before: u8) -> Read {
        let bytes = bytes.get(1..LONG).or(bytes.get(1..)).unwrap_or_default();
        let Some((inside, _)) = memchr(ETX, bytes).and_then(|end| bytes.split_at_checked(end)) else {
            let begins = bytes.len() < LONG && field::all_printable(bytes);
            return if begins { Read::More } else { Read::Nothing };
        };
        if !field::all_printable(inside) {
            return Read::Nothing;
        }
        let length = inside.len() + 2;
        self.fields(inside).map_or(Read::Nothing, |frame| Read::Whole(length, Decoded::Frame(frame)))
    }
}

impl Fields {
    #[inline]
    fn fields(&mut self, inside: &[u8]) -> Option<Frame> {
        let (number, behind) = inside.split_at_checked(8)?;
        let (status, behind) = match behind {
            [status] => (status, None),
            [status, motion @ (b'M' | b' '), zero @ (b'Z' | b' '), b'-' | b'1' | b'2', a, b, c] => {
                (status, Some((*motion, *zero, field::unit_at_right(&[*a, *b, *c])?)))
            }
            _ => return None,
        };
        let mode = match status {
            b'G' => Mode::Gross,
            b'N' => Mode::Net,
            b'M' if behind.is_none() => self.last_mode,
            _ => return Some(field::no_number(no_weight(*status, number)?)),
        };
        let value = Some(signed(number)?);
        let (still, (unit, unit_text), centre_of_zero) = match behind {
            None => {
                self.last_mode = mode;
                (*status != b'M', (None, UnitText::EMPTY), None)
            }
            Some((motion, zero, unit)) => {
                let has_unit = !unit.1.is_empty();
                if has_unit {
                    self.last_unit = unit;
                }
                (motion == b' ' && has_unit, self.last_unit, Some(zero == b'Z'))
            }
        };
        let stability = if still { Stability::Stable } else { Stability::Moving };
        let rest = field::no_number(Condition::Ok);
        Some(Frame { value, unit, unit_text, stability, mode, centre_of_zero, ..rest })
    }
}

#[expect(clippy::inline_always, reason = "handed over in memory, what is read costs as much as reading it")]
#[inline(always)]
fn signed(number: &[u8]) -> Option<Decimal> {
    let (sign @ (b' ' | b'-'), digits) = number.split_first()? else { return None };
    field::signed(*sign, field::digits(field::after_blanks(digits))?)
}

/// What a status says that goes with no weight. What stands in the weight's place is a number that counts for
/// nothing, or nothing but blanks and dashes.
fn no_weight(status: u8, number: &[u8]) -> Option<Condition> {
    let condition = match status {
        b'O' => Condition::Over,
        b'U' => Condition::Under,
        b'E' => Condition::Device(ERROR.to_owned()),
        _ => return None,
    };
    let empty = number.iter().all(|byte| matches!(byte, b' ' | b'-'));
    (empty || signed(number).is_some()).then_some(condition)
}

/// `None` for what the format has no way to say.
fn encode(frame: &Frame) -> Option<String> {
    let letters = field::unit_letters(frame);
    let status = match (&frame.condition, frame.mode) {
        (Condition::Over, _) => 'O',
        (Condition::Under, _) => 'U',
        (Condition::Device(said), _) if said == ERROR => 'E',
        (Condition::Ok, Mode::Gross) => 'G',
        (Condition::Ok, Mode::Net) => 'N',
        _ => return None,
    };
    let number = match frame.value {
        Some(value) if frame.condition == Condition::Ok => {
            format!("{}{}", field::sign(value, ' '), field::right(&value.abs().to_string(), 7)?)
        }
        None if frame.condition == Condition::Ok => return None,
        _ => "--------".to_owned(),
    };
    let moving = frame.stability == Stability::Moving;
    if frame.condition == Condition::Ok && frame.stability == Stability::Unknown {
        return None;
    }
    if letters.is_empty() {
        let status = if moving && frame.condition == Condition::Ok { 'M' } else { status };
        return Some(format!("{number}{status}"));
    }
    let unit = field::right(if moving { "" } else { letters }, 3)?;
    let motion = if moving { 'M' } else { ' ' };
    let zero = if frame.centre_of_zero == Some(true) { 'Z' } else { ' ' };
    Some(format!("{number}{status}{motion}{zero}-{unit}"))
}
