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
