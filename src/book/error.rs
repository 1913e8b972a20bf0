//! What can go wrong with a book, each with what to do now.

use super::{EventId, Flaw};
use std::path::PathBuf;
use thiserror::Error;

/// Why the book could not do something.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum StoreError {
    /// The file or its folder cannot be had.
    #[error("the book {} cannot be opened: {error}. Is the folder there, and yours to write to?", .path.display())]
    File {
        /// Which file.
        path: PathBuf,
        /// What the system says.
        error: std::io::Error,
    },
    /// Something else is in that file.
    #[error("{} is not a book: it holds something else. Name another file with --book", .0.display())]
    NotABook(PathBuf),
    /// The book was written by a later program.
    #[error(
        "the book has version {found} and this program knows versions up to {known}: use the program that wrote \
         it, or a newer one"
    )]
    Newer {
        /// The book's version.
        found: u32,
        /// The latest this program knows.
        known: u32,
    },
    /// A migration is not the one that was applied.
    #[error("the book's version {0} was made by another program than this one: nothing was changed")]
    OtherSchema(u32),
    /// The book lies on a network, where SQLite's locks cannot be trusted.
    #[error(
        "{} lies on a network file system ({kind}), where a book can be damaged: keep it on this machine's own \
         disk, named with --book", .path.display()
    )]
    Network {
        /// Which file.
        path: PathBuf,
        /// The file system's type.
        kind: String,
    },
    /// A setting did not take.
    #[error("the book's setting {setting} is {found} and should be {wanted}: nothing was written")]
    Setting {
        /// Which.
        setting: &'static str,
        /// What it is.
        found: String,
        /// What it should be.
        wanted: &'static str,
    },
    /// The book is only open to look at.
    #[error("the book is only open to look at: another program writes it")]
    LookOnly,
    /// An envelope that must not go in.
    #[error("event {id} cannot go into the book: {flaw}")]
    Flawed {
        /// Which.
        id: EventId,
        /// Why.
        flaw: Flaw,
    },
    /// The same identity with another content.
    #[error("event {0} is in the book already, and says something else there: nothing was written")]
    Different(EventId),
    /// An event out of its place.
    #[error("event {id} wants place {found} of its mix, and place {expected} is next: nothing was written")]
    OutOfPlace {
        /// Which.
        id: EventId,
        /// The place that is next.
        expected: u32,
        /// The place it wants.
        found: u32,
    },
    /// No room.
    #[error("the disk is full: make room, then try again. Nothing that was saved is lost")]
    DiskFull,
    /// Somebody else is writing.
    #[error("another program is writing to the book just now: try again")]
    Busy,
    /// A row that cannot be.
    #[error("the book holds something that cannot be read: {0}")]
    Unreadable(String),
    /// Anything else that SQLite says.
    #[error("the book could not do it: {0}")]
    Sqlite(#[source] rusqlite::Error),
}

impl From<rusqlite::Error> for StoreError {
    fn from(error: rusqlite::Error) -> Self {
        match error.sqlite_error_code() {
            Some(rusqlite::ErrorCode::DiskFull) => Self::DiskFull,
            Some(rusqlite::ErrorCode::DatabaseBusy | rusqlite::ErrorCode::DatabaseLocked) => Self::Busy,
            Some(rusqlite::ErrorCode::ReadOnly) => Self::LookOnly,
            _ => Self::Sqlite(error),
        }
    }
}
