//! How much each layer of a job wants, and what that means at the bench.

use super::{find, read};
use crate::book::SqliteStore;
use crate::book::figures::JobRow;
use crate::catalogue::{Catalogue, Role};
use crate::cli::places::Places;
use crate::cli::stores::to_look;
use crate::cli::table::{self, Side};
use crate::cli::{CliError, amount, out, targets};
use crate::job::{AID, Job, Need, Usual, Wanted, wanted_by};
use crate::units::{Area, Decimal, Grams, Millilitres, Notation};
use serde::Serialize;

/// By what it is reckoned: the shop's files and settings, and what its scale weighs.
pub(super) struct Terms {
    catalogue: Catalogue,
    usual: Usual,
    smallest: Option<Grams>,
}

impl Terms {
    /// As they are set.
    ///
    /// # Errors
    /// The shop cannot be read.
    pub(super) fn of(places: &Places) -> Result<Self, CliError> {
        let catalogue = places.catalogue()?;
        let smallest = targets::smallest_weight(places, &catalogue)?;
        Ok(Self { catalogue, usual: places.settled()?.job(), smallest })
    }

    /// The shop's files.
    pub(super) const fn catalogue(&self) -> &Catalogue {
        &self.catalogue
    }

    /// What is set for all jobs.
    pub(super) const fn usual(&self) -> &Usual {
        &self.usual
    }

    /// How much a layer of that job wants; none if it is not planned.
    pub(super) fn wanted(
        &self,
        book: &SqliteStore,
        (row, job): (&JobRow, &Job),
        layer: Role,
    ) -> Result<Option<Wanted>, CliError> {
        wanted_by(book, (row.job, job), layer, &self.catalogue, &self.usual, self.smallest)
            .map_err(CliError::failed)
    }
}

/// How much a layer wants.
#[derive(Serialize)]
pub(super) struct JsonWanted {
    layer: Role,
    product: Option<String>,
    coats: Option<u32>,
    car_m2: Option<String>,
    cards_m2: Option<String>,
    car_ml: Option<String>,
    cards_ml: Option<String>,
    in_gun_ml: Option<String>,
    estimate_ml: Option<String>,
    asked_ml: Option<String>,
    advised_ml: Option<String>,
    likely_ml: Option<String>,
    enough_in_ten: Option<u32>,
    past_mixes: usize,
    mix_ml: Option<String>,
    smallest_ml: Option<String>,
    too_small: Vec<String>,
    colour_ml: Option<String>,
    lacks: Option<String>,
    says: String,
}

fn square_metres(area: Decimal) -> String {
    Area::new(area.round_dp(6).normalize()).to_string()
}

pub(super) fn json(wanted: &Wanted) -> JsonWanted {
    let need = |of: fn(Need) -> Millilitres| wanted.need.map(of).map(amount::exact_volume);
    let advice = wanted.advice.as_ref();
    JsonWanted {
        layer: wanted.layer,
        product: wanted.product.clone(),
        coats: wanted.coats,
        car_m2: wanted.surface.map(|surface| square_metres(surface.car)),
        cards_m2: wanted.surface.map(|surface| square_metres(surface.cards)),
        car_ml: need(|need| need.car),
        cards_ml: need(|need| need.cards),
        in_gun_ml: need(|need| need.behind),
        estimate_ml: need(Need::total),
        asked_ml: wanted.asked.map(amount::exact_volume),
        advised_ml: advice.map(|advice| amount::exact_volume(advice.mix)),
        likely_ml: advice.map(|advice| amount::exact_volume(advice.likely)),
        enough_in_ten: advice.and_then(|advice| advice.in_ten),
        past_mixes: advice.map_or(0, |advice| advice.from),
        mix_ml: wanted.to_mix.map(|to_mix| amount::exact_volume(to_mix.wanted)),
        smallest_ml: wanted.to_mix.and_then(|to_mix| to_mix.smallest).map(amount::exact_volume),
        too_small: wanted.too_small.iter().map(ToString::to_string).collect(),
        colour_ml: wanted.colour.map(amount::exact_volume),
        lacks: wanted.lacks.as_ref().map(ToString::to_string),
        says: wanted.sentence(Notation::METRIC),
    }
}

#[derive(Serialize)]
struct Json<'a> {
    job: &'a str,
    job_id: String,
    layers: Vec<JsonWanted>,
    note: &'static str,
}

pub(super) fn run(places: &Places, args: &super::Show) -> Result<(), CliError> {
    let book = to_look(places)?;
    let row = find(&book, &args.name)?;
    let journal = read(&book, &row)?;
    let (job, terms) = (journal.job(), Terms::of(places)?);
    let mut all = Vec::new();
    for plan in job.plan() {
        all.extend(terms.wanted(&book, (&row, job), plan.role)?);
    }
    if args.json {
        let layers = all.iter().map(json).collect();
        return out::json(&Json { job: &job.name, job_id: row.job.to_string(), layers, note: AID });
    }
    let notation = places.settled()?.settings.notation();
    out::line(&job.name)?;
    out::line("")?;
    text(&all, notation).iter().try_for_each(out::line)
}

fn text(all: &[Wanted], notation: Notation) -> Vec<String> {
    let unit = notation.volume_unit();
    let heads = [
        "layer".to_owned(),
        "product".to_owned(),
        "coats".to_owned(),
        notation.area_unit().to_owned(),
        format!("car {unit}"),
        format!("cards {unit}"),
        format!("in gun {unit}"),
        format!("estimate {unit}"),
        format!("mix {unit}"),
        format!("of it colour {unit}"),
    ];
    let dash = |text: Option<String>| text.unwrap_or_else(|| "–".to_owned());
    let number = |volume: Option<Millilitres>| dash(volume.map(|volume| notation.volume_number(volume, 0)));
    let mut rows = vec![heads.to_vec()];
    for wanted in all {
        rows.push(vec![
            wanted.layer.to_string(),
            dash(wanted.product.clone()),
            dash(wanted.coats.map(|coats| coats.to_string())),
            dash(wanted.surface.map(|surface| notation.area_number(Area::new(surface.car.normalize())))),
            number(wanted.need.map(|need| need.car)),
            number(wanted.need.map(|need| need.cards)),
            number(wanted.need.map(|need| need.behind)),
            // As its sentence says it: what was asked for as it was given, what is worked out so that it suffices.
            dash(wanted.estimate().map(|volume| notation.volume_number_up(volume))),
            dash(wanted.to_mix.map(|to_mix| match wanted.asked {
                Some(asked) => notation.given_volume_number(asked),
                None => notation.volume_number_up(to_mix.wanted),
            })),
            number(wanted.colour),
        ]);
    }
    let (left, right) = (Side::Left, Side::Right);
    let sides = [left, left, right, right, right, right, right, right, right, right];
    let mut lines = table::lines(&sides, &rows);
    lines.push(String::new());
    lines.extend(all.iter().map(|wanted| sentence(wanted, notation)));
    lines
}

/// A layer's sentence behind its name.
pub(super) fn sentence(wanted: &Wanted, notation: Notation) -> String {
    format!("{}: {}", wanted.layer.name(), wanted.sentence(notation))
}
