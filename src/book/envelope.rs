//! One event as the book keeps it: who, when, about what, and where the paint went.

use super::posting::imbalance;
use super::{By, EventId, MixId, Posting};
use crate::catalogue::TonerCode;
use crate::units::{Stamp, clean, is_unprintable};
use thiserror::Error;

/// An event and its postings. What the event means belongs to the wing that made it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Envelope {
    /// Its identity, made before it is first written.
    pub id: EventId,
    /// When it happened.
    pub at: Stamp,
    /// At which bench.
    pub bench: String,
    /// Who did it.
    pub operator: String,
    /// The mix it is about; itself if it is about none.
    pub subject: MixId,
    /// Its place among the events of that mix: 0, 1, 2, …
    pub sequence: u32,
    /// What kind of event it is, the wing first: `mix/poured`.
    pub kind: String,
    /// The event itself, as JSON.
    pub body: String,
    /// Where the paint went; nothing for most events.
    pub postings: Vec<Posting>,
}

/// What is wrong with an envelope in itself.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum Flaw {
    /// A toner's postings do not sum to zero.
    #[error("its postings of toner {} sum to {micrograms} µg instead of zero", toner.as_str())]
    Imbalance {
        /// Which toner.
        toner: TonerCode,
        /// What they sum to.
        micrograms: i128,
    },
    /// A posting of nothing.
    #[error("one of its postings moves nothing")]
    Nothing,
    /// A text with characters that do not belong in the book.
    #[error("its {0} is empty or has control characters in it")]
    Text(&'static str),
    /// A body that is no JSON.
    #[error("its body is not JSON: {0}")]
    Body(String),
}

impl Envelope {
    /// An event of a wing that is about no mix: it is its own subject, at place 0, so that nobody has to count.
    pub fn alone(kind: &str, body: String, postings: Vec<Posting>, id: EventId, at: Stamp, by: &By) -> Self {
        Self {
            id,
            at,
            bench: clean(&by.bench),
            operator: clean(&by.operator),
            subject: id.alone(),
            sequence: 0,
            kind: kind.to_owned(),
            body,
            postings,
        }
    }

    /// Whether it can go into a book as it is.
    pub fn flaw(&self) -> Option<Flaw> {
        let unfit = |text: &str| text.chars().any(is_unprintable);
        if unfit(&self.bench) {
            return Some(Flaw::Text("bench"));
        }
        if unfit(&self.operator) {
            return Some(Flaw::Text("operator"));
        }
        if self.kind.is_empty() || unfit(&self.kind) {
            return Some(Flaw::Text("kind"));
        }
        if let Err(problem) = serde_json::from_str::<serde::de::IgnoredAny>(&self.body) {
            return Some(Flaw::Body(problem.to_string()));
        }
        for posting in &self.postings {
            let (account, toner) = (posting.account.to_string(), posting.toner.as_str());
            if account.is_empty() || unfit(&account) {
                return Some(Flaw::Text("account"));
            }
            if toner.is_empty() || unfit(toner) {
                return Some(Flaw::Text("toner"));
            }
            if posting.micrograms == 0 {
                return Some(Flaw::Nothing);
            }
        }
        let (toner, micrograms) = imbalance(&self.postings)?;
        Some(Flaw::Imbalance { toner: toner.clone(), micrograms })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::testing::{envelopes, whole};
    use crate::book::{Account, Ids};

    #[test]
    fn each_flaw_is_found() {
        let (_, envelopes) = envelopes(&mut Ids::counted(1), &whole());
        let good = envelopes.into_iter().find(|envelope| !envelope.postings.is_empty()).unwrap();
        assert_eq!(good.flaw(), None);
        let spoilt = |spoil: fn(&mut Envelope)| {
            let mut bad = good.clone();
            spoil(&mut bad);
            bad.flaw()
        };
        assert_eq!(spoilt(|bad| bad.operator.push('\u{7}')), Some(Flaw::Text("operator")));
        assert_eq!(spoilt(|bad| bad.bench.push('\n')), Some(Flaw::Text("bench")));
        assert_eq!(spoilt(|bad| bad.kind.clear()), Some(Flaw::Text("kind")));
        assert!(matches!(spoilt(|bad| bad.body.clear()), Some(Flaw::Body(_))));
        assert_eq!(
            spoilt(|bad| bad.postings[0].account = Account::Tin("\u{1b}".into())),
            Some(Flaw::Text("account"))
        );
        assert_eq!(spoilt(|bad| bad.postings[0].toner = TonerCode::new("")), Some(Flaw::Text("toner")));
        assert_eq!(spoilt(|bad| bad.postings[0].micrograms = 0), Some(Flaw::Nothing));
        assert!(matches!(
            spoilt(|bad| bad.postings[0].micrograms += 1),
            Some(Flaw::Imbalance { micrograms: 1, .. })
        ));
        assert!(matches!(spoilt(|bad| drop(bad.postings.pop())), Some(Flaw::Imbalance { .. })));
    }
}
