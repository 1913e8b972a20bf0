//! The first run: one question, what can be answered, and what was answered so far.

use super::frame::{Chrome, Top};
use super::scale::Note;
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::list::{List, ListCell, ListRow};
use crate::tui::widgets::pen;
use crate::tui::widgets::prompt::Input;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// Something that can be chosen.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FirstRow {
    /// What it is.
    pub words: String,
    /// What follows from it.
    pub more: String,
}

/// One question of the first run, or the page behind them.
#[derive(Clone, Copy, Debug)]
pub struct FirstRunView<'a> {
    /// Which of the four, from 0; none for the last page.
    pub which: Option<usize>,
    /// The question.
    pub question: &'a str,
    /// What helps to answer it.
    pub about: &'a str,
    /// What stands before the line that is typed; none where nothing is.
    pub label: Option<&'a str>,
    /// What is typed.
    pub input: Input<'a>,
    /// What can be chosen instead.
    pub rows: &'a [FirstRow],
    /// Which of it is marked; none for the line that is typed.
    pub marked: Option<usize>,
    /// What was found, and what to do.
    pub notes: &'a [Note],
    /// Each question in a word, and its answer.
    pub so_far: &'a [(&'static str, Option<String>)],
    /// What is about it.
    pub chrome: Chrome<'a>,
}

/// Where everything begins.
const LEFT: u16 = 3;

/// Draws it.
pub fn draw(view: &FirstRunView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let middle = match view.which {
        Some(which) => format!("question {} of 4", which.saturating_add(1)),
        None => "all four asked".to_owned(),
    };
    let top = Top { title: "Setting up", middle: &middle, right: "", right_meaning: Meaning::Plain };
    let Some(body) = view.chrome.draw(&top, area, buf, theme) else { return };
    let count = |lines: usize| u16::try_from(lines).unwrap_or(u16::MAX);
    let inner = pen::columns(body, LEFT, body.width.saturating_sub(LEFT.saturating_add(1)));
    pen::put(buf, inner, inner.x, inner.y, view.question, theme.style(Meaning::Title));
    let about = text::wrap(view.about, inner.width);
    let mut at = 1_u16;
    at = at.saturating_add(put_lines(
        about.iter().map(|line| (line.as_str(), Meaning::Muted)),
        pen::rows(inner, at, count(about.len())),
        buf,
        theme,
    ));
    at = at.saturating_add(1);
    if let Some(label) = view.label {
        draw_input(view, label, pen::rows(body, at, 1), buf, theme);
        at = at.saturating_add(1);
    }
    // The answers so far stand at the bottom; the notes have what they need; the choices have the rest.
    let foot = count(view.so_far.len()).saturating_add(1);
    let room = body.height.saturating_sub(at).saturating_sub(foot).saturating_sub(1);
    let notes: Vec<(String, Meaning)> = view
        .notes
        .iter()
        .flat_map(|note| text::wrap(&note.text, inner.width).into_iter().map(|line| (line, note.meaning)))
        .collect();
    let least = count(view.rows.len()).min(3);
    let for_notes = count(notes.len()).min(room.saturating_sub(least).saturating_sub(1));
    let for_rows = count(view.rows.len()).min(room.saturating_sub(for_notes).saturating_sub(1));
    draw_rows(view, pen::rows(body, at, for_rows), buf, theme);
    at = at.saturating_add(for_rows).saturating_add(u16::from(for_rows > 0 || view.label.is_some()));
    let lines = notes.iter().map(|(line, meaning)| (line.as_str(), *meaning));
    put_lines(lines, pen::rows(inner, at, for_notes), buf, theme);
    draw_so_far(view, pen::rows(inner, inner.height.saturating_sub(foot), foot), buf, theme);
}

fn put_lines<'t>(
    lines: impl Iterator<Item = (&'t str, Meaning)>,
    area: Rect,
    buf: &mut Buffer,
    theme: &Theme,
) -> u16 {
    for ((line, meaning), y) in lines.zip(area.top()..area.bottom()) {
        pen::put(buf, area, area.x, y, line, theme.style(meaning));
    }
    area.height
}

fn draw_input(view: &FirstRunView<'_>, label: &str, row: Rect, buf: &mut Buffer, theme: &Theme) {
    if view.marked.is_none() {
        let x = row.x.saturating_add(1);
        pen::put(buf, row, x, row.y, theme.symbols.pointer, theme.style(Meaning::KeyHint));
    }
    let label = format!("{label}:");
    let x = pen::put(buf, row, row.x.saturating_add(LEFT), row.y, &label, theme.style(Meaning::Title));
    let from = x.saturating_sub(row.x).saturating_add(1);
    let room = row.width.saturating_sub(from).saturating_sub(1);
    view.input.draw(pen::columns(row, from, room), buf, theme);
}

fn draw_rows(view: &FirstRunView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let rows: Vec<ListRow<'_>> = view
        .rows
        .iter()
        .map(|row| ListRow {
            swatch: None,
            cells: vec![ListCell::words(&row.words), ListCell::words(&row.more)],
        })
        .collect();
    List { rows: &rows, selected: view.marked }.draw(area, buf, theme);
}

fn draw_so_far(view: &FirstRunView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let rule = theme.style(Meaning::Rule);
    pen::repeat(buf, area, area.x, area.y, area.width, theme.symbols.rule, rule);
    pen::put(buf, area, area.x, area.y, "answered so far ", theme.style(Meaning::Muted));
    for ((word, answer), y) in view.so_far.iter().zip(area.top().saturating_add(1)..area.bottom()) {
        let words = format!("{word:<9}");
        let x = pen::put(buf, area, area.x, y, &words, theme.style(Meaning::Muted));
        let (answer, meaning) = match answer {
            Some(answer) => (answer.as_str(), Meaning::Value),
            None => ("left open", Meaning::Muted),
        };
        let answer = text::fit(answer, area.right().saturating_sub(x), theme.symbols.ellipsis);
        pen::put(buf, area, x, y, &answer, theme.style(meaning));
    }
}
