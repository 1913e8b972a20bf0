//! What a book can do, whatever it is kept in. Small on purpose: a store shared by several benches comes later.

use super::figures::Figures;
use super::{Account, Envelope, MixId, StoreError};
use crate::catalogue::{ColourCode, Role, TonerCode};
use crate::units::Stamp;
use serde::Deserialize;

/// What became of an append.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Appended {
    /// It is in the book now.
    New,
    /// It was in the book already, the very same: a retry after an answer that got lost.
    Already,
}

/// How a mix ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// It has not.
    Unfinished,
    /// It is done.
    Finished,
    /// It was given up.
    Abandoned,
}

/// What is mixed, as the mix's first event says.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
pub struct About {
    /// The colour's code.
    pub colour: ColourCode,
    /// The colour's name.
    pub name: String,
    /// The colour's variant.
    pub variant: String,
    /// Which layer.
    pub role: Role,
}

/// One mix, in a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MixSummary {
    /// Its identity.
    pub mix: MixId,
    /// Its number: the how-manieth mix of this book it is, from 1.
    pub number: u32,
    /// What is mixed; none if its first event cannot be read.
    pub about: Option<About>,
    /// When it was begun.
    pub begun: Stamp,
    /// Who began it.
    pub operator: String,
    /// When something last happened to it.
    pub last: Stamp,
    /// What last happened to it: an event's kind.
    pub last_kind: String,
    /// How many events it has.
    pub events: u32,
    /// How it ended.
    pub outcome: Outcome,
}

/// What an account holds of a toner.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Balance {
    /// Which account.
    pub account: Account,
    /// Which toner.
    pub toner: TonerCode,
    /// How much, in micrograms; below nothing for what paint only comes out of.
    pub micrograms: i64,
}

/// A place where the book is kept.
pub trait Store: Send {
    /// Writes an event and its postings, all or nothing. When it returns, they are on disk.
    ///
    /// The same event written again is [`Appended::Already`]; another under its identity is an error.
    fn append(&mut self, envelope: &Envelope) -> Result<Appended, StoreError>;

    /// A mix's events in order.
    fn events(&self, mix: MixId) -> Result<Vec<Envelope>, StoreError>;

    /// Every mix, in the order they were begun.
    fn mixes(&self) -> Result<Vec<MixSummary>, StoreError>;

    /// The mixes that are neither done nor given up, in the order they were begun.
    fn unfinished(&self) -> Result<Vec<MixSummary>, StoreError> {
        let mut mixes = self.mixes()?;
        mixes.retain(|summary| summary.outcome == Outcome::Unfinished);
        Ok(mixes)
    }

    /// Writes several events and their postings: all of them, or nothing. When it returns, they are on disk.
    ///
    /// One that is in the book already is left as it is.
    fn append_all(&mut self, envelopes: &[Envelope]) -> Result<(), StoreError>;

    /// What every account holds of every toner, where that is not nothing.
    fn balances(&self) -> Result<Vec<Balance>, StoreError>;

    /// What that account holds of every toner, where that is not nothing.
    fn balances_of(&self, account: &Account) -> Result<Vec<Balance>, StoreError> {
        let mut balances = self.balances()?;
        balances.retain(|balance| balance.account == *account);
        Ok(balances)
    }

    /// The last `most` events of that kind whose body names that scale, the newest first.
    fn of_scale(&self, kind: &str, scale: &str, most: u32) -> Result<Vec<Envelope>, StoreError>;

    /// Every event of a scale, of whatever scale, the oldest first.
    fn scale_events(&self) -> Result<Vec<Envelope>, StoreError>;

    /// Hands out every event, of whatever wing, in the order in which they were written.
    fn each(&self, take: &mut dyn FnMut(&Envelope)) -> Result<(), StoreError>;

    /// The figures that are kept beside the journal; none where the layout has none.
    fn figures(&self) -> Result<Option<Figures>, StoreError>;

    /// How many events there are, of whatever kind.
    fn count(&self) -> Result<u64, StoreError>;

    /// What the store itself finds wrong with its file; empty if nothing.
    fn faults(&self) -> Result<Vec<String>, StoreError>;

    /// The number that the next mix will have.
    fn next_number(&self) -> Result<u32, StoreError> {
        let count = self.mixes()?.len();
        Ok(u32::try_from(count).unwrap_or(u32::MAX).saturating_add(1))
    }
}
