//! Which check weight is good enough for a scale, and why another is not.

use super::{BenchScale, CheckWeight, WeightClass};
use crate::units::{Decimal, Grams, plain};
use std::fmt;
use thiserror::Error;

/// Why a weight is not good enough for a scale. The sentences name the weight.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum Unfit {
    /// Its own error is more than a third of the limit.
    #[error(
        "'{id}' is too coarse: {nominal} g of class {class} may be off by {}, and a third of the scale's limit of \
         ±{limit} g is {}. {}", milligrams(*error), milligrams_of_a_third(*limit), would_do(*better, *nominal)
    )]
    TooCoarse {
        /// The weight.
        id: String,
        /// Its nominal value.
        nominal: Grams,
        /// Its class.
        class: WeightClass,
        /// How far it may be off, ±.
        error: Grams,
        /// How far the scale may be off at that load, ±.
        limit: Grams,
        /// The coarsest class that would be good enough at that load.
        better: Option<WeightClass>,
    },
    /// More than the scale weighs.
    #[error("'{id}' is too heavy: it weighs {nominal} g, and the scale takes {max} g at most")]
    TooHeavy {
        /// The weight.
        id: String,
        /// Its nominal value.
        nominal: Grams,
        /// Max.
        max: Grams,
    },
    /// Less than the least load of the scale's class.
    #[error(
        "'{id}' is too light: it weighs {nominal} g, and a scale like this is not for less than {min} g (Min)"
    )]
    TooLight {
        /// The weight.
        id: String,
        /// Its nominal value.
        nominal: Grams,
        /// Min.
        min: Grams,
    },
    /// Its certificate says that it is not of its class.
    #[error(
        "'{id}' is not of class {class} any more: its certificate says {value} g, further from {nominal} g than the \
         {} allowed. Have it adjusted, or write down the class it is of", milligrams(*error)
    )]
    OutOfClass {
        /// The weight.
        id: String,
        /// Its nominal value.
        nominal: Grams,
        /// Its class.
        class: WeightClass,
        /// What its certificate says.
        value: Grams,
        /// How far it may be off, ±.
        error: Grams,
    },
    /// Its nominal value is none of the table's.
    #[error("'{id}' is no weight of OIML R 111-1: there is none of {nominal} g")]
    NoSuchWeight {
        /// The weight.
        id: String,
        /// What was said to be its nominal value.
        nominal: Grams,
    },
    /// Nothing says how far the scale may be off there.
    #[error(
        "nothing says how far the scale may be off at the {nominal} g of '{id}': give the scale a limit of its own"
    )]
    NoLimit {
        /// The weight.
        id: String,
        /// Its nominal value.
        nominal: Grams,
    },
}

/// None of the shop's weights is good enough: why not, in the order of the shop's list. Displayed a line each.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub struct NoneFits {
    /// Why each is not.
    pub reasons: Vec<Unfit>,
    /// What to buy instead: the nominal value nearest the usual load, and the coarsest class that will do.
    pub buy: Option<(Grams, WeightClass)>,
}

impl fmt::Display for NoneFits {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.reasons.is_empty() {
            write!(f, "The shop has no check weight")?;
        }
        for (place, reason) in self.reasons.iter().enumerate() {
            write!(f, "{}{reason}", if place > 0 { "\n" } else { "" })?;
        }
        match self.buy {
            Some((nominal, class)) => write!(f, "\nTo have: a weight of {nominal} g, class {class} or finer"),
            None => Ok(()),
        }
    }
}

/// How far the scale may be off with that weight on it, if the weight is good enough: its own error at most one
/// third of that (OIML R 76-1:2006 3.7.1, from memory).
pub fn limit_if_fit(scale: &BenchScale, weight: &CheckWeight) -> Result<Grams, Unfit> {
    let (id, nominal, class) = (weight.id.clone(), weight.nominal, weight.class);
    let Some(error) = weight.error() else { return Err(Unfit::NoSuchWeight { id, nominal }) };
    if weight.is_out_of_class() {
        return Err(Unfit::OutOfClass { id, nominal, class, value: weight.true_value(), error });
    }
    if nominal > scale.max {
        return Err(Unfit::TooHeavy { id, nominal, max: scale.max });
    }
    if let Some(min) = scale.smallest_load().filter(|&min| nominal < min) {
        return Err(Unfit::TooLight { id, nominal, min });
    }
    let Some(limit) = scale.limit_at(nominal) else { return Err(Unfit::NoLimit { id, nominal }) };
    if !is_third(error, limit) {
        let better = coarsest_class(scale, nominal);
        return Err(Unfit::TooCoarse { id, nominal, class, error, limit, better });
    }
    Ok(limit)
}

/// Of the shop's weights the one that is good enough and nearest the usual load, and the scale's limit with it;
/// of two equally near the heavier, since an error of the span shows more with it.
pub fn choose<'a>(
    scale: &BenchScale,
    usual_load: Grams,
    weights: &'a [CheckWeight],
) -> Result<(&'a CheckWeight, Grams), NoneFits> {
    let mut best: Option<(&CheckWeight, Grams)> = None;
    let mut reasons = Vec::new();
    let away = |weight: &CheckWeight| (weight.nominal - usual_load).abs();
    for weight in weights {
        match limit_if_fit(scale, weight) {
            Err(reason) => reasons.push(reason),
            Ok(limit) => {
                let nearer = best.is_none_or(|(chosen, _)| {
                    (away(weight), chosen.nominal) < (away(chosen), weight.nominal)
                });
                if nearer {
                    best = Some((weight, limit));
                }
            }
        }
    }
    best.ok_or_else(|| NoneFits { reasons, buy: to_buy(scale, usual_load) })
}

/// The coarsest class of weight that is good enough for the scale at that nominal value; none if none is.
pub fn coarsest_class(scale: &BenchScale, nominal: Grams) -> Option<WeightClass> {
    let limit = scale.limit_at(nominal)?;
    let fits = |class: &WeightClass| class.error(nominal).is_some_and(|error| is_third(error, limit));
    WeightClass::ALL.into_iter().rev().find(fits)
}

fn to_buy(scale: &BenchScale, usual_load: Grams) -> Option<(Grams, WeightClass)> {
    let least = scale.smallest_load().unwrap_or(Grams::ZERO);
    let nominals = super::NOMINALS.iter().map(|&grams| Grams::new(Decimal::from(grams)));
    nominals
        .filter(|&nominal| nominal >= least && nominal <= scale.max)
        .filter_map(|nominal| Some((nominal, coarsest_class(scale, nominal)?)))
        .min_by_key(|&(nominal, _)| ((nominal - usual_load).abs(), -nominal))
}

fn is_third(error: Grams, limit: Grams) -> bool {
    error.times(Decimal::from(3)) <= limit
}

fn milligrams(mass: Grams) -> String {
    format!("{} mg", plain(mass.times(Decimal::ONE_THOUSAND).decimal()))
}

/// Rounded down, so that a weight which is shown as good enough is.
fn milligrams_of_a_third(limit: Grams) -> String {
    let third = limit.times(Decimal::ONE_THOUSAND).ratio_to(Grams::new(Decimal::from(3))).unwrap_or_default();
    format!("{} mg", plain(third.trunc_with_scale(1)))
}

fn would_do(better: Option<WeightClass>, nominal: Grams) -> String {
    match better.and_then(|class| Some((class, class.error(nominal)?))) {
        Some((class, error)) => format!("Class {class} ({}) would do", milligrams(error)),
        None => "No class from E2 to M1 would do at this load".to_owned(),
    }
}
