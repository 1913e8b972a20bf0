//! The volatile organic compounds in a mix that is ready to spray: what its parts bring in, and what that is in a litre.
//!
//! 40 CFR 59.104(a)(1): `(Wv − Ww − Wec) / (V − Vw − Vec)`, with the total volatiles Wv, the water Ww and Vw, the exempt
//! compounds Wec and Vec, of the coating "prepared for application according to its mixing instructions" (the variables
//! and the state read; the equation read as Virginia spells the same one out in 9VAC5-40-6990 B.1). Volumes are taken to
//! add up. Exact decimals.

use super::PerLitre;
use crate::units::{Decimal, Density, Grams, Millilitres, Share};
use thiserror::Error;

/// What one part of a mix brings in, or all of them together.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Component {
    /// All of it.
    pub mass: Grams,
    /// The room it takes.
    pub volume: Millilitres,
    /// All that is volatile in it: water and exempt compounds too.
    pub volatiles: Grams,
    /// The water.
    pub water: Grams,
    /// The room the water takes.
    pub water_volume: Millilitres,
    /// What the law does not count as a volatile organic compound, other than water.
    pub exempt: Grams,
    /// The room that takes.
    pub exempt_volume: Millilitres,
}

/// What the sheet of a product or toner says, per litre of it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct VocSheet {
    /// All that is volatile, with the water and the exempt compounds.
    pub volatiles: PerLitre,
    /// The water.
    pub water: PerLitre,
    /// The exempt compounds.
    pub exempt: PerLitre,
    /// What a millilitre of the exempt compounds weighs; needed only where there are any.
    pub exempt_density: Option<Density>,
}

/// Figures that no paint can have.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum VocError {
    /// Something is below nothing.
    #[error("a mass, a volume or a share of it is below nothing: look at the sheet")]
    BelowNothing,
    /// More water and exempt compounds than volatiles.
    #[error(
        "its water and its exempt compounds weigh more than all that is volatile in it: the total volatiles must have them in"
    )]
    Volatiles,
    /// More volatiles than there is of it.
    #[error("it weighs less than what is volatile in it: look at the sheet and at the density")]
    Mass,
    /// More water and exempt compounds than there is room.
    #[error("its water and its exempt compounds take more room than all of it: look at the sheet")]
    Volume,
    /// Exempt compounds whose density nobody gave.
    #[error("its exempt compounds need their density in g/mL before the room they take can be left out")]
    ExemptDensity,
}

/// Why there is no figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum NoFigure {
    /// There is no mix.
    #[error("nothing is in it")]
    Empty,
    /// Without the water and the exempt compounds nothing is left.
    #[error("all of it is water or exempt solvent: without those nothing is left that a figure could be of")]
    NothingLeft,
    /// Numbers too large to reckon with.
    #[error("these numbers are too large to reckon with")]
    Large,
}

/// What of a mix is counted as a volatile organic compound, and in a litre of what.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Basis {
    /// Exempt compounds not counted; per litre less water and less exempt compounds. The figure of 40 CFR 59.104(a)(1).
    Regulatory,
    /// Exempt compounds not counted; per litre of all of it ("VOC of material", as the South Coast's rules call it: read).
    Actual,
    /// Exempt compounds counted, since Europe's law knows none; per litre less water.
    LessWater,
    /// Exempt compounds counted; per litre of all of it.
    WithWater,
}

impl Basis {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Regulatory, Self::Actual, Self::LessWater, Self::WithWater];

    /// The word in files and results.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Regulatory => "regulatory",
            Self::Actual => "actual",
            Self::LessWater => "less-water",
            Self::WithWater => "with-water",
        }
    }

    /// What it means.
    pub const fn says(self) -> &'static str {
        match self {
            Self::Regulatory => "regulatory: less water and exempt compounds",
            Self::Actual => "actual: of all the material, exempt compounds not counted",
            Self::LessWater => "less water, exempt compounds counted",
            Self::WithWater => "of all the material, exempt compounds counted",
        }
    }
}

impl Component {
    /// So much of what has that sheet. The room of the water goes by the density of water that is given, since sources
    /// differ in it (0.995 in Maryland's COMAR 26.11.19.02, 8.33 and 8.34 lb/gal in handbooks; read).
    ///
    /// # Errors
    /// The sheet cannot be of any paint.
    pub fn of(
        volume: Millilitres,
        mass: Grams,
        sheet: &VocSheet,
        water_density: Density,
    ) -> Result<Self, VocError> {
        let (water, exempt) = (sheet.water.in_volume(volume), sheet.exempt.in_volume(volume));
        let exempt_volume = match sheet.exempt_density {
            Some(density) => density.volume_of(exempt),
            None if exempt.is_zero() => Millilitres::ZERO,
            None => return Err(VocError::ExemptDensity),
        };
        let volatiles = sheet.volatiles.in_volume(volume);
        let water_volume = water_density.volume_of(water);
        Self { mass, volume, volatiles, water, water_volume, exempt, exempt_volume }.checked()
    }

    /// So much of a paint whose sheet gives solids and water by mass, and no exempt compounds: what is neither is volatile
    /// organic. The form of the Paints & Coatings Resource Center's column of March 2004 (read).
    ///
    /// # Errors
    /// More solids and water than paint.
    pub fn of_shares(
        volume: Millilitres,
        density: Density,
        solids: Share,
        water: Share,
        water_density: Density,
    ) -> Result<Self, VocError> {
        let mass = density.mass_of(volume);
        let water = mass * water;
        Self {
            mass,
            volume,
            volatiles: mass - mass * solids,
            water,
            water_volume: water_density.volume_of(water),
            ..Self::default()
        }
        .checked()
    }

    /// What counts as a volatile organic compound in it where the law knows exempt compounds.
    pub fn voc(&self) -> Grams {
        self.volatiles - self.water - self.exempt
    }

    /// The room that is left without the water and the exempt compounds.
    pub fn counted_volume(&self) -> Millilitres {
        self.volume - self.water_volume - self.exempt_volume
    }

    /// What counts by that basis, and in the room of what.
    pub fn counted(&self, basis: Basis) -> (Grams, Millilitres) {
        match basis {
            Basis::Regulatory => (self.voc(), self.counted_volume()),
            Basis::Actual => (self.voc(), self.volume),
            Basis::LessWater => (self.volatiles - self.water, self.volume - self.water_volume),
            Basis::WithWater => (self.volatiles - self.water, self.volume),
        }
    }

    /// Both together.
    #[must_use]
    pub fn with(self, other: Self) -> Self {
        Self {
            mass: self.mass + other.mass,
            volume: self.volume + other.volume,
            volatiles: self.volatiles + other.volatiles,
            water: self.water + other.water,
            water_volume: self.water_volume + other.water_volume,
            exempt: self.exempt + other.exempt,
            exempt_volume: self.exempt_volume + other.exempt_volume,
        }
    }

    /// Itself, if there can be such a thing. A millionth more water than room is taken for what rounding leaves.
    ///
    /// # Errors
    /// There cannot.
    pub fn checked(self) -> Result<Self, VocError> {
        let masses = [self.mass, self.volatiles, self.water, self.exempt];
        let volumes = [self.volume, self.water_volume, self.exempt_volume];
        if masses.iter().any(|mass| mass.is_negative()) || volumes.iter().any(|room| room.is_negative()) {
            return Err(VocError::BelowNothing);
        }
        let slack = Decimal::new(1, 6);
        if self.voc() < -self.volatiles.times(slack) {
            return Err(VocError::Volatiles);
        }
        if self.mass - self.volatiles < -self.mass.times(slack) {
            return Err(VocError::Mass);
        }
        if self.counted_volume() < -self.volume.times(slack) {
            return Err(VocError::Volume);
        }
        Ok(self)
    }
}

/// What is in a mix that is ready to spray.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Content {
    /// Everything in it.
    pub total: Component,
}

impl Content {
    /// What these parts come to, in whatever order.
    ///
    /// # Errors
    /// One of them cannot be.
    pub fn of(parts: impl IntoIterator<Item = Component>) -> Result<Self, VocError> {
        let add = |total: Component, part: Component| Ok(total.with(part.checked()?));
        parts.into_iter().try_fold(Component::default(), add).map(|total| Self { total })
    }

    /// The figure by that basis.
    ///
    /// # Errors
    /// Nothing is there that it could be of.
    pub fn figure(&self, basis: Basis) -> Result<PerLitre, NoFigure> {
        let all = &self.total;
        let (mass, volume) = all.counted(basis);
        if !all.volume.is_positive() {
            return Err(NoFigure::Empty);
        }
        // What rounding leaves of a volume that is all water is no volume: anything divided by it would be a figure.
        let least = all.volume.times(Decimal::new(1, 6));
        if volume <= least {
            return Err(NoFigure::NothingLeft);
        }
        PerLitre::of(mass, volume).ok_or(NoFigure::Large)
    }

    /// Less water and exempt compounds.
    ///
    /// # Errors
    /// As [`Content::figure`].
    pub fn regulatory(&self) -> Result<PerLitre, NoFigure> {
        self.figure(Basis::Regulatory)
    }

    /// Of all the material.
    ///
    /// # Errors
    /// As [`Content::figure`].
    pub fn actual(&self) -> Result<PerLitre, NoFigure> {
        self.figure(Basis::Actual)
    }
}
