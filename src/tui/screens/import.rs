//! Formulas about to be taken in from a file: which column is what, and what would happen, before anything is written.

use super::frame::{Chrome, Top};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::pen;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// A column of the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ColumnRow {
    /// What its first line says.
    pub header: String,
    /// What it is taken for, in a word or two; empty where it is not used.
    pub meaning: String,
    /// What stands in it in the first rows.
    pub sample: String,
}

/// What would become of a formula, or what is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fate {
    /// There is no such colour yet.
    New,
    /// There is one, with another formula.
    Changed,
    /// It is there already, just so.
    Same,
    /// It cannot be read.
    Wrong,
}

/// A line of what would happen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FateRow {
    /// What becomes of it.
    pub fate: Fate,
    /// Which colour, or where in the file.
    pub what: String,
    /// The rest, in words.
    pub how: String,
}

/// What is shown of an import.
#[derive(Clone, Copy, Debug)]
pub struct ImportView<'a> {
    /// The file or folder.
    pub from: &'a str,
    /// Its columns; none for a folder.
    pub columns: &'a [ColumnRow],
    /// Which is marked, while the columns have the keys.
    pub column: Option<usize>,
    /// Whether amounts are running totals, said beside the columns.
    pub running_totals: bool,
    /// What would happen, what is wrong first.
    pub fates: &'a [FateRow],
    /// The first of them on the screen.
    pub scroll: usize,
    /// How many of each: new, changed, the same, wrong.
    pub counts: [usize; 4],
    /// What is about it.
    pub chrome: Chrome<'a>,
}

/// The most columns of the file shown at once.
const COLUMNS: usize = 8;

/// Draws it.
pub fn draw(view: &ImportView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let title = format!("Import {} {}", theme.symbols.dot, view.from);
    let right = match view.counts {
        [.., 0] => "nothing written yet".to_owned(),
        [.., 1] => "1 thing to put right".to_owned(),
        [.., many] => format!("{many} things to put right"),
    };
    let meaning = if view.counts[3] > 0 { Meaning::Error } else { Meaning::Plain };
    let top = Top { title: &title, middle: "", right: &right, right_meaning: meaning };
    let Some(body) = view.chrome.draw(&top, area, buf, theme) else { return };
    let shown = view.columns.len().min(COLUMNS);
    let rows = u16::try_from(shown).unwrap_or(0);
    let columns = if shown > 0 { rows.saturating_add(2) } else { 0 };
    draw_columns(view, pen::rows(body, 0, columns), buf, theme);
    draw_fates(view, pen::rows(body, columns, body.height), buf, theme);
}

fn draw_columns(view: &ImportView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let muted = theme.style(Meaning::Muted);
    let (taken, sample) = (area.x.saturating_add(26), area.x.saturating_add(46));
    pen::put(buf, area, area.x.saturating_add(3), area.y, "column of the file", muted);
    pen::put(buf, area, taken, area.y, "is taken for", muted);
    let words = if view.running_totals { "first rows (running totals)" } else { "first rows" };
    pen::put(buf, area, sample, area.y, words, muted);
    let rows = pen::rows(area, 1, area.height.saturating_sub(2));
    let first = pen::first_row(view.column.unwrap_or(0), view.columns.len(), usize::from(rows.height));
    let shown = view.columns.iter().enumerate().skip(first);
    for ((at, column), y) in shown.zip(rows.top()..rows.bottom()) {
        let marked = view.column == Some(at);
        if marked {
            pen::put(
                buf,
                rows,
                rows.x.saturating_add(1),
                y,
                theme.symbols.pointer,
                theme.style(Meaning::KeyHint),
            );
        }
        let style = theme.style(if marked { Meaning::Title } else { Meaning::Plain });
        let ellipsis = theme.symbols.ellipsis;
        pen::put(buf, rows, rows.x.saturating_add(3), y, &text::fit(&column.header, 21, ellipsis), style);
        let (words, meaning) = match column.meaning.as_str() {
            "" => ("not used", Meaning::Muted),
            known => (known, Meaning::Value),
        };
        pen::put(buf, rows, taken, y, &text::fit(words, 18, ellipsis), theme.style(meaning));
        let room = rows.right().saturating_sub(sample.saturating_add(1));
        pen::put(buf, rows, sample, y, &text::fit(&column.sample, room, ellipsis), muted);
    }
}

fn draw_fates(view: &ImportView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let muted = theme.style(Meaning::Muted);
    let [new, changed, same, wrong] = view.counts;
    let words = format!("what will happen: {new} new, {changed} changed, {same} the same, {wrong} wrong");
    pen::put(buf, area, area.x.saturating_add(3), area.y, &words, muted);
    let rows = pen::rows(area, 1, area.height.saturating_sub(1));
    let mut lines: Vec<(&FateRow, String, bool)> = Vec::new();
    for row in view.fates {
        let words = match (row.what.is_empty(), row.how.is_empty()) {
            (false, false) => format!("{}: {}", row.what, row.how),
            _ => format!("{}{}", row.what, row.how),
        };
        for (at, line) in text::wrap(&words, rows.width.saturating_sub(6)).into_iter().enumerate() {
            lines.push((row, line, at == 0));
        }
    }
    let scroll = view.scroll.min(lines.len().saturating_sub(usize::from(rows.height)));
    for ((row, line, begins), y) in lines.iter().skip(scroll).zip(rows.top()..rows.bottom()) {
        let (sign, meaning) = match row.fate {
            Fate::New => ("+", Meaning::Right),
            Fate::Changed => (theme.symbols.left_off, Meaning::Value),
            Fate::Same => ("=", Meaning::Muted),
            Fate::Wrong => (theme.symbols.alert, Meaning::Error),
        };
        if *begins {
            pen::put(buf, rows, rows.x.saturating_add(1), y, sign, theme.style(meaning));
        }
        let style = theme.style(if row.fate == Fate::Same { Meaning::Muted } else { Meaning::Plain });
        pen::put(buf, rows, rows.x.saturating_add(3), y, line, style);
    }
    let below = lines.len().saturating_sub(scroll.saturating_add(usize::from(rows.height)));
    if below > 0 {
        let words = format!("{below} more lines below");
        pen::put_right(buf, area, area.right().saturating_sub(1), area.y, &words, muted);
    }
}
