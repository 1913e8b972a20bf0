//! Whether a weight creeps: one step now and then, always the same way, while the scale says that it stands still.
//!
//! A tin that drips does that. Each such weight was true at its moment, and a person may take it; what must not
//! happen is that a pour is closed by itself between two drops.

use super::{Rules, Weight};
use crate::units::{Grams, Moment};

/// For how long there may be no weight between two steps: a drop disturbs the pan for less, a hand that pours for
/// longer (common practice, no source).
const SPLASH_MS: u64 = 1_500;
/// How many divisions a step of a drip may have, at most: a drop of a few hundredths of a gram on a fine scale.
const STEP_MOST: u32 = 5;

/// The last steps of a weight at rest.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Creep {
    pub(super) stands: Option<Stands>,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Stands {
    /// Between which values it has stood. A load between two divisions flickers, and does not creep.
    low: Grams,
    high: Grams,
    /// When it last went beyond them, and when it was last seen.
    since: Moment,
    seen: Moment,
    /// The last step beyond: whether it went up, and how long it took, in milliseconds.
    step: Option<(bool, u64)>,
    /// For how long it must now stand.
    wait_ms: u64,
}

impl Creep {
    /// Takes in what came of a reading, and says whether the weight creeps.
    pub(super) fn take(&mut self, weight: Option<&Weight>, at: Moment, rules: &Rules) -> bool {
        let Some(weight) = weight else {
            self.stands = self.stands.filter(|stands| at.since(stands.seen) < SPLASH_MS);
            return false;
        };
        let stands = match self.stands {
            Some(stands) => stands.with(weight, at, rules.creep_ms),
            None => Stands::at(weight.grams(), at),
        };
        self.stands = Some(stands);
        at.since(stands.since) < stands.wait_ms
    }

    /// Nothing before counts.
    pub(super) const fn forget(&mut self) {
        self.stands = None;
    }
}

impl Stands {
    const fn at(value: Grams, at: Moment) -> Self {
        Self { low: value, high: value, since: at, seen: at, step: None, wait_ms: 0 }
    }

    fn with(mut self, weight: &Weight, at: Moment, creep_ms: u64) -> Self {
        self.seen = at;
        let value = weight.grams();
        let up = value > self.high;
        if !up && value >= self.low {
            return self;
        }
        let by = if up { value - self.high } else { self.low - value };
        if by > weight.division().grams().times(STEP_MOST.into()) {
            return Self::at(value, at);
        }
        let took = at.since(self.since);
        // Twice the same way, the second soon after the first: the next would have to come before half as long again
        // as the longer of the two took.
        let again = self.step.filter(|(before, _)| *before == up && took <= creep_ms);
        let longest = again.map(|(_, before)| if before <= creep_ms { before.max(took) } else { took });
        let wait_ms = longest.map_or(0, |longest| longest * 3 / 2);
        let (low, high) = if up { (self.high, value) } else { (value, self.low) };
        Self { low, high, since: at, seen: at, step: Some((up, took)), wait_ms }
    }
}
