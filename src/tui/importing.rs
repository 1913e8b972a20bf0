//! Formulas about to be taken in: what was read, what its columns were taken for, and what would happen.

use super::formula_writer::Brought;
use super::screens::import::{ColumnRow, Fate, FateRow};
use crate::catalogue::import::{Column, Entry, Meaning, Options, Outcome, Preview, from_csv, from_folder};
use crate::catalogue::{Catalogue, Word as _, changes_written, named};
use crate::units::Notation;
use std::path::Path;

/// An import before it is written.
#[derive(Clone, Debug)]
pub(super) struct Importing {
    pub(super) from: String,
    brought: Brought,
    /// The shop as its files were when they were read, to hold it against.
    shop: Catalogue,
    options: Options,
    pub(super) preview: Preview,
    /// What each formula changes, in words.
    changes: Vec<String>,
    pub(super) column: usize,
    pub(super) scroll: usize,
    /// How numbers are written.
    notation: Notation,
}

/// How many of the first rows are shown of a column.
const SAMPLES: usize = 4;

impl Importing {
    pub(super) fn new(path: &Path, brought: Brought, shop: Catalogue, notation: Notation) -> Self {
        let name = path
            .file_name()
            .map_or_else(|| path.display().to_string(), |name| name.to_string_lossy().into_owned());
        let mut importing = Self {
            from: crate::units::clean(&name),
            brought,
            shop,
            options: Options::default(),
            preview: Preview::default(),
            changes: Vec::new(),
            column: 0,
            scroll: 0,
            notation,
        };
        importing.look();
        importing
    }

    /// Looks again at what was read, as it is taken now.
    fn look(&mut self) {
        let shop = &self.shop;
        self.preview = match &self.brought {
            Brought::Table(bytes) => from_csv(shop, bytes, &self.options),
            Brought::Folder(files) => {
                from_folder(shop, files.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice())))
            }
        };
        let notation = self.notation;
        let told = |entry: &Entry| {
            let colour = &entry.colour;
            match (entry.outcome, shop.colour_variant(colour.code.as_str(), &colour.variant)) {
                (Outcome::Same, _) => "there already".to_owned(),
                (Outcome::Changed, Some(has)) => changes_written(has, colour, notation).join("; "),
                _ => {
                    let layer = |layer: &crate::catalogue::Layer| {
                        format!("{} of {}", layer.role.name(), layer.pours.len())
                    };
                    colour.layers.iter().map(layer).collect::<Vec<_>>().join(", ")
                }
            }
        };
        self.changes = self.preview.entries.iter().map(told).collect();
        self.scroll = 0;
    }

    /// What is to be written: all that is not there already.
    pub(super) fn to_write(&self) -> Vec<Entry> {
        self.preview.entries.iter().filter(|entry| entry.outcome != Outcome::Same).cloned().collect()
    }

    pub(super) fn step(&mut self, down: bool) {
        let last = self.columns().len().saturating_sub(1);
        if !self.brought.is_table() {
            self.scroll = if down { self.scroll.saturating_add(1) } else { self.scroll.saturating_sub(1) };
            return;
        }
        self.column =
            if down { self.column.saturating_add(1).min(last) } else { self.column.saturating_sub(1) };
    }

    /// Takes the marked column for the next thing it could be, or the one before; behind the last it is guessed again.
    pub(super) fn turn(&mut self, forward: bool) {
        let number = self.column.saturating_add(1).to_string();
        let said = self.options.columns.iter().position(|(_, column)| *column == number);
        let now =
            said.and_then(|at| self.options.columns.get(at)).and_then(|(word, _)| Meaning::from_word(word));
        let last = Meaning::ALL.len().saturating_sub(1);
        let at = now.and_then(|now| Meaning::ALL.iter().position(|one| *one == now));
        let next = match (at, forward) {
            (None, true) => Some(0),
            (None, false) => Some(last),
            (Some(at), true) => at.checked_add(1).filter(|at| *at <= last),
            (Some(at), false) => at.checked_sub(1),
        };
        self.options.columns.retain(|(_, column)| *column != number);
        if let Some(meaning) = next.and_then(|at| Meaning::ALL.get(at)) {
            self.options.columns.retain(|(word, _)| word != meaning.word());
            self.options.columns.push((meaning.word().to_owned(), number));
        }
        self.look();
    }

    /// Says that the amounts are running totals, or that they are not.
    pub(super) fn toggle_totals(&mut self) {
        self.options.cumulative = Some(!self.preview.cumulative);
        self.look();
    }

    pub(super) fn columns(&self) -> Vec<ColumnRow> {
        let Some((sheet, columns)) = &self.preview.table else { return Vec::new() };
        let row = |(at, header): (usize, &String)| {
            let meaning = match columns.columns.get(at) {
                Some(Column::Field(meaning)) => meaning.word().to_owned(),
                Some(Column::PartsOf(toner)) => format!("parts of {toner}"),
                Some(Column::Unused) | None => String::new(),
            };
            let cells = sheet.rows.iter().take(SAMPLES).filter_map(|row| row.cells.get(at));
            let sample = cells.map(String::as_str).collect::<Vec<_>>().join("  ");
            ColumnRow { header: header.clone(), meaning, sample }
        };
        sheet.header.iter().enumerate().map(row).collect()
    }

    /// What is wrong first, then what changes, comes new, and is the same.
    pub(super) fn fates(&self) -> Vec<FateRow> {
        let wrong = self.preview.wrong.iter().map(|wrong| FateRow {
            fate: Fate::Wrong,
            what: wrong.at.clone(),
            how: wrong.says.clone(),
        });
        let notes = self.preview.notes.iter().map(|note| FateRow {
            fate: Fate::Wrong,
            what: "to be looked at".to_owned(),
            how: note.clone(),
        });
        let mut rows: Vec<FateRow> = wrong.chain(notes).collect();
        for (outcome, fate) in
            [(Outcome::Changed, Fate::Changed), (Outcome::Added, Fate::New), (Outcome::Same, Fate::Same)]
        {
            let of =
                self.preview.entries.iter().zip(&self.changes).filter(|(entry, _)| entry.outcome == outcome);
            rows.extend(of.map(|(entry, how)| FateRow {
                fate,
                what: named(&entry.colour),
                how: how.clone(),
            }));
        }
        rows
    }

    /// How many are new, changed, the same, wrong.
    pub(super) fn counts(&self) -> [usize; 4] {
        [
            self.preview.count(Outcome::Added),
            self.preview.count(Outcome::Changed),
            self.preview.count(Outcome::Same),
            self.preview.wrong.len(),
        ]
    }
}
