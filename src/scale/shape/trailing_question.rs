//! A weight, a unit, and a question mark behind them while the scale moves.
//!
//! Ten of weight at the right, a blank, the unit at the left of five, a blank, `?` or a blank, a blank, a legend of
//! at most ten, CR LF: `____123.45_g_____?_NET` (`_` for a blank). The question mark means unstable, or less than
//! the scale's own minimum weight: no weight to go by either way.
//!
//! From memory: the legends that say gross, net and tare, and that words stand in the place of the weight when there
//! is none. Another legend may stand beside a total, a count or an average: such a line is not read.

use super::assembler::{Assembler, Layout};
use super::{Ask, Decoded, Decoder, Shape, UsualLine, field};
use crate::scale::{Condition, Frame, Mode, Stability};

const WEIGHT: usize = 10;
const UNIT: usize = 5;
const LEGEND: usize = 10;

/// Weight, unit, question mark.
#[derive(Clone, Copy, Debug)]
pub struct TrailingQuestion;

impl Shape for TrailingQuestion {
    fn name(&self) -> &'static str {
        "trailing-question"
    }

    fn looks_like(&self) -> &'static str {
        "a weight, a unit, a question mark while it moves:     123.45 g     ?"
    }

    /// From memory; older scales have 2400 7N2, from memory too.
    fn usual_line(&self) -> UsualLine {
        UsualLine::COMMON
    }

    fn decoder(&self) -> Box<dyn Decoder> {
        Box::new(Assembler::new(Fields))
    }

    /// The commands are from memory; none is known that ends weights without end.
    fn ask(&self, what: Ask) -> Option<&[u8]> {
        match what {
            Ask::Now => Some(b"IP\r\n"),
            Ask::WhenStable => Some(b"SP\r\n"),
            Ask::Repeat => Some(b"CP\r\n"),
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
            ("P", Ask::Now),
            ("IP", Ask::Now),
            ("SP", Ask::WhenStable),
            ("CP", Ask::Repeat),
            ("Z", Ask::Zero),
            ("T", Ask::Tare),
        ];
        field::understand_line(bytes, &known)
    }
}

struct Fields;

impl Layout for Fields {
    const MOST: usize = WEIGHT + 1 + UNIT + 3 + LEGEND;
    const START: Option<u8> = None;

    #[inline]
    fn read(&mut self, frame: &[u8]) -> Option<Decoded> {
        let (weight, rest) = frame.split_at_checked(WEIGHT)?;
        let (unit, rest) = rest.strip_prefix(b" ")?.split_at_checked(UNIT)?;
        let [b' ', mark @ (b' ' | b'?'), b' ', legend @ ..] = rest else { return None };
        let mode = mode(legend)?;
        if let Some(said) = word(weight) {
            unit.trim_ascii().is_empty().then_some(())?;
            let condition = Condition::Device(said);
            return Some(Decoded::Frame(Frame { mode, ..field::no_number(condition) }));
        }
        let value = Some(field::right_number(weight)?);
        if unit.starts_with(b" ") {
            return None;
        }
        let (unit, unit_text) = field::unit(unit)?;
        let stability = if *mark == b'?' { Stability::Moving } else { Stability::Stable };
        Some(Decoded::Frame(Frame {
            value,
            unit,
            unit_text,
            stability,
            mode,
            ..field::no_number(Condition::Ok)
        }))
    }
}

/// The legend may be as long as it is, or filled up with blanks to the width of its field. One that ends in blanks
/// otherwise has lost something, and the whole line may have: a question mark, say.
#[inline]
fn mode(legend: &[u8]) -> Option<Mode> {
    let whole = legend.len() == LEGEND || !legend.ends_with(b" ");
    match legend.trim_ascii_end() {
        _ if !whole => None,
        b"" => Some(Mode::Unknown),
        b"G" | b"GROSS" => Some(Mode::Gross),
        b"N" | b"NET" => Some(Mode::Net),
        b"T" | b"TARE" => Some(Mode::Tare),
        _ => None,
    }
}

/// Words at the right of the field of the weight: at least two letters, then perhaps a number, as `Err 8`. A damaged
/// digit makes one letter at most.
#[inline]
fn word(weight: &[u8]) -> Option<String> {
    let said = field::after_blanks(weight);
    let allowed = |byte: &u8| byte.is_ascii_alphanumeric() || matches!(byte, b' ' | b'.' | b'-');
    let fits = matches!(said, [first, second, ..] if first.is_ascii_alphabetic() && second.is_ascii_alphabetic())
        && !said.ends_with(b" ")
        && said.iter().all(allowed);
    fits.then(|| field::text(said))
}

/// `None` for what the format has no way to say: which words mean too heavy and too light is not established.
fn encode(frame: &Frame) -> Option<String> {
    let legend = match frame.mode {
        Mode::Unknown => "",
        Mode::Gross => "G",
        Mode::Net => "N",
        Mode::Tare => "T",
    };
    let (weight, letters, mark) = match (&frame.condition, frame.stability) {
        (Condition::Ok, Stability::Stable) => (frame.value?.to_string(), field::unit_letters(frame), ' '),
        (Condition::Ok, Stability::Moving) => (frame.value?.to_string(), field::unit_letters(frame), '?'),
        (Condition::Device(said), _) => {
            word(said.as_bytes())?;
            (said.clone(), "", ' ')
        }
        _ => return None,
    };
    if frame.condition == Condition::Ok && letters.is_empty() {
        return None;
    }
    let (weight, letters) = (field::right(&weight, WEIGHT)?, field::left(letters, UNIT)?);
    Some(format!("{weight} {letters} {mark} {legend}"))
}
