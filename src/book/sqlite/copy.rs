//! The book's file copied as it is, while the bench may be weighing, and put back.

use super::{SqliteStore, fault, open};
use crate::book::far::Tell;
use crate::book::{NewFile, Store as _, StoreError};
use crate::units::Stamp;
use rusqlite::backup::{Backup, StepResult};
use rusqlite::{Connection, OpenFlags};
use std::io;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::time::Duration;
use thiserror::Error;

/// So many pages are copied between two questions whether to go on.
const PAGES: i32 = 64;

/// How long to wait for another program that holds a page for a moment.
const MOMENT: Duration = Duration::from_millis(20);

/// How often to wait for it before it is said.
const MOMENTS: u32 = 250;

/// Why a book could not be backed up or put back.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum CopyError {
    /// Something is there already.
    #[error("{} is there already, and was left as it is. Name a file that is not there yet", .0.display())]
    There(PathBuf),
    /// The file of the copy.
    #[error("{} cannot be written: {problem}. Check that its folder is there and who may write in it", path.display())]
    Unwritable {
        /// Which file.
        path: PathBuf,
        /// What the system says.
        problem: String,
    },
    /// A copy that is damaged.
    #[error(
        "{} is damaged and was not put back: {}. Nothing was changed; use another backup", path.display(), .faults.join("; ")
    )]
    Damaged {
        /// Which file.
        path: PathBuf,
        /// What was found, the first few.
        faults: Vec<String>,
    },
    /// The copy is damaged although it was only just made.
    #[error(
        "the copy is damaged, and was thrown away: {}. Run pourbook check to see whether the book itself is well",
        .0.join("; ")
    )]
    BadCopy(Vec<String>),
    /// Either book.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A person asked for the end.
    #[error("it was stopped")]
    Stopped,
}

/// Told now and then how many of how many pages are done; says whether to go on.
pub(in crate::book) type Pages<'a> = &'a mut dyn FnMut(u64, u64) -> ControlFlow<()>;

impl SqliteStore {
    /// Copies the book, as it stands at this moment, into a file that is not there yet: one file that is whole in
    /// itself, for its owner alone, looked through and on disk when this returns. How many events are in it.
    ///
    /// Another program can write in the book all the while.
    pub fn back_up(&self, to: &Path, pages: Pages<'_>) -> Result<u64, CopyError> {
        let unwritable = |error: &io::Error| match error.kind() {
            io::ErrorKind::AlreadyExists => CopyError::There(to.to_owned()),
            _ => CopyError::Unwritable { path: to.to_owned(), problem: error.to_string() },
        };
        let new = NewFile::create(to).map_err(|e| unwritable(&e))?;
        let said = |error: &rusqlite::Error| CopyError::from(fault::words(to, error));
        let own = |error: &rusqlite::Error| CopyError::from(self.said(error));
        {
            let mut copy = open::connect(new.path(), OpenFlags::SQLITE_OPEN_READ_WRITE)?;
            // It is thrown away if anything fails, and synced at the end; it needs no journal of its own.
            copy.pragma_update(None, "journal_mode", "OFF").map_err(|e| said(&e))?;
            copy.pragma_update(None, "synchronous", "OFF").map_err(|e| said(&e))?;
            // Held open, this keeps what is copied at one moment, whatever is written meanwhile.
            let look = self.connection.unchecked_transaction().map_err(|e| own(&e))?;
            look.query_row("SELECT count(*) FROM sqlite_schema", [], |_| Ok(())).map_err(|e| own(&e))?;
            copied(&look, &mut copy, pages)?.map_err(|e| said(&e))?;
        }
        let events = {
            let mut copy = open::connect(new.path(), OpenFlags::SQLITE_OPEN_READ_WRITE)?;
            alone(&mut copy).map_err(|e| said(&e))?;
            let faults = super::read::faults(&copy, to)?;
            if !faults.is_empty() {
                return Err(CopyError::BadCopy(few(faults)));
            }
            copy.query_row("SELECT count(*) FROM events", [], |row| row.get::<_, i64>(0))
                .map_err(|e| said(&e))?
        };
        new.keep().map_err(|e| unwritable(&e))?;
        Ok(events.unsigned_abs())
    }

    /// Puts a copy back where no book is, or an empty one. How many events are in it.
    ///
    /// The copy is looked through first. One with an older layout is brought up to date in its new place, and stays as
    /// it is in its own. If it fails, the place is as it was.
    pub fn restore(from: &Path, book: &Path, now: Stamp, pages: Pages<'_>) -> Result<u64, CopyError> {
        Self::restore_telling(from, book, now, pages, &mut |_| ())
    }

    /// The same; `tell` hears how far it is where the copy is brought up from an older layout.
    pub fn restore_telling(
        from: &Path,
        book: &Path,
        now: Stamp,
        pages: Pages<'_>,
        tell: Tell<'_>,
    ) -> Result<u64, CopyError> {
        let copy = open::open_to_look(from)?;
        let faults = copy.faults()?;
        if !faults.is_empty() {
            return Err(CopyError::Damaged { path: from.to_owned(), faults: few(faults) });
        }
        let was_there = book.symlink_metadata().is_ok();
        open::refuse_old_and_filled(book)?;
        let (mut store, why) = Self::open(book, now)?.into_parts();
        if let Some(why) = why {
            return Err(StoreError::LookOnly { why }.into());
        }
        let put_back = put_back(&copy, &mut store, now, pages, tell);
        if put_back.is_err() && !was_there {
            store.discard();
        }
        put_back
    }
}

fn put_back(
    copy: &SqliteStore,
    store: &mut SqliteStore,
    now: Stamp,
    pages: Pages<'_>,
    tell: Tell<'_>,
) -> Result<u64, CopyError> {
    let events = store.count()?;
    if events > 0 {
        return Err(StoreError::NotEmpty { path: store.path.clone(), events }.into());
    }
    let path = store.path.clone();
    let said = |error: &rusqlite::Error| fault::words(&path, error);
    store.connection.flush_prepared_statement_cache();
    let look = copy.connection.unchecked_transaction().map_err(|e| copy.said(&e))?;
    copied(&look, &mut store.connection, pages)?.map_err(|e| said(&e))?;
    drop(look);
    open::brought_up(&mut store.connection, &path, now, tell)?;
    store.still_there()?;
    Ok(store.count()?)
}

/// Copies all pages, in one transaction of the copy.
fn copied(
    from: &Connection,
    to: &mut Connection,
    pages: Pages<'_>,
) -> Result<rusqlite::Result<()>, CopyError> {
    let backup = match Backup::new(from, to) {
        Ok(backup) => backup,
        Err(error) => return Ok(Err(error)),
    };
    let mut waited = 0;
    loop {
        match backup.step(PAGES) {
            Ok(StepResult::Done) => return Ok(Ok(())),
            Ok(StepResult::More) => {
                let about = backup.progress();
                let total = u64::try_from(about.pagecount).unwrap_or(0);
                let left = u64::try_from(about.remaining).unwrap_or(0);
                if pages(total.saturating_sub(left), total).is_break() {
                    return Err(CopyError::Stopped);
                }
            }
            Ok(_) if waited < MOMENTS => {
                waited = waited.saturating_add(1);
                std::thread::sleep(MOMENT);
            }
            Ok(_) => {
                let busy = rusqlite::ffi::Error::new(rusqlite::ffi::SQLITE_BUSY);
                return Ok(Err(rusqlite::Error::SqliteFailure(busy, None)));
            }
            Err(error) => return Ok(Err(error)),
        }
    }
}

/// Makes it one file that needs no other beside it: a copy says, as the book does, that it has a write-ahead journal.
fn alone(copy: &mut Connection) -> rusqlite::Result<()> {
    // Without a file of shared memory, which a disk of another machine cannot have.
    copy.pragma_update(None, "locking_mode", "EXCLUSIVE")?;
    copy.pragma_update(None, "journal_mode", "DELETE")?;
    let mode: String = copy.pragma_query_value(None, "journal_mode", |row| row.get(0))?;
    if mode == "delete" { Ok(()) } else { Err(rusqlite::Error::ExecuteReturnedResults) }
}

fn few(mut faults: Vec<String>) -> Vec<String> {
    faults.truncate(3);
    faults
}
