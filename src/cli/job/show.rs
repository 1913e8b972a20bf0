//! The jobs in a list, and one of them as it stands.

use super::amounts::{self, JsonWanted, Terms};
use super::{cards, find, read};
use crate::book::figures::{JobRow, MixHead};
use crate::book::{JobsOf, Ledger as _, MixesOf, SqliteStore};
use crate::catalogue::{ColourCode, Finish, Role};
use crate::cli::places::Places;
use crate::cli::stores::{Stores, to_look};
use crate::cli::table::{self, Side};
use crate::cli::{CliError, amount, open, out};
use crate::job::sheet::panel_words;
use crate::job::{Countdown, Job, MixStands, Panel, Run, Standing, Step, Wanted};
use crate::units::{Notation, Stamp};
use serde::Serialize;

#[derive(Serialize)]
struct JsonRow<'a> {
    number: u32,
    job: &'a str,
    job_id: String,
    vehicle: Option<&'a str>,
    colour: Option<&'a str>,
    variant: Option<&'a str>,
    opened: Stamp,
    last: Stamp,
    closed: Option<Stamp>,
}

#[derive(Serialize)]
struct JsonList<'a> {
    jobs: Vec<JsonRow<'a>>,
}

#[derive(Serialize)]
struct JsonJob<'a> {
    job: &'a str,
    job_id: String,
    vehicle: Option<&'a str>,
    colour: &'a ColourCode,
    variant: &'a str,
    finish: Finish,
    panels: &'a [Panel],
    opened: Stamp,
    last: Stamp,
    closed: Option<Stamp>,
    layers: Vec<JsonLayer<'a>>,
    cards: Vec<cards::JsonCard<'a>>,
    comparisons: Vec<cards::JsonComparison>,
    next: &'static str,
    next_layer: Option<Role>,
    next_until: Option<Stamp>,
    notes: Vec<JsonNote<'a>>,
}

#[derive(Serialize)]
struct JsonLayer<'a> {
    layer: Role,
    product: Option<&'a str>,
    shade: Option<&'a str>,
    asked_ml: Option<String>,
    coats_wanted: Option<u32>,
    by_card: bool,
    counted_by: Option<String>,
    without_card: Option<&'a str>,
    coats: u32,
    mixes: Vec<u32>,
    pot_life_until: Option<Stamp>,
    flash_off_until: Option<Stamp>,
    bake_until: Option<Stamp>,
    before_next_until: Option<Stamp>,
    finished: Option<Stamp>,
    wants: Option<JsonWanted>,
}

#[derive(Serialize)]
struct JsonNote<'a> {
    at: Stamp,
    text: &'a str,
}

pub(super) fn list(places: &Places, args: &super::List) -> Result<(), CliError> {
    let book = to_look(places)?;
    let of = if args.all { JobsOf::All } else { JobsOf::Open };
    let rows = book.jobs(of).map_err(CliError::failed)?;
    if args.json {
        return out::json(&JsonList { jobs: rows.iter().map(json_row).collect() });
    }
    if rows.is_empty() {
        return out::line("No job is open.");
    }
    let now = Stores::now();
    let notation = places.settled()?.settings.notation();
    let mut lines = vec![["job", "vehicle", "colour", "opened", "next"].map(str::to_owned).to_vec()];
    for row in &rows {
        // One that cannot be read is listed all the same.
        let next = match read(&book, row) {
            Ok(journal) => {
                next_step(&book, journal.job(), now).words(now, |volume| notation.given_volume(volume))
            }
            Err(error) => error.to_string(),
        };
        lines.push(vec![
            row.name.clone(),
            dash(row.vehicle.as_deref()),
            dash(row.colour.as_deref()),
            open::when(row.opened),
            next,
        ]);
    }
    table::lines(&[Side::Left; 5], &lines).iter().try_for_each(out::line)
}

/// What comes next in a job, as far as the book knows which of its mixes are done.
pub(super) fn next_step(book: &SqliteStore, job: &Job, now: Stamp) -> Step {
    job.next_beside(now, |mix| {
        let found = book.totals(MixesOf::Mix(mix)).unwrap_or_default();
        match found.first().map(|totals| &totals.head) {
            Some(MixHead { ended: None, .. }) => MixStands::UnderWay,
            Some(MixHead { ended: Some((_, how)), emptied: None, .. }) if how == "mix/finished" => {
                MixStands::InCup
            }
            _ => MixStands::Unknown,
        }
    })
}

fn json_row(row: &JobRow) -> JsonRow<'_> {
    JsonRow {
        number: row.number,
        job: &row.name,
        job_id: row.job.to_string(),
        vehicle: row.vehicle.as_deref(),
        colour: row.colour.as_deref(),
        variant: row.variant.as_deref(),
        opened: row.opened,
        last: row.last,
        closed: row.closed,
    }
}

fn dash(text: Option<&str>) -> String {
    text.unwrap_or("–").to_owned()
}

pub(super) fn one(places: &Places, args: &super::Show) -> Result<(), CliError> {
    let book = to_look(places)?;
    let row = find(&book, &args.name)?;
    let journal = read(&book, &row)?;
    let (job, now) = (journal.job(), Stores::now());
    // What stands of a job is shown without the shop's files too.
    let terms = Terms::of(places).ok();
    if args.json {
        return out::json(&json(&book, terms.as_ref(), (&row, job), now)?);
    }
    let notation = places.settled()?.settings.notation();
    text(&book, job, now, notation, &still_wanted(&book, terms.as_ref(), (&row, job))?)?
        .iter()
        .try_for_each(out::line)
}

/// How much the layers want that are not mixed yet.
fn still_wanted(
    book: &SqliteStore,
    terms: Option<&Terms>,
    (row, job): (&JobRow, &Job),
) -> Result<Vec<Wanted>, CliError> {
    let mut wanted = Vec::new();
    let Some(terms) = terms.filter(|_| job.closed.is_none()) else { return Ok(wanted) };
    for layer in job.standings().filter(Standing::is_to_mix) {
        wanted.extend(terms.wanted(book, (row, job), layer.plan.role)?);
    }
    Ok(wanted)
}

/// The numbers of a layer's mixes.
fn numbers(book: &SqliteStore, layer: &Standing<'_>) -> Result<Vec<u32>, CliError> {
    let mut numbers = Vec::new();
    for mix in &layer.mixes {
        let found = book.totals(MixesOf::Mix(*mix)).map_err(CliError::failed)?;
        numbers.extend(found.into_iter().map(|totals| totals.head.number));
    }
    Ok(numbers)
}

/// The bake of a layer: planned, running, done, or left out.
fn bake(layer: &Standing<'_>, now: Stamp) -> String {
    match (layer.bake, layer.plan.bake) {
        (Some(run), _) if run.is_running(now) => run.countdown.at(now).words(),
        (Some(_), _) if layer.is_baked() => "over".to_owned(),
        (_, Some(minutes)) if layer.is_to_bake() => format!("{minutes} min"),
        _ => "–".to_owned(),
    }
}

fn running(run: Option<&Run>, now: Stamp) -> Option<Countdown> {
    run.filter(|run| run.is_running(now)).map(|run| run.countdown)
}

fn json<'a>(
    book: &SqliteStore,
    terms: Option<&Terms>,
    (row, job): (&JobRow, &'a Job),
    now: Stamp,
) -> Result<JsonJob<'a>, CliError> {
    let next = next_step(book, job, now);
    let wanted = still_wanted(book, terms, (row, job))?;
    let mut layers = Vec::new();
    for layer in job.standings() {
        layers.push(JsonLayer {
            layer: layer.plan.role,
            product: layer.plan.product.as_deref(),
            shade: layer.plan.shade.as_deref(),
            asked_ml: layer.plan.asked.map(amount::exact_volume),
            coats_wanted: layer.wanted,
            by_card: layer.counted.is_by_cards(),
            counted_by: layer.counted.words(),
            without_card: layer.unmatched,
            coats: layer.sprayed(),
            mixes: numbers(book, &layer)?,
            pot_life_until: layer.activated.map(Countdown::until),
            flash_off_until: running(layer.flash_off, now).map(Countdown::until),
            bake_until: running(layer.bake, now).map(Countdown::until),
            before_next_until: running(layer.before_next, now).map(Countdown::until),
            finished: layer.finished,
            wants: wanted.iter().find(|wanted| wanted.layer == layer.plan.role).map(amounts::json),
        });
    }
    let next_until = match next {
        Step::Wait { countdown, .. } => Some(countdown.until()),
        _ => None,
    };
    Ok(JsonJob {
        job: &job.name,
        job_id: row.job.to_string(),
        vehicle: job.vehicle.as_deref(),
        colour: &job.colour,
        variant: &job.variant,
        finish: job.finish,
        panels: &job.panels,
        opened: job.opened,
        last: job.last,
        closed: job.closed,
        layers,
        cards: job.cards().map(cards::json).collect(),
        comparisons: job.comparisons().iter().map(cards::json_comparison).collect(),
        next: next.word(),
        next_layer: next.layer(),
        next_until,
        notes: job.notes().iter().map(|(at, text)| JsonNote { at: *at, text }).collect(),
    })
}

fn text(
    book: &SqliteStore,
    job: &Job,
    now: Stamp,
    notation: Notation,
    wanted: &[Wanted],
) -> Result<Vec<String>, CliError> {
    let mut lines = vec![job.name.clone()];
    if let Some(vehicle) = &job.vehicle {
        lines.push(vehicle.clone());
    }
    lines.push(format!(
        "{} ({}), {}, opened {}",
        job.colour,
        job.variant,
        job.finish,
        open::when(job.opened)
    ));
    if !job.panels.is_empty() {
        let panels: Vec<_> = job.panels.iter().map(|panel| panel_words(panel, notation)).collect();
        lines.push(panels.join("; "));
    }
    lines.push(String::new());
    let heads = ["layer", "asked for", "coats", "mixes", "pot life", "flash-off", "bake", "state"];
    let mut rows = vec![heads.map(str::to_owned).to_vec()];
    for layer in job.standings() {
        let coats = match (layer.wanted, layer.counted.words()) {
            (Some(wanted), Some(by)) => format!("{} of {wanted} ({by})", layer.sprayed()),
            (Some(wanted), None) => format!("{} of {wanted}", layer.sprayed()),
            (None, _) => layer.sprayed().to_string(),
        };
        let mixes: Vec<_> = numbers(book, &layer)?.iter().map(u32::to_string).collect();
        let time = |time: Option<Countdown>| time.map(|time| time.at(now).words());
        rows.push(vec![
            layer.plan.role.to_string(),
            dash(layer.plan.asked.map(|asked| notation.given_volume(asked)).as_deref()),
            coats,
            dash(Some(mixes.join(", ").as_str()).filter(|text| !text.is_empty())),
            dash(time(layer.activated).as_deref()),
            dash(time(running(layer.flash_off, now).or(running(layer.before_next, now))).as_deref()),
            bake(&layer, now),
            layer.finished.map_or("–", |_| "done").to_owned(),
        ]);
    }
    lines.extend(table::lines(&[Side::Left; 8], &rows));
    if !wanted.is_empty() {
        lines.push(String::new());
        lines.extend(wanted.iter().map(|wanted| amounts::sentence(wanted, notation)));
        if job.cards().next().is_some() || !job.notes().is_empty() {
            lines.push(String::new());
        }
    }
    lines.extend(cards::text(job, notation));
    let reasons = job.reasons();
    lines.extend(reasons.iter().map(|one| format!("{}  {}: {}", open::when(one.at), one.what, one.why)));
    lines.extend(job.notes().iter().map(|(at, text)| format!("{}  {text}", open::when(*at))));
    let next = next_step(book, job, now).words(now, |volume| notation.given_volume(volume));
    lines.extend([String::new(), format!("next: {next}")]);
    Ok(lines)
}
