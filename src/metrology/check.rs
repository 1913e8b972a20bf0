//! One check: empty pan, weight on, and whether the reading is right.

use super::{BenchScale, CheckWeight, Unfit, limit_if_fit};
use crate::units::Grams;
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

    /// What it came to, in a sentence without its full stop.
    pub fn sentence(&self) -> String {
        let (id, deviation, limit) = (&self.weight.id, self.deviation(), self.limit);
        let sign = if deviation.is_negative() { "" } else { "+" };
        match self.verdict() {
            Verdict::Passed => format!("right: {sign}{deviation} g with '{id}', ±{limit} g allowed"),
            Verdict::NotAtZero => format!("not at zero: the empty pan showed {} g", self.zero),
            Verdict::OffLimit => format!("off: {sign}{deviation} g with '{id}', ±{limit} g allowed"),
        }
    }
}
