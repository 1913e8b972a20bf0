//! A job as it stands: the fold of its events. Whatever was written is taken in, since it has happened; what should not
//! happen is said before it is written (`refusal`).

use super::Countdown;
use super::card::{AtAngle, Comparison, Gun, Reading, Sight, comparison};
use super::event::{CardChosen, CardMade, JobEvent, Joined, Lacks, LayerPlan, Panel, Timer};
use crate::book::MixId;
use crate::catalogue::{ColourCode, Finish, Role};
use crate::units::Stamp;
use std::collections::{BTreeMap, BTreeSet};

/// How a time ended before it was over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Overruled {
    /// When.
    pub at: Stamp,
    /// Why it was not waited for; none if it was only stopped.
    pub reason: Option<String>,
}

/// One time that was kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Run {
    /// From when and how long.
    pub countdown: Countdown,
    /// How it was ended by hand, if it was.
    pub ended: Option<Overruled>,
}

impl Run {
    /// Whether it has to be waited for.
    pub fn is_running(&self, now: Stamp) -> bool {
        self.ended.is_none() && self.countdown.is_running(now)
    }
}

/// A spray-out card, and what was seen of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Card {
    /// What it is.
    pub made: CardMade,
    /// When it was made.
    pub at: Stamp,
    /// What was seen when it was held against the car, in the painter's own words, and when.
    pub seen: Vec<(Stamp, String)>,
    /// What was seen from one side in one light, and when; the last of each counts.
    pub sights: Vec<(Stamp, Sight)>,
    /// What was measured at an angle, and when; the last of each counts.
    pub measured: Vec<(Stamp, AtAngle)>,
}

impl Card {
    /// Whether it was held against the car, and something of that still counts.
    pub fn is_compared(&self) -> bool {
        !(self.seen.is_empty() && self.sights.is_empty() && self.measured.is_empty())
    }

    /// Whether it has that reading.
    pub fn has(&self, reading: Reading) -> bool {
        match reading {
            Reading::Measured { angle } => self.measured.iter().any(|(_, at)| at.angle == angle),
            Reading::Seen { view, light } => {
                self.sights.iter().any(|(_, sight)| (sight.view, sight.light) == (view, light))
            }
        }
    }

    /// That reading counts no more, however often it was taken.
    fn withdraw(&mut self, reading: Reading) {
        match reading {
            Reading::Measured { angle } => self.measured.retain(|(_, at)| at.angle != angle),
            Reading::Seen { view, light } => {
                self.sights.retain(|(_, sight)| (sight.view, sight.light) != (view, light));
            }
        }
    }

    /// What is known of it, and what was seen of it in the painter's own words, in the order it was said.
    pub fn said(&self) -> Vec<String> {
        let mut said: Vec<String> = self.made.over.iter().map(|over| format!("over {over}")).collect();
        said.extend(self.made.gun.as_ref().map(Gun::words));
        said.extend(self.made.note.clone());
        said.extend(self.seen.iter().map(|(_, seen)| seen.clone()));
        said
    }
}

/// What has happened to one layer.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Layer {
    pub(super) chosen: Option<CardChosen>,
    pub(super) unmatched: Option<String>,
    /// Whether that reason was given since a count was chosen last: it is the reason for the next one.
    pub(super) has_reason: bool,
    pub(super) coats: BTreeMap<u32, Stamp>,
    pub(super) taken_back: Vec<(Stamp, u32, String)>,
    pub(super) left: BTreeMap<Lacks, (Stamp, String)>,
    pub(super) finished: Option<Stamp>,
}

/// A repair.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Job {
    /// What the shop calls it.
    pub name: String,
    /// Which vehicle.
    pub vehicle: Option<String>,
    /// The colour's code.
    pub colour: ColourCode,
    /// The colour's variant.
    pub variant: String,
    /// How the colour is built up.
    pub finish: Finish,
    /// What is painted.
    pub panels: Vec<Panel>,
    /// When it was opened.
    pub opened: Stamp,
    /// When something was last written of it.
    pub last: Stamp,
    /// When it was closed, if it is.
    pub closed: Option<Stamp>,
    plan: Vec<LayerPlan>,
    pub(super) layers: BTreeMap<Role, Layer>,
    cards: BTreeMap<u32, Card>,
    mixes: BTreeMap<MixId, Joined>,
    parted: BTreeSet<MixId>,
    pub(super) mix_reasons: BTreeMap<MixId, (Stamp, String)>,
    activated: BTreeMap<MixId, Countdown>,
    times: BTreeMap<Timer, Vec<Run>>,
    notes: Vec<(Stamp, String)>,
}

impl Job {
    /// The job those events made, each with the time it was written; none unless the first opens it.
    pub fn fold<'a>(events: impl IntoIterator<Item = (Stamp, &'a JobEvent)>) -> Option<Self> {
        let mut events = events.into_iter();
        let (at, first) = events.next()?;
        let mut job = Self::open(at, first)?;
        for (at, event) in events {
            job.apply(at, event);
        }
        Some(job)
    }

    /// A new job; none unless the event opens one.
    pub fn open(at: Stamp, event: &JobEvent) -> Option<Self> {
        let JobEvent::Opened(opening) = event else { return None };
        Some(Self {
            name: opening.name.clone(),
            vehicle: opening.vehicle.clone(),
            colour: opening.colour.clone(),
            variant: opening.variant.clone(),
            finish: opening.finish,
            panels: opening.panels.clone(),
            opened: at,
            last: at,
            closed: None,
            plan: opening.layers.clone(),
            layers: BTreeMap::new(),
            cards: BTreeMap::new(),
            mixes: BTreeMap::new(),
            parted: BTreeSet::new(),
            mix_reasons: BTreeMap::new(),
            activated: BTreeMap::new(),
            times: BTreeMap::new(),
            notes: Vec::new(),
        })
    }

    /// Takes in what happened. What makes no sense of this job, as a time stopped that never ran, changes nothing.
    pub fn apply(&mut self, at: Stamp, event: &JobEvent) {
        self.last = self.last.max(at);
        match event {
            JobEvent::Opened(_) => {}
            JobEvent::Amended(amendment) => {
                let amendment = amendment.clone();
                self.vehicle = amendment.vehicle.or(self.vehicle.take());
                if let Some(panels) = amendment.panels {
                    self.panels = panels;
                }
                if let Some(layers) = amendment.layers {
                    self.plan = layers;
                }
            }
            JobEvent::CardMade(made) => {
                let (seen, sights, measured) = (Vec::new(), Vec::new(), Vec::new());
                let card = Card { made: made.clone(), at, seen, sights, measured };
                self.cards.entry(made.card).or_insert(card);
            }
            JobEvent::CardCompared(compared) => {
                if let Some(card) = self.cards.get_mut(&compared.card) {
                    let compared = compared.clone();
                    if !compared.seen.is_empty() {
                        card.seen.push((at, compared.seen));
                    }
                    card.sights.extend(compared.sights.into_iter().map(|sight| (at, sight)));
                    card.measured.extend(compared.measured.into_iter().map(|angle| (at, angle)));
                }
            }
            JobEvent::CardWithdrawn(withdrawn) => {
                if let Some(card) = self.cards.get_mut(&withdrawn.card) {
                    card.withdraw(withdrawn.reading);
                }
            }
            JobEvent::CardChosen(chosen) => {
                let layer = self.layer_mut(chosen.layer);
                layer.chosen = Some(chosen.clone());
                layer.has_reason = false;
            }
            JobEvent::CardOverruled { layer, reason } => {
                let layer = self.layer_mut(*layer);
                layer.unmatched = Some(reason.clone());
                layer.has_reason = true;
            }
            JobEvent::MixJoined(joined) => {
                self.parted.remove(&joined.mix);
                self.mixes.insert(joined.mix, joined.clone());
            }
            JobEvent::MixParted { mix, .. } => {
                self.mixes.remove(mix);
                self.parted.insert(*mix);
            }
            JobEvent::Activated(activation) => {
                let countdown = Countdown::new(activation.since, activation.pot_life);
                self.activated.insert(activation.mix, countdown);
            }
            JobEvent::MixOverruled { mix, reason } => {
                self.mix_reasons.insert(*mix, (at, reason.clone()));
            }
            JobEvent::CoatSprayed(coat) => {
                self.layer_mut(coat.layer).coats.insert(coat.coat, coat.at);
                self.wait_before_next(coat.layer, coat.at);
                let timer = Timer::FlashOff { layer: coat.layer };
                match coat.flash_off {
                    Some(minutes) => self.begin(timer, Countdown::new(coat.at, minutes)),
                    // What was waited for was this coat.
                    None => self.end(timer, coat.at, None),
                }
            }
            JobEvent::CoatTakenBack { layer, coat, reason } => {
                self.layer_mut(*layer).taken_back.push((at, *coat, reason.clone()));
                self.take_back(*layer, *coat);
            }
            JobEvent::TimerStarted { timer, from, minutes } => {
                self.begin(*timer, Countdown::new(*from, *minutes));
            }
            JobEvent::TimerStopped { timer } => self.end(*timer, at, None),
            JobEvent::TimerOverruled { timer, reason } => self.end(*timer, at, Some(reason.clone())),
            JobEvent::LayerFinished { layer } => {
                self.layer_mut(*layer).finished.get_or_insert(at);
            }
            JobEvent::LayerReopened { layer } => {
                let layer = self.layer_mut(*layer);
                layer.finished = None;
                layer.left.clear();
            }
            JobEvent::LayerOverruled { layer, lacks, reason } => {
                self.layer_mut(*layer).left.insert(*lacks, (at, reason.clone()));
            }
            JobEvent::Noted { text } => self.notes.push((at, text.clone())),
            JobEvent::Closed => {
                self.closed.get_or_insert(at);
            }
            JobEvent::Reopened => self.closed = None,
        }
    }

    /// The time before the next layer begins with the last coat: that of an earlier one is not waited for.
    fn wait_before_next(&mut self, layer: Role, at: Stamp) {
        let timer = Timer::BeforeNext { layer };
        self.times.remove(&timer);
        let minutes = self.plan.iter().find(|plan| plan.role == layer).and_then(|plan| plan.before_next);
        if let Some(minutes) = minutes {
            self.begin(timer, Countdown::new(at, minutes));
        }
    }

    /// A coat that was not sprayed has no times; those of the coat before it count again.
    fn take_back(&mut self, layer: Role, coat: u32) {
        let Some(at) = self.layer_mut(layer).coats.remove(&coat) else { return };
        let before = self.layer_mut(layer).coats.last_key_value().map(|(_, at)| *at);
        if let Some(runs) = self.times.get_mut(&Timer::FlashOff { layer }) {
            runs.pop_if(|run| run.countdown.from == at);
        }
        self.times.remove(&Timer::BeforeNext { layer });
        if let Some(at) = before {
            self.wait_before_next(layer, at);
        }
    }

    fn layer_mut(&mut self, role: Role) -> &mut Layer {
        self.layers.entry(role).or_default()
    }

    fn begin(&mut self, timer: Timer, countdown: Countdown) {
        self.times.entry(timer).or_default().push(Run { countdown, ended: None });
    }

    /// Ends a time by hand. One that was over by then was not stopped; but a coat that is written down later may have
    /// been sprayed before it was over.
    fn end(&mut self, timer: Timer, at: Stamp, reason: Option<String>) {
        let last = self.times.get_mut(&timer).and_then(|runs| runs.last_mut());
        let counts =
            |run: &&mut Run| run.ended.is_none() && (reason.is_some() || run.countdown.is_running(at));
        if let Some(run) = last.filter(counts) {
            run.ended = Some(Overruled { at, reason });
        }
    }

    /// The layers, from the panel outwards.
    pub fn plan(&self) -> &[LayerPlan] {
        &self.plan
    }

    /// The spray-out cards, by their numbers.
    pub fn cards(&self) -> impl Iterator<Item = &Card> {
        self.cards.values()
    }

    /// The card with that number.
    pub fn card(&self, number: u32) -> Option<&Card> {
        self.cards.get(&number)
    }

    /// How the cards of each layer compare with the car, from the panel outwards; without those of which nothing was
    /// measured, nor seen by view and light.
    pub fn comparisons(&self) -> Vec<(Role, Comparison)> {
        let layers: BTreeSet<Role> = self.cards().map(|card| card.made.layer).collect();
        let of = |layer| comparison(self.cards().filter(move |card| card.made.layer == layer));
        let all = layers.into_iter().map(|layer| (layer, of(layer)));
        all.filter(|(_, comparison)| !comparison.is_empty()).collect()
    }

    /// The number the next card has.
    pub fn next_card(&self) -> u32 {
        self.cards.last_key_value().map_or(0, |(number, _)| *number).saturating_add(1)
    }

    /// The mixes, in the order they were begun.
    pub fn mixes(&self) -> impl Iterator<Item = &Joined> {
        self.mixes.values()
    }

    /// Whether somebody said that the mix is not for this job after all.
    pub fn was_parted(&self, mix: MixId) -> bool {
        self.parted.contains(&mix)
    }

    /// Until when that mix can be sprayed, if it was activated.
    pub fn pot_life(&self, mix: MixId) -> Option<Countdown> {
        self.activated.get(&mix).copied()
    }

    /// Every time that was kept, the first first of each kind.
    pub fn times(&self) -> impl Iterator<Item = (Timer, &Run)> {
        self.times.iter().flat_map(|(timer, runs)| runs.iter().map(move |run| (*timer, run)))
    }

    /// The last time of that kind.
    pub fn time(&self, timer: Timer) -> Option<&Run> {
        self.times.get(&timer)?.last()
    }

    /// What was noted, and when.
    pub fn notes(&self) -> &[(Stamp, String)] {
        &self.notes
    }

    /// Whether a layer is matched by spray-out cards before it is mixed for the car.
    pub const fn wants_cards(role: Role) -> bool {
        matches!(role, Role::Pearl)
    }

    /// What has to be over before a coat of that layer is sprayed, and is not: of it and of the layers below it.
    pub fn waits_for(&self, role: Role, now: Stamp) -> Option<(Timer, Countdown)> {
        let up_to = self.plan.iter().position(|plan| plan.role == role)?;
        let layers = self.plan.iter().take(up_to.saturating_add(1)).map(|plan| plan.role);
        let before_next = |layer| (layer != role).then_some(Timer::BeforeNext { layer });
        layers
            .flat_map(|layer| {
                [Some(Timer::Bake { layer }), Some(Timer::FlashOff { layer }), before_next(layer)]
            })
            .flatten()
            .filter_map(|timer| Some((timer, self.time(timer)?)))
            .filter(|(_, run)| run.is_running(now))
            .map(|(timer, run)| (timer, run.countdown))
            .max_by_key(|(_, countdown)| countdown.until())
    }
}
