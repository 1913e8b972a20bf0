//! `pourbook job`: the repairs: what is painted, what has happened to it, what comes next, and all of it on a sheet.

mod amounts;
mod cards;
mod sheet;
mod show;
mod typed;
mod write;

pub(super) use sheet::for_screen as sheets_for_screen;

use super::places::Places;
use super::stores::Who;
use super::{CliError, amount};
use crate::book::figures::JobRow;
use crate::book::{JobsOf, Ledger as _, MixTotals, MixesOf, SqliteStore, Store as _};
use crate::catalogue::{Finish, Role, Word as _};
use crate::job::card::{AtAngle, Gun, Light, Reading, View};
use crate::job::{Job, JobJournal, LayerPlan, Panel};
use std::collections::BTreeMap;
use std::path::PathBuf;
use typed::LayerSaid;

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Open a job: its name is used once
    Open(Open),
    /// Change the vehicle, the panels or the layers
    Amend(Amend),
    /// The jobs that are open
    List(List),
    /// What is known of a job, where each layer stands, and what comes next
    Show(Show),
    /// How much each layer wants, by the data sheets and the shop's own record
    Amounts(Show),
    /// A spray-out card was made
    Card(Card),
    /// What was seen when a card was held against the car, or what of it is not to count
    Compare(Compare),
    /// The count of coats that matches the car, or why the layer is mixed without one
    Choose(Choose),
    /// A mix is for this job
    Mix(Mix),
    /// A mix is not for this job after all
    Part(Part),
    /// Hardener went into a mix: its pot life runs
    Activate(Activate),
    /// A coat was sprayed: its flash-off runs; or one that was counted was not
    Coat(Coat),
    /// A time of flash-off, bake, before the next layer or booth clearance: start, stop or overrule it
    Timer(Timer),
    /// A layer is done, or is not after all
    Finish(LayerDone),
    /// Note something down
    Note(Note),
    /// The job is done
    Close(Named),
    /// The job was not done after all
    Reopen(Named),
    /// Everything on one page
    Sheet(Sheet),
}

/// What all of them can be told.
#[derive(Debug, clap::Args)]
struct Common {
    #[command(flatten)]
    who: Who,
    /// The result as JSON
    #[arg(long)]
    json: bool,
}

/// What is painted, and with what.
#[derive(Debug, clap::Args)]
struct Painted {
    /// Which vehicle, in your own words
    #[arg(long)]
    vehicle: Option<String>,
    /// A panel, and its area unless panels.toml has it: "door, left=0.9 m2"; all of them, once for each
    #[arg(long, value_name = "PANEL", value_parser = typed::panel)]
    panel: Vec<Panel>,
    /// The size of the body, by which panels.toml has areas of its own
    #[arg(long, value_name = "SIZE")]
    body: Option<String>,
    /// What is known of a layer: "pearl, coats=3, product=CODE, shade=G3, asked=350 mL, area=1.4 m2, flash-off=5, bake=10, before-next=15"; it is added if it is not there
    #[arg(long, value_name = "LAYER", value_parser = typed::layer)]
    layer: Vec<LayerSaid>,
    /// A layer that is not painted
    #[arg(long, value_name = "ROLE", value_parser = amount::role)]
    without: Vec<Role>,
}

#[derive(Debug, clap::Args)]
struct Open {
    /// What the shop calls it: "26-118 tailgate"
    name: String,
    /// The colour, by its code or its name
    #[arg(long)]
    colour: String,
    /// Which of the colour's variants
    #[arg(long)]
    variant: Option<String>,
    /// How it is built up, where that differs from the colour's own file
    #[arg(long, value_parser = finish)]
    finish: Option<Finish>,
    #[command(flatten)]
    painted: Painted,
    #[command(flatten)]
    common: Common,
}

#[derive(Debug, clap::Args)]
struct Amend {
    /// Which job
    name: String,
    #[command(flatten)]
    painted: Painted,
    #[command(flatten)]
    common: Common,
}

#[derive(Debug, clap::Args)]
struct List {
    /// Those that are closed, too
    #[arg(long)]
    all: bool,
    /// The result as JSON
    #[arg(long)]
    json: bool,
}

#[derive(Debug, clap::Args)]
struct Show {
    /// Which job
    name: String,
    /// The result as JSON, decimals as text
    #[arg(long)]
    json: bool,
}

#[derive(Debug, clap::Args)]
struct Card {
    /// Which job
    name: String,
    /// With how many coats; 0 is what lies below alone, to compare with
    #[arg(long)]
    coats: u32,
    /// Of which layer [default: pearl]
    #[arg(long, value_parser = amount::role)]
    layer: Option<Role>,
    /// Over which undercoat or ground
    #[arg(long, value_name = "GROUND")]
    over: Option<String>,
    /// How the gun was set up: "tip=1.3 mm, pressure=2 bar, fan=open, distance=15 cm"
    #[arg(long, value_parser = Gun::parse)]
    gun: Option<Gun>,
    /// What else is worth knowing of it
    #[arg(long)]
    note: Option<String>,
    /// From which mix, by its number
    #[arg(long, value_name = "NUMBER")]
    mix: Option<u32>,
    #[command(flatten)]
    common: Common,
}

#[derive(Debug, clap::Args)]
struct Compare {
    /// Which job
    name: String,
    /// Which card, by its number
    #[arg(required_unless_present = "csv", conflicts_with = "csv")]
    card: Option<u32>,
    /// What was seen, and where, in your own words
    #[arg(conflicts_with = "csv")]
    seen: Option<String>,
    /// From where it was looked at: face or side-tone
    #[arg(long, value_parser = typed::view, requires_all = ["light", "is"], conflicts_with = "csv")]
    view: Option<View>,
    /// In what light: sun, shade or booth
    #[arg(long, value_parser = typed::light, requires_all = ["view", "is"])]
    light: Option<Light>,
    /// What the card is against the car: "match", or "a little lighter, coarser"
    #[arg(long, value_name = "WORDS", requires_all = ["view", "light"])]
    is: Option<String>,
    /// L* a* b* at an angle from the gloss: "45: car 61.2 -1.3 4.5 card 60.9 -1.2 4.6"; once for each angle
    #[arg(long, value_name = "READINGS", value_parser = AtAngle::parse, allow_hyphen_values = true, conflicts_with = "csv")]
    measured: Vec<AtAngle>,
    /// Readings of the car and of one or more cards, a row each: columns sample (car, or a card's number), angle, L, a, b
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// What is not to count of that card: an angle, "45", or a view and a light, "face sun"
    #[arg(
        long,
        value_name = "READING",
        value_parser = Reading::parse,
        allow_hyphen_values = true,
        conflicts_with_all = ["csv", "seen", "view", "measured"]
    )]
    withdraw: Option<Reading>,
    #[command(flatten)]
    common: Common,
}

#[derive(Debug, clap::Args)]
struct Choose {
    /// Which job
    name: String,
    /// How many coats the car gets [default: as many as the card has]
    #[arg(long, required_unless_present_any = ["no_card", "card"])]
    coats: Option<u32>,
    /// Which card shows it, by its number
    #[arg(long, value_name = "CARD")]
    card: Option<u32>,
    /// Of which layer [default: pearl]
    #[arg(long, value_parser = amount::role)]
    layer: Option<Role>,
    /// No card shows it: why it is mixed all the same, or gets so many coats
    #[arg(long, value_name = "REASON")]
    no_card: Option<String>,
    #[command(flatten)]
    common: Common,
}

#[derive(Debug, clap::Args)]
struct Mix {
    /// Which job
    name: String,
    /// Which mix, by its number
    number: u32,
    /// Which layer it is [default: the layer it was begun as]
    #[arg(long, value_parser = amount::role)]
    layer: Option<Role>,
    /// It is for spray-out cards alone
    #[arg(long)]
    for_cards: bool,
    /// Why it is right though no card was chosen, or though it was weighed for something else
    #[arg(long, value_name = "REASON")]
    overrule: Option<String>,
    #[command(flatten)]
    common: Common,
}

#[derive(Debug, clap::Args)]
struct Part {
    /// Which job
    name: String,
    /// Which mix, by its number
    number: u32,
    /// Why
    reason: String,
    #[command(flatten)]
    common: Common,
}

#[derive(Debug, clap::Args)]
struct Activate {
    /// Which job
    name: String,
    /// Which mix, by its number
    number: u32,
    /// How long it can be sprayed from then on, in minutes [default: as the product's sheet said when it was mixed]
    #[arg(long, value_name = "MINUTES")]
    pot_life: Option<u32>,
    /// How many minutes ago the hardener went in [default: when it was poured, by the book]
    #[arg(long, value_name = "MINUTES")]
    ago: Option<u32>,
    #[command(flatten)]
    common: Common,
}

#[derive(Debug, clap::Args)]
struct Coat {
    /// Which job
    name: String,
    /// Which layer
    #[arg(value_parser = amount::role)]
    layer: Role,
    /// Its flash-off, in minutes [default: the layer's]
    #[arg(long, value_name = "MINUTES")]
    flash_off: Option<u32>,
    /// How many minutes ago it was done
    #[arg(long, value_name = "MINUTES", default_value_t = 0)]
    ago: u32,
    /// Why a time that was not over was not waited for, or a layer below is as it is
    #[arg(long, value_name = "REASON")]
    overrule: Option<String>,
    /// The last coat was counted and not sprayed: why
    #[arg(long, value_name = "REASON", conflicts_with_all = ["overrule", "flash_off", "ago"])]
    take_back: Option<String>,
    #[command(flatten)]
    common: Common,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum Doing {
    /// Begin it
    Start,
    /// End it
    Stop,
    /// Do not wait for it, and say why
    Overrule,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum Time {
    /// Until the next coat or layer may follow
    FlashOff,
    /// Until the next layer may follow
    BeforeNext,
    /// The bake
    Bake,
    /// Until the booth is clear of mist
    Clearance,
}

#[derive(Debug, clap::Args)]
struct Timer {
    /// Which job
    name: String,
    /// What to do with it
    #[arg(value_enum)]
    doing: Doing,
    /// Which time
    #[arg(value_enum)]
    time: Time,
    /// Of which layer
    #[arg(long, value_parser = amount::role, required_if_eq_any = [("time", "flash-off"), ("time", "before-next"), ("time", "bake")])]
    layer: Option<Role>,
    /// How long [default: the layer's own]
    #[arg(long)]
    minutes: Option<u32>,
    /// How many minutes ago it began
    #[arg(long, value_name = "MINUTES", default_value_t = 0)]
    ago: u32,
    /// Why it is not waited for; only the booth's clearance is stopped without
    #[arg(long, required_if_eq("doing", "overrule"))]
    reason: Option<String>,
    #[command(flatten)]
    common: Common,
}

#[derive(Debug, clap::Args)]
struct LayerDone {
    /// Which job
    name: String,
    /// Which layer
    #[arg(value_parser = amount::role)]
    layer: Role,
    /// Why it is done though it has fewer coats, or was not baked
    #[arg(long, value_name = "REASON", conflicts_with = "undo")]
    overrule: Option<String>,
    /// It is not done after all
    #[arg(long)]
    undo: bool,
    #[command(flatten)]
    common: Common,
}

#[derive(Debug, clap::Args)]
struct Note {
    /// Which job
    name: String,
    /// What
    text: String,
    #[command(flatten)]
    common: Common,
}

#[derive(Debug, clap::Args)]
struct Named {
    /// Which job
    name: String,
    #[command(flatten)]
    common: Common,
}

#[derive(Debug, clap::Args)]
struct Sheet {
    /// Which job
    name: String,
    /// A page to look at or to print; the file must not be there yet
    #[arg(long, value_name = "FILE", conflicts_with = "text")]
    html: Option<PathBuf>,
    /// As text, which is what is done without --html
    #[arg(long)]
    text: bool,
    /// Write the page over a file that is there
    #[arg(long, requires = "html")]
    force: bool,
}

fn finish(text: &str) -> Result<Finish, String> {
    Finish::from_word(text).ok_or_else(|| {
        let all: Vec<_> = Finish::ALL.iter().map(|finish| finish.word()).collect();
        format!("one of {} was expected", all.join(", "))
    })
}

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    match &args.what {
        What::List(args) => show::list(places, args),
        What::Show(args) => show::one(places, args),
        What::Amounts(args) => amounts::run(places, args),
        What::Sheet(args) => sheet::run(places, args),
        What::Open(args) => write::open(places, args),
        What::Amend(args) => write::amend(places, args),
        What::Card(args) => cards::card(places, args),
        What::Compare(args) => cards::compare(places, args),
        What::Choose(args) => cards::choose(places, args),
        What::Mix(args) => write::mix_joined(places, args),
        What::Part(args) => write::part(places, args),
        What::Activate(args) => write::activate(places, args),
        What::Coat(args) => write::coat(places, args),
        What::Timer(args) => write::timer(places, args),
        What::Finish(args) => write::finish(places, args),
        What::Note(args) => write::note(places, args),
        What::Close(args) => write::close(places, args),
        What::Reopen(args) => write::reopen(places, args),
    }
}

/// So many jobs are named where one is not found.
const MOST_NAMED: usize = 8;

/// The job with that name; the one whose name begins so will do: of those that are open, or else of all.
pub(super) fn find(book: &SqliteStore, name: &str) -> Result<JobRow, CliError> {
    let name = crate::units::clean(name).trim().to_owned();
    if let Some(row) = book.jobs(JobsOf::Name(&name)).map_err(CliError::failed)?.pop() {
        return Ok(row);
    }
    let open = book.jobs(JobsOf::Open).map_err(CliError::failed)?;
    let folded = name.to_lowercase();
    let begins = |row: &&JobRow| !folded.is_empty() && row.name.to_lowercase().starts_with(&folded);
    let all = if open.iter().any(|row| begins(&row)) {
        Vec::new()
    } else {
        book.jobs(JobsOf::All).map_err(CliError::failed)?
    };
    let several: Vec<&JobRow> = open.iter().chain(&all).filter(begins).collect();
    if let [only] = several.as_slice() {
        return Ok((*only).clone());
    }
    let (error, listed, which) = if several.is_empty() {
        (format!("there is no job '{name}' in this book"), open.iter().collect(), "Open are")
    } else {
        let error = format!("'{name}' could be any of {} jobs: write more of it", several.len());
        (error, several, "They are")
    };
    let error = CliError::failed(error);
    if listed.is_empty() {
        return Err(error.hint("No job is open: pourbook job open NAME --colour COLOUR opens one."));
    }
    let mut names: Vec<_> = listed.iter().rev().take(MOST_NAMED).map(|row| row.name.as_str()).collect();
    if listed.len() > MOST_NAMED {
        names.push("…");
    }
    Err(error.hint(format!("{which}: {}.", names.join("; "))))
}

/// The job as it stands.
pub(super) fn read(book: &SqliteStore, row: &JobRow) -> Result<JobJournal, CliError> {
    let events = book.events(row.job.subject()).map_err(CliError::failed)?;
    JobJournal::fold(row.job, &events).map_err(CliError::failed)
}

/// The mixes that were joined to it, begun for it or sprayed on it.
pub(super) fn mixes_of(book: &SqliteStore, job: &Job) -> Result<Vec<MixTotals>, CliError> {
    let mut found = BTreeMap::new();
    for totals in book.totals(MixesOf::For(&job.name)).map_err(CliError::failed)? {
        found.insert(totals.head.number, totals);
    }
    for joined in job.mixes() {
        for totals in book.totals(MixesOf::Mix(joined.mix)).map_err(CliError::failed)? {
            found.insert(totals.head.number, totals);
        }
    }
    Ok(found.into_values().collect())
}

/// A number of coats in words: `1 coat`, `3 coats`.
fn coats_of(coats: u32) -> String {
    if coats == 1 { "1 coat".to_owned() } else { format!("{coats} coats") }
}

/// What was said of layers, put into a plan: a layer that is there is told more, another takes its place by its role.
fn planned(mut plan: Vec<LayerPlan>, said: &[LayerSaid], without: &[Role]) -> Vec<LayerPlan> {
    for layer in said {
        if let Some(known) = plan.iter_mut().find(|known| known.role == layer.0.role) {
            layer.over(known);
        } else {
            let place = plan.iter().position(|known| known.role > layer.0.role).unwrap_or(plan.len());
            plan.insert(place, layer.0.clone());
        }
    }
    plan.retain(|layer| !without.contains(&layer.role));
    plan
}
