//! The book in one SQLite file of this machine.

mod behind;
mod copy;
mod fault;
mod fill;
mod found_sql;
mod job_sql;
#[cfg(test)]
mod job_tests;
mod kept;
mod kept_sql;
#[cfg(test)]
mod kept_tests;
mod ledger;
mod migrations;
mod open;
mod read;
mod sum_rows;
mod sums;
mod sums_sql;
#[cfg(test)]
mod tests;

pub use copy::CopyError;
pub(in crate::book) use open::refuse_old_and_filled;
pub use open::{Opened, open_to_look};

use super::far::{Far, Tell};
use super::figures::Figures;
use super::lock::Lock;
use super::{Account, Appended, Balance, Envelope, MixId, MixSummary, Store, StoreError};
use rusqlite::{Connection, TransactionBehavior};
use std::path::{Path, PathBuf};

/// A book in a file.
#[derive(Debug)]
pub struct SqliteStore {
    // Declared, and so closed, before the lock is let go.
    connection: Connection,
    path: PathBuf,
    /// Which file it was when it was opened.
    file: Option<FileId>,
    /// Why it can only be looked at, if so.
    look_only: Option<String>,
    /// What its layout keeps beside the journal.
    keeps: Keeps,
    /// The mixes that are being written.
    readers: sums::Readers,
    _lock: Option<Lock>,
}

/// What a layout keeps beside the journal: an older one that is only looked at has not all of it.
#[derive(Clone, Copy, Debug)]
struct Keeps {
    layout: u32,
}

impl Keeps {
    /// Figures at all.
    const fn figures(self) -> bool {
        self.layout >= migrations::FIGURES
    }

    /// The jobs among them.
    const fn jobs(self) -> bool {
        self.layout >= migrations::JOBS_KEPT
    }

    /// The sums of weeks, months and mixes.
    const fn sums(self) -> bool {
        self.layout >= migrations::SUMS
    }

    /// A day's uses in a row, and the marks of mixes.
    const fn found(self) -> bool {
        self.layout >= migrations::FOUND
    }
}

/// Tells one file from another, whatever they are called.
type FileId = (u64, u64);

impl SqliteStore {
    fn new(
        connection: Connection,
        path: &Path,
        lock: Option<Lock>,
        look_only: Option<String>,
        version: u32,
    ) -> Self {
        let file = file_id(path);
        let readers = sums::Readers::default();
        Self {
            connection,
            path: path.to_owned(),
            file,
            look_only,
            keeps: Keeps { layout: version },
            readers,
            _lock: lock,
        }
    }

    /// The book's file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Why it can only be looked at; none if it can be written in.
    pub fn look_only(&self) -> Option<&str> {
        self.look_only.as_deref()
    }

    /// Asks the book several things of the same moment, whoever writes in it meanwhile.
    pub fn at_once<T>(&self, ask: impl FnOnce(&Self) -> Result<T, StoreError>) -> Result<T, StoreError> {
        let moment = self.connection.unchecked_transaction().map_err(|e| self.said(&e))?;
        let told = ask(self);
        moment.finish().map_err(|e| self.said(&e))?;
        told
    }

    /// Makes the figures that are kept beside the journal anew from the journal: all of them, or, where that is cut off,
    /// none, and they stay as they were.
    ///
    /// Until it is done the new ones stand in the log beside the book, which grew to a third of
    /// the book where that had ten million postings.
    pub fn rebuild(&mut self) -> Result<(), StoreError> {
        self.rebuild_telling(&mut |_| ())
    }

    /// The same; `tell` hears how far it is.
    pub fn rebuild_telling(&mut self, tell: Tell<'_>) -> Result<(), StoreError> {
        if let Some(why) = &self.look_only {
            return Err(StoreError::LookOnly { why: why.clone() });
        }
        self.still_there()?;
        self.readers.clear();
        let made = kept::rebuild(&mut self.connection, tell);
        tell(Far::begun("the book's log is taken into it"));
        // The log is taken into the book and gives its room back. Where somebody is looking it is done later.
        if let Err(error) = self.connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())) {
            tracing::warn!(%error, "the log of the book keeps its room for now");
        }
        made.map_err(|error| match self.said(&error) {
            StoreError::DiskFull { path } => {
                let bytes = std::fs::metadata(&path).map_or(0, |about| about.len());
                StoreError::NoRoomToRebuild { path, megabytes: bytes.div_ceil(2_000_000) }
            }
            other => other,
        })
    }

    /// What became of writing. What was read with what could not be written is forgotten.
    fn written<T>(&mut self, written: rusqlite::Result<Result<T, StoreError>>) -> Result<T, StoreError> {
        let written = written.map_err(|e| self.said(&e)).and_then(std::convert::identity);
        if written.is_err() {
            self.readers.clear();
        }
        written
    }

    fn said(&self, error: &rusqlite::Error) -> StoreError {
        fault::words(&self.path, error)
    }

    /// Whether what is written still goes to where the book is. The system lets a program write to a file that
    /// was deleted, and loses it when the program ends.
    fn still_there(&self) -> Result<(), StoreError> {
        let moved = file_id(&self.path) != self.file || !open::with_suffix(&self.path, "-wal").exists();
        if moved { Err(StoreError::Gone { path: self.path.clone() }) } else { Ok(()) }
    }
}

#[cfg(unix)]
fn file_id(path: &Path) -> Option<FileId> {
    use std::os::unix::fs::MetadataExt;
    std::fs::metadata(path).ok().map(|about| (about.dev(), about.ino()))
}

#[cfg(not(unix))]
fn file_id(path: &Path) -> Option<FileId> {
    path.exists().then_some((0, 0))
}

/// Writes an envelope in a transaction of its own.
fn append(
    connection: &mut Connection,
    readers: &mut sums::Readers,
    envelope: &Envelope,
) -> rusqlite::Result<Result<Appended, StoreError>> {
    let writing = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let appended = append_in(&writing, readers, envelope)?;
    if matches!(appended, Ok(Appended::New)) {
        writing.commit()?;
    }
    Ok(appended)
}

/// Writes several in one transaction: all of them, or none.
fn append_all(
    connection: &mut Connection,
    readers: &mut sums::Readers,
    envelopes: &[Envelope],
) -> rusqlite::Result<Result<(), StoreError>> {
    let writing = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    for envelope in envelopes {
        if let Err(error) = append_in(&writing, readers, envelope)? {
            return Ok(Err(error));
        }
    }
    writing.commit()?;
    Ok(Ok(()))
}

/// Writes an envelope in a transaction that somebody else ends.
fn append_in(
    writing: &Connection,
    readers: &mut sums::Readers,
    envelope: &Envelope,
) -> rusqlite::Result<Result<Appended, StoreError>> {
    let id = envelope.id;
    if let Some(stored) = read::event(writing, id)? {
        let same = stored == *envelope;
        return Ok(if same { Ok(Appended::Already) } else { Err(StoreError::Different { id }) });
    }
    let expected: u32 = writing
        .prepare_cached("SELECT coalesce(max(sequence) + 1, 0) FROM events WHERE subject = ?1")?
        .query_row([envelope.subject], |row| row.get(0))?;
    if expected != envelope.sequence {
        let (subject, found) = (envelope.subject, envelope.sequence);
        return Ok(Err(StoreError::OutOfPlace { id, subject, expected, found }));
    }
    writing
        .prepare_cached(
            "INSERT INTO events (id, at, bench, operator, subject, sequence, kind, body)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        )?
        .execute((
            id,
            envelope.at.0,
            &envelope.bench,
            &envelope.operator,
            envelope.subject,
            envelope.sequence,
            &envelope.kind,
            &envelope.body,
        ))?;
    let position = writing.last_insert_rowid();
    {
        let sql =
            "INSERT INTO postings (event, place, account, toner, micrograms) VALUES (?1, ?2, ?3, ?4, ?5)";
        let mut insert = writing.prepare_cached(sql)?;
        for (place, posting) in (0_i64..).zip(&envelope.postings) {
            let account = posting.account.to_string();
            insert.execute((position, place, account, posting.toner.as_str(), posting.micrograms))?;
        }
    }
    kept::cost(writing, position, envelope)?;
    sums::take(writing, readers, position, envelope)?;
    Ok(Ok(Appended::New))
}

impl Store for SqliteStore {
    fn append(&mut self, envelope: &Envelope) -> Result<Appended, StoreError> {
        if let Some(why) = &self.look_only {
            return Err(StoreError::LookOnly { why: why.clone() });
        }
        if let Some(flaw) = envelope.flaw() {
            return Err(StoreError::Flawed { id: envelope.id, flaw });
        }
        self.still_there()?;
        let appended = append(&mut self.connection, &mut self.readers, envelope);
        let appended = self.written(appended)?;
        self.still_there()?;
        Ok(appended)
    }

    fn append_all(&mut self, envelopes: &[Envelope]) -> Result<(), StoreError> {
        if let Some(why) = &self.look_only {
            return Err(StoreError::LookOnly { why: why.clone() });
        }
        if let Some((id, flaw)) = envelopes.iter().find_map(|envelope| Some((envelope.id, envelope.flaw()?)))
        {
            return Err(StoreError::Flawed { id, flaw });
        }
        self.still_there()?;
        let written = append_all(&mut self.connection, &mut self.readers, envelopes);
        self.written(written)?;
        self.still_there()
    }

    fn events(&self, mix: MixId) -> Result<Vec<Envelope>, StoreError> {
        // One transaction, so that what another program writes in between does not show by halves.
        let look = self.connection.unchecked_transaction().map_err(|e| self.said(&e))?;
        read::events(&look, mix).map_err(|e| self.said(&e))
    }

    fn mixes(&self) -> Result<Vec<MixSummary>, StoreError> {
        read::mixes(&self.connection).map_err(|e| self.said(&e))
    }

    fn unfinished(&self) -> Result<Vec<MixSummary>, StoreError> {
        read::unfinished(&self.connection, self.keeps.figures()).map_err(|e| self.said(&e))
    }

    fn balances(&self) -> Result<Vec<Balance>, StoreError> {
        read::balances(&self.connection, self.keeps.figures()).map_err(|e| self.said(&e))
    }

    fn balances_of(&self, account: &Account) -> Result<Vec<Balance>, StoreError> {
        read::balances_of(&self.connection, self.keeps.figures(), account).map_err(|e| self.said(&e))
    }

    fn of_scale(&self, kind: &str, scale: &str, most: u32) -> Result<Vec<Envelope>, StoreError> {
        read::of_scale(&self.connection, kind, scale, most).map_err(|e| self.said(&e))
    }

    fn scale_events(&self) -> Result<Vec<Envelope>, StoreError> {
        read::scale_events(&self.connection).map_err(|e| self.said(&e))
    }

    fn count(&self) -> Result<u64, StoreError> {
        let sql = "SELECT count(*) FROM events";
        let count: i64 = self.connection.query_row(sql, [], |row| row.get(0)).map_err(|e| self.said(&e))?;
        Ok(count.unsigned_abs())
    }

    fn each(&self, take: &mut dyn FnMut(&Envelope)) -> Result<(), StoreError> {
        self.each_event(|envelope| {
            take(&envelope);
            Ok(())
        })
    }

    fn figures(&self) -> Result<Option<Figures>, StoreError> {
        if !self.keeps.figures() {
            return Ok(None);
        }
        let look = self.connection.unchecked_transaction().map_err(|e| self.said(&e))?;
        kept::figures(&look, self.keeps).map(Some).map_err(|e| self.said(&e))
    }

    fn faults(&self) -> Result<Vec<String>, StoreError> {
        read::faults(&self.connection, &self.path)
    }

    fn next_number(&self) -> Result<u32, StoreError> {
        Ok(read::begun(&self.connection, self.keeps.figures()).map_err(|e| self.said(&e))?.saturating_add(1))
    }
}
