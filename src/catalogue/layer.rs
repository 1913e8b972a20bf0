//! One coat of a colour: what it is for, and what goes into it.

use super::{ProductCode, TonerCode, Word as _, word::words};
use crate::units::Decimal;

words! {
    /// What a layer is for, from the panel outwards.
    Role is "a role of a layer" {
        /// Under the colour, in the shade that suits it.
        Undercoat = "undercoat",
        /// The hiding coat under a pearl.
        Ground = "ground",
        /// The colour itself, where one coat carries it.
        Base = "base",
        /// Round the edge, so that the new runs out into the old unseen; wider than what lies below it, and with a ground
        /// coat part of the first stage, so that the pearl runs out over it.
        Blender = "blender",
        /// The transparent effect coat, sprayed in a counted number of coats.
        Pearl = "pearl",
        /// On top.
        Clear = "clear",
    }
}

impl Role {
    /// What people call the layer: `ground coat`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Undercoat => "undercoat",
            Self::Ground => "ground coat",
            Self::Base => "base coat",
            Self::Pearl => "pearl coat",
            Self::Blender => "blender",
            Self::Clear => "clear",
        }
    }

    /// The layer that a person calls so: `ground` or `ground coat`, in whatever case.
    pub fn named(text: &str) -> Option<Self> {
        let text = text.trim();
        let is_named =
            |role: &Self| role.name().eq_ignore_ascii_case(text) || role.word().eq_ignore_ascii_case(text);
        Self::ALL.iter().copied().find(is_named)
    }
}

/// One toner of a formula.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// Which toner, in the spelling of its own entry.
    pub toner: TonerCode,
    /// How many parts by mass, exactly as written; more than nothing.
    pub parts: Decimal,
}

/// One layer of a colour and its formula.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Layer {
    /// What the layer is for; no other layer of the colour has the same.
    pub role: Role,
    /// The formula in its own pour order; at least one part, no toner twice.
    pub pours: Vec<Part>,
    /// The product it is mixed with, in the spelling of its own entry where that is there; none for what the shop takes
    /// for such layers: [`Catalogue::product_for`](super::Catalogue::product_for).
    pub product: Option<ProductCode>,
    /// Of an undercoat the shade it has, of another layer the shade of undercoat it wants below it, as the sheet names
    /// them: `G3`.
    pub shade: Option<String>,
}
