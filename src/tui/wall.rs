//! A moment as the clock on the wall has it.

use crate::units::Stamp;
use jiff::civil::DateTime;
use jiff::tz::Offset;

fn moment(at: Stamp, seconds_east: i32) -> DateTime {
    let offset = Offset::from_seconds(seconds_east).unwrap_or(Offset::UTC);
    offset.to_datetime(jiff::Timestamp::from_microsecond(at.0).unwrap_or_default())
}

/// The day and the minute, `2026-11-25 07:30`.
pub(super) fn when(at: Stamp, seconds_east: i32) -> String {
    moment(at, seconds_east).strftime("%Y-%m-%d %H:%M").to_string()
}

/// The day, `2026-11-25`.
pub(super) fn day(at: Stamp, seconds_east: i32) -> String {
    moment(at, seconds_east).date().to_string()
}

/// The second of the day, `07:30:41`.
pub(super) fn time(at: Stamp, seconds_east: i32) -> String {
    moment(at, seconds_east).strftime("%H:%M:%S").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 2026-09-28 23:30:41 in UTC, and half an hour past midnight an hour east of it.
    #[test]
    fn by_the_clock_where_the_shop_is() {
        let at = Stamp(1_790_638_241_000_000);
        assert_eq!(when(at, 0), "2026-09-28 23:30");
        assert_eq!(
            (day(at, 3_600), when(at, 3_600)),
            ("2026-09-29".to_owned(), "2026-09-29 00:30".to_owned())
        );
        assert_eq!(time(at, 3_600), "00:30:41");
        assert_eq!(day(at, i32::MAX), "2026-09-28", "no zone is so far east");
    }
}
