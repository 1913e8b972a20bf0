//! `toners.toml`: a `[[toner]]` for each.

use super::code::fold;
use super::fields::{At, Fields, Reported};
use super::page::Page;
use super::problem::quoted;
use super::toner::barcode_of;
use super::volatiles_fields::volatiles;
use super::{Toner, TonerCode};
use crate::barcode::Gtin;
use crate::units::{Decimal, Density, PricePerLitre};
use std::collections::{HashMap, hash_map::Entry};

const KEYS: [&str; 16] = [
    "code",
    "name",
    "kind",
    "density",
    "price",
    "tolerance",
    "swatch",
    "place",
    "codes",
    "voc",
    "water",
    "exempt",
    "exempt-density",
    "solids",
    "isocyanates",
    "flammable",
];

/// The toners of a file.
#[derive(Default)]
pub(super) struct Toners {
    /// Those that could be read, in the order of the file.
    pub(super) toners: Vec<Toner>,
    /// The folded codes of those that could not, and where they stand.
    pub(super) broken: HashMap<String, String>,
}

/// Reads the file; `None` if none of it could be.
pub(super) fn read(page: &mut Page<'_>) -> Option<Toners> {
    let document = page.parse()?;
    let file = Fields::of_file(document.as_table(), "file of toners");
    let _ = file.only(page, &["toner"]);
    let list = file.need(page, "toner", "[[toner]]", |file, page, key| file.tables(page, key, "toner"));

    let mut found = Toners::default();
    let mut first_at: HashMap<String, usize> = HashMap::new();
    let mut barcodes: HashMap<String, String> = HashMap::new();
    for table in list.ok()?.value.tables {
        let code = table.need(page, "code", "code = \"W10\"", Fields::text);
        let toner = read_toner(page, table, code.clone());
        let Ok(code) = code else { continue };
        match first_at.entry(fold(&code.value)) {
            Entry::Occupied(first) => {
                let problem = page
                    .error(code.offset, format!("there are two toners with the code {}", quoted(&code.value)))
                    .hint(format!("The first is at {}. Give one another code.", page.location(*first.get())));
                page.report(problem);
            }
            Entry::Vacant(entry) => {
                match toner {
                    Ok(toner) => {
                        for barcode in &toner.codes {
                            let own = toner.code.as_str().to_owned();
                            if let Some(other) = barcodes.insert(barcode.clone(), own) {
                                let what = format!(
                                    "the barcode {} is that of {} and of {}",
                                    quoted(barcode),
                                    quoted(&other),
                                    quoted(toner.code.as_str())
                                );
                                page.report(
                                    page.error(table.offset, what).hint("Take it out of one of the two."),
                                );
                            }
                        }
                        found.toners.push(toner);
                    }
                    Err(Reported) => {
                        found.broken.insert(entry.key().clone(), page.location(table.offset));
                    }
                }
                entry.insert(code.offset);
            }
        }
    }
    Some(found)
}

/// Reads every key before giving up on any, so that all mistakes are named.
fn read_toner(
    page: &mut Page<'_>,
    table: Fields<'_>,
    code: Result<At<String>, Reported>,
) -> Result<Toner, Reported> {
    let only = table.only(page, &KEYS);
    let name = table.need(page, "name", "name = \"titanium white\"", Fields::text);
    let kind = table.need(page, "kind", "kind = \"solid\"", Fields::word);
    let density = table.need(page, "density", "density = \"1.482\"", density);
    let price = price(table, page);
    let tolerance = table.percentage(page, "tolerance");
    let swatch = table.swatch(page, "swatch");
    let place = table.word(page, "place");
    let codes = codes(table, page);
    let volatiles = volatiles(table, page, density.as_ref().ok().map(|at| at.value));
    let solids = table.percentage(page, "solids");
    let isocyanates = table.flag(page, "isocyanates");
    let flammable = table.flag(page, "flammable");

    only?;
    Ok(Toner {
        code: TonerCode::new(code?.value),
        name: name?.value,
        kind: kind?.value,
        density: density?.value,
        price: price?,
        tolerance: tolerance?.map(|at| at.value),
        swatch: swatch?.map(|at| at.value),
        place: place?.map(|at| at.value),
        codes: codes?,
        volatiles: volatiles?,
        solids: solids?.map(|at| at.value),
        isocyanates: isocyanates?.map(|at| at.value),
        flammable: flammable?.map(|at| at.value),
    })
}

/// What the barcodes on its tins say. A number that looks like an item's has its check digit looked at.
fn codes(table: Fields<'_>, page: &mut Page<'_>) -> Result<Vec<String>, Reported> {
    let Some(At { value: codes, .. }) = table.texts(page, "codes")? else { return Ok(Vec::new()) };
    for At { value: code, offset } in &codes {
        let digits = code.bytes().all(|byte| byte.is_ascii_digit());
        if digits && matches!(code.len(), 8 | 12 | 13 | 14) && Gtin::parse(code).is_none() {
            let problem = page
                .warning(
                    *offset,
                    format!("the check digit of {} is wrong, if it is an item's number", quoted(code)),
                )
                .hint("Type it again as it stands below the bars, or scan it into the file.");
            page.report(problem);
        }
    }
    Ok(codes.into_iter().map(|code| barcode_of(&code.value)).collect())
}

fn density(table: Fields<'_>, page: &mut Page<'_>, key: &str) -> Result<Option<At<Density>>, Reported> {
    let Some(At { value, offset }) = table.positive(page, key, "grams per millilitre")? else {
        return Ok(None);
    };
    // From thinner at 0.7 to heavy metal primers at 3: common practice, no source. Outside, another unit was
    // most likely meant.
    if value < Decimal::new(5, 1) || value > Decimal::from(5) {
        let problem = page
            .warning(offset, format!("a density of {value} g/mL is far from any paint's"))
            .expected("grams per millilitre: 1.482, not 1482 (g/L) nor 12.37 (lb/gal)");
        page.report(problem);
    }
    Ok(Density::new(value).map(|value| At { value, offset }))
}

fn price(table: Fields<'_>, page: &mut Page<'_>) -> Result<Option<PricePerLitre>, Reported> {
    let Some(At { value, offset }) = table.number(page, "price")? else { return Ok(None) };
    let price = PricePerLitre::new(value);
    if price.is_none() {
        let problem = page
            .error(offset, format!("'price' is {value}"))
            .expected("what a litre costs, zero or more; without the line the price is not known");
        page.report(problem);
        return Err(Reported);
    }
    Ok(price)
}
