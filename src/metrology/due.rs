//! How a scale stands: checked, due, overdue or failed. Time comes in; there is no clock here.

use crate::units::Stamp;
use serde::{Deserialize, Serialize};

/// How often a scale is checked.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Every {
    /// Before anything is weighed on a day.
    #[default]
    WorkingDay,
    /// Every so many days, holidays counted; at least one.
    Days(u32),
}

/// What the bench does while a scale is overdue or has failed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum WhenOverdue {
    /// It says so.
    #[default]
    #[serde(rename = "say")]
    Say,
    /// It begins no mix.
    #[serde(rename = "refuse")]
    Refuse,
}

/// What the shop has laid down about checking a scale.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct CheckPlan {
    /// How often.
    pub every: Every,
    /// What happens when it is not done.
    pub when_overdue: WhenOverdue,
}

/// A day at the bench: days since 1970-01-01 by the clock on its wall.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day(pub i64);

/// How a scale stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// No check is on record.
    Never,
    /// Checked and right, and no other check is due yet.
    Done {
        /// When it was checked.
        at: Stamp,
    },
    /// It was right, and a check is to be made today.
    Due {
        /// When it was last checked.
        last: Stamp,
    },
    /// It was right, and a check should have been made by now.
    Overdue {
        /// When it was last checked.
        last: Stamp,
        /// How many days ago that was.
        days: u32,
    },
    /// The last check failed.
    Failed {
        /// When.
        at: Stamp,
    },
}

impl Day {
    const MICROSECONDS: i64 = 86_400_000_000;

    /// The day of a moment, where the clock on the wall is so many seconds ahead of UTC.
    pub const fn of(at: Stamp, seconds_east: i32) -> Self {
        let east = (seconds_east as i64).saturating_mul(1_000_000);
        Self(at.0.saturating_add(east).div_euclid(Self::MICROSECONDS))
    }

    /// Days from `earlier` to this; none if that is the later one.
    fn since(self, earlier: Self) -> Option<u32> {
        u32::try_from(self.0.checked_sub(earlier.0)?).ok()
    }
}

impl WhenOverdue {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Say, Self::Refuse];

    /// Its word in the shop's files.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Say => "say",
            Self::Refuse => "refuse",
        }
    }
}

impl CheckPlan {
    /// How a scale stands `now`, by its latest check: when that was and whether it passed.
    ///
    /// A failed check stands until one passes, however old it is. A check that is dated on a day still to come
    /// counts as long past: a clock was wrong, then or now.
    pub fn standing(self, latest: Option<(Stamp, bool)>, now: Stamp, seconds_east: i32) -> Standing {
        let Some((last, passed)) = latest else { return Standing::Never };
        if !passed {
            return Standing::Failed { at: last };
        }
        let Some(days) = Day::of(now, seconds_east).since(Day::of(last, seconds_east)) else {
            return Standing::Overdue { last, days: 0 };
        };
        let due_after = match self.every {
            Every::WorkingDay if days == 0 => return Standing::Done { at: last },
            Every::WorkingDay => return Standing::Overdue { last, days },
            Every::Days(every) => every.max(1),
        };
        match days.cmp(&due_after) {
            std::cmp::Ordering::Less => Standing::Done { at: last },
            std::cmp::Ordering::Equal => Standing::Due { last },
            std::cmp::Ordering::Greater => Standing::Overdue { last, days },
        }
    }

    /// Whether the bench may begin a mix on a scale that stands so.
    pub const fn lets_weigh(self, standing: Standing) -> bool {
        matches!(self.when_overdue, WhenOverdue::Say) || standing.is_well()
    }
}

impl Standing {
    /// Whether nothing is amiss: done, or due only today.
    pub const fn is_well(self) -> bool {
        matches!(self, Self::Done { .. } | Self::Due { .. })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    const HOUR: i64 = 3_600_000_000;

    /// 2025-03-03T08:00:00Z, a Monday, and so many hours later.
    fn at(hours: i64) -> Stamp {
        Stamp(1_740_988_800_000_000 + hours * HOUR)
    }

    #[test]
    fn days_begin_at_midnight_on_the_wall() {
        assert_eq!(Day::of(Stamp(0), 0), Day(0));
        assert_eq!(Day::of(Stamp(-1), 0), Day(-1));
        assert_eq!(Day::of(Stamp(0), -1), Day(-1));
        assert_eq!(Day::of(Stamp(23 * HOUR), 3_600), Day(1));
        // 2025-03-03 is day 20150: 55 years of 365 days, 14 leap days, 31 + 28 + 2 days.
        assert_eq!(Day::of(at(0), 0), Day(55 * 365 + 14 + 31 + 28 + 2));
        assert_eq!(Day::of(Stamp(i64::MAX), i32::MAX), Day(i64::MAX / 86_400_000_000));
    }

    #[rstest]
    #[case::same_hour(0, Standing::Done { at: at(0) })]
    #[case::just_before_midnight(15, Standing::Done { at: at(0) })]
    #[case::after_midnight(16, Standing::Overdue { last: at(0), days: 1 })]
    #[case::after_a_weekend(72, Standing::Overdue { last: at(0), days: 3 })]
    #[case::a_clock_that_was_wrong(-24, Standing::Overdue { last: at(0), days: 0 })]
    fn each_working_day(#[case] hours: i64, #[case] standing: Standing) {
        let plan = CheckPlan { every: Every::WorkingDay, when_overdue: WhenOverdue::Say };
        assert_eq!(plan.standing(Some((at(0), true)), at(hours), 0), standing);
    }

    #[rstest]
    #[case(7, 6, Standing::Done { at: at(0) })]
    #[case(7, 7, Standing::Due { last: at(0) })]
    #[case(7, 8, Standing::Overdue { last: at(0), days: 8 })]
    #[case(1, 0, Standing::Done { at: at(0) })]
    #[case(1, 1, Standing::Due { last: at(0) })]
    #[case(1, 2, Standing::Overdue { last: at(0), days: 2 })]
    #[case::none_is_one(0, 1, Standing::Due { last: at(0) })]
    fn every_so_many_days(#[case] every: u32, #[case] days: i64, #[case] standing: Standing) {
        let plan = CheckPlan { every: Every::Days(every), when_overdue: WhenOverdue::Say };
        assert_eq!(plan.standing(Some((at(0), true)), at(24 * days), 0), standing);
    }

    #[test]
    fn a_failed_check_stands_whatever_the_day() {
        for every in [Every::WorkingDay, Every::Days(7)] {
            let plan = CheckPlan { every, when_overdue: WhenOverdue::Say };
            for hours in [-24, 0, 1, 24, 24 * 30] {
                assert_eq!(plan.standing(Some((at(0), false)), at(hours), 0), Standing::Failed { at: at(0) });
            }
            assert_eq!(plan.standing(None, at(0), 0), Standing::Never);
        }
    }

    #[test]
    fn a_day_of_the_wall_is_not_one_of_utc() {
        let plan = CheckPlan::default();
        // Checked at 17:00 and looked at 08:00 UTC the next day: ten hours west both are another evening and night.
        let standing = |seconds_east| plan.standing(Some((at(9), true)), at(24), seconds_east);
        assert_eq!(standing(0), Standing::Overdue { last: at(9), days: 1 });
        assert_eq!(standing(-10 * 3_600), Standing::Done { at: at(9) });
    }

    #[test]
    fn only_a_shop_that_wants_it_is_refused() {
        let standings = [
            (Standing::Never, false),
            (Standing::Done { at: at(0) }, true),
            (Standing::Due { last: at(0) }, true),
            (Standing::Overdue { last: at(0), days: 2 }, false),
            (Standing::Failed { at: at(0) }, false),
        ];
        for (standing, well) in standings {
            let plan = |when_overdue| CheckPlan { when_overdue, ..CheckPlan::default() };
            assert!(plan(WhenOverdue::Say).lets_weigh(standing));
            assert_eq!(plan(WhenOverdue::Refuse).lets_weigh(standing), well, "{standing:?}");
        }
    }
}
