//! A header of two letters, a comma, the weight.
//!
//! Three layouts, told apart by their length (`_` for a blank):
//!
//! | bytes | layout | example |
//! |---|---|---|
//! | 17 | header `,` sign, eight digits and point, unit of three at the right, CR LF | `ST,+001234.5__g` |
//! | 18 | header `,` `GS` or `NT`, sign, seven of weight at the right, `,` unit of two, CR LF | `ST,GS___12.34,_g` |
//! | 19 | the same with a comma before the sign, which may be a plus, from memory | `ST,GS,___12.34,_g` |
//!
//! Headers: `ST` stable, `US` unstable, `QT` a stable count, `OL` overload, whose number is all nines or
//! `9999999E+19` and is no weight. That a minus before it means underload is from memory.

use super::assembler::{Assembler, Layout};
use super::{Ask, Decoded, Decoder, Shape, UsualLine, field};
use crate::scale::{Condition, Frame, Mode, Stability};
use crate::units::{Decimal, MassUnit};

/// Header, comma, weight.
#[derive(Clone, Copy, Debug)]
pub struct HeaderComma;

impl Shape for HeaderComma {
    fn name(&self) -> &'static str {
        "header-comma"
    }

    fn looks_like(&self) -> &'static str {
        "a header and a comma: ST,+001234.5  g or ST,GS   12.34, g"
    }

    /// The usual setting of the shorter layout, from memory; the longer is more often 9600 8N1, from memory too.
    fn usual_line(&self) -> UsualLine {
        UsualLine { baud: 2400, data_bits: 7, parity: 'E', stop_bits: 1 }
    }

    fn decoder(&self) -> Box<dyn Decoder> {
        Box::new(Assembler::new(Fields))
    }

    /// The commands are from memory. `R` is not among them: it zeroes one kind of scale and reads another.
    fn ask(&self, what: Ask) -> Option<&[u8]> {
        match what {
            Ask::Now => Some(b"Q\r\n"),
            Ask::WhenStable => Some(b"S\r\n"),
            Ask::Repeat => Some(b"SIR\r\n"),
            Ask::Stop => Some(b"C\r\n"),
            Ask::Zero => Some(b"Z\r\n"),
            Ask::Tare => Some(b"T\r\n"),
            _ => None,
        }
    }

    fn encode(&self, frame: &Frame) -> Vec<u8> {
        field::line(encode(frame))
    }

    fn understand(&self, bytes: &[u8]) -> Option<(Ask, usize)> {
        let known = [
            ("Q", Ask::Now),
            ("SI", Ask::Now),
            ("S", Ask::WhenStable),
            ("SIR", Ask::Repeat),
            ("C", Ask::Stop),
            ("Z", Ask::Zero),
            ("T", Ask::Tare),
        ];
        field::understand_line(bytes, &known)
    }
}

struct Fields;

impl Layout for Fields {
    const MOST: usize = 17;
    const START: Option<u8> = None;

    #[inline]
    fn read(&mut self, frame: &[u8]) -> Option<Decoded> {
        let (header, rest) = frame.split_at_checked(2)?;
        let header = Header::read(header)?;
        let rest = rest.strip_prefix(b",")?;
        let (mode, rest, signs) = match (rest.len(), rest) {
            (12, _) => return short(header, rest).map(Decoded::Frame),
            (13, [a, b, rest @ ..]) => ([*a, *b], rest, &b" -"[..]),
            (14, [a, b, b',', rest @ ..]) => ([*a, *b], rest, &b" +-"[..]),
            _ => return None,
        };
        long(header, mode, signs, rest).map(Decoded::Frame)
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Header {
    Stable,
    Unstable,
    Count,
    Overload,
}

impl Header {
    const fn read(letters: &[u8]) -> Option<Self> {
        match letters {
            b"ST" => Some(Self::Stable),
            b"US" => Some(Self::Unstable),
            b"QT" => Some(Self::Count),
            b"OL" => Some(Self::Overload),
            _ => None,
        }
    }

    /// The frame under this header, with the number as it stands.
    #[inline]
    fn frame(self, value: Decimal, unit: field::Unit, mode: Mode) -> Frame {
        let (condition, value, stability) = match self {
            Self::Stable | Self::Count => (Condition::Ok, Some(value), Stability::Stable),
            Self::Unstable => (Condition::Ok, Some(value), Stability::Moving),
            Self::Overload if value.is_sign_negative() => (Condition::Under, None, Stability::Unknown),
            Self::Overload => (Condition::Over, None, Stability::Unknown),
        };
        let (unit, unit_text) = unit;
        Frame { value, unit, unit_text, stability, mode, ..field::no_number(condition) }
    }
}

#[inline]
fn short(header: Header, rest: &[u8]) -> Option<Frame> {
    match (header, rest) {
        (Header::Overload, b"+9999999E+19") => return Some(field::no_number(Condition::Over)),
        (Header::Overload, b"-9999999E+19") => return Some(field::no_number(Condition::Under)),
        _ => {}
    }
    let (number, unit) = rest.split_at_checked(9)?;
    let (sign @ (b'+' | b'-'), number) = number.split_first()? else { return None };
    let value = field::signed(*sign, field::digits(number)?)?;
    Some(header.frame(value, field::unit_at_right(unit)?, Mode::Unknown))
}

#[inline]
fn long(header: Header, mode: [u8; 2], signs: &[u8], rest: &[u8]) -> Option<Frame> {
    let mode = match &mode {
        b"GS" => Mode::Gross,
        b"NT" => Mode::Net,
        _ => return None,
    };
    let (sign, rest) = rest.split_first()?;
    signs.contains(sign).then_some(())?;
    let (number, unit) = rest.split_at_checked(7)?;
    let value = field::signed(*sign, field::digits(field::after_blanks(number))?)?;
    Some(header.frame(value, field::unit_at_right(unit.strip_prefix(b",")?)?, mode))
}

/// `None` for what the format has no way to say.
fn encode(frame: &Frame) -> Option<String> {
    let letters = match frame.unit {
        Some(MassUnit::Grain) if frame.unit_text.is_empty() => "GN",
        _ => field::unit_letters(frame),
    };
    let counted = frame.unit.is_none() && letters.to_ascii_uppercase().starts_with("PC");
    let header = match (&frame.condition, frame.stability) {
        (Condition::Ok, Stability::Stable) if counted => "QT",
        (Condition::Ok, Stability::Stable) => "ST",
        (Condition::Ok, Stability::Moving) => "US",
        (Condition::Over | Condition::Under, _) => "OL",
        _ => return None,
    };
    let below = frame.condition == Condition::Under;
    match frame.mode {
        Mode::Tare => None,
        Mode::Unknown => {
            let number = match (header, frame.value) {
                ("OL", _) if letters.is_empty() => {
                    return Some(format!("OL,{}9999999E+19", if below { '-' } else { '+' }));
                }
                ("OL", _) => if below { "-999999.9" } else { "+999999.9" }.to_owned(),
                (_, value) => {
                    let value = value?;
                    let digits = field::right(&value.abs().to_string(), 8)?.replace(' ', "0");
                    format!("{}{digits}", field::sign(value, '+'))
                }
            };
            Some(format!("{header},{number}{}", field::right(letters, 3)?))
        }
        Mode::Gross | Mode::Net => {
            let mode = if frame.mode == Mode::Gross { "GS" } else { "NT" };
            let number = match (header, frame.value) {
                ("OL", _) => if below { "-99999.9" } else { " 99999.9" }.to_owned(),
                (_, value) => {
                    let value = value?;
                    let digits = field::right(&value.abs().to_string(), 7)?;
                    format!("{}{digits}", field::sign(value, ' '))
                }
            };
            Some(format!("{header},{mode}{number},{}", field::right(letters, 2)?))
        }
    }
}
