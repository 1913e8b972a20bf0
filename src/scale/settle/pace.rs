//! How quickly readings usually come, and which of them come too quickly to be evidence.
//!
//! What was held up on its way (by a network, a stopped program, a server's buffer) comes in one burst: many old
//! readings, not many readings. No scale says more by saying it faster than it weighs.

use crate::units::Moment;

/// The time from one piece of evidence to the next.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Pace {
    /// When the last reading came that counted.
    pub(super) counted: Option<Moment>,
    /// The usual time between two, in milliseconds; nothing while not known.
    pub(super) usual_ms: u64,
}

impl Pace {
    /// Whether a reading of that moment comes too soon after the last that counted: sooner than `apart_ms`, or than
    /// a third of the usual time. A third leaves room for a line that hands on what it has in lumps.
    pub(super) fn hurries(&self, at: Moment, apart_ms: u64) -> bool {
        let least = apart_ms.max(self.usual_ms / 3);
        self.counted.is_some_and(|counted| at.since(counted) < least)
    }

    /// Takes in one that counts. Each moves the usual time by a quarter of the way, so that a scale that is set to
    /// another pace is believed at it within a few seconds; a silence says nothing of the pace.
    pub(super) fn count(&mut self, at: Moment, apart_ms: u64, silence_ms: u64) {
        if let Some(counted) = self.counted.replace(at) {
            let took = at.since(counted);
            if (apart_ms..silence_ms).contains(&took) {
                self.usual_ms = match self.usual_ms {
                    0 => took,
                    usual => usual.saturating_mul(3).saturating_add(took) / 4,
                };
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// How many of the readings at those moments count.
    fn counted(pace: &mut Pace, moments: impl IntoIterator<Item = u64>) -> usize {
        let mut count = 0;
        for at in moments.into_iter().map(Moment) {
            if !pace.hurries(at, 40) {
                pace.count(at, 40, 1_000);
                count += 1;
            }
        }
        count
    }

    #[test]
    fn at_an_even_pace_every_reading_counts() {
        for every in [40, 50, 100, 200, 500, 900] {
            assert_eq!(counted(&mut Pace::default(), (0..50).map(|n| n * every)), 50, "{every} ms");
        }
    }

    #[test]
    fn a_burst_counts_once() {
        let mut pace = Pace::default();
        counted(&mut pace, (0..20).map(|n| n * 100));
        // Twenty readings in 30 ms, after a second and a half in which nothing came.
        assert_eq!(counted(&mut pace, (0..20).map(|n| 3_400 + n * 3 / 2)), 1);
        assert_eq!(counted(&mut pace, [3_500, 3_600]), 2, "and then as ever");
    }

    #[test]
    fn a_jittery_line_costs_a_reading_now_and_then_and_no_more() {
        let mut pace = Pace::default();
        // Ten a second, each up to 60 ms late.
        let late = |n: u64| n * 100 + (n * 37) % 60;
        let count = counted(&mut pace, (0..200).map(late));
        assert!(count >= 190, "{count} of 200");
        // Fifty a second, two at a time.
        let count = counted(&mut Pace::default(), (0..100).flat_map(|n| [n * 40, n * 40 + 2]));
        assert!(count >= 99, "{count} of 100 pairs");
    }

    #[test]
    fn a_new_pace_is_learnt_within_seconds() {
        let mut pace = Pace::default();
        counted(&mut pace, (0..10).map(|n| n * 900));
        counted(&mut pace, (0..150).map(|n| 9_000 + n * 20));
        let count = counted(&mut pace, (0..50).map(|n| 12_000 + n * 20));
        assert!(count >= 24, "{count} of 25 that are 40 ms apart");
        assert!(counted(&mut pace, (0..50).map(|n| 14_000 + n * 300)) == 50);
    }
}
