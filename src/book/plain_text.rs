//! The postings as a plain-text double-entry journal, in the common form that plain-text accounting programs read: a
//! date and a description, and below them, set in, each account and what came into it or, below nothing, went out.
//!
//! A toner is a commodity of its own, `"W10 g"`, so that each balances by itself; amounts are grams with six decimals,
//! which is to the microgram. A toner's, an account's and an operator's text may hold what such a journal takes for
//! something else (`;`, quotes, two blanks, a colon), so those characters are written as in a URI (RFC 3986, 2.1):
//! `%3B`. Read back that way, no two accounts and no two toners are ever the same.

use super::{Envelope, Posting};
use crate::units::{Stamp, is_unprintable};
use jiff::tz::TimeZone;
use std::fmt::Write as _;

/// What stands at the top of the file.
pub const HEAD: &str =
    "; Where the paint went, from a Pourbook book. Amounts are grams; each toner is a commodity.\n";

/// What stands where a name is empty; no escaped character looks like it.
const NOTHING: &str = "%%";

/// An event as one transaction of the journal, with the blank line before it; none if it moves nothing.
///
/// It is dated as a clock in `zone` shows its time.
pub fn transaction(envelope: &Envelope, zone: &TimeZone) -> Option<String> {
    if envelope.postings.is_empty() {
        return None;
    }
    let mut text = format!(
        "\n{} {}  ; event:{}, by:{}\n",
        date(envelope.at, zone),
        escaped(&envelope.kind),
        envelope.id,
        escaped(&envelope.operator)
    );
    for Posting { account, toner, micrograms } in &envelope.postings {
        let (account, toner) = (self::account(&account.to_string()), commodity(toner.as_str()));
        // Text takes whatever is written.
        let _ = writeln!(text, "    {account}  {} {toner}", grams(*micrograms));
    }
    Some(text)
}

/// The name by which the journal has that account: `tin:24-031`, with a colon only where the book's own has one
/// between its parts.
pub fn account(text: &str) -> String {
    // `waste` has two parts before what a person typed, the others one.
    let parts = if text.starts_with("waste:") { 3 } else { 2 };
    let names: Vec<String> = text.splitn(parts, ':').map(escaped).collect();
    names.join(":")
}

/// The commodity that is grams of that toner.
pub fn commodity(toner: &str) -> String {
    format!("\"{} g\"", escaped(toner))
}

/// Grams with six decimals. Exact.
pub fn grams(micrograms: i64) -> String {
    let sign = if micrograms < 0 { "-" } else { "" };
    let digits = format!("{:07}", micrograms.unsigned_abs());
    let (whole, rest) = digits.split_at(digits.len().saturating_sub(6));
    format!("{sign}{whole}.{rest}")
}

/// The day, by ISO 8601. A time no calendar has is the first day of the book's counting.
fn date(at: Stamp, zone: &TimeZone) -> String {
    let time = jiff::Timestamp::from_microsecond(at.0).unwrap_or_default();
    time.to_zoned_datetime(zone.clone()).date().to_string()
}

/// The text with every character as in a URI that could mean something in such a journal. Letters and digits of any
/// script stay, and a single blank between two of what stays.
fn escaped(text: &str) -> String {
    let stays = |letter: char| {
        letter.is_alphanumeric() && !is_unprintable(letter)
            || matches!(letter, '-' | '_' | '.' | '/' | '?' | '+' | '#' | '&')
    };
    // One of these at the beginning would be a mark of its own.
    let begins = |letter: char| letter.is_alphanumeric();
    let mut out = String::with_capacity(text.len());
    let mut before = None;
    let mut letters = text.chars().peekable();
    while let Some(letter) = letters.next() {
        let fits = match (letter, before) {
            (' ', Some(before)) => before != ' ' && letters.peek().is_some_and(|next| *next != ' '),
            (letter, None) => begins(letter),
            (letter, Some(_)) => stays(letter),
        };
        if fits {
            out.push(letter);
        } else {
            let mut bytes = [0; 4];
            for byte in letter.encode_utf8(&mut bytes).bytes() {
                // Text takes whatever is written.
                let _ = write!(out, "%{byte:02X}");
            }
        }
        before = Some(letter);
    }
    // A part without a name would be no part.
    if out.is_empty() { NOTHING.to_owned() } else { out }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::testing::{envelopes, whole};
    use crate::book::{Account, Ids};
    use crate::catalogue::TonerCode;
    use proptest::prelude::*;

    #[test]
    fn a_pour_is_a_transaction() {
        let (mix, envelopes) = envelopes(&mut Ids::counted(1), &whole());
        assert_eq!(transaction(&envelopes[0], &TimeZone::UTC), None);
        let mut poured = envelopes[1].clone();
        poured.operator = "Robin date:2020-01-01 [x]".to_owned();
        poured.postings = vec![
            Posting {
                account: Account::UnknownTin(TonerCode::new("A")),
                toner: TonerCode::new("A"),
                micrograms: -1,
            },
            Posting { account: Account::Cup(mix), toner: TonerCode::new("A"), micrograms: 1 },
        ];
        let expected = format!(
            "\n2025-06-15 mix/poured  ; event:{}, by:Robin date%3A2020-01-01 %5Bx%5D\n    tin?:A  -0.000001 \"A g\"\n    \
             cup:{mix}  0.000001 \"A g\"\n",
            poured.id
        );
        assert_eq!(transaction(&poured, &TimeZone::UTC), Some(expected));
        let east = TimeZone::fixed(jiff::tz::offset(12));
        assert!(transaction(&poured, &east).unwrap().starts_with("\n2025-06-16 "));
    }

    #[test]
    fn grams_are_exact() {
        let of = |micrograms| grams(micrograms);
        assert_eq!(
            [of(0), of(1), of(-1), of(30_100_000)],
            ["0.000000", "0.000001", "-0.000001", "30.100000"]
        );
        assert_eq!([of(i64::MAX), of(i64::MIN)], ["9223372036854.775807", "-9223372036854.775808"]);
    }

    #[test]
    fn names_stay_readable_and_mean_nothing_else() {
        for (text, expected) in [
            ("tin:24-031", "tin:24-031"),
            ("tin?:W10", "tin?:W10"),
            ("waste:drawn-off", "waste:drawn-off"),
            ("waste:abandoned:wrong colour", "waste:abandoned:wrong colour"),
            ("waste:abandoned:too late: dry", "waste:abandoned:too late%3A dry"),
            ("tin:a:b", "tin:a%3Ab"),
            ("tin:a  b;c", "tin:a%20%20b%3Bc"),
            ("tin:(a)", "tin:%28a%29"),
            ("tin:", "tin:%%"),
            ("Föhn", "Föhn"),
            (" x ", "%20x%20"),
        ] {
            assert_eq!(account(text), expected, "{text}");
        }
        assert_eq!(commodity("W\"10"), "\"W%2210 g\"");
    }

    /// The same reading as RFC 3986, 2.1: each `%` and its two digits is a byte.
    fn read_back(name: &str) -> String {
        let mut bytes = Vec::new();
        let name = name.replace(NOTHING, "");
        let mut rest = name.bytes();
        while let Some(byte) = rest.next() {
            if byte == b'%' {
                let digits: Vec<u8> = rest.by_ref().take(2).collect();
                bytes.push(u8::from_str_radix(std::str::from_utf8(&digits).unwrap(), 16).unwrap());
            } else {
                bytes.push(byte);
            }
        }
        String::from_utf8(bytes).unwrap()
    }

    proptest! {
        #[test]
        fn no_two_names_become_one(text in prop_oneof![".*", "(tin|waste|waste:abandoned):[a :;%]{0,6}"]) {
            let name = account(&text);
            prop_assert_eq!(read_back(&name), text);
            prop_assert!(!name.contains("  ") && !name.contains([';', '"', '(', '[', '\t']));
            prop_assert!(!name.starts_with(' ') && !name.ends_with(' '));
            prop_assert!(name.split(':').all(|part| !part.is_empty()));
        }
    }
}
