//! What can go wrong with a book, said so that a person knows what to do.

use super::{EventId, Flaw, MixId};
use std::path::PathBuf;
use thiserror::Error;

/// Why the book could not be opened, read or written.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum StoreError {
    /// The file or its folder cannot be made or opened.
    #[error(
        "the book {} cannot be opened: {problem}. Check that its folder exists and that you may write in it, \
         or name another file with --book", path.display()
    )]
    Open {
        /// The book's file.
        path: PathBuf,
        /// What the system says.
        problem: String,
    },
    /// No database at all.
    #[error(
        "{} is not a book: it is not a database, or its first page is damaged. Nothing in it was changed; name \
         another file with --book, or put a copy back in its place", path.display()
    )]
    NotABook {
        /// The file.
        path: PathBuf,
    },
    /// A database of another program.
    #[error(
        "{} is a database, but not a book of this program. Nothing in it was changed; name another file with \
         --book", path.display()
    )]
    Foreign {
        /// The file.
        path: PathBuf,
    },
    /// Written by a newer program.
    #[error(
        "the book {} was written by a newer Pourbook (its layout is {found}, this program knows up to {known}). \
         Nothing in it was changed; install the newer program", path.display()
    )]
    Newer {
        /// The book's file.
        path: PathBuf,
        /// Its layout.
        found: u32,
        /// The newest layout known.
        known: u32,
    },
    /// Not yet brought up to date by the program that may write.
    #[error(
        "the book {} has an older layout ({found}; this program's is {known}) and another program is writing in \
         it, so it cannot be brought up to date now. Close the other program, then open this one again",
        path.display()
    )]
    Older {
        /// The book's file.
        path: PathBuf,
        /// Its layout.
        found: u32,
        /// The layout of this program.
        known: u32,
    },
    /// A layout that is not what its number says.
    #[error(
        "the layout {version} of the book {} is not the one this program made: it was changed by something \
         else. Nothing in it was changed now; put a copy back in its place", path.display()
    )]
    OtherSchema {
        /// The book's file.
        path: PathBuf,
        /// Which version does not agree.
        version: u32,
    },
    /// On a disk of another machine.
    #[error(
        "the book {} is on a network disk ({filesystem}). Two machines cannot keep each other from writing there, \
         and a book can be destroyed that way: keep it on a disk of this machine, and name that with --book",
        path.display()
    )]
    Network {
        /// The book's file.
        path: PathBuf,
        /// What kind of disk it is.
        filesystem: String,
    },
    /// A setting that did not take.
    #[error(
        "the book {} cannot be kept safely: {name} should be {wanted} and is {found}. Nothing in it was changed",
        path.display()
    )]
    Setting {
        /// The book's file.
        path: PathBuf,
        /// Which setting.
        name: &'static str,
        /// What it should be.
        wanted: String,
        /// What it is.
        found: String,
    },
    /// Open to look at only.
    #[error("nothing can be written: {why}")]
    LookOnly {
        /// Why.
        why: String,
    },
    /// The file or the disk does not take writing.
    #[error(
        "the book {} cannot be written: its file or disk is set to read only. Make it writable, then try again",
        path.display()
    )]
    ReadOnly {
        /// The book's file.
        path: PathBuf,
    },
    /// No room.
    #[error(
        "the disk with the book {} is full. What was saved before is safe; make room, then try again",
        path.display()
    )]
    DiskFull {
        /// The book's file.
        path: PathBuf,
    },
    /// No room to make the figures anew.
    #[error(
        "the figures of the book {} were not made anew, and are as they were: its disk is full. Making them anew \
         takes for a while up to half as much room beside the book as the book has ({megabytes} MB): make room, then \
         run pourbook check --rebuild again", path.display()
    )]
    NoRoomToRebuild {
        /// The book's file.
        path: PathBuf,
        /// Half of what the book has, rounded up.
        megabytes: u64,
    },
    /// No room to bring a book of an older layout up.
    #[error(
        "the book {} was not brought up from layout {found} to {known}, and is as it was: its disk is full. Bringing it up \
         takes up to one and a half times as much room again as the book has ({megabytes} MB), some of it for a while only: \
         make room, then open it again", path.display()
    )]
    NoRoomToBringUp {
        /// The book's file.
        path: PathBuf,
        /// Its layout: of the steps to the latest, those that found room are done.
        found: u32,
        /// The layout of this program.
        known: u32,
        /// One and a half times what the book has, rounded up: invented books of layout 2 with 13 000 and 103 000 postings
        /// took 1.3 times as much for a while, and 0.7 to stay.
        megabytes: u64,
    },
    /// Held by another program.
    #[error(
        "another program is holding the book {}. Close it (a database browser, a backup), then try again",
        path.display()
    )]
    Busy {
        /// The book's file.
        path: PathBuf,
    },
    /// Moved, deleted or replaced while open.
    #[error(
        "the book {} is no longer where it was: its file was moved, deleted or replaced. Put it back and open \
         the program again; do not go on weighing until then", path.display()
    )]
    Gone {
        /// The book's file.
        path: PathBuf,
    },
    /// Damaged.
    #[error(
        "the book {} is damaged: {problem}. Stop, copy the file and the two beside it (-wal, -shm) to a safe \
         place, and run pourbook check", path.display()
    )]
    Damaged {
        /// The book's file.
        path: PathBuf,
        /// What was found.
        problem: String,
    },
    /// The disk failed.
    #[error("the disk with the book {} reports a fault: {problem}. Try again; if it stays, use another disk", path.display())]
    Disk {
        /// The book's file.
        path: PathBuf,
        /// What was reported.
        problem: String,
    },
    /// An envelope that cannot go into any book.
    #[error("event {id} was not written: {flaw}. This is a fault in the program")]
    Flawed {
        /// Which event.
        id: EventId,
        /// What is wrong with it.
        flaw: Flaw,
    },
    /// The same identity with another content.
    #[error(
        "event {id} is in the book already, with another content; the book keeps what it has. This is a fault \
         in the program"
    )]
    Different {
        /// Which event.
        id: EventId,
    },
    /// Not the next event of its mix.
    #[error(
        "event {id} was not written: it has place {found} in mix {subject}, and the next place is {expected}"
    )]
    OutOfPlace {
        /// Which event.
        id: EventId,
        /// Its mix.
        subject: MixId,
        /// The next place.
        expected: u32,
        /// The place it has.
        found: u32,
    },
    /// Twice in what is taken over.
    #[error("event {id} comes twice")]
    Twice {
        /// Which event.
        id: EventId,
    },
    /// Something is in it, and only an empty one can be filled.
    #[error(
        "the book {} is not empty: it has {events} events, and is left as it is. Only an empty book, or none at all, \
         can take a whole one: name another file with --book", path.display()
    )]
    NotEmpty {
        /// The book's file.
        path: PathBuf,
        /// How many events are in it.
        events: u64,
    },
    /// Something in the book that makes no sense.
    #[error("the book {} has something in it that cannot be read: {problem}. Run pourbook check", path.display())]
    Unreadable {
        /// The book's file.
        path: PathBuf,
        /// What, and where.
        problem: String,
    },
    /// Anything else.
    #[error("the book {} could not be used: {problem}", path.display())]
    Other {
        /// The book's file.
        path: PathBuf,
        /// What was reported.
        problem: String,
    },
}

impl StoreError {
    /// Whether it is one event that cannot be written, and not the book or its disk.
    pub const fn is_about_an_event(&self) -> bool {
        matches!(
            self,
            Self::Flawed { .. } | Self::Different { .. } | Self::OutOfPlace { .. } | Self::Twice { .. }
        )
    }

    /// Whether writing the same again may succeed, once a person has done what the message says.
    pub const fn may_pass(&self) -> bool {
        !matches!(
            self,
            Self::LookOnly { .. }
                | Self::Flawed { .. }
                | Self::Different { .. }
                | Self::OutOfPlace { .. }
                | Self::Twice { .. }
                | Self::NotEmpty { .. }
        )
    }
}
