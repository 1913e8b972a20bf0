//! Mass in grams: what a scale shows and what the book keeps.

use super::{Division, MassUnit, NumberError, Share, number, plain, quantity};
use rust_decimal::{Decimal, RoundingStrategy, prelude::ToPrimitive};
use serde::{Deserialize, Serialize};
use std::fmt;

/// A mass in grams, exact. Serialised as a decimal string.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Grams(Decimal);

quantity!(Grams);

impl Grams {
    /// A mass of that many grams.
    pub const fn new(grams: Decimal) -> Self {
        Self(grams)
    }

    /// Reads a bare number of grams, exactly as written.
    pub fn parse(text: &str) -> Result<Self, NumberError> {
        number::parse_decimal(text).map(Self)
    }

    /// The mass in the book's smallest unit, the microgram, rounded half to even.
    ///
    /// `None` if it does not fit, which needs more than nine thousand tonnes.
    pub fn micrograms(self) -> Option<i64> {
        number::product(self.0, Decimal::from(1_000_000))
            .round_dp_with_strategy(0, RoundingStrategy::MidpointNearestEven)
            .to_i64()
    }

    /// A mass from the book's smallest unit, the microgram. Exact.
    pub fn from_micrograms(micrograms: i64) -> Self {
        Self(Decimal::new(micrograms, 6))
    }

    /// The mass at the book's resolution: rounded half to even to a whole microgram.
    #[must_use]
    pub fn to_book(self) -> Self {
        Self(self.0.round_dp_with_strategy(6, RoundingStrategy::MidpointNearestEven))
    }

    /// The mass at the book's resolution, rounded up (away from nothing), for amounts that must suffice.
    #[must_use]
    pub fn to_book_up(self) -> Self {
        Self(self.0.round_dp_with_strategy(6, RoundingStrategy::AwayFromZero))
    }

    /// A mass read in `unit`, as grams. Exact: the factors are definitions.
    pub fn from_unit(value: Decimal, unit: MassUnit) -> Self {
        Self(number::product(value, unit.grams_each()))
    }

    /// This mass as a share of `whole`; `None` if `whole` is nothing.
    pub fn share_of(self, whole: Self) -> Option<Share> {
        self.ratio_to(whole).map(Share::new)
    }

    /// The text for a screen: as many decimals as the division has, rounded half to even.
    pub fn shown(self, division: Division) -> String {
        format!("{:.*}", division.decimals() as usize, division.round(self).0)
    }

    /// The text with a fixed number of decimals, rounded half to even.
    pub fn with_decimals(self, decimals: u32) -> String {
        let rounded = self.0.round_dp_with_strategy(decimals, RoundingStrategy::MidpointNearestEven);
        format!("{rounded:.*}", decimals as usize)
    }
}

impl std::ops::Mul<Share> for Grams {
    type Output = Self;
    fn mul(self, share: Share) -> Self {
        self.times(share.decimal())
    }
}

impl fmt::Display for Grams {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&plain(self.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn micrograms_round_half_to_even() {
        for (text, micrograms) in
            [("0.0000005", 0), ("0.0000015", 2), ("-0.0000025", -2), ("12.345678", 12_345_678)]
        {
            assert_eq!(Grams::parse(text).unwrap().micrograms(), Some(micrograms), "{text}");
        }
        assert_eq!(Grams::from_micrograms(12_345_678).to_string(), "12.345678");
        assert_eq!(Grams::new(Decimal::MAX).micrograms(), None);
    }

    #[test]
    fn sums_stay_at_the_edge_instead_of_wrapping() {
        let most = Grams::new(Decimal::MAX);
        assert_eq!(most + most, most);
        assert_eq!(-most - most, Grams::new(Decimal::MIN));
        assert_eq!(most.times(Decimal::TWO), most);
        assert_eq!(most.times(-Decimal::TWO), -most);
    }

    #[test]
    fn shown_with_the_divisions_own_decimals() {
        let tenth = Division::new(Decimal::new(1, 1)).unwrap();
        assert_eq!(Grams::parse("257.25").unwrap().shown(tenth), "257.2");
        assert_eq!(Grams::parse("3").unwrap().shown(tenth), "3.0");
        assert_eq!(Grams::parse("-0.04").unwrap().shown(tenth), "0.0");
    }
}
