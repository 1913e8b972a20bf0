//! Scales and weights to test with. Everything in them is invented.

use super::{AccuracyClass, BenchScale, CheckWeight, Rules, WeightClass};
use crate::units::{Division, Grams};

pub(super) fn grams(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

/// A scale with d = e, by R 76.
pub(super) fn scale(class: AccuracyClass, e: &str, max: &str) -> BenchScale {
    let e = Division::parse(e).unwrap();
    BenchScale {
        name: "bench".into(),
        max: grams(max),
        d: e,
        e,
        class: Some(class),
        rules: Rules::R76,
        own_limit: None,
    }
}

pub(super) fn weight(nominal: &str, class: WeightClass) -> CheckWeight {
    CheckWeight { id: format!("{nominal} {class}"), nominal: grams(nominal), class, value: None }
}
