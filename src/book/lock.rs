//! One writer at a time: a lock on a file beside the book, which the system takes back when the program ends,
//! however it ends.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, Read, Seek, Write};
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};

/// The right to write a book, held until it is dropped.
#[derive(Debug)]
pub(super) struct Lock(#[expect(dead_code, reason = "held, not read: closing it gives the lock back")] File);

/// What asking for the right came to.
#[derive(Debug)]
pub(super) enum Asked {
    /// It is ours.
    Ours(Lock),
    /// Somebody else has it: who, in words.
    Taken(String),
}

/// Where the lock of a book is.
pub(super) fn path(book: &Path) -> PathBuf {
    let mut name = book.as_os_str().to_owned();
    name.push(".lock");
    PathBuf::from(name)
}

/// Asks for the right to write that book.
pub(super) fn ask(book: &Path) -> io::Result<Asked> {
    let mut options = OpenOptions::new();
    options.read(true).write(true).create(true).truncate(false).mode(0o600);
    let mut file = options.open(path(book))?;
    match file.try_lock() {
        Ok(()) => {
            file.set_len(0)?;
            writeln!(file, "{}", std::process::id())?;
            file.flush()?;
            Ok(Asked::Ours(Lock(file)))
        }
        Err(TryLockError::WouldBlock) => {
            let mut text = String::new();
            file.rewind()?;
            file.take(32).read_to_string(&mut text)?;
            let who =
                text.trim().parse::<u32>().map_or_else(|_| String::new(), |id| format!(" (process {id})"));
            Ok(Asked::Taken(format!(
                "another Pourbook{who} has this book open; here it can only be looked at"
            )))
        }
        Err(TryLockError::Error(error)) => Err(error),
    }
}
