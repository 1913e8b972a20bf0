//! `products.toml`: a `[[product]]` for each data sheet.

use super::code::fold;
use super::colour_file::Known;
use super::fields::{At, Fields, Read, Reported};
use super::nearest::nearest;
use super::page::Page;
use super::problem::quoted;
use super::product::{Addition, Bake, Hazards, Ratio, Viscosity};
use super::volatiles_fields::volatiles;
use super::{Product, ProductCode, RatioBy, Role, TonerCode, TonerKind, Word};
use crate::units::Decimal;
use std::collections::{BTreeMap, HashMap, hash_map::Entry};

const KEYS: [&str; 27] = [
    "code",
    "name",
    "roles",
    "tin",
    "ratio",
    "voc",
    "water",
    "exempt",
    "exempt-density",
    "colour-solids",
    "solids",
    "film",
    "coats",
    "flash-off",
    "before-next",
    "bake",
    "pot-life",
    "viscosity",
    "efficiency",
    "coverage",
    "hazards",
    "isocyanates",
    "flammable",
    "target-hap",
    "sds",
    "sheet",
    "categories",
];

/// The products of a file.
#[derive(Default)]
pub(super) struct Products {
    /// Those that could be read, in the order of the file.
    pub(super) products: Vec<Product>,
    /// The folded codes of those that could not, and where they stand.
    pub(super) broken: HashMap<String, String>,
}

/// Reads the file; `None` if none of it could be.
pub(super) fn read(page: &mut Page<'_>, known: &Known<'_>) -> Option<Products> {
    let document = page.parse()?;
    let file = Fields::of_file(document.as_table(), "file of products");
    let _ = file.only(page, &["product"]);
    let list = file.need(page, "product", "[[product]]", |file, page, key| file.tables(page, key, "product"));

    let mut found = Products::default();
    let mut first_at: HashMap<String, usize> = HashMap::new();
    for table in list.ok()?.value.tables {
        let code = table.need(page, "code", "code = \"GC-2\"", Fields::text);
        let product = read_product(page, table, code.clone(), known);
        let Ok(code) = code else { continue };
        match first_at.entry(fold(&code.value)) {
            Entry::Occupied(first) => {
                let problem = page
                    .error(
                        code.offset,
                        format!("there are two products with the code {}", quoted(&code.value)),
                    )
                    .hint(format!("The first is at {}. Give one another code.", page.location(*first.get())));
                page.report(problem);
            }
            Entry::Vacant(entry) => {
                match product {
                    Ok(product) => found.products.push(product),
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
fn read_product(
    page: &mut Page<'_>,
    table: Fields<'_>,
    code: Result<At<String>, Reported>,
    known: &Known<'_>,
) -> Result<Product, Reported> {
    let only = table.only(page, &KEYS);
    let name = table.need(page, "name", "name = \"ground coat, activated\"", Fields::text);
    let roles = table.need(page, "roles", "roles = [\"ground\"]", roles);
    let tin = tin(table, page, known);
    let ratio = ratio(table, page, known);
    let colour = volatiles(table, page, None);
    let colour_solids = table.percentage(page, "colour-solids");
    let solids = table.percentage(page, "solids");
    let film = table.positive(page, "film", "micrometres of dry film a coat");
    let coats = table.whole(page, "coats", "coats", 1);
    let flash_off = table.whole(page, "flash-off", "minutes", 0);
    let before_next = table.whole(page, "before-next", "minutes", 0);
    let bake = bake(table, page);
    let pot_life = table.whole(page, "pot-life", "minutes", 1);
    let viscosity = viscosity(table, page);
    let efficiency = table.percentage(page, "efficiency");
    let coverage = table.text(page, "coverage");
    let hazards = hazards(table, page);
    let isocyanates = table.flag(page, "isocyanates");
    let flammable = table.flag(page, "flammable");
    let target_hap = table.flag(page, "target-hap");
    let sds = table.text(page, "sds");
    let sheet = table.text(page, "sheet");
    let categories = categories(table, page);
    if let Ok(ratio) = &ratio {
        check_pot_life(page, table, ratio.as_ref(), pot_life.as_ref().ok().and_then(Option::as_ref));
    }

    only?;
    Ok(Product {
        code: ProductCode::new(code?.value),
        name: name?.value,
        roles: roles?.value,
        tin: tin?,
        ratio: ratio?,
        colour: colour?,
        colour_solids: colour_solids?.map(|at| at.value),
        solids: solids?.map(|at| at.value),
        film_um: film?.map(|at| at.value),
        coats: coats?.map(|at| at.value),
        flash_off: flash_off?.map(|at| at.value),
        before_next: before_next?.map(|at| at.value),
        bake: bake?,
        pot_life: pot_life?.map(|at| at.value),
        viscosity: viscosity?,
        efficiency: efficiency?.map(|at| at.value),
        coverage: coverage?.map(|at| at.value),
        hazards: hazards?,
        isocyanates: isocyanates?.map(|at| at.value),
        flammable: flammable?.map(|at| at.value),
        target_hap: target_hap?.map(|at| at.value),
        sds: sds?.map(|at| at.value),
        sheet: sheet?.map(|at| at.value),
        categories: categories?,
    })
}

fn roles(table: Fields<'_>, page: &mut Page<'_>, key: &str) -> Read<Vec<Role>> {
    let Some(At { value: written, offset }) = table.texts(page, key)? else { return Ok(None) };
    let words: Vec<_> = Role::ALL.iter().map(|role| role.word()).collect();
    let mut roles = Vec::new();
    let mut result = Ok(());
    for At { value: text, offset } in &written {
        let Some(&role) = Role::ALL.iter().find(|role| role.word() == text) else {
            let problem = page
                .error(*offset, format!("{} is not {}", quoted(text), Role::NOUN))
                .expected(format!("one of {}", words.join(", ")))
                .did_you_mean(nearest(text, words.iter().copied()));
            page.report(problem);
            result = Err(Reported);
            continue;
        };
        if roles.contains(&role) {
            page.report(page.warning(*offset, format!("{} stands twice here", quoted(text))));
        } else {
            roles.push(role);
        }
    }
    if written.is_empty() {
        page.report(
            page.error(offset, "'roles' is empty").expected("the layers it is for, like [\"ground\"]"),
        );
        result = Err(Reported);
    }
    result.map(|()| Some(At { value: roles, offset }))
}

/// What is in the tin, as the toner it stands on the shelf as.
fn tin(table: Fields<'_>, page: &mut Page<'_>, known: &Known<'_>) -> Result<Option<TonerCode>, Reported> {
    let Some(code) = table.text(page, "tin")? else { return Ok(None) };
    toner_of(page, known, &code, TonerKind::Supplied).map(Some)
}

/// The toner with that code, in its own spelling, if it is of that kind.
fn toner_of(
    page: &mut Page<'_>,
    known: &Known<'_>,
    code: &At<String>,
    kind: TonerKind,
) -> Result<TonerCode, Reported> {
    let toner = known.toner(page, code)?;
    let Some(other) = known.kind(toner.as_str()).filter(|other| *other != kind) else { return Ok(toner) };
    let problem = page
        .error(code.offset, format!("the toner {} is of the kind '{other}'", quoted(toner.as_str())))
        .expected(format!("one of the kind '{kind}'"))
        .hint("Correct the code here, or the kind in toners.toml.");
    page.report(problem);
    Err(Reported)
}

fn ratio(table: Fields<'_>, page: &mut Page<'_>, known: &Known<'_>) -> Result<Option<Ratio>, Reported> {
    let Some(At { value: ratio, offset }) = table.table(page, "ratio", "ratio")? else { return Ok(None) };
    let only = ratio.only(page, &["by", "colour", "hardener", "hardeners", "thinner", "thinners"]);
    let by = ratio.need(page, "by", "by = \"volume\"", Fields::word::<RatioBy>);
    let colour = ratio.need(page, "colour", "colour = \"4\"", parts);
    let hardener = addition(ratio, page, known, ("hardener", "hardeners"), TonerKind::Hardener);
    let thinner = addition(ratio, page, known, ("thinner", "thinners"), TonerKind::Thinner);
    only?;
    let (hardener, thinner) = (hardener?, thinner?);
    if hardener.is_none() && thinner.is_none() {
        let problem = page
            .error(offset, "this ratio has neither hardener nor thinner")
            .hint("Add what goes in, or take the ratio out if it is sprayed as it is.");
        page.report(problem);
        return Err(Reported);
    }
    Ok(Some(Ratio { by: by?.value, colour: colour?.value, hardener, thinner }))
}

fn parts(table: Fields<'_>, page: &mut Page<'_>, key: &str) -> Read<Decimal> {
    table.positive(page, key, "parts")
}

/// The parts of hardener or thinner, and the toners that may be taken for it.
fn addition(
    ratio: Fields<'_>,
    page: &mut Page<'_>,
    known: &Known<'_>,
    (one, all): (&str, &str),
    kind: TonerKind,
) -> Result<Option<Addition>, Reported> {
    let amount = parts(ratio, page, one);
    let named = ratio.texts(page, all);
    let (amount, named) = (amount?, named?);
    let (amount, named) = match (amount, named) {
        (None, None) => return Ok(None),
        (Some(amount), Some(named)) if !named.value.is_empty() => (amount, named),
        (Some(amount), _) => {
            let problem = page
                .error(amount.offset, format!("there is '{one}', but no toner for it"))
                .hint(format!("Add {all} = [\"…\"] with the codes from toners.toml, the usual one first."));
            page.report(problem);
            return Err(Reported);
        }
        (None, Some(named)) => {
            let problem = page
                .error(named.offset, format!("there is '{all}', but not how many parts"))
                .hint(format!("Add {one} = \"1\" or whatever the sheet says."));
            page.report(problem);
            return Err(Reported);
        }
    };
    let mut toners = Vec::new();
    let mut result = Ok(());
    for code in &named.value {
        match toner_of(page, known, code, kind) {
            Err(Reported) => result = Err(Reported),
            Ok(toner) if toners.contains(&toner) => {
                page.report(page.warning(code.offset, format!("{} stands twice here", quoted(&code.value))));
            }
            Ok(toner) => toners.push(toner),
        }
    }
    result.map(|()| Some(Addition { parts: amount.value, toners }))
}

/// A warning where one of hardener and pot life is there without the other.
fn check_pot_life(page: &mut Page<'_>, table: Fields<'_>, ratio: Option<&Ratio>, pot_life: Option<&At<u32>>) {
    let hardener = ratio.is_some_and(|ratio| ratio.hardener.is_some());
    match pot_life {
        None if hardener => {
            let problem = page
                .warning(table.offset, "this product takes hardener, but its pot life is not said")
                .hint("Add pot-life = 120 or whatever the sheet says, in minutes.");
            page.report(problem);
        }
        Some(at) if !hardener => {
            let problem = page
                .warning(at.offset, "this product has a pot life, but no hardener goes in")
                .hint("Add the hardener to the ratio, or take the pot life out.");
            page.report(problem);
        }
        _ => {}
    }
}

fn bake(table: Fields<'_>, page: &mut Page<'_>) -> Result<Option<Bake>, Reported> {
    let Some(At { value: bake, .. }) = table.table(page, "bake", "bake")? else { return Ok(None) };
    let only = bake.only(page, &["minutes", "celsius"]);
    let minutes =
        bake.need(page, "minutes", "minutes = 10", |bake, page, key| bake.whole(page, key, "minutes", 1));
    let celsius = bake
        .need(page, "celsius", "celsius = 40", |bake, page, key| bake.whole(page, key, "degrees Celsius", 1));
    only?;
    let (minutes, celsius) = (minutes?, celsius?);
    // Plastic parts and trim stand no more: common practice, no source.
    if celsius.value > 100 {
        let what = format!("{} °C is hotter than a refinish oven", celsius.value);
        page.report(
            page.warning(celsius.offset, what).expected("degrees Celsius of the panel, not Fahrenheit"),
        );
    }
    Ok(Some(Bake { minutes: minutes.value, celsius: celsius.value }))
}

fn viscosity(table: Fields<'_>, page: &mut Page<'_>) -> Result<Option<Viscosity>, Reported> {
    let Some(At { value: viscosity, .. }) = table.table(page, "viscosity", "viscosity")? else {
        return Ok(None);
    };
    let only = viscosity.only(page, &["seconds", "cup"]);
    let seconds = viscosity
        .need(page, "seconds", "seconds = \"18\"", |table, page, key| table.positive(page, key, "seconds"));
    let cup = viscosity.need(page, "cup", "cup = \"DIN 4 mm\"", cup);
    only?;
    Ok(Some(Viscosity { seconds: seconds?.value, cup: cup?.value }))
}

/// A flow cup's name; a size alone could be one of several.
fn cup(table: Fields<'_>, page: &mut Page<'_>, key: &str) -> Read<String> {
    let Some(at) = table.text(page, key)? else { return Ok(None) };
    let words = at.value.split(|c: char| !c.is_alphabetic()).map(str::to_lowercase);
    if words.into_iter().any(|word| !matches!(word.as_str(), "" | "mm" | "cup")) {
        return Ok(Some(at));
    }
    let problem =
        page.error(at.offset, format!("{} could be more than one cup", quoted(&at.value))).expected(
            "the cup's standard and size, like \"ISO 4 mm\" or \"DIN 4 mm\": they differ by three times",
        );
    page.report(problem);
    Err(Reported)
}

fn hazards(table: Fields<'_>, page: &mut Page<'_>) -> Result<Hazards, Reported> {
    let Some(At { value: hazards, .. }) = table.table(page, "hazards", "table of hazards")? else {
        return Ok(Hazards::default());
    };
    let only = hazards.only(page, &["signal", "statements", "cautions", "pictograms"]);
    let signal = hazards.word(page, "signal");
    let mut listed = |key: &str| {
        let list = hazards.texts(page, key)?;
        Ok(list.map(|at| at.value.into_iter().map(|at| at.value).collect()).unwrap_or_default())
    };
    let (statements, cautions) = (listed("statements"), listed("cautions"));
    let pictograms = listed("pictograms");
    only?;
    Ok(Hazards {
        signal: signal?.map(|at| at.value),
        statements: statements?,
        cautions: cautions?,
        pictograms: pictograms?,
    })
}

/// The categories, by the shop's own names of the tables of limits.
fn categories(table: Fields<'_>, page: &mut Page<'_>) -> Result<BTreeMap<String, String>, Reported> {
    let Some(At { value: table, .. }) = table.table(page, "categories", "table of categories")? else {
        return Ok(BTreeMap::new());
    };
    let mut categories = BTreeMap::new();
    let mut result = Ok(());
    for key in table.own_keys(page)? {
        match table.text(page, &key.value) {
            Ok(category) => categories.extend(category.map(|at| (key.value, at.value))),
            Err(Reported) => result = Err(Reported),
        }
    }
    result.map(|()| categories)
}

#[cfg(test)]
mod tests;
