//! Two letters, digits with leading zeros, a unit: a scale that only sends.
//!
//! | bytes | layout | example |
//! |---|---|---|
//! | 15 | `ww` gross or `wn` net, nine of value, `kg` or `lb`, CR LF | `ww00015.000kg` |
//! | 14 | the same with eight of value | `ww0015.000kg` |
//!
//! The value is filled with zeros from the left; a minus stands in the place of the first of them. Nothing says
//! whether the load is at rest, nor that it is out of range, and there are no commands: the scale sends all the
//! time. A line of 15 that lost a digit is a line of 14 with another number: see [`field::Width`].

use super::assembler::{Assembler, Layout};
use super::{Ask, Decoded, Decoder, Shape, UsualLine, field};
use crate::scale::{Condition, Frame, Mode};
use crate::units::MassUnit;

/// The digits of the usual layout, with point and sign.
const VALUE: usize = 9;

/// Letters, digits, unit.
#[derive(Clone, Copy, Debug)]
pub struct LettersPrefix;

impl Shape for LettersPrefix {
    fn name(&self) -> &'static str {
        "letters-prefix"
    }

    fn looks_like(&self) -> &'static str {
        "ww or wn, digits with leading zeros, kg or lb: ww00015.000kg"
    }

    /// From memory.
    fn usual_line(&self) -> UsualLine {
        UsualLine::COMMON
    }

    fn decoder(&self) -> Box<dyn Decoder> {
        Box::new(Assembler::new(Fields { width: field::Width::new(VALUE) }))
    }

    fn ask(&self, _what: Ask) -> Option<&[u8]> {
        None
    }

    fn encode(&self, frame: &Frame) -> Vec<u8> {
        field::line(encode(frame))
    }

    fn understand(&self, _bytes: &[u8]) -> Option<(Ask, usize)> {
        None
    }
}

struct Fields {
    width: field::Width,
}

impl Layout for Fields {
    const MOST: usize = 2 + VALUE + 2;
    const START: Option<u8> = None;

    #[inline]
    fn read(&mut self, frame: &[u8]) -> Option<Decoded> {
        let (letters, rest) = frame.split_at_checked(2)?;
        let mode = match letters {
            b"ww" => Mode::Gross,
            b"wn" => Mode::Net,
            _ => return None,
        };
        let width = rest.len().checked_sub(2)?;
        matches!(width, 8 | 9).then_some(())?;
        let (number, unit) = rest.split_at_checked(width)?;
        matches!(unit, b"kg" | b"lb").then_some(())?;
        let (sign, number) = match number {
            [b'-', number @ ..] => (b'-', number),
            number => (b'+', number),
        };
        let value = field::signed(sign, field::digits(number)?)?;
        let (unit, unit_text) = field::unit(unit)?;
        if !self.width.admits(width) {
            return None;
        }
        let value = Some(value);
        Some(Decoded::Frame(Frame { value, unit, unit_text, mode, ..field::no_number(Condition::Ok) }))
    }
}

/// `None` for what the format has no way to say. Whether the load moves is left out.
fn encode(frame: &Frame) -> Option<String> {
    let letters = match frame.mode {
        Mode::Gross => "ww",
        Mode::Net => "wn",
        Mode::Tare | Mode::Unknown => return None,
    };
    let unit = frame.unit.filter(|unit| matches!(unit, MassUnit::Kilogram | MassUnit::Pound))?;
    if frame.condition != Condition::Ok {
        return None;
    }
    let value = frame.value?;
    let sign = if value.is_sign_negative() { "-" } else { "" };
    let number = field::right(&value.abs().to_string(), VALUE - sign.len())?.replace(' ', "0");
    Some(format!("{letters}{sign}{number}{}", unit.symbol()))
}
