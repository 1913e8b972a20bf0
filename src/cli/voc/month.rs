//! `pourbook voc --month`: how much solvent the pours of a month had in them.

use super::{entries, of_water};
use crate::book::{Ledger as _, SqliteStore};
use crate::catalogue::{Catalogue, TonerCode};
use crate::cli::places::Places;
use crate::cli::table::{self, Side};
use crate::cli::{CliError, amount, figures, out};
use crate::job::{AID, Emission, Ingredient, Limits, Released, emission, pounds};
use crate::report::{Period, Shown};
use crate::units::cell::csv_text;
use crate::units::{Decimal, Grams, Stamp};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use rust_decimal::RoundingStrategy;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Reads a month, as `2026-10`: its first day.
pub(super) fn month(text: &str) -> Result<Date, String> {
    let text = text.trim();
    let day = (text.len() == 7).then(|| format!("{text}-01").parse::<Date>().ok()).flatten();
    day.ok_or_else(|| format!("'{text}' is no month. Write year and month: 2026-10"))
}

/// Runs it.
pub(super) fn run(
    places: &Places,
    catalogue: &Catalogue,
    book: &SqliteStore,
    limits: &Limits,
    month: Date,
    (as_json, as_csv): (bool, bool),
) -> Result<(), CliError> {
    // The days of the book are of UTC.
    let now = Stamp(jiff::Timestamp::now().as_microsecond());
    let period = Period::new(Some(month), Some(month.last_of_month()), None, now, TimeZone::UTC);
    let (first, last) = period.map_err(CliError::wrong)?.days();
    let mut sums = BTreeMap::<TonerCode, Grams>::new();
    for daily in book.daily(first, last).map_err(CliError::failed)? {
        // What comes out of a leftover was counted when it came out of its tin.
        if daily.what == "poured" {
            *sums.entry(daily.toner).or_default() += daily.mass;
        }
    }
    let poured: Vec<Ingredient> = sums
        .iter()
        .map(|(toner, mass)| {
            let known = entries::ingredient(catalogue, None, toner, *mass);
            let sheet = known.sheet.or_else(|| entries::of_any_product(catalogue, toner));
            Ingredient { sheet, ..known }
        })
        .collect();
    let told = emission(&poured, limits.water_density);
    let name = |code: &str| catalogue.toner(code).map_or("", |toner| toner.name.as_str());
    let month = month.strftime("%Y-%m").to_string();
    if as_json {
        return out::json(&json(&month, &told, limits, &name));
    }
    if as_csv {
        return out::script(&csv(&told, &name));
    }
    let (shown, _) = figures::looks(places)?;
    text(&month, &told, limits, &name, shown)
}

fn json<'a>(month: &str, told: &Emission, limits: &Limits, name: &impl Fn(&str) -> &'a str) -> Value {
    let rows: Vec<Value> = told
        .rows
        .iter()
        .map(|row| {
            json!({
                "toner": row.code,
                "name": name(&row.code),
                "poured_g": amount::exact(row.mass),
                "volume_ml": row.volume.map(amount::exact_volume),
                "voc_g": row.voc.as_ref().ok().map(|(voc, _)| amount::exact(*voc)),
                "exempt_g": row.voc.as_ref().ok().map(|(_, exempt)| amount::exact(*exempt)),
                "unknown": row.voc.as_ref().err().map(ToString::to_string),
            })
        })
        .collect();
    json!({
        "month": month,
        "toners": rows,
        "poured_g": amount::exact(told.mass),
        "volume_ml": amount::exact_volume(told.volume),
        "voc_g": amount::exact(told.voc),
        "exempt_g": amount::exact(told.exempt),
        "unknown_g": amount::exact(told.unknown),
        "is_complete": told.rows.iter().all(|row| row.voc.is_ok()),
        "water_density": limits.water_density.to_string(),
        "note": AID,
    })
}

fn csv<'a>(told: &Emission, name: &impl Fn(&str) -> &'a str) -> String {
    let mut text = "toner,name,poured_g,volume_ml,voc_g,exempt_g,unknown\r\n".to_owned();
    for row in &told.rows {
        let known = row.voc.as_ref().ok();
        let cells = [
            csv_text(&row.code),
            csv_text(name(&row.code)),
            amount::exact(row.mass),
            row.volume.map(amount::exact_volume).unwrap_or_default(),
            known.map(|(voc, _)| amount::exact(*voc)).unwrap_or_default(),
            known.map(|(_, exempt)| amount::exact(*exempt)).unwrap_or_default(),
            csv_text(&row.voc.as_ref().err().map(ToString::to_string).unwrap_or_default()),
        ];
        text.push_str(&cells.join(","));
        text.push_str("\r\n");
    }
    text
}

fn text<'a>(
    month: &str,
    told: &Emission,
    limits: &Limits,
    name: &impl Fn(&str) -> &'a str,
    shown: Shown,
) -> Result<(), CliError> {
    out::line(format_args!("Solvent in what was poured in {month} (days of UTC)\n"))?;
    if told.rows.is_empty() {
        return out::line("Nothing was poured in this month.");
    }
    let notation = shown.0;
    let unit = shown.unit();
    let mut rows = vec![
        ["toner", "name"]
            .map(str::to_owned)
            .into_iter()
            .chain([
                format!("poured {unit}"),
                "volume".to_owned(),
                format!("VOC {unit}"),
                format!("exempt {unit}"),
            ])
            .collect::<Vec<_>>(),
    ];
    let volume = |row: &Released| {
        row.volume.map_or_else(|| "?".to_owned(), |volume| amount::plain_volume(volume, notation))
    };
    for row in &told.rows {
        let (voc, exempt) = match &row.voc {
            Ok((voc, exempt)) => (shown.mass(*voc), shown.mass(*exempt)),
            Err(_) => ("unknown".to_owned(), "unknown".to_owned()),
        };
        rows.push(vec![
            row.code.clone(),
            name(&row.code).to_owned(),
            shown.mass(row.mass),
            volume(row),
            voc,
            exempt,
        ]);
    }
    let least = if told.rows.iter().all(|row| row.voc.is_ok()) { "" } else { "at least " };
    rows.push(vec![
        "all".to_owned(),
        String::new(),
        shown.mass(told.mass),
        amount::plain_volume(told.volume, notation),
        format!("{least}{}", shown.mass(told.voc)),
        format!("{least}{}", shown.mass(told.exempt)),
    ]);
    let sides = [Side::Left, Side::Left, Side::Right, Side::Right, Side::Right, Side::Right];
    table::lines(&sides, &rows).iter().try_for_each(out::line)?;
    let to = |number: Decimal| {
        notation.number(number.round_dp_with_strategy(3, RoundingStrategy::MidpointAwayFromZero))
    };
    out::line(format_args!(
        "\nVOC: {least}{} kg ({} lb), without water and exempt compounds.",
        to(told.voc.times(Decimal::new(1, 3)).decimal()),
        to(pounds(told.voc)),
    ))?;
    if !least.is_empty() {
        out::line(format_args!(
            "UNKNOWN, and not counted as nothing: {} {unit} poured.",
            shown.mass(told.unknown)
        ))?;
        for row in &told.rows {
            if let Err(why) = &row.voc {
                out::line(format_args!("  {}: {why}", row.code))?;
            }
        }
    }
    out::line(
        "All solvent that came out of tins is counted as gone; what was thrown away or sent off is not taken off.",
    )?;
    out::line(of_water(limits, notation))?;
    out::line(AID)
}

#[cfg(test)]
mod tests {
    use super::month;

    #[test]
    fn a_month_is_year_and_month() {
        assert_eq!(month(" 2026-10 ").unwrap().to_string(), "2026-10-01");
        for wrong in ["2026-13", "2026", "2026-10-01", "10-2026", "2026-1", ""] {
            assert!(month(wrong).is_err(), "{wrong}");
        }
    }
}
