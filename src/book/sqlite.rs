//! The book in one SQLite file, where nothing is ever changed or deleted.

use super::lock::{self, Asked, Lock};
use super::{
    Account, Appended, Balance, Envelope, EventId, MixId, MixSummary, Outcome, Posting, Store, StoreError,
    migrations, mounts,
};
use crate::catalogue::TonerCode;
use crate::units::Stamp;
use rusqlite::{Connection, OpenFlags, OptionalExtension, Row, TransactionBehavior, params};
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt};
use std::path::Path;
use std::time::Duration;

/// "Pbk1" as a number: tells a book from any other SQLite file.
const APPLICATION_ID: i32 = 0x5062_6b31;
/// How long a writer that is in the way is waited for.
const PATIENCE: Duration = Duration::from_secs(2);

/// A book in a file.
#[derive(Debug)]
pub struct SqliteStore {
    connection: Connection,
    /// Held as long as this store may write; none if it may only look.
    lock: Option<Lock>,
}

/// How a book was opened.
#[derive(Debug)]
pub enum Opened {
    /// To write.
    ToWrite(SqliteStore),
    /// Only to look.
    ToLook {
        /// The book.
        store: SqliteStore,
        /// Why, in a sentence.
        why: String,
    },
}

impl SqliteStore {
    /// Opens a book to write, making it if it is not there; only to look if another program writes it.
    ///
    /// The file is made readable by its owner alone.
    pub fn open(path: &Path, at: Stamp) -> Result<Opened, StoreError> {
        let file = |error| StoreError::File { path: path.to_owned(), error };
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        std::fs::DirBuilder::new().recursive(true).mode(0o700).create(folder).map_err(file)?;
        if let Some(kind) = mounts::network(folder) {
            return Err(StoreError::Network { path: path.to_owned(), kind });
        }
        match lock::ask(path).map_err(file)? {
            Asked::Taken(why) => Ok(Opened::ToLook { store: open_to_look(path)?, why }),
            Asked::Ours(lock) => {
                // Made by us first, so that SQLite's own files take over its rights.
                std::fs::OpenOptions::new().create(true).append(true).mode(0o600).open(path).map_err(file)?;
                let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
                let mut connection = Connection::open_with_flags(path, flags)?;
                is_a_book(&connection, path)?;
                settle(&connection)?;
                migrations::migrate(&mut connection, at)?;
                connection.pragma_update(None, "application_id", APPLICATION_ID)?;
                Ok(Opened::ToWrite(Self { connection, lock: Some(lock) }))
            }
        }
    }

    /// The connection, for tests that try what the book must refuse.
    #[cfg(test)]
    fn raw(&self) -> &Connection {
        &self.connection
    }
}

/// Opens a book only to look, also while another program writes it.
pub fn open_to_look(path: &Path) -> Result<SqliteStore, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = Connection::open_with_flags(path, flags)?;
    is_a_book(&connection, path)?;
    connection.busy_timeout(PATIENCE)?;
    migrations::verify(&connection)?;
    Ok(SqliteStore { connection, lock: None })
}

/// Refuses a file that holds something else.
fn is_a_book(connection: &Connection, path: &Path) -> Result<(), StoreError> {
    let not_a_book = || StoreError::NotABook(path.to_owned());
    let read = || -> rusqlite::Result<(i32, u32, u32)> {
        Ok((
            connection.pragma_query_value(None, "application_id", |row| row.get(0))?,
            connection.pragma_query_value(None, "user_version", |row| row.get(0))?,
            connection.query_row("SELECT COUNT(*) FROM sqlite_schema", [], |row| row.get(0))?,
        ))
    };
    match read() {
        Ok((APPLICATION_ID, _, _) | (0, 0, 0)) => Ok(()),
        // A book whose very first opening was cut off between its tables and its mark.
        Ok((0, version, _))
            if version <= migrations::latest() && migrations::verify(connection).is_ok() && version > 0 =>
        {
            Ok(())
        }
        Ok(_) => Err(not_a_book()),
        Err(error) if error.sqlite_error_code() == Some(rusqlite::ErrorCode::NotADatabase) => {
            Err(not_a_book())
        }
        Err(error) => Err(error.into()),
    }
}

/// Sets what the book's promises stand on, and reads each back: another build of SQLite has other defaults.
fn settle(connection: &Connection) -> Result<(), StoreError> {
    connection.busy_timeout(PATIENCE)?;
    let wanted: [(&'static str, &'static str, &'static str); 5] = [
        ("journal_mode", "WAL", "wal"),
        // FULL: an append that has returned survives the power going.
        ("synchronous", "FULL", "2"),
        ("foreign_keys", "ON", "1"),
        ("trusted_schema", "OFF", "0"),
        ("recursive_triggers", "ON", "1"),
    ];
    for (setting, value, reads) in wanted {
        connection.pragma_update(None, setting, value)?;
        let found = connection.pragma_query_value(None, setting, |row| {
            Ok(match row.get_ref(0)? {
                rusqlite::types::ValueRef::Integer(number) => number.to_string(),
                other => other.as_str().unwrap_or_default().to_owned(),
            })
        })?;
        if found != reads {
            return Err(StoreError::Setting { setting, found, wanted: reads });
        }
    }
    Ok(())
}

impl Store for SqliteStore {
    fn append(&mut self, envelope: &Envelope) -> Result<Appended, StoreError> {
        if self.lock.is_none() {
            return Err(StoreError::LookOnly);
        }
        if let Some(flaw) = envelope.flaw() {
            return Err(StoreError::Flawed { id: envelope.id, flaw });
        }
        let write = self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        if let Some(kept) = by_id(&write, envelope.id)? {
            return if kept == *envelope {
                Ok(Appended::Already)
            } else {
                Err(StoreError::Different(envelope.id))
            };
        }
        let subject = envelope.subject.to_string();
        let expected: u32 = write
            .prepare_cached("SELECT COUNT(*) FROM events WHERE subject = ?1")?
            .query_row([&subject], |row| row.get(0))?;
        if envelope.sequence != expected {
            return Err(StoreError::OutOfPlace { id: envelope.id, expected, found: envelope.sequence });
        }
        write
            .prepare_cached(
                "INSERT INTO events (id, at_us, bench, operator, subject, sequence, kind, body) \
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
            )?
            .execute(params![
                envelope.id.to_string(),
                envelope.at.0,
                envelope.bench,
                envelope.operator,
                subject,
                envelope.sequence,
                envelope.kind,
                envelope.body
            ])?;
        let position = write.last_insert_rowid();
        {
            let mut insert = write.prepare_cached(
                "INSERT INTO postings (event, line, account, toner, micrograms) VALUES (?1, ?2, ?3, ?4, ?5)",
            )?;
            for (line, posting) in (0_i64..).zip(&envelope.postings) {
                insert.execute(params![
                    position,
                    line,
                    posting.account.to_string(),
                    posting.toner.as_str(),
                    posting.micrograms
                ])?;
            }
        }
        write.commit()?;
        Ok(Appended::New)
    }

    fn events(&self, mix: MixId) -> Result<Vec<Envelope>, StoreError> {
        let mut query = self.connection.prepare_cached(&select("subject = ?1 ORDER BY sequence"))?;
        let rows = query.query_map([mix.to_string()], row)?;
        rows.map(|row| complete(&self.connection, row?)).collect()
    }

    fn mixes(&self) -> Result<Vec<MixSummary>, StoreError> {
        let mut query = self.connection.prepare_cached(
            "SELECT first.subject, first.at_us, first.operator, MAX(each.at_us), COUNT(*), \
             MAX(each.kind = 'mix/finished'), MAX(each.kind = 'mix/abandoned') \
             FROM events AS first JOIN events AS each ON each.subject = first.subject \
             WHERE first.kind = 'mix/started' GROUP BY first.position ORDER BY first.position",
        )?;
        let rows = query.query_map([], |row| {
            let outcome = match (row.get(5)?, row.get(6)?) {
                (true, _) => Outcome::Finished,
                (_, true) => Outcome::Abandoned,
                _ => Outcome::Unfinished,
            };
            let subject: String = row.get(0)?;
            Ok((subject, Stamp(row.get(1)?), row.get(2)?, Stamp(row.get(3)?), row.get(4)?, outcome))
        })?;
        (1_u32..)
            .zip(rows)
            .map(|(number, row)| {
                let (subject, begun, operator, last, events, outcome) = row?;
                let mix = MixId::parse(&subject).ok_or(StoreError::Unreadable(subject))?;
                Ok(MixSummary { mix, number, begun, operator, last, events, outcome })
            })
            .collect()
    }

    fn balances(&self) -> Result<Vec<Balance>, StoreError> {
        let mut query = self.connection.prepare_cached(
            "SELECT account, toner, SUM(micrograms) FROM postings GROUP BY account, toner \
             HAVING SUM(micrograms) <> 0 ORDER BY account, toner",
        )?;
        let rows = query.query_map([], |row| {
            let (account, toner): (String, String) = (row.get(0)?, row.get(1)?);
            Ok(Balance {
                account: Account::parse(&account),
                toner: TonerCode::new(toner),
                micrograms: row.get(2)?,
            })
        })?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }

    fn faults(&self) -> Result<Vec<String>, StoreError> {
        let mut faults = Vec::new();
        for check in ["PRAGMA integrity_check", "PRAGMA foreign_key_check"] {
            let mut query = self.connection.prepare(check)?;
            let rows = query.query_map([], |row| row.get_ref(0).map(|value| format!("{value:?}")))?;
            let said = rows.collect::<rusqlite::Result<Vec<String>>>()?;
            faults.extend(
                said.into_iter().filter(|line| !line.contains("\"ok\"") && !line.contains("[111, 107]")),
            );
        }
        Ok(faults)
    }

    fn next_number(&self) -> Result<u32, StoreError> {
        let count: u32 = self
            .connection
            .prepare_cached("SELECT COUNT(*) FROM events WHERE kind = 'mix/started'")?
            .query_row([], |row| row.get(0))?;
        Ok(count.saturating_add(1))
    }
}

fn select(which: &str) -> String {
    format!(
        "SELECT position, id, at_us, bench, operator, subject, sequence, kind, body FROM events WHERE {which}"
    )
}

/// A row of events as it stands: its position, and the envelope unless its identities are none.
type Raw = (i64, Result<Envelope, StoreError>);

fn row(row: &Row<'_>) -> rusqlite::Result<Raw> {
    let (id, subject): (String, String) = (row.get(1)?, row.get(5)?);
    let envelope = match (EventId::parse(&id), MixId::parse(&subject)) {
        (Some(id), Some(subject)) => Ok(Envelope {
            id,
            at: Stamp(row.get(2)?),
            bench: row.get(3)?,
            operator: row.get(4)?,
            subject,
            sequence: row.get(6)?,
            kind: row.get(7)?,
            body: row.get(8)?,
            postings: Vec::new(),
        }),
        _ => Err(StoreError::Unreadable(format!("event {id} of {subject}"))),
    };
    Ok((row.get(0)?, envelope))
}

/// Adds the postings.
fn complete(connection: &Connection, (position, envelope): Raw) -> Result<Envelope, StoreError> {
    let mut envelope = envelope?;
    let mut query = connection
        .prepare_cached("SELECT account, toner, micrograms FROM postings WHERE event = ?1 ORDER BY line")?;
    let rows = query.query_map([position], |row| {
        let (account, toner): (String, String) = (row.get(0)?, row.get(1)?);
        Ok(Posting {
            account: Account::parse(&account),
            toner: TonerCode::new(toner),
            micrograms: row.get(2)?,
        })
    })?;
    envelope.postings = rows.collect::<rusqlite::Result<_>>()?;
    Ok(envelope)
}

fn by_id(connection: &Connection, id: EventId) -> Result<Option<Envelope>, StoreError> {
    let mut query = connection.prepare_cached(&select("id = ?1"))?;
    let found = query.query_row([id.to_string()], row).optional()?;
    found.map(|raw| complete(connection, raw)).transpose()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::Ids;
    use crate::book::testing::{envelopes, whole};
    use std::os::unix::fs::PermissionsExt;

    fn fresh() -> (tempfile::TempDir, SqliteStore) {
        let folder = tempfile::tempdir().unwrap();
        let Opened::ToWrite(store) = SqliteStore::open(&folder.path().join("a/book"), Stamp(1)).unwrap()
        else {
            panic!("nobody else has it")
        };
        (folder, store)
    }

    #[test]
    fn what_is_written_is_read_back() {
        let (_folder, mut store) = fresh();
        let (mix, written) = envelopes(&mut Ids::counted(1), &whole());
        for envelope in &written {
            assert_eq!(store.append(envelope).unwrap(), Appended::New);
        }
        assert_eq!(store.events(mix).unwrap(), written);
        assert_eq!(store.next_number().unwrap(), 2);
        let mixes = store.mixes().unwrap();
        assert_eq!((mixes.len(), mixes[0].mix, mixes[0].outcome), (1, mix, Outcome::Finished));
        assert_eq!(mixes[0].events as usize, written.len());
        assert!(store.faults().unwrap().is_empty(), "{:?}", store.faults());
        assert_eq!(store.balances().unwrap().iter().map(|balance| balance.micrograms).sum::<i64>(), 0);
    }

    #[test]
    fn the_same_again_is_success_and_anything_else_is_not() {
        let (_folder, mut store) = fresh();
        let (_, written) = envelopes(&mut Ids::counted(1), &whole());
        store.append(&written[0]).unwrap();
        assert_eq!(store.append(&written[0]).unwrap(), Appended::Already);
        let other = Envelope { operator: "somebody else".into(), ..written[0].clone() };
        assert!(matches!(store.append(&other), Err(StoreError::Different(_))));
        assert!(matches!(
            store.append(&written[2]),
            Err(StoreError::OutOfPlace { expected: 1, found: 2, .. })
        ));
        let mut flawed = written[1].clone();
        flawed.body = "no JSON".into();
        assert!(matches!(store.append(&flawed), Err(StoreError::Flawed { .. })));
        assert_eq!(store.append(&written[1]).unwrap(), Appended::New);
    }

    #[test]
    fn nothing_is_changed_or_deleted_even_by_hand() {
        let (_folder, mut store) = fresh();
        let (_, written) = envelopes(&mut Ids::counted(1), &whole());
        for envelope in &written {
            store.append(envelope).unwrap();
        }
        for sql in [
            "UPDATE events SET operator = 'x'",
            "DELETE FROM events",
            "UPDATE postings SET micrograms = 1",
            "DELETE FROM postings",
            "INSERT OR REPLACE INTO events SELECT * FROM events LIMIT 1",
        ] {
            let error = store.raw().execute(sql, []).unwrap_err().to_string();
            assert!(
                error.contains("never changed") || error.contains("deleted") || error.contains("missing"),
                "{sql}: {error}"
            );
        }
        let gap = "INSERT INTO events (id, at_us, bench, operator, subject, sequence, kind, body) \
                   VALUES ('x', 1, '', '', 'y', 5, 'k', '{}')";
        assert!(store.raw().execute(gap, []).unwrap_err().to_string().contains("missing"));
        let loose = "INSERT INTO postings VALUES (9999, 0, 'a', 'b', 1)";
        assert!(store.raw().execute(loose, []).unwrap_err().to_string().contains("FOREIGN KEY"));
        let text = "INSERT INTO postings VALUES (1, 99, 'a', 'b', '12.3')";
        assert!(store.raw().execute(text, []).unwrap_err().to_string().contains("INTEGER"));
    }

    #[test]
    fn only_its_owner_can_read_it() {
        let (folder, mut store) = fresh();
        let (_, written) = envelopes(&mut Ids::counted(1), &whole());
        store.append(&written[0]).unwrap();
        let mode = |path: &Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
        let a = folder.path().join("a");
        assert_eq!(mode(&a), 0o700);
        for entry in std::fs::read_dir(&a).unwrap() {
            let path = entry.unwrap().path();
            assert_eq!(mode(&path), 0o600, "{}", path.display());
        }
    }

    #[test]
    fn a_second_one_is_told_and_can_look_while_the_first_writes() {
        let (folder, mut first) = fresh();
        let path = folder.path().join("a/book");
        let (mix, written) = envelopes(&mut Ids::counted(1), &whole());
        first.append(&written[0]).unwrap();
        let Opened::ToLook { mut store, why } = SqliteStore::open(&path, Stamp(2)).unwrap() else {
            panic!("two writers")
        };
        assert!(why.contains(&format!("process {}", std::process::id())), "{why}");
        assert_eq!(store.events(mix).unwrap().len(), 1);
        first.append(&written[1]).unwrap();
        assert_eq!(store.events(mix).unwrap().len(), 2);
        assert!(matches!(store.append(&written[2]), Err(StoreError::LookOnly)));
        drop(first);
        assert!(matches!(SqliteStore::open(&path, Stamp(3)).unwrap(), Opened::ToWrite(_)));
    }

    #[test]
    fn what_is_no_book_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let text = folder.path().join("letter.txt");
        std::fs::write(&text, "Dear Sir or Madam, this is not a database at all, and it is long enough.")
            .unwrap();
        assert!(matches!(SqliteStore::open(&text, Stamp(1)), Err(StoreError::NotABook(_))));
        assert!(std::fs::read_to_string(&text).unwrap().starts_with("Dear"));
        let other = folder.path().join("other.sqlite");
        Connection::open(&other)
            .unwrap()
            .execute_batch("CREATE TABLE t (x); PRAGMA user_version = 7")
            .unwrap();
        assert!(matches!(SqliteStore::open(&other, Stamp(1)), Err(StoreError::NotABook(_))));
        let newer = folder.path().join("newer.sqlite");
        drop(SqliteStore::open(&newer, Stamp(1)).unwrap());
        Connection::open(&newer).unwrap().pragma_update(None, "user_version", 99).unwrap();
        assert!(matches!(SqliteStore::open(&newer, Stamp(1)), Err(StoreError::Newer { found: 99, .. })));
    }

    #[test]
    fn a_full_disk_is_said_and_a_retry_with_the_same_identity_works() {
        let (_folder, mut store) = fresh();
        let mut ids = Ids::counted(1);
        let written: Vec<_> = (0..50).flat_map(|_| envelopes(&mut ids, &whole()).1).collect();
        let pages: i64 = store.raw().pragma_query_value(None, "page_count", |row| row.get(0)).unwrap();
        let limit = |store: &SqliteStore, pages: i64| {
            store.raw().query_row(&format!("PRAGMA max_page_count = {pages}"), [], |_| Ok(())).unwrap();
        };
        limit(&store, pages + 2);
        let full = written
            .iter()
            .position(|envelope| matches!(store.append(envelope), Err(StoreError::DiskFull)))
            .expect("the book never filled up");
        // All that was acknowledged is there, and nothing of what was not.
        let kept: u32 = store.raw().query_row("SELECT COUNT(*) FROM events", [], |row| row.get(0)).unwrap();
        assert_eq!(kept as usize, full);
        limit(&store, 100_000);
        for envelope in &written[full..] {
            assert_eq!(store.append(envelope).unwrap(), Appended::New);
        }
        assert!(crate::book::check::check(&store).unwrap().faults.is_empty());
    }
}
