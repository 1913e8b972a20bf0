//! The hours, days, weeks and months of UTC that figures are added up by, so that years are few rows.

use crate::units::Stamp;
use jiff::Span as Length;
use jiff::civil::Date;

/// How long a time whose figures are kept as one sum.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Span {
    /// An hour.
    Hour,
    /// A day.
    Day,
    /// A week from Monday to Sunday, as ISO 8601 counts them.
    Week,
    /// A month of the calendar.
    Month,
}

const HOUR: i64 = 3_600_000_000;
const DAY_HOURS: i64 = 24;
const EPOCH: Date = Date::constant(1970, 1, 1);
/// The first and the last day of the years 0 to 9999, since 1970-01-01: `SQLite`'s calendar knows those.
const DAYS: std::ops::RangeInclusive<i64> = -719_528..=2_932_896;

impl Span {
    /// In a word, as the book has it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Hour => "hour",
            Self::Day => "day",
            Self::Week => "week",
            Self::Month => "month",
        }
    }

    /// Its first hour, for the span that moment is in: hours since 1970-01-01T00:00:00Z.
    pub fn first_hour(self, at: Stamp) -> i64 {
        let hour = at.0.div_euclid(HOUR);
        if self == Self::Hour {
            hour
        } else {
            self.first_day(hour.div_euclid(DAY_HOURS)).saturating_mul(DAY_HOURS)
        }
    }

    /// Its first day, for the span that day is in: days since 1970-01-01, of UTC. A day beyond the calendar stands alone.
    pub fn first_day(self, day: i64) -> i64 {
        if !DAYS.contains(&day) {
            return day;
        }
        match self {
            Self::Hour | Self::Day => day,
            // 1970-01-01 was a Thursday.
            Self::Week => day.saturating_sub(day.saturating_add(3).rem_euclid(7)),
            Self::Month => date(day).map_or(day, |date| number(date.first_of_month())),
        }
    }

    /// The first day after the span that day is in.
    pub fn next_day(self, day: i64) -> i64 {
        self.next(self.first_day(day).saturating_mul(DAY_HOURS)).div_euclid(DAY_HOURS)
    }

    /// The first hour after the span that begins with that hour.
    pub fn next(self, first: i64) -> i64 {
        let day = first.div_euclid(DAY_HOURS);
        match self {
            Self::Hour => first.saturating_add(1),
            Self::Week => first.saturating_add(7 * DAY_HOURS),
            Self::Month if DAYS.contains(&day) => {
                let days = date(day).map_or(1, |date| i64::from(date.days_in_month()));
                first.saturating_add(days.saturating_mul(DAY_HOURS))
            }
            Self::Day | Self::Month => first.saturating_add(DAY_HOURS),
        }
    }
}

fn date(day: i64) -> Option<Date> {
    Length::new().try_days(day).ok().and_then(|length| EPOCH.checked_add(length).ok())
}

fn number(date: Date) -> i64 {
    EPOCH.until(date).map_or(0, |length| i64::from(length.get_days()))
}

/// Hours one after the other, the last not among them.
pub type Hours = std::ops::Range<i64>;

/// Times, the last moment not among them.
pub type Times = std::ops::Range<Stamp>;

/// A time cut into whole spans, of those given the longest that fit (the longest first), and what is left over at its
/// ends.
pub fn cut(time: Times, spans: &[Span]) -> (Vec<(Span, Hours)>, Vec<Times>) {
    let (mut whole, mut rest) = (Vec::new(), Vec::new());
    cut_into(time, spans, &mut whole, &mut rest);
    (whole, rest)
}

fn cut_into(time: Times, spans: &[Span], whole: &mut Vec<(Span, Hours)>, rest: &mut Vec<Times>) {
    if time.start >= time.end {
        return;
    }
    let Some((span, shorter)) = spans.split_first() else {
        rest.push(time);
        return;
    };
    let begin = |hour: i64| Stamp(hour.saturating_mul(HOUR));
    let before = span.first_hour(time.start);
    let first = if begin(before) >= time.start { before } else { span.next(before) };
    let last = span.first_hour(time.end);
    if first >= last {
        return cut_into(time, shorter, whole, rest);
    }
    cut_into(time.start..begin(first), shorter, whole, rest);
    whole.push((*span, first..last));
    cut_into(begin(last)..time.end, shorter, whole, rest);
}

/// Whole spans, and how often each counts: once, or less than none where it is taken away again.
pub type Counted = Vec<(Span, Hours, i64)>;

/// A time as whole months, days and hours, and what is left over at its ends. Where more of a day of UTC is in the time than
/// is not, it is the whole day without those hours: the days of a zone near UTC are few spans so.
pub fn cover(time: Times) -> (Counted, Vec<Times>) {
    let begin = |hour: i64| Stamp(hour.saturating_mul(HOUR));
    let before = Span::Hour.first_hour(time.start);
    let first = if begin(before) >= time.start { before } else { before.saturating_add(1) };
    let last = Span::Hour.first_hour(time.end);
    if time.start >= time.end || first > last {
        return (Vec::new(), if time.start < time.end { vec![time] } else { Vec::new() });
    }
    let rest = [time.start..begin(first), begin(last)..time.end];
    let rest = rest.into_iter().filter(|part| part.start < part.end).collect();
    if last.saturating_sub(first) < DAY_HOURS {
        let hours = (Span::Hour, first..last, 1);
        return (if first < last { vec![hours] } else { Vec::new() }, rest);
    }
    let mut parts = Vec::new();
    // The midnights before and after the first hour, and those about the last.
    let midnights = |hour: i64| {
        let midnight = hour.div_euclid(DAY_HOURS).saturating_mul(DAY_HOURS);
        (midnight, midnight.saturating_add(DAY_HOURS), hour.saturating_sub(midnight))
    };
    let (midnight, next, since) = midnights(first);
    let from = if since == 0 {
        midnight
    } else if since < DAY_HOURS / 2 {
        parts.push((Span::Hour, midnight..first, -1));
        midnight
    } else {
        parts.push((Span::Hour, first..next, 1));
        next
    };
    let (midnight, next, since) = midnights(last);
    let until = if since == 0 {
        midnight
    } else if since > DAY_HOURS / 2 {
        parts.push((Span::Hour, last..next, -1));
        next
    } else {
        parts.push((Span::Hour, midnight..last, 1));
        midnight
    };
    let (days, _) = cut(begin(from)..begin(until), &[Span::Month, Span::Day]);
    parts.extend(days.into_iter().map(|(span, hours)| (span, hours, 1)));
    (parts, rest)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// 2026-10-01 was a Thursday, and day 20 727 since 1970-01-01.
    #[test]
    fn a_moment_is_in_its_hour_day_week_and_month() {
        let at = Stamp((20_727 * 24 + 13) * HOUR + 5);
        let firsts = [Span::Hour, Span::Day, Span::Week, Span::Month].map(|span| span.first_hour(at));
        assert_eq!(firsts, [20_727 * 24 + 13, 20_727 * 24, 20_724 * 24, 20_727 * 24]);
        assert_eq!(Span::Month.next(20_727 * 24), (20_727 + 31) * 24);
        assert_eq!(Span::Month.first_day(20_727 + 30), 20_727);
        assert_eq!(Span::Month.first_day(i64::MAX), i64::MAX);
    }

    /// A day an hour ahead of UTC, as in the middle of Europe in winter: three spans and not twenty-four.
    #[test]
    fn a_day_near_utc_is_few_spans() {
        let day = 20_727 * 24;
        let (parts, rest) = cover(Stamp((day - 1) * HOUR)..Stamp((day + 23) * HOUR));
        let hour = |first: i64, times| (Span::Hour, first..first + 1, times);
        assert_eq!(parts, [hour(day - 1, 1), hour(day + 23, -1), (Span::Day, day..day + 24, 1)]);
        assert_eq!(rest, []);
    }

    proptest! {
        /// What a time is cut into is all of it, each part once, and each span whole.
        #[test]
        fn the_parts_are_the_whole(start in -4_000_000_000_000_000_i64..4_000_000_000_000_000, length in 0_i64..200_000_000_000_000) {
            let (from, before) = (Stamp(start), Stamp(start + length));
            let (whole, rest) = cut(from..before, &[Span::Month, Span::Day, Span::Hour]);
            let mut parts: Vec<(i64, i64)> = rest.iter().map(|time| (time.start.0, time.end.0)).collect();
            for (span, hours) in &whole {
                prop_assert_eq!(span.first_hour(Stamp(hours.start * HOUR)), hours.start);
                prop_assert_eq!(span.first_hour(Stamp(hours.end * HOUR)), hours.end);
                parts.push((hours.start * HOUR, hours.end * HOUR));
            }
            parts.sort_unstable();
            let mut at = start;
            for (first, last) in parts {
                prop_assert_eq!(first, at);
                prop_assert!(first < last);
                at = last;
            }
            prop_assert_eq!(at, start + length);
            prop_assert!(rest.iter().all(|time| time.end.0 - time.start.0 < HOUR * 2));
        }

        /// Each moment of a time is counted once, and no other.
        #[test]
        fn a_time_is_covered_once(
            start in -4_000_000_000_000_000_i64..4_000_000_000_000_000,
            to_the_hour: bool,
            length in prop_oneof![0..3 * HOUR, 0..60 * HOUR, 0..200_000_000_000_000_i64],
            moments in prop::collection::vec(-200_i64..1_200, 40),
        ) {
            let whole = |at: i64| if to_the_hour { at.div_euclid(HOUR) * HOUR } else { at };
            let (start, end) = (whole(start), whole(start + length));
            let (parts, rest) = cover(Stamp(start)..Stamp(end));
            for (span, hours, _) in &parts {
                prop_assert!(hours.start < hours.end);
                prop_assert_eq!(span.first_hour(Stamp(hours.start * HOUR)), hours.start);
                prop_assert_eq!(span.first_hour(Stamp(hours.end * HOUR)), hours.end);
            }
            prop_assert!(rest.iter().all(|time| time.end.0 - time.start.0 < HOUR * 2));
            let edges = [start - 1, start, end - 1, end, start - DAY_HOURS * HOUR, end + DAY_HOURS * HOUR / 2];
            for at in moments.iter().map(|share| start + share * (length / 1_000)).chain(edges) {
                let whole = parts.iter().filter(|(_, hours, _)| hours.contains(&at.div_euclid(HOUR)));
                let left = rest.iter().map(|time| i64::from(time.contains(&Stamp(at))));
                let times: i64 = whole.map(|(_, _, times)| *times).chain(left).sum();
                prop_assert_eq!(times, i64::from(start <= at && at < end), "{} {:?} {:?}", at, parts, rest);
            }
        }

        /// A span's first day is in it, and the day before the next one's first too.
        #[test]
        fn spans_follow_on(day in -1_000_000_i64..4_000_000) {
            for span in [Span::Day, Span::Week, Span::Month] {
                let first = span.first_day(day);
                prop_assert!(first <= day && day < span.next(first * 24) / 24, "{:?} {}", span, first);
                prop_assert_eq!(span.first_day(first), first);
            }
        }
    }
}
