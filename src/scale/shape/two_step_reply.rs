//! Replies in two steps: first that the command was understood, later what came of it.
//!
//! | bytes | layout (`_` for a blank) | example |
//! |---|---|---|
//! | 21 | the command and blanks, three in all, stability, `_`, sign, nine of value at the right, `_`, unit of three at the left, CR LF | `S____-_____8.50_g__` |
//! | 22 | a command of three letters, `_`, then the same from the stability on | `SUI_?_-____58.23_kg_` |
//!
//! Stability is blank when stable, `?` when not, `^` above the range and `v` below it. `S` waits for rest and is
//! answered with `S A` before its frame; `SI` is answered at once. Zero and tare are answered with `Z A`, then with
//! `Z D` when it is done; or with `I` not possible just now, `^` and `v` out of range, `E` no rest in time. `ES` is a
//! command that is unknown. The next command must wait until the answer is complete.

use super::assembler::{Assembler, Layout};
use super::{Answer, Ask, Decoded, Decoder, Shape, UsualLine, field};
use crate::scale::{Condition, Frame, Mode, Stability};

const VALUE: usize = 9;
const BUSY: &str = "the scale cannot do that just now: wait until it stands still, then try again";
const NO_REST: &str =
    "the scale did not come to rest in time: keep bench and draught off the pan, then try again";
const TOO_HIGH: &str =
    "the load is above the range in which the scale can do that: take the load off, then try again";
const TOO_LOW: &str =
    "the load is below the range in which the scale can do that: put the pan on, then try again";

/// Replies in two steps.
#[derive(Clone, Copy, Debug)]
pub struct TwoStepReply;

impl Shape for TwoStepReply {
    fn name(&self) -> &'static str {
        "two-step-reply"
    }

    fn looks_like(&self) -> &'static str {
        "the command's letters, a sign of stability, a weight: S    -     8.50 g"
    }

    /// From memory.
    fn usual_line(&self) -> UsualLine {
        UsualLine::COMMON
    }

    fn decoder(&self) -> Box<dyn Decoder> {
        Box::new(Assembler::new(Fields))
    }

    fn ask(&self, what: Ask) -> Option<&[u8]> {
        match what {
            Ask::Now => Some(b"SI\r\n"),
            Ask::WhenStable => Some(b"S\r\n"),
            Ask::Zero => Some(b"Z\r\n"),
            Ask::Tare => Some(b"T\r\n"),
            _ => None,
        }
    }

    fn encode(&self, frame: &Frame) -> Vec<u8> {
        field::line(encode(frame))
    }

    fn reply(&self, to: Ask, answer: &Answer) -> Option<Vec<u8>> {
        let command = match to {
            Ask::WhenStable => "S",
            Ask::Zero => "Z",
            Ask::Tare => "T",
            // A weight at once has no first step, and nothing else is known here.
            _ => return (*answer == Answer::Unknown).then(|| b"ES\r\n".to_vec()),
        };
        let status = match answer {
            Answer::Unknown => return Some(b"ES\r\n".to_vec()),
            Answer::Accepted => 'A',
            _ if to == Ask::WhenStable => return None,
            Answer::Done => 'D',
            Answer::Refused(why) => match why.as_str() {
                NO_REST => 'E',
                TOO_HIGH => '^',
                TOO_LOW => 'v',
                _ => 'I',
            },
            Answer::Damaged | Answer::About(..) => return None,
        };
        Some(format!("{command} {status}\r\n").into_bytes())
    }

    fn understand(&self, bytes: &[u8]) -> Option<(Ask, usize)> {
        let known = [("SI", Ask::Now), ("S", Ask::WhenStable), ("Z", Ask::Zero), ("T", Ask::Tare)];
        field::understand_line(bytes, &known)
    }
}

struct Fields;

impl Layout for Fields {
    const MOST: usize = 20;
    const START: Option<u8> = None;

    #[inline]
    fn read(&mut self, frame: &[u8]) -> Option<Decoded> {
        match frame {
            b"ES" => Some(Decoded::Answer(Answer::Unknown)),
            b"S A" => Some(Decoded::Answer(Answer::Accepted)),
            [b'Z' | b'T', b' ', status] => step(*status).map(Decoded::Answer),
            [b'S', b' ', status] | [b'S', b'I', b' ', status] => no_weight(*status).map(Decoded::Frame),
            [b'S', b' ' | b'A'..=b'Z', b' ', rest @ ..]
            | [b'S', b'A'..=b'Z', b'A'..=b'Z', b' ', rest @ ..]
                if rest.len() == 16 =>
            {
                weight(rest).map(Decoded::Frame)
            }
            _ => None,
        }
    }
}

fn step(status: u8) -> Option<Answer> {
    let why = match status {
        b'A' => return Some(Answer::Accepted),
        b'D' => return Some(Answer::Done),
        b'I' => BUSY,
        b'E' => NO_REST,
        b'^' => TOO_HIGH,
        b'v' => TOO_LOW,
        _ => return None,
    };
    Some(Answer::Refused(why.to_owned()))
}

/// Why a weight that was asked for does not come.
fn no_weight(status: u8) -> Option<Frame> {
    let condition = match status {
        b'I' | b'E' => Condition::NotReady,
        b'^' => Condition::Over,
        b'v' => Condition::Under,
        _ => return None,
    };
    Some(field::no_number(condition))
}

/// The sixteen from the stability on. What stands in the place of the value out of range is no weight.
#[inline]
fn weight(fields: &[u8]) -> Option<Frame> {
    let [stability, b' ', sign, rest @ ..] = fields else { return None };
    let (number, rest) = rest.split_at_checked(VALUE)?;
    let unit = rest.strip_prefix(b" ").filter(|unit| !unit.starts_with(b" "))?;
    let (unit, unit_text) = field::unit(unit)?;
    let number = field::after_blanks(number);
    let (condition, stability) = match stability {
        b' ' => (Condition::Ok, Stability::Stable),
        b'?' => (Condition::Ok, Stability::Moving),
        b'^' => (Condition::Over, Stability::Unknown),
        b'v' => (Condition::Under, Stability::Unknown),
        _ => return None,
    };
    let value = match (&condition, number) {
        (Condition::Over | Condition::Under, []) if matches!(sign, b' ' | b'+' | b'-') => None,
        _ => Some(field::signed(*sign, field::digits(number)?)?),
    };
    let value = value.filter(|_| condition == Condition::Ok);
    Some(Frame { value, unit, unit_text, stability, ..field::no_number(condition) })
}

/// `None` for what the format has no way to say.
fn encode(frame: &Frame) -> Option<String> {
    if frame.mode != Mode::Unknown {
        return None;
    }
    // A weight that moves, or is out of range, comes at once or not at all.
    let (command, mark) = match (&frame.condition, frame.stability) {
        (Condition::Ok, Stability::Stable) => ("S  ", ' '),
        (Condition::Ok, Stability::Moving) => ("SI ", '?'),
        (Condition::Over, _) => ("SI ", '^'),
        (Condition::Under, _) => ("SI ", 'v'),
        (Condition::NotReady, _) => return Some("SI I".to_owned()),
        _ => return None,
    };
    let (sign, number) = match &frame.condition {
        Condition::Ok => {
            let value = frame.value?;
            (field::sign(value, ' '), value.abs().to_string())
        }
        _ => (' ', String::new()),
    };
    let letters = field::unit_letters(frame);
    if letters.is_empty() {
        // Without a unit there is no frame, only the status behind the command.
        return (frame.condition != Condition::Ok).then(|| format!("SI {mark}"));
    }
    Some(format!("{command}{mark} {sign}{} {}", field::right(&number, VALUE)?, field::left(letters, 3)?))
}
