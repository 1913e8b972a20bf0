//! Replies that begin with the command they answer and a status letter.
//!
//! `S S     123.56 g`: the command, a blank, the status, a blank, ten of value at the right, a blank, the unit,
//! CR LF. Status `S` is stable, `D` dynamic, `+` over, `-` under, `I` understood but not possible just now, `A`
//! done. `ES`, `ET` and `EL` are a command that is unknown, damaged, and not allowed. The width of the value,
//! the quotes around texts, and that a dynamic value may end in blanks are from memory.

use super::assembler::{Assembler, Layout};
use super::{Answer, Ask, Decoded, Decoder, Shape, UsualLine, field};
use crate::scale::{Condition, Frame, Mode, Stability};
use crate::units::{Decimal, MassUnit};

/// The longest unit, as `pcs` or `tl(t)`.
const LONGEST_UNIT: usize = 5;
const BUSY: &str = "the scale cannot do that just now: wait until it stands still, then ask again";
const NOT_ALLOWED: &str = "the scale does not allow that command with these values";
const TOO_HIGH: &str =
    "the load is above the range in which the scale can do that: take the load off, then ask again";
const TOO_LOW: &str =
    "the load is below the range in which the scale can do that: put the pan on, then ask again";

/// Command reply with a status letter.
#[derive(Clone, Copy, Debug)]
pub struct CommandReply;

impl Shape for CommandReply {
    fn name(&self) -> &'static str {
        "command-reply"
    }

    fn looks_like(&self) -> &'static str {
        "the command's letter and a status letter: S S     123.56 g"
    }

    fn usual_line(&self) -> UsualLine {
        UsualLine::COMMON
    }

    fn decoder(&self) -> Box<dyn Decoder> {
        Box::new(Assembler::new(Fields))
    }

    /// Weights without end are ended by asking for a single one: the format's reset would clear the tare.
    fn ask(&self, what: Ask) -> Option<&[u8]> {
        match what {
            Ask::Now | Ask::Stop => Some(b"SI\r\n"),
            Ask::WhenStable => Some(b"S\r\n"),
            Ask::Repeat => Some(b"SIR\r\n"),
            Ask::Zero => Some(b"Z\r\n"),
            Ask::Tare => Some(b"T\r\n"),
            Ask::ClearTare => Some(b"TAC\r\n"),
            Ask::About => Some(b"I2\r\n"),
            _ => None,
        }
    }

    fn encode(&self, frame: &Frame) -> Vec<u8> {
        field::line(encode(frame))
    }

    fn reply(&self, to: Ask, answer: &Answer) -> Option<Vec<u8>> {
        let command = match to {
            Ask::Now | Ask::WhenStable | Ask::Repeat | Ask::Stop => "S",
            Ask::Zero => "Z",
            Ask::Tare => "T",
            Ask::ClearTare => "TAC",
            _ => "I2",
        };
        let line = match answer {
            Answer::Unknown => "ES".to_owned(),
            Answer::Damaged => "ET".to_owned(),
            Answer::Done if matches!(to, Ask::Zero | Ask::Tare | Ask::ClearTare) => format!("{command} A"),
            Answer::Done | Answer::Accepted => return None,
            Answer::Refused(why) => match why.as_str() {
                NOT_ALLOWED => "EL".to_owned(),
                TOO_HIGH => format!("{command} +"),
                TOO_LOW => format!("{command} -"),
                _ => format!("{command} I"),
            },
            Answer::About(name, value) => format!("{name} A \"{value}\""),
        };
        (line.len() <= Fields::MOST).then(|| format!("{line}\r\n").into_bytes())
    }

    fn understand(&self, bytes: &[u8]) -> Option<(Ask, usize)> {
        let known = [
            ("SI", Ask::Now),
            ("S", Ask::WhenStable),
            ("SIR", Ask::Repeat),
            ("@", Ask::Stop),
            ("Z", Ask::Zero),
            ("ZI", Ask::Zero),
            ("T", Ask::Tare),
            ("TI", Ask::Tare),
            ("TAC", Ask::ClearTare),
            ("I2", Ask::About),
        ];
        field::understand_line(bytes, &known)
    }
}

struct Fields;

impl Layout for Fields {
    const MOST: usize = 96;
    const START: Option<u8> = None;

    #[inline]
    fn read(&mut self, frame: &[u8]) -> Option<Decoded> {
        match frame {
            [b'S', b' ', status, rest @ ..] => weight(*status, rest).map(Decoded::Frame),
            _ => other(frame),
        }
    }
}

/// What is no answer to being asked for the weight.
fn other(frame: &[u8]) -> Option<Decoded> {
    match frame {
        b"ES" => return Some(Decoded::Answer(Answer::Unknown)),
        b"ET" => return Some(Decoded::Answer(Answer::Damaged)),
        b"EL" => return Some(refused(NOT_ALLOWED)),
        _ => {}
    }
    let blank = frame.iter().position(|&byte| byte == b' ')?;
    let (command, rest) = frame.split_at_checked(blank)?;
    let [b' ', status, rest @ ..] = rest else { return None };
    match command {
        b"TA" if *status == b'A' => {
            let (value, unit) = value_and_unit(rest, Stability::Stable)?;
            Some(Decoded::Frame(carrying(value, unit, Stability::Stable, Mode::Tare)))
        }
        b"Z" | b"ZI" | b"T" | b"TI" | b"TA" | b"TAC" => done_or_refused(command, *status, rest),
        [b'I', number @ b'0'..=b'9'] => about(*number, *status, rest),
        _ => None,
    }
}

fn refused(why: &str) -> Decoded {
    Decoded::Answer(Answer::Refused(why.to_owned()))
}

#[inline]
fn weight(status: u8, rest: &[u8]) -> Option<Frame> {
    let stability = match (status, rest) {
        (b'S', _) => Stability::Stable,
        (b'D', _) => Stability::Moving,
        (b'+', []) => return Some(field::no_number(Condition::Over)),
        (b'-', []) => return Some(field::no_number(Condition::Under)),
        (b'I', []) => return Some(field::no_number(Condition::NotReady)),
        _ => return None,
    };
    let (value, unit) = value_and_unit(rest, stability)?;
    Some(carrying(value, unit, stability, Mode::Unknown))
}

#[inline]
fn carrying(value: Decimal, unit: field::Unit, stability: Stability, mode: Mode) -> Frame {
    let (unit, unit_text) = unit;
    Frame { value: Some(value), unit, unit_text, stability, mode, ..field::no_number(Condition::Ok) }
}

/// While it moves, the last digits of a number may be left blank.
#[expect(clippy::inline_always, reason = "handed over in memory, what is read costs as much as reading it")]
#[inline(always)]
fn value_and_unit(rest: &[u8], stability: Stability) -> Option<(Decimal, field::Unit)> {
    let (value, unit) = fields(rest)?;
    let value = if stability == Stability::Moving { value.trim_ascii_end() } else { value };
    Some((field::right_number(value)?, unit))
}

/// A blank, ten characters, a blank, and a unit that is not blank.
#[inline]
fn fields(rest: &[u8]) -> Option<(&[u8], field::Unit)> {
    let (value, unit) = rest.strip_prefix(b" ")?.split_at_checked(10)?;
    let unit = unit.strip_prefix(b" ")?;
    if !(1..=LONGEST_UNIT).contains(&unit.len()) || unit.contains(&b' ') {
        return None;
    }
    Some((value, field::unit(unit)?))
}

fn done_or_refused(command: &[u8], status: u8, rest: &[u8]) -> Option<Decoded> {
    let zeroing = command.starts_with(b"Z");
    match (status, rest) {
        (b'A', []) => {}
        (b'S' | b'D', []) if zeroing => {}
        // A tare is answered with what was tared.
        (b'S' | b'D', rest) if matches!(command, b"T" | b"TI") => {
            value_and_unit(rest, Stability::Stable)?;
        }
        (b'+', []) => return Some(refused(TOO_HIGH)),
        (b'-', []) => return Some(refused(TOO_LOW)),
        (b'I', []) => return Some(refused(BUSY)),
        (b'L', []) => return Some(refused(NOT_ALLOWED)),
        _ => return None,
    }
    Some(Decoded::Answer(Answer::Done))
}

/// `I2 A "text"`; in answers of several lines all but the last have status `B`.
fn about(number: u8, status: u8, rest: &[u8]) -> Option<Decoded> {
    match (status, rest) {
        (b'A' | b'B', [b' ', text @ ..]) => {
            let text: String = field::text(text).chars().filter(|letter| *letter != '"').collect();
            let name = format!("I{}", char::from(number));
            Some(Decoded::Answer(Answer::About(name, text.trim().to_owned())))
        }
        (b'I', []) => Some(refused(BUSY)),
        (b'L', []) => Some(refused(NOT_ALLOWED)),
        _ => None,
    }
}

/// `None` for what the format has no way to say.
fn encode(frame: &Frame) -> Option<String> {
    let head = match (&frame.condition, frame.mode, frame.stability) {
        (Condition::Over, Mode::Unknown, _) => return Some("S +".to_owned()),
        (Condition::Under, Mode::Unknown, _) => return Some("S -".to_owned()),
        (Condition::NotReady, Mode::Unknown, _) => return Some("S I".to_owned()),
        (Condition::Ok, Mode::Tare, Stability::Stable) => "TA A",
        (Condition::Ok, Mode::Unknown, Stability::Stable) => "S S",
        (Condition::Ok, Mode::Unknown, Stability::Moving) => "S D",
        _ => return None,
    };
    let letters = match frame.unit {
        Some(MassUnit::Grain) if frame.unit_text.is_empty() => "GN",
        _ => field::unit_letters(frame),
    };
    let fits = (1..=LONGEST_UNIT).contains(&letters.len());
    let number = field::right(&frame.value?.to_string(), 10)?;
    fits.then(|| format!("{head} {number} {letters}"))
}
