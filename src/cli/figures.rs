//! What the commands of figures share: which days, in which form, and how long it takes.

use super::places::Places;
use super::table::{self, Side};
use super::{CliError, out};
use crate::book::{SqliteStore, open_to_look};
use crate::report::table::{Column, Table};
use crate::report::{Last, Period, Shown, periods};
use crate::tui::theme::Symbols;
use crate::units::Stamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use std::fs::OpenOptions;
use std::io::{self, IsTerminal as _, Write as _};
use std::path::{Path, PathBuf};

/// Which days.
#[derive(Debug, clap::Args)]
pub(super) struct Days {
    /// The first day, as 2026-10-01
    #[arg(long, value_name = "DAY", value_parser = periods::day, conflicts_with = "last")]
    since: Option<Date>,
    /// The last day, as 2026-10-31 [default: today]
    #[arg(long, value_name = "DAY", value_parser = periods::day)]
    until: Option<Date>,
    /// How long back: 30d, 4w, 6m or 1y [default: 30d]
    #[arg(long, value_name = "LENGTH")]
    last: Option<Last>,
}

impl Days {
    pub(super) fn period(&self) -> Result<Period, CliError> {
        let now = Stamp(jiff::Timestamp::now().as_microsecond());
        Period::new(self.since, self.until, self.last, now, TimeZone::system()).map_err(CliError::wrong)
    }
}

/// In which form.
#[derive(Debug, clap::Args)]
#[group(multiple = false)]
pub(super) struct Form {
    /// The result as JSON, decimals as text
    #[arg(long)]
    pub(super) json: bool,
    /// The table as CSV, for a spreadsheet
    #[arg(long)]
    pub(super) csv: bool,
    /// A page with pictures, to look at or to print; the file must not be there yet
    #[arg(long, value_name = "FILE")]
    pub(super) html: Option<PathBuf>,
}

/// The book, to look at.
///
/// # Errors
/// There is none yet, or it cannot be read.
pub(super) fn book(places: &Places) -> Result<SqliteStore, CliError> {
    let path = places.book(places.is_demo())?;
    if !path.exists() {
        return Err(CliError::failed(format!("there is no book yet: {} is not there", path.display()))
            .hint("It is made with the first mix. Name another with --book FILE."));
    }
    open_to_look(&path).map_err(CliError::failed)
}

/// How the figures are written, and the signs they are drawn with.
pub(super) fn looks(places: &Places) -> Result<(Shown, bool), CliError> {
    let settled = places.settled()?;
    let theme = settled.theme(|name| std::env::var(name).ok());
    Ok((Shown(theme.notation), theme.symbols == Symbols::ASCII))
}

/// Says on standard error how far it is, where somebody looks on and there is much to do.
pub(super) fn progress() -> impl FnMut(usize, usize) {
    const EACH: usize = 100;
    let is_seen = io::stderr().is_terminal();
    move |done, all| {
        if !is_seen || all <= EACH || !(done.is_multiple_of(EACH) || done == all) {
            return;
        }
        let mut stderr = io::stderr().lock();
        let text = format!("{done} of {all} mixes read");
        // If nobody listens there any more, it is lost.
        let _ = if done == all {
            write!(stderr, "\r{}\r", " ".repeat(text.len()))
        } else {
            write!(stderr, "\r{text}").and_then(|()| stderr.flush())
        };
    }
}

/// Writes a page. What is there is only written over if that was said.
pub(super) fn write(path: &Path, text: &str, force: bool) -> Result<(), CliError> {
    let mut options = OpenOptions::new();
    options.write(true);
    if force {
        options.create(true).truncate(true)
    } else {
        options.create_new(true)
    };
    let written = options.open(path).and_then(|mut file| {
        file.write_all(text.as_bytes())?;
        file.sync_all()
    });
    match written {
        Ok(()) => out::line(format_args!("written to {}", path.display())),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
            Err(CliError::failed(format!("{} is there already, and was left as it is", path.display()))
                .hint("Name a file that is not there yet, or write over it with --force."))
        }
        Err(error) => Err(CliError::failed(format!("{} cannot be written: {error}", path.display()))
            .hint("Check that its folder is there, and who may write in it.")),
    }
}

/// A table in lines, its title before it and what has to be said after it.
pub(super) fn print(table: &Table, shown: Shown) -> Result<(), CliError> {
    out::line(format_args!("\n{}", table.title))?;
    if table.rows.is_empty() {
        out::line("  nothing")?;
    } else {
        let places = table.brief();
        let title = |place: &usize| table.columns.get(*place).map_or("", |column: &Column| column.title);
        let mut rows = vec![places.iter().map(|place| title(place).to_owned()).collect::<Vec<_>>()];
        rows.extend(table.rows.iter().chain(&table.total).map(|row| {
            let cells = places.iter().filter_map(|place| row.get(*place));
            cells.map(|cell| cell.shown(shown)).collect()
        }));
        let side = |place: &usize| if table.is_words(*place) { Side::Left } else { Side::Right };
        let sides: Vec<Side> = places.iter().map(side).collect();
        for line in table::lines(&sides, &rows) {
            out::line(format_args!("  {line}"))?;
        }
    }
    for note in &table.notes {
        out::line(format_args!("  {note}"))?;
    }
    Ok(())
}
