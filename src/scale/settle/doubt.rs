//! Why a reading is no weight, and what to do about it.

use crate::scale::{Condition, Mode};
use crate::units::{Grams, MassUnit, Notation};
use std::fmt;

/// Why a reading is no weight, in a sentence for the painter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// Nothing has come since the link was opened.
    Silent,
    /// The load moves.
    Moving,
    /// The format has no stability flag, and the number has not stood still for long enough.
    NotSteady,
    /// Stable, but not said twice.
    NotConfirmed,
    /// Stable, but far from the stable reading just before, with no movement between.
    Jump,
    /// Said often enough for a good line, but this one showed damage.
    Damaged,
    /// A weight, but one that went the same way step by step.
    Creeps,
    /// The last reading is too old.
    Stale,
    /// A reading came with a time that is not after the last one's.
    OutOfOrder,
    /// Overload.
    Over,
    /// Underload.
    Under,
    /// Beyond the capacity that the shop gave for this scale.
    OutOfRange(Grams),
    /// Zero was refused or lost.
    ZeroError,
    /// Tare was refused.
    TareError,
    /// The scale is busy with itself.
    NotReady,
    /// A fault of the scale's own.
    Device(String),
    /// A number without a unit.
    NoUnit,
    /// A unit that is no unit of mass known here.
    UnknownUnit(String),
    /// The unit is another than before.
    UnitChanged(MassUnit),
    /// Gross became net, or the other way round.
    ModeChanged(Mode),
    /// The scale sent its own tare, not what is on the pan.
    ShowsTare,
    /// High-resolution and displayed weights came mixed.
    ResolutionChanged,
}

impl Doubt {
    /// The same sentence, its numbers as the person writes them.
    pub fn sentence(&self, notation: Notation) -> String {
        match self {
            Self::OutOfRange(capacity) => format!(
                "That is beyond the {} this scale is set up for: take something off, or correct its capacity in the shop's settings.",
                notation.given_mass(*capacity)
            ),
            other => other.to_string(),
        }
    }
}

impl fmt::Display for Doubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = match self {
            Self::Silent => "Nothing has come from the scale yet: switch it on, or check its cable.",
            Self::Moving => "The scale is moving: wait until it stands still.",
            Self::NotSteady => {
                "This scale does not say when it stands still: wait until the number has not changed for a second."
            }
            Self::NotConfirmed => "Not confirmed yet: wait for the scale to say the same again.",
            Self::Jump => {
                "The number jumped without the scale moving: wait for the scale to say the same again."
            }
            Self::Damaged => {
                "What came from the scale was damaged just now: wait for it to say the same once more, and see to the cable if this goes on."
            }
            Self::Creeps => {
                "The number creeps on while the scale stands still: let the tin drip out, or take it as it is with the key."
            }
            Self::Stale => "The scale has gone quiet: check that it is on and its cable is in.",
            Self::OutOfOrder => "A reading came out of its order and was left out: wait for the next one.",
            Self::Over => "Too heavy for the scale: take something off.",
            Self::Under => "Too light for the scale: put the pan back on.",
            Self::OutOfRange(_) => return f.write_str(&self.sentence(Notation::METRIC)),
            Self::ZeroError => {
                "The scale cannot find its zero: empty the pan and zero the scale at its own keys."
            }
            Self::TareError => "The scale refused to tare: weigh on without it, nothing here needs it.",
            Self::NotReady => "The scale is busy with itself: wait until it shows a weight again.",
            Self::Device(said) => {
                return write!(
                    f,
                    "The scale reports '{said}': look at its display and in its manual before weighing on."
                );
            }
            Self::NoUnit => {
                "The scale sends a number without a unit: set it to send the unit, or add unit=g to its address."
            }
            Self::UnknownUnit(unit) => {
                return write!(
                    f,
                    "The scale weighs in '{unit}', which is no known unit of mass: set it to g."
                );
            }
            Self::UnitChanged(unit) => {
                return write!(
                    f,
                    "The scale changed its unit to {}: wait for it to say so again, or set it back.",
                    unit.symbol()
                );
            }
            Self::ModeChanged(Mode::Net) => {
                "The scale now shows net, less a tare of its own: clear its tare, and leave it so to the end."
            }
            Self::ModeChanged(Mode::Gross) => {
                "The scale now shows gross, all that is on the pan: check that this is what you want."
            }
            Self::ModeChanged(_) => {
                "The scale no longer says whether it shows gross or net: check its display before weighing on."
            }
            Self::ShowsTare => "The scale shows its tare, not the pan: set it back to show the weight.",
            Self::ResolutionChanged => {
                "The scale changed how many digits it sends: wait for it to say the same again."
            }
        };
        f.write_str(text)
    }
}

impl From<&Condition> for Option<Doubt> {
    fn from(condition: &Condition) -> Self {
        Some(match condition {
            Condition::Ok => return None,
            Condition::Over => Doubt::Over,
            Condition::Under => Doubt::Under,
            Condition::ZeroError => Doubt::ZeroError,
            Condition::TareError => Doubt::TareError,
            Condition::NotReady => Doubt::NotReady,
            Condition::Device(said) => Doubt::Device(said.clone()),
        })
    }
}
