//! Where things stand in the text of a colour's file.

use super::Unwritable;
use crate::catalogue::code::fold;
use std::ops::Range;
use toml_edit::{Document, Item, TableLike, Value};

/// A value in the text.
pub(super) struct Put {
    /// What it says: a text without its quotes, a number as it is written.
    pub(super) says: String,
    /// Its bytes, quotes included.
    pub(super) span: Range<usize>,
}

/// A toner's row.
pub(super) struct Row {
    pub(super) toner: Put,
    pub(super) parts: Put,
    /// The whole table.
    pub(super) span: Range<usize>,
}

/// A layer.
pub(super) struct LayerPlace {
    pub(super) role: Put,
    /// `pours = [ .. ]` from bracket to bracket; `None` where each row is a table `[[layer.pours]]`.
    pub(super) list: Option<Range<usize>>,
    pub(super) rows: Vec<Row>,
    /// The whole table, or its heading.
    pub(super) span: Range<usize>,
}

/// The file.
pub(super) struct Layout {
    /// The keys of the colour itself that are there: name, place of the key, value.
    pub(super) keys: Vec<(String, Range<usize>, Put)>,
    /// `layer = [ .. ]` from bracket to bracket; `None` where each layer is a table `[[layer]]`.
    pub(super) list: Option<Range<usize>>,
    pub(super) layers: Vec<LayerPlace>,
}

impl Layout {
    pub(super) fn of(text: &str) -> Result<Self, Unwritable> {
        let Ok(document) = Document::parse(text) else { return Err(Unwritable::Unreadable) };
        read(text, document.as_table()).ok_or(Unwritable::Layout)
    }

    pub(super) fn key(&self, name: &str) -> Option<&(String, Range<usize>, Put)> {
        self.keys.iter().find(|(key, _, _)| key == name)
    }

    /// The layers' roles.
    pub(super) fn roles(&self) -> Vec<String> {
        self.layers.iter().map(|layer| layer.role.says.clone()).collect()
    }

    /// Where the tables `[[layer]]` and `[[layer.pours]]` begin, in the order of the file.
    pub(super) fn headings(&self) -> Vec<usize> {
        let mut at = Vec::new();
        for layer in self.layers.iter().filter(|_| self.list.is_none()) {
            at.push(layer.span.start);
            at.extend(layer.rows.iter().filter(|_| layer.list.is_none()).map(|row| row.span.start));
        }
        at.sort_unstable();
        at
    }
}

impl LayerPlace {
    /// The rows' toners, folded.
    pub(super) fn toners(&self) -> Vec<String> {
        self.rows.iter().map(|row| fold(&row.toner.says)).collect()
    }
}

fn read(text: &str, table: &toml_edit::Table) -> Option<Layout> {
    let mut keys = Vec::new();
    for (name, item) in table {
        if name != "layer" {
            keys.push((name.to_owned(), table.key(name)?.span()?, put(text, item)?));
        }
    }
    let (list, layers) = tables(table.get("layer")?)?;
    let layers = layers.into_iter().map(|(table, span)| layer(text, table, span)).collect::<Option<_>>()?;
    Some(Layout { keys, list, layers })
}

fn layer(text: &str, table: &dyn TableLike, span: Range<usize>) -> Option<LayerPlace> {
    let (list, rows) = tables(table.get("pours")?)?;
    let row = |(table, span): (&dyn TableLike, Range<usize>)| {
        Some(Row { toner: put(text, table.get("toner")?)?, parts: put(text, table.get("parts")?)?, span })
    };
    let rows = rows.into_iter().map(row).collect::<Option<_>>()?;
    Some(LayerPlace { role: put(text, table.get("role")?)?, list, rows, span })
}

type Tables<'t> = (Option<Range<usize>>, Vec<(&'t dyn TableLike, Range<usize>)>);

/// The tables of a list, and the list from bracket to bracket where it is written so.
fn tables(item: &Item) -> Option<Tables<'_>> {
    match item {
        Item::ArrayOfTables(tables) => {
            let found = tables.iter().map(|table| Some((table as &dyn TableLike, table.span()?)));
            Some((None, found.collect::<Option<_>>()?))
        }
        Item::Value(Value::Array(array)) => {
            let table = |value: &'_ Value| value.as_inline_table().is_some();
            if !array.iter().all(table) {
                return None;
            }
            let found = array.iter().filter_map(|value| Some((value.as_inline_table()?, value.span()?)));
            let found: Vec<_> = found.map(|(table, span)| (table as &dyn TableLike, span)).collect();
            (found.len() == array.len()).then_some((Some(array.span()?), found))
        }
        _ => None,
    }
}

fn put(text: &str, item: &Item) -> Option<Put> {
    let span = item.span()?;
    let raw = text.get(span.clone())?;
    let says = item.as_str().map_or_else(|| raw.to_owned(), |says| says.trim_matches(' ').to_owned());
    Some(Put { says, span })
}
