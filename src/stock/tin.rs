//! One tin, as the book says it is.

use crate::barcode::Day;
use crate::book::figures::TinRow;
use crate::catalogue::TonerCode;
use crate::units::{Grams, Stamp};

/// A tin. One that was poured from and never received is a tin all the same: it holds less than nothing until it is
/// counted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tin {
    /// Its label.
    pub label: String,
    /// What is in it.
    pub toner: TonerCode,
    /// How much, by the book.
    pub holds: Grams,
    /// What was in it when it came.
    pub net: Option<Grams>,
    /// What it weighs empty.
    pub empty: Option<Grams>,
    /// Its lot.
    pub lot: Option<String>,
    /// The last day on which it may be used.
    pub expires: Option<Day>,
    /// The item's number.
    pub item: Option<String>,
    /// Who sent it.
    pub supplier: Option<String>,
    /// When it came.
    pub received: Option<Stamp>,
    /// When it was opened.
    pub opened: Option<Stamp>,
    /// When it was last stirred.
    pub stirred: Option<Stamp>,
    /// When it was last counted.
    pub counted: Option<Stamp>,
    /// When it was said to be empty.
    pub emptied: Option<Stamp>,
    /// When it was thrown away.
    pub discarded: Option<Stamp>,
}

impl Tin {
    /// The tin of that row, holding so much.
    pub fn new(row: TinRow, holds: Grams) -> Self {
        let grams = |text: Option<String>| text.and_then(|text| Grams::parse(&text).ok());
        Self {
            label: row.label,
            toner: row.toner,
            holds,
            net: grams(row.net),
            empty: grams(row.empty),
            lot: row.lot,
            expires: row.expires.as_deref().and_then(Day::parse),
            item: row.item,
            supplier: row.supplier,
            received: row.received,
            opened: row.opened,
            stirred: row.stirred,
            counted: row.counted,
            emptied: row.emptied,
            discarded: row.discarded,
        }
    }

    /// Whether it is off the shelf: said to be empty, or thrown away.
    pub fn is_gone(&self) -> bool {
        self.emptied.is_some() || self.discarded.is_some()
    }

    /// Whether somebody opened it: it was said, or poured from, or never received.
    pub fn is_open(&self) -> bool {
        self.opened.is_some() || self.received.is_none() || self.net.is_some_and(|net| self.holds < net)
    }

    /// Whether it may be used no more on that day.
    pub fn is_expired(&self, today: Day) -> bool {
        self.expires.is_some_and(|expires| expires < today)
    }
}
