//! How far a scale's reading lies behind the hand, learned from how pours landed.

use super::approach::REACTION_MS;
use crate::units::{Decimal, Grams};
use rust_decimal::prelude::ToPrimitive;
use serde::{Deserialize, Serialize};
use std::collections::VecDeque;

/// What is taken for it before anything was learned, in milliseconds: a scale's filter and a fall of a hand's breadth
/// (common practice, no source).
const PRIOR_MS: u16 = 350;
/// As many lessons what is taken before counts for. For the lag, one: of it and a first lesson the longer holds, as
/// what lands short can be poured on; two lessons that agree have it. For the spread, more: few pours tell little.
const PRIOR_COUNTS: usize = 1;
const PRIOR_SPREAD_COUNTS: usize = 3;
/// How many lessons are kept: the scale's filter may be set otherwise, and another hand pour.
const KEPT: usize = 15;
/// What it can be at the least and at the most, in milliseconds (common practice, no source).
const BOUNDS_MS: (u16, u16) = (50, 3_000);
/// How far pours differ in it before anything was learned, as a spread; and what that can be, in milliseconds (common
/// practice, no source).
const PRIOR_SPREAD_MS: u64 = 150;
const SPREADS_MS: (u64, u64) = (100, 600);

/// How one pour landed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lesson {
    /// The flow when it was said that the tin is to be set upright, in grams a second.
    pub flow: Grams,
    /// The reading then.
    pub reading: Grams,
    /// The settled weight in the end.
    pub landed: Grams,
}

impl Lesson {
    /// How far the reading lay behind the hand, in milliseconds; none where that cannot have been it.
    fn behind_ms(&self) -> Option<u16> {
        let came = self.landed - self.reading;
        let took = came.decimal().checked_div(self.flow.decimal())?.checked_mul(Decimal::ONE_THOUSAND)?;
        // Much less than none is no pour but something set down, or a hand that was faster than the word; far more, one
        // that did not heed it.
        let behind = took.round().to_i64()?.checked_sub(i64::try_from(REACTION_MS).ok()?)?;
        let (least, most) = BOUNDS_MS;
        let far = i64::from(most).saturating_add(1_000);
        (-200..=far)
            .contains(&behind)
            .then_some(behind.clamp(i64::from(least), i64::from(most)))
            .and_then(|behind| u16::try_from(behind).ok())
    }
}

/// How far one scale's reading lies behind the hand: the median of the last lessons, and of what is taken for it
/// before there are any.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Lag {
    lessons: VecDeque<u16>,
}

impl Lag {
    /// In milliseconds.
    pub fn behind_ms(&self) -> u64 {
        let prior = std::iter::repeat_n(u64::from(PRIOR_MS), PRIOR_COUNTS);
        middle(self.known().chain(prior)).unwrap_or(u64::from(PRIOR_MS))
    }

    /// How far pours differ in it, as a spread in milliseconds: by the median of how far each lies from the middle,
    /// times 1.4826, which is the standard deviation of a normal spread (from memory). It holds the hand's own
    /// unsteadiness, and whatever makes one paint land otherwise than another.
    pub fn spread_ms(&self) -> u64 {
        let behind = self.behind_ms();
        let prior = std::iter::repeat_n(
            PRIOR_SPREAD_MS.saturating_mul(10_000).div_euclid(14_826),
            PRIOR_SPREAD_COUNTS,
        );
        let far = middle(self.known().map(|ms| ms.abs_diff(behind)).chain(prior)).unwrap_or(PRIOR_SPREAD_MS);
        let (least, most) = SPREADS_MS;
        far.saturating_mul(14_826).div_euclid(10_000).clamp(least, most)
    }

    /// The lessons that are kept. What comes from a file may be anything.
    fn known(&self) -> impl Iterator<Item = u64> {
        let (least, most) = BOUNDS_MS;
        self.lessons.iter().rev().take(KEPT).map(move |ms| u64::from((*ms).clamp(least, most)))
    }

    /// From how many pours it was learned, of those that are kept.
    pub fn lessons(&self) -> usize {
        self.lessons.len()
    }

    /// Learns from a pour; says whether there was something to learn.
    pub fn learn(&mut self, lesson: &Lesson) -> bool {
        let Some(behind) = lesson.behind_ms() else { return false };
        self.lessons.push_back(behind);
        while self.lessons.len() > KEPT {
            self.lessons.pop_front();
        }
        true
    }
}

fn middle(values: impl Iterator<Item = u64>) -> Option<u64> {
    let mut all: Vec<u64> = values.collect();
    all.sort_unstable();
    all.get(all.len().checked_div(2)?).copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// A pour of 10 g/s that landed so many milliseconds' worth after the word, the hand's reaction included.
    fn landed_after(ms: i64) -> Lesson {
        let grams = |text: &str| Grams::parse(text).unwrap();
        let came = Grams::new(Decimal::new(ms, 2));
        Lesson { flow: grams("10"), reading: grams("100"), landed: grams("100") + came }
    }

    #[test]
    fn it_comes_to_what_the_pours_tell() {
        let mut lag = Lag::default();
        assert_eq!(lag.behind_ms(), 350);
        // 1.2 s from the word on, 0.4 s of it the hand's.
        assert!(lag.learn(&landed_after(1_200)) && lag.behind_ms() == 800);
        let mut quick = Lag::default();
        assert!(quick.learn(&landed_after(600)) && quick.behind_ms() == 350, "one is no rule for later");
        assert!(quick.learn(&landed_after(600)) && quick.behind_ms() == 200, "two are");
        for _ in 0..4 {
            lag.learn(&landed_after(1_200));
        }
        assert_eq!((lag.behind_ms(), lag.lessons()), (800, 5));
        // A scale that was set otherwise is learned anew.
        for _ in 0..10 {
            lag.learn(&landed_after(600));
        }
        assert_eq!((lag.behind_ms(), lag.lessons()), (200, 15));
        assert_eq!((lag.spread_ms(), Lag::default().spread_ms()), (100, 149), "as steady as a hand can be");
    }

    #[test]
    fn what_cannot_have_been_it_teaches_nothing() {
        let mut lag = Lag::default();
        for odd in [-200, 0, 190, 4_450, 100_000] {
            assert!(!lag.learn(&landed_after(odd)), "{odd}");
        }
        assert!(!lag.learn(&Lesson { flow: Grams::ZERO, ..landed_after(800) }));
        assert_eq!(lag, Lag::default());
    }

    #[test]
    fn an_odd_pour_among_others_changes_nothing() {
        let mut lag = Lag::default();
        for _ in 0..9 {
            lag.learn(&landed_after(900));
        }
        let before = lag.behind_ms();
        lag.learn(&landed_after(2_700));
        lag.learn(&landed_after(0));
        assert_eq!(lag.behind_ms(), before);
    }

    proptest! {
        #[test]
        fn always_within_its_bounds(kept in proptest::collection::vec(any::<u16>(), 0..40), ms in -9_999_i64..99_999) {
            let mut lag = Lag { lessons: kept.into() };
            prop_assert!((50..=3_000).contains(&lag.behind_ms()));
            prop_assert!((100..=600).contains(&lag.spread_ms()));
            lag.learn(&landed_after(ms));
            prop_assert!((50..=3_000).contains(&lag.behind_ms()));
        }
    }
}
