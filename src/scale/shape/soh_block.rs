//! A block from SOH and STX to ETX and EOT, with a check byte.
//!
//! | byte | what it is |
//! |---|---|
//! | 0, 1 | SOH, STX |
//! | 2 | `S` stable, `U` unstable |
//! | 3 | sign: a blank or a minus |
//! | 4–9 | weight, six characters with its point; blank where there is none (from memory) |
//! | 10, 11 | unit; some send a unit of one letter alone, and the block is a byte shorter (read second-hand) |
//! | 12 | check byte: bytes 2–11 one by one exclusive or (read second-hand) |
//! | 13, 14 | ETX, EOT |
//!
//! The scale is asked with ENQ, says ACK (or NAK while it is not ready, read second-hand), and sends its block at DC1.

use super::control_frames::{ControlFrames, Framed, Outside, Read};
use super::{Answer, Ask, Decoded, Decoder, Shape, UsualLine, field};
use crate::scale::{Condition, Frame, Mode, Stability};

const SOH: u8 = 0x01;
const STX: u8 = 0x02;
const ETX: u8 = 0x03;
const EOT: u8 = 0x04;
const ENQ: u8 = 0x05;
const ACK: u8 = 0x06;
const DC1: u8 = 0x11;
const NAK: u8 = 0x15;

/// With a unit of two letters.
const LENGTH: usize = 15;
/// Up to the first letter of the unit: behind it there may be a check byte, which may be any.
const TEXT: usize = 11;
const NOT_READY: &str = "the scale is not ready to answer: wait until it shows a weight, then ask again";

/// SOH, STX, a block with a check byte.
#[derive(Clone, Copy, Debug)]
pub struct SohBlock;

impl Shape for SohBlock {
    fn name(&self) -> &'static str {
        "soh-block"
    }

    fn looks_like(&self) -> &'static str {
        "SOH, STX, S or U, sign, weight, unit, check byte, ETX, EOT: <SOH><STX>S 0123.4 g.<ETX><EOT>"
    }

    /// Read second-hand.
    fn usual_line(&self) -> UsualLine {
        UsualLine::COMMON
    }

    fn decoder(&self) -> Box<dyn Decoder> {
        Box::new(ControlFrames::new(Block))
    }

    /// Both halves of the question at once: a scale that answers the first takes the second out of its buffer.
    /// Whether all do is not known; one that hears nothing while it says ACK could not be asked so.
    fn ask(&self, what: Ask) -> Option<&[u8]> {
        (what == Ask::Now).then_some(&[ENQ, DC1])
    }

    fn encode(&self, frame: &Frame) -> Vec<u8> {
        encode(frame).unwrap_or_default()
    }

    fn reply(&self, to: Ask, answer: &Answer) -> Option<Vec<u8>> {
        let not_ready = to == Ask::Now && matches!(answer, Answer::Refused(_));
        not_ready.then(|| vec![NAK])
    }

    fn understand(&self, bytes: &[u8]) -> Option<(Ask, usize)> {
        let at = bytes.windows(2).position(|pair| pair == [ENQ, DC1])?;
        Some((Ask::Now, at + 2))
    }
}

struct Block;

impl Framed for Block {
    const MOST: usize = LENGTH;

    fn starts(byte: u8) -> bool {
        byte == SOH
    }

    #[inline]
    fn read(&mut self, bytes: &[u8], _before: u8) -> Read {
        let begins = match bytes.get(..TEXT).unwrap_or(bytes) {
            [SOH] => true,
            [SOH, STX, text @ ..] => field::all_printable(text),
            _ => false,
        };
        if !begins {
            return Read::Nothing;
        }
        let short = LENGTH - 1;
        let length = match bytes {
            [.., ETX, EOT] if bytes.len() == short => short,
            _ if bytes.len() < LENGTH => return Read::More,
            _ if bytes.get(short - 2..short) == Some(&[ETX, EOT]) => short,
            _ => LENGTH,
        };
        let frame = bytes.get(..length).and_then(block);
        frame.map_or(Read::Nothing, |frame| Read::Whole(length, Decoded::Frame(frame)))
    }

    /// What comes between question and block.
    fn outside(&mut self, byte: u8) -> Outside {
        match byte {
            ACK => Outside::Silent,
            NAK => Outside::Says(Decoded::Answer(Answer::Refused(NOT_READY.to_owned()))),
            _ => Outside::Noise,
        }
    }
}

#[inline]
fn check_byte(inside: &[u8]) -> u8 {
    inside.iter().fold(0, |sum, byte| sum ^ byte)
}

#[inline]
fn block(frame: &[u8]) -> Option<Frame> {
    let [SOH, STX, inside @ .., check, ETX, EOT] = frame else { return None };
    if check_byte(inside) != *check {
        return None;
    }
    let [state, sign @ (b' ' | b'-'), rest @ ..] = inside else { return None };
    let stability = match state {
        b'S' => Stability::Stable,
        b'U' => Stability::Moving,
        _ => return None,
    };
    let (number, unit) = rest.split_at_checked(6)?;
    if !unit.iter().all(|byte| matches!(byte, b' '..=b'~')) {
        return None;
    }
    let (unit, unit_text) = field::unit(unit)?;
    if unit_text.is_empty() {
        return None;
    }
    if number == b"      " {
        return Some(Frame { unit, unit_text, stability, ..field::no_number(Condition::NotReady) });
    }
    let value = Some(field::signed(*sign, field::digits(field::after_blanks(number))?)?);
    Some(Frame { value, unit, unit_text, stability, ..field::no_number(Condition::Ok) })
}

/// `None` for what the format has no way to say.
fn encode(frame: &Frame) -> Option<Vec<u8>> {
    let state = match frame.stability {
        Stability::Stable => 'S',
        Stability::Moving => 'U',
        Stability::Unknown => return None,
    };
    let number = match (frame.value, &frame.condition, frame.mode) {
        (Some(value), Condition::Ok, Mode::Unknown) => {
            let digits = field::right(&value.abs().to_string(), 6)?.replace(' ', "0");
            format!("{}{digits}", field::sign(value, ' '))
        }
        (_, Condition::NotReady, Mode::Unknown) => " ".repeat(7),
        _ => return None,
    };
    let letters = field::unit_letters(frame);
    let unit = field::right(letters, 2).filter(|_| !letters.is_empty())?;
    let inside = format!("{state}{number}{unit}").into_bytes();
    let check = check_byte(&inside);
    Some([&[SOH, STX][..], &inside, &[check, ETX, EOT]].concat())
}
