//! The scale division `d`: the smallest step a scale shows (OIML R 76, T.3.2.2).

use super::{Grams, NumberError, number, plain};
use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};
use std::fmt;

/// A scale's smallest step in grams; always more than nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "Decimal", into = "Decimal")]
pub struct Division(Decimal);

impl Division {
    /// A tenth of a gram, the usual step of a mixing bench's scale (common practice, no source).
    pub const TENTH: Self = Self(Decimal::from_parts(1, 0, 0, false, 1));

    /// A division of that many grams; `None` unless it is more than nothing.
    pub fn new(grams: Decimal) -> Option<Self> {
        (grams > Decimal::ZERO).then(|| Self(grams.normalize()))
    }

    /// Reads a bare number of grams.
    pub fn parse(text: &str) -> Result<Self, NumberError> {
        let grams = number::parse_decimal(text)?;
        Self::new(grams).ok_or_else(|| NumberError::NotANumber(text.trim().to_owned()))
    }

    /// The step as a mass.
    pub const fn grams(self) -> Grams {
        Grams::new(self.0)
    }

    /// How many decimals a reading has at this step: 1 for 0.1 g, 2 for 0.05 g, 0 for 1 g.
    pub fn decimals(self) -> u32 {
        self.0.scale()
    }

    /// Rounds to a whole number of steps, half to even.
    pub fn round(self, mass: Grams) -> Grams {
        self.rounded(mass, RoundingStrategy::MidpointNearestEven)
    }

    /// Rounds up to a whole number of steps (towards more).
    pub fn round_up(self, mass: Grams) -> Grams {
        self.rounded(mass, RoundingStrategy::ToPositiveInfinity)
    }

    /// Whether the mass is a whole number of steps.
    pub fn divides(self, mass: Grams) -> bool {
        self.round(mass) == mass
    }

    fn rounded(self, mass: Grams, strategy: RoundingStrategy) -> Grams {
        let Some(steps) = mass.decimal().checked_div(self.0) else { return mass };
        Grams::new(number::product(steps.round_dp_with_strategy(0, strategy), self.0))
    }
}

impl TryFrom<Decimal> for Division {
    type Error = String;
    fn try_from(grams: Decimal) -> Result<Self, String> {
        Self::new(grams).ok_or_else(|| format!("a division must be more than nothing, not {grams}"))
    }
}

impl From<Division> for Decimal {
    fn from(division: Division) -> Self {
        division.0
    }
}

impl fmt::Display for Division {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&plain(self.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grams(text: &str) -> Grams {
        Grams::parse(text).unwrap()
    }

    #[test]
    fn rounds_half_to_even_in_steps() {
        let tenth = Division::parse("0.1").unwrap();
        assert_eq!(tenth.round(grams("12.25")), grams("12.2"));
        assert_eq!(tenth.round(grams("12.35")), grams("12.4"));
        let five = Division::parse("0.05").unwrap();
        assert_eq!(five.round(grams("0.025")), grams("0"));
        assert_eq!(five.round(grams("0.075")), grams("0.10"));
        assert_eq!(five.round_up(grams("0.051")), grams("0.10"));
        assert_eq!(five.decimals(), 2);
        assert!(five.divides(grams("1.15")) && !five.divides(grams("1.16")));
    }

    #[test]
    fn nothing_is_no_division() {
        assert_eq!(Division::new(Decimal::ZERO), None);
        assert!(Division::parse("-0.1").is_err());
        assert!(serde_json::from_str::<Division>("\"0\"").is_err());
    }

    #[test]
    fn trailing_zeros_do_not_add_decimals() {
        assert_eq!(Division::parse("0.10").unwrap().decimals(), 1);
        assert_eq!(Division::parse("1.0").unwrap().decimals(), 0);
        assert_eq!(Division::TENTH, Division::parse("0.1").unwrap());
    }
}
