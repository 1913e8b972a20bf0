//! What was mixed last: to begin it again, and to propose the same volume.

use super::bench::Bench;
use super::for_job::ForJob;
use crate::catalogue::{ColourCode, Role};
use crate::units::Notation;

/// A layer of a colour, and the volume as it was typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Last {
    /// The colour's code.
    pub code: ColourCode,
    /// Its variant.
    pub variant: String,
    /// The layer.
    pub role: Role,
    /// The volume as typed.
    pub typed: String,
    /// The job it was for, if it was for one.
    pub job: Option<ForJob>,
}

impl Last {
    /// That of a mix.
    pub(super) fn of(bench: &Bench, notation: Notation) -> Self {
        let recipe = bench.session().recipe();
        let typed = notation.typed_volume(bench.session().start().volume);
        Self {
            code: recipe.colour.clone(),
            variant: recipe.variant.clone(),
            role: recipe.role,
            typed,
            job: None,
        }
    }
}
