//! What happens to a job, as the book keeps it.
//!
//! An event's body is JSON: `kind` is the event's whole kind (`job/opened`), areas are square metres and volumes
//! millilitres, both as decimal strings, times are microseconds since 1970-01-01T00:00:00Z, lengths of time minutes; what
//! was not said is left out. None of them moves paint: the mixes do.

use super::card::{AtAngle, Gun, Reading, Sight};
use crate::book::MixId;
use crate::catalogue::{ColourCode, Finish, Role};
use crate::units::{Decimal, Millilitres, Stamp, clean};
use serde::{Deserialize, Serialize};

/// A panel that is painted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Panel {
    /// What the shop calls it: `door, left`.
    pub name: String,
    /// Its area in m², if known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub area: Option<Decimal>,
}

/// One layer of the repair, as it is planned.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LayerPlan {
    /// What the layer is for.
    pub role: Role,
    /// The product it is made with, by its code.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub product: Option<String>,
    /// How many coats it wants, where that is known before a card was chosen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coats: Option<u32>,
    /// In which shade, for an undercoat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shade: Option<String>,
    /// How much is asked for, ready to spray.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub asked: Option<Millilitres>,
    /// How large it is in m², where it is not as large as the panels: a ground coat kept small, a blender wider.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub area: Option<Decimal>,
    /// The flash-off after each coat, in minutes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub flash_off: Option<u32>,
    /// The bake after the last coat, in minutes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bake: Option<u32>,
    /// From the last coat until the next layer may follow, in minutes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub before_next: Option<u32>,
}

impl LayerPlan {
    /// A layer of which nothing is said yet.
    pub const fn of(role: Role) -> Self {
        Self {
            role,
            product: None,
            coats: None,
            shade: None,
            asked: None,
            area: None,
            flash_off: None,
            bake: None,
            before_next: None,
        }
    }
}

/// A job is opened: `job/opened`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Opening {
    /// What the shop calls it: `26-118 tailgate`.
    pub name: String,
    /// Which vehicle, in the shop's own words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vehicle: Option<String>,
    /// The colour's code.
    pub colour: ColourCode,
    /// The colour's variant.
    pub variant: String,
    /// How the colour is built up.
    pub finish: Finish,
    /// What is painted.
    #[serde(default)]
    pub panels: Vec<Panel>,
    /// With what, from the panel outwards; no role twice.
    #[serde(default)]
    pub layers: Vec<LayerPlan>,
}

/// What is painted or with what was changed: `job/amended`. What is not said stays as it is.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Amendment {
    /// Another description of the vehicle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vehicle: Option<String>,
    /// All the panels, from here on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub panels: Option<Vec<Panel>>,
    /// All the layers, from here on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub layers: Option<Vec<LayerPlan>>,
}

/// A spray-out card was made: `job/card-made`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CardMade {
    /// Its number within the job, from 1; cards are numbered through all layers.
    pub card: u32,
    /// Of which layer.
    pub layer: Role,
    /// With how many coats of it; 0 if it shows what lies below alone, to compare with.
    pub coats: u32,
    /// Over which undercoat or ground, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub over: Option<String>,
    /// How the gun was set up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gun: Option<Gun>,
    /// What else is worth knowing of it; in older books what it is over and the gun as well.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// From which mix, if that is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mix: Option<MixId>,
}

impl CardMade {
    /// A card of which no more is said.
    pub const fn of(card: u32, layer: Role, coats: u32) -> Self {
        Self { card, layer, coats, over: None, gun: None, note: None, mix: None }
    }
}

/// A card was held against the car: `job/card-compared`. At least one of the three is said.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CardCompared {
    /// Which card.
    pub card: u32,
    /// What was seen, and where, in the painter's own words; empty if nothing was said so.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub seen: String,
    /// What was seen from one side in one light, in words that can be compared.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sights: Vec<Sight>,
    /// What was measured, angle by angle.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub measured: Vec<AtAngle>,
}

impl CardCompared {
    /// Of that card, and nothing said yet.
    pub const fn of(card: u32) -> Self {
        Self { card, seen: String::new(), sights: Vec::new(), measured: Vec::new() }
    }

    /// What was seen, in the painter's own words.
    pub fn seen(card: u32, seen: impl Into<String>) -> Self {
        Self { seen: seen.into(), ..Self::of(card) }
    }
}

/// The count of coats that matches the car was chosen: `job/card-chosen`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CardChosen {
    /// Of which layer.
    pub layer: Role,
    /// How many coats of it the car gets.
    pub coats: u32,
    /// Which card shows it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub card: Option<u32>,
    /// Between which two cards it lies, where none has so many coats.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub between: Option<(u32, u32)>,
}

impl CardChosen {
    /// So many coats, and no card that shows them.
    pub const fn of(layer: Role, coats: u32) -> Self {
        Self { layer, coats, card: None, between: None }
    }
}

/// What was seen or measured of a card is not to count: `job/card-withdrawn`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CardWithdrawn {
    /// Of which card.
    pub card: u32,
    /// What.
    #[serde(flatten)]
    pub reading: Reading,
}

/// A mix is for this job: `job/mix-joined`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Joined {
    /// Which mix.
    pub mix: MixId,
    /// Which layer it is.
    pub layer: Role,
    /// Whether it is for spray-out cards alone, and not for the car.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub for_cards: bool,
    /// What the layer was estimated to need when it was mixed, ready to spray, by its product's sheet and not by the shop's
    /// record: what was used is held against it later.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub estimate: Option<Millilitres>,
}

impl Joined {
    /// A mix for the car of which nothing was estimated.
    pub const fn of(mix: MixId, layer: Role) -> Self {
        Self { mix, layer, for_cards: false, estimate: None }
    }
}

/// Hardener went into a mix: `job/activated`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Activation {
    /// Which mix.
    pub mix: MixId,
    /// When its first hardener was poured.
    pub since: Stamp,
    /// How long it can be sprayed from then on, in minutes, as its data sheet says.
    pub pot_life: u32,
}

/// A coat was sprayed on the car: `job/coat-sprayed`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Coat {
    /// Of which layer.
    pub layer: Role,
    /// Which coat of it, from 1.
    pub coat: u32,
    /// When it was done.
    pub at: Stamp,
    /// Its flash-off from then on, in minutes, if it has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub flash_off: Option<u32>,
}

/// What a layer has not, of what was planned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Lacks {
    /// Its coats, or some of them.
    Coats,
    /// Its bake.
    Bake,
}

/// A time that is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(tag = "timer", rename_all = "kebab-case")]
pub enum Timer {
    /// Until the next coat or layer may follow.
    FlashOff {
        /// Of which layer.
        layer: Role,
    },
    /// Until the next layer may follow; another coat of the same does not wait for it.
    BeforeNext {
        /// On which layer.
        layer: Role,
    },
    /// The bake.
    Bake {
        /// Of which layer.
        layer: Role,
    },
    /// Until the booth is clear of mist.
    Clearance,
}

impl Timer {
    /// What people call it: `the flash-off of the pearl coat`.
    pub fn name(self) -> String {
        match self {
            Self::FlashOff { layer } => format!("the flash-off of the {}", layer.name()),
            Self::BeforeNext { layer } => format!("the time before the next layer on the {}", layer.name()),
            Self::Bake { layer } => format!("the bake of the {}", layer.name()),
            Self::Clearance => "the clearance of the booth".to_owned(),
        }
    }

    /// The layer it is of, if it is of one.
    pub const fn layer(self) -> Option<Role> {
        match self {
            Self::FlashOff { layer } | Self::BeforeNext { layer } | Self::Bake { layer } => Some(layer),
            Self::Clearance => None,
        }
    }
}

/// Something that happened to a job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind")]
pub enum JobEvent {
    /// It was opened.
    #[serde(rename = "job/opened")]
    Opened(Opening),
    /// What is painted or with what was changed.
    #[serde(rename = "job/amended")]
    Amended(Amendment),
    /// A card was made.
    #[serde(rename = "job/card-made")]
    CardMade(CardMade),
    /// A card was compared.
    #[serde(rename = "job/card-compared")]
    CardCompared(CardCompared),
    /// What was seen or measured of a card is not to count.
    #[serde(rename = "job/card-withdrawn")]
    CardWithdrawn(CardWithdrawn),
    /// A count of coats was chosen.
    #[serde(rename = "job/card-chosen")]
    CardChosen(CardChosen),
    /// The layer is mixed without a chosen card, or gets a count that no card shows, and why.
    #[serde(rename = "job/card-overruled")]
    CardOverruled {
        /// Which layer.
        layer: Role,
        /// Why.
        reason: String,
    },
    /// A mix is for this job.
    #[serde(rename = "job/mix-joined")]
    MixJoined(Joined),
    /// A mix is not for this job after all.
    #[serde(rename = "job/mix-parted")]
    MixParted {
        /// Which mix.
        mix: MixId,
        /// Why.
        reason: String,
    },
    /// A mix that does not look like this job's is, and why.
    #[serde(rename = "job/mix-overruled")]
    MixOverruled {
        /// Which mix.
        mix: MixId,
        /// Why.
        reason: String,
    },
    /// Hardener went into a mix.
    #[serde(rename = "job/activated")]
    Activated(Activation),
    /// A coat was sprayed.
    #[serde(rename = "job/coat-sprayed")]
    CoatSprayed(Coat),
    /// A coat that was counted was not sprayed.
    #[serde(rename = "job/coat-taken-back")]
    CoatTakenBack {
        /// Of which layer.
        layer: Role,
        /// Which coat of it: the last.
        coat: u32,
        /// Why it was counted.
        reason: String,
    },
    /// A time begins.
    #[serde(rename = "job/timer-started")]
    TimerStarted {
        /// Which.
        #[serde(flatten)]
        timer: Timer,
        /// From when on.
        from: Stamp,
        /// How long, in minutes.
        minutes: u32,
    },
    /// A time was ended where it stood.
    #[serde(rename = "job/timer-stopped")]
    TimerStopped {
        /// Which.
        #[serde(flatten)]
        timer: Timer,
    },
    /// A time that was not over is not waited for, and why.
    #[serde(rename = "job/timer-overruled")]
    TimerOverruled {
        /// Which.
        #[serde(flatten)]
        timer: Timer,
        /// Why.
        reason: String,
    },
    /// A layer is done.
    #[serde(rename = "job/layer-finished")]
    LayerFinished {
        /// Which.
        layer: Role,
    },
    /// It is not, after all.
    #[serde(rename = "job/layer-reopened")]
    LayerReopened {
        /// Which.
        layer: Role,
    },
    /// A layer is left without what was planned, and why.
    #[serde(rename = "job/layer-overruled")]
    LayerOverruled {
        /// Which.
        layer: Role,
        /// Without what.
        lacks: Lacks,
        /// Why.
        reason: String,
    },
    /// Something worth remembering.
    #[serde(rename = "job/noted")]
    Noted {
        /// What.
        text: String,
    },
    /// The job is done.
    #[serde(rename = "job/closed")]
    Closed,
    /// It was not, after all.
    #[serde(rename = "job/reopened")]
    Reopened,
}

impl JobEvent {
    /// The kind's name, as the book files it.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Opened(_) => "job/opened",
            Self::Amended(_) => "job/amended",
            Self::CardMade(_) => "job/card-made",
            Self::CardCompared(_) => "job/card-compared",
            Self::CardWithdrawn(_) => "job/card-withdrawn",
            Self::CardChosen(_) => "job/card-chosen",
            Self::CardOverruled { .. } => "job/card-overruled",
            Self::MixJoined(_) => "job/mix-joined",
            Self::MixParted { .. } => "job/mix-parted",
            Self::MixOverruled { .. } => "job/mix-overruled",
            Self::Activated(_) => "job/activated",
            Self::CoatSprayed(_) => "job/coat-sprayed",
            Self::CoatTakenBack { .. } => "job/coat-taken-back",
            Self::TimerStarted { .. } => "job/timer-started",
            Self::TimerStopped { .. } => "job/timer-stopped",
            Self::TimerOverruled { .. } => "job/timer-overruled",
            Self::LayerFinished { .. } => "job/layer-finished",
            Self::LayerReopened { .. } => "job/layer-reopened",
            Self::LayerOverruled { .. } => "job/layer-overruled",
            Self::Noted { .. } => "job/noted",
            Self::Closed => "job/closed",
            Self::Reopened => "job/reopened",
        }
    }

    /// The same without what does not belong in the book: what a person typed is cleaned, and what is empty was not said.
    #[must_use]
    pub fn cleaned(&self) -> Self {
        let tidied = |text: &str| clean(text).trim().to_owned();
        let tidy = |text: &mut String| *text = tidied(text);
        let option = |text: &mut Option<String>| {
            *text = text.as_deref().map(tidied).filter(|text| !text.is_empty());
        };
        let panels = |panels: &mut Vec<Panel>| panels.iter_mut().for_each(|panel| tidy(&mut panel.name));
        let layers = |layers: &mut Vec<LayerPlan>| {
            for layer in layers {
                option(&mut layer.product);
                option(&mut layer.shade);
            }
        };
        let mut event = self.clone();
        match &mut event {
            Self::Opened(opening) => {
                tidy(&mut opening.name);
                option(&mut opening.vehicle);
                tidy(&mut opening.variant);
                opening.colour = ColourCode::new(tidied(opening.colour.as_str()));
                panels(&mut opening.panels);
                layers(&mut opening.layers);
            }
            Self::Amended(amendment) => {
                option(&mut amendment.vehicle);
                amendment.panels.iter_mut().for_each(panels);
                amendment.layers.iter_mut().for_each(layers);
            }
            Self::CardMade(card) => {
                option(&mut card.over);
                option(&mut card.note);
                if let Some(gun) = &mut card.gun {
                    [&mut gun.tip, &mut gun.pressure, &mut gun.fan, &mut gun.distance]
                        .into_iter()
                        .for_each(option);
                }
                card.gun.take_if(|gun| gun.is_empty());
            }
            Self::CardCompared(compared) => tidy(&mut compared.seen),
            Self::CardOverruled { reason, .. }
            | Self::MixParted { reason, .. }
            | Self::MixOverruled { reason, .. }
            | Self::CoatTakenBack { reason, .. }
            | Self::LayerOverruled { reason, .. }
            | Self::TimerOverruled { reason, .. } => tidy(reason),
            Self::Noted { text } => tidy(text),
            Self::CardWithdrawn(_)
            | Self::CardChosen(_)
            | Self::MixJoined(_)
            | Self::Activated(_)
            | Self::CoatSprayed(_)
            | Self::TimerStarted { .. }
            | Self::TimerStopped { .. }
            | Self::LayerFinished { .. }
            | Self::LayerReopened { .. }
            | Self::Closed
            | Self::Reopened => {}
        }
        event
    }
}
