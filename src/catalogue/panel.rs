//! The parts of a car's body, and how large they are.

use super::code::same;
use crate::units::Area;

/// A part of a body. At least one area is there, and each is more than nothing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Panel {
    /// What people call it; no other panel's name differs from it by capitals only.
    pub name: String,
    /// How large it is on a body that has no area of its own.
    pub area: Option<Area>,
    /// How large it is on a body of that size, in the order of the file.
    pub bodies: Vec<(String, Area)>,
}

impl Panel {
    /// How large it is on a body of that size, in whatever case; without a size, or where that size has none of its own,
    /// the usual one.
    pub fn area_on(&self, body: Option<&str>) -> Option<Area> {
        let own = body.and_then(|body| self.bodies.iter().find(|(name, _)| same(name, body)));
        own.map(|(_, area)| *area).or(self.area)
    }
}
