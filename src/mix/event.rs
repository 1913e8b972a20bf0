//! What happened to a mix, in the order it happened. A mix is nothing but the fold of these.

use super::{Emptied, LeftoverAdded, Recipe, Way};
use crate::catalogue::TonerCode;
use crate::units::{Decimal, Division, Grams, Millilitres};
use serde::{Deserialize, Serialize};

/// The cup on the scale.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Vessel {
    /// What the shop calls it.
    pub name: String,
    /// What it holds when full to the brim.
    pub brim: Millilitres,
    /// What the scale showed with the empty cup on it: taken off every reading here, never at the scale.
    pub tare: Grams,
}

/// What the scale can do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Limits {
    /// Its division.
    pub division: Division,
    /// The most it weighs, cup included; none where that is not known.
    pub capacity: Option<Grams>,
}

/// How a weight was come by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum How {
    /// Read from the scale, stable and confirmed.
    Scale,
    /// Typed by a person.
    Typed,
}

/// A mix is begun.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Start {
    /// What is mixed, as it stood then.
    pub recipe: Recipe,
    /// How much was asked for.
    pub volume: Millilitres,
    /// Into what.
    pub vessel: Vessel,
    /// On what.
    pub limits: Limits,
    /// The pour order, as places in the recipe, each once.
    pub order: Vec<usize>,
    /// The version of the formula it is weighed from: the SHA-256 of its file, in hexadecimal digits. None where that was
    /// not kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub version: Option<String>,
    /// The job it is begun for, by the job's name; none where it is for no job that is known yet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
}

/// Something was poured into the cup. Readings are what the cup held, its own weight taken off.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pour {
    /// What it was; not always what should have been poured.
    pub toner: TonerCode,
    /// From which tin, as its label says, if known.
    pub tin: Option<String>,
    /// What the cup held before.
    pub before: Grams,
    /// What the cup held after.
    pub after: Grams,
    /// How the weight was come by.
    pub how: How,
}

/// Some of the stirred mix was taken out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Drawn {
    /// What the cup held before.
    pub before: Grams,
    /// What the cup held after.
    pub after: Grams,
    /// How the weight was come by.
    pub how: How,
}

/// A way out was chosen after a pour went over.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Steer {
    /// Which.
    pub way: Way,
    /// What the formula's toners will come to in the end.
    pub final_mass: Grams,
    /// How many tolerances still count as right from here on; 1 unless the mix is knowingly left off.
    pub slack: Decimal,
    /// What is to be taken out first; nothing except for drawing off.
    pub draw_off: Grams,
}

/// A pour was booked to the wrong toner or tin; this is what it was. The event it puts right stays as it is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Rebooked {
    /// Which pour: its place among the mix's pours, from 0.
    pub pour: usize,
    /// The toner it was.
    pub toner: TonerCode,
    /// The tin it came from, as its label says, if known.
    pub tin: Option<String>,
}

/// What a barcode says of a tin.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct TinMarks {
    /// The item's number, as fourteen digits.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub item: Option<String>,
    /// The lot it is of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<String>,
    /// Until when it may be used, as `2026-12-31`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expires: Option<String>,
}

/// Something that happened to a mix.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Event {
    /// It was begun.
    Started(Start),
    /// Something was poured.
    Poured(Pour),
    /// Some was taken out.
    DrawnOff(Drawn),
    /// A way out was chosen.
    Steered(Steer),
    /// Another toner was taken up.
    Turned {
        /// The toner to pour now.
        toner: TonerCode,
    },
    /// Another pour order was chosen.
    Reordered {
        /// Places in the recipe, each once.
        order: Vec<usize>,
    },
    /// Another tin of a toner was taken.
    TinTaken {
        /// The toner.
        toner: TonerCode,
        /// The tin's label.
        tin: String,
        /// What a barcode said of it, if one was scanned.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        marks: Option<TinMarks>,
    },
    /// A pour was something else than it was booked as.
    Rebooked(Rebooked),
    /// The cup was put aside to go on later.
    SetAside,
    /// The cup was taken up again.
    TakenUp {
        /// What the scale shows with the cup on it less what the cup holds: the tare from here on. The scale
        /// may have been switched off in between.
        tare: Grams,
    },
    /// The mix was given up.
    Abandoned {
        /// Why.
        reason: String,
    },
    /// The mix is done.
    Finished,
    /// A leftover is to be poured into the empty cup before the first toner: what comes in next is that leftover, and not
    /// the toner that is due.
    LeftoverDue {
        /// Which, by the identity of the mix it is of; none to go on without one.
        from: Option<String>,
    },
    /// Some or all of a leftover was poured into the cup.
    LeftoverAdded(LeftoverAdded),
    /// The mix that was done was sprayed, and what was left kept or thrown away: the cup is empty.
    Emptied(Emptied),
}

impl Event {
    /// The kind's name, as the book files it.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Started(_) => "started",
            Self::Poured(_) => "poured",
            Self::DrawnOff(_) => "drawn-off",
            Self::Steered(_) => "steered",
            Self::Turned { .. } => "turned",
            Self::Reordered { .. } => "reordered",
            Self::TinTaken { .. } => "tin-taken",
            Self::Rebooked(_) => "rebooked",
            Self::SetAside => "set-aside",
            Self::TakenUp { .. } => "taken-up",
            Self::Abandoned { .. } => "abandoned",
            Self::Finished => "finished",
            Self::LeftoverDue { .. } => "leftover-due",
            Self::LeftoverAdded(_) => "leftover-added",
            Self::Emptied(_) => "emptied",
        }
    }
}
