//! `pourbook tin`: what happened to tins on the rack, and to a lot.

use super::places::Places;
use super::shop::OpenShop;
use super::stores::{Stores, Who};
use super::{CliError, out};
use crate::catalogue::TonerCode;
use crate::stock::{
    StockEvent, StockRefusal, Tin, Unnamed, discard, empty, follow, known_toner, name, recall, shelf,
    stirring,
};
use crate::units::Grams;
use serde::Serialize;

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    what: What,
}

/// What happened.
#[derive(Debug, clap::Subcommand)]
enum What {
    /// The rack was stirred: every open tin on it, or only those that are named
    Stirred {
        /// The labels
        labels: Vec<String>,
        #[command(flatten)]
        told: Told,
    },
    /// Tins were opened
    Opened {
        /// The labels
        #[arg(required = true)]
        labels: Vec<String>,
        #[command(flatten)]
        told: Told,
    },
    /// Tins are empty; what the book still has in them is booked as poured without a tin's name, as far as such pours were not
    /// found yet, and as a difference
    Emptied {
        /// The labels
        #[arg(required = true)]
        labels: Vec<String>,
        #[command(flatten)]
        told: Told,
    },
    /// Tins were thrown away with what is in them
    Discarded {
        /// The labels
        #[arg(required = true)]
        labels: Vec<String>,
        /// Why
        #[arg(long, value_name = "TEXT")]
        why: String,
        #[command(flatten)]
        told: Told,
    },
    /// A lot was called back: the bench says so before each pour from it
    Recalled {
        /// The lot, as it stands on the tins
        lot: String,
        /// Why
        #[arg(long, value_name = "TEXT")]
        why: String,
        /// Only tins of that toner
        #[arg(long, value_name = "CODE")]
        toner: Option<String>,
        #[command(flatten)]
        told: Told,
    },
}

/// Who says so, and how it is answered.
#[derive(Debug, clap::Args)]
struct Told {
    #[command(flatten)]
    who: Who,
    /// The result as JSON
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct Json<'a> {
    told: &'a [StockEvent],
}

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    match &args.what {
        What::Stirred { labels, told } if labels.is_empty() => {
            let mut stores = Stores::open(places, &told.who)?;
            let events = stirring(&shelf(&stores.book).map_err(CliError::failed)?);
            tell(&mut stores, &events, told, "stirred")
        }
        What::Stirred { labels, told } => of_tins(places, labels, told, "stirred", |tin, _| {
            name(&tin.label, tin.toner.as_str()).map(StockEvent::Stirred)
        }),
        What::Opened { labels, told } => of_tins(places, labels, told, "open", |tin, _| {
            name(&tin.label, tin.toner.as_str()).map(StockEvent::Opened)
        }),
        What::Emptied { labels, told } => of_tins(places, labels, told, "empty", |tin, known| {
            empty(tin, known.unnamed.of(&known.tins, &tin.toner))
        }),
        What::Discarded { labels, why, told } => {
            of_tins(places, labels, told, "thrown away", |tin, known| {
                discard(tin, why, known.unnamed.only_in(tin, &known.tins))
            })
        }
        What::Recalled { lot, why, toner, told } => {
            let toner = toner.as_deref().map(|code| {
                known_toner(&OpenShop::of(places)?.catalogue, code)
                    .map(TonerCode::new)
                    .map_err(CliError::failed)
            });
            let event = recall(lot, toner.transpose()?.as_ref(), why).map_err(CliError::failed)?;
            tell(&mut Stores::open(places, &told.who)?, &[event], told, "called back")
        }
    }
}

/// What is known of the shelf, with what is said one after the other.
struct Known {
    tins: Vec<Tin>,
    unnamed: Unnamed,
}

/// Says the same of each of those tins; of all of them, or of none.
fn of_tins(
    places: &Places,
    labels: &[String],
    told: &Told,
    word: &str,
    event: impl Fn(&Tin, &Known) -> Result<StockEvent, StockRefusal>,
) -> Result<(), CliError> {
    let mut stores = Stores::open(places, &told.who)?;
    let mut events = Vec::new();
    let tins = shelf(&stores.book).map_err(CliError::failed)?;
    let unnamed = Unnamed::read(&stores.book, &tins).map_err(CliError::failed)?;
    let mut shelf = Known { tins, unnamed };
    for label in labels {
        let known = shelf.tins.iter().find(|tin| tin.label == label.trim()).cloned();
        let known = known.ok_or_else(|| {
            CliError::failed(format!("the book knows nothing of a tin {label}"))
                .hint("Look at its label; `pourbook shelf TONER` lists the tins. Nothing was written.")
        })?;
        if known.discarded.is_some() {
            return Err(CliError::failed(StockRefusal::IsGone(known.label)).hint("Nothing was written."));
        }
        let event = event(&known, &shelf).map_err(CliError::failed)?;
        // The next of them is said of a shelf where this was said already.
        let envelope = stores.seal(&event)?;
        follow(&mut shelf.tins, &mut Vec::new(), &envelope);
        shelf.unnamed.follow(&envelope);
        events.push(event);
    }
    tell(&mut stores, &events, told, word)
}

fn tell(stores: &mut Stores, events: &[StockEvent], told: &Told, word: &str) -> Result<(), CliError> {
    for (written, event) in events.iter().enumerate() {
        stores.tell(event).map_err(|error| {
            error.hint(format!("{written} of {} were written before that.", events.len()))
        })?;
    }
    if told.json {
        return out::json(&Json { told: events });
    }
    if events.is_empty() {
        return out::line("no open tin is on the rack: nothing to stir");
    }
    for event in events {
        match event {
            StockEvent::Recalled { lot, toner, .. } => {
                let of = toner.as_ref().map(|toner| format!(" of {toner}")).unwrap_or_default();
                out::line(format_args!("lot {lot}{of}: {word}"))?;
            }
            StockEvent::Opened(of) | StockEvent::Stirred(of) => {
                out::line(format_args!("tin {} ({}): {word}", of.label, of.toner))?;
            }
            StockEvent::Emptied { tin, booked, unnamed }
            | StockEvent::Discarded { tin, booked, unnamed, .. } => {
                let of_it = unnamed.unwrap_or(Grams::ZERO);
                let of_it = if of_it.is_positive() {
                    format!(", {of_it} g of that poured without a tin's name")
                } else {
                    String::new()
                };
                out::line(format_args!(
                    "tin {} ({}): {word}, the book said {booked} g{of_it}",
                    tin.label, tin.toner
                ))?;
            }
            _ => {}
        }
    }
    Ok(())
}
