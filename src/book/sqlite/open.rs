//! Opening a book: its folder and file, who may write, the settings that keep it safe, its layout.

use super::{SqliteStore, fault, migrations};
use crate::book::far::{Far, Tell};
use crate::book::lock::{self, Asked, Lock};
use crate::book::{Store as _, StoreError, mounts};
use crate::units::Stamp;
use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags};
use std::ffi::OsString;
use std::fs::{self, File, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};

/// A book that was opened.
#[derive(Debug)]
pub enum Opened {
    /// To write in.
    ToWrite(SqliteStore),
    /// To look at only.
    ToLook {
        /// The book.
        store: SqliteStore,
        /// Why nothing can be written, in words for a person.
        why: String,
    },
}

impl Opened {
    /// The book, and why it cannot be written in if it cannot.
    pub fn into_parts(self) -> (SqliteStore, Option<String>) {
        match self {
            Self::ToWrite(store) => (store, None),
            Self::ToLook { store, why } => (store, Some(why)),
        }
    }
}

/// How long to wait for another program that holds the book for a moment, in milliseconds. The bench does not
/// wait with it.
const PATIENCE: i64 = 5000;

/// How many statements a connection keeps prepared.
const STATEMENTS: usize = 96;

/// Settings of each connection: name, what is set, what must be read back.
const SETTINGS: &[(&str, &str, &str)] = &[
    // A pour counts as saved when it is on disk: the journal is synced at each commit.
    ("synchronous", "FULL", "2"),
    // Where a sync alone leaves it in the disk's own memory, ask for more. Without effect elsewhere.
    ("fullfsync", "ON", "1"),
    ("foreign_keys", "ON", "1"),
    // Else INSERT OR REPLACE would delete without asking the triggers.
    ("recursive_triggers", "ON", "1"),
    // What a statement puts aside for a moment is small, and a file for it costs more than the statement.
    ("temp_store", "MEMORY", "2"),
    // 32 MiB of pages: a large book's indexes do not fit into the usual 2, and would be fetched again with each pour and each
    // report. A small book never takes so much.
    ("cache_size", "-32768", "-32768"),
    // The log is taken into the book each 16 MiB, not each 4: a page that was written many times since is written there once.
    // In a large book the events of an hour touch many pages, and few of them twice within 4. It changes nothing of what is
    // on disk when: each event is synced in the log.
    ("wal_autocheckpoint", "4000", "4000"),
    // A file from elsewhere must not run functions from its schema.
    ("trusted_schema", "OFF", "0"),
];

impl SqliteStore {
    /// Opens the book in that file, and makes it if there is none: with its folder, for its owner alone.
    ///
    /// If another program has it open, it is opened to look at only. On a network disk it is not opened at all:
    /// the journal mode that lets others look while one writes does not work there, and neither can the lock
    /// be relied on that keeps a second writer away, so that no other journal mode would make it safe.
    pub fn open(path: &Path, now: Stamp) -> Result<Opened, StoreError> {
        Self::open_telling(path, now, &mut |_| ())
    }

    /// The same; `tell` hears how far it is where a book of an older layout is brought up, which reads all of it.
    ///
    /// That goes layout by layout, each of them whole or not begun, however it is cut off: the next opening goes on from
    /// there.
    pub fn open_telling(path: &Path, now: Stamp, tell: Tell<'_>) -> Result<Opened, StoreError> {
        let unopened =
            |error: &io::Error| StoreError::Open { path: path.to_owned(), problem: error.to_string() };
        let folder = match path.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder,
            _ => Path::new("."),
        };
        make_folder(folder).map_err(|e| unopened(&e))?;
        if let Some(filesystem) = mounts::network(folder) {
            return Err(StoreError::Network { path: path.to_owned(), filesystem });
        }
        let lock = match Lock::ask(path, now) {
            Ok(Asked::Ours(lock)) => lock,
            Ok(Asked::Taken(who)) => {
                let who = if who.is_empty() { String::new() } else { format!(" ({who})") };
                let why = format!("another Pourbook{who} has this book open: you can look, but not write");
                return look(path, why);
            }
            Err(error) if is_forbidden(&error) && path.exists() => {
                let why = format!("you may not write in {}: you can look, but not write", folder.display());
                return look(path, why);
            }
            Err(error) => return Err(unopened(&error)),
        };
        make_file(path, folder).map_err(|e| unopened(&e))?;
        Self::write(path, lock, now, tell)
    }

    fn write(path: &Path, lock: Lock, now: Stamp, tell: Tell<'_>) -> Result<Opened, StoreError> {
        let said = |error: rusqlite::Error| fault::words(path, &error);
        let mut connection = connect(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
        let found = admitted(&connection, path)?;
        if connection.is_readonly("main").map_err(said)? {
            // The system refused to open it for writing, which SQLite does not call an error.
            drop((connection, lock));
            let why = format!("{} is set to read only: you can look, but not write", path.display());
            return look(path, why);
        }
        settle(&connection, path, "journal_mode", "WAL", "wal")?;
        set_up(&connection, path)?;
        if found < migrations::latest() {
            brought_up(&mut connection, path, now, tell)?;
        }
        verified(&connection, path)?;
        Ok(Opened::ToWrite(Self::new(connection, path, Some(lock), None, migrations::latest())))
    }
}

/// Brings a book up to the latest layout.
pub(super) fn brought_up(
    connection: &mut Connection,
    path: &Path,
    now: Stamp,
    tell: Tell<'_>,
) -> Result<(), StoreError> {
    let mut last = None;
    let made = migrations::migrate_telling(connection, now, &mut |far| {
        last = far.up;
        tell(far);
    });
    if let Some(up) = last {
        // What was written of each step stands in the log as well; it is taken into the book and gives its room back. Where
        // somebody is looking it is done later.
        tell(Far { up: Some(up), ..Far::begun("the log is taken into it") });
        if let Err(error) = connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())) {
            tracing::warn!(%error, "the log of the book keeps its room for now");
        }
    }
    made.map_err(|error| match fault::words(path, &error) {
        StoreError::DiskFull { path } => {
            let bytes = fs::metadata(&path).map_or(0, |about| about.len());
            let found = migrations::version(connection).unwrap_or(0);
            let (known, megabytes) = (migrations::latest(), bytes.saturating_mul(3).div_ceil(2_000_000));
            StoreError::NoRoomToBringUp { path, found, known, megabytes }
        }
        other => other,
    })
}

/// Refuses a book of an older layout with anything in it where only an empty one will do: opened to write, it would be
/// brought up first, and for nothing.
pub(in crate::book) fn refuse_old_and_filled(path: &Path) -> Result<(), StoreError> {
    // What cannot be looked at is for the opening to say.
    let Ok(looked) = open_to_look(path) else { return Ok(()) };
    let events = looked.count()?;
    if looked.layout()? < migrations::latest() && events > 0 {
        return Err(StoreError::NotEmpty { path: path.to_owned(), events });
    }
    Ok(())
}

/// Opens a book only to look at, also while another program writes in it. It must be there.
pub fn open_to_look(path: &Path) -> Result<SqliteStore, StoreError> {
    watch(path, "this book was opened only to look at".to_owned())
}

fn look(path: &Path, why: String) -> Result<Opened, StoreError> {
    let store = watch(path, why.clone())?;
    Ok(Opened::ToLook { store, why })
}

fn watch(path: &Path, why: String) -> Result<SqliteStore, StoreError> {
    let connection = connect(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    let found = admitted(&connection, path)?;
    if found < migrations::READABLE {
        return Err(StoreError::Older { path: path.to_owned(), found, known: migrations::latest() });
    }
    set_up(&connection, path)?;
    settle(&connection, path, "query_only", "ON", "1")?;
    verified(&connection, path)?;
    Ok(SqliteStore::new(connection, path, None, Some(why), found))
}

pub(super) fn connect(path: &Path, mode: OpenFlags) -> Result<Connection, StoreError> {
    // Without the URI flag: a file may be called `file:x?mode=memory` and is still a file.
    Connection::open_with_flags(path, mode | OpenFlags::SQLITE_OPEN_NO_MUTEX)
        .map_err(|e| fault::words(path, &e))
}

/// The layout's version of a file that may be used as a book: an empty one, or one of ours that is known.
fn admitted(connection: &Connection, path: &Path) -> Result<u32, StoreError> {
    let patience = std::time::Duration::from_millis(PATIENCE.unsigned_abs());
    connection.busy_timeout(patience).map_err(|e| fault::words(path, &e))?;
    let said = |error: rusqlite::Error| fault::words(path, &error);
    let application: i32 =
        connection.pragma_query_value(None, "application_id", |row| row.get(0)).map_err(said)?;
    let found = migrations::version(connection).map_err(said)?;
    let objects: i64 =
        connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0)).map_err(said)?;
    let empty = application == 0 && found == 0 && objects == 0;
    if !empty && application != migrations::APPLICATION {
        return Err(StoreError::Foreign { path: path.to_owned() });
    }
    if found > migrations::latest() {
        return Err(StoreError::Newer { path: path.to_owned(), found, known: migrations::latest() });
    }
    Ok(found)
}

fn verified(connection: &Connection, path: &Path) -> Result<(), StoreError> {
    match migrations::altered(connection) {
        Ok(None) => Ok(()),
        Ok(Some(version)) => Err(StoreError::OtherSchema { path: path.to_owned(), version }),
        Err(error) => Err(fault::words(path, &error)),
    }
}

fn set_up(connection: &Connection, path: &Path) -> Result<(), StoreError> {
    connection
        .set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)
        .map_err(|e| fault::words(path, &e))?;
    // One more event is some thirty statements: all of them stay prepared.
    connection.set_prepared_statement_cache_capacity(STATEMENTS);
    settle(connection, path, "busy_timeout", &PATIENCE.to_string(), &PATIENCE.to_string())?;
    SETTINGS.iter().try_for_each(|(name, value, expected)| settle(connection, path, name, value, expected))
}

/// Sets a pragma and reads it back: another build of SQLite may not know it, and says nothing then.
fn settle(
    connection: &Connection,
    path: &Path,
    name: &'static str,
    value: &str,
    expected: &str,
) -> Result<(), StoreError> {
    let said = |error: rusqlite::Error| fault::words(path, &error);
    connection.pragma_update(None, name, value).map_err(said)?;
    let found = match connection.pragma_query_value(None, name, |row| row.get::<_, rusqlite::types::Value>(0))
    {
        Ok(rusqlite::types::Value::Integer(number)) => number.to_string(),
        Ok(rusqlite::types::Value::Text(text)) => text,
        Ok(_) | Err(rusqlite::Error::QueryReturnedNoRows) => "not known".to_owned(),
        Err(error) => return Err(said(error)),
    };
    if found == expected {
        return Ok(());
    }
    Err(StoreError::Setting { path: path.to_owned(), name, wanted: value.to_owned(), found })
}

fn is_forbidden(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem)
}

/// Makes the folder, and those above it, for their owner alone; leaves those that are there as they are.
fn make_folder(folder: &Path) -> io::Result<()> {
    if folder.is_dir() {
        return Ok(());
    }
    let mut builder = fs::DirBuilder::new();
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.recursive(true).create(folder)
}

/// Makes the file, empty and for its owner alone, before the database sees it: its journals take its mode.
/// A file that others could read, say a copy put back, is closed to them.
fn make_file(path: &Path, folder: &Path) -> io::Result<()> {
    match lock::private(OpenOptions::new().write(true).create_new(true)).open(path) {
        Ok(file) => {
            file.sync_all()?;
            // The file is only there after a power cut if its folder says so.
            #[cfg(unix)]
            File::open(folder)?.sync_all()?;
            #[cfg(not(unix))]
            let _ = folder;
        }
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
        Err(error) => return Err(error),
    }
    for file in [path.to_owned(), with_suffix(path, "-wal"), with_suffix(path, "-shm"), lock::beside(path)] {
        close_to_others(&file);
    }
    Ok(())
}

#[cfg(unix)]
fn close_to_others(file: &Path) {
    use std::os::unix::fs::PermissionsExt;
    let Ok(about) = fs::metadata(file) else { return };
    let mode = about.permissions().mode() & 0o777;
    let own = mode & 0o700;
    if mode == own {
        return;
    }
    match fs::set_permissions(file, fs::Permissions::from_mode(own)) {
        Ok(()) => tracing::warn!(file = %file.display(), "others could read this file; closed to them"),
        Err(error) => tracing::warn!(file = %file.display(), %error, "others can read this file"),
    }
}

#[cfg(not(unix))]
fn close_to_others(_file: &Path) {}

/// A file beside the book.
pub(super) fn with_suffix(path: &Path, suffix: &str) -> PathBuf {
    let mut name: OsString = path.as_os_str().to_owned();
    name.push(suffix);
    PathBuf::from(name)
}
