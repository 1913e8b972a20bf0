//! What a scale says of itself: what stands on its plate.

use crate::units::{Division, Grams, MassUnit};

/// What a scale said of itself, as far as it did.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Nameplate {
    /// The unit it weighs in.
    pub unit: Option<MassUnit>,
    /// The most it weighs.
    pub capacity: Option<Grams>,
    /// Its division.
    pub division: Option<Division>,
}

impl Nameplate {
    /// Adds what another of its lines says; what is known already stays.
    pub fn add(&mut self, more: Self) {
        self.unit = self.unit.or(more.unit);
        self.capacity = self.capacity.or(more.capacity);
        self.division = self.division.or(more.division);
    }
}
