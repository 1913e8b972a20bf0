//! How well a scale repeats itself: the standard deviation of weighings of the same weight, in the form of
//! USP 41. The smallest weight that follows from it is in `mix::weighable`.

use crate::units::{Decimal, Division, Grams};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// How many weighings USP 41 asks for at least.
pub const FEWEST_WEIGHINGS: usize = 10;

/// Weighings of one weight, each from an empty pan, and their spread. As JSON its masses are decimal strings in
/// grams. The weight needs no class and no certificate (USP 41).
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Repeatability {
    /// The scale's name.
    pub scale: String,
    /// Its division d.
    pub division: Division,
    /// What it showed, in order.
    pub readings: Vec<Grams>,
    /// The standard deviation s in whole micrograms; below [`floor`] where the readings hardly differ.
    pub deviation: Grams,
}

/// Why weighings cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum RepeatabilityError {
    /// Too few.
    #[error("{found} weighings are too few: weigh the same weight {FEWEST_WEIGHINGS} times or more")]
    TooFew {
        /// How many there are.
        found: usize,
    },
    /// One that is not of the same weight.
    #[error(
        "weighing {number} was {reading} g, and the one in the middle is {middle} g: that is not the same weight"
    )]
    AnotherWeight {
        /// Which, from 1.
        number: usize,
        /// What the scale showed.
        reading: Grams,
        /// The one in the middle of all.
        middle: Grams,
    },
    /// Numbers that no bench scale shows.
    #[error("these weighings cannot be reckoned with: they are too large or have more than 9 decimals")]
    OutOfReach,
}

impl Repeatability {
    /// From what the scale showed. One that is further from the one in the middle than half of it was of something
    /// else, or of an empty pan.
    pub fn measure(
        scale: impl Into<String>,
        division: Division,
        readings: Vec<Grams>,
    ) -> Result<Self, RepeatabilityError> {
        if readings.len() < FEWEST_WEIGHINGS {
            return Err(RepeatabilityError::TooFew { found: readings.len() });
        }
        let mut sorted = readings.clone();
        sorted.sort_unstable();
        let middle = sorted.get(sorted.len() / 2).copied().unwrap_or(Grams::ZERO);
        let far = |reading: Grams| (reading - middle).abs().times(Decimal::TWO) >= middle;
        if let Some((place, &reading)) = readings.iter().enumerate().find(|(_, reading)| far(**reading)) {
            let number = place.saturating_add(1);
            return Err(RepeatabilityError::AnotherWeight { number, reading, middle });
        }
        let deviation = standard_deviation(&readings).ok_or(RepeatabilityError::OutOfReach)?;
        Ok(Self { scale: scale.into(), division, readings, deviation })
    }

    /// What in it cannot be so; none if all can.
    pub(super) fn flaw(&self) -> Option<&'static str> {
        if self.readings.len() < FEWEST_WEIGHINGS {
            Some("it has too few weighings")
        } else if standard_deviation(&self.readings) != Some(self.deviation) {
            Some("its standard deviation is not that of its weighings")
        } else {
            None
        }
    }

    /// What goes into the smallest weight: the standard deviation, and never less than [`floor`].
    pub fn at_least_the_floor(&self) -> Grams {
        self.deviation.max(floor(self.division))
    }

    /// The largest reading minus the smallest. OIML R 76-1:2006 3.6.1 (read second-hand): at most the limit at
    /// that load.
    pub fn spread(&self) -> Grams {
        let (least, most) = (self.readings.iter().min(), self.readings.iter().max());
        most.zip(least).map_or(Grams::ZERO, |(most, least)| *most - *least)
    }
}

/// The least standard deviation that is believed: 0.41 d, what two roundings to the division come to (USP 41).
pub fn floor(division: Division) -> Grams {
    division.grams().times(Decimal::new(41, 2))
}

/// The standard deviation of a sample, `√(Σ(x − x̄)² / (n − 1))`, rounded half to even to a whole microgram.
///
/// None for fewer than two readings, or for such as no bench scale shows: more than 9 decimals, or so far apart
/// that their squares cannot be counted.
pub fn standard_deviation(readings: &[Grams]) -> Option<Grams> {
    let first = readings.first()?;
    let n = i128::try_from(readings.len()).ok()?;
    let (mut sum, mut squares) = (0_i128, 0_i128);
    for reading in readings {
        // Counted from the first, so that the numbers stay small; in nanograms, so that they stay whole.
        let away = nanograms(*reading - *first)?;
        sum = sum.checked_add(away)?;
        squares = squares.checked_add(away.checked_mul(away)?)?;
    }
    // n Σx² − (Σx)² = n (n − 1) s²
    let scaled = n.checked_mul(squares)?.checked_sub(sum.checked_mul(sum)?)?;
    let variance = scaled.checked_div(n.checked_mul(n.checked_sub(1)?)?)?;
    let root = u128::try_from(variance).ok()?.isqrt();
    let nanograms = i64::try_from(root).ok()?;
    Some(Grams::new(Decimal::new(nanograms, 9)).to_book())
}

fn nanograms(mass: Grams) -> Option<i128> {
    let mut mass = mass.decimal().normalize();
    if mass.scale() > 9 {
        return None;
    }
    mass.rescale(9);
    (mass.scale() == 9).then(|| mass.mantissa())
}

#[cfg(test)]
mod tests {
    use super::super::testing::grams;
    use super::*;
    use proptest::prelude::*;
    use rstest::rstest;

    fn readings(texts: &[&str]) -> Vec<Grams> {
        texts.iter().map(|text| grams(text)).collect()
    }

    /// Worked by hand: seven of 200.0 and three of 200.1 have s² = 0.021 / 9, s = 0.048305 g. The classical
    /// example 2, 4, 4, 4, 5, 5, 7, 9 has Σ(x − x̄)² = 32, so s = √(32/7).
    #[rstest]
    #[case(&["200.0", "200.0", "200.0", "200.0", "200.0", "200.0", "200.0", "200.1", "200.1", "200.1"], "0.048305")]
    #[case(&["2", "4", "4", "4", "5", "5", "7", "9"], "2.13809")]
    #[case(&["200", "200", "200"], "0")]
    #[case(&["-1", "1"], "1.414214")]
    fn worked_examples(#[case] texts: &[&str], #[case] s: &str) {
        assert_eq!(standard_deviation(&readings(texts)), Some(grams(s)));
    }

    /// USP 41's own example: s = 0.00015 g gives 0.300 g at 0.10 %; the smallest weight itself is in
    /// `mix::weighable`. Ten readings made for it here: ±0.00015 · √0.9 about their mean.
    #[test]
    fn usp_41_example() {
        let away = "0.000142302";
        let mut made = Vec::new();
        for _ in 0..5 {
            made.extend([grams("100") + grams(away), grams("100") - grams(away)]);
        }
        let measured = Repeatability::measure("bench", Division::parse("0.0001").unwrap(), made).unwrap();
        assert_eq!(measured.deviation, grams("0.00015"));
        assert_eq!(measured.at_least_the_floor(), grams("0.00015"));
    }

    /// USP 41: below 0.41 d it is 0.41 d. The floors of usual divisions, worked out here.
    #[rstest]
    #[case("0.01", "0.0041")]
    #[case("0.05", "0.0205")]
    #[case("0.1", "0.041")]
    #[case("1", "0.41")]
    fn the_floor(#[case] division: &str, #[case] expected: &str) {
        let division = Division::parse(division).unwrap();
        assert_eq!(floor(division), grams(expected));
        let equal = Repeatability::measure("bench", division, vec![grams("200"); 10]).unwrap();
        assert_eq!((equal.deviation, equal.at_least_the_floor()), (grams("0"), grams(expected)));
    }

    #[test]
    fn above_the_floor_the_spread_counts() {
        let mut ten = vec![grams("200.0"); 7];
        ten.extend([grams("200.1"); 3]);
        let measured = Repeatability::measure("bench", Division::TENTH, ten).unwrap();
        assert_eq!(measured.at_least_the_floor(), grams("0.048305"));
        assert_eq!(measured.spread(), grams("0.1"));
    }

    #[test]
    fn what_cannot_be_used_is_said() {
        let measure = |readings| Repeatability::measure("bench", Division::TENTH, readings);
        let few = measure(vec![grams("200"); 9]).unwrap_err();
        assert_eq!(few.to_string(), "9 weighings are too few: weigh the same weight 10 times or more");
        let mut empty_pan = vec![grams("200"); 10];
        empty_pan[3] = grams("0.1");
        let said = measure(empty_pan).unwrap_err().to_string();
        assert!(said.starts_with("weighing 4 was 0.1 g") && said.contains("200 g"), "{said}");
        assert!(matches!(measure(vec![grams("0"); 10]), Err(RepeatabilityError::AnotherWeight { .. })));
        let mut fine = vec![grams("200"); 10];
        fine[0] = grams("200.0000000001");
        assert_eq!(measure(fine), Err(RepeatabilityError::OutOfReach));
    }

    proptest! {
        /// Against floats, in two passes and from the mean, to a part in a million.
        #[test]
        fn it_is_what_floats_say(tenths in prop::collection::vec(1_000_i32..1_200, 2..40)) {
            let texts: Vec<Grams> = tenths.iter().map(|&n| Grams::new(Decimal::new(i64::from(n), 1))).collect();
            let s: f64 = standard_deviation(&texts).unwrap().to_string().parse().unwrap();
            let n = f64::from(u32::try_from(tenths.len()).unwrap());
            let mean = tenths.iter().map(|&x| f64::from(x) / 10.0).sum::<f64>() / n;
            let squares = tenths.iter().map(|&x| (f64::from(x) / 10.0 - mean).powi(2)).sum::<f64>();
            let expected = (squares / (n - 1.0)).sqrt();
            prop_assert!((s - expected).abs() <= 1e-6, "{} {}", s, expected);
        }

        /// Moving all readings by the same amount changes nothing, and no numbers are a panic.
        #[test]
        fn only_differences_count(units in prop::collection::vec(any::<i64>(), 0..12), by in -1_000_000_i64..1_000_000) {
            let made = |by: i64| -> Vec<Grams> {
                units.iter().map(|&n| Grams::new(Decimal::new(n, 6)) + Grams::new(Decimal::new(by, 6))).collect()
            };
            prop_assert_eq!(standard_deviation(&made(0)), standard_deviation(&made(by)));
        }
    }
}
