//! Over which days something is counted: `--since 2026-10-01`, `--last 30d`, and by day, week or month.
//!
//! Days are the shop's own, as its calendar has them; weeks are those of ISO 8601 (from Monday; the first of a year is
//! the one with its first Thursday). The day it is comes in.

use crate::units::Stamp;
use jiff::civil::{Date, Weekday};
use jiff::tz::TimeZone;
use jiff::{Span, ToSpan as _};
use thiserror::Error;

/// Whole days, one after another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Period {
    /// The first.
    pub first: Date,
    /// The last, not before the first.
    pub last: Date,
}

/// Into what a period is divided.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// Days: `2026-10-01`.
    Day,
    /// Weeks: `2026-W40`.
    Week,
    /// Months: `2026-10`.
    Month,
}

/// A part of a period, and what it is called. The first and the last may be cut short by the period.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// Its name by ISO 8601.
    pub name: String,
    /// Its days.
    pub days: Period,
}

/// Why a period cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum PeriodError {
    /// No day.
    #[error("'{0}' is no day: write year, month and day, as 2026-10-01")]
    NoDay(String),
    /// A day to come.
    #[error("{0} is still to come: name today or a day before it")]
    ToCome(Date),
    /// No time.
    #[error("'{0}' is no length of time: write days, weeks, months or years, as 30d, 4w, 6m or 1y")]
    NoLength(String),
    /// Before any calendar.
    #[error("'{0}' goes back further than the calendar does")]
    TooLong(String),
}

impl Period {
    /// From that day to today.
    pub fn since(text: &str, today: Date) -> Result<Self, PeriodError> {
        let text = text.trim();
        let is_plain = text.len() == 10 && text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'-');
        let first: Option<Date> = text.parse().ok().filter(|_| is_plain);
        let first = first.ok_or_else(|| PeriodError::NoDay(text.to_owned()))?;
        if first > today { Err(PeriodError::ToCome(first)) } else { Ok(Self { first, last: today }) }
    }

    /// The last so many days, weeks, months or years, today being the last of them: `30d`, `4w`, `6m`, `1y`.
    ///
    /// A month ago is the same day of the month before, or its last where it has no such day.
    pub fn last(text: &str, today: Date) -> Result<Self, PeriodError> {
        let text = text.trim();
        let nothing = || PeriodError::NoLength(text.to_owned());
        let unit = text.chars().last().ok_or_else(nothing)?;
        let digits = text.strip_suffix(unit).unwrap_or_default();
        if digits.is_empty() || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
            return Err(nothing());
        }
        let too_long = || PeriodError::TooLong(text.to_owned());
        let count: i64 = digits.parse().map_err(|_too_many_digits| too_long())?;
        if count == 0 {
            return Err(nothing());
        }
        let span = match unit {
            'd' => Span::new().try_days(count),
            'w' => Span::new().try_weeks(count),
            'm' => Span::new().try_months(count),
            'y' => Span::new().try_years(count),
            _ => return Err(nothing()),
        };
        let before = span.and_then(|span| today.checked_sub(span));
        let first = before.and_then(Date::tomorrow).map_err(|_out_of_range| too_long())?;
        Ok(Self { first, last: today })
    }

    /// Whether the day is one of them.
    pub fn has(self, day: Date) -> bool {
        self.first <= day && day <= self.last
    }

    /// When it begins, and when it is over: the first moment of its first day, and that of the day after its last, on a
    /// clock in that zone. None for days no clock can show.
    pub fn moments(self, zone: &TimeZone) -> Option<(Stamp, Stamp)> {
        let start = |day: Date| {
            let midnight = day.to_zoned_datetime(zone.clone()).ok()?;
            Some(Stamp(midnight.timestamp().as_microsecond()))
        };
        Some((start(self.first)?, start(self.last.tomorrow().ok()?)?))
    }

    /// Its parts in order: every day of it is in one of them.
    pub fn parts(self, step: Step) -> Vec<Part> {
        let mut parts = Vec::new();
        let mut first = self.first;
        while first <= self.last {
            let whole = step.last_of(first);
            let last = whole.min(self.last);
            parts.push(Part { name: step.name(first), days: Self { first, last } });
            let Ok(next) = last.tomorrow() else { break };
            first = next;
        }
        parts
    }
}

impl Step {
    /// What the part with that day is called.
    pub fn name(self, day: Date) -> String {
        match self {
            Self::Day => day.to_string(),
            Self::Week => {
                let week = day.iso_week_date();
                format!("{:04}-W{:02}", week.year(), week.week())
            }
            Self::Month => format!("{:04}-{:02}", day.year(), day.month()),
        }
    }

    /// The last day of the part with that day.
    fn last_of(self, day: Date) -> Date {
        match self {
            Self::Day => day,
            Self::Week => {
                let left = day.weekday().until(Weekday::Sunday);
                day.saturating_add(i64::from(left).days())
            }
            Self::Month => day.last_of_month(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;
    use proptest::prelude::*;

    const TODAY: Date = date(2026, 11, 26);

    #[test]
    fn since_a_day() {
        assert_eq!(
            Period::since(" 2026-10-01 ", TODAY),
            Ok(Period { first: date(2026, 10, 1), last: TODAY })
        );
        assert_eq!(Period::since("2026-11-26", TODAY), Ok(Period { first: TODAY, last: TODAY }));
        assert_eq!(Period::since("2026-11-27", TODAY), Err(PeriodError::ToCome(date(2026, 11, 27))));
        for wrong in
            ["", "yesterday", "2026-02-29", "2026-13-01", "01.10.2026", "20261001", "2026-10-01T12:00"]
        {
            let said = Period::since(wrong, TODAY).unwrap_err();
            assert!(matches!(said, PeriodError::NoDay(_)), "{wrong}: {said}");
        }
    }

    #[test]
    fn the_last_of_each_unit() {
        for (text, today, first) in [
            ("1d", TODAY, TODAY),
            ("30d", TODAY, date(2026, 10, 28)),
            ("4w", TODAY, date(2026, 10, 30)),
            ("6m", TODAY, date(2026, 5, 27)),
            ("1y", TODAY, date(2025, 11, 27)),
            // A month before the 31st of March is the last of February, in a leap year and in others.
            ("1m", date(2026, 3, 31), date(2026, 3, 1)),
            ("1m", date(2028, 3, 31), date(2028, 3, 1)),
            ("1m", date(2028, 3, 29), date(2028, 3, 1)),
            ("1y", date(2028, 2, 29), date(2027, 3, 1)),
        ] {
            assert_eq!(Period::last(text, today), Ok(Period { first, last: today }), "{text} at {today}");
        }
        for wrong in ["", "d", "0d", "-3d", "3", "3 d", "3h", "1.5m", "٣d", "3M"] {
            let said = Period::last(wrong, TODAY).unwrap_err();
            assert!(matches!(said, PeriodError::NoLength(_)), "{wrong}: {said}");
        }
        for wrong in ["99999y", "99999999999999999999d"] {
            assert!(matches!(Period::last(wrong, TODAY), Err(PeriodError::TooLong(_))), "{wrong}");
        }
    }

    /// From memory, the examples by which ISO 8601's weeks are usually explained: the last days of December can be in
    /// the first week of the next year, the first of January in the last of the year before.
    #[test]
    fn weeks_are_those_of_iso_8601() {
        for (day, week) in [
            (date(2005, 1, 1), "2004-W53"),
            (date(2005, 1, 2), "2004-W53"),
            (date(2005, 12, 31), "2005-W52"),
            (date(2007, 1, 1), "2007-W01"),
            (date(2007, 12, 30), "2007-W52"),
            (date(2007, 12, 31), "2008-W01"),
            (date(2008, 12, 28), "2008-W52"),
            (date(2008, 12, 29), "2009-W01"),
            (date(2010, 1, 3), "2009-W53"),
        ] {
            assert_eq!(Step::Week.name(day), week, "{day}");
        }
    }

    #[test]
    fn a_period_in_parts() {
        let period = Period { first: date(2026, 9, 30), last: date(2026, 10, 12) };
        let names = |step| period.parts(step).into_iter().map(|part| part.name).collect::<Vec<_>>();
        assert_eq!(names(Step::Week), ["2026-W40", "2026-W41", "2026-W42"]);
        assert_eq!(names(Step::Month), ["2026-09", "2026-10"]);
        assert_eq!(names(Step::Day).len(), 13);
        let weeks = period.parts(Step::Week);
        assert_eq!(weeks[0].days, Period { first: date(2026, 9, 30), last: date(2026, 10, 4) });
        assert_eq!(weeks[2].days, Period { first: date(2026, 10, 12), last: date(2026, 10, 12) });
    }

    /// A day on which the clocks go back has an hour more.
    #[test]
    fn a_days_moments_are_its_own_clocks() {
        let day = Period { first: date(2026, 10, 25), last: date(2026, 10, 25) };
        let hours = |zone: &TimeZone| {
            let (begin, end) = day.moments(zone).unwrap();
            (end.0 - begin.0) / 3_600_000_000
        };
        assert_eq!(hours(&TimeZone::UTC), 24);
        // Central European time, written out (POSIX), so that no list of zones is needed.
        let zone = TimeZone::posix("CET-1CEST,M3.5.0,M10.5.0/3").unwrap();
        assert_eq!(hours(&zone), 25);
        // 2026-10-25T00:00+02:00.
        assert_eq!(day.moments(&zone).unwrap().0, Stamp(1_792_879_200_000_000));
    }

    fn days() -> impl Strategy<Value = Date> {
        (1990_i16..2090, 1_i8..=12, 1_i8..=28).prop_map(|(year, month, day)| date(year, month, day))
    }

    proptest! {
        /// Each day is in exactly one part, and that one has the day's name.
        #[test]
        fn no_day_is_lost_or_counted_twice(first in days(), length in 0_i64..800, which in 0_usize..3) {
            let step = [Step::Day, Step::Week, Step::Month][which];
            let period = Period { first, last: first.saturating_add(length.days()) };
            let parts = period.parts(step);
            let mut day = first;
            for part in &parts {
                prop_assert_eq!(part.days.first, day);
                prop_assert!(part.days.first <= part.days.last);
                while day <= part.days.last {
                    prop_assert!(period.has(day));
                    prop_assert_eq!(step.name(day), part.name.clone());
                    day = day.tomorrow().unwrap();
                }
            }
            prop_assert_eq!(day, period.last.tomorrow().unwrap());
            prop_assert!(parts.windows(2).all(|pair| pair[0].name < pair[1].name));
        }
    }
}
