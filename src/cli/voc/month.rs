//! `pourbook voc --month`: how much solvent the pours of a month had in them.

use super::{entries, mix, of_job, of_water};
use crate::book::{Ledger as _, MixId, MixesOf, SqliteStore};
use crate::catalogue::{Catalogue, TonerCode};
use crate::cli::places::Places;
use crate::cli::table::{self, Side};
use crate::cli::{CliError, amount, figures, out};
use crate::job::{AID, Emission, Ingredient, Limits, Released, emission, in_the_end, pounds};
use crate::report::{Period, Shown};
use crate::units::cell::csv_text;
use crate::units::{Decimal, Density, Grams, Stamp};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use rust_decimal::RoundingStrategy;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// As many mixes are named of which something is not known.
const NAMED: usize = 5;

/// What was poured into a mix in the month, with what is known of it by the product the mix was made with.
struct Poured {
    number: u32,
    /// The product's code and name; none if nobody knows with what it was made.
    product: Option<(String, String)>,
    /// Whether the mix itself does not say so.
    is_guessed: bool,
    ingredients: Vec<Ingredient>,
}

/// What came of a product in the month.
struct OfProduct<'a> {
    product: Option<&'a (String, String)>,
    mixes: usize,
    guessed: usize,
    told: Emission,
}

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
    // From midnight to midnight where the shop is.
    let now = Stamp(jiff::Timestamp::now().as_microsecond());
    let period = Period::new(Some(month), Some(month.last_of_month()), None, now, TimeZone::system());
    let mixes = poured(catalogue, book, &period.map_err(CliError::wrong)?)?;
    let told = of(mixes.iter(), limits.water_density);
    let products = by_product(&mixes, limits.water_density);
    let name = |code: &str| catalogue.toner(code).map_or("", |toner| toner.name.as_str());
    let month = month.strftime("%Y-%m").to_string();
    if as_json {
        return out::json(&json(&month, (&told, &products), limits, &name));
    }
    if as_csv {
        return out::script(&csv(&told, &name));
    }
    let (shown, _) = figures::looks(places)?;
    text(&month, (&told, &products), limits, &name, shown)
}

fn of<'a>(mixes: impl Iterator<Item = &'a Poured>, water_density: Density) -> Emission {
    emission(mixes.map(|mix| (mix.number, mix.ingredients.as_slice())), water_density)
}

/// What came out of tins in that time, mix by mix. What comes out of a leftover was counted when it came out of its tin.
fn poured(catalogue: &Catalogue, book: &SqliteStore, period: &Period) -> Result<Vec<Poured>, CliError> {
    let mut sums = BTreeMap::<MixId, BTreeMap<TonerCode, Grams>>::new();
    for moved in book.poured(period.from(), period.before()).map_err(CliError::failed)? {
        *sums.entry(moved.subject).or_default().entry(moved.toner).or_default() -= moved.mass;
    }
    let mut jobs = BTreeMap::new();
    let mut all = Vec::with_capacity(sums.len());
    for (id, toners) in sums {
        let Some(totals) = book.totals(MixesOf::Mix(id)).map_err(CliError::failed)?.pop() else { continue };
        let job = match book.begun_for(id).map_err(CliError::failed)? {
            Some(name) if !jobs.contains_key(&name) => {
                let job = of_job::begun_for(book, id)?;
                jobs.entry(name).or_insert(job).as_ref()
            }
            Some(name) => jobs.get(&name).and_then(Option::as_ref),
            None => None,
        };
        // All that is in it, also what was poured before the month: the product is the same for `voc MIX`.
        let moved = book.moved_in(id).map_err(CliError::failed)?;
        let codes: Vec<TonerCode> = in_the_end(&moved, id).into_iter().map(|(toner, _)| toner).collect();
        let made = mix::made(catalogue, book, &totals, job, &codes)?;
        let product = made.as_ref().and_then(|made| made.product);
        all.push(Poured {
            number: totals.head.number,
            ingredients: toners
                .iter()
                .map(|(toner, mass)| entries::ingredient(catalogue, product, toner, *mass))
                .collect(),
            is_guessed: made.as_ref().is_some_and(|made| made.by.guessed().is_some()),
            product: made.map(|made| {
                let name = made.product.map_or("(not in the shop's files any more)", |product| &product.name);
                (made.code, name.to_owned())
            }),
        });
    }
    Ok(all)
}

/// The same product by product, in order of their codes.
fn by_product(mixes: &[Poured], water_density: Density) -> Vec<OfProduct<'_>> {
    let mut groups = BTreeMap::<Option<&(String, String)>, Vec<&Poured>>::new();
    for mix in mixes {
        groups.entry(mix.product.as_ref()).or_default().push(mix);
    }
    groups
        .into_iter()
        .map(|(product, mixes)| OfProduct {
            product,
            mixes: mixes.len(),
            guessed: mixes.iter().filter(|mix| mix.is_guessed).count(),
            told: of(mixes.into_iter(), water_density),
        })
        .collect()
}

/// In which mixes something is not known: the first few of them by their numbers.
fn numbers(row: &Released) -> String {
    let mut numbers: Vec<u32> = row.lacking.iter().map(|(number, _)| *number).collect();
    numbers.dedup();
    let named = numbers.iter().take(NAMED).map(ToString::to_string).collect::<Vec<_>>().join(", ");
    match numbers.len().saturating_sub(NAMED) {
        0 => named,
        more => format!("{named} and {more} more"),
    }
}

/// What is not known of a toner: the first reason, as all that is lacking is put right in the shop's files.
fn why(row: &Released) -> String {
    row.lacking.first().map(|(_, why)| why.to_string()).unwrap_or_default()
}

fn json<'a>(
    month: &str,
    (told, products): (&Emission, &[OfProduct<'_>]),
    limits: &Limits,
    name: &impl Fn(&str) -> &'a str,
) -> Value {
    // Where nothing is known of it at all there is no figure, and none of nought.
    let known = |row: &Released, part: Grams| (row.unknown != row.mass).then(|| amount::exact(part));
    let rows = told.rows.iter().map(|row| {
        json!({
            "toner": row.code,
            "name": name(&row.code),
            "poured_g": amount::exact(row.mass),
            "volume_ml": row.volume.map(amount::exact_volume),
            "voc_g": known(row, row.voc),
            "exempt_g": known(row, row.exempt),
            "unknown_g": amount::exact(row.unknown),
            "unknown": (!row.is_known()).then(|| why(row)),
            "unknown_in_mixes": row.lacking.iter().map(|(number, _)| number).collect::<Vec<_>>(),
        })
    });
    let of_products = products.iter().map(|of| {
        json!({
            "product": of.product.map(|(code, _)| code),
            "name": of.product.map(|(_, name)| name),
            "mixes": of.mixes,
            "mixes_guessed": of.guessed,
            "poured_g": amount::exact(of.told.mass),
            "volume_ml": amount::exact_volume(of.told.volume),
            "voc_g": amount::exact(of.told.voc),
            "exempt_g": amount::exact(of.told.exempt),
            "unknown_g": amount::exact(of.told.unknown),
        })
    });
    json!({
        "month": month,
        "toners": rows.collect::<Vec<_>>(),
        "products": of_products.collect::<Vec<_>>(),
        "poured_g": amount::exact(told.mass),
        "volume_ml": amount::exact_volume(told.volume),
        "voc_g": amount::exact(told.voc),
        "exempt_g": amount::exact(told.exempt),
        "unknown_g": amount::exact(told.unknown),
        "is_complete": told.is_known(),
        "water_density": limits.water_density.to_string(),
        "note": AID,
    })
}

fn csv<'a>(told: &Emission, name: &impl Fn(&str) -> &'a str) -> String {
    let mut text = "toner,name,poured_g,volume_ml,voc_g,exempt_g,unknown_g,unknown\r\n".to_owned();
    for row in &told.rows {
        let known = |part: Grams| if row.unknown == row.mass { String::new() } else { amount::exact(part) };
        let cells = [
            csv_text(&row.code),
            csv_text(name(&row.code)),
            amount::exact(row.mass),
            row.volume.map(amount::exact_volume).unwrap_or_default(),
            known(row.voc),
            known(row.exempt),
            amount::exact(row.unknown),
            csv_text(&why(row)),
        ];
        text.push_str(&cells.join(","));
        text.push_str("\r\n");
    }
    text
}

fn text<'a>(
    month: &str,
    (told, products): (&Emission, &[OfProduct<'_>]),
    limits: &Limits,
    name: &impl Fn(&str) -> &'a str,
    shown: Shown,
) -> Result<(), CliError> {
    out::line(format_args!("Solvent in what was poured in {month}, by the clock on the wall\n"))?;
    if told.rows.is_empty() {
        return out::line("Nothing was poured in this month.");
    }
    let notation = shown.0;
    let unit = shown.unit();
    let head = |first: [&str; 2]| {
        let cells =
            [format!("poured {unit}"), "volume".to_owned(), format!("VOC {unit}"), format!("exempt {unit}")];
        first.map(str::to_owned).into_iter().chain(cells).collect::<Vec<_>>()
    };
    // What is known of a part is the least of the whole.
    let least = |part: Grams, unknown: Grams, mass: Grams| match () {
        () if unknown.is_zero() => shown.mass(part),
        () if unknown == mass => "unknown".to_owned(),
        () => format!("at least {}", shown.mass(part)),
    };
    let volume = |row: &Released| {
        row.volume.map_or_else(|| "?".to_owned(), |volume| amount::plain_volume(volume, notation))
    };
    let of = |told: &Emission, first: [String; 2]| {
        let cells = [
            shown.mass(told.mass),
            amount::plain_volume(told.volume, notation),
            least(told.voc, told.unknown, told.mass),
            least(told.exempt, told.unknown, told.mass),
        ];
        first.into_iter().chain(cells).collect::<Vec<_>>()
    };
    let mut rows = vec![head(["toner", "name"])];
    rows.extend(told.rows.iter().map(|row| {
        vec![
            row.code.clone(),
            name(&row.code).to_owned(),
            shown.mass(row.mass),
            volume(row),
            least(row.voc, row.unknown, row.mass),
            least(row.exempt, row.unknown, row.mass),
        ]
    }));
    rows.push(of(told, ["all".to_owned(), String::new()]));
    let sides = [Side::Left, Side::Left, Side::Right, Side::Right, Side::Right, Side::Right];
    table::lines(&sides, &rows).iter().try_for_each(out::line)?;
    out::line("")?;
    let mut rows = vec![head(["product", "name"])];
    rows.extend(products.iter().map(|one| {
        let (code, name) = one.product.map_or(("?", "not known with what"), |(code, name)| (code, name));
        of(&one.told, [code.to_owned(), name.to_owned()])
    }));
    table::lines(&sides, &rows).iter().try_for_each(out::line)?;
    summed(told, products, shown)?;
    out::line(
        "All solvent that came out of tins is counted as gone; what was thrown away or sent off is not taken off.",
    )?;
    out::line(of_water(limits, notation))?;
    out::line(AID)
}

/// The sum, what is not in it, and what is guessed.
fn summed(told: &Emission, products: &[OfProduct<'_>], shown: Shown) -> Result<(), CliError> {
    let to = |number: Decimal| {
        shown.0.number(number.round_dp_with_strategy(3, RoundingStrategy::MidpointAwayFromZero))
    };
    out::line(format_args!(
        "\nVOC: {}{} kg ({} lb), without water and exempt compounds.",
        if told.is_known() { "" } else { "at least " },
        to(told.voc.times(Decimal::new(1, 3)).decimal()),
        to(pounds(told.voc)),
    ))?;
    if !told.is_known() {
        out::line(format_args!(
            "UNKNOWN, and not counted as nothing: {} {} poured.",
            shown.mass(told.unknown),
            shown.unit()
        ))?;
        for row in told.rows.iter().filter(|row| !row.is_known()) {
            let words = format!("in mixes {}", numbers(row));
            out::line(format_args!(
                "  {}: {} {} {words}: {}",
                row.code,
                shown.mass(row.unknown),
                shown.unit(),
                why(row)
            ))?;
        }
    }
    let (guessed, all) =
        products.iter().fold((0_usize, 0_usize), |(guessed, all), of| (guessed + of.guessed, all + of.mixes));
    if guessed > 0 {
        out::line(format_args!(
            "{guessed} of {all} mixes do not say with what product they were made: it is taken from their jobs and from \
             today's files."
        ))?;
    }
    Ok(())
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
