//! A whole book at once: out of the file an event at a time, and into an empty one, all or nothing.

use super::{SqliteStore, append_in, migrations, open, read};
use crate::book::{Appended, Envelope, Store as _, StoreError, lock};
use rusqlite::TransactionBehavior;

/// How much of the book SQLite may hold in memory while it is filled, in KiB: the same however large the book is.
const CACHE_KIB: i64 = 64 * 1024;

impl SqliteStore {
    /// The version of the layout of its tables.
    pub fn layout(&self) -> Result<u32, StoreError> {
        migrations::version(&self.connection).map_err(|e| self.said(&e))
    }

    /// Every event in the order they were written, one at a time, all as of the same moment.
    pub fn each_event<E: From<StoreError>>(
        &self,
        take: impl FnMut(Envelope) -> Result<(), E>,
    ) -> Result<(), E> {
        let look = self.connection.unchecked_transaction().map_err(|e| self.said(&e))?;
        read::each(&look, take).map_err(|e| self.said(&e))?
    }

    /// Writes those events into the book, which must be empty, all or nothing; how many there were.
    ///
    /// What `next` gives is kept only once it has given nothing more.
    pub fn fill<E: From<StoreError>>(
        &mut self,
        mut next: impl FnMut() -> Result<Option<Envelope>, E>,
    ) -> Result<u64, E> {
        if let Some(why) = &self.look_only {
            return Err(StoreError::LookOnly { why: why.clone() }.into());
        }
        let events = self.count()?;
        if events > 0 {
            return Err(StoreError::NotEmpty { path: self.path.clone(), events }.into());
        }
        self.still_there()?;
        let path = self.path.clone();
        let said = |error: &rusqlite::Error| super::fault::words(&path, error);
        let usual: i64 =
            self.connection.pragma_query_value(None, "cache_size", |row| row.get(0)).unwrap_or(0);
        self.connection.pragma_update(None, "cache_size", -CACHE_KIB).map_err(|e| said(&e))?;
        self.readers.clear();
        let writing = self
            .connection
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(|e| said(&e))?;
        let mut written = 0_u64;
        while let Some(envelope) = next()? {
            if let Some(flaw) = envelope.flaw() {
                return Err(StoreError::Flawed { id: envelope.id, flaw }.into());
            }
            if append_in(&writing, &mut self.readers, &envelope).map_err(|e| said(&e))?? == Appended::Already
            {
                return Err(StoreError::Twice { id: envelope.id }.into());
            }
            written = written.saturating_add(1);
        }
        writing.commit().map_err(|e| said(&e))?;
        self.connection.pragma_update(None, "cache_size", usual).map_err(|e| said(&e))?;
        self.still_there()?;
        Ok(written)
    }

    /// Takes the book's file away again, and what is beside it, while nobody else can write in it: for one that was
    /// only just made.
    pub(in crate::book) fn discard(self) {
        let Self { connection, path, _lock, .. } = self;
        drop(connection);
        for file in [path.clone(), open::with_suffix(&path, "-wal"), open::with_suffix(&path, "-shm")] {
            let _ = std::fs::remove_file(file);
        }
        let _ = std::fs::remove_file(lock::beside(&path));
    }
}
