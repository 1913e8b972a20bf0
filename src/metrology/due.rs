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
