//! What was mixed last: to begin it again, and to propose the same volume.

use super::bench::Bench;
use crate::catalogue::{Catalogue, Role};
use crate::units::Notation;

/// A layer of a colour, and the volume as it was typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Last {
    /// The colour's place in the catalogue.
    pub colour: usize,
    /// The layer.
    pub role: Role,
    /// The volume as typed.
    pub typed: String,
}

impl Last {
    /// That of a mix, if the catalogue still has its colour.
    pub(super) fn of(bench: &Bench, catalogue: &Catalogue, notation: Notation) -> Option<Self> {
        let recipe = bench.session().recipe();
        let colour = catalogue
            .colours
            .iter()
            .position(|colour| colour.code == recipe.colour && colour.variant == recipe.variant)?;
        let typed = notation.typed_volume(bench.session().start().volume);
        Some(Self { colour, role: recipe.role, typed })
    }
}
