//! Where every gram went: the journal of events and their postings, on disk.
//!
//! An [`Envelope`] is one event as the book keeps it: who, when, about which mix, and the [`Posting`]s that
//! say where the paint went, which sum to zero for each toner. A [`ScaleRecord`] is what the book says of a
//! scale. A [`Journal`] is one mix as it goes: it turns
//! what happens into envelopes, and envelopes back into the mix. A [`Store`] keeps them ([`SqliteStore`] in
//! one file, where nothing is ever changed or deleted); the [`Keeper`] is the thread that owns the store and
//! says what is saved. [`check`] says whether a book is well; [`exchange`] writes the whole of it as text and reads it
//! back; [`plain_text`] writes its postings for an accounting program; [`SqliteStore::back_up`] and [`SqliteStore::restore`] copy it as it is.

// Tests loop over small numbers; the code itself never does bare arithmetic.
#![cfg_attr(not(test), deny(clippy::float_arithmetic, clippy::arithmetic_side_effects))]

mod account;
pub mod check;
mod envelope;
mod error;
pub mod exchange;
pub mod far;
pub mod figures;
mod id;
mod journal;
mod keeper;
mod ledger;
mod lock;
mod mark;
pub mod mix_sums;
mod mounts;
mod new_file;
pub mod plain_text;
mod posting;
pub mod reading;
mod scale_record;
pub mod spans;
mod sqlite;
mod store;
#[cfg(test)]
pub(crate) mod testing;

pub use account::Account;
pub use envelope::{Envelope, Flaw};
pub use error::StoreError;
pub use id::{EventId, Ids, JobId, MixId};
pub use journal::{By, JOB_KINDS, Journal, JournalError, MIX_KINDS};
pub use keeper::{BookEvent, Keeper};
pub use ledger::{
    Behind, Daily, Flows, Having, JobMix, JobsOf, Ledger, Loose, LooseKind, MixTotals, MixesOf, Moved,
    TinsOf, Told, USES, UsedRow,
};
pub use mark::Mark;
pub use new_file::NewFile;
pub use posting::{NotWhole, Posting, imbalance, moved, postings};
pub use scale_record::{SCALE_KINDS, ScaleCheck, ScaleRecord, ScaleRepeatability};
pub use sqlite::{CopyError, Opened, SqliteStore, open_to_look};
pub use store::{About, Appended, Balance, MixSummary, Outcome, Store};
