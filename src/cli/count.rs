//! `pourbook count`: what a tin was found to hold, weighed or judged by hand.

use super::places::Places;
use super::shop::OpenShop;
use super::stores::{Stores, Who};
use super::{CliError, amount, out};
use crate::book::figures::TinRow;
use crate::catalogue::TonerCode;
use crate::stock::{Count, StockEvent, Tin, Unnamed, count, known_toner, shelf};
use crate::units::{Grams, Notation};
use serde::Serialize;

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The tin's label
    label: String,
    /// What it weighs, lid and all, in grams
    #[arg(long, value_name = "GRAMS", value_parser = amount::grams, required_unless_present = "found", conflicts_with = "found")]
    gross: Option<Grams>,
    /// What it weighs empty, in grams, where the book does not know it
    #[arg(long, value_name = "GRAMS", value_parser = amount::grams, requires = "gross")]
    empty: Option<Grams>,
    /// What is in it, judged by hand, in grams; 0 if nothing
    #[arg(long, value_name = "GRAMS", value_parser = found)]
    found: Option<Grams>,
    /// What is in it, for a tin the book knows nothing of
    #[arg(long, value_name = "CODE")]
    toner: Option<String>,
    /// Why it is not what the book says, if you know; what was poured without a tin's name needs no reason
    #[arg(long, value_name = "TEXT")]
    why: Option<String>,
    #[command(flatten)]
    who: Who,
    /// The result as JSON, decimals as text
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct Json<'a> {
    label: &'a str,
    toner: &'a str,
    found_g: String,
    booked_g: String,
    /// What of it was poured without a tin's name.
    unnamed_g: String,
    /// What beyond that is missing; below nothing if there is more than the book said.
    missing_g: String,
}

fn found(text: &str) -> Result<Grams, String> {
    if text.trim() == "0" { Ok(Grams::ZERO) } else { amount::grams(text) }
}

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    let mut stores = Stores::open(places, &args.who)?;
    let label = args.label.trim();
    let tins = shelf(&stores.book).map_err(CliError::failed)?;
    let known = tins.iter().find(|tin| tin.label == label).cloned();
    let counted = match (known, args.toner.as_deref()) {
        (Some(tin), None) => tin,
        (known, Some(toner)) => {
            let toner = known_toner(&OpenShop::of(places)?.catalogue, toner).map_err(CliError::failed)?;
            match known {
                Some(tin) if tin.toner.as_str() == toner => tin,
                Some(tin) => {
                    return Err(CliError::failed(format!(
                        "by the book tin {label} holds {}, not {toner}",
                        tin.toner
                    ))
                    .hint("Look at its label. Nothing was written."));
                }
                None => Tin::new(TinRow::unsaid(label.to_owned(), TonerCode::new(toner)), Grams::ZERO),
            }
        }
        (None, None) => {
            return Err(CliError::failed(format!("the book knows nothing of a tin {label}"))
                .hint("Look at its label; if it is right, say what is in it with --toner CODE."));
        }
    };
    let found = args.found.unwrap_or(Grams::ZERO);
    let unnamed = Unnamed::read(&stores.book, &tins).map_err(CliError::failed)?.of(&tins, &counted.toner);
    let event = count(&counted, args.gross, args.empty, found, args.why.as_deref(), unnamed);
    let event = event.map_err(CliError::failed)?;
    stores.tell(&event)?;
    let StockEvent::Counted(said) = &event else { return Ok(()) };
    if args.json {
        return out::json(&Json {
            label,
            toner: counted.toner.as_str(),
            found_g: amount::exact(said.found),
            booked_g: amount::exact(said.booked),
            unnamed_g: amount::exact(said.unnamed.unwrap_or(Grams::ZERO)),
            missing_g: amount::exact(said.missing()),
        });
    }
    let notation = places.settled()?.settings.notation();
    let (toner, differs) = (&counted.toner, differs(said, notation));
    let [found, booked] = [said.found, said.booked].map(|mass| notation.given_mass(mass));
    out::line(format_args!("tin {label} ({toner}): {found}, the book said {booked}: {differs}"))
}

/// What was found beside what the book said, in words.
fn differs(said: &Count, notation: Notation) -> String {
    let mass = |mass| notation.given_mass(mass);
    let missing = said.missing();
    match said.unnamed {
        Some(unnamed) if missing.is_positive() => format!(
            "of {}, {} were poured without a tin's name; {} are missing",
            mass(said.booked - said.found),
            mass(unnamed),
            mass(missing)
        ),
        Some(unnamed) => format!("{} were poured without a tin's name", mass(unnamed)),
        None if missing.is_positive() => format!("{} are missing", mass(missing)),
        None if missing.is_negative() => format!("{} more than that", mass(missing.abs())),
        None => "as it should be".to_owned(),
    }
}
