//! Classes of weights and how far each may be off: OIML R 111-1:2004 table 1.

use crate::units::{Decimal, Grams};
use serde::{Deserialize, Serialize};
use std::fmt;

/// A class of weights, the finest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum WeightClass {
    /// For checking F1 weights and scales of class I.
    E2,
    /// For scales of class I and fine ones of class II.
    F1,
    /// For scales of class II.
    F2,
    /// For scales of class II at small loads, and of class III.
    M1,
}

/// The nominal values of table 1 from 1 g to 10 kg, in grams.
pub const NOMINALS: [u32; 13] = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1_000, 2_000, 5_000, 10_000];

/// Maximum permissible errors in micrograms, in the order of [`NOMINALS`]; E2, F1, F2, M1.
///
/// OIML R 111-1:2004 table 1: 1 g to 5 kg read second-hand, as is M1 at 10 kg; E2, F1 and F2 at 10 kg from
/// memory.
const TABLE_1: [[u32; 4]; 13] = [
    [30, 100, 300, 1_000],
    [40, 120, 400, 1_200],
    [50, 160, 500, 1_600],
    [60, 200, 600, 2_000],
    [80, 250, 800, 2_500],
    [100, 300, 1_000, 3_000],
    [160, 500, 1_600, 5_000],
    [300, 1_000, 3_000, 10_000],
    [800, 2_500, 8_000, 25_000],
    [1_600, 5_000, 16_000, 50_000],
    [3_000, 10_000, 30_000, 100_000],
    [8_000, 25_000, 80_000, 250_000],
    [16_000, 50_000, 160_000, 500_000],
];

impl WeightClass {
    /// All of them, the finest first.
    pub const ALL: [Self; 4] = [Self::E2, Self::F1, Self::F2, Self::M1];

    /// What stands on the box.
    pub const fn word(self) -> &'static str {
        match self {
            Self::E2 => "E2",
            Self::F1 => "F1",
            Self::F2 => "F2",
            Self::M1 => "M1",
        }
    }

    /// How far a weight of that nominal value may be off, ±. None if the table has no such weight.
    pub fn error(self, nominal: Grams) -> Option<Grams> {
        let place = NOMINALS.iter().position(|&grams| Grams::new(Decimal::from(grams)) == nominal)?;
        let [e2, f1, f2, m1] = TABLE_1.get(place).copied()?;
        let micrograms = match self {
            Self::E2 => e2,
            Self::F1 => f1,
            Self::F2 => f2,
            Self::M1 => m1,
        };
        Some(Grams::from_micrograms(i64::from(micrograms)))
    }
}

impl fmt::Display for WeightClass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    /// OIML R 111-1:2004 table 1, ± mg. 1 g to 5 kg read second-hand; 10 kg from memory but for M1, which a
    /// ministry's regulation repeats.
    #[rstest]
    #[case("1", ["0.03", "0.10", "0.3", "1.0"])]
    #[case("2", ["0.04", "0.12", "0.4", "1.2"])]
    #[case("5", ["0.05", "0.16", "0.5", "1.6"])]
    #[case("10", ["0.06", "0.20", "0.6", "2.0"])]
    #[case("20", ["0.08", "0.25", "0.8", "2.5"])]
    #[case("50", ["0.10", "0.3", "1.0", "3.0"])]
    #[case("100", ["0.16", "0.5", "1.6", "5.0"])]
    #[case("200", ["0.3", "1.0", "3.0", "10"])]
    #[case("500", ["0.8", "2.5", "8.0", "25"])]
    #[case("1000", ["1.6", "5.0", "16", "50"])]
    #[case("2000", ["3.0", "10", "30", "100"])]
    #[case("5000", ["8.0", "25", "80", "250"])]
    #[case("10000", ["16", "50", "160", "500"])]
    fn table_1(#[case] nominal: &str, #[case] milligrams: [&str; 4]) {
        for (class, milligrams) in WeightClass::ALL.into_iter().zip(milligrams) {
            let error = class.error(Grams::parse(nominal).unwrap()).unwrap();
            assert_eq!(
                error.times(Decimal::ONE_THOUSAND),
                Grams::parse(milligrams).unwrap(),
                "{class} {nominal}"
            );
        }
    }

    #[test]
    fn a_coarser_class_is_never_finer_and_a_heavier_weight_never_better() {
        let errors =
            |class: WeightClass| NOMINALS.map(|grams| class.error(Grams::new(Decimal::from(grams))).unwrap());
        for class in WeightClass::ALL {
            assert!(errors(class).is_sorted());
        }
        for pair in WeightClass::ALL.windows(2) {
            assert!(errors(pair[0]).iter().zip(errors(pair[1])).all(|(finer, coarser)| *finer < coarser));
        }
    }

    #[test]
    fn there_is_no_weight_between_the_nominal_values() {
        for grams in ["0", "-1", "300", "999.9", "20000"] {
            assert_eq!(WeightClass::M1.error(Grams::parse(grams).unwrap()), None, "{grams}");
        }
        assert!(WeightClass::M1.error(Grams::parse("500.00").unwrap()).is_some());
    }
}
