//! Units of volume that people type, by their exact definitions; US and imperial measures kept apart.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

/// A unit of volume.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum VolumeUnit {
    /// mL
    Millilitre,
    /// cL
    Centilitre,
    /// L
    Litre,
    /// US fluid ounce, 1/128 US gallon
    UsFluidOunce,
    /// US liquid pint
    UsPint,
    /// US liquid quart
    UsQuart,
    /// US gallon, 231 cubic inches
    UsGallon,
    /// imperial fluid ounce, 1/160 imperial gallon
    ImperialFluidOunce,
    /// imperial pint
    ImperialPint,
    /// imperial quart
    ImperialQuart,
    /// imperial gallon, 4.54609 L
    ImperialGallon,
}

impl VolumeUnit {
    /// How many millilitres one of it is. Exact by definition.
    pub const fn millilitres_each(self) -> Decimal {
        match self {
            Self::Millilitre => Decimal::ONE,
            Self::Centilitre => Decimal::TEN,
            Self::Litre => Decimal::ONE_THOUSAND,
            // 295 735 295 625 = 68 * 2^32 + 3 677 519 497
            Self::UsFluidOunce => Decimal::from_parts(3_677_519_497, 68, 0, false, 10),
            Self::UsPint => Decimal::from_parts(473_176_473, 0, 0, false, 6),
            Self::UsQuart => Decimal::from_parts(946_352_946, 0, 0, false, 6),
            Self::UsGallon => Decimal::from_parts(3_785_411_784, 0, 0, false, 6),
            Self::ImperialFluidOunce => Decimal::from_parts(284_130_625, 0, 0, false, 7),
            Self::ImperialPint => Decimal::from_parts(56_826_125, 0, 0, false, 5),
            Self::ImperialQuart => Decimal::from_parts(11_365_225, 0, 0, false, 4),
            Self::ImperialGallon => Decimal::from_parts(454_609, 0, 0, false, 2),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    /// By definition: a US gallon is 231 cubic inches of 2.54 cm, an imperial one 4.54609 L (the NIST and UK acts' figures).
    #[rstest]
    #[case(VolumeUnit::UsFluidOunce, "29.5735295625")]
    #[case(VolumeUnit::UsPint, "473.176473")]
    #[case(VolumeUnit::UsQuart, "946.352946")]
    #[case(VolumeUnit::UsGallon, "3785.411784")]
    #[case(VolumeUnit::ImperialFluidOunce, "28.4130625")]
    #[case(VolumeUnit::ImperialPint, "568.26125")]
    #[case(VolumeUnit::ImperialQuart, "1136.5225")]
    #[case(VolumeUnit::ImperialGallon, "4546.09")]
    fn exact_definitions(#[case] unit: VolumeUnit, #[case] millilitres: &str) {
        assert_eq!(crate::units::plain(unit.millilitres_each()), millilitres);
    }

    #[test]
    fn a_us_gallon_is_231_cubic_inches() {
        let inch = Decimal::new(254, 2);
        let cubic = inch.checked_mul(inch).and_then(|square| square.checked_mul(inch)).unwrap();
        assert_eq!(cubic.checked_mul(Decimal::from(231)).unwrap(), VolumeUnit::UsGallon.millilitres_each());
    }

    #[test]
    fn the_two_fluid_ounces_differ_as_their_definitions_say() {
        // By the two definitions: 473176473 / 454609000
        let ratio = VolumeUnit::UsFluidOunce
            .millilitres_each()
            .checked_div(VolumeUnit::ImperialFluidOunce.millilitres_each())
            .unwrap();
        let expected = Decimal::from(473_176_473).checked_div(Decimal::from(454_609_000)).unwrap();
        assert_eq!(ratio, expected);
    }
}
