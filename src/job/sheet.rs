//! The job sheet: everything that is known of a repair on one page, as plain rows that whoever knows them fills in, and as
//! tables of words, from which both the page and the text are made.

mod how_much;
mod page;
mod ready;
#[cfg(test)]
mod tests;
mod words;

pub use how_much::{HowMuchRow, UsedRow};
pub use ready::{PainterRow, ProductRow, ReadyRow, Weighed, weighed};
pub use words::{Block, Look, panel_words};

use super::card::Comparison;
use super::{Amount, Card, Job, LayerPlan, Panel, Reason, Run, Standing, Timer};
use crate::catalogue::{Finish, Role};
use crate::units::{Decimal, Grams, Millilitres, Stamp};

/// How much of a layer was asked for, mixed and sprayed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AmountRow {
    /// Which layer, and what was planned of it.
    pub plan: LayerPlan,
    /// How many coats the car gets, if that is known.
    pub wanted: Option<u32>,
    /// By what that many were chosen, where they were: `between cards 2 and 4`.
    pub counted: Option<String>,
    /// How many it has.
    pub sprayed_coats: u32,
    /// What was poured of its mixes, hardener and thinner included.
    pub mixed: Grams,
    /// What of it was sprayed.
    pub sprayed: Grams,
    /// What of it was kept.
    pub kept: Grams,
    /// What of it was thrown away, drawn off or given up.
    pub thrown: Grams,
}

/// A mix of the repair.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MixRow {
    /// Its number in the book.
    pub number: u32,
    /// Which layer it is; none if its first event does not say.
    pub layer: Option<Role>,
    /// Whether it is for spray-out cards alone.
    pub for_cards: bool,
    /// When it was begun.
    pub begun: Stamp,
    /// Who began it.
    pub operator: String,
    /// What was poured.
    pub mixed: Grams,
    /// What was sprayed.
    pub sprayed: Grams,
    /// What was kept.
    pub kept: Grams,
    /// What was thrown away, drawn off or given up.
    pub thrown: Grams,
    /// What its layer was estimated to need when it was mixed, if that was written down.
    pub estimate: Option<Millilitres>,
    /// What there was of it, without what was drawn off.
    pub whole: Amount,
    /// What of that was used; none until its cup is emptied.
    pub used: Option<Amount>,
    /// Whether it is open, done, given up, or its cup emptied.
    pub state: MixState,
}

/// What became of a mix.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MixState {
    /// It is not finished.
    Open,
    /// It is finished.
    Done,
    /// It was given up.
    GivenUp,
    /// Its cup was emptied.
    Emptied,
}

impl MixState {
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Done => "done",
            Self::GivenUp => "given up",
            Self::Emptied => "emptied",
        }
    }
}

impl MixRow {
    /// Whether it is none of what the layer was mixed from.
    pub(super) fn is_given_up(&self) -> bool {
        self.state == MixState::GivenUp
    }
}

/// What went into a mix, and from where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PartRow {
    /// The mix's number.
    pub mix: u32,
    /// The toner, hardener or thinner.
    pub toner: String,
    /// From where: `tin 24-031`.
    pub from: String,
    /// The tin's lot, if known.
    pub lot: Option<String>,
    /// How much.
    pub mass: Grams,
}

/// A spray-out card.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CardRow {
    /// Its number within the job.
    pub card: u32,
    /// Of which layer.
    pub layer: Role,
    /// With how many coats.
    pub coats: u32,
    /// When it was made.
    pub at: Stamp,
    /// What is known of it, and what was seen, in the order it was.
    pub said: Vec<String>,
    /// Whether the car gets as many coats as it has.
    pub chosen: bool,
}

/// How many coats of a layer were chosen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChosenRow {
    /// Of which layer.
    pub layer: Role,
    /// How many.
    pub coats: u32,
    /// By what: `card 3`.
    pub counted: Option<String>,
    /// When.
    pub at: Stamp,
    /// Who said so.
    pub by: String,
}

/// A coat on the car.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CoatRow {
    /// Of which layer.
    pub layer: Role,
    /// Which coat.
    pub coat: u32,
    /// When.
    pub at: Stamp,
}

/// A time that was kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TimeRow {
    /// Which.
    pub timer: Timer,
    /// When and how long, and how it ended.
    pub run: Run,
}

/// The solvent in a layer as it was sprayed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VocRow {
    /// Which layer, or the composite of all.
    pub what: String,
    /// Without water and exempt compounds, in g/L; none if it cannot be said.
    pub regulatory: Option<Decimal>,
    /// As it is, in g/L.
    pub actual: Option<Decimal>,
    /// The limit it was held against, in g/L.
    pub limit: Option<Decimal>,
    /// What that comes to, in words.
    pub says: String,
}

/// A caution, and where it comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CautionRow {
    /// What to heed.
    pub text: String,
    /// Its source, as it was entered.
    pub source: String,
}

/// Everything on one page.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// What the shop calls the job.
    pub name: String,
    /// Which vehicle.
    pub vehicle: Option<String>,
    /// The colour's code.
    pub colour: String,
    /// The colour's name, where it is known.
    pub colour_name: Option<String>,
    /// Its variant.
    pub variant: String,
    /// How it is built up.
    pub finish: Finish,
    /// When the job was opened.
    pub opened: Stamp,
    /// When it was closed.
    pub closed: Option<Stamp>,
    /// When the sheet was made.
    pub made: Stamp,
    /// What is painted.
    pub panels: Vec<Panel>,
    /// How much, by layer.
    pub amounts: Vec<AmountRow>,
    /// How much each wants.
    pub how_much: Vec<HowMuchRow>,
    /// What was used of that.
    pub used: Vec<UsedRow>,
    /// What they are made ready with.
    pub ready: Vec<ReadyRow>,
    /// Their products' papers.
    pub products: Vec<ProductRow>,
    /// The mixes.
    pub mixes: Vec<MixRow>,
    /// Their tins and lots.
    pub parts: Vec<PartRow>,
    /// The cards.
    pub cards: Vec<CardRow>,
    /// Which counts of coats were chosen, and by whom.
    pub chosen: Vec<ChosenRow>,
    /// How the cards of each layer compare with the car, where that was measured or seen by view and light.
    pub compared: Vec<(Role, Comparison)>,
    /// What was done otherwise than it is usually, and why.
    pub reasons: Vec<Reason>,
    /// Why a layer was mixed without a chosen card.
    pub unmatched: Vec<(Role, String)>,
    /// The coats.
    pub coats: Vec<CoatRow>,
    /// The times.
    pub times: Vec<TimeRow>,
    /// The solvent; empty where nobody reckoned it.
    pub voc: Vec<VocRow>,
    /// What has to be said of it: against which limits it was held, and that it is an aid.
    pub voc_notes: Vec<String>,
    /// What to heed.
    pub cautions: Vec<CautionRow>,
    /// Who had a hand in it, where the shop keeps their training on file.
    pub painters: Vec<PainterRow>,
    /// What was noted.
    pub notes: Vec<(Stamp, String)>,
}

impl Sheet {
    /// What the job itself knows. Mixes, parts, solvent and cautions are others'.
    pub fn of(job: &Job, made: Stamp) -> Self {
        let card = |card: &Card| {
            let layer = job.standing(card.made.layer);
            let chosen = layer.and_then(|layer| layer.chosen.cloned());
            CardRow {
                card: card.made.card,
                layer: card.made.layer,
                coats: card.made.coats,
                at: card.at,
                said: card.said(),
                chosen: chosen.is_some_and(|chosen| match chosen.card {
                    Some(number) => number == card.made.card,
                    None => chosen.between.is_none() && chosen.coats == card.made.coats,
                }),
            }
        };
        let coats = |layer: Standing<'_>| {
            let role = layer.plan.role;
            layer.coats.into_iter().map(move |(coat, at)| CoatRow { layer: role, coat, at })
        };
        let amount = |layer: Standing<'_>| AmountRow {
            plan: layer.plan.clone(),
            wanted: layer.wanted,
            counted: layer.counted.words(),
            sprayed_coats: layer.sprayed(),
            mixed: Grams::ZERO,
            sprayed: Grams::ZERO,
            kept: Grams::ZERO,
            thrown: Grams::ZERO,
        };
        let mut coats: Vec<CoatRow> = job.standings().flat_map(coats).collect();
        coats.sort_by_key(|coat| coat.at);
        let mut times: Vec<TimeRow> =
            job.times().map(|(timer, run)| TimeRow { timer, run: run.clone() }).collect();
        times.sort_by_key(|time| time.run.countdown.from);
        Self {
            name: job.name.clone(),
            vehicle: job.vehicle.clone(),
            colour: job.colour.to_string(),
            colour_name: None,
            variant: job.variant.clone(),
            finish: job.finish,
            opened: job.opened,
            closed: job.closed,
            made,
            panels: job.panels.clone(),
            amounts: job.standings().map(amount).collect(),
            how_much: Vec::new(),
            used: Vec::new(),
            ready: Vec::new(),
            products: Vec::new(),
            mixes: Vec::new(),
            parts: Vec::new(),
            cards: job.cards().map(card).collect(),
            chosen: Vec::new(),
            compared: job.comparisons(),
            reasons: job.reasons(),
            unmatched: job
                .standings()
                .filter_map(|layer| Some((layer.plan.role, layer.unmatched?.to_owned())))
                .collect(),
            coats,
            times,
            voc: Vec::new(),
            voc_notes: vec![super::AID.to_owned()],
            cautions: Vec::new(),
            painters: Vec::new(),
            notes: job.notes().to_vec(),
        }
    }

    /// Adds a mix and what it came to, to its layer too; the one begun first is added first.
    pub fn add_mix(&mut self, mix: MixRow) {
        self.add_used(&mix);
        if let Some(row) = self.amounts.iter_mut().find(|row| Some(row.plan.role) == mix.layer) {
            row.mixed += mix.mixed;
            row.sprayed += mix.sprayed;
            row.kept += mix.kept;
            row.thrown += mix.thrown;
        }
        self.mixes.push(mix);
    }
}
