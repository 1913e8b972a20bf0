//! What a job sheet says of the solvent in its mixes and of what to heed: judged as `pourbook voc` judges them.

use super::{entries, mix};
use crate::book::SqliteStore;
use crate::catalogue::{Catalogue, Product};
use crate::cli::CliError;
use crate::cli::places::Places;
use crate::job::sheet::{CautionRow, Sheet, VocRow};
use crate::job::{
    AID, Basis, CautionFlags, CoatJudged, Content, Doing, Job, Judged, Known, PerLitre, Stage, cautions,
    judge, product_of,
};
use crate::units::{Decimal, Notation};
use rust_decimal::RoundingStrategy;

/// Fills in the solvent of the mixes that are for the car, each alone or together as the limits that are set want it, and
/// the cautions of all its products.
///
/// # Errors
/// The limits that are set are not there, or the book cannot be asked.
pub(in crate::cli) fn fill(
    places: &Places,
    catalogue: &Catalogue,
    book: &SqliteStore,
    job: &Job,
    sheet: &mut Sheet,
) -> Result<(), CliError> {
    let notation = places.settled()?.settings.notation();
    let (limits, _) = super::in_force(places)?;
    let table = super::table(places, &limits, None)?;
    let mut all = Vec::new();
    for row in sheet.mixes.iter().filter(|row| row.state != "given up") {
        let mut of = mix::of(catalogue, book, &limits, table, row.number, None)?;
        // A mix that was joined as another layer is judged as what the job makes of it.
        if let Some(layer) = row.layer {
            of.coat.name = format!("mix {} ({})", row.number, layer.name());
            of.coat.stage = Stage::of(layer);
        }
        all.push((row.for_cards, of));
    }
    let coats: Vec<CoatJudged> =
        all.iter().filter(|(for_cards, _)| !for_cards).map(|(_, of)| of.coat.clone()).collect();
    let judged = table.filter(|_| !coats.is_empty()).map(|table| judge(&coats, table)).unwrap_or_default();
    sheet.voc = coats.iter().map(|coat| row(coat, &judged, notation)).collect();
    sheet.voc.extend(judged.iter().filter(|one| one.coats.len() > 1).map(|one| together(one, notation)));
    sheet.voc_notes = match table {
        Some(table) => vec![
            format!(
                "Against {} ({}), compared {} with {}.",
                table.name, table.jurisdiction, table.checked, table.read_in
            ),
            AID.to_owned(),
        ],
        None => vec!["Against no limits: none are set.".to_owned(), AID.to_owned()],
    };
    let planned: Vec<&Product> =
        job.plan().iter().filter_map(|plan| product_of(job, plan, catalogue).ok()).collect();
    let mut flags = all.iter().map(|(_, of)| mix::flags_of(catalogue, of)).fold(CautionFlags::default(), or);
    flags = planned.iter().map(|product| entries::flags(catalogue, Some(product), &[])).fold(flags, or);
    let mixed = all.iter().filter_map(|(_, of)| of.product);
    sheet.cautions = as_entered(planned.into_iter().chain(mixed));
    sheet.cautions.extend(cautions(flags, Doing::Spraying).map(|caution| CautionRow {
        text: caution.says.to_owned(),
        source: match caution.known {
            // From memory there is no source to name.
            Known::Memory => caution.known.word().to_owned(),
            _ => format!("{}: {}", caution.known.word(), caution.source),
        },
    }));
    Ok(())
}

fn or(one: CautionFlags, other: CautionFlags) -> CautionFlags {
    CautionFlags {
        isocyanates: one.isocyanates || other.isocyanates,
        flammable: one.flammable || other.flammable,
        target_hap: one.target_hap || other.target_hap,
    }
}

/// What stands in the products' own entries, each product once.
fn as_entered<'a>(products: impl Iterator<Item = &'a Product>) -> Vec<CautionRow> {
    let mut rows = Vec::new();
    let mut seen = Vec::new();
    for product in products {
        if seen.contains(&&product.code) {
            continue;
        }
        seen.push(&product.code);
        let source = format!("{} {}, as entered from its sheet", product.code, product.name);
        let says = product.hazards.statements.iter().chain(&product.hazards.cautions);
        rows.extend(says.map(|says| CautionRow { text: says.clone(), source: source.clone() }));
    }
    rows
}

/// A coat: its figures, and, where it is judged alone, how it stands.
fn row(coat: &CoatJudged, judged: &[Judged], notation: Notation) -> VocRow {
    let figure = |basis| {
        let content: Option<&Content> = coat.content.as_ref().ok();
        content.and_then(|content| content.figure(basis).ok()).map(shown)
    };
    let alone = judged.iter().find(|one| one.coats.len() == 1 && one.coats.contains(&coat.name));
    let counted = judged.iter().any(|one| one.coats.len() > 1 && one.coats.contains(&coat.name));
    VocRow {
        what: coat.name.clone(),
        regulatory: figure(Basis::Regulatory),
        actual: figure(Basis::Actual),
        limit: alone.and_then(|one| one.limit.as_ref()).map(|limit| shown(limit.limit)),
        says: match (alone, &coat.content) {
            (Some(one), _) => one.sentence(notation),
            (None, Err(why)) => format!("cannot say: {why}"),
            (None, Ok(_)) if counted => "counted in below, with the other stages".to_owned(),
            (None, Ok(_)) => "not judged".to_owned(),
        },
    }
}

/// Several coats that the limits judge together.
fn together(one: &Judged, notation: Notation) -> VocRow {
    let figure = |basis| {
        let same = one.limit.as_ref().filter(|limit| limit.basis == basis);
        same.and(one.figure).map(shown)
    };
    VocRow {
        what: "all stages together".to_owned(),
        regulatory: figure(Basis::Regulatory),
        actual: figure(Basis::Actual),
        limit: one.limit.as_ref().map(|limit| shown(limit.limit)),
        says: one.sentence(notation),
    }
}

/// To a tenth of a gram in a litre, as a judgement shows it; what is judged is the exact one.
fn shown(content: PerLitre) -> Decimal {
    content.decimal().round_dp_with_strategy(1, RoundingStrategy::MidpointAwayFromZero)
}
