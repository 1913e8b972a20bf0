//! What should not happen to a job as it stands, and what has to be said of it: asked before it is written.

use super::card::AtAngle;
use super::clock::{Clock, Countdown, MOST_MINUTES};
use super::event::{CardChosen, CardCompared, JobEvent, LayerPlan, Timer};
use super::standing::Short;
use super::{Job, Standing};
use crate::book::MixId;
use crate::catalogue::Role;
use crate::units::Stamp;
use thiserror::Error;

/// Why an event is not written.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum Refusal {
    /// It must be opened first, and once.
    #[error("a job begins with being opened, and is opened once")]
    NotOpened,
    /// No name.
    #[error("say what the job is called, as 26-118 tailgate")]
    NoName,
    /// A panel without a name, or a layer that stands there twice.
    #[error("{0}")]
    Plan(String),
    /// It is closed.
    #[error("job {0} is closed: open it again first")]
    Closed(String),
    /// It is not.
    #[error("job {0} is not closed")]
    NotClosed(String),
    /// The layer is not planned.
    #[error("this job has no {}; its layers are: {has}", layer.name())]
    NoLayer {
        /// Which layer.
        layer: Role,
        /// What it has.
        has: String,
    },
    /// Nothing where something has to be said.
    #[error("say why, in a word or two")]
    NoReason,
    /// An empty note or comparison.
    #[error("say what, in a word or two")]
    Empty,
    /// No coat.
    #[error("a number of coats from 1 to 20 was expected")]
    NoCoats,
    /// More coats than a card has.
    #[error("a number of coats from 1 to 20 was expected, or 0 for a card of what lies below alone")]
    NoCardCoats,
    /// A card without a coat was chosen for the car.
    #[error("a card without a coat of the {} is there to compare with, and is not chosen for the car: it gets 1 coat or more, or the layer is taken out of the job", .0.name())]
    OnlyToCompare(Role),
    /// The card is there already.
    #[error("card {0} is there already: the next one is another number")]
    CardThere(u32),
    /// There is no such card.
    #[error("this job has no card {0}")]
    NoCard(u32),
    /// A layer is mixed for the car before the cards said how many coats.
    #[error("no card of the {} was chosen yet: how many coats match the car is not known. Choose one, or say why not", .0.name())]
    NoCardChosen(Role),
    /// A count of coats that no card shows.
    #[error("{why}. Choose a card, or say why so many")]
    NotShown {
        /// Of which layer.
        layer: Role,
        /// What the cards say.
        why: String,
    },
    /// The card has no such reading.
    #[error("card {card} has nothing from {what} to withdraw")]
    NoReading {
        /// Which card.
        card: u32,
        /// Which reading.
        what: String,
    },
    /// What was seen or measured cannot be.
    #[error("{0}")]
    Comparison(String),
    /// The mix is none of this job's.
    #[error("that mix was not joined to this job")]
    NotJoined,
    /// The mix is another layer's.
    #[error("that mix was weighed as the {}, and cannot be the {}", role.name(), layer.name())]
    OtherRole {
        /// What it was weighed as.
        role: Role,
        /// What it was to be.
        layer: Role,
    },
    /// The mix does not look like this job's.
    #[error("{why}. Say why it is this job's all the same")]
    OtherMix {
        /// Which mix.
        mix: MixId,
        /// What speaks against it.
        why: String,
    },
    /// The layer is not as it was planned.
    #[error("{}. See to that first, or say why it is left so", short.words(*layer))]
    NotDone {
        /// Which layer.
        layer: Role,
        /// What it is short of.
        short: Short,
    },
    /// It is not done, and cannot be opened again.
    #[error("the {} is not said to be done", .0.name())]
    NotFinished(Role),
    /// It is done.
    #[error("the {} is said to be done: open it again first", .0.name())]
    Finished(Role),
    /// Another coat than the last cannot be taken back.
    #[error("coat {coat} of the {} is not its last: only the last is taken back", layer.name())]
    NotLast {
        /// Of which layer.
        layer: Role,
        /// Which coat.
        coat: u32,
    },
    /// A coat out of its order.
    #[error("coat {coat} of the {} is not next: it would be coat {next}", layer.name())]
    NotNext {
        /// Of which layer.
        layer: Role,
        /// Which coat was said.
        coat: u32,
        /// Which is next.
        next: u32,
    },
    /// Something has to be waited for.
    #[error("{} is not over: {}. Wait for it, or say why not", timer.name(), left.words())]
    NotOver {
        /// What for.
        timer: Timer,
        /// How much is left of it.
        left: Clock,
    },
    /// A time that does not run cannot be stopped.
    #[error("{} does not run", .0.name())]
    NotRunning(Timer),
    /// A length of nothing or of more than a week.
    #[error("a time of 1 min to a week was expected, and not {0} min")]
    Length(u32),
    /// It would have happened later than now.
    #[error("that is later than it is now")]
    Later,
}

impl Refusal {
    /// What is written to go on all the same, for that reason; none if it cannot be overruled.
    pub fn overruled(&self, reason: &str) -> Option<JobEvent> {
        let reason = reason.to_owned();
        match self {
            Self::NoCardChosen(layer) | Self::NotShown { layer, .. } => {
                Some(JobEvent::CardOverruled { layer: *layer, reason })
            }
            Self::OtherMix { mix, .. } => Some(JobEvent::MixOverruled { mix: *mix, reason }),
            Self::NotDone { layer, short } => {
                Some(JobEvent::LayerOverruled { layer: *layer, lacks: short.lacks(), reason })
            }
            Self::NotOver { timer, .. } => Some(JobEvent::TimerOverruled { timer: *timer, reason }),
            _ => None,
        }
    }
}

/// What has to be said of an event that is written all the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Warning {
    /// One coat more than the car gets.
    MoreCoats {
        /// Of which layer.
        layer: Role,
        /// Which coat it is.
        coat: u32,
        /// How many were wanted.
        wanted: u32,
        /// Whether the cards said so.
        by_card: bool,
    },
    /// An L* that is not between black and white.
    Lightness {
        /// Of which card's readings.
        card: u32,
        /// At which angle, in degrees from the gloss.
        angle: i16,
    },
    /// Nothing was mixed for this layer.
    NothingMixed(Role),
    /// The mix is past its pot life.
    PotLifeOver {
        /// Of which layer.
        layer: Role,
        /// Since when, in microseconds.
        over: Clock,
    },
    /// The layer was said to be done.
    WasFinished(Role),
    /// Layers that are not done while the job is closed.
    Unfinished(u32),
    /// A time that runs while the job is closed.
    Runs(Timer, Clock),
}

impl Warning {
    /// For a person.
    pub fn words(self) -> String {
        match self {
            Self::MoreCoats { layer, coat, wanted, by_card } => {
                let by = if by_card { "the chosen card" } else { "the job" };
                format!("that is coat {coat} of the {}, and {by} asks for {wanted}", layer.name())
            }
            Self::Lightness { card, angle } => format!(
                "card {card} at {angle}°: an L* is not between 0 and 100. An effect near the gloss can be above; else read \
                 it again"
            ),
            Self::NothingMixed(layer) => format!("no mix of the {} was joined to this job", layer.name()),
            Self::PotLifeOver { layer, over } => {
                format!(
                    "the pot life of the {} is {}: what its data sheet says counts",
                    layer.name(),
                    over.words()
                )
            }
            Self::WasFinished(layer) => format!("the {} was said to be done", layer.name()),
            Self::Runs(timer, left) => format!("{} still runs: {}", timer.name(), left.words()),
            Self::Unfinished(1) => "a layer is not done".to_owned(),
            Self::Unfinished(many) => format!("{many} layers are not done"),
        }
    }
}

/// The most coats of one layer.
pub const MOST_COATS: u32 = 20;

fn coats(coats: u32) -> Result<(), Refusal> {
    if (1..=MOST_COATS).contains(&coats) { Ok(()) } else { Err(Refusal::NoCoats) }
}

/// A card may be without a coat: what lies below alone is something to compare with.
fn card_coats(coats: u32) -> Result<(), Refusal> {
    if coats <= MOST_COATS { Ok(()) } else { Err(Refusal::NoCardCoats) }
}

fn length(minutes: u32) -> Result<(), Refusal> {
    if (1..=MOST_MINUTES).contains(&minutes) { Ok(()) } else { Err(Refusal::Length(minutes)) }
}

fn layers(layers: &[LayerPlan]) -> Result<(), Refusal> {
    for (place, layer) in layers.iter().enumerate() {
        let role = layer.role;
        if layers.iter().skip(place.saturating_add(1)).any(|other| other.role == role) {
            return Err(Refusal::Plan(format!("the {} stands there twice", role.name())));
        }
        layer.coats.map_or(Ok(()), coats)?;
        layer.flash_off.map_or(Ok(()), length)?;
        layer.bake.map_or(Ok(()), length)?;
        layer.before_next.map_or(Ok(()), length)?;
        if layer.asked.is_some_and(|asked| !asked.is_positive()) {
            return Err(Refusal::Plan(format!("the {} asks for no paint", role.name())));
        }
    }
    Ok(())
}

/// Whether that event can open a job.
pub(super) fn may_open(event: &JobEvent) -> Result<(), Refusal> {
    let JobEvent::Opened(opening) = event else { return Err(Refusal::NotOpened) };
    if opening.name.is_empty() {
        return Err(Refusal::NoName);
    }
    panels(&opening.panels)?;
    layers(&opening.layers)
}

fn panels(panels: &[super::Panel]) -> Result<(), Refusal> {
    for panel in panels {
        if panel.name.is_empty() {
            return Err(Refusal::Plan("a panel needs a name".to_owned()));
        }
        if panel.area.is_some_and(|area| !area.is_sign_positive() || area.is_zero()) {
            return Err(Refusal::Plan(format!("the area of {} has to be more than nothing", panel.name)));
        }
    }
    Ok(())
}

fn said(text: &str, otherwise: Refusal) -> Result<(), Refusal> {
    if text.is_empty() { Err(otherwise) } else { Ok(()) }
}

/// Whether a comparison can be, and which of its readings are worth another look.
fn held_against(compared: &CardCompared) -> Result<Vec<Warning>, Refusal> {
    if compared.sights.is_empty() && compared.measured.is_empty() {
        said(&compared.seen, Refusal::Empty)?;
    }
    for (place, sight) in compared.sights.iter().enumerate() {
        sight.sound().map_err(Refusal::Comparison)?;
        let mut others = compared.sights.iter().skip(place.saturating_add(1));
        if others.any(|other| (other.view, other.light) == (sight.view, sight.light)) {
            let (view, light) = (sight.view.name(), sight.light.name());
            return Err(Refusal::Comparison(format!("{view}, {light} is said twice")));
        }
    }
    for (place, at) in compared.measured.iter().enumerate() {
        at.sound().map_err(Refusal::Comparison)?;
        if compared.measured.iter().skip(place.saturating_add(1)).any(|other| other.angle == at.angle) {
            return Err(Refusal::Comparison(format!("{}° is measured twice", at.angle)));
        }
    }
    let is_odd =
        |at: &&AtAngle| !at.car.is_between_black_and_white() || !at.card.is_between_black_and_white();
    let odd = compared.measured.iter().filter(is_odd);
    Ok(odd.map(|at| Warning::Lightness { card: compared.card, angle: at.angle }).collect())
}

impl Job {
    /// Whether that may be written of this job at that time, and what has to be said of it.
    ///
    /// # Errors
    /// Why not. Some can be overruled: [`Refusal::overruled`] is what to write first.
    pub fn may(&self, event: &JobEvent, now: Stamp) -> Result<Vec<Warning>, Refusal> {
        match (event, self.closed) {
            (JobEvent::Opened(_), _) => return Err(Refusal::NotOpened),
            (JobEvent::Reopened, None) => return Err(Refusal::NotClosed(self.name.clone())),
            (JobEvent::Noted { .. } | JobEvent::Reopened, _) | (_, None) => {}
            (_, Some(_)) => return Err(Refusal::Closed(self.name.clone())),
        }
        match event {
            JobEvent::Opened(_) | JobEvent::Reopened => {}
            JobEvent::Amended(amendment) => {
                panels(amendment.panels.as_deref().unwrap_or_default())?;
                layers(amendment.layers.as_deref().unwrap_or_default())?;
            }
            JobEvent::CardMade(made) => {
                self.planned(made.layer)?;
                card_coats(made.coats)?;
                if made.card == 0 || self.card(made.card).is_some() {
                    return Err(Refusal::CardThere(made.card));
                }
            }
            JobEvent::CardCompared(compared) => {
                self.card(compared.card).ok_or(Refusal::NoCard(compared.card))?;
                return held_against(compared);
            }
            JobEvent::CardWithdrawn(withdrawn) => {
                let (card, reading) = (withdrawn.card, withdrawn.reading);
                if !self.card(card).ok_or(Refusal::NoCard(card))?.has(reading) {
                    return Err(Refusal::NoReading { card, what: reading.words() });
                }
            }
            JobEvent::CardChosen(chosen) => return self.may_choose(chosen),
            JobEvent::CardOverruled { layer, reason } | JobEvent::LayerOverruled { layer, reason, .. } => {
                self.planned(*layer)?;
                said(reason, Refusal::NoReason)?;
            }
            JobEvent::MixJoined(joined) => {
                let layer = self.planned(joined.layer)?;
                let is_matched = layer.chosen.is_some() || layer.unmatched.is_some();
                if Self::wants_cards(joined.layer) && !joined.for_cards && !is_matched {
                    return Err(Refusal::NoCardChosen(joined.layer));
                }
            }
            JobEvent::MixParted { mix, reason } => {
                said(reason, Refusal::NoReason)?;
                self.mixes().find(|joined| joined.mix == *mix).ok_or(Refusal::NotJoined)?;
            }
            JobEvent::MixOverruled { reason, .. } => said(reason, Refusal::NoReason)?,
            JobEvent::Activated(activation) => {
                self.mixes().find(|joined| joined.mix == activation.mix).ok_or(Refusal::NotJoined)?;
                length(activation.pot_life)?;
                not_later(activation.since, now)?;
            }
            JobEvent::CoatSprayed(_) => return self.may_spray(event, now),
            JobEvent::CoatTakenBack { layer, coat, reason } => {
                let standing = self.planned(*layer)?;
                said(reason, Refusal::NoReason)?;
                if standing.coats.last().map(|(last, _)| *last) != Some(*coat) {
                    return Err(Refusal::NotLast { layer: *layer, coat: *coat });
                }
                if standing.finished.is_some() {
                    return Err(Refusal::Finished(*layer));
                }
            }
            JobEvent::TimerStarted { timer, from, minutes } => {
                self.of_layer(*timer)?;
                length(*minutes)?;
                not_later(*from, now)?;
            }
            JobEvent::TimerStopped { timer } => self.may_stop(*timer, now)?,
            JobEvent::TimerOverruled { timer, reason } => {
                said(reason, Refusal::NoReason)?;
                // It may be over by now, and was not when a coat was sprayed that is only written down now.
                let run = self.time(*timer).filter(|run| run.ended.is_none());
                run.ok_or(Refusal::NotRunning(*timer))?;
            }
            JobEvent::LayerFinished { layer } => self.may_finish(*layer, now)?,
            JobEvent::LayerReopened { layer } => {
                self.planned(*layer)?.finished.ok_or(Refusal::NotFinished(*layer))?;
            }
            JobEvent::Noted { text } => said(text, Refusal::Empty)?,
            JobEvent::Closed => {
                let open = self.standings().filter(|layer| layer.finished.is_none()).count();
                let open = u32::try_from(open).unwrap_or(u32::MAX);
                let open = (open > 0).then_some(Warning::Unfinished(open));
                let runs = |(timer, time): (Timer, Countdown)| Warning::Runs(timer, time.at(now));
                return Ok(open.into_iter().chain(self.running(now).into_iter().map(runs)).collect());
            }
        }
        Ok(Vec::new())
    }

    /// A layer with all that was planned, or left without for a reason, and no bake that runs.
    fn may_finish(&self, layer: Role, now: Stamp) -> Result<(), Refusal> {
        let standing = self.planned(layer)?;
        if let Some(short) = standing.short() {
            return Err(Refusal::NotDone { layer, short });
        }
        let bake = standing.bake.filter(|run| run.is_running(now) && standing.finished.is_none());
        bake.map_or(Ok(()), |run| {
            Err(Refusal::NotOver { timer: Timer::Bake { layer }, left: run.countdown.at(now) })
        })
    }

    fn may_spray(&self, event: &JobEvent, now: Stamp) -> Result<Vec<Warning>, Refusal> {
        let JobEvent::CoatSprayed(coat) = event else { return Ok(Vec::new()) };
        let role = coat.layer;
        let layer = self.planned(role)?;
        coat.flash_off.map_or(Ok(()), length)?;
        not_later(coat.at, now)?;
        let next = layer.next_coat();
        if coat.coat != next {
            return Err(Refusal::NotNext { layer: role, coat: coat.coat, next });
        }
        let below = self.standings().take_while(|below| below.plan.role != role);
        let mut short = below.filter_map(|below| Some((below.plan.role, below.short_below()?)));
        if let Some((layer, short)) = short.next() {
            return Err(Refusal::NotDone { layer, short });
        }
        if let Some((timer, countdown)) = self.waits_for(role, coat.at) {
            return Err(Refusal::NotOver { timer, left: countdown.at(coat.at) });
        }
        let mut warnings = Vec::new();
        if let Some(wanted) = layer.wanted.filter(|wanted| layer.sprayed() >= *wanted) {
            let by_card = layer.counted.is_by_cards();
            warnings.push(Warning::MoreCoats { layer: role, coat: coat.coat, wanted, by_card });
        }
        if layer.mixes.is_empty() {
            warnings.push(Warning::NothingMixed(role));
        }
        let over = layer.activated.map(|time: Countdown| time.at(coat.at));
        if let Some(over @ Clock::Over(_)) = over {
            warnings.push(Warning::PotLifeOver { layer: role, over });
        }
        if layer.finished.is_some() {
            warnings.push(Warning::WasFinished(role));
        }
        Ok(warnings)
    }

    fn planned(&self, layer: Role) -> Result<Standing<'_>, Refusal> {
        self.standing(layer).ok_or_else(|| {
            let has: Vec<_> = self.plan().iter().map(|plan| plan.role.to_string()).collect();
            Refusal::NoLayer { layer, has: if has.is_empty() { "none".to_owned() } else { has.join(", ") } }
        })
    }

    /// A count that a card has, or that lies between two that were held against the car, or for which there is a reason.
    fn may_choose(&self, chosen: &CardChosen) -> Result<Vec<Warning>, Refusal> {
        let (layer, wanted) = (chosen.layer, chosen.coats);
        let standing = self.planned(layer)?;
        if wanted == 0 {
            return Err(Refusal::OnlyToCompare(layer));
        }
        coats(wanted)?;
        let of_layer = |number| {
            let known = self.card(number).filter(|card| card.made.layer == layer);
            known.ok_or(Refusal::NoCard(number))
        };
        let card = chosen.card.map(of_layer).transpose()?;
        if let Some((one, other)) = chosen.between {
            of_layer(one).and(of_layer(other))?;
        }
        let is_shown = card.is_some_and(|card| card.made.coats == wanted);
        let is_between = chosen.between.is_some_and(|cards| self.lies_between(layer, wanted, cards));
        if !(is_shown || is_between || standing.has_reason) {
            let why = match (card, chosen.between) {
                (Some(card), _) => {
                    format!(
                        "card {} has {} of the {} and not {wanted}",
                        card.made.card,
                        card.made.coats,
                        layer.name()
                    )
                }
                (None, Some((one, other))) => format!(
                    "{wanted} does not lie between cards {one} and {other}, both held against the car"
                ),
                (None, None) => format!("no card of the {} shows {wanted}", layer.name()),
            };
            return Err(Refusal::NotShown { layer, why });
        }
        let (coat, by_card) = (standing.sprayed(), is_shown || is_between);
        let is_more = coat > wanted;
        Ok(is_more.then_some(Warning::MoreCoats { layer, coat, wanted, by_card }).into_iter().collect())
    }

    fn of_layer(&self, timer: Timer) -> Result<(), Refusal> {
        timer.layer().map_or(Ok(()), |layer| self.planned(layer).map(|_| ()))
    }

    /// A time that runs is stopped with a reason; only the booth's is nobody's but those who stand before it.
    fn may_stop(&self, timer: Timer, now: Stamp) -> Result<(), Refusal> {
        let run = self.time(timer).filter(|run| run.is_running(now)).ok_or(Refusal::NotRunning(timer))?;
        match timer {
            Timer::Clearance => Ok(()),
            _ => Err(Refusal::NotOver { timer, left: run.countdown.at(now) }),
        }
    }
}

fn not_later(at: Stamp, now: Stamp) -> Result<(), Refusal> {
    if at > now { Err(Refusal::Later) } else { Ok(()) }
}
