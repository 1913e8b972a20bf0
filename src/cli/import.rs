//! `pourbook import`: formulas from a table or another shop's folder, with everything that would happen said first.

use super::places::Places;
use super::shop::{OpenShop, now};
use super::{CliError, out};
use crate::catalogue::import::{Column, Entry, Options, Outcome, Preview, from_csv, from_folder};
use crate::catalogue::{changes, named};
use clap::ValueEnum;
use serde::Serialize;
use std::fs;
use std::path::{Path, PathBuf};

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// A CSV file, or a folder of formulas
    path: PathBuf,
    /// Only say what would happen
    #[arg(long)]
    dry_run: bool,
    /// What a column is, by its number or heading: code=3, parts="Weight (g)"
    #[arg(long, value_name = "MEANING=COLUMN", value_parser = column)]
    column: Vec<(String, String)>,
    /// Each amount counts what is above it in its layer; `no` if each is its own
    #[arg(long, value_name = "YES|NO", num_args = 0..=1, require_equals = true, default_missing_value = "yes")]
    cumulative: Option<YesNo>,
    /// Write what can be read though some cannot
    #[arg(long)]
    write_good: bool,
    /// The result as JSON
    #[arg(long)]
    json: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum YesNo {
    /// They are
    Yes,
    /// They are not
    No,
}

#[derive(Serialize)]
struct Json {
    added: usize,
    changed: usize,
    same: usize,
    colours: Vec<JsonColour>,
    wrong: Vec<JsonWrong>,
    notes: Vec<String>,
    written: Vec<String>,
}

#[derive(Serialize)]
struct JsonColour {
    colour: String,
    variant: String,
    outcome: &'static str,
    changes: Vec<String>,
}

#[derive(Serialize)]
struct JsonWrong {
    at: String,
    says: String,
}

/// How many rows of a table are shown.
const ROWS: usize = 3;

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    let shop = OpenShop::of(places)?;
    let folder = shop.to_write()?;
    let preview = preview(&shop, args)?;
    if !args.json {
        say(&shop, &preview)?;
    }
    let may_write = !args.dry_run && (preview.wrong.is_empty() || args.write_good);
    let mut written = Vec::new();
    let mut failed = Vec::new();
    for entry in preview.entries.iter().filter(|_| may_write) {
        match entry.write(folder, now()) {
            Ok(file) => written.extend(file.map(|file| file.name)),
            Err(error) => failed.push(format!("{}: {error}", named(&entry.colour))),
        }
    }
    if args.json {
        out::json(&json(&shop, &preview, written))?;
    } else if may_write {
        out::line(format_args!("{} written", files(written.len())))?;
    }
    if !failed.is_empty() {
        let mut error = CliError::failed(format!("{} not written", files(failed.len())));
        for why in failed {
            error = error.hint(why);
        }
        return Err(error);
    }
    if preview.wrong.is_empty() {
        return Ok(());
    }
    let mut error =
        CliError::failed(format!("{} cannot be read", counted(preview.wrong.len(), "thing", "things")));
    if !may_write {
        error = error
            .hint("Nothing was written. Put it right and import again, or write the rest with --write-good.");
    }
    Err(error)
}

fn preview(shop: &OpenShop, args: &Args) -> Result<Preview, CliError> {
    let unreadable = |path: &Path, error: std::io::Error| {
        CliError::failed(format!("{} cannot be read: {error}", path.display()))
            .hint("Name a CSV file, or a folder of formulas.")
    };
    let options = Options {
        columns: args.column.clone(),
        cumulative: args.cumulative.map(|cumulative| cumulative == YesNo::Yes),
    };
    if !args.path.is_dir() {
        let bytes = fs::read(&args.path).map_err(|error| unreadable(&args.path, error))?;
        return Ok(from_csv(&shop.catalogue, &bytes, &options));
    }
    let colours = args.path.join("colours");
    let folder = if colours.is_dir() { &colours } else { &args.path };
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).map_err(|error| unreadable(folder, error))? {
        let path = entry.map_err(|error| unreadable(folder, error))?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if path.is_file() && name.to_lowercase().ends_with(".toml") {
            files.push((name, fs::read(&path).map_err(|error| unreadable(&path, error))?));
        }
    }
    files.sort();
    if files.is_empty() {
        return Err(CliError::failed(format!("no formulas are in {}", folder.display()))
            .hint("A formula is a file like gannet-white.toml."));
    }
    Ok(from_folder(&shop.catalogue, files.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice()))))
}

fn say(shop: &OpenShop, preview: &Preview) -> Result<(), CliError> {
    if let Some((sheet, columns)) = &preview.table {
        for (at, (heading, column)) in sheet.header.iter().zip(&columns.columns).enumerate() {
            let is = match column {
                Column::Field(meaning) => meaning.to_string(),
                Column::PartsOf(toner) => format!("parts of {toner}"),
                Column::Unused => "not used".to_owned(),
            };
            let cells: Vec<_> = sheet
                .rows
                .iter()
                .take(ROWS)
                .filter_map(|row| row.cells.get(at))
                .map(String::as_str)
                .collect();
            out::line(format_args!(
                "column {} '{heading}': {is}; {}",
                at.saturating_add(1),
                cells.join(" | ")
            ))?;
        }
        if preview.cumulative {
            out::line("the amounts are running totals: each counts what is above it")?;
        }
    }
    for entry in preview.entries.iter().filter(|entry| entry.outcome != Outcome::Same) {
        out::line(format_args!("{}: {}", word(entry.outcome), named(&entry.colour)))?;
        for change in told(shop, entry) {
            out::line(format_args!("  {change}"))?;
        }
    }
    for note in &preview.notes {
        out::line(format_args!("note: {note}"))?;
    }
    for wrong in &preview.wrong {
        out::note(wrong);
    }
    let count = |outcome| preview.count(outcome);
    out::line(format_args!(
        "{} to add, {} to change, {} the same, {} wrong",
        count(Outcome::Added),
        count(Outcome::Changed),
        count(Outcome::Same),
        preview.wrong.len()
    ))
}

fn json(shop: &OpenShop, preview: &Preview, written: Vec<String>) -> Json {
    Json {
        added: preview.count(Outcome::Added),
        changed: preview.count(Outcome::Changed),
        same: preview.count(Outcome::Same),
        colours: preview
            .entries
            .iter()
            .map(|entry| JsonColour {
                colour: entry.colour.code.to_string(),
                variant: entry.colour.variant.clone(),
                outcome: word(entry.outcome),
                changes: told(shop, entry),
            })
            .collect(),
        wrong: preview
            .wrong
            .iter()
            .map(|wrong| JsonWrong { at: wrong.at.clone(), says: wrong.says.clone() })
            .collect(),
        notes: preview.notes.clone(),
        written,
    }
}

const fn word(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Added => "add",
        Outcome::Changed => "change",
        Outcome::Same => "same",
    }
}

fn told(shop: &OpenShop, entry: &Entry) -> Vec<String> {
    let colour = &entry.colour;
    let has = shop.catalogue.colour_variant(colour.code.as_str(), &colour.variant);
    has.map_or_else(Vec::new, |has| changes(has, colour))
}

fn files(count: usize) -> String {
    counted(count, "file", "files")
}

fn counted(count: usize, one: &str, several: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { several })
}

fn column(text: &str) -> Result<(String, String), String> {
    let (meaning, column) = text.split_once('=').ok_or("write it like code=3, or code=HEADING")?;
    Ok((meaning.trim().to_owned(), column.trim().to_owned()))
}
