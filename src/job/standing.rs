//! Where a layer stands: what was planned of it, what it has, and what it lacks.

use super::Countdown;
use super::event::{CardChosen, Lacks, LayerPlan, Timer};
use super::job::{Card, Job, Run};
use crate::book::MixId;
use crate::catalogue::Role;
use crate::units::Stamp;

/// Where a layer stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Standing<'a> {
    /// What was planned.
    pub plan: &'a LayerPlan,
    /// How many coats the car gets: as was chosen, else as planned.
    pub wanted: Option<u32>,
    /// The count that was chosen.
    pub chosen: Option<&'a CardChosen>,
    /// By what it was.
    pub counted: Counted<'a>,
    /// Why it is mixed without a chosen card, if that was said.
    pub unmatched: Option<&'a str>,
    /// Whether that is the reason for the count that is chosen next.
    pub(super) has_reason: bool,
    /// The mixes for the car.
    pub mixes: Vec<MixId>,
    /// Until when the mix that was activated last can be sprayed.
    pub activated: Option<Countdown>,
    /// The coats that were sprayed, and when.
    pub coats: Vec<(u32, Stamp)>,
    /// The last flash-off.
    pub flash_off: Option<&'a Run>,
    /// The last bake.
    pub bake: Option<&'a Run>,
    /// The time before the next layer, from the last coat on.
    pub before_next: Option<&'a Run>,
    /// When it was done.
    pub finished: Option<Stamp>,
    /// Without what it is left, of what was planned.
    pub left: Vec<Lacks>,
}

/// By what a count of coats was chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counted<'a> {
    /// None was chosen: what is planned counts.
    Planned,
    /// By a card that has as many.
    Card(u32),
    /// Between two cards.
    Between(u32, u32),
    /// By no card, for that reason; none if none was said, in an older book.
    NoCard(Option<&'a str>),
}

/// What a layer is short of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Short {
    /// Coats.
    Coats {
        /// How many it has.
        sprayed: u32,
        /// How many it gets, if that is known.
        wanted: Option<u32>,
    },
    /// A bake after its last coat.
    Bake {
        /// How long, in minutes.
        minutes: u32,
    },
}

/// Something that was done otherwise than it is usually, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reason {
    /// When it was said.
    pub at: Stamp,
    /// What was done: `the ground coat is left with other coats than planned`.
    pub what: String,
    /// Why.
    pub why: String,
}

impl Counted<'_> {
    /// Whether the cards say it.
    pub const fn is_by_cards(self) -> bool {
        matches!(self, Self::Card(_) | Self::Between(..))
    }

    /// For a person, as it stands in brackets behind the count: `card 2`; none where it is as planned.
    pub fn words(self) -> Option<String> {
        Some(match self {
            Self::Planned => return None,
            Self::Card(card) => format!("card {card}"),
            Self::Between(one, other) => format!("between cards {one} and {other}"),
            Self::NoCard(Some(reason)) => format!("no card: {reason}"),
            Self::NoCard(None) => "no card".to_owned(),
        })
    }
}

impl Short {
    /// Which of what was planned.
    pub const fn lacks(self) -> Lacks {
        match self {
            Self::Coats { .. } => Lacks::Coats,
            Self::Bake { .. } => Lacks::Bake,
        }
    }

    /// For a person, of that layer.
    pub fn words(self, layer: Role) -> String {
        let layer = layer.name();
        match self {
            Self::Coats { sprayed: 0, .. } => format!("the {layer} is not sprayed"),
            Self::Coats { sprayed, wanted: Some(wanted) } => {
                format!("the {layer} has {sprayed} of {wanted} coats")
            }
            Self::Coats { wanted: None, .. } => format!("the {layer} was not said to be done"),
            Self::Bake { minutes } => format!("the {layer} was not baked for {minutes} min"),
        }
    }
}

impl Standing<'_> {
    /// How many coats were sprayed.
    pub fn sprayed(&self) -> u32 {
        u32::try_from(self.coats.len()).unwrap_or(u32::MAX)
    }

    /// Whether it is still to be mixed for the car.
    pub fn is_to_mix(&self) -> bool {
        self.mixes.is_empty() && self.coats.is_empty() && self.finished.is_none()
    }

    /// The number of the next coat.
    pub fn next_coat(&self) -> u32 {
        self.coats.last().map_or(0, |(coat, _)| *coat).saturating_add(1)
    }

    /// Whether the car has as many coats as it gets; none where nobody said how many.
    pub fn is_covered(&self) -> Option<bool> {
        Some(self.sprayed() >= self.wanted?)
    }

    /// Whether it was baked after its last coat, or bakes.
    pub fn is_baked(&self) -> bool {
        let last = self.coats.iter().map(|(_, at)| *at).max();
        self.bake.is_some_and(|run| last.is_none_or(|last| last <= run.countdown.from))
    }

    /// Whether a bake is planned that it has not had, and it is neither done nor left without.
    pub fn is_to_bake(&self) -> bool {
        let is_open = self.finished.is_none() && !self.is_left_without(Lacks::Bake);
        is_open && self.plan.bake.is_some() && (self.coats.is_empty() || !self.is_baked())
    }

    /// Whether it is left without that, for a reason.
    pub fn is_left_without(&self, lacks: Lacks) -> bool {
        self.left.contains(&lacks)
    }

    /// What it is short of before it can be said to be done; none if it is said already, or left so for a reason.
    pub fn short(&self) -> Option<Short> {
        if self.finished.is_some() {
            return None;
        }
        let sprayed = self.sprayed();
        let is_short = sprayed == 0 || self.is_covered() == Some(false);
        if is_short && !self.is_left_without(Lacks::Coats) {
            return Some(Short::Coats { sprayed, wanted: self.wanted });
        }
        let minutes = self.plan.bake.filter(|_| sprayed > 0 && !self.is_baked())?;
        (!self.is_left_without(Lacks::Bake)).then_some(Short::Bake { minutes })
    }

    /// What it is short of before another layer lies on it: where nobody said how many coats it gets, that it is done.
    pub fn short_below(&self) -> Option<Short> {
        let is_open = self.finished.is_none() && self.wanted.is_none() && !self.is_left_without(Lacks::Coats);
        let open = is_open.then(|| Short::Coats { sprayed: self.sprayed(), wanted: None });
        open.or_else(|| self.short())
    }
}

impl Job {
    /// Where that layer stands; none if it is not planned.
    pub fn standing(&self, role: Role) -> Option<Standing<'_>> {
        let plan = self.plan().iter().find(|plan| plan.role == role)?;
        Some(self.standing_of(plan))
    }

    /// Where each layer stands, from the panel outwards.
    pub fn standings(&self) -> impl Iterator<Item = Standing<'_>> {
        self.plan().iter().map(|plan| self.standing_of(plan))
    }

    fn standing_of<'a>(&'a self, plan: &'a LayerPlan) -> Standing<'a> {
        let layer = self.layers.get(&plan.role);
        let chosen = layer.and_then(|layer| layer.chosen.as_ref());
        let unmatched = layer.and_then(|layer| layer.unmatched.as_deref());
        let mixes: Vec<MixId> = self
            .mixes()
            .filter(|joined| joined.layer == plan.role && !joined.for_cards)
            .map(|joined| joined.mix)
            .collect();
        Standing {
            plan,
            wanted: chosen.map(|chosen| chosen.coats).or(plan.coats),
            chosen,
            counted: chosen.map_or(Counted::Planned, |chosen| self.counted(chosen, unmatched)),
            unmatched,
            has_reason: layer.is_some_and(|layer| layer.has_reason),
            activated: mixes.iter().filter_map(|mix| self.pot_life(*mix)).max_by_key(|time| time.from),
            mixes,
            coats: layer.map_or_else(Vec::new, |layer| layer.coats.iter().map(|(n, at)| (*n, *at)).collect()),
            flash_off: self.time(Timer::FlashOff { layer: plan.role }),
            bake: self.time(Timer::Bake { layer: plan.role }),
            before_next: self.time(Timer::BeforeNext { layer: plan.role }),
            finished: layer.and_then(|layer| layer.finished),
            left: layer.map_or_else(Vec::new, |layer| layer.left.keys().copied().collect()),
        }
    }

    fn counted<'a>(&self, chosen: &CardChosen, unmatched: Option<&'a str>) -> Counted<'a> {
        match (chosen.card, chosen.between) {
            (Some(card), _) if self.card(card).is_some_and(|known| known.made.coats == chosen.coats) => {
                Counted::Card(card)
            }
            (_, Some((one, other))) => Counted::Between(one, other),
            _ => Counted::NoCard(unmatched),
        }
    }

    /// So many coats of that layer for the car, by what shows them: the card named or, where none is, the last with as many
    /// that was held against the car; else the two cards between which they lie; else nothing, which wants a reason.
    pub fn choice(&self, layer: Role, coats: u32, named: Option<u32>) -> CardChosen {
        let shows = |card: &&Card| card.made.layer == layer && card.made.coats == coats;
        let shown = self.cards().filter(shows).max_by_key(|card| (card.is_compared(), card.made.card));
        let card = named.or(shown.map(|card| card.made.card));
        let is_shown =
            shown.is_some() && named.is_none_or(|named| self.card(named).is_some_and(|card| shows(&card)));
        let between = if is_shown { None } else { self.between(layer, coats) };
        CardChosen { card, between, ..CardChosen::of(layer, coats) }
    }

    /// The two cards of that layer that were held against the car and between whose coats so many lie: of those with fewer
    /// and of those with more, the nearest; none where there are no two.
    pub fn between(&self, layer: Role, coats: u32) -> Option<(u32, u32)> {
        let compared = || self.cards().filter(|card| card.made.layer == layer && card.is_compared());
        let fewer = compared().filter(|card| card.made.coats < coats).max_by_key(|card| card.made.coats)?;
        let more = compared().filter(|card| card.made.coats > coats).min_by_key(|card| card.made.coats)?;
        Some((fewer.made.card, more.made.card))
    }

    /// Whether so many coats lie between those two cards of that layer, both of them held against the car.
    pub(super) fn lies_between(&self, layer: Role, coats: u32, (one, other): (u32, u32)) -> bool {
        let of = |number| {
            let card = self.card(number).filter(|card| card.made.layer == layer && card.is_compared());
            card.map(|card| card.made.coats)
        };
        let Some((one, other)) = of(one).zip(of(other)) else { return false };
        (one.min(other)..=one.max(other)).contains(&coats)
    }

    /// What was done otherwise than it is usually, and why: the first first.
    pub fn reasons(&self) -> Vec<Reason> {
        let left = |role: Role, lacks: Lacks| match lacks {
            Lacks::Coats => format!("the {} is left with other coats than planned", role.name()),
            Lacks::Bake => format!("the {} is left without its bake", role.name()),
        };
        let mut reasons: Vec<Reason> = Vec::new();
        for (role, layer) in &self.layers {
            reasons.extend(layer.left.iter().map(|(lacks, (at, why))| Reason {
                at: *at,
                what: left(*role, *lacks),
                why: why.clone(),
            }));
            reasons.extend(layer.taken_back.iter().map(|(at, coat, why)| Reason {
                at: *at,
                what: format!("coat {coat} of the {} is taken back", role.name()),
                why: why.clone(),
            }));
        }
        let of_mixes = self.mix_reasons.iter().filter(|(mix, _)| self.mixes().any(|one| one.mix == **mix));
        reasons.extend(of_mixes.map(|(mix, (at, why))| {
            let layer = self.mixes().find(|one| one.mix == *mix).map_or("job", |one| one.layer.name());
            Reason {
                at: *at,
                what: format!("a mix that was not weighed for it is its {layer}"),
                why: why.clone(),
            }
        }));
        reasons.sort_by_key(|reason| reason.at);
        reasons
    }

    /// The times that run of it, those of a flash-off, a bake, the next layer and the booth.
    pub fn running(&self, now: Stamp) -> Vec<(Timer, Countdown)> {
        let layers = self.plan().iter().map(|plan| plan.role);
        let timers = layers.flat_map(|layer| {
            [Timer::FlashOff { layer }, Timer::Bake { layer }, Timer::BeforeNext { layer }]
        });
        timers
            .chain([Timer::Clearance])
            .filter_map(|timer| Some((timer, self.time(timer)?)))
            .filter(|(_, run)| run.is_running(now))
            .map(|(timer, run)| (timer, run.countdown))
            .collect()
    }
}
