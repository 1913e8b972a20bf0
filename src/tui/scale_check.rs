//! Checking the scale at the bench: empty pan, weight on, judged; and ten weighings for its repeatability. Both go
//! on by themselves as the load changes, since hands are busy; a key takes what stands there as it is.

use super::scale_watch::ScaleWatch;
use crate::metrology::{BenchScale, Check, CheckWeight, FEWEST_WEIGHINGS, Repeatability, ScaleEvent};
use crate::scale::{Mode, Weight};
use crate::units::{Decimal, Division, Grams, Notation};

/// What is being done with the scale.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Task {
    /// A check with a weight.
    Check {
        /// The scale as the shop has written it down.
        scale: BenchScale,
        /// The weight.
        weight: CheckWeight,
        /// What the empty pan showed, once it was seen.
        zero: Option<Grams>,
    },
    /// The same weight on and off, ten times.
    Ten {
        /// The scale's name in the book.
        scale: String,
        /// What the pan showed since the last weighing, once it was seen empty.
        zero: Option<Grams>,
        /// What was weighed so far, each from the empty pan before it.
        readings: Vec<Grams>,
        /// The division they were weighed in.
        division: Division,
    },
}

/// What came of a reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Came {
    /// Nothing yet.
    Nothing,
    /// A step further; worth a sound.
    Further,
    /// Done: into the book with it.
    Done(Box<ScaleEvent>),
    /// It cannot go on, and why, in a sentence.
    Ended(String),
}

/// How much of the weight may stand on a pan that counts as empty: a tenth.
const EMPTY: Decimal = Decimal::from_parts(1, 0, 0, false, 1);
/// How far from its nominal value a weight may read and still be taken for that weight by itself: a fifth.
const THE_SAME: Decimal = Decimal::from_parts(2, 0, 0, false, 1);
/// The least that counts as a weight where nobody said which: so many divisions.
const SOMETHING: Decimal = Decimal::ONE_HUNDRED;

impl Task {
    pub(super) const fn check(scale: BenchScale, weight: CheckWeight) -> Self {
        Self::Check { scale, weight, zero: None }
    }

    pub(super) const fn ten(scale: String, division: Division) -> Self {
        Self::Ten { scale, zero: None, readings: Vec::new(), division }
    }

    /// What to do now, in a sentence; the first word is the step.
    pub(super) fn says(&self, notation: Notation) -> String {
        match self {
            Self::Check { weight, zero: None, .. } => {
                format!("check with '{}': take everything off the pan, the cup too", weight.id)
            }
            Self::Check { weight, .. } => format!(
                "check: now put '{}' ({}, {}) in the middle of the pan",
                weight.id,
                notation.given_mass(weight.nominal),
                weight.class.word()
            ),
            Self::Ten { zero: None, readings, .. } if readings.is_empty() => {
                "ten weighings: take everything off the pan".to_owned()
            }
            Self::Ten { zero: None, readings, .. } => {
                format!("{} of {FEWEST_WEIGHINGS} weighed: take the weight off", readings.len())
            }
            Self::Ten { readings, .. } => format!(
                "{} of {FEWEST_WEIGHINGS} weighed: put {} on",
                readings.len(),
                if readings.is_empty() { "any weight near your usual load" } else { "the same weight" }
            ),
        }
    }

    /// Looks at the scale; goes on by itself where what stands there can only be what was asked for.
    pub(super) fn look(&mut self, scale: &ScaleWatch) -> Came {
        match scale.steady_for() {
            Some((weight, ms)) if ms >= scale.taking().dwell_ms => self.take(weight, false),
            _ => Came::Nothing,
        }
    }

    /// Takes what stands there as it is: a person's key. A check that fails by much is taken only so.
    pub(super) fn take_as_it_is(&mut self, scale: &ScaleWatch) -> Came {
        scale.weight().map_or(Came::Nothing, |weight| self.take(weight, true))
    }

    fn take(&mut self, weight: Weight, as_it_is: bool) -> Came {
        if weight.mode() == Mode::Net {
            return Came::Ended("the scale shows net: clear its tare, then begin again".to_owned());
        }
        let mass = weight.grams();
        match self {
            Self::Check { weight: check, zero: zero @ None, .. } => {
                if as_it_is || mass.abs() <= check.nominal.times(EMPTY) {
                    *zero = Some(mass);
                    return Came::Further;
                }
                Came::Nothing
            }
            Self::Check { scale, weight: check, zero: Some(zero) } => {
                let off = (mass - check.true_value()).abs();
                if !as_it_is && off > check.nominal.times(THE_SAME) {
                    return Came::Nothing;
                }
                match Check::new(scale, check, *zero, mass) {
                    Ok(check) => Came::Done(Box::new(ScaleEvent::Checked(check))),
                    Err(unfit) => Came::Ended(unfit.to_string()),
                }
            }
            Self::Ten { zero: zero @ None, readings, division, .. } => {
                let least =
                    readings.last().map_or(division.grams().times(SOMETHING), |last| last.times(EMPTY));
                if mass.abs() <= least {
                    *zero = Some(mass);
                    return if readings.is_empty() { Came::Further } else { Came::Nothing };
                }
                Came::Nothing
            }
            Self::Ten { scale, zero: zero @ Some(_), readings, division } => {
                let net = mass - zero.unwrap_or(Grams::ZERO);
                let fits = match readings.last() {
                    None => net > division.grams().times(SOMETHING),
                    Some(last) => (net - *last).abs() <= last.times(THE_SAME),
                };
                if !fits {
                    return Came::Nothing;
                }
                readings.push(net);
                *zero = None;
                *division = (*division).max(weight.division());
                if readings.len() < FEWEST_WEIGHINGS {
                    return Came::Further;
                }
                match Repeatability::measure(scale.clone(), *division, readings.clone()) {
                    Ok(measured) => Came::Done(Box::new(ScaleEvent::Repeatability(measured))),
                    Err(error) => Came::Ended(error.to_string()),
                }
            }
        }
    }
}
