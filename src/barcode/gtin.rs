//! Numbers of trade items, and the check digit at their end.

use std::fmt;

/// A Global Trade Item Number as fourteen digits; shorter ones have noughts before them.
///
/// GS1 General Specifications 17.1 (July 2017), "GTIN" and section 7.9 on the check digit (the section numbers from
/// memory).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Gtin([u8; 14]);

impl Gtin {
    /// Reads 8, 12, 13 or 14 digits whose last is the right check digit.
    pub fn parse(text: &str) -> Option<Self> {
        let digits = text.as_bytes();
        if !matches!(digits.len(), 8 | 12 | 13 | 14) || !digits.iter().all(u8::is_ascii_digit) {
            return None;
        }
        let (body, last) = text.split_at_checked(digits.len().checked_sub(1)?)?;
        if check_digit(body)? != last.parse::<u8>().ok()? {
            return None;
        }
        let mut all = [b'0'; 14];
        let from = all.len().checked_sub(digits.len())?;
        all.get_mut(from..)?.copy_from_slice(digits);
        Some(Self(all))
    }

    /// Whether it is a number that may only be used inside one company, so that it names no item of anybody else: the
    /// GS1 prefixes 02, 04 and 20 to 29 (restricted circulation; from memory).
    pub fn is_restricted(self) -> bool {
        let [indicator, a, b, ..] = self.0;
        indicator == b'0' && matches!((a, b), (b'0', b'2' | b'4') | (b'2', _))
    }
}

impl fmt::Display for Gtin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|digit| write!(f, "{}", char::from(*digit)))
    }
}

/// The check digit behind those digits: from the right they count three and one times by turns, and it makes up the
/// next ten. None if they are not all digits.
pub fn check_digit(digits: &str) -> Option<u8> {
    let mut sum = 0_u32;
    for (letter, weight) in digits.chars().rev().zip([3_u32, 1].into_iter().cycle()) {
        sum = sum.checked_add(letter.to_digit(10)?.checked_mul(weight)?)?;
    }
    u8::try_from((10_u32.checked_sub(sum.checked_rem(10)?)?).checked_rem(10)?).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_check_digits_of_published_numbers() {
        // 9506000134352, which GS1 itself uses in its examples; 4006381333931 and 036000291452, the usual textbook
        // examples of EAN-13 and UPC-A; 73513537 of EAN-8 (all from memory).
        for number in ["9506000134352", "09506000134352", "4006381333931", "036000291452", "73513537"] {
            let (body, last) = number.split_at(number.len() - 1);
            assert_eq!(check_digit(body), last.parse().ok(), "{number}");
            assert!(Gtin::parse(number).is_some(), "{number}");
        }
        assert_eq!(Gtin::parse("9506000134352"), Gtin::parse("09506000134352"));
        assert_eq!(Gtin::parse("9506000134352").unwrap().to_string(), "09506000134352");
        for wrong in ["9506000134353", "950600013435", "", "95060001343a2", "١٢٣٤٥٦٧٨"] {
            assert_eq!(Gtin::parse(wrong), None, "{wrong}");
        }
        assert!(Gtin::parse("2000000000015").is_some_and(Gtin::is_restricted));
        assert!(!Gtin::parse("9506000134352").unwrap().is_restricted());
    }

    proptest! {
        /// One wrong digit is always seen: the weights have no factor in common with ten.
        #[test]
        fn one_wrong_digit_is_seen(body in "[0-9]{12}", at in 0_usize..12, by in 1_u8..10) {
            let digit = check_digit(&body).unwrap();
            let mut other = body.into_bytes();
            other[at] = b'0' + (other[at] - b'0' + by) % 10;
            prop_assert_ne!(check_digit(std::str::from_utf8(&other).unwrap()), Some(digit));
        }

        #[test]
        fn any_text_is_judged(text in ".*") {
            let _ = (Gtin::parse(&text), check_digit(&text));
        }
    }
}
