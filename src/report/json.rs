//! The figures as JSON: decimals as text, grams and the shop's currency to a millionth.

use super::Period;
use super::overs::{Against, Corrections};
use super::reading::{Amount, Fate, Priced};
use super::use_of::{Used, Uses};
use super::waste::{By, Row, Waste};
use crate::units::{Grams, Money, Share};
use serde_json::{Map, Value, json};

fn grams(mass: Grams) -> Value {
    mass.with_decimals(6).into()
}

fn money(money: Money) -> Value {
    money.with_decimals(6).into()
}

fn share(share: Option<Share>) -> Value {
    share.map_or(Value::Null, |share| Grams::new(share.decimal()).with_decimals(6).into())
}

fn amount(amount: Amount) -> Value {
    json!({ "mass_g": grams(amount.mass), "cost": money(amount.cost) })
}

fn row(row: &Row) -> Value {
    let mut object = Map::new();
    object.insert("key".to_owned(), row.key.as_str().into());
    object.insert("mixes".to_owned(), row.mixes.into());
    object.insert("mixed".to_owned(), amount(row.mixed));
    for fate in Fate::ALL {
        object.insert(fate.name().to_owned(), amount(row.of(fate)));
    }
    object.insert("wasted".to_owned(), amount(row.wasted()));
    object.insert("wasted_share".to_owned(), share(row.wasted_share()));
    Value::Object(object)
}

fn priced(priced: Priced) -> Value {
    json!({
        "by_tin_g": grams(priced.by_tin),
        "by_formula_g": grams(priced.by_formula),
        "unpriced_g": grams(priced.unpriced),
    })
}

fn against(against: Against) -> Value {
    json!({
        "times": against.count,
        "waste_g": grams(against.waste),
        "saved_g": grams(against.saved),
        "saved_cost": money(against.saved_cost),
        "unpriced": against.unpriced,
    })
}

fn corrections(all: &Corrections) -> Value {
    let taken = all.taken.iter().map(|taken| {
        json!({
            "option": taken.way.name(),
            "times": taken.count,
            "waste_g": grams(taken.waste),
            "cost": money(taken.cost),
        })
    });
    json!({
        "times": all.count,
        "taken": taken.collect::<Vec<_>>(),
        "against_growing": against(all.growing),
        "against_starting_again": against(all.restarting),
        "given_up": all.given_up,
        "given_up_g": grams(all.given_up_mass),
    })
}

/// Waste.
pub fn waste(waste: &Waste, period: &Period, by: By) -> Value {
    let overs = waste.overs.iter().map(|over| {
        json!({
            "toner": over.toner.as_str(),
            "name": over.name,
            "pours": over.pours,
            "over": over.over,
            "over_g": grams(over.by),
            "mean_over_g": grams(over.mean()),
            "worst_over_g": grams(over.worst),
        })
    });
    let jobs = waste.jobs.iter().map(|job| {
        json!({
            "job": job.job,
            "mixes": job.mixes,
            "mixed": amount(job.mixed),
            "sprayed": amount(job.sprayed),
            "priced": priced(job.priced),
        })
    });
    let mixes = waste.mixes.iter().map(|mix| {
        json!({
            "mix": mix.number,
            "day": mix.day,
            "colour": mix.colour,
            "layer": mix.layer,
            "painter": mix.painter,
            "job": mix.job,
            "mixed": amount(mix.mixed),
            "wasted": amount(mix.wasted),
            "from_tins_cost": money(mix.from_tins),
            "as_begun_cost": money(mix.as_begun),
            "priced": priced(mix.priced),
        })
    });
    json!({
        "first_day": period.first().to_string(),
        "last_day": period.last().to_string(),
        "by": by.word(),
        "total": row(&waste.total),
        "rows": waste.rows.iter().map(row).collect::<Vec<_>>(),
        "reasons": waste.reasons.iter().map(row).collect::<Vec<_>>(),
        "reused_g": grams(waste.reused),
        "of_kept": {
            "used_again_g": grams(waste.of_kept.used_again),
            "thrown_g": grams(waste.of_kept.thrown),
            "still_there_g": grams(waste.of_kept.still_there),
        },
        "priced": priced(waste.priced),
        "toners": overs.collect::<Vec<_>>(),
        "corrections": corrections(&waste.corrections),
        "jobs": jobs.collect::<Vec<_>>(),
        "mixes": mixes.collect::<Vec<_>>(),
        "unreadable": waste.unreadable,
    })
}

fn uses(uses: &Uses) -> Value {
    json!({
        "received_g": grams(uses.received),
        "poured_g": grams(uses.poured),
        "reused_g": grams(uses.reused),
        "missing_g": grams(uses.missing),
        "discarded_g": grams(uses.discarded),
    })
}

/// Use.
pub fn used(used: &Used, period: &Period, by: Option<By>) -> Value {
    let row = |row: &super::use_of::UseRow| {
        let toners: Map<String, Value> =
            row.toners.iter().map(|(toner, own)| (toner.as_str().to_owned(), uses(own))).collect();
        json!({ "key": row.key, "total": uses(&row.total), "toners": toners })
    };
    json!({
        "first_day": period.first().to_string(),
        "last_day": period.last().to_string(),
        "by": by.map_or("toner", By::word),
        "of": if used.of_mixes { "mixes begun" } else { "days of UTC" },
        "all": row(&used.all),
        "rows": used.rows.iter().map(row).collect::<Vec<_>>(),
    })
}
