//! A mix: a pure state machine, folded from its events.
//!
//! Questions (`goal`, `judge`, `ways`, …) change nothing. Commands (`take`, `steer`, …) answer with the event
//! that would do it, or say why not. Only [`Session::apply`] changes the state, so replaying the events of
//! the book gives the same session again, whatever computed them.

mod apply;
mod booked;
mod commands;
mod ending;
mod record;
mod refusal;
#[cfg(test)]
mod tests;

pub use booked::{BookedPour, Fate};
pub use ending::Ending;
pub use record::{Row, RowState};
pub use refusal::Refusal;

use super::options::{self, Choice, Situation};
use super::{Correction, Emptied, Event, Item, Limits, Recipe, Start, split};
use crate::catalogue::TonerCode;
use crate::units::{Decimal, Grams, Millilitres, Share};

/// A mix under way, put aside, or ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Session {
    start: Start,
    /// The formula, what is in the cup of it, and how far off still counts as right.
    cup: Correction,
    /// What is in the cup and not in the formula.
    foreign: Vec<(TonerCode, Grams)>,
    /// Whether that waits for a word on what to do about it.
    fouled: bool,
    /// What was ordered.
    ordered: Grams,
    /// What the formula's toners are to come to: as ordered, or as settled on since.
    plan: Grams,
    /// What they will come to with the pours as they landed: the plan, and the little that right pours are
    /// above it.
    total: Grams,
    /// Whether a way out was chosen, so that the amounts are those it promised.
    steered: bool,
    order: Vec<usize>,
    /// The toner a person turned to out of order.
    turned: Option<usize>,
    tins: Vec<Option<String>>,
    /// The pours, as they are booked now.
    pours: Vec<BookedPour>,
    /// What came out of leftovers, a toner each; no pours of this mix, so that no tin is asked for.
    added: Vec<BookedPour>,
    /// The leftovers they came out of, each once, by the identities of the mixes those are of.
    reused: Vec<String>,
    /// The leftover that is to be poured in before the first toner, by the identity of the mix it is of.
    leftover_due: Option<String>,
    /// What became of the mix, once the cup is empty.
    emptied: Option<Emptied>,
    tare: Grams,
    state: State,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    Open,
    /// Some of the mix is to be taken out, down to that reading.
    Drawing(Grams),
    Aside,
    Abandoned,
    Finished,
    Emptied,
}

/// Where a mix stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// A toner is to be poured.
    Weighing,
    /// That toner (its place in the recipe) is over, and a way out must be chosen.
    Over(usize),
    /// Something that is not in the formula is in the cup: leave it, or start again.
    Fouled,
    /// Some of the mix is to be taken out.
    Drawing,
    /// Everything is in, and right; it only has to be said that it is done.
    Complete,
    /// Put aside.
    Aside,
    /// Given up.
    Abandoned,
    /// Done; whether the cup still holds it says [`Session::emptied`].
    Finished,
}

/// What the painter aims at now. Readings are what the cup holds, its own weight taken off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Goal {
    /// The toner's place in the recipe.
    pub line: usize,
    /// How much of it is still missing.
    pub missing: Grams,
    /// The reading to stop at: what the cup holds now and what is still missing.
    pub stop: Grams,
    /// The lowest reading at which this toner is right.
    pub low: Grams,
    /// The highest reading at which this toner is right.
    pub high: Grams,
}

/// What a reading of the cup means for the toner that is being poured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Judgement {
    /// Not enough yet: so much to go.
    Short(Grams),
    /// Within its tolerance: off by so much, above or below.
    Right(Grams),
    /// Too much: so much above the goal.
    Over(Grams),
    /// The cup holds so much less than the book says.
    Gone(Grams),
}

impl Session {
    /// A mix that has just begun.
    pub fn begin(start: Start) -> Result<Self, Refusal> {
        let shares = start.recipe.shares();
        if !is_order(&start.order, shares.len()) {
            return Err(Refusal::BadOrder);
        }
        if !start.volume.is_positive() {
            return Err(Refusal::BadStart("the volume must be more than nothing"));
        }
        let ordered = start.recipe.mass_for(start.volume).to_book();
        let items = shares
            .into_iter()
            .zip(start.recipe.lines())
            .map(|(share, line)| Item {
                share: share.rounded(SHARE_DECIMALS),
                tolerance: line.tolerance,
                poured: Grams::ZERO,
            })
            .collect();
        let cup = Correction { items, floor: start.limits.division.grams(), slack: Decimal::ONE };
        Ok(Self {
            cup,
            foreign: Vec::new(),
            fouled: false,
            ordered,
            plan: ordered,
            total: ordered,
            steered: false,
            order: start.order.clone(),
            turned: None,
            tins: vec![None; start.recipe.lines().len()],
            pours: Vec::new(),
            added: Vec::new(),
            reused: Vec::new(),
            leftover_due: None,
            emptied: None,
            tare: start.vessel.tare,
            state: State::Open,
            start,
        })
    }

    /// The mix those events made. The first must be its start.
    pub fn fold<'a>(events: impl IntoIterator<Item = &'a Event>) -> Result<Self, Refusal> {
        let mut events = events.into_iter();
        let Some(Event::Started(start)) = events.next() else { return Err(Refusal::NotBegun) };
        events.try_fold(Self::begin(start.clone())?, |mut session, event| {
            session.apply(event)?;
            Ok(session)
        })
    }

    /// What is mixed.
    pub fn recipe(&self) -> &Recipe {
        &self.start.recipe
    }

    /// How it began.
    pub fn start(&self) -> &Start {
        &self.start
    }

    /// What the scale can do.
    pub fn limits(&self) -> Limits {
        self.start.limits
    }

    /// What was ordered.
    pub fn ordered(&self) -> Grams {
        self.ordered
    }

    /// What the formula's toners are to come to in the end.
    pub fn total(&self) -> Grams {
        self.total
    }

    /// What the cup will hold in the end, with what does not belong.
    pub fn end_mass(&self) -> Grams {
        self.total + self.foreign_mass()
    }

    /// The volume of that; an estimate.
    pub fn end_volume(&self) -> Millilitres {
        self.recipe().volume_at(self.end_mass())
    }

    /// What the scale shows with the empty cup on it.
    pub fn tare(&self) -> Grams {
        self.tare
    }

    /// What the cup holds by the book; once the mix is given up or the cup emptied, what it held then.
    pub fn holds(&self) -> Grams {
        self.cup.poured() + self.foreign_mass()
    }

    /// What the cup holds of the formula's toner at that place.
    pub fn poured(&self, line: usize) -> Grams {
        self.cup.items.get(line).map_or(Grams::ZERO, |item| item.poured)
    }

    /// What the cup holds that is not in the formula.
    pub fn foreign(&self) -> &[(TonerCode, Grams)] {
        &self.foreign
    }

    /// The share of the finished mix that is not in the formula.
    pub fn foreign_share(&self) -> Share {
        self.foreign_mass().share_of(self.end_mass()).unwrap_or(Share::ZERO)
    }

    fn foreign_mass(&self) -> Grams {
        self.foreign.iter().map(|(_, mass)| *mass).sum()
    }

    /// The pour order, as places in the recipe.
    pub fn order(&self) -> &[usize] {
        &self.order
    }

    /// The leftover that is to be poured in before the first toner, by the identity of the mix it is of.
    pub fn leftover_due(&self) -> Option<&str> {
        self.leftover_due.as_deref()
    }

    /// The leftovers that were poured in, each once, by the identities of the mixes they are of.
    pub fn reused(&self) -> &[String] {
        &self.reused
    }

    /// The tin that toner is poured from, if it was said.
    pub fn tin(&self, line: usize) -> Option<&str> {
        self.tins.get(line)?.as_deref()
    }

    /// The arithmetic of the cup as it stands.
    pub fn cup(&self) -> &Correction {
        &self.cup
    }

    /// Where the mix stands.
    pub fn phase(&self) -> Phase {
        match self.state {
            State::Aside => Phase::Aside,
            State::Abandoned => Phase::Abandoned,
            State::Finished | State::Emptied => Phase::Finished,
            State::Drawing(_) => Phase::Drawing,
            State::Open if self.fouled => Phase::Fouled,
            State::Open => match (self.cup.over(self.total), self.current()) {
                (Some(line), _) => Phase::Over(line),
                (None, Some(_)) => Phase::Weighing,
                (None, None) => Phase::Complete,
            },
        }
    }

    /// Whether the mix still waits for something: it is neither done nor given up.
    pub fn is_unfinished(&self) -> bool {
        !matches!(self.state, State::Abandoned | State::Finished | State::Emptied)
    }

    /// Whether that toner has its least.
    fn has_least(&self, line: usize) -> bool {
        self.cup.items.get(line).is_none_or(|item| self.cup.has_least(item, self.total))
    }

    /// The toner to pour now: the one turned to, else the first in order that has not its least; if all have
    /// and the mix is still not right as a whole, the one furthest short.
    pub fn current(&self) -> Option<usize> {
        let waiting = |line: &usize| !self.has_least(*line);
        if let Some(line) = self.turned.filter(waiting) {
            return Some(line);
        }
        if let Some(line) = self.order.iter().copied().find(|line| waiting(line)) {
            return Some(line);
        }
        if self.cup.is_right() {
            return None;
        }
        let short = |line: usize| {
            let item = self.cup.items.get(line)?;
            (self.aim(line) - item.poured).ratio_to(self.cup.tolerance(item, self.total))
        };
        self.order.iter().copied().max_by_key(|line| short(*line))
    }

    /// What was asked for of that toner: its share of the plan, or what the chosen way out promised.
    pub fn target(&self, line: usize) -> Grams {
        if self.steered {
            return self.balanced(line);
        }
        self.cup.items.get(line).map_or(Grams::ZERO, |item| self.plan * item.share)
    }

    /// What that toner is to come to in the end. While nothing is over it is its own target, so that one pour's
    /// error is never passed on to the next toner.
    pub fn aim(&self, line: usize) -> Grams {
        let Some(item) = self.cup.items.get(line) else { return Grams::ZERO };
        if self.steered || self.has_least(line) {
            return self.balanced(line);
        }
        self.target(line).max(self.cup.least(item, self.total)).max(item.poured)
    }

    /// That toner's part of the whole, what is too much of others taken into account.
    fn balanced(&self, line: usize) -> Grams {
        self.cup.amounts(self.total).get(line).copied().unwrap_or(Grams::ZERO)
    }

    /// What to aim at now; none unless something is to be poured.
    pub fn goal(&self) -> Option<Goal> {
        if !matches!(self.phase(), Phase::Weighing) {
            return None;
        }
        let line = self.current()?;
        let item = self.cup.items.get(line)?;
        let (aim, holds) = (self.aim(line), self.holds());
        let reading = |amount: Grams| holds + amount - item.poured;
        // A toner that has its least already is only asked for to bring the whole right: then all of it is needed.
        let low = if self.has_least(line) { aim } else { self.cup.least(item, self.total) };
        Some(Goal {
            line,
            missing: aim - item.poured,
            stop: reading(aim),
            low: reading(low),
            high: reading(self.cup.most(item, self.total)),
        })
    }

    /// The reading to stop at as the scale can show it, and within what is right.
    pub fn shown_stop(&self) -> Option<Grams> {
        let goal = self.goal()?;
        let division = self.start.limits.division;
        let nearest = division.round(goal.stop);
        Some(if nearest < goal.low { division.round_up(goal.low) } else { nearest })
    }

    /// The reading to draw off to; none unless something is to be taken out.
    pub fn draw_to(&self) -> Option<Grams> {
        match self.state {
            State::Drawing(down_to) => Some(down_to),
            _ => None,
        }
    }

    /// What a reading of the cup means for the toner that is being poured; none if none is.
    pub fn judge(&self, reading: Grams) -> Option<Judgement> {
        let goal = self.goal()?;
        let holds = self.holds();
        Some(if reading > goal.high {
            Judgement::Over(reading - goal.stop)
        } else if reading >= goal.low {
            Judgement::Right(reading - goal.stop)
        } else if reading < holds - self.cup.floor {
            Judgement::Gone(holds - reading)
        } else {
            Judgement::Short(goal.stop - reading)
        })
    }

    /// Whether a reading is that near to its goal: within a part of what is right on either side, and never asked to be
    /// nearer than the scale can show.
    pub fn is_within(&self, reading: Grams, part: Share) -> bool {
        let Some(goal) = self.goal() else { return false };
        let half = self.start.limits.division.grams().times(Decimal::new(5, 1));
        let off = reading - goal.stop;
        let room = if off.is_negative() { goal.stop - goal.low } else { goal.high - goal.stop };
        off.abs() <= (room * part).max(half)
    }

    /// Whether a reading is less than the bare cup can be, so that the cup is not on the scale: below nothing by
    /// more than a zero wanders, or by half of the cup's own weight.
    pub fn is_without_cup(&self, reading: Grams) -> bool {
        let wander = self.start.limits.division.grams().times(WANDER);
        let half = self.start.vessel.tare.times(Decimal::new(5, 1));
        let least = if half.is_positive() { wander.min(half) } else { wander };
        reading < -least
    }

    /// The ways out, most sparing first; empty unless something is over or does not belong.
    pub fn ways(&self) -> Vec<Choice> {
        if !matches!(self.phase(), Phase::Over(_) | Phase::Fouled) {
            return Vec::new();
        }
        options::distinct_ways(&self.situation())
    }

    /// Every way out, those too that come to the same as a more sparing one: to hold what was chosen against.
    pub fn every_way(&self) -> Vec<Choice> {
        if !matches!(self.phase(), Phase::Over(_) | Phase::Fouled) {
            return Vec::new();
        }
        options::ways(&self.situation())
    }

    /// The ways out if the cup read so much with the toner that is being poured: to show while it is still
    /// being poured or drawn off.
    pub fn ways_at(&self, reading: Grams) -> Vec<Choice> {
        let mut ahead = self.clone();
        if let Some(goal) = self.goal()
            && let Some(item) = ahead.cup.items.get_mut(goal.line)
        {
            item.poured += (reading - self.holds()).max(Grams::ZERO);
        }
        options::distinct_ways(&ahead.situation())
    }

    fn situation(&self) -> Situation<'_> {
        Situation {
            recipe: self.recipe(),
            cup: &self.cup,
            foreign: self.foreign_mass(),
            ordered: self.plan,
            vessel: &self.start.vessel,
            limits: self.start.limits,
        }
    }

    /// What the cup holds of each toner: the formula's in its order, then what does not belong.
    pub fn contents(&self) -> Vec<(TonerCode, Grams)> {
        let lines = self.recipe().lines().iter().map(|line| line.toner.clone());
        let own = lines.zip(self.cup.items.iter().map(|item| item.poured));
        own.chain(self.foreign.iter().cloned()).collect()
    }

    /// How a mass taken out of the stirred mix splits over what is in it: the formula's toners in its order,
    /// then what does not belong. In whole micrograms that add up to what was taken.
    pub fn split(&self, taken: Grams) -> Vec<(TonerCode, Grams)> {
        split(&self.contents(), taken)
    }
}

/// How far a scale's zero may wander within one mix, in divisions (common practice, no source).
const WANDER: Decimal = Decimal::TEN;

/// Decimals of a share in the corrections: with a tonne in the cup still a picogram, and few enough that products
/// need no rescaling, which is most of what a correction costs. Targets use the whole quotient.
const SHARE_DECIMALS: u32 = 18;

fn is_order(order: &[usize], lines: usize) -> bool {
    order.len() == lines && (0..lines).all(|line| order.contains(&line))
}
