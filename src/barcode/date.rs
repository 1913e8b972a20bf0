//! A day as a barcode writes it: six digits, YYMMDD.

use std::fmt;

/// A day of the calendar. Shown as `2026-12-31`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day {
    year: u16,
    month: u8,
    of_month: u8,
}

impl Day {
    /// That day, if there is one.
    pub fn new(year: u16, month: u8, day: u8) -> Option<Self> {
        let is = (1..=12).contains(&month) && day >= 1 && day <= days_in(year, month);
        is.then_some(Self { year, month, of_month: day })
    }

    /// Reads `2026-12-31`.
    pub fn parse(text: &str) -> Option<Self> {
        let mut parts = text.splitn(3, '-');
        let (year, month, day) = (parts.next()?, parts.next()?, parts.next()?);
        let plain =
            |text: &str, length: usize| text.len() == length && text.bytes().all(|b| b.is_ascii_digit());
        if !(plain(year, 4) && plain(month, 2) && plain(day, 2)) {
            return None;
        }
        Self::new(year.parse().ok()?, month.parse().ok()?, day.parse().ok()?)
    }

    /// Reads YYMMDD, the year the one that is nearest to `this_year`; 00 for the day is the last of the month.
    ///
    /// GS1 General Specifications, section 7.12 "Determination of century in dates": a year of two digits that is 51 to
    /// 99 above this year's is of the century before, one that is 50 to 99 below of the one after (from memory).
    pub(super) fn from_digits(text: &str, this_year: u16) -> Option<Self> {
        if text.len() != 6 || !text.bytes().all(|byte| byte.is_ascii_digit()) {
            return None;
        }
        let number = |from: usize| text.get(from..from.checked_add(2)?)?.parse::<u8>().ok();
        let (year, month, day) = (number(0)?, number(2)?, number(4)?);
        let century = this_year.checked_div(100)?;
        let ahead = i32::from(year) - i32::from(this_year.checked_rem(100)?);
        let century = match ahead {
            51..=99 => century.checked_sub(1)?,
            -99..=-50 => century.checked_add(1)?,
            _ => century,
        };
        let year = century.checked_mul(100)?.checked_add(u16::from(year))?;
        let day = if day == 0 { days_in(year, month) } else { day };
        Self::new(year, month, day)
    }
}

const fn days_in(year: u16, month: u8) -> u8 {
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    match month {
        2 if leap => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.of_month)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case("261231", 2026, "2026-12-31")]
    #[case("280200", 2026, "2028-02-29")]
    #[case("270400", 2026, "2027-04-30")]
    // 51 above is of the century before, 50 above is not.
    #[case("770101", 2026, "1977-01-01")]
    #[case("760101", 2026, "2076-01-01")]
    // 50 below is of the century after.
    #[case("010101", 2051, "2101-01-01")]
    #[case("020101", 2051, "2002-01-01")]
    #[case("000101", 1999, "2000-01-01")]
    fn the_century_is_the_nearest(#[case] digits: &str, #[case] this_year: u16, #[case] is: &str) {
        assert_eq!(Day::from_digits(digits, this_year).map(|day| day.to_string()).as_deref(), Some(is));
        assert_eq!(Day::parse(is), Day::from_digits(digits, this_year));
    }

    #[test]
    fn what_is_no_day() {
        for digits in ["261301", "260231", "2612", "26123a", "260001"] {
            assert_eq!(Day::from_digits(digits, 2026), None, "{digits}");
        }
        for text in ["2026-1-1", "2026-02-30", "26-12-31", ""] {
            assert_eq!(Day::parse(text), None, "{text}");
        }
        assert!(Day::parse("2026-12-31") < Day::parse("2027-01-01"));
    }
}
