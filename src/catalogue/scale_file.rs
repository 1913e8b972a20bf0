//! `scale.toml`: a `[scale]`, and a `[[weight]]` for each check weight.

use super::code::fold;
use super::fields::{At, Fields, Read, Reported};
use super::nearest::nearest;
use super::page::Page;
use super::problem::quoted;
use super::{ScaleSheet, Word};
use crate::metrology::{
    AccuracyClass, BenchScale, CheckPlan, CheckWeight, Every, Misfit, NOMINALS, WeightClass,
};
use crate::units::{Decimal, Division, Grams};
use std::collections::{HashMap, hash_map::Entry};

const KEYS: [&str; 10] =
    ["name", "max", "d", "e", "class", "rules", "limit", "usual_load", "check_every", "when_overdue"];
const WEIGHT_KEYS: [&str; 4] = ["id", "nominal", "class", "value"];

/// Reads the file; none if the scale in it could not be read.
pub(super) fn read(page: &mut Page<'_>) -> Option<ScaleSheet> {
    let document = page.parse()?;
    let file = Fields::of_file(document.as_table(), "file of a scale");
    let _ = file.only(page, &["scale", "weight"]);
    let table = file.need(page, "scale", "[scale]", |file, page, key| file.table(page, key, "scale"));
    let scale = table.and_then(|table| read_scale(page, table.value));
    page.turn_to("weight");
    let list = file.tables(page, "weight", "weight");
    let weights = match list {
        Ok(Some(list)) => read_weights(page, list.value.tables),
        _ => Vec::new(),
    };
    scale.ok().map(|sheet| ScaleSheet { weights, ..sheet })
}

/// Reads every key before giving up on any, so that all mistakes are named. The weights are still to come.
fn read_scale(page: &mut Page<'_>, table: Fields<'_>) -> Result<ScaleSheet, Reported> {
    let only = table.only(page, &KEYS);
    let name = table.need(page, "name", "name = \"mixing bench\"", Fields::text);
    let max = table.need(page, "max", "max = \"7500\"", grams);
    let d = table.need(page, "d", "d = \"0.1\"", division);
    let e = division(table, page, "e");
    let class = class(table, page, "class", meant_class);
    let rules = table.word(page, "rules");
    let own_limit = grams(table, page, "limit");
    let usual_load = grams(table, page, "usual_load");
    let every = every(table, page, "check_every");
    let when_overdue = table.word(page, "when_overdue");

    only?;
    let (max, d, e, class) = (max?, d?, e?, class?);
    let own_limit = own_limit?;
    let scale = BenchScale {
        name: name?.value,
        max: max.value,
        d: d.value,
        e: e.map_or(d.value, |at| at.value),
        class: class.map(|at| at.value),
        rules: rules?.map(|at| at.value).unwrap_or_default(),
        own_limit: own_limit.map(|at| at.value),
    };
    let usual_load = usual_load?;
    let plan = CheckPlan {
        every: every?.map(|at| at.value).unwrap_or_default(),
        when_overdue: when_overdue?.map(|at| at.value).unwrap_or_default(),
    };
    if scale.class.is_none() && scale.own_limit.is_none() {
        let problem = page.error(table.offset, "nothing says how far this scale may be off").hint(
            "Add its class, like class = \"II\", or a limit of your own in grams, like limit = \"0.2\".",
        );
        page.report(problem);
        return Err(Reported);
    }
    if let Some(misfit) = scale.misfit() {
        let of_class = class.map_or(table.offset, |at| at.offset);
        let of_step = e.map_or(d.offset, |at| at.offset);
        match misfit {
            Misfit::NoSuchClass { .. } => return refuse(page, of_class, &misfit),
            Misfit::Digit { .. } => return refuse(page, of_step, &misfit),
            Misfit::Step { .. } => page.report(page.warning(of_step, misfit.to_string())),
            Misfit::Interval { .. } | Misfit::Count { .. } => {
                let problem = page.warning(of_class, misfit.to_string());
                page.report(problem.hint("Compare with the scale's plate; its limits depend on it."));
            }
        }
    }
    if let Some(limit) = own_limit.filter(|limit| limit.value < scale.d.grams()) {
        let what = format!("a limit of {} g is less than the {} g the scale counts by", limit.value, scale.d);
        page.report(
            page.warning(limit.offset, what).hint("A single step of the display will fail the check."),
        );
    }
    if let Some(load) = usual_load.filter(|load| load.value > scale.max) {
        let what = format!("'usual_load' is {} g, and the scale takes {} g at most", load.value, scale.max);
        page.report(page.error(load.offset, what));
        return Err(Reported);
    }
    let usual_load = usual_load.map_or_else(|| scale.max.times(Decimal::new(1, 1)), |at| at.value);
    Ok(ScaleSheet { scale, plan, usual_load, weights: Vec::new() })
}

fn refuse(page: &mut Page<'_>, offset: usize, misfit: &Misfit) -> Result<ScaleSheet, Reported> {
    page.report(page.error(offset, misfit.to_string()));
    Err(Reported)
}

fn read_weights(page: &mut Page<'_>, tables: Vec<Fields<'_>>) -> Vec<CheckWeight> {
    let mut weights = Vec::new();
    let mut first_at: HashMap<String, usize> = HashMap::new();
    for table in tables {
        let id = table.need(page, "id", "id = \"500 g\"", Fields::text);
        let weight = read_weight(page, table, id.clone());
        let Ok(id) = id else { continue };
        match first_at.entry(fold(&id.value)) {
            Entry::Occupied(first) => {
                let problem = page
                    .error(id.offset, format!("there are two weights with the id {}", quoted(&id.value)))
                    .hint(format!("The first is at {}. Give one another id.", page.location(*first.get())));
                page.report(problem);
            }
            Entry::Vacant(entry) => {
                entry.insert(id.offset);
                weights.extend(weight);
            }
        }
    }
    weights
}

fn read_weight(
    page: &mut Page<'_>,
    table: Fields<'_>,
    id: Result<At<String>, Reported>,
) -> Result<CheckWeight, Reported> {
    let only = table.only(page, &WEIGHT_KEYS);
    let nominal = table.need(page, "nominal", "nominal = \"500\"", nominal);
    let class = table.need(page, "class", "class = \"M1\"", |table, page, key| {
        class(table, page, key, WeightClass::from_word)
    });
    let value = grams(table, page, "value");

    only?;
    let value = value?;
    let weight = CheckWeight {
        id: id?.value,
        nominal: nominal?.value,
        class: class?.value,
        value: value.map(|at| at.value),
    };
    if let Some(value) = value.filter(|_| weight.is_out_of_class()) {
        let what = format!(
            "a weight of {} g that weighs {} g is not of class {} (OIML R 111-1:2004, table 1)",
            weight.nominal, value.value, weight.class
        );
        let problem = page.warning(value.offset, what);
        page.report(
            problem.hint("It is not used for checking. Compare with its certificate: 'value' is in grams."),
        );
    }
    Ok(weight)
}

fn grams(table: Fields<'_>, page: &mut Page<'_>, key: &str) -> Read<Grams> {
    let read = table.positive(page, key, "grams")?;
    Ok(read.map(|At { value, offset }| At { value: Grams::new(value), offset }))
}

fn division(table: Fields<'_>, page: &mut Page<'_>, key: &str) -> Read<Division> {
    let read = table.positive(page, key, "grams")?;
    Ok(read.and_then(|At { value, offset }| Some(At { value: Division::new(value)?, offset })))
}

fn nominal(table: Fields<'_>, page: &mut Page<'_>, key: &str) -> Read<Grams> {
    let Some(At { value, offset }) = table.positive(page, key, "grams")? else { return Ok(None) };
    if NOMINALS.iter().any(|&grams| Decimal::from(grams) == value) {
        return Ok(Some(At { value: Grams::new(value), offset }));
    }
    let all: Vec<_> = NOMINALS.iter().map(u32::to_string).collect();
    let problem = page
        .error(offset, format!("'{key}' is {value}"))
        .expected(format!("what is written on the weight, in grams: one of {}", all.join(", ")));
    page.report(problem);
    Err(Reported)
}

/// A class, letter for letter. The nearest word is no help where every word is near every other, and would lead
/// to the wrong limits: only what can mean nothing else is suggested.
fn class<W: Word>(
    table: Fields<'_>,
    page: &mut Page<'_>,
    key: &str,
    meant: impl Fn(&str) -> Option<W>,
) -> Read<W> {
    let Some(At { value: text, offset }) = table.text(page, key)? else { return Ok(None) };
    if let Some(&value) = W::ALL.iter().find(|class| class.word() == text) {
        return Ok(Some(At { value, offset }));
    }
    let words: Vec<_> = W::ALL.iter().map(|class| class.word()).collect();
    let problem = page
        .error(offset, format!("{} is not {}", quoted(&text), W::NOUN))
        .expected(format!("one of {}", words.join(", ")))
        .did_you_mean(meant(&text).map(Word::word));
    page.report(problem);
    Err(Reported)
}

fn meant_class(text: &str) -> Option<AccuracyClass> {
    let text: String = text.to_uppercase().split_whitespace().collect();
    match text.as_str() {
        "1" | "I" => Some(AccuracyClass::I),
        "2" | "II" => Some(AccuracyClass::Ii),
        "3" | "III" => Some(AccuracyClass::Iii),
        "3L" | "IIIL" => Some(AccuracyClass::IiiL),
        "4" | "IV" | "IIII" => Some(AccuracyClass::Iiii),
        _ => None,
    }
}

/// `working day`, `1 day`, `7 days`.
fn every(table: Fields<'_>, page: &mut Page<'_>, key: &str) -> Read<Every> {
    const WORKING_DAY: &str = "working day";
    let Some(At { value: text, offset }) = table.text(page, key)? else { return Ok(None) };
    let days = || text.strip_suffix("days").or_else(|| text.strip_suffix("day"))?.trim().parse().ok();
    let value = if text == WORKING_DAY {
        Every::WorkingDay
    } else if let Some(days) = days().filter(|days| (1..=366).contains(days)) {
        Every::Days(days)
    } else {
        let problem = page
            .error(offset, format!("'{key}' is {}", quoted(&text)))
            .expected("\"working day\", or a number of days from 1 to 366 like \"7 days\"")
            .did_you_mean(nearest(&text, [WORKING_DAY]));
        page.report(problem);
        return Err(Reported);
    };
    Ok(Some(At { value, offset }))
}
