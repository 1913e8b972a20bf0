//! One writer: a lock file beside the book, held for as long as the program may write.
//!
//! The lock is the system's own on the open file, so it is let go when the program ends, however it ends; the
//! file itself stays. What is written in it only tells a person who holds it.

use crate::units::{Stamp, clean};
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// The right to write in a book.
#[derive(Debug)]
pub(super) struct Lock {
    /// Holds the lock until it is closed.
    _file: File,
}

/// What came of asking for the lock.
#[derive(Debug)]
pub(super) enum Asked {
    /// It is ours.
    Ours(Lock),
    /// Another program has it; who, as far as it can be told.
    Taken(String),
}

impl Lock {
    /// Asks for the lock of that book, at that time, without waiting.
    pub(super) fn ask(book: &Path, now: Stamp) -> io::Result<Asked> {
        let mut file = private(OpenOptions::new().read(true).write(true).create(true).truncate(false))
            .open(beside(book))?;
        match file.try_lock() {
            Ok(()) => {
                file.set_len(0)?;
                file.seek(SeekFrom::Start(0))?;
                write!(file, "process {}, since {}", std::process::id(), local(now))?;
                Ok(Asked::Ours(Self { _file: file }))
            }
            Err(TryLockError::WouldBlock) => {
                let mut text = String::new();
                // Elsewhere than on Unix a locked file may not even be read.
                let _ = file.take(200).read_to_string(&mut text);
                Ok(Asked::Taken(clean(&text)))
            }
            Err(TryLockError::Error(error)) => Err(error),
        }
    }
}

/// The lock file of a book.
pub(super) fn beside(book: &Path) -> PathBuf {
    let mut name = book.as_os_str().to_owned();
    name.push(".lock");
    PathBuf::from(name)
}

/// A file made with these options is for its owner alone.
pub(super) fn private(options: &mut OpenOptions) -> &mut OpenOptions {
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(options, 0o600);
    options
}

/// A time as the clock on the wall shows it.
fn local(at: Stamp) -> String {
    match jiff::Timestamp::from_microsecond(at.0) {
        Ok(time) => {
            time.to_zoned_datetime(jiff::tz::TimeZone::system()).strftime("%Y-%m-%d %H:%M").to_string()
        }
        Err(_) => "an unknown time".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_has_it_and_the_other_is_told_who_until_it_is_let_go() {
        let folder = tempfile::tempdir().unwrap();
        let book = folder.path().join("x.book");
        let Asked::Ours(lock) = Lock::ask(&book, Stamp(1_750_000_000_000_000)).unwrap() else {
            panic!("free")
        };
        let Asked::Taken(who) = Lock::ask(&book, Stamp(0)).unwrap() else { panic!("taken") };
        assert!(who.starts_with(&format!("process {}, since 2025-06-1", std::process::id())), "{who}");
        drop(lock);
        assert!(matches!(Lock::ask(&book, Stamp(0)).unwrap(), Asked::Ours(_)));
    }
}
