//! A pour that comes near its stop: when to ease off, when to set the tin upright.

use super::brings;
use super::lag::{Lag, Lesson};
use crate::mix::Goal;
use crate::units::{Decimal, Grams, Moment};

/// How long a hand takes to do what it is told, in milliseconds: two-choice reactions to a light take 0.37 to 0.45 s
/// (read second-hand).
pub(super) const REACTION_MS: u64 = 400;
/// How much earlier than the end of the pour easing off begins, in milliseconds: time to tip the tin back and to be
/// told the end (common practice, no source). What the flow has become is seen as late as anything on that scale.
const EASE_MS: u64 = 700;
/// A word that was said is not taken back before the forecast has gone so much further, in milliseconds.
const FIRM_MS: u64 = 400;
/// For how long nothing flows before the pour has ended, in milliseconds: drops fall further apart than readings
/// come.
const ENDED_MS: u64 = 500;
/// So little to go, in divisions, begins with drops: a tin that is tipped as far as it flows is past that before a
/// scale has shown it (common practice, no source).
const DROPS: Decimal = Decimal::from_parts(30, 0, 0, false, 0);
/// A flow that brings less in a second, in divisions, teaches nothing: rounding would be learned.
const TEACHES: Decimal = Decimal::from_parts(5, 0, 0, false, 0);
/// The flow that a hand can always end well, in divisions a second.
const LEAST: Decimal = Decimal::from_parts(4, 0, 0, false, 0);

/// What the hand is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Advice {
    /// Nothing flows, and so little is wanted that drops will do.
    Drops,
    /// Pour on.
    PourOn,
    /// Pour more slowly: a flow like that cannot be ended within what is right.
    EaseOff,
    /// Set the tin upright.
    Upright,
}

/// Follows one pour up to its stop.
#[derive(Clone, Debug, Default)]
pub struct Approach {
    advice: Option<Advice>,
    /// The reading at which easing off begins with the flow as it is.
    ease_at: Option<Grams>,
    /// When something last flowed.
    flowed: Option<Moment>,
    /// The flow and the reading when it was first said that the tin is to be set upright.
    word: Option<(Grams, Grams)>,
    /// Whether the hand was told to do anything since the flow began.
    told: bool,
    lesson: Option<Lesson>,
}

impl Approach {
    /// What the hand is told now; none while nothing flows and nothing is to be said.
    pub const fn advice(&self) -> Option<Advice> {
        self.advice
    }

    /// The reading at which easing off begins, the flow as it is; none where it need not be eased, or it has begun.
    pub const fn ease_at(&self) -> Option<Grams> {
        self.ease_at
    }

    /// Nothing is known of the pour any more: the cup was lifted, the link lost, or the next toner is due.
    pub fn forget(&mut self) {
        *self = Self::default();
    }

    /// Takes in what is seen of the cup. Says whether the hand is told to do something for the first time since the
    /// flow began: once an approach, for the ear.
    pub fn follow(&mut self, seen: &Seen, goal: &Goal, division: Grams, lag: &Lag) -> bool {
        let Some(flow) = seen.flow else {
            self.ease_at = None;
            if self.flowed.is_none_or(|flowed| seen.at.since(flowed) >= ENDED_MS) {
                self.ended(seen, goal, division);
            }
            return false;
        };
        self.flowed = Some(seen.at);
        let ahead = Ahead::new(seen.reading, flow, goal, division, lag);
        let advice = ahead.advice(self.advice);
        let must_ease = flow > ahead.gentle;
        self.ease_at = (must_ease && advice == Advice::PourOn).then(|| seen.reading + ahead.until_ease());
        self.word = match (advice, self.advice) {
            (Advice::Upright, Some(Advice::Upright)) => self.word,
            (Advice::Upright, _) => Some((flow, seen.reading)),
            _ => None,
        };
        self.advice = Some(advice);
        let tells = advice != Advice::PourOn && !self.told;
        self.told |= tells;
        tells
    }

    /// Nothing flows any more. A pour that landed short is a lesson like any other, or a lag that was learned too long
    /// would never be found out.
    fn ended(&mut self, seen: &Seen, goal: &Goal, division: Grams) {
        self.told = false;
        let little = seen.reading < goal.low && goal.stop - seen.reading <= division.times(DROPS);
        self.advice = little.then_some(Advice::Drops);
        if seen.rests
            && let Some((flow, reading)) = self.word.take()
            && flow >= division.times(TEACHES)
        {
            self.lesson = Some(Lesson { flow, reading, landed: seen.reading });
        }
    }

    /// What there is to learn from the pour that came to rest, once. Nothing where the word never came, or something
    /// else happened since.
    pub const fn take_lesson(&mut self) -> Option<Lesson> {
        self.lesson.take()
    }
}

/// What is seen of the cup.
#[derive(Clone, Copy, Debug)]
pub struct Seen {
    /// When.
    pub at: Moment,
    /// What it holds by the scale, moving or not.
    pub reading: Grams,
    /// What flows, in grams a second, if anything does.
    pub flow: Option<Grams>,
    /// Whether the weight has come to rest.
    pub rests: bool,
}

/// Where a flow leads.
struct Ahead {
    flow: Grams,
    /// What the cup will read if the hand is told now.
    lands: Grams,
    /// What it is to read.
    aim: Grams,
    /// The flow that can be ended within what is right.
    gentle: Grams,
    /// What comes in from easing off to the end, at the flow as it is.
    easing: Grams,
    division: Grams,
}

impl Ahead {
    fn new(reading: Grams, flow: Grams, goal: &Goal, division: Grams, lag: &Lag) -> Self {
        let lands = reading + brings(flow, lag.behind_ms().saturating_add(REACTION_MS));
        let room = goal.high - goal.stop;
        // Half as much again as the spread is to cost no more than there is room above the stop. What is over cannot be
        // poured back, and what is short can be poured on: a flow that is too fast for that is ended earlier.
        let spread = lag.spread_ms().saturating_mul(3).div_euclid(2);
        // Even a gentle flow aims below the stop: the last drops have no time of their own in the forecast.
        let below = (goal.low + goal.stop).times(Decimal::new(5, 1));
        let aim = (goal.high - brings(flow, spread)).min(below);
        let seconds = Decimal::from(spread).checked_div(Decimal::ONE_THOUSAND).unwrap_or(Decimal::ONE);
        let gentle = room.decimal().checked_div(seconds).map_or(room, Grams::new).max(division.times(LEAST));
        let easing = brings(flow, lag.behind_ms().saturating_add(EASE_MS));
        Self { flow, lands, aim, gentle, easing, division }
    }

    /// Words that were said stand until they are clearly wrong.
    fn advice(&self, before: Option<Advice>) -> Advice {
        let (was_upright, was_easing) = (before == Some(Advice::Upright), before == Some(Advice::EaseOff));
        let firm = |holds: bool, ms: u64| {
            if holds { brings(self.flow, ms) + self.division.times(Decimal::TWO) } else { Grams::ZERO }
        };
        if self.lands + firm(was_upright, FIRM_MS / 4) >= self.aim {
            return Advice::Upright;
        }
        // Once told, the flow is to become clearly gentle; before that, to be clearly more.
        let limit = self.gentle.times(Decimal::new(if was_easing { 9 } else { 12 }, 1));
        let near = self.lands + self.easing + firm(was_easing, FIRM_MS) >= self.aim;
        if near && self.flow > limit { Advice::EaseOff } else { Advice::PourOn }
    }

    /// How much is still to come in before easing off begins.
    fn until_ease(&self) -> Grams {
        (self.aim - self.lands - self.easing).max(Grams::ZERO)
    }
}

#[cfg(test)]
mod tests;
