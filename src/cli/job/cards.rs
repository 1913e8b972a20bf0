//! The spray-out cards of a job: made, held against the car, and one of them chosen.

use super::coats_of;
use super::typed::carded;
use super::write::Desk;
use crate::catalogue::Role;
use crate::cli::places::Places;
use crate::cli::stores::Stores;
use crate::cli::{CliError, out};
use crate::job::card::{
    AtAngle, Compared, Comparison, Gun, Measured, NoCount, Sight, TableError, read_table,
};
use crate::job::{Card, CardCompared, CardMade, CardWithdrawn, Job, JobError, JobEvent, Refusal};
use crate::units::{Notation, Stamp, plain};
use serde::Serialize;
use std::fs;
use std::path::Path;

pub(super) fn card(places: &Places, args: &super::Card) -> Result<(), CliError> {
    let mut desk = Desk::open(places, &args.name, &args.common)?;
    let layer = carded(args.layer);
    let mix = args.mix.map(|number| desk.mix(number)).transpose()?.map(|(mix, _)| mix);
    let card = desk.journal.job().next_card();
    let made = CardMade {
        over: args.over.clone(),
        gun: args.gun.clone(),
        note: args.note.clone(),
        mix,
        ..CardMade::of(card, layer, args.coats)
    };
    desk.tell(JobEvent::CardMade(made))?;
    desk.say(places, &args.common, &format!("card {card}: {} of the {}", coats_of(args.coats), layer.name()))
}

pub(super) fn compare(places: &Places, args: &super::Compare) -> Result<(), CliError> {
    if let Some((reading, card)) = args.withdraw.zip(args.card) {
        let mut desk = Desk::open(places, &args.name, &args.common)?;
        desk.tell(JobEvent::CardWithdrawn(CardWithdrawn { card, reading }))?;
        let done = format!("card {card}: what it was at {} does not count", reading.words());
        return desk.say(places, &args.common, &done);
    }
    let mut unused = Vec::new();
    let compared = match (&args.csv, args.card) {
        (Some(path), _) => {
            let table = table(path)?;
            unused = table.unused;
            let event = |readings: crate::job::card::CardReadings| {
                let compared =
                    CardCompared { measured: readings.measured, ..CardCompared::of(readings.card) };
                (Some(readings.line), compared)
            };
            table.cards.into_iter().map(event).collect()
        }
        (None, card) => vec![(None, said(args, card.unwrap_or_default())?)],
    };
    let mut desk = Desk::open(places, &args.name, &args.common)?;
    // All of them are looked at before the first is written.
    for (line, compared) in &compared {
        let event = JobEvent::CardCompared(compared.clone()).cleaned();
        if let Err(refusal) = desk.journal.job().may(&event, Stores::now()) {
            let error = match (line, &args.csv) {
                (Some(line), Some(path)) => {
                    CliError::failed(format!("{}: line {line}, column sample: {refusal}", path.display()))
                }
                _ => CliError::failed(JobError::from(refusal)),
            };
            return Err(error.hint("Nothing was written."));
        }
    }
    let mut done = Vec::new();
    let notation = places.settled()?.settings.notation();
    for (_, compared) in compared {
        let card = compared.card;
        let is_measured = !compared.measured.is_empty();
        desk.tell(JobEvent::CardCompared(compared))?;
        let differences = differences(desk.journal.job(), card, notation).filter(|_| is_measured);
        done.push(match differences {
            Some(differences) => format!("card {card} was compared, ΔE00 {differences}"),
            None => format!("card {card} was compared"),
        });
    }
    for angle in unused {
        out::note(format_args!("note: the car was measured at {angle}°, and no card: not written"));
    }
    desk.say(places, &args.common, &done.join("; "))
}

/// What was seen or measured of one card.
fn said(args: &super::Compare, card: u32) -> Result<CardCompared, CliError> {
    let sights = match (args.view, args.light, &args.is) {
        (Some(view), Some(light), Some(is)) => {
            vec![
                Sight::parse(view, light, is)
                    .map_err(|problem| CliError::wrong(format!("--is: {problem}")))?,
            ]
        }
        _ => Vec::new(),
    };
    let seen = args.seen.clone().unwrap_or_default();
    if seen.trim().is_empty() && sights.is_empty() && args.measured.is_empty() {
        return Err(CliError::wrong(
            "say what was seen: --view, --light and --is, or --measured, or in words of your own",
        ));
    }
    Ok(CardCompared { card, seen, sights, measured: args.measured.clone() })
}

/// So many things that are wrong with a file are named.
const MOST_NAMED: usize = 8;

fn table(path: &Path) -> Result<crate::job::card::Table, CliError> {
    let bytes = fs::read(path)
        .map_err(|error| CliError::failed(format!("{} cannot be read: {error}", path.display())))?;
    read_table(&bytes).map_err(|wrong| {
        let say = |error: &TableError| format!("{}: {error}", path.display());
        let error = CliError::failed(wrong.first().map_or_else(String::new, say));
        let error = wrong.iter().skip(1).take(MOST_NAMED).map(say).fold(error, CliError::hint);
        error.hint("Nothing was written.")
    })
}

fn differences(job: &Job, card: u32, notation: Notation) -> Option<String> {
    let all = job.comparisons();
    let mut all = all.iter().flat_map(|(_, comparison)| &comparison.cards);
    all.find(|compared| compared.card == card)?.measured_words(notation)
}

pub(super) fn choose(places: &Places, args: &super::Choose) -> Result<(), CliError> {
    let mut desk = Desk::open(places, &args.name, &args.common)?;
    let layer = carded(args.layer);
    let job = desk.journal.job();
    let made = |card: &Card| card.made.layer == layer && Some(card.made.card) == args.card;
    let coats = args.coats.or(job.cards().find(|card| made(card)).map(|card| card.made.coats));
    let Some(coats) = coats else {
        if let Some(card) = args.card {
            return Err(CliError::failed(Refusal::NoCard(card)).hint("Nothing was written."));
        }
        let reason = args.no_card.clone().unwrap_or_default();
        desk.tell(JobEvent::CardOverruled { layer, reason })?;
        let done = format!("the {} is mixed without a chosen card", layer.name());
        return desk.say(places, &args.common, &done);
    };
    let event = JobEvent::CardChosen(job.choice(layer, coats, args.card));
    if let Some(refusal) = job.may(&event, Stores::now()).err().filter(|one| one.overruled("").is_some()) {
        desk.overrule(&refusal, args.no_card.as_deref(), "--no-card")?;
    }
    desk.tell(event)?;
    let standing = desk.journal.job().standing(layer);
    let by =
        standing.and_then(|layer| layer.counted.words()).map_or_else(String::new, |by| format!(" ({by})"));
    desk.say(places, &args.common, &format!("the car gets {} of the {}{by}", coats_of(coats), layer.name()))
}

#[derive(Serialize)]
pub(super) struct JsonCard<'a> {
    card: u32,
    layer: Role,
    coats: u32,
    at: Stamp,
    over: Option<&'a str>,
    gun: Option<&'a Gun>,
    note: Option<&'a str>,
    seen: Vec<&'a str>,
    sights: Vec<JsonSight>,
    measured: Vec<JsonMeasured>,
}

#[derive(Serialize)]
struct JsonSight {
    at: Stamp,
    view: crate::job::card::View,
    light: crate::job::card::Light,
    is: String,
}

#[derive(Serialize)]
struct JsonMeasured {
    at: Stamp,
    angle: i16,
    car: Measured,
    card: Measured,
}

/// How the cards of a layer compare.
#[derive(Serialize)]
pub(super) struct JsonComparison {
    layer: Role,
    cards: Vec<JsonCompared>,
    best_by_measure: Vec<u32>,
    best_by_eye: Vec<u32>,
    /// In coats.
    count: Option<String>,
    count_between: Option<[u32; 2]>,
    count_worst_angle: Option<i16>,
    count_worst_de00: Option<String>,
    no_count: Option<&'static str>,
}

#[derive(Serialize)]
struct JsonCompared {
    card: u32,
    coats: u32,
    de00: Vec<JsonDifference>,
    worst_angle: Option<i16>,
    lacks: Vec<i16>,
    matches: usize,
    views: usize,
}

#[derive(Serialize)]
struct JsonDifference {
    angle: i16,
    de00: String,
}

pub(super) fn json(card: &Card) -> JsonCard<'_> {
    let sight = |(at, sight): &(Stamp, Sight)| JsonSight {
        at: *at,
        view: sight.view,
        light: sight.light,
        is: sight.seen_words(),
    };
    let measured = |(at, angle): &(Stamp, AtAngle)| JsonMeasured {
        at: *at,
        angle: angle.angle,
        car: angle.car,
        card: angle.card,
    };
    JsonCard {
        card: card.made.card,
        layer: card.made.layer,
        coats: card.made.coats,
        at: card.at,
        over: card.made.over.as_deref(),
        gun: card.made.gun.as_ref(),
        note: card.made.note.as_deref(),
        seen: card.seen.iter().map(|(_, seen)| seen.as_str()).collect(),
        sights: card.sights.iter().map(sight).collect(),
        measured: card.measured.iter().map(measured).collect(),
    }
}

pub(super) fn json_comparison((layer, comparison): &(Role, Comparison)) -> JsonComparison {
    let compared = |card: &Compared| JsonCompared {
        card: card.card,
        coats: card.coats,
        de00: card
            .differences
            .iter()
            .map(|one| JsonDifference { angle: one.angle, de00: plain(one.de) })
            .collect(),
        worst_angle: card.worst.map(|worst| worst.angle),
        lacks: card.lacks.clone(),
        matches: card.matches(),
        views: card.sights.len(),
    };
    let count = comparison.count.as_ref().ok();
    JsonComparison {
        layer: *layer,
        cards: comparison.cards.iter().map(compared).collect(),
        best_by_measure: comparison.measured.as_ref().map_or_else(Vec::new, |by| by.best.clone()),
        best_by_eye: comparison.eye.as_ref().map_or_else(Vec::new, |by| by.best.clone()),
        count: count.map(|count| plain(count.number())),
        count_between: count.map(|count| [count.cards.0, count.cards.1]),
        count_worst_angle: count.map(|count| count.worst.angle),
        count_worst_de00: count.map(|count| plain(count.worst.de)),
        no_count: comparison.count.as_ref().err().map(|none| match none {
            NoCount::NotMeasured => "not-measured",
            NoCount::OneCount(_) => "one-count",
            NoCount::Unlike => "unlike",
        }),
    }
}

/// The cards one by one, and what comes out of them.
pub(super) fn text(job: &Job, notation: Notation) -> Vec<String> {
    let comparisons = job.comparisons();
    let compared = |card: u32| {
        let mut all = comparisons.iter().flat_map(|(_, comparison)| &comparison.cards);
        all.find(|compared| compared.card == card)
    };
    let mut lines = Vec::new();
    for card in job.cards() {
        let made = &card.made;
        let mut line = format!("card {}: {} of the {}", made.card, coats_of(made.coats), made.layer.name());
        let mut said = card.said();
        if let Some(compared) = compared(made.card) {
            said.extend(compared.seen_words());
            said.extend(compared.measured_words(notation).map(|words| format!("ΔE00 {words}")));
        }
        for said in said {
            line.push_str("; ");
            line.push_str(&said);
        }
        lines.push(line);
    }
    for (layer, comparison) in &comparisons {
        lines.push(format!("the {} against the car:", layer.name()));
        lines.extend(comparison.words(notation).into_iter().map(|words| format!("  {words}")));
    }
    lines
}
