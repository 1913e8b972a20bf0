//! Units of mass that scales send and people type, by their exact definitions.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

/// A unit of mass.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum MassUnit {
    /// g
    Gram,
    /// kg
    Kilogram,
    /// mg
    Milligram,
    /// 1000 kg
    Tonne,
    /// avoirdupois pound, 453.59237 g
    Pound,
    /// avoirdupois ounce, 1/16 lb
    Ounce,
    /// troy ounce, 480 grains
    TroyOunce,
    /// lb/7000
    Grain,
    /// 24 grains
    Pennyweight,
    /// metric carat, 0.2 g
    Carat,
    /// 2000 lb
    ShortTon,
}

impl MassUnit {
    /// Every unit.
    pub const ALL: [Self; 11] = [
        Self::Gram,
        Self::Kilogram,
        Self::Milligram,
        Self::Tonne,
        Self::Pound,
        Self::Ounce,
        Self::TroyOunce,
        Self::Grain,
        Self::Pennyweight,
        Self::Carat,
        Self::ShortTon,
    ];

    /// How many grams one of it is. Exact: the 1959 international yard and pound agreement fixes the pound.
    pub const fn grams_each(self) -> Decimal {
        match self {
            Self::Gram => Decimal::ONE,
            Self::Kilogram => Decimal::ONE_THOUSAND,
            Self::Milligram => Decimal::from_parts(1, 0, 0, false, 3),
            Self::Tonne => Decimal::from_parts(1_000_000, 0, 0, false, 0),
            Self::Pound => Decimal::from_parts(45_359_237, 0, 0, false, 5),
            // 28 349 523 125 = 6 * 2^32 + 2 579 719 349
            Self::Ounce => Decimal::from_parts(2_579_719_349, 6, 0, false, 9),
            Self::TroyOunce => Decimal::from_parts(311_034_768, 0, 0, false, 7),
            Self::Grain => Decimal::from_parts(6_479_891, 0, 0, false, 8),
            Self::Pennyweight => Decimal::from_parts(155_517_384, 0, 0, false, 8),
            Self::Carat => Decimal::from_parts(2, 0, 0, false, 1),
            Self::ShortTon => Decimal::from_parts(90_718_474, 0, 0, false, 2),
        }
    }

    /// The symbol as people write it.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Gram => "g",
            Self::Kilogram => "kg",
            Self::Milligram => "mg",
            Self::Tonne => "t",
            Self::Pound => "lb",
            Self::Ounce => "oz",
            Self::TroyOunce => "ozt",
            Self::Grain => "gr",
            Self::Pennyweight => "dwt",
            Self::Carat => "ct",
            Self::ShortTon => "ton",
        }
    }

    /// The unit with that symbol, in any case. `gn` also stands for grains, as some scales send it.
    pub fn from_symbol(symbol: &str) -> Option<Self> {
        Self::from_letters(symbol.as_bytes())
    }

    /// As [`MassUnit::from_symbol`], of letters as they come over a wire: one with every reading.
    #[inline]
    pub fn from_letters(letters: &[u8]) -> Option<Self> {
        let small = |letter: u8| letter.to_ascii_lowercase();
        Some(match *letters {
            [a] => match &[a].map(small) {
                b"g" => Self::Gram,
                b"t" => Self::Tonne,
                _ => return None,
            },
            [a, b] => match &[a, b].map(small) {
                b"kg" => Self::Kilogram,
                b"mg" => Self::Milligram,
                b"lb" => Self::Pound,
                b"oz" => Self::Ounce,
                b"gr" | b"gn" => Self::Grain,
                b"ct" => Self::Carat,
                _ => return None,
            },
            [a, b, c] => match &[a, b, c].map(small) {
                b"ozt" => Self::TroyOunce,
                b"dwt" => Self::Pennyweight,
                b"ton" => Self::ShortTon,
                _ => return None,
            },
            _ => return None,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    /// 1959 agreement and Weights and Measures Act 1985 Sch. 1 (pound, ounce, grain),
    /// Act 2009 text (troy ounce), the rest by arithmetic from those.
    #[rstest]
    #[case(MassUnit::Pound, "453.59237")]
    #[case(MassUnit::Ounce, "28.349523125")]
    #[case(MassUnit::Grain, "0.06479891")]
    #[case(MassUnit::TroyOunce, "31.1034768")]
    #[case(MassUnit::Pennyweight, "1.55517384")]
    #[case(MassUnit::Carat, "0.2")]
    #[case(MassUnit::ShortTon, "907184.74")]
    #[case(MassUnit::Tonne, "1000000")]
    #[case(MassUnit::Kilogram, "1000")]
    #[case(MassUnit::Milligram, "0.001")]
    fn exact_definitions(#[case] unit: MassUnit, #[case] grams: &str) {
        assert_eq!(crate::units::plain(unit.grams_each()), grams);
    }

    #[test]
    fn the_units_hang_together() {
        let each = MassUnit::grams_each;
        let times = |unit, n: i64| each(unit).checked_mul(Decimal::from(n)).unwrap();
        assert_eq!(times(MassUnit::Ounce, 16), each(MassUnit::Pound));
        assert_eq!(times(MassUnit::Grain, 7000), each(MassUnit::Pound));
        assert_eq!(times(MassUnit::Grain, 480), each(MassUnit::TroyOunce));
        assert_eq!(times(MassUnit::Grain, 24), each(MassUnit::Pennyweight));
        assert_eq!(times(MassUnit::Pound, 2000), each(MassUnit::ShortTon));
    }

    #[test]
    fn symbols_are_read_back() {
        for unit in MassUnit::ALL {
            assert_eq!(MassUnit::from_symbol(unit.symbol()), Some(unit));
            assert_eq!(MassUnit::from_symbol(&unit.symbol().to_uppercase()), Some(unit));
        }
        for grain in ["gn", "GN", "Gn"] {
            assert_eq!(MassUnit::from_symbol(grain), Some(MassUnit::Grain));
        }
        for other in ["pcs", "", "k", "kgs", "l/o", "tl(t)", "\u{212a}g"] {
            assert_eq!(MassUnit::from_symbol(other), None);
        }
    }
}
