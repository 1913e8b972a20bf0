//! A formula that is no longer mixed: it stays on paper with the day, and why.

use super::fields::{Fields, Reported};
use super::page::Page;

/// Since when a formula is no longer mixed, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Retired {
    /// The day, as `2026-11-25`.
    pub on: String,
    /// Why, if its file says.
    pub because: Option<String>,
}

/// Whether that is a day of the calendar, written as ISO 8601 has it: `2026-11-25`.
pub(super) fn is_day(text: &str) -> bool {
    let shape =
        |(at, byte): (usize, u8)| if at == 4 || at == 7 { byte == b'-' } else { byte.is_ascii_digit() };
    text.len() == 10
        && text.bytes().enumerate().all(shape)
        && text.parse::<jiff::civil::Date>().is_ok_and(|date| date.to_string() == text)
}

/// The keys `retired` and `retired-because` of a colour's file.
pub(super) fn read(page: &mut Page<'_>, file: Fields<'_>) -> Result<Option<Retired>, Reported> {
    let on = file.text(page, "retired");
    let because = file.text(page, "retired-because");
    let (on, because) = (on?, because?);
    match (on, because) {
        (Some(on), because) if is_day(&on.value) => {
            Ok(Some(Retired { on: on.value, because: because.map(|because| because.value) }))
        }
        (Some(on), _) => {
            let problem = page
                .error(on.offset, format!("'{}' is not a day", on.value))
                .expected("year, month and day, like \"2026-11-25\"");
            page.report(problem);
            Err(Reported)
        }
        (None, Some(because)) => {
            let problem = page
                .error(because.offset, "this says why the colour is retired, but not since when")
                .hint("Add the day, like retired = \"2026-11-25\".");
            page.report(problem);
            Err(Reported)
        }
        (None, None) => Ok(None),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case("2026-11-25", true)]
    #[case("2024-02-29", true)]
    #[case("2026-02-29", false)]
    #[case("2026-11-31", false)]
    #[case("25.11.2026", false)]
    #[case("2026-11-25T10:00", false)]
    #[case("20261125", false)]
    #[case("", false)]
    fn a_day_is_one_of_the_calendar(#[case] text: &str, #[case] is: bool) {
        assert_eq!(is_day(text), is);
    }
}
