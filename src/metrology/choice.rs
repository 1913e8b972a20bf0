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

/// Whether a weight's error is at most one third of the limit.
pub(super) fn is_third(error: Grams, limit: Grams) -> bool {
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

#[cfg(test)]
mod tests {
    use super::super::testing::{grams, scale, weight};
    use super::super::{AccuracyClass, Rules};
    use super::*;
    use crate::units::Division;
    use rstest::rstest;

    fn bench() -> BenchScale {
        scale(AccuracyClass::Ii, "0.1", "7500")
    }

    /// 7.5 kg in steps of 0.1 g, class II, limits in service (worked out here from OIML R 76-1:2006 table 6, R
    /// 111-1:2004 table 1 and the one-third rule): 500 g to 33 mg, 1 kg and 2 kg to 67 mg, 5 kg to 100 mg.
    #[rstest]
    #[case("500", WeightClass::M1, true)]
    #[case("1000", WeightClass::M1, true)]
    #[case("2000", WeightClass::M1, false)]
    #[case("2000", WeightClass::F2, true)]
    #[case("5000", WeightClass::M1, false)]
    #[case("5000", WeightClass::F2, true)]
    fn the_one_third_rule(#[case] nominal: &str, #[case] class: WeightClass, #[case] fits: bool) {
        assert_eq!(limit_if_fit(&bench(), &weight(nominal, class)).is_ok(), fits);
    }

    #[rstest]
    #[case("500", Some(WeightClass::M1))]
    #[case("1000", Some(WeightClass::M1))]
    #[case("2000", Some(WeightClass::F2))]
    #[case("5000", Some(WeightClass::F2))]
    fn the_coarsest_class_that_will_do(#[case] nominal: &str, #[case] class: Option<WeightClass>) {
        assert_eq!(coarsest_class(&bench(), grams(nominal)), class);
    }

    /// The shop's own ±0.02 g at 500 g on a scale of 0.01 g: 6.7 mg, so F1 (worked out here).
    #[test]
    fn the_shops_own_limit_asks_for_a_better_weight() {
        let mut scale = bench();
        scale.d = Division::parse("0.01").unwrap();
        scale.own_limit = Some(grams("0.02"));
        assert_eq!(coarsest_class(&scale, grams("500")), Some(WeightClass::F1));
        let said = limit_if_fit(&scale, &weight("500", WeightClass::F2)).unwrap_err().to_string();
        assert_eq!(
            said,
            "'500 F2' is too coarse: 500 g of class F2 may be off by 8 mg, and a third of the scale's limit of \
             ±0.02 g is 6.6 mg. Class F1 (2.5 mg) would do"
        );
    }

    /// A third to the last microgram: three times 25 mg is 75 mg.
    #[rstest]
    #[case("0.075", true)]
    #[case("0.074999", false)]
    fn just_a_third_is_enough(#[case] limit: &str, #[case] fits: bool) {
        let scale = BenchScale { own_limit: Some(grams(limit)), ..bench() };
        assert_eq!(limit_if_fit(&scale, &weight("500", WeightClass::M1)).is_ok(), fits);
    }

    #[test]
    fn each_reason_is_said() {
        let said =
            |scale: &BenchScale, weight: &CheckWeight| limit_if_fit(scale, weight).unwrap_err().to_string();
        let bench = bench();
        assert!(said(&bench, &weight("10000", WeightClass::F1)).ends_with("takes 7500 g at most"));
        assert!(said(&bench, &weight("2", WeightClass::F1)).ends_with("less than 5 g (Min)"));
        assert!(said(&bench, &weight("300", WeightClass::F1)).ends_with("there is none of 300 g"));
        let worn = CheckWeight { value: Some(grams("499.97")), ..weight("500", WeightClass::M1) };
        assert!(said(&bench, &worn).contains("its certificate says 499.97 g"), "{}", said(&bench, &worn));
        // A class III L scale has no limit by R 76.
        let unlimited = BenchScale { class: Some(AccuracyClass::IiiL), ..bench.clone() };
        assert!(said(&unlimited, &weight("500", WeightClass::F1)).contains("a limit of its own"));
        let fine = BenchScale { own_limit: Some(grams("0.001")), ..bench };
        assert!(
            said(&fine, &weight("5000", WeightClass::E2))
                .ends_with("No class from E2 to M1 would do at this load")
        );
    }

    #[test]
    fn the_nearest_that_is_good_enough_is_chosen() {
        let bench = bench();
        let shelf = [
            weight("200", WeightClass::M1),
            weight("500", WeightClass::M1),
            weight("2000", WeightClass::M1),
            weight("5000", WeightClass::F2),
        ];
        let chosen = |load: &str| {
            choose(&bench, grams(load), &shelf).map(|(weight, limit)| (weight.id.as_str(), limit))
        };
        assert_eq!(chosen("400"), Ok(("500 M1", grams("0.1"))));
        assert_eq!(chosen("250"), Ok(("200 M1", grams("0.1"))));
        // The 2 kg weight would be nearest, and is too coarse.
        assert_eq!(chosen("2000"), Ok(("500 M1", grams("0.1"))));
        assert_eq!(chosen("4000"), Ok(("5000 F2", grams("0.3"))));
        assert_eq!(chosen("350"), Ok(("500 M1", grams("0.1"))), "equally near: the heavier");
        assert_eq!(
            choose(&bench, grams("350"), &[shelf[1].clone(), shelf[0].clone()]).unwrap().0.id,
            "500 M1"
        );
    }

    #[test]
    fn when_none_will_do_each_is_told_and_what_to_have() {
        let shelf = [weight("2000", WeightClass::M1), weight("10000", WeightClass::F1)];
        let none = choose(&bench(), grams("1500"), &shelf).unwrap_err();
        assert_eq!(none.reasons.len(), 2);
        assert_eq!(none.buy, Some((grams("2000"), WeightClass::F2)));
        let said = none.to_string();
        assert_eq!(said.lines().count(), 3, "{said}");
        assert!(said.ends_with("To have: a weight of 2000 g, class F2 or finer"), "{said}");
        let said = choose(&bench(), grams("400"), &[]).unwrap_err().to_string();
        assert_eq!(said, "The shop has no check weight\nTo have: a weight of 500 g, class M1 or finer");
    }

    #[test]
    fn by_handbook_44_a_coarser_weight_may_do() {
        let mut coarse = scale(AccuracyClass::Iii, "0.1", "1000");
        let at = |scale: &BenchScale| (scale.limit_at(grams("500")), coarsest_class(scale, grams("500")));
        assert_eq!(at(&coarse), (Some(grams("0.3")), Some(WeightClass::M1)));
        coarse.rules = Rules::Hb44;
        assert_eq!(at(&coarse), (Some(grams("0.5")), Some(WeightClass::M1)));
    }
}
