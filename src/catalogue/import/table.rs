//! A table of formulas: a row a part, or a row a layer with a column a toner.

use super::{Column, Columns, Entry, Meaning, Preview, Sheet, SheetRow, Wrong};
use crate::catalogue::code::{fold, same};
use crate::catalogue::{Catalogue, Draft, DraftLayer, DraftRow, Field, Finish, Role, Word};
use crate::units::{Decimal, parse_decimal_with_comma};
use std::collections::HashMap;

/// What somebody said about a table.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Options {
    /// Meanings of columns: a meaning's word, and a column's number from 1 or its heading.
    pub columns: Vec<(String, String)>,
    /// Whether the parts are running totals; none if nobody said.
    pub cumulative: Option<bool>,
}

/// From so many rising steps on, amounts that only ever rise are more likely running totals than chance.
const STEPS: usize = 3;

/// A colour of the table as it grows.
struct Grown {
    draft: Draft,
    /// Where each field was first read: line and column.
    origins: Vec<(Field, u64, Option<usize>)>,
    line: u64,
}

/// What importing this table would do.
///
/// Of a colour that the shop has, what the table has no column for stays, and so do the layers it does not name.
pub fn from_csv(catalogue: &Catalogue, bytes: &[u8], options: &Options) -> Preview {
    let mut preview = Preview::default();
    let whole = |says: String| Wrong { at: "the table".to_owned(), line: None, says };
    let sheet = match Sheet::read(bytes) {
        Ok(sheet) => sheet,
        Err(why) => {
            preview.wrong.push(whole(why));
            return preview;
        }
    };
    let columns = match Columns::of(&sheet.header, &catalogue.toners, &options.columns) {
        Ok(columns) => columns,
        Err(wrong) => {
            preview.wrong.extend(wrong.into_iter().map(whole));
            return preview;
        }
    };
    let mut grown = grow(&sheet, &columns, &mut preview.wrong);
    let rising = rising(&grown);
    preview.cumulative = options.cumulative.unwrap_or(columns.headed_cumulative);
    if preview.cumulative && !columns.is_wide() {
        for colour in &mut grown {
            colour.take_apart(&sheet.header, &mut preview.wrong);
        }
    } else if options.cumulative.is_none() && rising && !columns.is_wide() {
        let says = "In every layer the amounts rise from row to row, as running totals do. Say which they are: --cumulative if each counts what is above it, --cumulative=no if each is its own.";
        if columns.headed_parts {
            preview.notes.push(says.to_owned());
        } else {
            preview.wrong.push(whole(says.to_owned()));
        }
    }
    if columns.of_meaning(Meaning::Layer).is_none() {
        preview
            .notes
            .push("No column says which layer a row belongs to: all were taken as the base coat.".to_owned());
    }
    for colour in grown {
        finish_up(catalogue, colour, &columns, &sheet.header, &mut preview);
    }
    preview.wrong.sort_by_key(|wrong| wrong.line);
    preview.table = Some((sheet, columns));
    preview
}

/// The rows put together by colour and layer, in the order of the table.
fn grow(sheet: &Sheet, columns: &Columns, wrong: &mut Vec<Wrong>) -> Vec<Grown> {
    let mut grown: Vec<Grown> = Vec::new();
    let mut places: HashMap<(String, String), usize> = HashMap::new();
    for row in &sheet.rows {
        let cell = |meaning| {
            let at = columns.of_meaning(meaning)?;
            Some((row.cells.get(at).map_or("", String::as_str), at))
        };
        let text = |meaning| cell(meaning).map_or("", |(text, _)| text);
        if text(Meaning::Code).is_empty() {
            let at = columns.of_meaning(Meaning::Code);
            let says = "this row has no code. Write the colour's code in every row.".to_owned();
            wrong.push(Wrong { at: spot(row.line, at, &sheet.header), line: Some(row.line), says });
            continue;
        }
        if row.cells.len() > sheet.header.len() {
            let says = format!(
                "this row has {} cells, and the first row {}. Look for a separator inside a cell.",
                row.cells.len(),
                sheet.header.len()
            );
            wrong.push(Wrong { at: spot(row.line, None, &sheet.header), line: Some(row.line), says });
            continue;
        }
        let (code, variant) = (text(Meaning::Code), text(Meaning::Variant));
        let at = *places.entry((fold(code), fold(variant))).or_insert_with(|| {
            grown.push(Grown { draft: Draft::default(), origins: Vec::new(), line: row.line });
            grown.len().saturating_sub(1)
        });
        if let Some(colour) = grown.get_mut(at) {
            colour.take(row, columns, &sheet.header, wrong);
        }
    }
    grown
}

impl Grown {
    fn take(&mut self, row: &SheetRow, columns: &Columns, header: &[String], wrong: &mut Vec<Wrong>) {
        for (at, column) in columns.columns.iter().enumerate() {
            let cell = row.cells.get(at).map_or("", String::as_str);
            let Column::Field(meaning) = column else { continue };
            let (field, kept) = match meaning {
                Meaning::Code => (Field::Code, &mut self.draft.code),
                Meaning::Name => (Field::Name, &mut self.draft.name),
                Meaning::Variant => (Field::Variant, &mut self.draft.variant),
                Meaning::Finish => (Field::Finish, &mut self.draft.finish),
                Meaning::Swatch => (Field::Swatch, &mut self.draft.swatch),
                Meaning::Retired => (Field::Retired, &mut self.draft.retired),
                Meaning::RetiredBecause => (Field::RetiredBecause, &mut self.draft.retired_because),
                Meaning::Layer | Meaning::Toner | Meaning::Parts => continue,
            };
            if kept.is_empty() {
                cell.clone_into(kept);
                self.origins.push((field, row.line, Some(at)));
            } else if !cell.is_empty() && fold(kept) != fold(cell) {
                let says =
                    format!("here the {meaning} is '{cell}', further up it is '{kept}'. Make them the same.");
                wrong.push(Wrong { at: spot(row.line, Some(at), header), line: Some(row.line), says });
            }
        }
        let role_at = columns.of_meaning(Meaning::Layer);
        let role = role_at.map_or(Role::Base.word(), |at| row.cells.get(at).map_or("", String::as_str));
        let layer = self.layer(role, row.line, role_at);
        let (toner, parts) = (columns.of_meaning(Meaning::Toner), columns.of_meaning(Meaning::Parts));
        let cell = |at: Option<usize>| at.and_then(|at| row.cells.get(at)).cloned().unwrap_or_default();
        if !columns.is_wide() {
            self.push(layer, cell(toner), cell(parts), row.line, (toner, parts));
        }
        for (at, column) in columns.columns.iter().enumerate() {
            let (Column::PartsOf(toner), parts) = (column, cell(Some(at))) else { continue };
            if !parts.is_empty() {
                self.push(layer, toner.clone(), parts, row.line, (Some(at), Some(at)));
            }
        }
    }

    fn layer(&mut self, role: &str, line: u64, at: Option<usize>) -> usize {
        let layers = &mut self.draft.layers;
        if let Some(layer) = layers.iter().position(|layer| same(&layer.role, role)) {
            return layer;
        }
        let layer = layers.len();
        layers.push(DraftLayer { role: role.to_owned(), ..DraftLayer::default() });
        self.origins.extend([(Field::Role { layer }, line, at), (Field::Rows { layer }, line, None)]);
        layer
    }

    fn push(
        &mut self,
        layer: usize,
        toner: String,
        parts: String,
        line: u64,
        at: (Option<usize>, Option<usize>),
    ) {
        let Some(rows) = self.draft.layers.get_mut(layer).map(|layer| &mut layer.rows) else { return };
        let row = rows.len();
        rows.push(DraftRow { toner, parts });
        self.origins
            .extend([(Field::Toner { layer, row }, line, at.0), (Field::Parts { layer, row }, line, at.1)]);
    }

    /// Running totals into each row's own parts.
    fn take_apart(&mut self, header: &[String], wrong: &mut Vec<Wrong>) {
        let origins = &self.origins;
        for (layer, rows) in self.draft.layers.iter_mut().enumerate() {
            let mut above = Decimal::ZERO;
            for (row, each) in rows.rows.iter_mut().enumerate() {
                // What is no number is said with everything else.
                let Ok(total) = parse_decimal_with_comma(&each.parts) else { continue };
                if let Some(own) = total.checked_sub(above).filter(|own| *own > Decimal::ZERO) {
                    each.parts = own.to_string();
                } else {
                    let field = Field::Parts { layer, row };
                    let found = origins.iter().find(|(other, ..)| *other == field);
                    let (line, at) = found.map_or((0, None), |(_, line, at)| (*line, *at));
                    let says = format!(
                        "{total} is not more than {above} above it, as a running total is. Correct it, or say --cumulative=no."
                    );
                    wrong.push(Wrong { at: spot(line, at, header), line: Some(line), says });
                }
                above = total;
            }
        }
    }
}

/// Whether in every layer of more than one row the amounts only rise, often enough not to be chance.
fn rising(grown: &[Grown]) -> bool {
    let mut steps = 0;
    for layer in grown.iter().flat_map(|colour| &colour.draft.layers) {
        let amounts: Vec<_> =
            layer.rows.iter().filter_map(|row| parse_decimal_with_comma(&row.parts).ok()).collect();
        for pair in amounts.windows(2) {
            if let [one, next] = pair {
                if next <= one {
                    return false;
                }
                steps += 1;
            }
        }
    }
    steps >= STEPS
}

/// The draft filled up with what the shop has of that colour, checked, and compared.
fn finish_up(
    catalogue: &Catalogue,
    colour: Grown,
    columns: &Columns,
    header: &[String],
    preview: &mut Preview,
) {
    let Grown { mut draft, origins, line } = colour;
    let variant = if draft.variant.is_empty() { crate::catalogue::STANDARD } else { &draft.variant };
    let has = catalogue.colour_variant(&draft.code, variant);
    let mut renumbered: Option<Vec<usize>> = None;
    if let Some(has) = has {
        let old = Draft::of(has);
        let keep = |meaning, kept: &mut String, old: &String| {
            if columns.of_meaning(meaning).is_none() {
                kept.clone_from(old);
            }
        };
        keep(Meaning::Name, &mut draft.name, &old.name);
        keep(Meaning::Finish, &mut draft.finish, &old.finish);
        keep(Meaning::Swatch, &mut draft.swatch, &old.swatch);
        keep(Meaning::Retired, &mut draft.retired, &old.retired);
        keep(Meaning::RetiredBecause, &mut draft.retired_because, &old.retired_because);
        // As its own file spells it: a table in other capitals is no change.
        draft.code.clone_from(&old.code);
        draft.variant.clone_from(&old.variant);
        renumbered = Some(merge(&mut draft, old.layers));
    } else if draft.finish.is_empty() && columns.of_meaning(Meaning::Finish).is_none() {
        let roles: Vec<_> = draft.layers.iter().filter_map(|layer| Role::from_word(&layer.role)).collect();
        if let Some(finish) = Finish::fitting(&roles) {
            finish.word().clone_into(&mut draft.finish);
        }
    }
    if has.is_none() && draft.name.is_empty() && columns.of_meaning(Meaning::Name).is_none() {
        draft.name.clone_from(&draft.code);
    }
    match draft.check(&catalogue.toners, []) {
        Ok(colour) => {
            let wrong_so_far =
                |wrong: &Wrong| wrong.line.is_some_and(|at| origins.iter().any(|(_, line, _)| *line == at));
            if !preview.wrong.iter().any(wrong_so_far) {
                preview.entries.push(Entry::of(catalogue, colour, None));
            }
        }
        Err(faults) => {
            for fault in faults {
                let field = before_merging(fault.field, renumbered.as_deref());
                let found = origins.iter().find(|(other, ..)| *other == field);
                let (line, at) = found.map_or((line, None), |(_, line, at)| (*line, *at));
                let says =
                    format!("{} {}: {}", draft.code, draft.variant, fault.sentence()).replace(" : ", ": ");
                preview.wrong.push(Wrong { at: spot(line, at, header), line: Some(line), says });
            }
        }
    }
}

/// Puts the table's layers among those the shop has, each in its place, new ones at the end. Where each came from.
fn merge(draft: &mut Draft, old: Vec<DraftLayer>) -> Vec<usize> {
    let new = std::mem::take(&mut draft.layers);
    let untouched = usize::MAX;
    let mut places = Vec::new();
    for layer in old {
        let at = new.iter().position(|other| same(&other.role, &layer.role));
        places.push(at.unwrap_or(untouched));
        draft.layers.push(at.and_then(|at| new.get(at)).cloned().unwrap_or(layer));
    }
    for (at, layer) in new.into_iter().enumerate() {
        if !places.contains(&at) {
            places.push(at);
            draft.layers.push(layer);
        }
    }
    places
}

fn before_merging(field: Field, places: Option<&[usize]>) -> Field {
    let old = |layer: usize| places.and_then(|places| places.get(layer)).copied().unwrap_or(layer);
    match field {
        Field::Role { layer } => Field::Role { layer: old(layer) },
        Field::Rows { layer } => Field::Rows { layer: old(layer) },
        Field::Toner { layer, row } => Field::Toner { layer: old(layer), row },
        Field::Parts { layer, row } => Field::Parts { layer: old(layer), row },
        other => other,
    }
}

/// `line 7, column 3 (toner)`.
fn spot(line: u64, at: Option<usize>, header: &[String]) -> String {
    match at.and_then(|at| Some((at + 1, header.get(at)?))) {
        Some((number, heading)) => format!("line {line}, column {number} ({heading})"),
        None => format!("line {line}"),
    }
}
