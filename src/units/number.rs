//! Reading and writing decimals exactly: no exponent, no grouping, nothing rounded in silence.

use rust_decimal::Decimal;
use thiserror::Error;

/// The largest number accepted from outside. A tonne is a million grams; this is a thousand times that.
pub(crate) const LIMIT: i64 = 1_000_000_000;

/// The most decimals accepted from outside, so that products of two such numbers stay exact in 28 digits.
pub(crate) const MOST_DECIMALS: u32 = 12;

/// Why a text is not a number that can be used.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum NumberError {
    /// Nothing but blanks.
    #[error("a number was expected, but nothing is there")]
    Empty,
    /// A character that no number has.
    #[error("'{0}' is not a number: write digits with a decimal point, like 12.5")]
    NotANumber(String),
    /// More than a thousand million.
    #[error("'{0}' is too large: the most that can be used is 1000000000")]
    TooLarge(String),
    /// More decimals than can be kept exactly.
    #[error("'{0}' has more than 12 decimals and would have to be rounded")]
    TooFine(String),
}

/// Reads digits with an optional sign and decimal point, exactly as written.
///
/// Exponents (`1e3`), grouping (`1_000`, `1,000`) and a bare point are refused: each has been misread by
/// somebody.
pub fn parse_decimal(text: &str) -> Result<Decimal, NumberError> {
    let text = text.trim();
    if text.is_empty() {
        return Err(NumberError::Empty);
    }
    let digits = text.strip_prefix(['+', '-']).unwrap_or(text);
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, "0"));
    let all_digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    if !all_digits(fraction) || !(all_digits(whole) || whole.is_empty() && digits.starts_with('.')) {
        return Err(NumberError::NotANumber(text.to_owned()));
    }
    if fraction.len() > MOST_DECIMALS as usize {
        return Err(NumberError::TooFine(text.to_owned()));
    }
    if whole.trim_start_matches('0').len() > 10 {
        return Err(NumberError::TooLarge(text.to_owned()));
    }
    let Ok(number) = Decimal::from_str_exact(text.strip_prefix('+').unwrap_or(text)) else {
        return Err(NumberError::NotANumber(text.to_owned()));
    };
    if number.abs() > Decimal::from(LIMIT) {
        return Err(NumberError::TooLarge(text.to_owned()));
    }
    Ok(number)
}

/// As [`parse_decimal`], for what a person types: a single comma also serves as the decimal mark.
///
/// `1,5` is one and a half. `1,500.0` is refused, since nobody can know which mark was meant.
pub fn parse_decimal_with_comma(text: &str) -> Result<Decimal, NumberError> {
    let trimmed = text.trim();
    if trimmed.contains('.') || trimmed.matches(',').count() != 1 {
        return parse_decimal(trimmed);
    }
    parse_decimal(&trimmed.replacen(',', ".", 1)).map_err(|error| match error {
        NumberError::NotANumber(_) => NumberError::NotANumber(trimmed.to_owned()),
        other => other,
    })
}

/// A number in plain digits without trailing zeros, as results and files show it: `257.4`, never `2.574e2`.
pub fn plain(number: Decimal) -> String {
    number.normalize().to_string()
}

pub(super) fn negated(mut number: Decimal) -> Decimal {
    number.set_sign_negative(number.is_sign_positive() && !number.is_zero());
    number
}

pub(super) fn sum(a: Decimal, b: Decimal) -> Decimal {
    a.checked_add(b).unwrap_or(if a.is_sign_negative() { Decimal::MIN } else { Decimal::MAX })
}

pub(super) fn product(a: Decimal, b: Decimal) -> Decimal {
    let negative = a.is_sign_negative() != b.is_sign_negative();
    a.checked_mul(b).unwrap_or(if negative { Decimal::MIN } else { Decimal::MAX })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn reads_exactly_what_is_written() {
        assert_eq!(parse_decimal("812.40").unwrap().to_string(), "812.40");
        assert_eq!(parse_decimal(" -0.05 ").unwrap().to_string(), "-0.05");
        assert_eq!(parse_decimal("+.5").unwrap().to_string(), "0.5");
    }

    #[test]
    fn refuses_what_could_be_misread() {
        for text in ["1e3", "1_000", "1,000", "0x10", "1.2.3", "-", ".", "5.", "12 g", "NaN", "--1", "１"] {
            assert_eq!(parse_decimal(text), Err(NumberError::NotANumber(text.to_owned())), "{text}");
        }
        assert_eq!(parse_decimal("  "), Err(NumberError::Empty));
        assert_eq!(parse_decimal("0.1234567890123"), Err(NumberError::TooFine("0.1234567890123".into())));
        assert_eq!(parse_decimal("1000000000.1"), Err(NumberError::TooLarge("1000000000.1".into())));
        assert_eq!(
            parse_decimal("99999999999999999999999"),
            Err(NumberError::TooLarge("99999999999999999999999".into()))
        );
    }

    #[test]
    fn a_comma_is_a_decimal_mark_only_when_it_can_be_nothing_else() {
        assert_eq!(parse_decimal_with_comma("1,5").unwrap().to_string(), "1.5");
        assert_eq!(parse_decimal_with_comma("1.5").unwrap().to_string(), "1.5");
        assert!(parse_decimal_with_comma("1,500.0").is_err());
        assert!(parse_decimal_with_comma("1,500,000").is_err());
    }

    proptest! {
        #[test]
        fn what_is_written_is_read_back(units in -999_999_999_999_i64..999_999_999_999, scale in 0_u32..=9) {
            let number = Decimal::new(units, scale);
            prop_assume!(number.abs() <= Decimal::from(LIMIT));
            let read = parse_decimal(&number.to_string()).unwrap();
            prop_assert_eq!(read.to_string(), number.to_string());
        }

        #[test]
        fn no_text_is_a_panic(text in ".{0,40}") {
            let _ = parse_decimal(&text);
            let _ = parse_decimal_with_comma(&text);
        }
    }
}
