//! What has to be said of a tin before it is poured from.

use super::{StockEvent, Tin};
use crate::barcode::Day;
use crate::book::Envelope;
use crate::catalogue::TonerCode;
use crate::units::{Division, Grams, Notation, Stamp};

/// The day it is at the bench, and when it began there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Today {
    /// The day of the calendar.
    pub day: Day,
    /// Its first moment.
    pub began: Stamp,
}

/// A lot that was called back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recall {
    /// Which lot.
    pub lot: String,
    /// Of which toner; of all if none.
    pub toner: Option<TonerCode>,
    /// Why.
    pub why: String,
    /// When that was said.
    pub at: Stamp,
}

impl Recall {
    /// The recall in an envelope; none if it is another event or cannot be read.
    pub fn read(envelope: &Envelope) -> Option<Self> {
        match StockEvent::read(envelope) {
            Ok(Some(StockEvent::Recalled { lot, toner, why })) => {
                Some(Self { lot, toner, why, at: envelope.at })
            }
            _ => None,
        }
    }

    /// Whether it means that tin.
    pub fn means(&self, tin: &Tin) -> bool {
        tin.lot.as_deref().is_some_and(|lot| self.is_of(lot, &tin.toner))
    }

    /// Whether it means that lot of that toner.
    pub fn is_of(&self, lot: &str, toner: &TonerCode) -> bool {
        self.lot == lot && self.toner.as_ref().is_none_or(|own| own == toner)
    }
}

/// Something to say before a tin is poured from; [`words`](Self::words) makes it a sentence for the painter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Caution {
    /// Another toner is in it.
    OtherToner {
        /// What is in it.
        is: TonerCode,
        /// What is to be poured.
        wanted: TonerCode,
    },
    /// It was thrown away.
    Discarded,
    /// Its lot was called back.
    Recalled {
        /// Which.
        lot: String,
        /// Why.
        why: String,
    },
    /// It may be used no more.
    Expired {
        /// Its last day.
        on: Day,
    },
    /// It was said to be empty.
    Empty,
    /// By the book it holds less than is needed.
    TooLittle {
        /// What it holds.
        holds: Grams,
    },
    /// It was not stirred today.
    NotStirred,
}

impl Caution {
    /// In a sentence, with masses as that person reads them.
    pub fn words(&self, notation: Notation) -> String {
        match self {
            Self::OtherToner { is, wanted } => {
                format!("this tin holds {is}, not {wanted}: take a tin of {wanted}")
            }
            Self::Discarded => "by the book this tin was thrown away: look at its label".to_owned(),
            Self::Recalled { lot, why } => format!("lot {lot} was called back ({why}): do not use it"),
            Self::Expired { on } => format!("this tin was to be used until {on}: take another"),
            Self::Empty => "this tin was said to be empty: look at its label".to_owned(),
            Self::TooLittle { holds } if holds.is_positive() => format!(
                "by the book this tin holds no more than {}: have the next one at hand",
                notation.mass(*holds, Division::TENTH)
            ),
            Self::TooLittle { .. } => {
                "by the book nothing is left in this tin: weigh it when there is time".to_owned()
            }
            Self::NotStirred => "this tin was not stirred today: stir it first".to_owned(),
        }
    }
}

/// What has to be said before so much of a toner is poured from a tin, the gravest first.
///
/// That a tin is stirred once a day before it is used is common practice, no source.
pub fn cautions(
    tin: &Tin,
    wanted: &TonerCode,
    need: Grams,
    recalls: &[Recall],
    today: Today,
) -> Vec<Caution> {
    let mut said = Vec::new();
    if tin.toner != *wanted {
        said.push(Caution::OtherToner { is: tin.toner.clone(), wanted: wanted.clone() });
    }
    if tin.discarded.is_some() {
        said.push(Caution::Discarded);
    }
    if let Some(recall) = recalls.iter().find(|recall| recall.means(tin)) {
        said.push(Caution::Recalled { lot: recall.lot.clone(), why: recall.why.clone() });
    }
    if let Some(on) = tin.expires.filter(|_| tin.is_expired(today.day)) {
        said.push(Caution::Expired { on });
    }
    if tin.emptied.is_some() {
        said.push(Caution::Empty);
    } else if tin.holds < need && tin.discarded.is_none() {
        said.push(Caution::TooLittle { holds: tin.holds });
    }
    if tin.stirred.is_none_or(|stirred| stirred < today.began) {
        said.push(Caution::NotStirred);
    }
    said
}
