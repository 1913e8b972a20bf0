//! Readings without a break that say the same, and how many of them it takes.

use super::{Doubt, Manner};
use crate::scale::Stability;
use crate::units::{Division, Grams, Moment};

/// How many values are looked back over: enough for four of the same among those that flicker.
const RECENT: usize = 7;

/// One value as it was said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Said {
    pub(super) grams: Grams,
    pub(super) decimals: u32,
    pub(super) manner: Manner,
    pub(super) stability: Stability,
}

impl Said {
    /// Whether it is the other said again, give or take a division.
    pub(super) fn is_near(self, other: Self, division: Division) -> bool {
        (self.decimals, self.manner) == (other.decimals, other.manner)
            && (self.grams - other.grams).abs() <= division.grams()
    }
}

/// A change without a movement.
#[derive(Clone, Debug)]
pub(super) struct Abrupt {
    /// What is to be said of it.
    pub(super) doubt: Doubt,
    /// Whether it is hard to believe, so that it needs one more equal reading.
    pub(super) suspicious: bool,
}

/// Readings without a break, all at rest, told alike, and within one division.
#[derive(Clone, Debug)]
pub(super) struct Run {
    pub(super) since: Moment,
    pub(super) count: u32,
    /// What changed where it began, if the scale did not say that it moved.
    pub(super) abrupt: Option<Abrupt>,
    newest: Said,
    least: Grams,
    most: Grams,
    /// The last values, the newest first.
    recent: [Option<Grams>; RECENT],
}

impl Run {
    pub(super) fn new(said: Said, at: Moment, abrupt: Option<Abrupt>) -> Self {
        let mut recent = [None; RECENT];
        if let Some(first) = recent.first_mut() {
            *first = Some(said.grams);
        }
        Self { since: at, count: 1, abrupt, newest: said, least: said.grams, most: said.grams, recent }
    }

    pub(super) const fn newest(&self) -> Said {
        self.newest
    }

    /// Whether the value belongs to it.
    pub(super) fn admits(&self, said: Said, division: Division) -> bool {
        let alike = |said: Said| (said.stability, said.decimals, said.manner);
        alike(self.newest) == alike(said)
            && self.most.max(said.grams) - self.least.min(said.grams) <= division.grams()
    }

    /// The run with one more value; `None` if the value breaks it.
    pub(super) fn with(&self, said: Said, division: Division) -> Option<Self> {
        if !self.admits(said, division) {
            return None;
        }
        let mut run = self.clone();
        run.newest = said;
        run.least = run.least.min(said.grams);
        run.most = run.most.max(said.grams);
        run.recent.rotate_right(1);
        if let Some(first) = run.recent.first_mut() {
            *first = Some(said.grams);
        }
        run.count = run.count.saturating_add(1);
        Some(run)
    }

    /// Takes in how far a value is that is not counted.
    pub(super) fn widen(&mut self, said: Said) {
        self.least = self.least.min(said.grams);
        self.most = self.most.max(said.grams);
    }

    /// Whether the newest value was said that often, itself included, among the last `2 · needed − 1`.
    ///
    /// The very same value, not one a division off: a digit damaged on the wire would confirm itself otherwise. And
    /// not without another between: a load between two divisions flickers, and is at rest.
    pub(super) fn is_said(&self, needed: u32) -> bool {
        let needed = usize::try_from(needed).unwrap_or(RECENT).clamp(1, RECENT / 2 + 1);
        let window = self.recent.iter().take(2 * needed - 1);
        window.filter(|value| **value == Some(self.newest.grams)).count() >= needed
    }
}
