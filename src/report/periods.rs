//! Which days a report is of, and the days, weeks and months in it. Pure: the present and the zone are given.

use crate::book::spans::Times;
use crate::units::Stamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Span, Timestamp};
use std::str::FromStr;
use thiserror::Error;

/// A report without a word about its days is of so many, today the last.
const USUAL_DAYS: u16 = 30;

/// No period is longer: each of its days is counted.
const MOST_YEARS: u16 = 100;

/// Why there is no such period.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum PeriodError {
    /// It is no length of time.
    #[error("'{0}' is no length of time. Write a number and d, w, m or y: 30d, 4w, 6m, 1y")]
    NoLength(String),
    /// It is no day.
    #[error("'{0}' is no day. Write year, month and day: 2026-10-01")]
    NoDay(String),
    /// The end comes before the beginning.
    #[error("the first day, {first}, comes after the last, {last}")]
    Backwards {
        /// The first day that was asked for.
        first: Date,
        /// The last.
        last: Date,
    },
    /// Both a first day and a length were given.
    #[error("say either from which day, or how long back: not both")]
    Both,
    /// Nobody has a book so old.
    #[error("a report is of a hundred years at most")]
    TooLong,
    /// The calendar does not reach so far.
    #[error("the calendar does not reach so far")]
    TooFar,
}

/// How long back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Last {
    count: u16,
    unit: Length,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Length {
    Days,
    Weeks,
    Months,
    Years,
}

impl FromStr for Last {
    type Err = PeriodError;

    /// Reads `30d`, `4w`, `6m` or `1y`.
    fn from_str(text: &str) -> Result<Self, PeriodError> {
        let wrong = || PeriodError::NoLength(text.to_owned());
        let text = text.trim();
        let unit = match text.chars().last() {
            Some('d') => Length::Days,
            Some('w') => Length::Weeks,
            Some('m') => Length::Months,
            Some('y') => Length::Years,
            _ => return Err(wrong()),
        };
        let digits = text.trim_end_matches(|c: char| c.is_ascii_lowercase());
        let is_plain = digits.len().checked_add(1) == Some(text.len()) && !digits.starts_with('+');
        let count = digits.parse().ok().filter(|count| is_plain && *count > 0).ok_or_else(wrong)?;
        Ok(Self { count, unit })
    }
}

impl Last {
    /// None if it is longer than a hundred years.
    fn span(self) -> Option<Span> {
        let per_year = match self.unit {
            Length::Days => 366,
            Length::Weeks => 53,
            Length::Months => 12,
            Length::Years => 1,
        };
        let (count, span) = (i64::from(self.count), Span::new());
        (self.count.div_ceil(per_year) <= MOST_YEARS).then(|| match self.unit {
            Length::Days => span.days(count),
            Length::Weeks => span.weeks(count),
            Length::Months => span.months(count),
            Length::Years => span.years(count),
        })
    }
}

/// Reads a day, as `2026-10-01`.
pub fn day(text: &str) -> Result<Date, PeriodError> {
    let wrong = || PeriodError::NoDay(text.to_owned());
    let text = text.trim();
    // Longer forms have a time in them, and nobody knows in which zone.
    if text.len() != 10 {
        return Err(wrong());
    }
    text.parse().ok().ok_or_else(wrong)
}

/// What the days of a period are put together to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bucket {
    /// Each day, as `2026-10-01`.
    Day,
    /// Weeks from Monday to Sunday as ISO 8601 counts them, as `2026-W40`.
    Week,
    /// Months, as `2026-10`.
    Month,
}

impl Bucket {
    /// The name of the one that day is in. In order of time the names are in order too.
    pub fn of(self, date: Date) -> String {
        match self {
            Self::Day => date.to_string(),
            Self::Week => {
                let week = date.iso_week_date();
                format!("{:04}-W{:02}", week.year(), week.week())
            }
            Self::Month => format!("{:04}-{:02}", date.year(), date.month()),
        }
    }
}

/// Whole days one after the other, in the zone of who asks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Period {
    first: Date,
    last: Date,
    zone: TimeZone,
}

impl Period {
    /// From that day to that, both included. Without a first day it is so long as `last` says, or 30 days; without a last
    /// day it ends today.
    pub fn new(
        since: Option<Date>,
        until: Option<Date>,
        last: Option<Last>,
        now: Stamp,
        zone: TimeZone,
    ) -> Result<Self, PeriodError> {
        let end = until.or_else(|| date_in(now, &zone)).ok_or(PeriodError::TooFar)?;
        let first = match (since, last) {
            (Some(_), Some(_)) => return Err(PeriodError::Both),
            (Some(first), None) => first,
            (None, last) => {
                let last = last.unwrap_or(Last { count: USUAL_DAYS, unit: Length::Days });
                let after = end.tomorrow().ok().ok_or(PeriodError::TooFar)?;
                after.checked_sub(last.span().ok_or(PeriodError::TooLong)?).ok().ok_or(PeriodError::TooFar)?
            }
        };
        if first > end {
            return Err(PeriodError::Backwards { first, last: end });
        }
        if end.year().saturating_sub(first.year()).unsigned_abs() > MOST_YEARS {
            return Err(PeriodError::TooLong);
        }
        let period = Self { first, last: end, zone };
        // That both ends are moments too is found out here, once.
        period.bounds().ok_or(PeriodError::TooFar)?;
        Ok(period)
    }

    /// The same without the days before that one.
    #[must_use]
    pub fn beginning(&self, first: Date) -> Self {
        Self { first: first.clamp(self.first, self.last), ..self.clone() }
    }

    /// The first day.
    pub fn first(&self) -> Date {
        self.first
    }

    /// The last day; it belongs to it.
    pub fn last(&self) -> Date {
        self.last
    }

    fn bounds(&self) -> Option<(Stamp, Stamp)> {
        let start = |date: Date| {
            let moment = date.to_zoned_datetime(self.zone.clone()).ok()?;
            Some(Stamp(moment.timestamp().as_microsecond()))
        };
        Some((start(self.first)?, start(self.last.tomorrow().ok()?)?))
    }

    /// The first moment.
    pub fn from(&self) -> Stamp {
        self.bounds().map_or(Stamp(i64::MIN), |(from, _)| from)
    }

    /// The first moment that is too late.
    pub fn before(&self) -> Stamp {
        self.bounds().map_or(Stamp(i64::MAX), |(_, before)| before)
    }

    /// The first and the last day as the book counts them: days since 1970-01-01.
    pub fn days(&self) -> (i64, i64) {
        (epoch_day(self.first), epoch_day(self.last))
    }

    /// The day of a moment.
    pub fn date_of(&self, at: Stamp) -> Date {
        date_in(at, &self.zone).unwrap_or(self.first)
    }

    /// All its days, weeks or months in order, those in which nothing happened too.
    pub fn buckets(&self, bucket: Bucket) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        for date in self.first.series(Span::new().days(1)).take_while(|date| *date <= self.last) {
            let name = bucket.of(date);
            if names.last() != Some(&name) {
                names.push(name);
            }
        }
        names
    }
}

impl Period {
    /// Its days, weeks or months in order, and when each of them is, as far as it is in the period.
    pub fn times(&self, bucket: Bucket) -> Vec<(String, Times)> {
        let start = |date: Date| {
            let moment = date.to_zoned_datetime(self.zone.clone()).ok();
            moment.map_or(Stamp(i64::MAX), |moment| Stamp(moment.timestamp().as_microsecond()))
        };
        let mut times: Vec<(String, Times)> = Vec::new();
        let before = self.before();
        for date in self.first.series(Span::new().days(1)).take_while(|date| *date <= self.last) {
            let name = bucket.of(date);
            if times.last().is_none_or(|(last, _)| *last != name) {
                let begun = start(date);
                if let Some((_, time)) = times.last_mut() {
                    time.end = begun;
                }
                times.push((name, begun..before));
            }
        }
        times
    }
}

/// The day with that number since 1970-01-01.
pub fn date_of_epoch_day(day: i64) -> Option<Date> {
    Span::new().try_days(day).ok().and_then(|span| EPOCH.checked_add(span).ok())
}

const EPOCH: Date = Date::constant(1970, 1, 1);

fn epoch_day(date: Date) -> i64 {
    EPOCH.until(date).map_or(0, |span| i64::from(span.get_days()))
}

fn date_in(at: Stamp, zone: &TimeZone) -> Option<Date> {
    let moment = Timestamp::from_microsecond(at.0).ok()?;
    Some(moment.to_zoned_datetime(zone.clone()).date())
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;
    use proptest::prelude::*;
    use rstest::rstest;

    /// 2026-11-26, 04:00 in UTC.
    const NOW: Stamp = Stamp(1_795_665_600_000_000);

    fn east(hours: i8) -> TimeZone {
        jiff::tz::offset(hours).to_time_zone()
    }

    fn last(text: &str) -> Period {
        Period::new(None, None, Some(text.parse().unwrap()), NOW, TimeZone::UTC).unwrap()
    }

    #[rstest]
    #[case("30d", date(2026, 10, 28))]
    #[case("1d", date(2026, 11, 26))]
    #[case("4w", date(2026, 10, 30))]
    #[case("6m", date(2026, 5, 27))]
    #[case("1y", date(2025, 11, 27))]
    fn so_long_back_ends_today(#[case] text: &str, #[case] first: Date) {
        let period = last(text);
        assert_eq!((period.first(), period.last()), (first, date(2026, 11, 26)));
    }

    #[rstest]
    #[case("")]
    #[case("d")]
    #[case("0d")]
    #[case("-3d")]
    #[case("+3d")]
    #[case("3")]
    #[case("3 d")]
    #[case("3dd")]
    #[case("3h")]
    #[case("99999d")]
    fn what_is_no_length_is_said(#[case] text: &str) {
        assert_eq!(text.parse::<Last>(), Err(PeriodError::NoLength(text.to_owned())));
    }

    #[test]
    fn a_day_is_year_month_and_day() {
        assert_eq!(day(" 2026-10-01 "), Ok(date(2026, 10, 1)));
        for text in ["2026-13-01", "2026-02-30", "1.10.2026", "20261001", "2026-10-01T08:00", ""] {
            assert_eq!(day(text), Err(PeriodError::NoDay(text.to_owned())), "{text}");
        }
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let of = |since, until, last| Period::new(since, until, last, NOW, TimeZone::UTC);
        let october = date(2026, 10, 1);
        assert_eq!(
            of(Some(october), Some(date(2026, 9, 30)), None),
            Err(PeriodError::Backwards { first: october, last: date(2026, 9, 30) })
        );
        assert_eq!(of(Some(october), None, "1d".parse().ok()), Err(PeriodError::Both));
        for long in ["101y", "1201m", "65535y", "65535d"] {
            assert_eq!(of(None, None, long.parse().ok()), Err(PeriodError::TooLong), "{long}");
        }
        assert!(of(None, None, "100y".parse().ok()).is_ok());
        assert_eq!(of(Some(october), Some(date(2127, 1, 1)), None), Err(PeriodError::TooLong));
        let end = date(9999, 12, 31);
        assert_eq!(of(Some(end), Some(end), None), Err(PeriodError::TooFar));
    }

    /// At four in the morning of UTC it is still the evening before in the west.
    #[test]
    fn the_days_are_those_of_the_zone() {
        let period = Period::new(None, None, "1d".parse().ok(), NOW, east(-8)).unwrap();
        assert_eq!(period.last(), date(2026, 11, 25));
        // Midnight eight hours west of UTC is eight there.
        assert_eq!(period.from(), Stamp(NOW.0 - 20 * 3_600_000_000));
        assert_eq!(period.before().0 - period.from().0, 86_400_000_000);
        assert_eq!(period.date_of(period.from()), date(2026, 11, 25));
        assert_eq!(period.date_of(Stamp(period.before().0 - 1)), date(2026, 11, 25));
        assert_eq!(period.date_of(period.before()), date(2026, 11, 26));
    }

    /// The weeks are those of the examples in ISO 8601's usual tables: 2021-01-03 is still in week 53 of 2020, and
    /// 2024-12-30 in week 1 of 2025 (from memory).
    #[rstest]
    #[case(date(2021, 1, 3), "2020-W53")]
    #[case(date(2021, 1, 4), "2021-W01")]
    #[case(date(2024, 12, 29), "2024-W52")]
    #[case(date(2024, 12, 30), "2025-W01")]
    fn weeks_are_counted_as_iso_8601_does(#[case] day: Date, #[case] week: &str) {
        assert_eq!(Bucket::Week.of(day), week);
    }

    #[test]
    fn every_bucket_is_there_once_and_in_order() {
        let period =
            Period::new(Some(date(2026, 9, 30)), Some(date(2026, 11, 2)), None, NOW, TimeZone::UTC).unwrap();
        assert_eq!(period.buckets(Bucket::Month), ["2026-09", "2026-10", "2026-11"]);
        let weeks = ["2026-W40", "2026-W41", "2026-W42", "2026-W43", "2026-W44", "2026-W45"];
        assert_eq!(period.buckets(Bucket::Week), weeks);
        assert_eq!(period.buckets(Bucket::Day).len(), 34);
    }

    proptest! {
        #[test]
        fn a_day_and_its_number_are_the_same_day(number in -100_000_i64..1_000_000) {
            let date = date_of_epoch_day(number).unwrap();
            prop_assert_eq!(epoch_day(date), number);
            let noon = Stamp(number * 86_400_000_000 + 43_200_000_000);
            prop_assert_eq!(date_in(noon, &TimeZone::UTC), Some(date));
        }

        #[test]
        fn every_day_of_a_period_is_in_one_of_its_buckets(start in 0_i64..30_000, length in 0_i64..500) {
            let first = date_of_epoch_day(start).unwrap();
            let last = date_of_epoch_day(start + length).unwrap();
            let period = Period::new(Some(first), Some(last), None, NOW, TimeZone::UTC).unwrap();
            prop_assert_eq!(period.days(), (start, start + length));
            for bucket in [Bucket::Day, Bucket::Week, Bucket::Month] {
                let names = period.buckets(bucket);
                prop_assert!(names.is_sorted_by(|a, b| a < b));
                for day in start..=start + length {
                    prop_assert!(names.contains(&bucket.of(date_of_epoch_day(day).unwrap())));
                }
            }
        }
    }
}
