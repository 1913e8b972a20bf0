//! The whole book as text that any program can read, and back again without losing anything.
//!
//! One line of JSON an event, between a line that says what the file is and one that says that it is whole:
//!
//! ```text
//! {"line":1,"book":{"format":"pourbook book","version":1,"layout":2,"exported":"2026-10-01T07:30:00Z"},"check":"…"}
//! {"line":2,"event":{"id":"…","at":1790839800000000,"bench":"bench 1","operator":"Robin","subject":"…","sequence":0,
//!  "kind":"mix/poured","body":"{…}","postings":[{"account":"tin:24-031","toner":"W10","micrograms":"-30100000"},…]},
//!  "check":"…"}
//! {"line":3,"end":{"events":1,"postings":2,"sha256":"…"},"check":"…"}
//! ```
//!
//! (The second is one line.) `at` is in microseconds since 1970-01-01T00:00:00Z; `body` is the event's own JSON, kept
//! as text so that not a blank of it changes. `check` is the first 16 digits of the SHA-256 (FIPS 180-4) of its line up
//! to the comma before it, so that a damaged line is known by its number; `sha256` is that of all the lines before,
//! line ends included, as `head -n -1 FILE | sha256sum` gives it. Every line ends with a line feed, the last one too.
//! The first line keeps this form in whatever version comes after.
//!
//! Nothing here holds more than one line in memory.

mod line;
mod read;
#[cfg(test)]
mod tests;
mod transfer;
mod write;

pub use read::Reader;
pub use transfer::{export, import, verify};
pub use write::Writer;

use super::StoreError;
use std::io;
use std::ops::ControlFlow;
use thiserror::Error;

/// What the first line calls the file.
const FORMAT: &str = "pourbook book";

/// The version that is written, and the newest that is read.
pub const VERSION: u32 = 1;

/// More than any event has; so long a line is no event, and is not taken into memory.
const LONGEST_LINE: usize = 64 << 20;

/// How much a file holds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Totals {
    /// Events.
    pub events: u64,
    /// Postings of all of them.
    pub postings: u64,
    /// Events that cannot go into another book as they are, because something is wrong with them.
    pub flawed: u64,
}

/// Told now and then how many events are done; says whether to go on.
pub type Progress<'a> = &'a mut dyn FnMut(u64) -> ControlFlow<()>;

/// Why a book could not be handed on or taken over.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ExchangeError {
    /// No file of this kind.
    #[error(
        "it is not a book that was exported: its first line does not say so. Such a file is written by `pourbook book \
         export`; a backup is put back with `pourbook book restore`"
    )]
    NotOne,
    /// Written by a newer program.
    #[error(
        "it was exported by a newer Pourbook (its version is {found}, this program reads up to {VERSION}). Install the \
         newer program"
    )]
    Newer {
        /// Its version.
        found: u32,
    },
    /// A line that is not as it was written.
    #[error("line {line} is damaged: {problem}. Get the file once more from where it came")]
    Damaged {
        /// Which, from 1.
        line: u64,
        /// What is wrong with it.
        problem: String,
    },
    /// The end is missing.
    #[error(
        "it is cut off in line {line}: the line that says that it is whole is missing. Get the file once more"
    )]
    CutOff {
        /// The first line that is not whole.
        line: u64,
    },
    /// An event that the book does not take.
    #[error("line {line}: {problem}")]
    Refused {
        /// Which.
        line: u64,
        /// What the book says.
        problem: StoreError,
    },
    /// An event that is too long for a line.
    #[error("event {event} is too long to be exported: more than {LONGEST_LINE} bytes. A backup holds it")]
    TooLong {
        /// Its identity.
        event: String,
    },
    /// The book.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The file, or where the lines go.
    #[error(transparent)]
    Io(#[from] io::Error),
    /// A person asked for the end.
    #[error("it was stopped")]
    Stopped,
}
