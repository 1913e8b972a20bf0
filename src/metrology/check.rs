//! One check: empty pan, weight on, and whether the reading is right.

use super::choice::is_third;
use super::{BenchScale, CheckWeight, Unfit, limit_if_fit};
use crate::units::{Grams, Notation};
use serde::{Deserialize, Serialize};

/// What was done and read, with all that is needed to judge it again later: the scale's plate and the shop's
/// files may have changed by then. As JSON its masses are decimal strings in grams.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Check {
    /// The scale's name.
    pub scale: String,
    /// The weight that was put on.
    pub weight: CheckWeight,
    /// How far the reading may be from the weight's value, ±.
    pub limit: Grams,
    /// How far the empty pan may be from zero, ±.
    pub zero_limit: Grams,
    /// What the scale showed with an empty pan.
    pub zero: Grams,
    /// What it showed with the weight on.
    pub reading: Grams,
}

/// What a check came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Right.
    Passed,
    /// The empty pan did not stand at zero.
    NotAtZero,
    /// The reading was further off than the limit.
    OffLimit,
}

impl Check {
    /// A check of that scale with that weight, from the two readings. Refused if the weight is not good enough.
    pub fn new(scale: &BenchScale, weight: &CheckWeight, zero: Grams, reading: Grams) -> Result<Self, Unfit> {
        let limit = limit_if_fit(scale, weight)?;
        Ok(Self {
            scale: scale.name.clone(),
            weight: weight.clone(),
            limit,
            zero_limit: scale.zero_limit(),
            zero,
            reading,
        })
    }

    /// Reading minus the weight's certificate or nominal value. The zero is not taken off: at the bench nobody
    /// takes it off either.
    pub fn deviation(&self) -> Grams {
        self.reading - self.weight.true_value()
    }

    /// What it came to. A deviation of just the limit passes.
    pub fn verdict(&self) -> Verdict {
        if self.zero.abs() > self.zero_limit {
            Verdict::NotAtZero
        } else if self.deviation().abs() > self.limit {
            Verdict::OffLimit
        } else {
            Verdict::Passed
        }
    }

    /// Whether the scale is right.
    pub fn passed(&self) -> bool {
        self.verdict() == Verdict::Passed
    }

    /// What in it cannot be so; none if all can. By the weight's class and the limits alone: the scale's plate is
    /// not in it.
    pub(super) fn flaw(&self) -> Option<&'static str> {
        let Some(error) = self.weight.error() else {
            return Some("there is no weight of that nominal value");
        };
        if self.weight.is_out_of_class() {
            Some("its weight is not of the class it is said to be")
        } else if !is_third(error, self.limit) {
            Some("its weight is not good enough for its limit")
        } else if !self.zero_limit.is_positive() {
            Some("its empty pan may not be off by anything")
        } else {
            None
        }
    }

    /// What it came to, in a sentence without its full stop.
    pub fn sentence(&self, notation: Notation) -> String {
        let (id, limit) = (&self.weight.id, notation.given_mass(self.limit));
        let sign = if self.deviation().is_negative() { "" } else { "+" };
        let deviation = notation.given_mass(self.deviation());
        match self.verdict() {
            Verdict::Passed => format!("right: {sign}{deviation} with '{id}', ±{limit} allowed"),
            Verdict::NotAtZero => {
                format!("not at zero: the empty pan showed {}", notation.given_mass(self.zero))
            }
            Verdict::OffLimit => format!("off: {sign}{deviation} with '{id}', ±{limit} allowed"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{grams, scale, weight};
    use super::super::{AccuracyClass, WeightClass};
    use super::*;
    use proptest::prelude::*;
    use rstest::rstest;

    fn bench() -> BenchScale {
        scale(AccuracyClass::Ii, "0.1", "7500")
    }

    /// ±0.1 g at 500 g: OIML R 76-1:2006 table 6, class II, e = 0.1 g, doubled for service.
    #[rstest]
    #[case("0", "500.0", Verdict::Passed)]
    #[case("0", "500.1", Verdict::Passed)]
    #[case("0", "499.9", Verdict::Passed)]
    #[case("0", "500.2", Verdict::OffLimit)]
    #[case("0", "499.8", Verdict::OffLimit)]
    #[case("0", "-500.0", Verdict::OffLimit)]
    #[case("0", "0", Verdict::OffLimit)]
    #[case("0.1", "500.0", Verdict::NotAtZero)]
    #[case("-0.1", "499.9", Verdict::NotAtZero)]
    #[case("0.1", "600", Verdict::NotAtZero)]
    fn a_check_is_judged(#[case] zero: &str, #[case] reading: &str, #[case] verdict: Verdict) {
        let check =
            Check::new(&bench(), &weight("500", WeightClass::M1), grams(zero), grams(reading)).unwrap();
        assert_eq!(check.verdict(), verdict, "{}", check.sentence(Notation::METRIC));
        assert_eq!(check.passed(), verdict == Verdict::Passed);
    }

    #[test]
    fn the_certificate_counts_before_the_nominal_value() {
        let weight = CheckWeight { value: Some(grams("500.02")), ..weight("500", WeightClass::M1) };
        let check = |reading: &str| Check::new(&bench(), &weight, grams("0"), grams(reading)).unwrap();
        assert_eq!(check("500.1").deviation(), grams("0.08"));
        assert!(!check("499.9").passed(), "0.12 g below the certificate");
        assert_eq!(check("499.9").sentence(Notation::METRIC), "off: -0.12 g with '500 M1', ±0.1 g allowed");
        assert_eq!(check("500.1").sentence(Notation::METRIC), "right: +0.08 g with '500 M1', ±0.1 g allowed");
    }

    #[test]
    fn a_weight_that_is_not_good_enough_checks_nothing() {
        let coarse = weight("2000", WeightClass::M1);
        assert!(matches!(
            Check::new(&bench(), &coarse, grams("0"), grams("2000")),
            Err(Unfit::TooCoarse { .. })
        ));
    }

    #[test]
    fn it_is_read_back_with_every_decimal() {
        let weight = CheckWeight { value: Some(grams("500.012")), ..weight("500", WeightClass::M1) };
        let check = Check::new(&bench(), &weight, grams("0.0"), grams("500.0")).unwrap();
        let json = serde_json::to_string(&check).unwrap();
        assert!(json.contains("\"500.012\"") && json.contains("\"500.0\""), "{json}");
        assert_eq!(serde_json::from_str::<Check>(&json).unwrap(), check);
    }

    proptest! {
        /// Against whole numbers: d = e = 0.1 g and 500 g, so that a tenth is one step and one is allowed.
        #[test]
        fn it_passes_within_the_limit_and_nowhere_else(tenths in 4_900_i64..5_100) {
            let reading = Grams::from_micrograms(tenths * 100_000);
            let check = Check::new(&bench(), &weight("500", WeightClass::M1), grams("0"), reading).unwrap();
            prop_assert_eq!(check.passed(), (tenths - 5_000).abs() <= 1);
        }
    }
}
