//! The parts that frames are made of: numbers, units and blanks at fixed places.

use super::super::{Condition, Frame, Mode, Stability, UnitText};
use super::Ask;
use crate::units::{Decimal, MassUnit, parse_decimal};

/// A frame that carries no number.
pub(super) const fn no_number(condition: Condition) -> Frame {
    Frame {
        value: None,
        unit: None,
        unit_text: UnitText::EMPTY,
        stability: Stability::Unknown,
        mode: Mode::Unknown,
        centre_of_zero: None,
        condition,
        high_resolution: false,
    }
}

/// Bytes known to be printable ASCII as text.
pub(super) fn text(bytes: &[u8]) -> String {
    bytes.iter().map(|&byte| char::from(byte)).collect()
}

/// Digits with at most one point among them, and a digit on both its sides. No sign, no blank.
pub(super) fn digits(bytes: &[u8]) -> Option<Decimal> {
    let all = |part: &[u8]| !part.is_empty() && part.iter().all(u8::is_ascii_digit);
    let mut parts = bytes.splitn(2, |&byte| byte == b'.');
    let whole = parts.next()?;
    let fits = all(whole) && parts.next().is_none_or(all);
    fits.then(|| parse_decimal(&text(bytes)).ok()).flatten()
}

/// The same bytes without the blanks before them.
pub(super) fn after_blanks(bytes: &[u8]) -> &[u8] {
    let blanks = bytes.iter().take_while(|&&byte| byte == b' ').count();
    bytes.get(blanks..).unwrap_or_default()
}

/// A number at the right of its field: blanks, a sign if there is one, digits.
pub(super) fn right_number(bytes: &[u8]) -> Option<Decimal> {
    match after_blanks(bytes) {
        [sign @ (b'+' | b'-'), rest @ ..] => signed(*sign, digits(rest)?),
        rest => digits(rest),
    }
}

/// The number with its sign from a field of its own: `+`, `-`, or blank for plus.
pub(super) fn signed(sign: u8, number: Decimal) -> Option<Decimal> {
    match sign {
        b'+' | b' ' => Some(number),
        b'-' => Some(-number),
        _ => None,
    }
}

/// A unit as known and as sent.
pub(super) type Unit = (Option<MassUnit>, UnitText);

/// A unit at the left or right of its field, as known and as sent. `None` if it holds a blank, or what only a number has.
pub(super) fn unit(field: &[u8]) -> Option<Unit> {
    let letters = field.trim_ascii();
    let of_a_number = |byte: &u8| matches!(byte, b' ' | b'0'..=b'9' | b'+' | b'-' | b'.' | b',' | b':');
    if letters.iter().any(of_a_number) {
        return None;
    }
    let letters = UnitText::new(letters);
    Some((MassUnit::from_symbol(&letters), letters))
}

/// A unit at the right of its field: a blank at its end is damage, unless all of it is blank.
pub(super) fn unit_at_right(field: &[u8]) -> Option<Unit> {
    let (unit, letters) = unit(field)?;
    (letters.is_empty() || !field.ends_with(b" ")).then_some((unit, letters))
}

/// The unit's letters to send: those the frame came with, or the unit's symbol.
pub(super) fn unit_letters(frame: &Frame) -> &str {
    match frame.unit {
        Some(unit) if frame.unit_text.is_empty() => unit.symbol(),
        _ => &frame.unit_text,
    }
}

/// The text at the left of a field of that width; `None` if it does not fit.
pub(super) fn left(text: &str, width: usize) -> Option<String> {
    (text.len() <= width).then(|| format!("{text:<width$}"))
}

/// The text at the right of a field of that width; `None` if it does not fit.
pub(super) fn right(text: &str, width: usize) -> Option<String> {
    (text.len() <= width).then(|| format!("{text:>width$}"))
}

/// The sign character of a number, with `plus` for one that is not below nothing.
pub(super) fn sign(number: Decimal, plus: char) -> char {
    if number.is_sign_negative() { '-' } else { plus }
}

/// Finds the first known command among lines; see [`super::Shape::understand`].
pub(super) fn understand_line(bytes: &[u8], known: &[(&str, Ask)]) -> Option<(Ask, usize)> {
    let mut used = 0;
    for piece in bytes.split_inclusive(|byte| matches!(byte, b'\r' | b'\n')) {
        used += piece.len();
        let (end, command) = piece.split_last()?;
        if !matches!(end, b'\r' | b'\n') {
            return None;
        }
        if let Some((_, ask)) = known.iter().find(|(name, _)| name.as_bytes() == command) {
            let both = *end == b'\r' && bytes.get(used) == Some(&b'\n');
            return Some((*ask, used + usize::from(both)));
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_whole_or_nothing() {
        for (bytes, number) in [
            ("      12.07", "12.07"),
            ("-3.20", "-3.20"),
            ("  +0.00", "0.00"),
            ("100000", "100000"),
            ("0007.5", "7.5"),
        ] {
            assert_eq!(right_number(bytes.as_bytes()).unwrap().to_string(), number, "{bytes}");
        }
        for bytes in [
            "",
            "   ",
            "12.",
            ".5",
            "1 2.3",
            "12.3 ",
            "- 3",
            "--3",
            "+-3",
            "1.2.3",
            "1,2",
            "12a",
            "1e3",
            "9999999999",
            "0x1",
            "1_0",
        ] {
            assert_eq!(right_number(bytes.as_bytes()), None, "{bytes}");
        }
    }

    #[test]
    fn a_unit_has_no_blank_inside_and_nothing_of_a_number() {
        assert_eq!(unit(b"g  "), Some((Some(MassUnit::Gram), "g".into())));
        assert_eq!(unit(b" kg"), Some((Some(MassUnit::Kilogram), "kg".into())));
        assert_eq!(unit(b"pcs"), Some((None, "pcs".into())));
        assert_eq!(unit(b"   "), Some((None, UnitText::EMPTY)));
        assert_eq!(unit(b"tl(t)"), Some((None, "tl(t)".into())));
        for spoilt in [&b"k g"[..], b"g1", b"E19", b"-g", b".g", b"g,"] {
            assert_eq!(unit(spoilt), None);
        }
    }

    #[test]
    fn a_command_is_found_behind_what_is_not_one() {
        let known = [("SI", Ask::Now), ("T", Ask::Tare)];
        assert_eq!(understand_line(b"SI\r\nT\r\n", &known), Some((Ask::Now, 4)));
        assert_eq!(understand_line(b"SI\r", &known), Some((Ask::Now, 3)));
        assert_eq!(understand_line(b"\nhello\r\nT\n", &known), Some((Ask::Tare, 10)));
        assert_eq!(understand_line(b"SI", &known), None);
        assert_eq!(understand_line(b"si\r\n", &known), None);
        assert_eq!(understand_line(b"", &known), None);
    }
}
