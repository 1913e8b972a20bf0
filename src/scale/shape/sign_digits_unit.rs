//! Sign, digits, unit at fixed places.
//!
//! | bytes | layout (`_` for a blank) | example |
//! |---|---|---|
//! | 16 | sign, `_`, eight of value at the right, `_`, unit of three at the left, CR LF | `+___123.56_g__` |
//! | 22 | an identifier of six at the left, then the same | `N_____+___123.56_g__` |
//!
//! The unit is there only while the scale stands still, so a blank unit means moving, and the last unit is
//! kept to go on showing the number. The last digit may stand in brackets, `123.5[6]`: displayed, but not
//! verified. Instead of a number there may be a text: `High`, `Low`, `Cal.Int.`, `Err 101`, `OFF`.

use super::assembler::{Assembler, Layout};
use super::{Ask, Decoded, Decoder, Shape, UsualLine, field};
use crate::scale::{Condition, Frame, Mode, Stability, UnitText};
use crate::units::Decimal;

const ESC: u8 = 0x1b;
const STATUS: &str = "Stat";

/// Sign, digits, unit.
#[derive(Clone, Copy, Debug)]
pub struct SignDigitsUnit;

impl Shape for SignDigitsUnit {
    fn name(&self) -> &'static str {
        "sign-digits-unit"
    }

    fn looks_like(&self) -> &'static str {
        "sign, digits, unit, with or without a word before them: N     +   123.56 g"
    }

    fn usual_line(&self) -> UsualLine {
        UsualLine { baud: 9600, data_bits: 8, parity: 'O', stop_bits: 1 }
    }

    fn decoder(&self) -> Box<dyn Decoder> {
        Box::new(Assembler::new(Fields { last_unit: (None, UnitText::EMPTY) }))
    }

    /// Whether the scale waits for stability before it answers is set at the scale. Printing without end too.
    fn ask(&self, what: Ask) -> Option<&[u8]> {
        match what {
            Ask::Now => Some(b"\x1bP\r\n"),
            Ask::Zero => Some(b"\x1bV\r\n"),
            Ask::Tare => Some(b"\x1bU\r\n"),
            _ => None,
        }
    }

    fn encode(&self, frame: &Frame) -> Vec<u8> {
        field::line(encode(frame))
    }

    fn understand(&self, bytes: &[u8]) -> Option<(Ask, usize)> {
        (0..bytes.len()).find_map(|start| {
            let [ESC, command, rest @ ..] = bytes.get(start..)? else { return None };
            let ask = match command {
                b'P' => Ask::Now,
                b'V' => Ask::Zero,
                b'U' | b'T' => Ask::Tare,
                _ => return None,
            };
            let end = if rest.starts_with(b"\r\n") { 2 } else { 0 };
            Some((ask, start + 2 + end))
        })
    }
}

struct Fields {
    last_unit: field::Unit,
}

impl Layout for Fields {
    const MOST: usize = 20;
    const START: Option<u8> = None;

    #[inline]
    fn read(&mut self, frame: &[u8]) -> Option<Decoded> {
        let frame = match frame.len() {
            14 => match word(frame) {
                Some(condition) => field::no_number(condition),
                None => self.number(Mode::Unknown, frame)?,
            },
            20 => {
                let (identifier, rest) = frame.split_at_checked(6)?;
                let mode = match identifier {
                    b"N     " => Mode::Net,
                    b"G#    " | b"G     " => Mode::Gross,
                    b"T     " => Mode::Tare,
                    b"Stat  " => return word(rest).map(|said| Decoded::Frame(field::no_number(said))),
                    _ => return None,
                };
                self.number(mode, rest)?
            }
            _ => return None,
        };
        Some(Decoded::Frame(frame))
    }
}

impl Fields {
    #[inline]
    fn number(&mut self, mode: Mode, fields: &[u8]) -> Option<Frame> {
        let (head, rest) = fields.split_at_checked(2)?;
        let (number, unit) = rest.split_at_checked(8)?;
        let unit = unit.strip_prefix(b" ")?;
        let [sign, b' '] = head else { return None };
        let value = field::signed(*sign, magnitude(field::after_blanks(number))?)?;
        let stability = if unit == b"   " {
            Stability::Moving
        } else {
            if unit.starts_with(b" ") {
                return None;
            }
            self.last_unit = field::unit(unit)?;
            Stability::Stable
        };
        let (unit, unit_text) = self.last_unit;
        Some(Frame {
            value: Some(value),
            unit,
            unit_text,
            stability,
            mode,
            ..field::no_number(Condition::Ok)
        })
    }
}

/// Digits, of which the last may stand in brackets. Leading zeros are blank, so nothing need stand before the
/// point.
#[inline]
fn magnitude(bytes: &[u8]) -> Option<Decimal> {
    match bytes {
        [verified @ .., b'[', last, b']'] => number(&[verified, &[*last]].concat()),
        _ => number(bytes),
    }
}

fn number(bytes: &[u8]) -> Option<Decimal> {
    if bytes.starts_with(b".") { field::digits(&[b"0", bytes].concat()) } else { field::digits(bytes) }
}

/// What stands instead of a number, with blanks around it.
#[inline]
fn word(fields: &[u8]) -> Option<Condition> {
    let said = fields.trim_ascii();
    Some(match said {
        b"H" | b"High" => Condition::Over,
        b"L" | b"Low" => Condition::Under,
        b"C" | b"Cal.Int." | b"Cal.Ext." => Condition::NotReady,
        b"OFF" => Condition::Device(field::text(said)),
        [b'E', b'r', b'r', b' ', number @ ..] if (1..=3).contains(&number.len()) => {
            number.iter().all(u8::is_ascii_digit).then(|| Condition::Device(field::text(said)))?
        }
        _ => return None,
    })
}

/// `None` for what the format has no way to say.
fn encode(frame: &Frame) -> Option<String> {
    let said = match &frame.condition {
        Condition::Ok => return encode_number(frame),
        Condition::Over => "High",
        Condition::Under => "Low",
        Condition::NotReady => "Cal.Int.",
        Condition::Device(text) => text,
        Condition::ZeroError | Condition::TareError => return None,
    };
    word(said.as_bytes())?;
    Some(match frame.mode {
        Mode::Unknown => format!("{said:^14}"),
        _ => format!("{STATUS:<6}{said:>14}"),
    })
}

fn encode_number(frame: &Frame) -> Option<String> {
    let identifier = match frame.mode {
        Mode::Unknown => "",
        Mode::Net => "N     ",
        Mode::Gross => "G#    ",
        Mode::Tare => "T     ",
    };
    let letters = match (frame.stability, field::unit_letters(frame)) {
        (Stability::Moving, _) => "",
        (Stability::Stable, letters) if !letters.is_empty() => letters,
        _ => return None,
    };
    let value = frame.value?;
    let number = field::right(&value.abs().to_string(), 8)?;
    let sign = field::sign(value, '+');
    Some(format!("{identifier}{sign} {number} {}", field::left(letters, 3)?))
}
