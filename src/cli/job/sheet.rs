//! The job sheet, with what the book knows of its mixes.

use super::{find, mixes_of, read};
use crate::book::{Account, SqliteStore};
use crate::catalogue::{Role, Word as _};
use crate::cli::places::Places;
use crate::cli::stores::{Stores, to_look};
use crate::cli::table::{self, Side};
use crate::cli::{CliError, figures, open, out, voc};
use crate::job::Job;
use crate::job::sheet::{Look, MixRow, PartRow, Sheet};
use crate::stock::{TraceError, trace_mix};
use crate::tui::{SheetOf, SheetPages};
use crate::units::Notation;
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
    let journal = read(&book, &row)?;
    let mut sheet = Sheet::of(journal.job(), Stores::now());
    // A colour that is no longer in the shop has its code alone.
    let catalogue = places.catalogue().ok();
    sheet.colour_name = catalogue.as_ref().and_then(|shop| {
        let colour = shop.colour_variant(&sheet.colour, &sheet.variant)?;
        Some(colour.name.clone())
    });
    add_mixes(&book, journal.job(), &mut sheet)?;
    if let Some(catalogue) = &catalogue {
        voc::fill(places, catalogue, &book, journal.job(), &mut sheet)?;
    }
    Ok((sheet, places.settled()?.settings.notation()))
}

fn add_mixes(book: &SqliteStore, job: &Job, sheet: &mut Sheet) -> Result<(), CliError> {
    for totals in mixes_of(book, job)? {
        let (head, flows) = (&totals.head, totals.flows);
        let joined = job.mixes().find(|joined| joined.mix == totals.mix);
        let [_, _, layer] = &head.subject;
        let begun_as = layer.as_deref().and_then(Role::from_word);
        let state = match (&head.emptied, head.ended.as_ref().map(|(_, kind)| kind.as_str())) {
            (Some(_), _) => "emptied",
            (None, Some("mix/abandoned")) => "given up",
            (None, Some(_)) => "done",
            (None, None) => "open",
        };
        sheet.add_mix(MixRow {
            number: head.number,
            layer: joined.map(|joined| joined.layer).or(begun_as),
            for_cards: joined.is_some_and(|joined| joined.for_cards),
            begun: head.begun,
            operator: head.operator.clone(),
            mixed: flows.poured + flows.reused,
            sprayed: flows.sprayed,
            kept: flows.kept,
            thrown: flows.thrown + flows.drawn_off + flows.abandoned,
            pot_life: job.pot_life(totals.mix).map(crate::job::Countdown::until),
            state,
        });
        let trace = match trace_mix(book, totals.mix) {
            Ok(trace) => trace,
            // Nothing was poured yet.
            Err(TraceError::Unknown(_)) => continue,
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
            let (mix, toner) = (head.number, used.toner.to_string());
            sheet.parts.push(PartRow { mix, toner, from, lot, mass: used.mass });
        }
    }
    Ok(())
}

fn text(sheet: &Sheet, look: &Look<'_>) -> Vec<String> {
    let mut lines = vec![sheet.name.clone()];
    let head: Vec<Vec<String>> =
        sheet.head(look).into_iter().map(|(what, text)| vec![what.to_owned(), text]).collect();
    lines.extend(table::lines(&[Side::Left; 2], &head));
    for block in sheet.blocks(look) {
        lines.push(String::new());
        lines.push(block.title.to_string());
        let side = |(_, number): &(String, bool)| if *number { Side::Right } else { Side::Left };
        let sides: Vec<Side> = block.columns.iter().map(side).collect();
        let mut rows = vec![block.columns.iter().map(|(title, _)| title.clone()).collect::<Vec<_>>()];
        rows.extend(block.rows);
        lines.extend(table::lines(&sides, &rows).iter().map(|line| format!("  {line}")));
        lines.extend(block.notes.iter().map(|note| format!("  {note}")));
    }
    lines.push(String::new());
    lines.extend(sheet.notes(look));
    lines
}
