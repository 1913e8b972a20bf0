//! A whole book out of its store, and into an empty one, all or nothing.

use super::{ExchangeError, Progress, Reader, Totals, Writer};
use crate::book::{SqliteStore, StoreError, refuse_old_and_filled};
use crate::units::Stamp;
use std::io::{BufRead, BufReader, Read, Seek, Write};
use std::path::Path;

/// How often it is asked whether to go on: every so many events.
const EVERY: u64 = 256;

/// Writes the whole book, as it stands at this moment, whoever else writes in it meanwhile.
pub fn export<W: Write>(
    store: &SqliteStore,
    sink: W,
    at: Stamp,
    progress: Progress<'_>,
) -> Result<(Totals, W), ExchangeError> {
    let mut writer = Writer::begin(sink, store.layout()?, at)?;
    let mut done = 0;
    store.each_event(|envelope| {
        writer.event(&envelope)?;
        told(progress, &mut done)
    })?;
    writer.end()
}

/// Reads a whole file and holds every line and the whole against their checks. Nothing is kept.
pub fn verify<R: BufRead>(source: R, progress: Progress<'_>) -> Result<Totals, ExchangeError> {
    let mut reader = Reader::begin(source)?;
    let mut done = 0;
    while reader.next_event()?.is_some() {
        told(progress, &mut done)?;
    }
    Ok(reader.totals())
}

/// Takes a whole file over into a book that is empty or not there yet.
///
/// The file is read twice: once to see that it is right, before the book's place is even looked at, and once more to
/// write it, in one transaction that ends after the last line was found right again. If that fails, the book is as it
/// was, and one that was not there is not there.
pub fn import<R: Read + Seek>(
    mut source: R,
    book: &Path,
    now: Stamp,
    progress: Progress<'_>,
) -> Result<Totals, ExchangeError> {
    let right = verify(BufReader::new(&mut source), progress)?;
    source.rewind()?;
    let was_there = book.symlink_metadata().is_ok();
    refuse_old_and_filled(book)?;
    let (mut store, why) = SqliteStore::open(book, now)?.into_parts();
    if let Some(why) = why {
        return Err(StoreError::LookOnly { why }.into());
    }
    let filled = fill(&mut store, BufReader::new(source), right, progress);
    if filled.is_err() && !was_there {
        store.discard();
    }
    filled.map(|()| right)
}

fn fill<R: BufRead>(
    store: &mut SqliteStore,
    source: R,
    right: Totals,
    progress: Progress<'_>,
) -> Result<(), ExchangeError> {
    let mut reader = Reader::begin(source)?;
    let mut done = 0;
    let filled = store.fill(|| {
        let event = reader.next_event()?;
        if event.is_none() && reader.totals() != right {
            let line = reader.line();
            return Err(ExchangeError::Damaged {
                line,
                problem: "the file was changed while it was read".to_owned(),
            });
        }
        told(progress, &mut done)?;
        Ok(event)
    });
    // An event that the book does not take is found in the file by its line.
    filled.map(drop).map_err(|error| match error {
        ExchangeError::Store(problem) if problem.is_about_an_event() => {
            ExchangeError::Refused { line: reader.line(), problem }
        }
        error => error,
    })
}

fn told(
    progress: &mut dyn FnMut(u64) -> std::ops::ControlFlow<()>,
    done: &mut u64,
) -> Result<(), ExchangeError> {
    *done = done.saturating_add(1);
    if done.is_multiple_of(EVERY) && progress(*done).is_break() {
        return Err(ExchangeError::Stopped);
    }
    Ok(())
}
