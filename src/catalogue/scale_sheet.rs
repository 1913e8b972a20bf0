//! The bench scale as the shop has written it down, and the weights to check it with.

use super::Word;
use crate::metrology::{
    AccuracyClass, BenchScale, CheckPlan, CheckWeight, NoneFits, Rules, WeightClass, WhenOverdue, choose,
};
use crate::units::Grams;

/// What `scale.toml` says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ScaleSheet {
    /// The scale.
    pub scale: BenchScale,
    /// How often it is checked, and what happens when it is not.
    pub plan: CheckPlan,
    /// What is usually on it, where a check counts most; more than nothing.
    pub usual_load: Grams,
    /// The check weights, in the order of the file. No two have the same id.
    pub weights: Vec<CheckWeight>,
}

impl ScaleSheet {
    /// The weight to check the scale with, and how far it may be off with it.
    pub fn check_weight(&self) -> Result<(&CheckWeight, Grams), NoneFits> {
        choose(&self.scale, self.usual_load, &self.weights)
    }
}

impl Word for AccuracyClass {
    const NOUN: &'static str = "an accuracy class";
    const ALL: &'static [Self] = &AccuracyClass::ALL;
    fn word(self) -> &'static str {
        self.word()
    }
}

impl Word for Rules {
    const NOUN: &'static str = "a set of rules";
    const ALL: &'static [Self] = &Rules::ALL;
    fn word(self) -> &'static str {
        self.word()
    }
}

impl Word for WeightClass {
    const NOUN: &'static str = "a class of weights";
    const ALL: &'static [Self] = &WeightClass::ALL;
    fn word(self) -> &'static str {
        self.word()
    }
}

impl Word for WhenOverdue {
    const NOUN: &'static str = "what the bench can do";
    const ALL: &'static [Self] = &WhenOverdue::ALL;
    fn word(self) -> &'static str {
        self.word()
    }
}
