//! Volume in millilitres, and the density that ties it to mass.

use super::{Grams, NumberError, VolumeUnit, number, plain, quantity};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use std::fmt;

/// A volume in millilitres, exact. Serialised as a decimal string.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Millilitres(Decimal);

quantity!(Millilitres);

impl Millilitres {
    /// A volume of that many millilitres.
    pub const fn new(millilitres: Decimal) -> Self {
        Self(millilitres)
    }

    /// Reads a bare number of millilitres.
    pub fn parse(text: &str) -> Result<Self, NumberError> {
        number::parse_decimal(text).map(Self)
    }

    /// A volume given in `unit`.
    pub fn from_unit(value: Decimal, unit: VolumeUnit) -> Self {
        Self(number::product(value, unit.millilitres_each()))
    }

    /// The text with a fixed number of decimals, rounded half to even.
    pub fn with_decimals(self, decimals: u32) -> String {
        Grams::new(self.0).with_decimals(decimals)
    }
}

impl fmt::Display for Millilitres {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&plain(self.0))
    }
}

/// Mass per volume in g/mL; always more than nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "Decimal", into = "Decimal")]
pub struct Density(Decimal);

impl Density {
    /// Water, in g/mL, as Maryland's COMAR 26.11.19.02 has it (read). Sources differ: where it matters it can be set.
    pub const WATER: Self = Self(Decimal::from_parts(995, 0, 0, false, 3));

    /// A density in g/mL; `None` unless it is more than nothing.
    pub fn new(grams_per_millilitre: Decimal) -> Option<Self> {
        (grams_per_millilitre > Decimal::ZERO).then_some(Self(grams_per_millilitre))
    }

    /// The bare number in g/mL.
    pub const fn decimal(self) -> Decimal {
        self.0
    }

    /// The density of that mass in that volume; `None` if the volume or the mass is nothing or less.
    pub fn of(mass: Grams, volume: Millilitres) -> Option<Self> {
        if !volume.is_positive() {
            return None;
        }
        mass.decimal().checked_div(volume.decimal()).and_then(Self::new)
    }

    /// The volume that mass fills.
    pub fn volume_of(self, mass: Grams) -> Millilitres {
        Millilitres(mass.decimal().checked_div(self.0).unwrap_or(Decimal::MAX))
    }

    /// The mass of that volume.
    pub fn mass_of(self, volume: Millilitres) -> Grams {
        Grams::new(number::product(volume.0, self.0))
    }
}

impl TryFrom<Decimal> for Density {
    type Error = String;
    fn try_from(value: Decimal) -> Result<Self, String> {
        Self::new(value).ok_or_else(|| format!("a density must be more than nothing, not {value}"))
    }
}

impl From<Density> for Decimal {
    fn from(density: Density) -> Self {
        density.0
    }
}

impl fmt::Display for Density {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&plain(self.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn density(text: &str) -> Density {
        Density::new(number::parse_decimal(text).unwrap()).unwrap()
    }

    /// A painting inspector's training exercise (`BGas Exercise`, page 5): worked examples.
    #[test]
    fn worked_examples_of_mass_and_volume() {
        let litres =
            |text: &str| Millilitres::from_unit(number::parse_decimal(text).unwrap(), VolumeUnit::Litre);
        assert_eq!(density("1.45").mass_of(litres("16.5")), Grams::parse("23925").unwrap());
        assert_eq!(Density::of(Grams::parse("9750").unwrap(), litres("7.5")), Some(density("1.3")));
    }

    #[test]
    fn nothing_has_no_density() {
        assert_eq!(Density::new(Decimal::ZERO), None);
        assert_eq!(Density::of(Grams::parse("1").unwrap(), Millilitres::ZERO), None);
        assert!(serde_json::from_str::<Density>("\"-1\"").is_err());
    }
}
