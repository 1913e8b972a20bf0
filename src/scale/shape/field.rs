//! The parts that frames are made of: numbers, units and blanks at fixed places.

use super::super::{Condition, Frame, Mode, Stability, UnitText};
use super::Ask;
use crate::units::{Decimal, LIMIT, MOST_DECIMALS, MassUnit};

/// A frame that carries no number.
#[inline]
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

/// Which of two neighbouring widths the frames of a scale have, where the format comes in both. A frame of the wider
/// kind that lost a digit looks like one of the narrower with another number, so that the other width counts only
/// from its second frame in a row on.
pub(super) struct Width {
    usual: usize,
    other_before: bool,
}

impl Width {
    pub(super) const fn new(usual: usize) -> Self {
        Self { usual, other_before: false }
    }

    /// Whether a frame of that width, whole otherwise, counts.
    pub(super) const fn admits(&mut self, width: usize) -> bool {
        let admitted = width == self.usual || self.other_before;
        if admitted {
            self.usual = width;
        }
        self.other_before = !admitted;
        admitted
    }
}

/// Whether all of the bytes are such: eight at a time, and the last eight once more.
#[inline]
pub(super) fn all(bytes: &[u8], such: impl Fn(u8) -> bool + Copy) -> bool {
    let eight = |bytes: &[u8; 8]| bytes.iter().fold(true, |all, byte| all & such(*byte));
    match bytes.last_chunk() {
        Some(last) => bytes.as_chunks().0.iter().all(eight) && eight(last),
        None => bytes.iter().all(|byte| such(*byte)),
    }
}

/// Whether all of the bytes are printable ASCII.
#[inline]
pub(super) fn all_printable(bytes: &[u8]) -> bool {
    all(bytes, |byte| matches!(byte, b' '..=b'~'))
}

/// The widest number: no field of any format is as wide, and an `i64` holds all its digits.
const WIDEST: usize = 18;

/// Digits with at most one point among them, and a digit on both its sides. No sign, no blank. What is accepted is
/// what [`parse_decimal`](crate::units::parse_decimal) accepts, which needs the heap for a text.
#[expect(clippy::inline_always, reason = "handed over in memory, what is read costs as much as reading it")]
#[inline(always)]
pub(super) fn digits(bytes: &[u8]) -> Option<Decimal> {
    let mut number = 0_i64;
    let mut point = None;
    for (at, byte) in bytes.iter().enumerate() {
        match byte {
            b'0'..=b'9' => number = number.wrapping_mul(10).wrapping_add(i64::from(byte - b'0')),
            b'.' if point.is_none() && at > 0 => point = Some(at),
            _ => return None,
        }
    }
    let decimals = point.map_or(0, |at| bytes.len() - at - 1);
    let whole = !bytes.is_empty() && bytes.len() <= WIDEST && (point.is_none() || decimals > 0);
    let decimals = u32::try_from(decimals).ok().filter(|decimals| whole && *decimals <= MOST_DECIMALS)?;
    if number > LIMIT && 10_i64.pow(decimals).checked_mul(LIMIT).is_some_and(|most| number > most) {
        return None;
    }
    let (low, middle) = (number & i64::from(u32::MAX), number >> 32);
    Some(Decimal::from_parts(u32::try_from(low).ok()?, u32::try_from(middle).ok()?, 0, false, decimals))
}

/// The same bytes without the blanks before them.
#[inline]
pub(super) fn after_blanks(bytes: &[u8]) -> &[u8] {
    let blanks = bytes.iter().take_while(|&&byte| byte == b' ').count();
    bytes.get(blanks..).unwrap_or_default()
}

/// A number at the right of its field: blanks, a sign if there is one, digits.
#[expect(clippy::inline_always, reason = "handed over in memory, what is read costs as much as reading it")]
#[inline(always)]
pub(super) fn right_number(bytes: &[u8]) -> Option<Decimal> {
    let (sign, number) = sign_apart(bytes);
    signed(sign, digits(number)?)
}

/// The sign, if there is one behind the blanks, and what stands behind it.
#[inline]
pub(super) fn sign_apart(bytes: &[u8]) -> (u8, &[u8]) {
    match after_blanks(bytes) {
        [sign @ (b'+' | b'-'), number @ ..] => (*sign, number),
        number => (b'+', number),
    }
}

/// The number with its sign from a field of its own: `+`, `-`, or blank for plus.
#[inline]
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
#[expect(clippy::inline_always, reason = "handed over in memory, what is read costs as much as reading it")]
#[inline(always)]
pub(super) fn unit(field: &[u8]) -> Option<Unit> {
    let letters = field.trim_ascii();
    let of_a_number = |byte: &u8| matches!(byte, b' ' | b'0'..=b'9' | b'+' | b'-' | b'.' | b',' | b':');
    if letters.iter().any(of_a_number) {
        return None;
    }
    let letters = UnitText::new(letters);
    Some((MassUnit::from_letters(letters.as_bytes()), letters))
}

/// A unit at the right of its field: a blank at its end is damage, unless all of it is blank.
#[expect(clippy::inline_always, reason = "handed over in memory, what is read costs as much as reading it")]
#[inline(always)]
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

/// The text as a line of its own; nothing where there is none to send.
pub(super) fn line(text: Option<String>) -> Vec<u8> {
    text.map(|text| format!("{text}\r\n").into_bytes()).unwrap_or_default()
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
    use crate::units::parse_decimal;
    use proptest::prelude::*;

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
    fn all_looks_at_every_byte() {
        for length in 0..40 {
            let good = vec![b'~'; length];
            assert!(all_printable(&good));
            for at in 0..length {
                for spoilt in [0x1f, 0x7f, 0xff] {
                    let mut bytes = good.clone();
                    bytes[at] = spoilt;
                    assert!(!all_printable(&bytes), "{spoilt:#x} at {at} of {length}");
                }
            }
        }
    }

    /// At the limit of what is accepted, and where the digits run out.
    #[test]
    fn a_large_number_is_read_as_any_other() {
        for text in [
            "999999999",
            "1000000000",
            "1000000001",
            "1000000000.0",
            "1000000000.1",
            "00001000000000.1",
            "4294967296",
            "999999999.99999999",
            "0.123456789012",
            "0.1234567890123",
            "000000000000000007",
        ] {
            assert_same(text);
        }
        assert_eq!(digits(&[b'1'; WIDEST + 1]), None);
        assert_eq!(digits(&[b'0'; 40]), None);
    }

    fn assert_same(text: &str) {
        let told = |number: Decimal| (number.to_string(), number.mantissa(), number.scale());
        let unsigned = text.starts_with(|letter: char| letter.is_ascii_digit());
        let expected = parse_decimal(text).ok().filter(|_| unsigned && !text.ends_with(' '));
        assert_eq!(digits(text.as_bytes()).map(told), expected.map(told), "{text}");
    }

    proptest! {
        #[test]
        fn digits_are_read_as_the_reader_of_decimals_does(
            text in prop_oneof!["[0-9]{1,12}\\.[0-9]{0,5}", "[0-9. +a-]{0,18}", "[0-9]{0,18}", "0\\.[0-9]{1,16}"],
        ) {
            assert_same(&text);
        }
    }

    #[test]
    fn another_width_counts_from_its_second_frame_on() {
        let mut width = Width::new(9);
        let admitted = [9, 9, 8, 9, 8, 8, 8, 9, 8, 9, 9].map(|frame| width.admits(frame));
        assert_eq!(admitted, [true, true, false, true, false, true, true, false, true, false, true]);
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
