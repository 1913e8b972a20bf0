//! `pourbook settings`: what holds, where it came from, and changing it.

use super::places::Places;
use super::{CliError, out, table};
use crate::catalogue::nearest;
use crate::settings::{self, Key};
use clap::{Args as ClapArgs, Subcommand};
use serde::Serialize;
use std::path::Path;

/// What it can be told.
#[derive(Debug, ClapArgs)]
pub(super) struct Args {
    /// The result as JSON
    #[arg(long)]
    json: bool,
    #[command(subcommand)]
    what: Option<What>,
}

#[derive(Debug, Subcommand)]
enum What {
    /// What one setting does, what it can be, and what holds
    Show {
        /// The setting's name, as hands-free.dwell
        name: String,
    },
    /// Write one setting into the file
    Set {
        /// The setting's name, as hands-free.dwell
        name: String,
        /// What it is to be
        value: String,
    },
    /// Take one setting out of the file
    Unset {
        /// The setting's name, as hands-free.dwell
        name: String,
    },
    /// Where the file is
    Path,
}

#[derive(Serialize)]
struct Json<'a> {
    file: String,
    settings: Vec<JsonRow<'a>>,
    problems: Vec<String>,
}

#[derive(Serialize)]
struct JsonRow<'a> {
    name: &'static str,
    value: Option<&'a str>,
    from: String,
}

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    match &args.what {
        None => list(places, args.json),
        Some(What::Path) => out::line(places.settings_file()?.display()),
        Some(What::Show { name }) => show(places, key(name)?),
        Some(What::Set { name, value }) => {
            let key = key(name)?;
            key.kind().check(value).map_err(|wrong| {
                let error = CliError::wrong(format!("{name}: {}. Expected {}", wrong.what, wrong.expected));
                match wrong.nearest {
                    Some(nearest) => error.hint(format!("Did you mean '{nearest}'?")),
                    None => error,
                }
            })?;
            write(&places.settings_file()?, |text| settings::set(text, key, value))
        }
        Some(What::Unset { name }) => {
            let key = key(name)?;
            write(&places.settings_file()?, |text| settings::unset(text, key))
        }
    }
}

fn key(name: &str) -> Result<Key, CliError> {
    Key::from_name(name).ok_or_else(|| {
        let error = CliError::wrong(format!("there is no setting '{name}'"));
        match nearest(name, Key::ALL.iter().map(|key| key.name())) {
            Some(nearest) => error.hint(format!("Did you mean '{nearest}'?")),
            None => error.hint("`pourbook settings` lists them all."),
        }
    })
}

fn list(places: &Places, json: bool) -> Result<(), CliError> {
    let settled = places.settled()?;
    let problems = settled.problems();
    if json {
        let settings = settled
            .settings
            .all()
            .map(|(key, value, source)| JsonRow { name: key.name(), value, from: source.to_string() })
            .collect();
        return out::json(&Json { file: settled.path.display().to_string(), settings, problems });
    }
    let rows: Vec<Vec<String>> = settled
        .settings
        .all()
        .map(|(key, value, source)| {
            vec![key.name().to_owned(), value.unwrap_or("-").to_owned(), source.to_string()]
        })
        .collect();
    for line in table::lines(&[], &rows) {
        out::line(line)?;
    }
    let there = if settled.exists { "" } else { " (not there yet)" };
    out::line(format_args!("\nfile: {}{there}", settled.path.display()))?;
    for problem in &problems {
        out::note(problem);
    }
    if problems.is_empty() { Ok(()) } else { Err(CliError::said()) }
}

fn show(places: &Places, key: Key) -> Result<(), CliError> {
    let settled = places.settled()?;
    out::line(format_args!("{}: {}", key.name(), key.help()))?;
    out::line(format_args!("can be: {}", key.kind().expected()))?;
    let holds = settled.settings.get(key).unwrap_or("nothing");
    out::line(format_args!("holds:  {holds} ({})", settled.settings.source(key)))?;
    if let Some(variable) = key.environment() {
        out::line(format_args!("or by the environment: {variable}"))?;
    }
    Ok(())
}

fn write(path: &Path, change: impl FnOnce(&str) -> Option<String>) -> Result<(), CliError> {
    let text = settings::read(path).map_err(CliError::failed)?.unwrap_or_default();
    let changed = change(&text).ok_or_else(|| {
        CliError::failed(format!("{} cannot be read as TOML, so nothing was changed", path.display()))
            .hint("`pourbook settings` says where.")
    })?;
    settings::write(path, &changed).map_err(CliError::failed)
}
