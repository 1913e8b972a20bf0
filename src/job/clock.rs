//! Flash-off, bake, pot life and booth clearance: how long is left, from the time it began and the time it is now. Nothing
//! runs here, so nothing is lost when the program is closed.

use crate::units::Stamp;
use serde::{Deserialize, Serialize};

/// A minute in microseconds.
const MINUTE: i64 = 60_000_000;

/// The longest time that can be set: a week.
pub const MOST_MINUTES: u32 = 7 * 24 * 60;

/// A time that runs out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Countdown {
    /// When it began.
    pub from: Stamp,
    /// How long it lasts, in minutes.
    pub minutes: u32,
}

/// Where a time stands; lengths in microseconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Clock {
    /// It runs: so much is left, more than nothing.
    Left(u64),
    /// It is over, since so long.
    Over(u64),
}

impl Countdown {
    /// A time of so many minutes from then on.
    pub const fn new(from: Stamp, minutes: u32) -> Self {
        Self { from, minutes }
    }

    /// How long it lasts, in microseconds.
    const fn whole(self) -> i64 {
        // A u32 of minutes is far inside an i64 of microseconds.
        (self.minutes as i64).saturating_mul(MINUTE)
    }

    /// When it is over.
    pub const fn until(self) -> Stamp {
        Stamp(self.from.0.saturating_add(self.whole()))
    }

    /// Where it stands. If the clock was set back to before it began, all of it is left and no more than that.
    pub fn at(self, now: Stamp) -> Clock {
        let left = self.until().0.saturating_sub(now.0).min(self.whole());
        if left > 0 {
            Clock::Left(left.unsigned_abs())
        } else {
            Clock::Over(now.0.saturating_sub(self.until().0).max(0).unsigned_abs())
        }
    }

    /// Whether some of it is left.
    pub fn is_running(self, now: Stamp) -> bool {
        matches!(self.at(now), Clock::Left(_))
    }

    /// How much is left, in microseconds; nothing if it is over.
    pub fn left(self, now: Stamp) -> u64 {
        match self.at(now) {
            Clock::Left(left) => left,
            Clock::Over(_) => 0,
        }
    }
}

impl Clock {
    /// The minutes left or gone by, whole ones: what is left counts as a minute as long as any of it is, so that nobody
    /// begins too early.
    pub const fn minutes(self) -> u64 {
        match self {
            Self::Left(left) => left.div_ceil(60_000_000),
            Self::Over(over) => over / 60_000_000,
        }
    }

    /// For a person: `4 min left`, `over for 2 min`.
    pub fn words(self) -> String {
        let minutes = self.minutes();
        let length = if minutes >= 120 {
            format!("{} h {} min", minutes / 60, minutes % 60)
        } else {
            format!("{minutes} min")
        };
        match self {
            Self::Left(_) => format!("{length} left"),
            Self::Over(over) if over < MINUTE.unsigned_abs() => "just over".to_owned(),
            Self::Over(_) => format!("over for {length}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_time_runs_out() {
        let five = Countdown::new(Stamp(1_000 * MINUTE), 5);
        let at = |minutes: i64, more: i64| five.at(Stamp((1_000 + minutes) * MINUTE + more));
        assert_eq!(at(0, 0), Clock::Left(300_000_000));
        assert_eq!(at(4, 59_999_999), Clock::Left(1));
        assert_eq!(at(4, 59_999_999).words(), "1 min left");
        assert_eq!(at(5, 0), Clock::Over(0));
        assert_eq!(at(5, 0).words(), "just over");
        assert_eq!(at(8, 30_000_000).words(), "over for 3 min");
        assert_eq!(at(5 + 60 * 26 + 4, 0).words(), "over for 26 h 4 min");
        // The machine's clock was set back by a day.
        assert_eq!(at(-1440, 0).words(), "5 min left");
        assert!(!Countdown::new(Stamp(0), 0).is_running(Stamp(0)));
    }

    proptest! {
        /// Never below nothing, never more than the whole, over exactly from its end on, and it does not go backwards.
        #[test]
        fn whatever_the_clock_says_a_time_is_between_nothing_and_all_of_it(
            from in any::<i64>(),
            minutes in any::<u32>(),
            now in any::<i64>(),
            later in 0_i64..1_000_000_000_000,
        ) {
            let time = Countdown::new(Stamp(from), minutes);
            let whole = u64::from(minutes) * 60_000_000;
            let (first, then) = (time.left(Stamp(now)), time.left(Stamp(now.saturating_add(later))));
            prop_assert!(first <= whole && then <= first);
            let end = i128::from(from) + i128::from(whole);
            if end <= i128::from(i64::MAX) {
                prop_assert_eq!(time.is_running(Stamp(now)), i128::from(now) < end);
                prop_assert_eq!(u128::from(first), (end - i128::from(now)).clamp(0, i128::from(whole)).unsigned_abs());
            }
        }
    }
}
