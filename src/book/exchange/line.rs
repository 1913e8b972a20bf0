//! One line: what it says, and the check at its end.

use super::ExchangeError;
use crate::book::{Account, Envelope, EventId, MixId, Posting};
use crate::catalogue::TonerCode;
use crate::units::Stamp;
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

/// Any line without its check: its number and one of the three.
#[derive(Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Line {
    #[serde(rename = "line")]
    pub(super) number: u64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) book: Option<Book>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) event: Option<Event>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) end: Option<End>,
}

/// What the file is. A newer one may say more.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct Book {
    pub(super) format: String,
    pub(super) version: u32,
    /// The layout of the book's tables; told, and not needed to read it.
    pub(super) layout: u32,
    /// When, by RFC 3339.
    pub(super) exported: String,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Event {
    id: EventId,
    at: Stamp,
    bench: String,
    operator: String,
    subject: MixId,
    sequence: u32,
    kind: String,
    body: String,
    postings: Vec<Moved>,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Moved {
    account: String,
    toner: TonerCode,
    /// As text, because many programs read a bare number as a float.
    micrograms: String,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct End {
    pub(super) events: u64,
    pub(super) postings: u64,
    pub(super) sha256: String,
}

impl From<&Envelope> for Event {
    fn from(envelope: &Envelope) -> Self {
        let moved = |posting: &Posting| Moved {
            account: posting.account.to_string(),
            toner: posting.toner.clone(),
            micrograms: posting.micrograms.to_string(),
        };
        Self {
            id: envelope.id,
            at: envelope.at,
            bench: envelope.bench.clone(),
            operator: envelope.operator.clone(),
            subject: envelope.subject,
            sequence: envelope.sequence,
            kind: envelope.kind.clone(),
            body: envelope.body.clone(),
            postings: envelope.postings.iter().map(moved).collect(),
        }
    }
}

impl Event {
    /// The event as a book keeps it.
    pub(super) fn envelope(self) -> Result<Envelope, String> {
        let posting = |moved: Moved| {
            let text = moved.micrograms;
            // One spelling only, so that the same book is always the same text.
            let micrograms = text.parse::<i64>().ok().filter(|number| number.to_string() == text);
            let micrograms =
                micrograms.ok_or_else(|| format!("'{text}' is no whole number of micrograms"))?;
            Ok(Posting { account: Account::parse(&moved.account), toner: moved.toner, micrograms })
        };
        Ok(Envelope {
            id: self.id,
            at: self.at,
            bench: self.bench,
            operator: self.operator,
            subject: self.subject,
            sequence: self.sequence,
            kind: self.kind,
            body: self.body,
            postings: self.postings.into_iter().map(posting).collect::<Result<_, String>>()?,
        })
    }
}

/// What stands before a line's check.
const MARK: &str = ",\"check\":\"";
/// How many digits of the check are kept: 64 bits.
const DIGITS: usize = 16;
/// What stands after it.
const CLOSE: &str = "\"}\n";

/// The line as it is written, with its check and its end.
pub(super) fn sealed(line: &Line) -> Result<String, serde_json::Error> {
    let mut text = serde_json::to_string(line)?;
    // The brace comes back after the check.
    text.pop();
    let check = check(&text);
    for part in [MARK, &check, CLOSE] {
        text.push_str(part);
    }
    Ok(text)
}

/// What a line says, if it is as it was written. It must end where it does.
pub(super) fn opened(bytes: &[u8], number: u64) -> Result<Line, ExchangeError> {
    let damaged = |problem: &str| ExchangeError::Damaged { line: number, problem: problem.to_owned() };
    let text = std::str::from_utf8(bytes).map_err(|_no_text| damaged("it is no text"))?;
    let unmarked = || damaged("it does not end with its check");
    let rest = text.strip_suffix(CLOSE).ok_or_else(unmarked)?;
    let (rest, found) =
        rest.len().checked_sub(DIGITS).and_then(|place| rest.split_at_checked(place)).ok_or_else(unmarked)?;
    let said = rest.strip_suffix(MARK).ok_or_else(unmarked)?;
    if check(said) != found {
        return Err(damaged("it is not what was written"));
    }
    let line: Line = serde_json::from_str(&format!("{said}}}"))
        .map_err(|error| damaged(&crate::units::clean(&error.to_string())))?;
    if line.number != number {
        return Err(damaged(&format!("it is line {} of the file that was written", line.number)));
    }
    Ok(line)
}

fn check(said: &str) -> String {
    let mut digits = hex(&Sha256::digest(said.as_bytes()));
    digits.truncate(DIGITS);
    digits
}

/// Bytes as digits, two each.
pub(super) fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    let mut text = String::with_capacity(64);
    for byte in bytes {
        // Text takes whatever is written.
        let _ = write!(text, "{byte:02x}");
    }
    text
}
