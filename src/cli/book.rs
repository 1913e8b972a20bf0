//! `pourbook book`: the whole book handed on, taken over, kept elsewhere and put back.

use super::places::Places;
use super::progress::{Progress, Ticking, grouped};
use super::shop::now;
use super::stop::Stop;
use super::{CliError, out};
use crate::book::exchange::{self, ExchangeError, Totals};
use crate::book::far::Far;
use crate::book::{CopyError, NewFile, SqliteStore, Store as _, StoreError, open_to_look, plain_text};
use clap::Subcommand;
use jiff::tz::TimeZone;
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Write the whole book as text: one line of JSON an event, with checksums
    Export {
        /// A file that is not there yet; - is standard output
        #[arg(default_value = "-")]
        file: PathBuf,
    },
    /// Take a whole book over from such a text, into a book that is empty or not there yet: all of it or nothing
    Import {
        /// What `book export` wrote
        file: PathBuf,
    },
    /// Copy the book into one file, also while the bench is weighing
    Backup {
        /// A file that is not there yet
        file: PathBuf,
    },
    /// Write the postings as a plain-text double-entry journal, for a plain-text accounting program
    Journal {
        /// A file that is not there yet; - is standard output
        #[arg(default_value = "-")]
        file: PathBuf,
    },
    /// Put a backup back where no book is, or an empty one
    Restore {
        /// What `book backup` wrote
        file: PathBuf,
    },
}

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    let book = places.book(places.is_demo())?;
    match &args.command {
        Command::Export { file } => export(&book, file),
        Command::Import { file } => import(&book, file),
        Command::Backup { file } => backup(&book, file),
        Command::Journal { file } => journal(&book, file),
        Command::Restore { file } => restore(&book, file),
    }
}

fn export(book: &Path, file: &Path) -> Result<(), CliError> {
    let store = look(book)?;
    let totals = written(&store, file, |store, sink, tell| {
        exchange::export(store, sink, now(), tell).map(|(totals, _)| totals)
    })?;
    if totals.flawed > 0 {
        out::note(format_args!(
            "note: something is wrong with {} of them, and an import will refuse them; `pourbook check` says what, and \
             `pourbook book backup` keeps the book as it is",
            events(totals.flawed)
        ));
    }
    Ok(())
}

fn journal(book: &Path, file: &Path) -> Result<(), CliError> {
    let store = look(book)?;
    let zone = TimeZone::system();
    written(&store, file, |store, sink, tell| {
        sink.write_all(plain_text::HEAD.as_bytes())?;
        let (mut totals, mut done) = (Totals::default(), 0);
        store.each_event(|envelope| {
            done += 1;
            if let Some(text) = plain_text::transaction(&envelope, &zone) {
                sink.write_all(text.as_bytes())?;
                totals.events += 1;
                totals.postings += envelope.postings.len() as u64;
            }
            if tell(done).is_break() { Err(ExchangeError::Stopped) } else { Ok(()) }
        })?;
        Ok(totals)
    })
    .map(drop)
}

/// Writes something of the whole book, to standard output or into a new file, and says what there was.
fn written(
    store: &SqliteStore,
    file: &Path,
    write: impl FnOnce(&SqliteStore, &mut dyn Write, exchange::Progress<'_>) -> Result<Totals, ExchangeError>,
) -> Result<Totals, CliError> {
    let all = grouped(store.count().map_err(CliError::failed)?);
    let stop = Stop::on_signals()?;
    let mut progress = Progress::new();
    let mut tell = |done: u64| {
        progress.say(&format!("{} of {all} events", grouped(done)));
        go_on(&stop)
    };
    if file == Path::new("-") {
        let mut sink = BufWriter::new(io::stdout().lock());
        let totals = write(store, &mut sink, &mut tell).map_err(of_exchange)?;
        sink.flush()?;
        return Ok(totals);
    }
    let new = NewFile::create(file).map_err(|error| unwritable(file, &error))?;
    let mut sink = BufWriter::new(new.file());
    let totals = write(store, &mut sink, &mut tell).map_err(of_exchange)?;
    sink.flush().map_err(|error| unwritable(file, &error))?;
    drop(sink);
    new.keep().map_err(|error| unwritable(file, &error))?;
    drop(progress);
    out::line(format_args!("{} written to {}", told(totals), file.display()))?;
    Ok(totals)
}

fn import(book: &Path, file: &Path) -> Result<(), CliError> {
    let source = File::open(file).map_err(|error| unreadable(file, &error))?;
    let stop = Stop::on_signals()?;
    let mut progress = Progress::new();
    let (mut before, mut reading) = (0, "looked through");
    let mut tell = |done: u64| {
        // It is read once to be looked through and once more to be written.
        if done < before {
            reading = "written";
        }
        before = done;
        progress.say(&format!("{} events {reading}", grouped(done)));
        go_on(&stop)
    };
    let totals = exchange::import(source, book, now(), &mut tell).map_err(|error| match error {
        error @ (ExchangeError::Store(_) | ExchangeError::Stopped) => of_exchange(error),
        ExchangeError::Io(error) => unreadable(file, &error),
        error => CliError::failed(format!("{}: {error}", file.display()))
            .hint("Nothing of it was taken over, and the book is as it was."),
    })?;
    drop(progress);
    out::line(format_args!("{} taken over into {}", told(totals), book.display()))
}

fn backup(book: &Path, file: &Path) -> Result<(), CliError> {
    let store = look(book)?;
    let stop = Stop::on_signals()?;
    let mut progress = Progress::new();
    let copied = store.back_up(file, &mut |done, all| {
        progress.say(&format!("{} of {} pages", grouped(done), grouped(all)));
        go_on(&stop)
    });
    drop(progress);
    let count = copied.map_err(of_copy)?;
    out::line(format_args!("{} kept in {}, looked through and whole", events(count), file.display()))
}

fn restore(book: &Path, file: &Path) -> Result<(), CliError> {
    if let Err(error) = File::open(file) {
        return Err(unreadable(file, &error));
    }
    let stop = Stop::on_signals()?;
    let line = Ticking::new();
    let mut pages = |done, all| {
        line.tell(Far { done, all, ..Far::begun("pages") });
        go_on(&stop)
    };
    let put_back = SqliteStore::restore_telling(file, book, now(), &mut pages, &mut |far| line.tell(far));
    drop(line);
    let count = put_back.map_err(of_copy)?;
    out::line(format_args!("{} put back into {}", events(count), book.display()))
}

fn look(book: &Path) -> Result<SqliteStore, CliError> {
    if !book.exists() {
        return Err(CliError::failed(format!("there is no book yet: {} is not there", book.display()))
            .hint("Name yours with --book FILE."));
    }
    open_to_look(book).map_err(CliError::failed)
}

fn go_on(stop: &Stop) -> ControlFlow<()> {
    if stop.asked() { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
}

fn of_exchange(error: ExchangeError) -> CliError {
    match error {
        ExchangeError::Io(error) => error.into(),
        ExchangeError::Store(problem @ StoreError::LookOnly { .. }) => closed_first(problem),
        ExchangeError::Stopped => stopped(),
        error => CliError::failed(error),
    }
}

fn of_copy(error: CopyError) -> CliError {
    match error {
        CopyError::Store(problem @ StoreError::LookOnly { .. }) => closed_first(problem),
        CopyError::Stopped => stopped(),
        error => CliError::failed(error),
    }
}

fn closed_first(problem: StoreError) -> CliError {
    CliError::failed(problem).hint("Close the other program first, or name another place with --book FILE.")
}

fn stopped() -> CliError {
    CliError::failed("stopped; nothing was kept of it")
}

fn unreadable(file: &Path, error: &io::Error) -> CliError {
    CliError::failed(format!("{} cannot be read: {error}", file.display()))
}

fn unwritable(file: &Path, error: &io::Error) -> CliError {
    if error.kind() == io::ErrorKind::AlreadyExists {
        return CliError::failed(format!("{} is there already, and was left as it is", file.display()))
            .hint("Name a file that is not there yet.");
    }
    CliError::failed(format!("{} cannot be written: {error}", file.display()))
        .hint("Check that its folder is there, and who may write in it.")
}

fn told(totals: Totals) -> String {
    let noun = if totals.postings == 1 { "posting" } else { "postings" };
    format!("{} with {} {noun}", events(totals.events), grouped(totals.postings))
}

fn events(count: u64) -> String {
    let noun = if count == 1 { "event" } else { "events" };
    format!("{} {noun}", grouped(count))
}
