//! A weight the shop checks its scale with.

use super::WeightClass;
use crate::units::Grams;
use serde::{Deserialize, Serialize};

/// One check weight. As JSON its masses are decimal strings in grams.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CheckWeight {
    /// What the shop calls it.
    pub id: String,
    /// What is written on it; one of the nominal values of OIML R 111-1:2004 table 1.
    pub nominal: Grams,
    /// Its class.
    pub class: WeightClass,
    /// What its certificate says it weighs, if it has one.
    pub value: Option<Grams>,
}

impl CheckWeight {
    /// What it is taken to weigh: by its certificate, or else its nominal value.
    pub fn true_value(&self) -> Grams {
        self.value.unwrap_or(self.nominal)
    }

    /// How far it may be off by its class, ±. None if its nominal value is none of the table's.
    ///
    /// With a certificate the uncertainty is at most a third of this (OIML R 111-1:2004 5.2, from memory); no
    /// use is made of that here, so that an old certificate does no harm.
    pub fn error(&self) -> Option<Grams> {
        self.class.error(self.nominal)
    }

    /// Whether its certificate says that it is further off than its class allows.
    pub fn is_out_of_class(&self) -> bool {
        self.error().is_some_and(|error| (self.true_value() - self.nominal).abs() > error)
    }
}
