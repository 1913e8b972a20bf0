//! What kinds of values there are, and what is said about one that is none.

use super::FileCommand;
use super::country::COUNTRIES;
use crate::catalogue::nearest;
use crate::scale::Address;
use crate::units::{Decimal, is_unprintable, parse_area, parse_decimal, parse_volume};

/// A kind of value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// `true` or `false`.
    Switch,
    /// Whole milliseconds between two bounds.
    Milliseconds(u64, u64),
    /// Whole days between two bounds.
    Days(u16, u16),
    /// A percentage, more than nothing and at most all of it.
    Percent,
    /// A percentage of cases that are to be covered: half of them at least, and never all.
    Service,
    /// A whole number between two bounds.
    Number(u32, u32),
    /// A volume with its unit, more than nothing.
    Volume,
    /// An area with its unit, more than nothing.
    Area,
    /// One of some words.
    Choice(&'static [&'static str]),
    /// A country, by its code in ISO 3166-1.
    Country,
    /// Text of at least one character.
    Text,
    /// A file or a folder.
    Path,
    /// A scale's address.
    Address,
    /// A program and what it is told, with `{file}` for a file: `lp -d labels {file}`.
    FileCommand,
    /// Which bells ring: `x x` with pauses between, or `off`.
    Pattern,
}

/// Why a value cannot be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wrong {
    /// What is wrong, without a full stop.
    pub what: String,
    /// What was expected, to be read after "expected".
    pub expected: String,
    /// The nearest right one.
    pub nearest: Option<&'static str>,
}

/// The most bells of a sound, and the most signs.
const MOST_BELLS: usize = 8;
const MOST_SIGNS: usize = 20;

impl Kind {
    /// Holds a value against its kind.
    pub fn check(self, text: &str) -> Result<(), Wrong> {
        let trimmed = text.trim();
        let is = match self {
            Self::Switch => matches!(trimmed, "true" | "false"),
            Self::Milliseconds(least, most) => {
                trimmed.parse::<u64>().is_ok_and(|ms| (least..=most).contains(&ms))
            }
            Self::Days(least, most) => {
                trimmed.parse::<u16>().is_ok_and(|days| (least..=most).contains(&days))
            }
            Self::Percent => percent(trimmed).is_some(),
            Self::Service => percent(trimmed)
                .is_some_and(|share| share >= Decimal::new(50, 0) && share <= Decimal::new(999, 1)),
            Self::Number(least, most) => {
                trimmed.parse::<u32>().is_ok_and(|number| (least..=most).contains(&number))
            }
            Self::Volume => parse_volume(trimmed).is_ok(),
            Self::Area => parse_area(trimmed).is_ok(),
            Self::Choice(words) => words.contains(&trimmed),
            Self::Country => COUNTRIES.iter().any(|country| country.code.eq_ignore_ascii_case(trimmed)),
            Self::Text | Self::Path => !trimmed.is_empty() && !trimmed.chars().any(is_unprintable),
            Self::Address => trimmed.parse::<Address>().is_ok(),
            Self::FileCommand => FileCommand::parse(trimmed).is_some(),
            Self::Pattern => is_pattern(trimmed),
        };
        if is {
            return Ok(());
        }
        let nearest = match self {
            Self::Choice(words) => nearest(trimmed, words.iter().copied()),
            Self::Switch => nearest(trimmed, ["true", "false"]),
            Self::Country => nearest(trimmed, COUNTRIES.iter().map(|country| country.code)),
            _ => None,
        };
        let what = match (self, trimmed.parse::<Address>()) {
            (_, _) if trimmed.is_empty() => "there is nothing".to_owned(),
            (Self::Address, Err(error)) => format!("{error}"),
            _ => format!("'{}' cannot be", crate::units::clean(trimmed)),
        };
        Err(Wrong { what, expected: self.expected(), nearest })
    }

    /// What can stand there, in words.
    pub fn expected(self) -> String {
        match self {
            Self::Switch => "true or false".to_owned(),
            Self::Milliseconds(least, most) => format!("milliseconds from {least} to {most}"),
            Self::Days(least, most) => format!("days from {least} to {most}"),
            Self::Service => "a percentage from 50 % to 99.9 %".to_owned(),
            Self::Percent => "a percentage, more than 0 % and at most 100 %".to_owned(),
            Self::Number(least, most) => format!("a whole number from {least} to {most}"),
            Self::Volume => "a volume with its unit, as 40 mL".to_owned(),
            Self::Area => "an area with its unit, as 0.03 m2".to_owned(),
            Self::Choice(words) => format!("one of {}", words.join(", ")),
            Self::Country => "a country's code of two letters, as us or de".to_owned(),
            Self::Text => "text".to_owned(),
            Self::Path => "a file or a folder".to_owned(),
            Self::Address => "a scale's address, as serial:/dev/ttyUSB0?shape=sma".to_owned(),
            Self::FileCommand => {
                "a program and what it is told, with {file}, as lp -d labels {file}".to_owned()
            }
            Self::Pattern => "x for each bell with blanks for pauses, as 'x x x', or off".to_owned(),
        }
    }
}

/// A percentage as a bare number, its sign needed.
pub(super) fn percent(text: &str) -> Option<Decimal> {
    let number = parse_decimal(text.strip_suffix('%')?.trim()).ok()?;
    (number > Decimal::ZERO && number <= Decimal::ONE_HUNDRED).then_some(number)
}

fn is_pattern(text: &str) -> bool {
    text == "off"
        || ((1..=MOST_BELLS).contains(&text.matches('x').count())
            && !text.contains("xx")
            && text.chars().count() <= MOST_SIGNS
            && text.chars().all(|sign| matches!(sign, 'x' | ' ' | '-')))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_can_be_and_what_cannot() {
        for (kind, good, bad) in [
            (Kind::Switch, "true", "yes"),
            (Kind::Milliseconds(300, 10_000), "1200", "299"),
            (Kind::Days(1, 365), "7", "0"),
            (Kind::Days(1, 365), "365", "366"),
            (Kind::Service, "50 %", "49.9 %"),
            (Kind::Service, "99.9 %", "100 %"),
            (Kind::Number(0, 9), "0", "10"),
            (Kind::Number(1, 999), "999", "0"),
            (Kind::Volume, "40 mL", "40"),
            (Kind::Volume, "2 fl oz", "0 mL"),
            (Kind::Area, "0.03 m2", "0.03"),
            (Kind::Area, "0.3 ft2", "0 m2"),
            (Kind::Percent, "50 %", "50"),
            (Kind::Percent, "100%", "0 %"),
            (Kind::Choice(&["dark", "light"]), "light", "lihgt"),
            (Kind::Country, "de", "xx"),
            (Kind::Text, "Robin", "  "),
            (Kind::Address, "virtual:", "ttyUSB0"),
            (Kind::FileCommand, "lp -d 'the labels' {file}", "lp"),
            (Kind::FileCommand, "print --from={file}", "{file}"),
            (Kind::FileCommand, "lp \"{file}\"", "lp '{file}"),
            (Kind::Pattern, "x x x", "y"),
            (Kind::Pattern, "off", ""),
        ] {
            assert_eq!(kind.check(good), Ok(()), "{kind:?} {good}");
            let wrong = kind.check(bad).unwrap_err();
            assert!(!wrong.what.is_empty() && !wrong.expected.is_empty(), "{kind:?} {bad}");
        }
        let wrong = Kind::Choice(&["dark", "light"]).check("lihgt").unwrap_err();
        assert_eq!(wrong.nearest, Some("light"));
    }

    proptest! {
        #[test]
        fn any_text_is_judged(text in ".*") {
            for kind in [Kind::Switch, Kind::Percent, Kind::Country, Kind::Address, Kind::Pattern, Kind::Path] {
                let _ = kind.check(&text);
            }
        }
    }
}
