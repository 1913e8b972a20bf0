//! CR, sign, six digits and a point, status, unit, mode, ETX.
//!
//! Fourteen bytes (`_` for a blank): `<CR>_0123.45__gG<ETX>`. The sign is a blank or a minus, and there is always a
//! point. Status: a blank, `M` moving, `O` over, `e` weight not displayed. The unit has two letters, of which one may
//! be blank. Mode: `G` gross, `N` net. (Layout read second-hand; that leading zeros may be blank is from memory.)

use super::control_frames::{ControlFrames, Framed, Read};
use super::{Ask, Decoded, Decoder, Shape, UsualLine, field};
use crate::scale::{Condition, Frame, Mode, Stability};
use crate::units::Decimal;

const CR: u8 = b'\r';
const ETX: u8 = 0x03;
const LENGTH: usize = 14;

/// Led by CR, ended by ETX.
#[derive(Clone, Copy, Debug)]
pub struct CrLed;

impl Shape for CrLed {
    fn name(&self) -> &'static str {
        "cr-led"
    }

    fn looks_like(&self) -> &'static str {
        "CR, sign, six digits and a point, status, unit, G or N, ETX: <CR> 0123.45  gG<ETX>"
    }

    /// Common practice, no source.
    fn usual_line(&self) -> UsualLine {
        UsualLine::COMMON
    }

    fn decoder(&self) -> Box<dyn Decoder> {
        Box::new(ControlFrames::new(Fields))
    }

    /// Sent without end; the format has no questions.
    fn ask(&self, _what: Ask) -> Option<&[u8]> {
        None
    }

    fn encode(&self, frame: &Frame) -> Vec<u8> {
        encode(frame).map(|text| format!("\r{text}\x03").into_bytes()).unwrap_or_default()
    }

    fn understand(&self, _bytes: &[u8]) -> Option<(Ask, usize)> {
        None
    }
}

struct Fields;

impl Framed for Fields {
    const MOST: usize = LENGTH;

    fn starts(byte: u8) -> bool {
        byte == CR
    }

    #[inline]
    fn read(&mut self, bytes: &[u8], _before: u8) -> Read {
        match bytes.get(..LENGTH) {
            Some([CR, inside @ .., ETX]) if field::all_printable(inside) => {
                fields(inside).map_or(Read::Nothing, |frame| Read::Whole(LENGTH, Decoded::Frame(frame)))
            }
            None if bytes.strip_prefix(&[CR]).is_some_and(field::all_printable) => Read::More,
            _ => Read::Nothing,
        }
    }
}

#[inline]
fn fields(inside: &[u8]) -> Option<Frame> {
    let [sign @ (b' ' | b'-'), rest @ .., mode] = inside else { return None };
    let (number, rest) = rest.split_at_checked(7)?;
    let [status, unit @ ..] = rest else { return None };
    let mode = match mode {
        b'G' => Mode::Gross,
        b'N' => Mode::Net,
        _ => return None,
    };
    let (condition, stability) = match status {
        b' ' => (Condition::Ok, Stability::Stable),
        b'M' => (Condition::Ok, Stability::Moving),
        b'O' => (Condition::Over, Stability::Unknown),
        b'e' => (Condition::NotReady, Stability::Unknown),
        _ => return None,
    };
    let (unit, unit_text) = field::unit(unit)?;
    if unit_text.is_empty() {
        return None;
    }
    if condition == Condition::Ok {
        let value = Some(field::signed(*sign, number_with_point(number)?)?);
        return Some(Frame { value, unit, unit_text, stability, mode, ..field::no_number(condition) });
    }
    let empty = number.iter().all(|byte| matches!(byte, b' ' | b'-'));
    let fits = empty || number_with_point(number).is_some();
    fits.then(|| Frame { unit, unit_text, stability, mode, ..field::no_number(condition) })
}

/// Six digits and a point, which may be the last of them.
#[inline]
fn number_with_point(bytes: &[u8]) -> Option<Decimal> {
    let number = field::after_blanks(bytes);
    if !number.contains(&b'.') {
        return None;
    }
    field::digits(number.strip_suffix(b".").unwrap_or(number))
}

/// `None` for what the format has no way to say.
fn encode(frame: &Frame) -> Option<String> {
    let mode = match frame.mode {
        Mode::Gross => 'G',
        Mode::Net => 'N',
        Mode::Tare | Mode::Unknown => return None,
    };
    let status = match (&frame.condition, frame.stability) {
        (Condition::Ok, Stability::Stable) => ' ',
        (Condition::Ok, Stability::Moving) => 'M',
        (Condition::Over, _) => 'O',
        (Condition::NotReady, _) => 'e',
        _ => return None,
    };
    let letters = field::unit_letters(frame);
    let unit = field::right(letters, 2).filter(|_| !letters.is_empty())?;
    let number = match (frame.value, &frame.condition) {
        (Some(value), Condition::Ok) => {
            let point = if value.scale() == 0 { "." } else { "" };
            let digits = field::right(&format!("{}{point}", value.abs()), 7)?.replace(' ', "0");
            format!("{}{digits}", field::sign(value, ' '))
        }
        (None, Condition::Ok) => return None,
        _ => " -------".to_owned(),
    };
    Some(format!("{number}{status}{unit}{mode}"))
}
