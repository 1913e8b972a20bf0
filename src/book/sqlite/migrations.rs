//! The book's tables, version by version. A migration is never changed once a book was made with it: its
//! checksum is kept in the book.

use super::found_sql::{V11, V12};
use super::job_sql::JOBS;
use super::kept;
use super::kept_sql::{V3, V4, V5};
use super::sums;
use super::sums_sql::{V7, V8, V9, V10};
use crate::units::Stamp;
use rusqlite::{Connection, OptionalExtension, TransactionBehavior};

/// Marks the file as a book of this program (SQLite's `application_id`): `PBbk`.
pub(super) const APPLICATION: i32 = 0x5042_626b;

/// One step from a version to the next.
#[derive(Debug)]
pub(super) struct Migration {
    /// The version it leads to.
    pub(super) version: u32,
    /// What it does.
    pub(super) sql: &'static str,
    /// What it does beyond what a statement can.
    pub(super) then: Option<fn(&Connection) -> rusqlite::Result<()>>,
}

/// All of them, in order, from an empty file on.
pub(super) const MIGRATIONS: &[Migration] = &[
    Migration { version: 1, sql: V1, then: None },
    Migration { version: 2, sql: V2, then: None },
    Migration { version: FIGURES, sql: V3, then: Some(kept::costs) },
    Migration { version: 4, sql: V4, then: None },
    Migration { version: 5, sql: V5, then: None },
    Migration { version: JOBS_KEPT, sql: JOBS, then: None },
    Migration { version: SUMS, sql: V7, then: Some(sums::fill) },
    Migration { version: 8, sql: V8, then: None },
    Migration { version: 9, sql: V9, then: None },
    Migration { version: 10, sql: V10, then: None },
    Migration { version: FOUND, sql: V11, then: Some(sums::fill_marks) },
    Migration { version: 12, sql: V12, then: None },
];

/// The version from which on figures are kept beside the journal.
pub(super) const FIGURES: u32 = 3;

/// The version from which on the jobs are kept there too.
pub(super) const JOBS_KEPT: u32 = 6;

/// The version from which on there are sums of weeks, months and mixes among them.
pub(super) const SUMS: u32 = 7;

/// The version from which on a day's use is one row, and mixes are found by what went over in them.
pub(super) const FOUND: u32 = 11;

/// Events and their postings, which can be added to and never changed.
///
/// Identities are text, so that any tool can read the book. `INSERT OR REPLACE` deletes without asking the
/// delete triggers unless `recursive_triggers` is on, and another tool may have it off; so the insert triggers
/// refuse what is there already, too.
const V1: &str = "
CREATE TABLE schema (
    version INTEGER PRIMARY KEY,
    checksum TEXT NOT NULL,
    applied_at INTEGER NOT NULL
) STRICT;

CREATE TABLE events (
    position INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE CHECK (length(id) = 36),
    at INTEGER NOT NULL, -- microseconds since 1970-01-01T00:00:00Z
    bench TEXT NOT NULL,
    operator TEXT NOT NULL,
    subject TEXT NOT NULL CHECK (length(subject) = 36),
    sequence INTEGER NOT NULL CHECK (sequence >= 0),
    kind TEXT NOT NULL CHECK (kind <> ''),
    body TEXT NOT NULL CHECK (json_valid(body)),
    UNIQUE (subject, sequence)
) STRICT;

-- A mix's number is its place among these.
CREATE INDEX mix_starts ON events (position) WHERE kind = 'mix/started';
CREATE INDEX mix_endings ON events (subject) WHERE kind IN ('mix/finished', 'mix/abandoned');

CREATE TABLE postings (
    event INTEGER NOT NULL REFERENCES events (position),
    place INTEGER NOT NULL CHECK (place >= 0),
    account TEXT NOT NULL CHECK (account <> ''),
    toner TEXT NOT NULL CHECK (toner <> ''),
    micrograms INTEGER NOT NULL CHECK (micrograms <> 0),
    PRIMARY KEY (event, place)
) STRICT, WITHOUT ROWID;

CREATE INDEX postings_by_account ON postings (account, toner, micrograms);

CREATE TRIGGER events_follow BEFORE INSERT ON events
WHEN NEW.sequence <> (SELECT coalesce(max(sequence) + 1, 0) FROM events WHERE subject = NEW.subject)
BEGIN SELECT RAISE(ABORT, 'an event takes the next place of its mix'); END;
CREATE TRIGGER events_once BEFORE INSERT ON events
WHEN EXISTS (SELECT 1 FROM events WHERE id = NEW.id) OR EXISTS (SELECT 1 FROM events WHERE position = NEW.position)
BEGIN SELECT RAISE(ABORT, 'the book is only added to: this event is in it'); END;
CREATE TRIGGER events_stay BEFORE UPDATE ON events
BEGIN SELECT RAISE(ABORT, 'the book is only added to: events are never changed'); END;
CREATE TRIGGER events_remain BEFORE DELETE ON events
BEGIN SELECT RAISE(ABORT, 'the book is only added to: events are never deleted'); END;

CREATE TRIGGER postings_with_event BEFORE INSERT ON postings
WHEN NEW.event IS NOT (SELECT max(position) FROM events)
BEGIN SELECT RAISE(ABORT, 'postings are written with their event'); END;
CREATE TRIGGER postings_once BEFORE INSERT ON postings
WHEN EXISTS (SELECT 1 FROM postings WHERE event = NEW.event AND place = NEW.place)
BEGIN SELECT RAISE(ABORT, 'the book is only added to: this posting is in it'); END;
CREATE TRIGGER postings_stay BEFORE UPDATE ON postings
BEGIN SELECT RAISE(ABORT, 'the book is only added to: postings are never changed'); END;
CREATE TRIGGER postings_remain BEFORE DELETE ON postings
BEGIN SELECT RAISE(ABORT, 'the book is only added to: postings are never deleted'); END;
";

/// A scale's last check is found without looking through all of them.
const V2: &str = "
CREATE INDEX scale_events ON events (kind, json_extract(body, '$.scale'), position)
WHERE kind IN ('scale/checked', 'scale/repeatability');
";

/// The oldest layout that can be looked at as it is: what came after it only made finding faster.
pub(super) const READABLE: u32 = 1;

/// The latest version this program knows.
pub(super) fn latest() -> u32 {
    MIGRATIONS.last().map_or(0, |migration| migration.version)
}

/// The version of a book; 0 for an empty file.
pub(super) fn version(connection: &Connection) -> rusqlite::Result<u32> {
    connection.pragma_query_value(None, "user_version", |row| row.get(0))
}

/// Brings a book up to the latest version, each step in a transaction of its own.
pub(super) fn migrate(connection: &mut Connection, at: Stamp) -> rusqlite::Result<()> {
    migrate_to(connection, latest(), at)
}

/// Brings a book up to that version. The mark that it is a book comes with the first step, in the same
/// transaction: a file is empty or a book, never something between.
pub(super) fn migrate_to(connection: &mut Connection, target: u32, at: Stamp) -> rusqlite::Result<()> {
    let found = version(connection)?;
    for migration in MIGRATIONS.iter().filter(|step| step.version > found && step.version <= target) {
        let step = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        step.execute_batch(migration.sql)?;
        if let Some(then) = migration.then {
            then(&step)?;
        }
        step.execute(
            "INSERT INTO schema (version, checksum, applied_at) VALUES (?1, ?2, ?3)",
            (migration.version, checksum(migration.sql), at.0),
        )?;
        step.pragma_update(None, "application_id", APPLICATION)?;
        step.pragma_update(None, "user_version", migration.version)?;
        step.commit()?;
    }
    Ok(())
}

/// The first step that made the book and is not the one this program knows; none if all are.
pub(super) fn altered(connection: &Connection) -> rusqlite::Result<Option<u32>> {
    let found = version(connection)?;
    let mut query = connection.prepare("SELECT checksum FROM schema WHERE version = ?1")?;
    for migration in MIGRATIONS.iter().filter(|step| step.version <= found) {
        let kept: Option<String> = query.query_row([migration.version], |row| row.get(0)).optional()?;
        if kept != Some(checksum(migration.sql)) {
            return Ok(Some(migration.version));
        }
    }
    Ok(None)
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
        assert_eq!(
            sums,
            [
                "1585ebf39a7f4f4c",
                "5cf08d4b0e0e09ca",
                "86940a312255c9fc",
                "69b17d8b7f24341d",
                "9a86693bf19a1f5a",
                "22c57b3dfbad43b7",
                "c23db56cb73f963f",
                "1dd5853b09292dc5",
                "5e066f51bd2a1d50",
                "6eec432ed899d51f",
                "4567adcbcb838fb0",
                "e5c2c3739a6ad977"
            ]
        );
    }

    #[test]
    fn a_step_that_was_edited_is_noticed() {
        let mut book = Connection::open_in_memory().unwrap();
        migrate(&mut book, Stamp(1)).unwrap();
        assert_eq!(altered(&book).unwrap(), None);
        book.execute("UPDATE schema SET checksum = 'other'", []).unwrap();
        assert_eq!(altered(&book).unwrap(), Some(1));
        book.execute("DELETE FROM schema", []).unwrap();
        assert_eq!(altered(&book).unwrap(), Some(1));
    }

    /// The test vectors of draft-eastlake-fnv, "FNV-1a 64-bit".
    #[test]
    fn the_checksum_is_fnv_1a() {
        assert_eq!(checksum(""), "cbf29ce484222325");
        assert_eq!(checksum("a"), "af63dc4c8601ec8c");
        assert_eq!(checksum("foobar"), "85944171f73967e8");
    }
}
