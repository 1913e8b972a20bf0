//! A content in grams per litre, and the same in pounds per US gallon.

use crate::units::{Decimal, Grams, Millilitres};
use rust_decimal::RoundingStrategy;
use serde::{Deserialize, Serialize};

/// Grams in a pound: its definition (international pound, 1959).
const GRAMS_PER_POUND: Decimal = Decimal::from_parts(45_359_237, 0, 0, false, 5);
/// Litres in a US gallon: its definition, 231 cubic inches.
const LITRES_PER_GALLON: Decimal = Decimal::from_parts(3_785_411_784, 0, 0, false, 9);

/// So many grams of something in a litre of something. Serialised as a decimal string.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct PerLitre(Decimal);

impl PerLitre {
    /// Nothing of it.
    pub const ZERO: Self = Self(Decimal::ZERO);

    /// So many grams per litre.
    pub const fn new(grams_per_litre: Decimal) -> Self {
        Self(grams_per_litre)
    }

    /// That mass in that volume, to 28 digits; none if the volume is nothing or less.
    pub fn of(mass: Grams, volume: Millilitres) -> Option<Self> {
        if !volume.is_positive() {
            return None;
        }
        mass.decimal().checked_mul(Decimal::ONE_THOUSAND)?.checked_div(volume.decimal()).map(Self)
    }

    /// So many pounds per US gallon; none if it is too large.
    pub fn of_pounds_per_gallon(pounds: Decimal) -> Option<Self> {
        pounds.checked_mul(GRAMS_PER_POUND)?.checked_div(LITRES_PER_GALLON).map(Self)
    }

    /// The bare number, in g/L.
    pub const fn decimal(self) -> Decimal {
        self.0
    }

    /// The bare number to a tenth of a gram in a litre, as it is shown; what is judged is the exact one.
    pub fn in_tenths(self) -> Decimal {
        self.0.round_dp_with_strategy(1, RoundingStrategy::MidpointAwayFromZero)
    }

    /// The same in pounds per US gallon.
    pub fn pounds_per_gallon(self) -> Decimal {
        let pounds = self.0.checked_mul(LITRES_PER_GALLON).and_then(|up| up.checked_div(GRAMS_PER_POUND));
        pounds.unwrap_or(Decimal::MAX)
    }

    /// How much of it is in that volume.
    pub fn in_volume(self, volume: Millilitres) -> Grams {
        let litres = volume.times(Decimal::new(1, 3)).decimal();
        Grams::new(self.0).times(litres)
    }

    /// How much more than that it is, below nothing if it is less.
    #[must_use]
    pub fn above(self, other: Self) -> Self {
        Self((Grams::new(self.0) - Grams::new(other.0)).decimal())
    }

    /// Whether it is below nothing.
    pub fn is_negative(self) -> bool {
        self.0 < Decimal::ZERO
    }
}

/// A mass in pounds.
pub fn pounds(mass: Grams) -> Decimal {
    mass.decimal().checked_div(GRAMS_PER_POUND).unwrap_or(Decimal::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    /// 1 lb/US gal = 453.59237/3.785411784 g/L, both by definition. Metal Finishing Guidebook 2013, appendix B, prints 119.8
    /// (read).
    #[test]
    fn pounds_per_gallon() {
        let one = PerLitre::of_pounds_per_gallon(Decimal::ONE).unwrap();
        assert_eq!(one.decimal().round_dp(6), number("119.826427"));
        assert_eq!(one.decimal().round_dp(1), number("119.8"));
        assert_eq!(one.pounds_per_gallon().round_dp(20), Decimal::ONE);
        assert_eq!(pounds(Grams::new(number("453.59237"))), Decimal::ONE);
    }

    /// Virginia's table 4-48A (9VAC5-40-6990; read) gives each limit in both units: rounded as it has them, they agree
    /// within the half of a tenth of a pound that such a table leaves open.
    #[test]
    fn a_table_in_both_units() {
        for (pounds, grams) in [
            ("6.5", "780"),
            ("4.8", "575"),
            ("4.6", "550"),
            ("5.0", "600"),
            ("5.2", "625"),
            ("5.7", "680"),
            ("7.0", "840"),
        ] {
            let off = PerLitre::new(number(grams)).pounds_per_gallon() - number(pounds);
            assert!(off.abs() < number("0.05"), "{pounds} {grams}");
        }
    }

    #[test]
    fn nothing_holds_nothing() {
        assert_eq!(PerLitre::of(Grams::new(Decimal::ONE), Millilitres::ZERO), None);
        let content = PerLitre::of(Grams::new(number("435")), Millilitres::new(number("900"))).unwrap();
        assert_eq!(content.in_volume(Millilitres::new(number("900"))).decimal().round_dp(20), number("435"));
    }
}
