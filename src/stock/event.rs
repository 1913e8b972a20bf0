//! What happens to tins, lots and leftovers, as the book keeps it.
//!
//! An event's body is JSON: `kind` is the event's whole kind, masses are grams and prices the shop's currency, both as
//! decimal strings; days are `2026-12-31`; what was not said is left out.

use crate::book::{Account, By, Envelope, EventId, JournalError, NotWhole, Posting, moved};
use crate::catalogue::TonerCode;
use crate::units::{Grams, Money, Stamp};
use serde::{Deserialize, Serialize};

/// A tin by its label, and what is in it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct TinName {
    /// The label.
    pub label: String,
    /// The toner.
    pub toner: TonerCode,
}

/// A tin came: `tin/received`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Receipt {
    /// Which tin.
    #[serde(flatten)]
    pub tin: TinName,
    /// What is in it.
    pub net: Grams,
    /// What it weighs empty, lid and all, if known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub empty: Option<Grams>,
    /// What it is sold as, `1 L`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub size: Option<String>,
    /// Its lot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<String>,
    /// Until when it may be used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expires: Option<String>,
    /// What the tin cost.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<Money>,
    /// The item's number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub item: Option<String>,
    /// Who sent it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub supplier: Option<String>,
}

/// What a tin was found to hold: `tin/counted`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Count {
    /// Which tin.
    #[serde(flatten)]
    pub tin: TinName,
    /// What it weighed, if it was weighed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gross: Option<Grams>,
    /// What it weighs empty, if it was weighed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub empty: Option<Grams>,
    /// What was found in it: weighed, or judged by hand.
    pub found: Grams,
    /// What the book said.
    pub booked: Grams,
    /// How much of what it lacks had been poured without a tin's name, if any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unnamed: Option<Grams>,
    /// Why the two differ beyond that, if that is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

impl Count {
    /// What is missing and nobody poured; below nothing where there is more than the book said.
    pub fn missing(&self) -> Grams {
        self.booked - self.found - self.unnamed.unwrap_or(Grams::ZERO)
    }
}

/// A leftover, or some of it, was thrown away: `leftover/thrown`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LeftoverThrown {
    /// The identity of the mix it is left of.
    pub mix: String,
    /// How much of each toner.
    pub parts: Vec<(TonerCode, Grams)>,
    /// Why.
    pub reason: String,
}

/// Something that happened to the stock.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind")]
pub enum StockEvent {
    /// A tin came: supplier → tin.
    #[serde(rename = "tin/received")]
    Received(Receipt),
    /// A tin was opened.
    #[serde(rename = "tin/opened")]
    Opened(TinName),
    /// A tin was stirred.
    #[serde(rename = "tin/stirred")]
    Stirred(TinName),
    /// A tin was said to be empty: what the book still says it holds was poured without a tin's name, or is a difference.
    #[serde(rename = "tin/emptied")]
    Emptied {
        /// Which tin.
        #[serde(flatten)]
        tin: TinName,
        /// What the book said it held.
        booked: Grams,
        /// How much of that had been poured without a tin's name, if any.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        unnamed: Option<Grams>,
    },
    /// A tin was thrown away with what is in it: tin → waste.
    #[serde(rename = "tin/discarded")]
    Discarded {
        /// Which tin.
        #[serde(flatten)]
        tin: TinName,
        /// What the book said it held.
        booked: Grams,
        /// How much of that had been poured without a tin's name and can have come from no other tin, if any.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        unnamed: Option<Grams>,
        /// Why.
        reason: String,
    },
    /// A tin was counted: tin → what was poured without a tin's name, and tin ↔ difference.
    #[serde(rename = "tin/counted")]
    Counted(Count),
    /// A lot was called back.
    #[serde(rename = "lot/recalled")]
    Recalled {
        /// Which lot.
        lot: String,
        /// Of which toner; of all if that was not said.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        toner: Option<TonerCode>,
        /// Why.
        why: String,
    },
    /// A leftover was thrown away: leftover → waste.
    #[serde(rename = "leftover/thrown")]
    LeftoverThrown(LeftoverThrown),
}

/// Why a tin that is said to be empty differs from the book.
const SAID_EMPTY: &str = "said to be empty";
/// Why a tin that is thrown away held less than nothing by the book.
const BELOW_NOTHING: &str = "more was poured than was booked";

/// So much goes out of a tin: first what had been poured without a tin's name, to where that pour was booked from, and what
/// is over goes there.
fn lacking(
    tin: &TinName,
    mass: Grams,
    unnamed: Option<Grams>,
    over: &Account,
) -> Result<Vec<Posting>, NotWhole> {
    let place = Account::tin(Some(&tin.label), &tin.toner);
    let unnamed = unnamed.unwrap_or(Grams::ZERO);
    let named = moved(&place, &Account::UnknownTin(tin.toner.clone()), [(tin.toner.clone(), unnamed)])?;
    let over = moved(&place, over, [(tin.toner.clone(), mass - unnamed)])?;
    Ok(named.into_iter().chain(over).collect())
}

impl StockEvent {
    /// The kind's name, as the book files it.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Received(_) => "tin/received",
            Self::Opened(_) => "tin/opened",
            Self::Stirred(_) => "tin/stirred",
            Self::Emptied { .. } => "tin/emptied",
            Self::Discarded { .. } => "tin/discarded",
            Self::Counted(_) => "tin/counted",
            Self::Recalled { .. } => "lot/recalled",
            Self::LeftoverThrown(_) => "leftover/thrown",
        }
    }

    /// Where the paint goes.
    pub fn postings(&self) -> Result<Vec<Posting>, NotWhole> {
        let one = |from: Account, to: Account, toner: &TonerCode, mass: Grams| {
            moved(&from, &to, [(toner.clone(), mass)])
        };
        let of = |tin: &TinName| Account::tin(Some(&tin.label), &tin.toner);
        match self {
            Self::Received(came) => {
                let supplier = Account::Supplier(came.supplier.clone().unwrap_or_default());
                one(supplier, of(&came.tin), &came.tin.toner, came.net)
            }
            Self::Emptied { tin, booked, unnamed } => {
                lacking(tin, *booked, *unnamed, &Account::Difference(SAID_EMPTY.to_owned()))
            }
            Self::Discarded { tin, booked, .. } if booked.is_negative() => {
                one(of(tin), Account::Difference(BELOW_NOTHING.to_owned()), &tin.toner, *booked)
            }
            Self::Discarded { tin, booked, unnamed, reason } => {
                lacking(tin, *booked, *unnamed, &Account::TinThrown(reason.clone()))
            }
            Self::Counted(count) => {
                let difference = Account::Difference(count.why.clone().unwrap_or_default());
                lacking(&count.tin, count.booked - count.found, count.unnamed, &difference)
            }
            Self::LeftoverThrown(thrown) => moved(
                &Account::leftover(&thrown.mix),
                &Account::left_thrown(&thrown.reason),
                thrown.parts.iter().cloned(),
            ),
            Self::Opened(_) | Self::Stirred(_) | Self::Recalled { .. } => Ok(Vec::new()),
        }
    }

    /// The event as the book keeps it.
    pub fn envelope(&self, id: EventId, at: Stamp, by: &By) -> Result<Envelope, JournalError> {
        let body = serde_json::to_string(self).map_err(|e| JournalError::Unwritable(e.to_string()))?;
        Ok(Envelope::alone(self.kind(), body, self.postings()?, id, at, by))
    }

    /// The event in an envelope; none if it belongs to another wing.
    ///
    /// # Errors
    /// A sentence: its body cannot be read, or its postings are not what it says.
    pub fn read(envelope: &Envelope) -> Result<Option<Self>, String> {
        let (id, kind) = (envelope.id, &envelope.kind);
        if !["tin/", "lot/", "leftover/"].iter().any(|wing| kind.starts_with(wing)) {
            return Ok(None);
        }
        let event: Self = serde_json::from_str(&envelope.body)
            .map_err(|problem| format!("event {id} ({kind}) of the book cannot be read: {problem}"))?;
        if event.kind() != kind {
            return Err(format!("event {id} is filed as {kind} and says it is {}", event.kind()));
        }
        if event.postings().ok().as_ref() != Some(&envelope.postings) {
            return Err(format!("event {id} ({kind}) moved other paint than it says"));
        }
        Ok(Some(event))
    }
}
