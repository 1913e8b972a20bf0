//! GS1 element strings: identifiers and their data, as a scanner sends them or as they stand in brackets below the bars.

use super::date::Day;
use super::gtin::Gtin;
use super::identifier::{Data, data, is_of_82, length};
use thiserror::Error;

/// What ends data of variable length where more follows: FNC1, which scanners send as this character.
const SEPARATOR: char = '\u{1d}';
/// What scanners put in front to say which kind of bars it was, where they are set to: GS1-128, GS1 `DataBar`, GS1
/// `DataMatrix`, GS1 QR Code.
const SYMBOLOGIES: [&str; 4] = ["]C1", "]e0", "]d2", "]Q3"];

/// What an element string says.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Elements {
    /// The identifiers with their data, in order.
    pub all: Vec<(String, String)>,
}

/// Why a text is no element string.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum ElementError {
    /// It does not begin like one.
    #[error("this is no GS1 code")]
    None,
    /// An identifier that is not known here, so that nobody can say where its data ends.
    #[error("the part that begins with {0} is not known here")]
    Unknown(String),
    /// Data that is too short, too long or of other characters.
    #[error("what stands behind ({0}) cannot be: '{1}'")]
    Data(String, String),
    /// A trade item's number whose check digit is wrong.
    #[error("the item's number {0} was misread: its check digit is wrong. Scan it again")]
    Misread(String),
    /// A date that is none.
    #[error("({0}) is no date: '{1}'")]
    NoDate(String, String),
}

/// Reads an element string: `(01)09506000134352(10)ABC`, or as it is sent, with or without what a scanner puts in front.
///
/// # Errors
/// It is none, or something in it is wrong; [`ElementError::None`] only where it does not even begin like one.
pub fn parse(text: &str) -> Result<Elements, ElementError> {
    let text = text.trim_matches(|letter: char| letter == ' ' || letter == '\r' || letter == '\n');
    let elements = if text.starts_with('(') { in_brackets(text)? } else { as_sent(text)? };
    for (identifier, value) in &elements.all {
        check(identifier, value)?;
    }
    Ok(elements)
}

fn in_brackets(text: &str) -> Result<Elements, ElementError> {
    let mut all = Vec::new();
    let mut rest = text;
    while !rest.is_empty() {
        let inner = rest.strip_prefix('(').and_then(|rest| rest.split_once(')'));
        let Some((identifier, behind)) = inner.filter(|(identifier, _)| is_identifier(identifier)) else {
            return Err(if all.is_empty() {
                ElementError::None
            } else {
                ElementError::Unknown(start_of(rest))
            });
        };
        // A bracket may stand in the data itself: the next identifier begins where one is in brackets.
        let end = behind
            .char_indices()
            .find(|(at, letter)| *letter == '(' && behind.get(*at..).is_some_and(begins_with_identifier))
            .map_or(behind.len(), |(at, _)| at);
        let (value, next) = behind.split_at_checked(end).unwrap_or((behind, ""));
        all.push((identifier.to_owned(), value.trim().to_owned()));
        rest = next;
    }
    Ok(Elements { all })
}

fn is_identifier(text: &str) -> bool {
    (2..=4).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit())
}

fn begins_with_identifier(text: &str) -> bool {
    let inner = text.strip_prefix('(').and_then(|rest| rest.split_once(')'));
    inner.is_some_and(|(identifier, _)| is_identifier(identifier))
}

fn as_sent(text: &str) -> Result<Elements, ElementError> {
    let bare = SYMBOLOGIES.iter().find_map(|mark| text.strip_prefix(mark));
    // Without a mark in front only a string that begins with an item's or a unit's number is taken for one: any other
    // would be a guess at somebody's own number.
    let said = bare.is_some() || text.starts_with(SEPARATOR);
    let mut rest = bare.unwrap_or(text).trim_start_matches(SEPARATOR);
    let whole =
        |length: usize| rest.get(..length).is_some_and(|start| start.bytes().all(|b| b.is_ascii_digit()));
    let guess =
        (rest.starts_with("01") && whole(16) && Gtin::parse(rest.get(2..16).unwrap_or_default()).is_some())
            || (rest.starts_with("00") && rest.len() == 20 && whole(20));
    if !said && !guess {
        return Err(ElementError::None);
    }
    let mut all = Vec::new();
    while !rest.is_empty() {
        let Some(identifier) = length(rest).and_then(|length| rest.get(..length)) else {
            return Err(ElementError::Unknown(start_of(rest)));
        };
        let behind = rest.get(identifier.len()..).unwrap_or_default();
        let variable = behind.find(SEPARATOR).unwrap_or(behind.len());
        let end = match data(identifier) {
            Some(Data::Digits(digits)) => digits,
            _ => variable,
        };
        let Some((value, next)) = behind.split_at_checked(end) else {
            return Err(ElementError::Data(identifier.to_owned(), behind.to_owned()));
        };
        all.push((identifier.to_owned(), value.to_owned()));
        rest = next.trim_start_matches(SEPARATOR);
    }
    if all.is_empty() { Err(ElementError::None) } else { Ok(Elements { all }) }
}

fn start_of(text: &str) -> String {
    text.chars().take(6).collect()
}

fn check(identifier: &str, value: &str) -> Result<(), ElementError> {
    let digits = value.bytes().all(|byte| byte.is_ascii_digit());
    let fits = match data(identifier) {
        // In brackets one that is not known here does no harm: its data ends where the next begins.
        None => true,
        Some(Data::Digits(length)) => digits && value.len() == length,
        Some(Data::UpToDigits(most)) => digits && (1..=most).contains(&value.len()),
        Some(Data::UpTo(most)) => (1..=most).contains(&value.chars().count()) && value.chars().all(is_of_82),
    };
    if !fits {
        return Err(ElementError::Data(identifier.to_owned(), crate::units::clean(value)));
    }
    match identifier {
        "01" | "02" if Gtin::parse(value).is_none() => Err(ElementError::Misread(value.to_owned())),
        // The century does not matter for whether it is a day at all, but for 29 February: any leap year does.
        "11" | "12" | "13" | "15" | "16" | "17"
            if Day::from_digits(value, 2000).is_none() && !is_leap_day(value) =>
        {
            Err(ElementError::NoDate(identifier.to_owned(), value.to_owned()))
        }
        _ => Ok(()),
    }
}

fn is_leap_day(value: &str) -> bool {
    value.ends_with("0229")
}

impl Elements {
    /// The data of an identifier.
    pub fn get(&self, identifier: &str) -> Option<&str> {
        self.all.iter().find(|(one, _)| one == identifier).map(|(_, value)| value.as_str())
    }

    /// The item: (01), or what a larger unit contains, (02).
    pub fn item(&self) -> Option<Gtin> {
        self.get("01").or_else(|| self.get("02")).and_then(Gtin::parse)
    }

    /// The batch or lot: (10).
    pub fn lot(&self) -> Option<&str> {
        self.get("10")
    }

    /// The serial number: (21).
    pub fn serial(&self) -> Option<&str> {
        self.get("21")
    }

    /// Until when it may be used: (17), or before when it is best: (15).
    pub fn expires(&self, this_year: u16) -> Option<Day> {
        let digits = self.get("17").or_else(|| self.get("15"))?;
        Day::from_digits(digits, this_year)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const BRACKETS: &str = "(01)09506000134352(17)261231(10)ABC123(21)X-7";
    const SENT: &str = "]C1010950600013435217261231\u{31}0ABC123\u{1d}21X-7";

    #[test]
    fn the_same_in_brackets_and_as_it_is_sent() {
        let sent = parse(SENT).unwrap();
        assert_eq!(parse(BRACKETS).unwrap(), sent);
        assert_eq!(sent.item(), Gtin::parse("9506000134352"));
        assert_eq!((sent.lot(), sent.serial()), (Some("ABC123"), Some("X-7")));
        assert_eq!(sent.expires(2026).unwrap().to_string(), "2026-12-31");
        // Without the mark in front, and with other marks.
        let bare = SENT.strip_prefix("]C1").unwrap();
        assert_eq!(parse(bare).unwrap(), sent);
        for mark in ["]e0", "]d2", "]Q3", "\u{1d}"] {
            assert_eq!(parse(&format!("{mark}{bare}")).unwrap(), sent, "{mark:?}");
        }
    }

    /// The worked example of a published validating parser of GS1 data ("GS1 Data Example" in the wiki of Solidsoft
    /// Reply's GS1-AI-Validating-Parser; read): a separator only behind the lot, and a day 00, which is the month's last.
    #[test]
    fn a_published_example() {
        let read = parse("010506091751001110628S93R\u{1d}17241000218898847482518646").unwrap();
        assert_eq!(read.item(), Gtin::parse("05060917510011"));
        assert_eq!((read.lot(), read.serial()), (Some("628S93R"), Some("8898847482518646")));
        assert_eq!(read.expires(2026).unwrap().to_string(), "2024-10-31");
    }

    #[test]
    fn what_is_wrong_is_said() {
        let wrong = |text: &str| parse(text).unwrap_err();
        assert_eq!(wrong("W10"), ElementError::None);
        assert_eq!(wrong("9506000134352"), ElementError::None);
        assert_eq!(wrong(""), ElementError::None);
        assert_eq!(wrong("(01)09506000134353"), ElementError::Misread("09506000134353".to_owned()));
        assert!(matches!(wrong("(01)0950600013435"), ElementError::Data(..)));
        assert!(matches!(wrong("(01)09506000134352(17)261331"), ElementError::NoDate(..)));
        assert!(matches!(wrong("]C1010950600013435"), ElementError::Data(..)));
        assert!(matches!(wrong("]C19xyz"), ElementError::Unknown(_)));
        assert!(matches!(wrong("(01)09506000134352(10)"), ElementError::Data(..)));
        // A leap day is a day, and what is not known does no harm in brackets.
        assert!(parse("(01)09506000134352(17)280229(7003)1234").is_ok());
        // Brackets may stand in the data.
        let odd = parse("(01)09506000134352(10)A(b)9").unwrap();
        assert_eq!(odd.lot(), Some("A(b)9"));
    }

    /// As a scanner would send it: fixed lengths as they come, the others ended where more follows.
    fn sent(elements: &Elements) -> String {
        let mut out = "]d2".to_owned();
        for (at, (identifier, value)) in elements.all.iter().enumerate() {
            out.push_str(identifier);
            out.push_str(value);
            let fixed = matches!(data(identifier), Some(Data::Digits(_)));
            if !fixed && at + 1 < elements.all.len() {
                out.push(SEPARATOR);
            }
        }
        out
    }

    fn element() -> impl Strategy<Value = (String, String)> {
        let pair = |identifier: &'static str, value: String| (identifier.to_owned(), value);
        prop_oneof![
            "[0-9]{13}".prop_map(move |body| {
                let digit = super::super::check_digit(&body).unwrap();
                pair("01", format!("{body}{digit}"))
            }),
            "[A-Za-z0-9/.-]{1,20}".prop_map(move |lot| pair("10", lot)),
            "[A-Za-z0-9/.-]{1,20}".prop_map(move |serial| pair("21", serial)),
            (0_u8..100, 1_u8..13, 0_u8..29)
                .prop_map(move |(y, m, d)| pair("17", format!("{y:02}{m:02}{d:02}"))),
            "[0-9]{6}".prop_map(move |mass| pair("3102", mass)),
            "[A-Z0-9]{1,30}".prop_map(move |own| pair("240", own)),
        ]
    }

    proptest! {
        #[test]
        fn what_is_sent_is_what_is_read(all in prop::collection::vec(element(), 1..6)) {
            let elements = Elements { all };
            prop_assert_eq!(parse(&sent(&elements)).unwrap(), elements.clone());
            let brackets: Vec<String> = elements.all.iter().map(|(id, value)| format!("({id}){value}")).collect();
            prop_assert_eq!(parse(&brackets.concat()).unwrap(), elements);
        }

        #[test]
        fn any_text_is_read_without_a_panic(text in "(?s).{0,60}") {
            let _ = parse(&text);
            let _ = parse(&format!("]C1{text}"));
            let _ = parse(&format!("({text}"));
        }
    }
}
