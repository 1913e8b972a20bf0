//! `pourbook voc`: the solvent in what was mixed, against the limits and by the month; the limits, and the records to keep.

mod entries;
mod limits;
mod mix;
mod month;
mod of_job;
mod on_sheet;
pub(in crate::cli) mod records;

pub(super) use on_sheet::fill;

use super::CliError;
use super::places::{Places, Shop};
use super::shop::OpenShop;
use super::{figures, out};
use crate::catalogue::Problem;
use crate::job::{LIMITS, LIMITS_FILE, LimitTable, Limits, PerLitre, read_limits};
use crate::settings::Key;
use crate::units::{Decimal, Notation};
use jiff::civil::Date;
use rust_decimal::RoundingStrategy;
use std::fs;
use std::io::ErrorKind;

/// What it can be told.
#[expect(clippy::struct_excessive_bools, reason = "each is an option of the command line")]
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The mixes, by their numbers, several are the coats of one job; or a job by its name, for all its mixes for the car
    #[arg(
        value_name = "MIX|JOB",
        required_unless_present_any = ["month", "limits", "records"],
        conflicts_with_all = ["month", "limits", "records"]
    )]
    mixes: Vec<String>,
    /// How much solvent a month's pours had in them, as 2026-10
    #[arg(long, value_name = "MONTH", value_parser = month::month, conflicts_with_all = ["limits", "records"])]
    month: Option<Date>,
    /// Print the limits, to be saved as limits.toml in the shop's folder and edited there
    #[arg(long, conflicts_with = "records")]
    limits: bool,
    /// Which of the records that US area sources keep are there, missing or due (painters.toml)
    #[arg(long)]
    records: bool,
    /// The table of limits to judge by [default: the setting limits]
    #[arg(long, value_name = "TABLE", requires = "mixes")]
    table: Option<String>,
    /// The category of the mixes where their product names none: one for all, or one each in the same order
    #[arg(long = "as", value_name = "CATEGORY", requires = "mixes")]
    categories: Vec<String>,
    /// Say how much of this toner each mix may still take before it is over
    #[arg(long, value_name = "TONER", requires = "mixes")]
    thinner: Option<String>,
    /// The result as JSON, decimals as text
    #[arg(long, conflicts_with = "csv")]
    json: bool,
    /// The table as CSV, for a spreadsheet
    #[arg(long, conflicts_with = "limits")]
    csv: bool,
}

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    if args.limits {
        return limits::run(places, args.json);
    }
    if args.records {
        return records::run(places, args.json, args.csv);
    }
    let (limits, _) = in_force(places)?;
    let shop = OpenShop::of(places)?;
    let book = figures::book(places)?;
    if let Some(month) = args.month {
        return month::run(places, &shop.catalogue, &book, &limits, month, (args.json, args.csv));
    }
    mix::run(places, &shop.catalogue, &book, &limits, args)
}

/// The text of a file of the shop; none if it is not there, or the shop is the invented one.
fn text_of(places: &Places, name: &str) -> Result<Option<String>, CliError> {
    let (Shop::Named(folder) | Shop::Usual(folder)) = places.shop()? else { return Ok(None) };
    let path = folder.join(name);
    match fs::read_to_string(&path) {
        Ok(text) => Ok(Some(text)),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
        Err(error) => Err(CliError::failed(format!("{} cannot be read: {error}", path.display()))
            .hint("Check that it is a text file, and who may read it.")),
    }
}

/// The limits that hold, and their text: the shop's own, or those inside the program. What is wrong in them is said.
fn in_force(places: &Places) -> Result<(Limits, String), CliError> {
    let text = text_of(places, LIMITS_FILE)?.unwrap_or_else(|| LIMITS.to_owned());
    let (limits, problems) = read_limits(LIMITS_FILE, &text);
    if !places.is_quiet() {
        say(&problems);
    }
    Ok((limits, text))
}

fn say(problems: &[Problem]) {
    for problem in problems {
        out::note(problem);
    }
}

/// The table to judge by; none if none is set.
///
/// # Errors
/// There is none of that name.
fn table<'a>(
    places: &Places,
    limits: &'a Limits,
    named: Option<&str>,
) -> Result<Option<&'a LimitTable>, CliError> {
    let settled = places.settled()?;
    let id = named.or_else(|| settled.settings.get(Key::Limits).filter(|id| *id != "none"));
    let Some(id) = id else { return Ok(None) };
    let found = limits.table(id).ok_or_else(|| {
        let ids: Vec<&str> = limits.tables.iter().map(|table| table.id.as_str()).collect();
        CliError::failed(format!("there are no limits called '{id}'"))
            .hint(format!("There are: {}. `pourbook voc --limits` shows them.", ids.join(", ")))
    });
    found.map(Some)
}

/// A content for a person, to a tenth of a gram per litre, and in pounds per US gallon.
fn per_litre(content: PerLitre, notation: Notation) -> String {
    let to = |number: Decimal, places| {
        let rounded = number.round_dp_with_strategy(places, RoundingStrategy::MidpointAwayFromZero);
        notation.number(rounded)
    };
    format!("{} g/L ({} lb/gal)", to(content.decimal(), 1), to(content.pounds_per_gallon(), 2))
}

/// A content for a program.
fn exact_content(content: PerLitre) -> String {
    crate::units::Grams::new(content.decimal()).with_decimals(6)
}

/// What is said of the water beside every figure.
fn of_water(limits: &Limits, notation: Notation) -> String {
    format!(
        "Water is reckoned as {} g/mL ({}).",
        notation.number(limits.water_density.decimal()),
        limits.water_density_from
    )
}
