//! A colour: its names, its finish and its layers.

use super::{ColourCode, Layer, Retired, Role, Source, Swatch, Word, word::words};

words! {
    /// How many coats of different paint make the colour.
    Finish is "a finish" {
        /// One: colour and gloss together.
        SingleStage = "single-stage",
        /// Two: a base coat under clear.
        TwoStage = "two-stage",
        /// Three: a ground coat, a pearl coat, clear.
        ThreeStage = "three-stage",
    }
}

/// The variant of a colour whose file names none.
pub const STANDARD: &str = "standard";

/// A formula's subject.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Colour {
    /// Its code; with `variant` it is the colour's identity.
    pub code: ColourCode,
    /// What people call it.
    pub name: String,
    /// How it is built up.
    pub finish: Finish,
    /// Which of the shades sold under the same code; [`STANDARD`] unless its file says otherwise.
    pub variant: String,
    /// What it looks like, roughly, if its file says.
    pub swatch: Option<Swatch>,
    /// At least one layer, in the order of the file; no role twice.
    pub layers: Vec<Layer>,
    /// Since when the shop no longer mixes it, if it does not.
    pub retired: Option<Retired>,
    /// The file it was read from; `None` if it stands in no file yet.
    pub source: Option<Source>,
}

impl Colour {
    /// Whether both say the same, wherever they were read.
    pub fn says_the_same(&self, other: &Self) -> bool {
        let bare = |colour: &Self| Self { source: None, ..colour.clone() };
        let digits = |colour: &Self| -> Vec<String> {
            colour.layers.iter().flat_map(|layer| &layer.pours).map(|part| part.parts.to_string()).collect()
        };
        bare(self) == bare(other) && digits(self) == digits(other)
    }

    /// The same, where a layer names no product or shade with the one that layer has in `other`: who writes a formula
    /// anew or brings it as a table says nothing of either.
    #[must_use]
    pub(super) fn with_papers_of(&self, other: &Self) -> Self {
        let mut colour = self.clone();
        for layer in &mut colour.layers {
            if let Some(had) = other.layer(layer.role) {
                layer.product = layer.product.take().or_else(|| had.product.clone());
                layer.shade = layer.shade.take().or_else(|| had.shade.clone());
            }
        }
        colour
    }

    /// The layer with that role.
    pub fn layer(&self, role: Role) -> Option<&Layer> {
        self.layers.iter().find(|layer| layer.role == role)
    }
}

impl Finish {
    /// The layers this finish cannot do without.
    pub const fn needs(self) -> &'static [Role] {
        match self {
            Self::SingleStage | Self::TwoStage => &[Role::Base],
            Self::ThreeStage => &[Role::Ground, Role::Pearl],
        }
    }

    /// The layers that have no place in this finish. Clear is not needed by any: it usually comes from the tin
    /// and has no formula. A single-stage topcoat has its own gloss, so there it is out of place.
    pub const fn excludes(self) -> &'static [Role] {
        match self {
            Self::SingleStage => &[Role::Ground, Role::Pearl, Role::Clear],
            Self::TwoStage => &[Role::Ground, Role::Pearl],
            Self::ThreeStage => &[Role::Base],
        }
    }

    /// The finish that has all these layers and excludes none, if just one does.
    pub(super) fn fitting(roles: &[Role]) -> Option<Self> {
        let fits = |finish: &&Self| {
            finish.needs().iter().all(|role| roles.contains(role))
                && !finish.excludes().iter().any(|role| roles.contains(role))
        };
        let mut fitting = Self::ALL.iter().filter(fits);
        fitting.next().filter(|_| fitting.next().is_none()).copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_finish_excludes_what_it_needs() {
        for finish in Finish::ALL {
            assert!(!finish.needs().iter().any(|role| finish.excludes().contains(role)), "{finish}");
        }
    }

    #[test]
    fn the_finish_that_fits_is_told_only_when_it_is_the_only_one() {
        assert_eq!(Finish::fitting(&[Role::Ground, Role::Pearl]), Some(Finish::ThreeStage));
        assert_eq!(Finish::fitting(&[Role::Base, Role::Clear]), Some(Finish::TwoStage));
        assert_eq!(Finish::fitting(&[Role::Base]), None);
        assert_eq!(Finish::fitting(&[Role::Ground]), None);
    }
}
