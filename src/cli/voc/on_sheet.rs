//! What a job sheet says of the solvent in its mixes and of what to heed: judged as `pourbook voc` judges them.

use super::entries;
use super::mix::{self, Of};
use super::of_job::{LeftOut, of_job, planned};
use crate::book::SqliteStore;
use crate::catalogue::{Catalogue, Product};
use crate::cli::CliError;
use crate::cli::places::Places;
use crate::job::sheet::{CautionRow, Sheet, VocRow};
use crate::job::{
    AID, Basis, CautionFlags, CoatJudged, Content, Doing, HIGHEST, Job, Judged, Known, PerLitre, StageMixed,
    cautions, judge_planned, product_of, sum_words,
};
use crate::units::{Decimal, Notation};

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
    let all = of_job((catalogue, book, &limits, table), job, None)?;
    let counted = all.iter().filter(|of| of.left_out.is_none());
    let coats: Vec<CoatJudged> = counted.map(|of| of.coat.clone()).collect();
    let judged = table.map(|table| judge_planned(&coats, &planned(job), table)).unwrap_or_default();
    sheet.voc = coats.iter().map(|coat| row(coat, &judged, notation)).collect();
    for one in judged.iter().filter(|one| one.coats.len() > 1) {
        let several = one.stages.iter().filter(|stage| stage.mixes.len() > 1);
        sheet.voc.extend(several.map(|stage| mixed_again(stage, one, notation)));
        sheet.voc.push(together(one, notation));
    }
    sheet.voc.extend(all.iter().filter_map(left_out));
    let is_mixed_again = judged.iter().any(|one| one.stages.iter().any(|stage| stage.mixes.len() > 1));
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
    if is_mixed_again {
        sheet.voc_notes.insert(1, HIGHEST.to_owned());
    }
    let named: Vec<&Product> =
        job.plan().iter().filter_map(|plan| product_of(job, plan, catalogue).ok()).collect();
    let made = || all.iter().filter(|of| of.left_out != Some(LeftOut::GivenUp));
    let mut flags = made().map(|of| mix::flags_of(catalogue, of)).fold(CautionFlags::default(), or);
    flags = named.iter().map(|product| entries::flags(catalogue, Some(product), &[])).fold(flags, or);
    let mixed = made().filter_map(|of| of.product);
    sheet.cautions = as_entered(named.into_iter().chain(mixed));
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
        content.and_then(|content| content.figure(basis).ok()).map(PerLitre::in_tenths)
    };
    let called = coat.called();
    let alone = judged.iter().find(|one| one.coats.len() == 1 && one.coats.contains(&called));
    let counted = judged.iter().any(|one| one.coats.len() > 1 && one.coats.contains(&called));
    VocRow {
        what: called,
        regulatory: figure(Basis::Regulatory),
        actual: figure(Basis::Actual),
        limit: alone.and_then(|one| one.limit.as_ref()).map(|limit| limit.limit.in_tenths()),
        says: match (alone, &coat.content) {
            (Some(one), _) => one.sentence(notation),
            (None, Err(why)) => format!("cannot say: {why}"),
            (None, Ok(_)) if counted => "counted in below, with the other stages".to_owned(),
            (None, Ok(_)) => "not judged".to_owned(),
        },
    }
}

/// A figure by the basis of what was judged.
fn by(basis: Basis, one: &Judged, figure: Option<PerLitre>) -> Option<Decimal> {
    one.limit.as_ref().filter(|limit| limit.basis == basis).and(figure).map(PerLitre::in_tenths)
}

/// A stage that was mixed more than once.
fn mixed_again(stage: &StageMixed, one: &Judged, notation: Notation) -> VocRow {
    VocRow {
        what: stage.layer.clone(),
        regulatory: by(Basis::Regulatory, one, Some(stage.taken())),
        actual: by(Basis::Actual, one, Some(stage.taken())),
        limit: None,
        says: format!("taken: {}", stage.words(notation)),
    }
}

/// Several coats that the limits judge together.
fn together(one: &Judged, notation: Notation) -> VocRow {
    let sum = sum_words(&one.stages, notation).map_or_else(String::new, |sum| format!("; {sum}"));
    VocRow {
        what: "all stages together".to_owned(),
        regulatory: by(Basis::Regulatory, one, one.figure),
        actual: by(Basis::Actual, one, one.figure),
        limit: one.limit.as_ref().map(|limit| limit.limit.in_tenths()),
        says: format!("{}{sum}", one.sentence(notation)),
    }
}

/// A mix that was not judged although it was made and kept.
fn left_out(of: &Of<'_>) -> Option<VocRow> {
    let left_out = of.left_out.filter(|left_out| matches!(left_out, LeftOut::ForCards | LeftOut::Parted))?;
    let (regulatory, actual, limit) = (None, None, None);
    Some(VocRow {
        what: of.coat.called(),
        regulatory,
        actual,
        limit,
        says: format!("not judged: {}", left_out.says()),
    })
}
