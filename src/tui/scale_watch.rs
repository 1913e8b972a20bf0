//! What the bench knows of its scale: the link's state, the latest verdict, and how long it has stood still.

use super::preferences::{Preferences, Taking};
use crate::mix::{Lag, flow, landing};
use crate::scale::{Doubt, LinkEvent, LinkState, Mode, Rules, Settle, Verdict, Weight};
use crate::units::{Grams, Moment, Notation};
use std::collections::VecDeque;

/// The scale as the bench sees it.
#[derive(Debug)]
pub struct ScaleWatch {
    settle: Settle,
    state: LinkState,
    why: String,
    verdict: Option<Verdict>,
    /// The weight that has stood still, and since when.
    steady: Option<(Grams, Moment)>,
    /// When the last readings came, for the rate.
    recent: VecDeque<(Moment, Option<Grams>)>,
    present: bool,
    /// What makes a weight one to take without a key.
    taking: Taking,
    /// How numbers are written in what is said of it.
    notation: Notation,
    /// How far it lies behind the hand.
    pub(super) lag: Lag,
}

/// How many readings the rate is taken over, at most.
const RECENT: usize = 64;
/// Over how many milliseconds.
const RATE_WINDOW_MS: u64 = 2_000;

impl ScaleWatch {
    /// A scale from which nothing was heard yet; `present` if there is one at all.
    pub fn new(rules: Rules, present: bool) -> Self {
        Self {
            settle: Settle::new(rules),
            state: LinkState::Absent,
            why: if present { String::new() } else { "no scale: weights are typed".to_owned() },
            verdict: None,
            steady: None,
            recent: VecDeque::new(),
            present,
            taking: Taking::default(),
            notation: Notation::METRIC,
            lag: Lag::default(),
        }
    }

    /// The same, and what makes a weight one to take without a key, and how far it lies behind the hand.
    pub(super) fn with(self, preferences: &Preferences, lag: Lag) -> Self {
        Self { taking: preferences.taking(), notation: preferences.notation, lag, ..self }
    }

    /// What makes a weight one to take without a key.
    pub(super) const fn taking(&self) -> Taking {
        self.taking
    }

    /// Takes in what the link said.
    pub fn take_in(&mut self, event: &LinkEvent) {
        match event {
            LinkEvent::State { state, why } => {
                self.state = *state;
                self.why.clone_from(why);
                if !matches!(state, LinkState::Live) {
                    self.forget();
                }
            }
            LinkEvent::Reading(reading) => {
                let verdict = self.settle.feed(reading);
                self.steady = match (verdict.weight, self.steady) {
                    (Some(weight), Some((value, since))) if value == weight.grams() => Some((value, since)),
                    (Some(weight), _) => Some((weight.grams(), weight.at())),
                    (None, _) => None,
                };
                self.recent.push_back((reading.at, verdict.live));
                self.verdict = Some(verdict);
                if self.recent.len() > RECENT {
                    self.recent.pop_front();
                }
            }
            LinkEvent::Ended { why, .. } => {
                self.state = LinkState::Lost;
                self.why.clone_from(why);
                self.forget();
            }
            _ => {}
        }
    }

    /// Nothing that was said before the link was lost counts after it.
    fn forget(&mut self) {
        self.settle.reset();
        self.verdict = None;
        self.steady = None;
        self.recent.clear();
    }

    /// Drops a verdict that has grown old while nothing came.
    pub fn look(&mut self, now: Moment) {
        if self.verdict.is_some() {
            let verdict = self.settle.look(now);
            if verdict.live.is_none() {
                self.steady = None;
                self.verdict = Some(verdict);
            }
        }
    }

    /// Whether there is a scale at all.
    pub fn is_present(&self) -> bool {
        self.present
    }

    /// Whether readings come in.
    pub fn is_live(&self) -> bool {
        matches!(self.state, LinkState::Live)
    }

    /// Whether it is only being opened, or listened to until something is understood: nothing is lost yet.
    pub fn is_beginning(&self) -> bool {
        matches!(self.state, LinkState::Opening | LinkState::Listening)
    }

    /// What may be drawn, moving or not: never a number that cannot be trusted.
    pub fn live(&self) -> Option<Grams> {
        self.is_live().then_some(self.verdict.as_ref()?.live).flatten()
    }

    /// The weight, if there is one now.
    pub fn weight(&self) -> Option<Weight> {
        self.is_live().then_some(self.verdict.as_ref()?.weight).flatten()
    }

    /// The weight, and for how many milliseconds it has stood still, from the first reading that said so to the
    /// last: readings that were late to come in have stood no longer for that.
    pub fn steady_for(&self) -> Option<(Weight, u64)> {
        let weight = self.weight()?;
        let (value, since) = self.steady?;
        // One that creeps may be taken by a person, and by nobody else: it has not stood at all.
        let stood = if self.creeps() { 0 } else { weight.at().since(since) };
        (value == weight.grams()).then_some((weight, stood))
    }

    /// Whether it has less on it than it can show: the pan is off, or what was on it at its zero.
    pub fn is_under(&self) -> bool {
        self.is_live() && self.said(&Doubt::Under)
    }

    /// Whether the last reading says that the load moves, or at least not that it rests.
    pub fn is_moving(&self) -> bool {
        self.said(&Doubt::Moving) || self.said(&Doubt::NotSteady)
    }

    fn said(&self, doubt: &Doubt) -> bool {
        self.verdict.as_ref().is_some_and(|verdict| verdict.doubt.as_ref() == Some(doubt))
    }

    /// Whether it shows gross or net, while there is a number.
    pub fn mode(&self) -> Option<Mode> {
        self.live()?;
        Some(self.verdict.as_ref()?.mode)
    }

    /// Why there is no number, or why it is no weight yet, in a sentence.
    pub fn doubt(&self) -> Option<String> {
        if !self.is_live() {
            return Some(self.why.clone());
        }
        let doubt = self.verdict.as_ref()?.doubt.as_ref();
        doubt.or(self.creeps().then_some(&Doubt::Creeps)).map(|doubt| doubt.sentence(self.notation))
    }

    /// Whether the weight goes the same way step by step while the scale says that it stands still.
    pub fn creeps(&self) -> bool {
        self.verdict.as_ref().is_some_and(|verdict| verdict.creeps)
    }

    /// The word for the top line.
    pub fn word(&self) -> &'static str {
        match self.state {
            _ if !self.present => "typed",
            LinkState::Absent => "absent",
            LinkState::Opening => "opening",
            LinkState::Listening => "listening",
            LinkState::Stale => "silent",
            LinkState::Lost => "lost",
            LinkState::Live if self.weight().is_some() && self.creeps() => "creeping",
            LinkState::Live if self.weight().is_some() => "steady",
            LinkState::Live if self.live().is_some() => "moving",
            LinkState::Live => "no weight",
        }
    }

    /// Where a pour that is under way will land, cup included; none unless something flows.
    pub(super) fn landing(&self, division: Grams) -> Option<Grams> {
        landing(&self.trusted()?, division, &self.lag)
    }

    /// What flows, in grams a second, if anything does.
    pub(super) fn flow(&self, division: Grams) -> Option<Grams> {
        flow(&self.trusted()?, division)
    }

    /// The last readings, the oldest first.
    fn trusted(&self) -> Option<Vec<(Moment, Grams)>> {
        self.live()?;
        // What was said before a reading that could not be trusted is another story.
        let trusted = self.recent.iter().rev().map_while(|(at, mass)| Some((*at, (*mass)?)));
        let mut readings: Vec<_> = trusted.collect();
        readings.reverse();
        Some(readings)
    }

    /// Readings a second over the last two seconds.
    pub fn rate(&self, now: Moment) -> Option<u8> {
        let count = self.recent.iter().filter(|(at, _)| now.since(*at) <= RATE_WINDOW_MS).count();
        let span = RATE_WINDOW_MS.min(now.since(self.recent.front()?.0)).max(1);
        if !self.is_live() || count < 3 {
            return None;
        }
        u8::try_from((count as u64).saturating_mul(1_000).checked_div(span)?).ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scale::{Frame, Reading, Stability};
    use crate::units::{Decimal, MassUnit};

    fn says(watch: &mut ScaleWatch, tenths: i64, at: u64) {
        let frame = Frame::weight(Decimal::new(tenths, 1), MassUnit::Gram, Stability::Stable, Mode::Gross);
        watch.take_in(&LinkEvent::Reading(Reading::new(frame, Moment(at))));
    }

    /// A division in two seconds: each value stands for longer than a pour must before it is taken by itself.
    #[test]
    fn a_weight_that_creeps_is_one_and_has_not_stood() {
        let mut watch = ScaleWatch::new(Rules::default(), true);
        watch.take_in(&LinkEvent::State { state: LinkState::Live, why: String::new() });
        for reading in 0..100 {
            says(&mut watch, 1_000 + reading / 20, u64::try_from(reading).unwrap() * 100);
            // Until it has stepped twice nobody can know.
            if reading >= 45 && reading % 20 > 1 {
                assert!(watch.steady_for().is_some_and(|(_, stood)| stood == 0), "{reading}");
                assert_eq!((watch.word(), watch.weight().is_some()), ("creeping", true));
                assert!(watch.doubt().is_some_and(|doubt| doubt.contains("drip")));
            }
        }
        for reading in 100..140 {
            says(&mut watch, 1_004, reading * 100);
        }
        assert_eq!((watch.word(), watch.doubt()), ("steady", None));
        assert!(watch.steady_for().is_some_and(|(_, stood)| stood > 1_200));
    }
}
