//! A formula being written: what the colour is called, its layers, and the toners of the one that is open.

use super::frame::{Chrome, Top};
use crate::catalogue::Swatch;
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::pen;
use crate::tui::widgets::prompt::Input;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// A piece of text that can be typed over.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Cell<'a> {
    /// What it says.
    pub text: &'a str,
    /// How many characters stand before the cursor, while it is being typed.
    pub cursor: Option<usize>,
    /// Whether it cannot stay as it is.
    pub wrong: bool,
    /// What it said before, where that is something else.
    pub was: Option<&'a str>,
}

/// What the colour is called, and what kind it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HeadRow<'a> {
    /// What is asked.
    pub label: &'a str,
    /// What it is.
    pub cell: Cell<'a>,
}

/// A toner of the open layer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PartRow<'a> {
    /// Its code.
    pub toner: Cell<'a>,
    /// Its name, if there is such a toner.
    pub name: Option<&'a str>,
    /// Its colour.
    pub swatch: Option<Swatch>,
    /// How much of it, in parts by mass.
    pub parts: Cell<'a>,
    /// Its share of the layer, as far as that can be told.
    pub share: Option<&'a str>,
}

/// A formula being written.
#[derive(Clone, Copy, Debug)]
pub struct FormulaView<'a> {
    /// What is done: `new colour`, `copy`, `change`.
    pub title: &'a str,
    /// Which colour it began as; empty for a new one.
    pub of: &'a str,
    /// Code, name, variant, finish.
    pub head: &'a [HeadRow<'a>],
    /// The colour as a whole.
    pub swatch: Option<Swatch>,
    /// The layers' names, each with whether something in it is wrong.
    pub layers: &'a [(&'a str, bool)],
    /// Which is open.
    pub layer: usize,
    /// Its toners.
    pub parts: &'a [PartRow<'a>],
    /// Which of them has the cursor; none while it is in the head.
    pub row: Option<usize>,
    /// What is wrong with what has the cursor, or else with something.
    pub problem: Option<&'a str>,
    /// How many things are wrong.
    pub problems: usize,
    /// Whether anything was changed.
    pub changed: bool,
    /// What is about it.
    pub chrome: Chrome<'a>,
}

/// Columns of a toner's code, its name and its parts.
const CODE: u16 = 12;
const PARTS: u16 = 12;

/// Draws it.
pub fn draw(view: &FormulaView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let title = if view.of.is_empty() {
        view.title.to_owned()
    } else {
        format!("{} {} {}", view.title, theme.symbols.dot, view.of)
    };
    let (middle, meaning) = match (view.problems, view.changed) {
        (0, false) => ("nothing changed".to_owned(), Meaning::Muted),
        (0, true) => ("not saved yet".to_owned(), Meaning::Plain),
        (1, _) => ("1 thing to put right".to_owned(), Meaning::Error),
        (many, _) => (format!("{many} things to put right"), Meaning::Error),
    };
    let top = Top { title: &title, middle: "", right: &middle, right_meaning: meaning };
    let Some(body) = view.chrome.draw(&top, area, buf, theme) else { return };
    let body = pen::rows(body, 1, body.height);
    let rows = u16::try_from(view.head.len()).unwrap_or(u16::MAX);
    draw_head(view, pen::columns(pen::rows(body, 0, rows), 3, 50), buf, theme);
    if view.swatch.is_some() {
        let patch = pen::columns(pen::rows(body, 0, 3), 56, 20);
        let (sign, style) = theme.layer(view.swatch, 0);
        for y in patch.top()..patch.bottom() {
            pen::repeat(buf, patch, patch.x, y, patch.width, sign, style);
        }
    }
    let below = pen::rows(body, rows.saturating_add(1), body.height);
    draw_layers(view, pen::rows(below, 0, 1), buf, theme);
    let problem = view.problem.map(|problem| {
        text::wrap(&format!("{} {problem}", theme.symbols.alert), body.width.saturating_sub(6))
    });
    let problem = problem.unwrap_or_default();
    let room = u16::try_from(problem.len().min(2)).unwrap_or(0);
    let list = pen::rows(below, 2, below.height.saturating_sub(2).saturating_sub(room));
    draw_parts(view, list, buf, theme);
    for (line, y) in problem.iter().take(2).zip(list.bottom()..body.bottom()) {
        pen::put(buf, body, body.x.saturating_add(3), y, line, theme.style(Meaning::Error));
    }
}

fn draw_head(view: &FormulaView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    for (row, y) in view.head.iter().zip(area.top()..area.bottom()) {
        pen::put(buf, area, area.x, y, row.label, theme.style(Meaning::Muted));
        row.cell.draw(pen::columns(Rect { y, height: 1, ..area }, 10, 38), buf, theme);
    }
}

/// The layers side by side, the open one marked.
fn draw_layers(view: &FormulaView<'_>, row: Rect, buf: &mut Buffer, theme: &Theme) {
    let mut x = row.x.saturating_add(1);
    for (at, (name, wrong)) in view.layers.iter().enumerate() {
        let open = at == view.layer;
        let sign = if open { theme.symbols.pointer } else { " " };
        x = pen::put(buf, row, x, row.y, sign, theme.style(Meaning::KeyHint)).saturating_add(1);
        let style = theme.style(if open { Meaning::Title } else { Meaning::Muted });
        x = pen::put(buf, row, x, row.y, name, style);
        if *wrong {
            x = pen::put(
                buf,
                row,
                x.saturating_add(1),
                row.y,
                theme.symbols.alert,
                theme.style(Meaning::Error),
            );
        }
        x = x.saturating_add(2);
    }
}

fn draw_parts(view: &FormulaView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let muted = theme.style(Meaning::Muted);
    let x = area.x.saturating_add(3);
    let name = x.saturating_add(CODE).saturating_add(4);
    let parts = area.right().min(area.x.saturating_add(90)).saturating_sub(34);
    let share = parts.saturating_add(PARTS).saturating_add(9);
    pen::put(buf, area, x, area.y, "toner", muted);
    pen::put_right(buf, area, parts.saturating_add(PARTS), area.y, "parts", muted);
    pen::put_right(buf, area, share, area.y, "share", muted);
    pen::put(buf, area, share.saturating_add(2), area.y, "was", muted);
    let rows = pen::rows(area, 1, area.height);
    let first = pen::first_row(view.row.unwrap_or(0), view.parts.len(), usize::from(rows.height));
    let shown = view.parts.iter().enumerate().skip(first);
    for ((at, part), y) in shown.zip(rows.top()..rows.bottom()) {
        let row = Rect { y, height: 1, ..rows };
        if view.row == Some(at) {
            pen::put(
                buf,
                row,
                row.x.saturating_add(1),
                y,
                theme.symbols.pointer,
                theme.style(Meaning::KeyHint),
            );
        }
        part.toner.draw(Rect { x, width: CODE, ..row }.intersection(row), buf, theme);
        if part.swatch.is_some() {
            let (sign, style) = theme.layer(part.swatch, 0);
            pen::repeat(buf, row, name.saturating_sub(3), y, 2, sign, style);
        }
        let room = parts.saturating_sub(name).saturating_sub(1);
        let words = text::fit(part.name.unwrap_or_default(), room, theme.symbols.ellipsis);
        pen::put(buf, row, name, y, &words, theme.style(Meaning::Plain));
        // Numbers are read down their column; the one that is typed ends there too.
        let taken = text::width(part.parts.text).saturating_add(u16::from(part.parts.cursor.is_some()));
        let indent = PARTS.saturating_sub(taken.max(1));
        let cell = Rect {
            x: parts.saturating_add(indent),
            width: PARTS.saturating_sub(indent).saturating_add(1),
            ..row
        };
        part.parts.draw(cell.intersection(row), buf, theme);
        pen::put_right(buf, row, share, y, part.share.unwrap_or_default(), theme.style(Meaning::Plain));
        let was = part.parts.was.or(part.toner.was).unwrap_or_default();
        let was = text::fit(was, row.right().saturating_sub(share.saturating_add(3)), theme.symbols.ellipsis);
        pen::put(buf, row, share.saturating_add(2), y, &was, muted);
    }
}

impl Cell<'_> {
    fn draw(&self, row: Rect, buf: &mut Buffer, theme: &Theme) {
        if let Some(cursor) = self.cursor {
            return Input { text: self.text, cursor }.draw(row, buf, theme);
        }
        let style = theme.style(match (self.wrong, self.was) {
            (true, _) => Meaning::Error,
            (false, Some(_)) => Meaning::Value,
            (false, None) => Meaning::Plain,
        });
        let words = if self.wrong && self.text.is_empty() { theme.symbols.alert } else { self.text };
        let words = text::fit(words, row.width, theme.symbols.ellipsis);
        pen::put(buf, row, row.x, row.y, &words, style);
    }
}
