//! How numbers are written for the person: which sign before the decimals, which units. What is stored never changes.

/// The sign before the decimals.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum DecimalSign {
    /// `12.5`
    #[default]
    Point,
    /// `12,5`
    Comma,
}

impl DecimalSign {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::Point, Self::Comma];

    /// The name in settings.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Point => "point",
            Self::Comma => "comma",
        }
    }
}

/// The unit in which a mass is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum MassShown {
    /// Grams.
    #[default]
    Grams,
    /// Avoirdupois ounces.
    Ounces,
}

impl MassShown {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::Grams, Self::Ounces];

    /// The name in settings.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Grams => "grams",
            Self::Ounces => "ounces",
        }
    }
}

/// The measures in which a volume is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum VolumeShown {
    /// Millilitres.
    #[default]
    Millilitres,
    /// US fluid ounces.
    Us,
    /// Imperial fluid ounces.
    Imperial,
}

impl VolumeShown {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Millilitres, Self::Us, Self::Imperial];

    /// The name in settings.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Millilitres => "millilitres",
            Self::Us => "us",
            Self::Imperial => "imperial",
        }
    }
}

/// How numbers are written for the person.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Notation {
    /// The sign before the decimals.
    pub decimal: DecimalSign,
    /// The unit of a mass.
    pub mass: MassShown,
    /// The measures of a volume.
    pub volume: VolumeShown,
}

impl Notation {
    /// With a point, in grams and millilitres.
    pub const METRIC: Self =
        Self { decimal: DecimalSign::Point, mass: MassShown::Grams, volume: VolumeShown::Millilitres };
}
