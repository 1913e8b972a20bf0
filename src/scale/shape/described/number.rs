//! The number in a line, read and written without a detour to the heap.

use crate::units::Decimal;

/// How a number stands in its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Form {
    /// At the left, with blanks behind it; otherwise at the right, with blanks before it.
    pub(super) left: bool,
    /// Filled with noughts instead of blanks.
    pub(super) zeros: bool,
    /// What stands before the decimals.
    pub(super) point: u8,
    /// How many of the digits are decimals, where no point is sent.
    pub(super) decimals: Option<u32>,
    /// The sign stands somewhere else.
    pub(super) unsigned: bool,
}

/// The most digits before the point, and after it: what is accepted from outside anywhere.
const WHOLE: usize = 9;
pub(super) const DECIMALS: u32 = 9;

impl Form {
    /// Reads a number that fills its place as the form says, digit for digit; none of anything else.
    pub(super) fn read(self, place: &[u8]) -> Option<Decimal> {
        let filled = if self.zeros {
            place
        } else if self.left {
            place.trim_ascii_end()
        } else {
            place.trim_ascii_start()
        };
        let (negative, digits) = match filled {
            [b'-', rest @ ..] if !self.unsigned => (true, rest),
            [b'+', rest @ ..] if !self.unsigned => (false, rest),
            rest => (false, rest),
        };
        let mut mantissa = 0_i64;
        let mut whole = 0;
        let mut any = false;
        let mut decimals: Option<u32> = None;
        for &byte in digits {
            match (byte, decimals) {
                (b'0'..=b'9', _) => {
                    mantissa = mantissa.checked_mul(10)?.checked_add(i64::from(byte - b'0'))?;
                    any = true;
                    match &mut decimals {
                        Some(count) => *count += 1,
                        None => whole += usize::from(mantissa > 0),
                    }
                }
                // Where leading zeros are blank, nothing need stand before the point.
                (byte, None) if byte == self.point && self.decimals.is_none() && (any || !self.zeros) => {
                    decimals = Some(0);
                }
                _ => return None,
            }
        }
        let scale = match (self.decimals, decimals) {
            (_, Some(0)) => return None,
            (None, sent) => sent.unwrap_or(0),
            (Some(implied), _) => {
                whole = whole.saturating_sub(usize::try_from(implied).ok()?);
                implied
            }
        };
        if !any || whole > WHOLE || scale > DECIMALS {
            return None;
        }
        let mut number = Decimal::new(mantissa, scale);
        // A nought can have a sign too, and it is kept as sent.
        number.set_sign_negative(negative);
        Some(number)
    }

    /// The number as it is sent in a place of that width; none if it cannot be.
    pub(super) fn written(self, mut number: Decimal, width: Option<usize>) -> Option<Vec<u8>> {
        let sign = number.is_sign_negative() && !self.unsigned;
        number.set_sign_negative(false);
        if let Some(decimals) = self.decimals {
            if number.scale() > decimals {
                return None;
            }
            number.rescale(decimals);
        }
        let mut digits: Vec<u8> = number.to_string().into_bytes();
        if self.decimals.is_some() {
            digits.retain(|byte| *byte != b'.');
        }
        for byte in digits.iter_mut().filter(|byte| **byte == b'.') {
            *byte = self.point;
        }
        let room = width.unwrap_or(digits.len() + usize::from(sign));
        let fill = room.checked_sub(digits.len() + usize::from(sign))?;
        let minus = sign.then_some(b'-').into_iter();
        let blanks = std::iter::repeat_n(b' ', if self.zeros { 0 } else { fill });
        let noughts = std::iter::repeat_n(b'0', if self.zeros { fill } else { 0 });
        let number = minus.chain(noughts).chain(digits);
        Some(if self.left { number.chain(blanks).collect() } else { blanks.chain(number).collect() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use rstest::rstest;

    const PLAIN: Form = Form { left: false, zeros: false, point: b'.', decimals: None, unsigned: false };

    #[rstest]
    #[case(PLAIN, "   12.30", "12.30")]
    #[case(PLAIN, "  -12.30", "-12.30")]
    #[case(PLAIN, "   +0.00", "0.00")]
    #[case(PLAIN, "    -0.0", "-0.0")]
    #[case(PLAIN, "00012.30", "12.30")]
    #[case(PLAIN, "     .50", "0.50")]
    #[case(PLAIN, "999999999", "999999999")]
    #[case(PLAIN, "0.123456789", "0.123456789")]
    #[case(Form { left: true, ..PLAIN }, "-12.3   ", "-12.3")]
    #[case(Form { zeros: true, ..PLAIN }, "-0012.30", "-12.30")]
    #[case(Form { point: b',', ..PLAIN }, "   12,30", "12.30")]
    #[case(Form { decimals: Some(2), ..PLAIN }, "   -1230", "-12.30")]
    #[case(Form { decimals: Some(2), ..PLAIN }, "99999999999", "999999999.99")]
    #[case(Form { decimals: Some(3), ..PLAIN }, "5", "0.005")]
    #[case(Form { unsigned: true, ..PLAIN }, "  12.3", "12.3")]
    fn a_number_is_read_digit_for_digit(#[case] form: Form, #[case] text: &str, #[case] number: &str) {
        assert_eq!(form.read(text.as_bytes()).unwrap().to_string(), number);
    }

    #[rstest]
    #[case(PLAIN, &["", "   ", "12.3 ", "12.", ".", "-", "1 2.3", "- 12", "--1", "1.2.3", "1,2", "1e3", "12g", "9999999999", "0.1234567890", "99999999999999999999"])]
    #[case(Form { left: true, ..PLAIN }, &[" 12.3", "1 2"])]
    #[case(Form { zeros: true, ..PLAIN }, &["  12.3", "12.3 ", ".5"])]
    #[case(Form { point: b',', ..PLAIN }, &["12.3"])]
    #[case(Form { decimals: Some(2), ..PLAIN }, &["12.30", "12,30", "999999999999"])]
    #[case(Form { unsigned: true, ..PLAIN }, &["-12.3", "+12.3"])]
    fn what_is_no_such_number_is_none(#[case] form: Form, #[case] texts: &[&str]) {
        for text in texts {
            assert_eq!(form.read(text.as_bytes()), None, "{text}");
        }
    }

    fn forms() -> impl Strategy<Value = Form> {
        (any::<bool>(), any::<bool>(), prop::bool::ANY, prop::option::of(0_u32..4)).prop_map(
            |(left, zeros, comma, decimals)| Form {
                left,
                zeros,
                point: if comma { b',' } else { b'.' },
                decimals,
                unsigned: false,
            },
        )
    }

    proptest! {
        #[test]
        fn what_is_written_is_read(form in forms(), units in -9_999_999_i64..=9_999_999, scale in 0_u32..5) {
            let number = Decimal::new(units, form.decimals.unwrap_or(scale));
            let written = form.written(number, Some(12)).unwrap();
            prop_assert_eq!(written.len(), 12);
            prop_assert_eq!(form.read(&written).unwrap().to_string(), number.to_string());
        }

        #[test]
        fn it_agrees_with_the_reader_of_decimals(text in "[ 0-9.+-]{0,14}") {
            let read = PLAIN.read(text.as_bytes());
            if let Some(number) = read {
                prop_assert_eq!(number, crate::units::parse_decimal(&text).unwrap());
            }
        }
    }
}
