//! The job sheet, with what the book knows of its mixes.

use super::amounts::Terms;
use super::{find, mixes_of};
use crate::book::figures::JobRow;
use crate::book::{Account, Journal, Ledger as _, MixTotals, SqliteStore, Store as _};
use crate::catalogue::{Catalogue, Role, Word as _};
use crate::cli::places::Places;
use crate::cli::stores::{Stores, to_look};
use crate::cli::table::{self, Side};
use crate::cli::voc::records;
use crate::cli::{CliError, figures, open, out, voc};
use crate::job::sheet::{
    ChosenRow, HowMuchRow, Look, MixRow, MixState, PainterRow, PartRow, ProductRow, ReadyRow, Sheet, weighed,
};
use crate::job::{Job, JobJournal, Standing, chosen_by, in_the_end, pot_life, product_of, went};
use crate::stock::{TraceError, trace_mix};
use crate::tui::{SheetOf, SheetPages};
use crate::units::{Notation, Stamp};
use jiff::tz::TimeZone;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

pub(super) fn run(places: &Places, args: &super::Sheet) -> Result<(), CliError> {
    let (sheet, notation) = made(places, &args.name)?;
    let look = Look { notation, when: &open::when };
    match &args.html {
        Some(path) => figures::write(path, &sheet.html(&look), args.force),
        None => text(&sheet, &look).iter().try_for_each(out::line),
    }
}

/// Makes the same sheets for the full screen.
pub(in crate::cli) fn for_screen(places: Places) -> SheetOf {
    Arc::new(move |name| {
        let (sheet, notation) = made(&places, name).map_err(|error| error.to_string())?;
        let look = Look { notation, when: &open::when };
        let mut lines = text(&sheet, &look).join("\n");
        lines.push('\n');
        Ok(SheetPages { html: sheet.html(&look), text: lines })
    })
}

/// The sheet of that job as of now, and how its numbers are written.
fn made(places: &Places, name: &str) -> Result<(Sheet, Notation), CliError> {
    let book = to_look(places)?;
    let row = find(&book, name)?;
    let events = book.events(row.job.subject()).map_err(CliError::failed)?;
    let journal = JobJournal::fold(row.job, &events).map_err(CliError::failed)?;
    let job = journal.job();
    let mut sheet = Sheet::of(job, Stores::now());
    sheet.chosen = chosen(job, &chosen_by(&events).map_err(CliError::failed)?);
    // A colour that is no longer in the shop has its code alone.
    let terms = Terms::of(places).ok();
    sheet.colour_name = terms.as_ref().and_then(|terms| {
        let colour = terms.catalogue().colour_variant(&sheet.colour, &sheet.variant)?;
        Some(colour.name.clone())
    });
    add_mixes(&book, job, terms.as_ref().map(Terms::catalogue), &mut sheet)?;
    if let Some(terms) = &terms {
        add_amounts(&book, terms, (&row, job), &mut sheet)?;
        voc::fill(places, terms.catalogue(), &book, job, &mut sheet)?;
    }
    let operators = events.iter().map(|event| event.operator.as_str());
    sheet.painters = painters(places, operators.chain(sheet.mixes.iter().map(|mix| mix.operator.as_str())))?;
    Ok((sheet, places.settled()?.settings.notation()))
}

/// Which counts of coats were chosen, by whom and by what.
fn chosen(job: &Job, by: &BTreeMap<Role, (Stamp, String)>) -> Vec<ChosenRow> {
    let row = |standing: Standing<'_>| {
        let chosen = standing.chosen?;
        let (at, by) = by.get(&chosen.layer)?.clone();
        Some(ChosenRow {
            layer: chosen.layer,
            coats: chosen.coats,
            counted: standing.counted.words(),
            at,
            by,
        })
    };
    job.standings().filter_map(row).collect()
}

/// Who had a hand in it, each once by name; none where the shop keeps no training on file.
fn painters<'a>(
    places: &Places,
    operators: impl Iterator<Item = &'a str>,
) -> Result<Vec<PainterRow>, CliError> {
    let Some(records) = records::kept(places)? else { return Ok(Vec::new()) };
    let today = jiff::Timestamp::now().to_zoned_datetime(TimeZone::system()).date();
    let names: BTreeSet<&str> = operators.filter(|name| !name.is_empty()).collect();
    let row = |name: &str| PainterRow {
        name: name.to_owned(),
        training: records::training(records.training_of(name, today).as_ref()),
    };
    Ok(names.into_iter().map(row).collect())
}

/// How much each layer wants, and what the papers of its product say; a layer that is not mixed yet has its ratio.
fn add_amounts(
    book: &SqliteStore,
    terms: &Terms,
    (row, job): (&JobRow, &Job),
    sheet: &mut Sheet,
) -> Result<(), CliError> {
    for plan in job.plan() {
        if let Some(wanted) = terms.wanted(book, (row, job), plan.role)? {
            sheet.how_much.push(HowMuchRow { wanted, has_own_area: plan.area.is_some() });
        }
        let Ok(product) = product_of(job, plan, terms.catalogue()) else { continue };
        let bench_cup = terms.usual().flow_cup;
        sheet.products.push(ProductRow { layer: plan.role, product: product.clone(), bench_cup });
        if !sheet.ready.iter().any(|ready| ready.layer == plan.role) {
            let ratio = product.ratio.clone();
            sheet.ready.push(ReadyRow { layer: plan.role, mix: None, ratio, weighed: None, pot_life: None });
        }
    }
    let place = |role: Role| job.plan().iter().position(|plan| plan.role == role);
    sheet.ready.sort_by_key(|ready| place(ready.layer));
    Ok(())
}

fn add_mixes(
    book: &SqliteStore,
    job: &Job,
    catalogue: Option<&Catalogue>,
    sheet: &mut Sheet,
) -> Result<(), CliError> {
    for totals in mixes_of(book, job)? {
        let (head, flows) = (&totals.head, totals.flows);
        let joined = job.mixes().find(|joined| joined.mix == totals.mix);
        let [_, _, layer] = &head.subject;
        let begun_as = layer.as_deref().and_then(Role::from_word);
        let layer = joined.map(|joined| joined.layer).or(begun_as);
        let state = match (&head.emptied, head.ended.as_ref().map(|(_, kind)| kind.as_str())) {
            (Some(_), _) => MixState::Emptied,
            (None, Some("mix/abandoned")) => MixState::GivenUp,
            (None, Some(_)) => MixState::Done,
            (None, None) => MixState::Open,
        };
        let envelopes = book.events(totals.mix).map_err(CliError::failed)?;
        // One that cannot be read is on the sheet with what the book has added up.
        let journal = Journal::fold(totals.mix, &envelopes).ok();
        let recipe = journal.as_ref().map(|journal| journal.session().recipe());
        let (whole, used) = went(recipe, &totals);
        sheet.add_mix(MixRow {
            number: head.number,
            layer,
            for_cards: joined.is_some_and(|joined| joined.for_cards),
            begun: head.begun,
            operator: head.operator.clone(),
            mixed: flows.poured + flows.reused,
            sprayed: flows.sprayed,
            kept: flows.kept,
            thrown: flows.thrown + flows.drawn_off + flows.abandoned,
            estimate: joined.and_then(|joined| joined.estimate),
            whole,
            used,
            state,
        });
        if let Some((recipe, layer)) = recipe.zip(layer) {
            let moved = book.moved_in(totals.mix).map_err(CliError::failed)?;
            let product = recipe.readied.as_ref().map(|readied| readied.product.as_str());
            let product = product.and_then(|code| catalogue?.product(code));
            sheet.ready.push(ReadyRow {
                layer,
                mix: Some(head.number),
                ratio: product.and_then(|product| product.ratio.clone()),
                weighed: Some(weighed(recipe, &in_the_end(&moved, totals.mix))),
                pot_life: job.pot_life(totals.mix).or_else(|| pot_life(journal.as_ref()?)),
            });
        }
        add_parts(book, &totals, sheet)?;
    }
    Ok(())
}

/// From which tins and leftovers a mix is.
fn add_parts(book: &SqliteStore, totals: &MixTotals, sheet: &mut Sheet) -> Result<(), CliError> {
    let trace = match trace_mix(book, totals.mix) {
        Ok(trace) => trace,
        // Nothing was poured yet.
        Err(TraceError::Unknown(_)) => return Ok(()),
        Err(error) => return Err(CliError::failed(error)),
    };
    for used in trace.uses.iter().filter(|used| used.mix.mix == totals.mix) {
        let (from, lot) = match &used.from {
            Account::Tin(label) => {
                let tin = trace.tins.iter().find(|tin| tin.label == *label);
                (format!("tin {label}"), tin.and_then(|tin| tin.lot.clone()))
            }
            Account::UnknownTin(_) => ("a tin without a label".to_owned(), None),
            Account::Leftover(_) => ("a leftover".to_owned(), None),
            other => (other.to_string(), None),
        };
        let (mix, toner) = (totals.head.number, used.toner.to_string());
        sheet.parts.push(PartRow { mix, toner, from, lot, mass: used.mass });
    }
    Ok(())
}

/// No line of the text is wider, as far as its words allow.
const WIDTH: usize = 80;

fn text(sheet: &Sheet, look: &Look<'_>) -> Vec<String> {
    let mut lines = vec![sheet.name.clone()];
    let head: Vec<Vec<String>> =
        sheet.head(look).into_iter().map(|(what, text)| vec![what.to_owned(), text]).collect();
    lines.extend(table::fitted(&[Side::Left; 2], &head, WIDTH));
    let indented = |line: String| format!("  {line}");
    let inner = WIDTH.saturating_sub(2);
    for block in sheet.blocks(look) {
        lines.push(String::new());
        lines.push(block.title.to_string());
        let side = |(_, number): &(String, bool)| if *number { Side::Right } else { Side::Left };
        let sides: Vec<Side> = block.columns.iter().map(side).collect();
        let mut rows = vec![block.columns.iter().map(|(title, _)| title.clone()).collect::<Vec<_>>()];
        rows.extend(block.rows);
        lines.extend(table::fitted(&sides, &rows, inner).into_iter().map(indented));
        lines.extend(block.notes.iter().flat_map(|note| table::wrapped(note, inner)).map(indented));
    }
    lines.push(String::new());
    lines.extend(sheet.notes(look).iter().flat_map(|note| table::wrapped(note, WIDTH)));
    lines
}
