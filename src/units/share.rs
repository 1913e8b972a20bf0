//! A part of a whole, as a fraction. A percentage is only a way to write one.

use super::{Grams, NumberError, number, plain, quantity};
use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};
use std::fmt;

/// A fraction of a whole: 0.01 is one in a hundred. Serialised as a decimal string.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Share(Decimal);

quantity!(Share);

impl Share {
    /// All of it.
    pub const ONE: Self = Self(Decimal::ONE);
    /// One in a hundred.
    pub const ONE_PERCENT: Self = Self(Decimal::from_parts(1, 0, 0, false, 2));

    /// That fraction.
    pub const fn new(fraction: Decimal) -> Self {
        Self(fraction)
    }

    /// From a number of percent.
    pub fn from_percent(percent: Decimal) -> Self {
        Self(number::product(percent, Self::ONE_PERCENT.0))
    }

    /// Reads a percentage with its sign, `1 %` or `0.5%`. A bare number is refused: nobody can know
    /// whether `1` is all of it or one in a hundred.
    pub fn parse_percent(text: &str) -> Result<Self, NumberError> {
        let Some(digits) = text.trim().strip_suffix('%') else {
            return Err(NumberError::NotANumber(text.trim().to_owned()));
        };
        number::parse_decimal(digits).map(Self::from_percent)
    }

    /// The text in percent with that many decimals: `1.6 %`.
    pub fn percent(self, decimals: u32) -> String {
        format!("{} %", Grams::new(number::product(self.0, Decimal::ONE_HUNDRED)).with_decimals(decimals))
    }

    /// The text in percent with its sign, `+1.6 %`.
    pub fn signed_percent(self, decimals: u32) -> String {
        let text = self.percent(decimals);
        if self.is_negative() { text } else { format!("+{text}") }
    }

    /// Rounded half to even to that many decimals of the fraction.
    #[must_use]
    pub fn rounded(self, decimals: u32) -> Self {
        Self(self.0.round_dp_with_strategy(decimals, RoundingStrategy::MidpointNearestEven))
    }
}

/// A share of a share.
impl std::ops::Mul for Share {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        self.times(other.0)
    }
}

impl fmt::Display for Share {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&plain(self.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn percent_needs_its_sign() {
        assert_eq!(Share::parse_percent("1 %").unwrap(), Share::ONE_PERCENT);
        assert_eq!(Share::parse_percent("0.25%").unwrap().to_string(), "0.0025");
        assert!(Share::parse_percent("1").is_err());
        assert!(Share::parse_percent("%").is_err());
    }

    #[test]
    fn shown_in_percent() {
        assert_eq!(Share::new(Decimal::new(162, 4)).signed_percent(1), "+1.6 %");
        assert_eq!(Share::new(Decimal::new(-5, 3)).signed_percent(1), "-0.5 %");
    }
}
