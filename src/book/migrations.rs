//! The book's tables, version by version. A migration is never changed once a book was made with it: its
//! checksum is kept in the book.

use super::StoreError;
use crate::units::Stamp;
use rusqlite::{Connection, TransactionBehavior, params};

/// One step from a version to the next.
#[derive(Debug)]
pub(super) struct Migration {
    /// The version it leads to.
    pub(super) version: u32,
    /// What it does.
    pub(super) sql: &'static str,
}

/// All of them, in order, from an empty file on.
pub(super) const MIGRATIONS: &[Migration] = &[Migration { version: 1, sql: V1 }];

const V1: &str = "
CREATE TABLE schema (
  version INTEGER PRIMARY KEY,
  checksum TEXT NOT NULL,
  applied_us INTEGER NOT NULL
) STRICT;
CREATE TABLE events (
  position INTEGER PRIMARY KEY AUTOINCREMENT,
  id TEXT NOT NULL UNIQUE,
  at_us INTEGER NOT NULL,
  bench TEXT NOT NULL,
  operator TEXT NOT NULL,
  subject TEXT NOT NULL,
  sequence INTEGER NOT NULL CHECK (sequence >= 0),
  kind TEXT NOT NULL,
  body TEXT NOT NULL,
  UNIQUE (subject, sequence)
) STRICT;
CREATE TABLE postings (
  event INTEGER NOT NULL REFERENCES events (position),
  line INTEGER NOT NULL,
  account TEXT NOT NULL,
  toner TEXT NOT NULL,
  micrograms INTEGER NOT NULL CHECK (micrograms <> 0),
  PRIMARY KEY (event, line)
) STRICT;
CREATE INDEX postings_by_account ON postings (account, toner);
CREATE TRIGGER events_are_not_changed BEFORE UPDATE ON events
  BEGIN SELECT RAISE(ABORT, 'the book is never changed: add an event that puts it right'); END;
CREATE TRIGGER events_are_not_deleted BEFORE DELETE ON events
  BEGIN SELECT RAISE(ABORT, 'nothing is deleted from the book'); END;
CREATE TRIGGER postings_are_not_changed BEFORE UPDATE ON postings
  BEGIN SELECT RAISE(ABORT, 'the book is never changed: add an event that puts it right'); END;
CREATE TRIGGER postings_are_not_deleted BEFORE DELETE ON postings
  BEGIN SELECT RAISE(ABORT, 'nothing is deleted from the book'); END;
CREATE TRIGGER events_leave_no_gap BEFORE INSERT ON events
  WHEN NEW.sequence <> (SELECT COUNT(*) FROM events WHERE subject = NEW.subject)
  BEGIN SELECT RAISE(ABORT, 'an event is missing before this one'); END;
";

/// The latest version this program knows.
pub(super) fn latest() -> u32 {
    MIGRATIONS.last().map_or(0, |migration| migration.version)
}

/// The version of a book; 0 for an empty file.
pub(super) fn version(connection: &Connection) -> Result<u32, StoreError> {
    Ok(connection.pragma_query_value(None, "user_version", |row| row.get(0))?)
}

/// Brings a book up to the latest version, each step in a transaction of its own.
pub(super) fn migrate(connection: &mut Connection, at: Stamp) -> Result<(), StoreError> {
    migrate_to(connection, latest(), at)
}

/// Brings a book up to that version.
pub(super) fn migrate_to(connection: &mut Connection, target: u32, at: Stamp) -> Result<(), StoreError> {
    let found = version(connection)?;
    if found > latest() {
        return Err(StoreError::Newer { found, known: latest() });
    }
    for migration in MIGRATIONS.iter().filter(|step| step.version > found && step.version <= target) {
        let step = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        step.execute_batch(migration.sql)?;
        step.execute(
            "INSERT INTO schema (version, checksum, applied_us) VALUES (?1, ?2, ?3)",
            params![migration.version, checksum(migration.sql), at.0],
        )?;
        step.pragma_update(None, "user_version", migration.version)?;
        step.commit()?;
    }
    verify(connection)
}

/// Whether the steps that made the book are the ones this program knows.
pub(super) fn verify(connection: &Connection) -> Result<(), StoreError> {
    let found = version(connection)?;
    if found > latest() {
        return Err(StoreError::Newer { found, known: latest() });
    }
    for migration in MIGRATIONS.iter().filter(|step| step.version <= found) {
        let kept: String = connection.query_row(
            "SELECT checksum FROM schema WHERE version = ?1",
            [migration.version],
            |row| row.get(0),
        )?;
        if kept != checksum(migration.sql) {
            return Err(StoreError::OtherSchema(migration.version));
        }
    }
    Ok(())
}

/// FNV-1a, 64 bits: enough to notice that a step was edited; it protects against nobody.
fn checksum(text: &str) -> String {
    let hash = text.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    });
    format!("{hash:016x}")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A book at each version there ever was comes up to the latest, and is then like a new one.
    #[test]
    fn every_version_comes_up_to_the_latest() {
        let tables = |connection: &Connection| -> Vec<String> {
            let mut query =
                connection.prepare("SELECT sql FROM sqlite_schema WHERE sql NOT NULL ORDER BY name").unwrap();
            query.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect()
        };
        let mut fresh = Connection::open_in_memory().unwrap();
        migrate(&mut fresh, Stamp(1)).unwrap();
        assert!(!tables(&fresh).is_empty());
        for from in 0..=latest() {
            let mut old = Connection::open_in_memory().unwrap();
            migrate_to(&mut old, from, Stamp(1)).unwrap();
            assert_eq!(version(&old).unwrap(), from);
            migrate(&mut old, Stamp(2)).unwrap();
            assert_eq!(version(&old).unwrap(), latest());
            assert_eq!(tables(&old), tables(&fresh));
        }
    }

    #[test]
    fn versions_count_up_from_one() {
        let versions: Vec<u32> = MIGRATIONS.iter().map(|step| step.version).collect();
        assert_eq!(versions, (1..=latest()).collect::<Vec<_>>());
    }

    /// Once books exist, the steps that made them must stay as they are.
    #[test]
    fn the_steps_are_what_they_were() {
        let sums: Vec<String> = MIGRATIONS.iter().map(|step| checksum(step.sql)).collect();
        assert_eq!(sums, ["c82f56ea51e8deea"]);
    }

    #[test]
    fn a_step_that_was_edited_is_noticed() {
        let mut book = Connection::open_in_memory().unwrap();
        migrate(&mut book, Stamp(1)).unwrap();
        book.execute("UPDATE schema SET checksum = 'other'", []).unwrap();
        assert!(matches!(verify(&book), Err(StoreError::OtherSchema(1))));
        book.pragma_update(None, "user_version", 99).unwrap();
        assert!(matches!(verify(&book), Err(StoreError::Newer { found: 99, .. })));
    }
}
