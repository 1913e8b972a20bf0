//! The pour that is under way: what the hand is told, and what its landing teaches of the scale.

use super::Bench;
use crate::mix::{Advice, Approach, Lesson, Phase, Seen};
use crate::tui::scale_watch::ScaleWatch;
use crate::units::{Grams, Moment};

/// For how long a weight must stand to be where a pour has landed, in milliseconds: the scale's filter has come to its
/// end (common practice, no source).
const RESTS_MS: u64 = 500;

/// Follows the pour from reading to reading.
#[derive(Clone, Debug, Default)]
pub(super) struct PourWatch {
    approach: Approach,
    /// Told for the first time and not heard yet.
    tells: bool,
    lesson: Option<Lesson>,
}

impl PourWatch {
    /// Something was booked: another pour begins.
    pub(super) fn next(&mut self) {
        self.lesson = self.approach.take_lesson().or(self.lesson);
        self.approach.forget();
        self.tells = false;
    }
}

impl Bench {
    /// Takes a reading in.
    pub(super) fn follow_pour(&mut self, scale: &ScaleWatch, now: Moment) {
        let division = self.session().limits().division.grams();
        // A leftover has no stop: how much of it goes in is the painter's to say.
        let goal = self.session().goal().filter(|_| !self.is_cup_away() && self.pour_in().is_none());
        let net = self.net(scale).filter(|net| !self.session().is_without_cup(*net));
        let (Some(goal), Some(reading)) = (goal, net) else { return self.pour.next() };
        let flow = scale.flow(division);
        // A weight that creeps has not come to rest.
        let rests =
            scale.steady_for().is_some_and(|(_, stood)| stood >= RESTS_MS.min(scale.taking().dwell_ms));
        let seen = Seen { at: now, reading, flow, rests };
        self.pour.tells |= self.pour.approach.follow(&seen, &goal, division, &scale.lag);
        self.pour.lesson = self.pour.approach.take_lesson().or(self.pour.lesson);
    }

    /// What the hand is told now.
    pub fn advice(&self) -> Option<Advice> {
        self.pour.approach.advice().filter(|_| self.session().phase() == Phase::Weighing)
    }

    /// The reading at which easing off begins, the flow as it is.
    pub fn ease_at(&self) -> Option<Grams> {
        self.pour.approach.ease_at()
    }

    /// Whether the hand is told for the first time since it began to pour: once.
    pub(in crate::tui) const fn take_tells(&mut self) -> bool {
        std::mem::replace(&mut self.pour.tells, false)
    }

    /// What the last landing teaches: once.
    pub(in crate::tui) const fn take_lesson(&mut self) -> Option<Lesson> {
        self.pour.lesson.take()
    }

    /// The link is not heard, or the scale not understood: nothing that was seen of the pour goes on.
    pub(in crate::tui) fn lose_sight_of_pour(&mut self) {
        self.pour.next();
    }
}
