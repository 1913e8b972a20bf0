//! From a formula being written, and an import, to what is drawn.

use super::app::App;
use super::formula::{Cell, Doing, Formula, HEAD};
use super::importing::Importing;
use super::screens::formula::{Cell as Shown, HeadRow, PartRow};
use super::screens::{Chrome, FormulaView, ImportView};
use crate::catalogue::{Role, Swatch, Word as _, named};
use crate::units::{Decimal, Grams, Notation, Share, parse_decimal_with_comma};

/// What the view of a formula borrows that the state does not keep.
struct Beside {
    of: String,
    layers: Vec<(String, bool)>,
    shares: Vec<Option<String>>,
    problem: Option<String>,
}

impl Beside {
    fn of(formula: &Formula, notation: Notation) -> Self {
        let of = match &formula.doing {
            Doing::New => String::new(),
            Doing::Copy(of) => of.clone(),
            Doing::Change(colour) => named(colour),
        };
        let layers = formula.draft.layers.iter().enumerate().map(|(at, layer)| {
            let name = Role::from_word(&layer.role)
                .map_or_else(|| layer.role.clone(), |role| role.name().to_owned());
            let name = if name.is_empty() { "?".to_owned() } else { name };
            (name, formula.is_layer_wrong(at))
        });
        let parts: Vec<Option<Decimal>> =
            formula.rows().iter().map(|row| parse_decimal_with_comma(&row.parts).ok()).collect();
        let sum: Grams = parts.iter().flatten().map(|parts| Grams::new(*parts)).sum();
        let shares = parts.iter().map(|parts| {
            let share = Grams::new((*parts)?).share_of(sum)?;
            (share > Share::ZERO).then(|| notation.percent(share, 2))
        });
        let here = formula.fault(formula.at).or(formula.faults.first());
        Self {
            of,
            layers: layers.collect(),
            shares: shares.collect(),
            problem: here.map(crate::catalogue::Fault::sentence),
        }
    }

    fn layers(&self) -> Vec<(&str, bool)> {
        self.layers.iter().map(|(name, wrong)| (name.as_str(), *wrong)).collect()
    }
}

/// The cells on top.
fn head(formula: &Formula) -> Vec<HeadRow<'_>> {
    let row =
        |(at, label): (usize, &&'static str)| HeadRow { label, cell: shown(formula, Cell::Head(at), None) };
    HEAD.iter().enumerate().map(row).collect()
}

/// The rows of the open layer.
fn parts<'a>(app: &'a App, formula: &'a Formula, beside: &'a Beside) -> Vec<PartRow<'a>> {
    let before =
        formula.was.layers.get(formula.layer).filter(|was| {
            formula.draft.layers.get(formula.layer).is_some_and(|layer| layer.role == was.role)
        });
    let row = |(at, row): (usize, &'a crate::catalogue::DraftRow)| {
        let known = app.catalogue.toner(row.toner.trim());
        let was = before.and_then(|was| was.rows.iter().find(|was| was.toner == row.toner));
        let was = was.map(|was| was.parts.as_str()).filter(|was| *was != row.parts);
        PartRow {
            toner: shown(formula, Cell::Toner(at), None),
            name: known.map(|toner| toner.name.as_str()),
            swatch: known.and_then(|toner| toner.swatch),
            parts: shown(formula, Cell::Parts(at), was),
            share: beside.shares.get(at).and_then(Option::as_deref),
        }
    };
    formula.rows().iter().enumerate().map(row).collect()
}

fn shown<'a>(formula: &'a Formula, cell: Cell, was: Option<&'a str>) -> Shown<'a> {
    let cursor = (formula.at == cell).then(|| formula.input.cursor());
    Shown { text: formula.text(cell), cursor, wrong: formula.fault(cell).is_some(), was }
}

/// Hands on the view of a formula that is being written.
pub(super) fn with_formula(
    app: &App,
    formula: &Formula,
    chrome: Chrome<'_>,
    see: impl FnOnce(FormulaView<'_>),
) {
    let beside = Beside::of(formula, app.notation());
    let (head, layers) = (head(formula), beside.layers());
    let parts = parts(app, formula, &beside);
    see(FormulaView {
        title: match formula.doing {
            Doing::New => "New colour",
            Doing::Copy(_) => "Begun with",
            Doing::Change(_) => "Change",
        },
        of: &beside.of,
        head: &head,
        swatch: Swatch::parse(formula.draft.swatch.trim()),
        layers: &layers,
        layer: formula.layer,
        parts: &parts,
        row: formula.row(),
        problem: beside.problem.as_deref(),
        problems: formula.faults.len(),
        changed: formula.is_changed(),
        chrome,
    });
}

/// Hands on the view of an import before it is written.
pub(super) fn with_import(importing: &Importing, chrome: Chrome<'_>, see: impl FnOnce(ImportView<'_>)) {
    let (columns, fates) = (importing.columns(), importing.fates());
    see(ImportView {
        from: &importing.from,
        columns: &columns,
        column: (!columns.is_empty()).then_some(importing.column),
        running_totals: importing.preview.cumulative,
        fates: &fates,
        scroll: importing.scroll,
        counts: importing.counts(),
        chrome,
    });
}
