//! A repair: its layers as rows with where each stands, its spray-out cards, and what comes next.

use super::frame::{Chrome, Top};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::pen;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// A layer as it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LayerRow<'a> {
    /// Its name: `ground coat`.
    pub name: &'a str,
    /// Its columns, as in [`HEADINGS`], a dash where there is nothing.
    pub cells: [&'a str; 6],
    /// Whether it is what comes next.
    pub is_next: bool,
    /// Whether it is done.
    pub is_done: bool,
}

/// A spray-out card.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CardBox<'a> {
    /// Its number.
    pub number: u32,
    /// Its coats.
    pub coats: u32,
    /// Whether it was chosen.
    pub is_chosen: bool,
    /// What is known of it: over what, what was seen.
    pub words: &'a str,
}

/// A repair.
#[derive(Clone, Copy, Debug)]
pub struct JobView<'a> {
    /// What the shop calls it.
    pub name: &'a str,
    /// The colour's code and name, and how it is built up.
    pub colour: &'a str,
    /// The vehicle and the panels.
    pub about: &'a str,
    /// The layers that cover less or more than the panels, with their areas; empty if there are none.
    pub areas: &'a str,
    /// Its layers from the panel outwards.
    pub layers: &'a [LayerRow<'a>],
    /// What is to be known of the layer that is next, in a sentence; empty if there is nothing.
    pub sentence: &'a str,
    /// Its cards.
    pub cards: &'a [CardBox<'a>],
    /// What comes out of comparing them, in sentences; empty if they were not compared.
    pub compared: &'a str,
    /// Which of them is marked.
    pub card: usize,
    /// What was noted last.
    pub note: &'a str,
    /// What hurts whoever does it, in a sentence; empty if nothing is known to.
    pub caution: &'a str,
    /// What comes next, in a sentence.
    pub next: &'a str,
    /// How the scale is, in a word; empty if there is nothing to say.
    pub link_words: &'a str,
    /// What is about it.
    pub chrome: Chrome<'a>,
}

/// What stands over the columns of a layer.
pub const HEADINGS: [&str; 6] = ["amount", "mixed", "pot life", "coats", "flash-off", "bake"];
/// How wide they are, and how wide they may be where there is room.
const NARROW: [u16; 6] = [10, 9, 10, 8, 10, 12];
const WIDE: [u16; 6] = [16, 16, 14, 12, 14, 12];
/// From this width on there is room.
const WIDE_FROM: u16 = 112;
/// The columns before the first of them: the mark and the layer's name.
const BEFORE: u16 = 18;
/// From this height on there is room for longer sentences.
const ROOMY: u16 = 24;
/// A card's box, and the blank after it.
const CARD: u16 = 9;

/// Draws it.
pub fn draw(view: &JobView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let scale =
        if view.link_words.is_empty() { String::new() } else { format!("scale  {}", view.link_words) };
    let top = Top { title: view.name, middle: view.colour, right: &scale, right_meaning: Meaning::Plain };
    let Some(body) = view.chrome.draw(&top, area, buf, theme) else { return };
    // What comes next stands at the bottom, and is the last to give way.
    let next = pen::rows(body, body.height.saturating_sub(1), 1);
    draw_next(view, next, buf, theme);
    let body = pen::rows(body, 0, body.height.saturating_sub(1));
    let body = draw_caution(view, body, buf, theme);
    let inner = pen::columns(body, 1, body.width.saturating_sub(2));
    let about = text::fit(view.about, inner.width, theme.symbols.ellipsis);
    pen::put(buf, inner, inner.x, inner.y, &about, theme.style(Meaning::Muted));
    let mut y = 2;
    if !view.areas.is_empty() {
        let areas = text::fit(&format!("not the whole: {}", view.areas), inner.width, theme.symbols.ellipsis);
        pen::put(buf, inner, inner.x, inner.y.saturating_add(1), &areas, theme.style(Meaning::Muted));
        y = 3;
    }
    if !view.layers.is_empty() {
        draw_layers(view, pen::rows(inner, y, inner.height), buf, theme);
        y = y.saturating_add(u16::try_from(view.layers.len()).unwrap_or(u16::MAX)).saturating_add(2);
    }
    let most = if inner.height >= ROOMY { 4 } else { 2 };
    for line in &lines(view.sentence, inner.width, most, theme) {
        let row = pen::rows(inner, y, 1);
        pen::put(buf, row, row.x, row.y, line, theme.style(Meaning::Plain));
        y = y.saturating_add(1);
    }
    if !view.sentence.is_empty() {
        y = y.saturating_add(1);
    }
    if !view.cards.is_empty() {
        let note = u16::from(!view.note.is_empty());
        let room = inner.height.saturating_sub(y).saturating_sub(note);
        y = y.saturating_add(draw_cards(view, pen::rows(inner, y, room), buf, theme));
    }
    if !view.note.is_empty() {
        let row = pen::rows(inner, y, 1);
        let note = text::fit(&format!("noted: {}", view.note), row.width, theme.symbols.ellipsis);
        pen::put(buf, row, row.x, row.y, &note, theme.style(Meaning::Muted));
    }
}

/// The words in rows, at most so many, the last with an ellipsis where there are more.
fn lines(words: &str, width: u16, most: usize, theme: &Theme) -> Vec<String> {
    let mut lines = text::wrap(words, width);
    if lines.len() > most {
        let rest = lines.split_off(most.saturating_sub(1));
        if most > 0 {
            lines.push(text::fit(&rest.join(" "), width, theme.symbols.ellipsis));
        }
    }
    lines
}

/// What hurts stands above what comes next, whole; what is left of the body.
fn draw_caution(view: &JobView<'_>, body: Rect, buf: &mut Buffer, theme: &Theme) -> Rect {
    let lines = text::wrap(view.caution, body.width.saturating_sub(2));
    let height = body.height.saturating_sub(u16::try_from(lines.len()).unwrap_or(u16::MAX));
    for (line, y) in lines.iter().zip(height..) {
        let row = pen::rows(body, y, 1);
        pen::put(buf, row, row.x.saturating_add(1), row.y, line, theme.style(Meaning::Error));
    }
    pen::rows(body, 0, height)
}

fn draw_next(view: &JobView<'_>, row: Rect, buf: &mut Buffer, theme: &Theme) {
    let left = row.x.saturating_add(1);
    let x = pen::put(buf, row, left, row.y, "next: ", theme.style(Meaning::Muted));
    let room = row.right().saturating_sub(x.saturating_add(1));
    let words = text::fit(view.next, room, theme.symbols.ellipsis);
    pen::put(buf, row, x, row.y, &words, theme.style(Meaning::Title));
}

fn draw_layers(view: &JobView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let widths = if area.width >= WIDE_FROM { WIDE } else { NARROW };
    let columns = |row: Rect| {
        let mut x = row.x.saturating_add(BEFORE);
        widths.map(|width| {
            let column = Rect { x, width: width.saturating_sub(1), ..row }.intersection(row);
            x = x.saturating_add(width);
            column
        })
    };
    let row = pen::rows(area, 0, 1);
    for (column, heading) in columns(row).into_iter().zip(HEADINGS) {
        pen::put(buf, column, column.x, column.y, heading, theme.style(Meaning::Muted));
    }
    for (layer, y) in view.layers.iter().zip(1_u16..) {
        let row = pen::rows(area, y, 1);
        let (sign, meaning) = match (layer.is_done, layer.is_next) {
            (true, _) => (theme.symbols.right, Meaning::Right),
            (false, true) => (theme.symbols.pointer, Meaning::Selected),
            (false, false) => (theme.symbols.waiting, Meaning::Muted),
        };
        pen::put(buf, row, row.x, row.y, sign, theme.style(meaning));
        let name = if layer.is_next { Meaning::Title } else { Meaning::Plain };
        let fitted = text::fit(layer.name, BEFORE.saturating_sub(3), theme.symbols.ellipsis);
        pen::put(buf, row, row.x.saturating_add(2), row.y, &fitted, theme.style(name));
        for (column, cell) in columns(row).into_iter().zip(layer.cells) {
            let is_empty = cell == "-";
            let meaning = if is_empty { Meaning::Muted } else { Meaning::Value };
            let cell = text::fit(cell, column.width, theme.symbols.ellipsis);
            pen::put(buf, column, column.x, column.y, &cell, theme.style(meaning));
        }
    }
}

/// The cards in a row as little boxes with their coats, and what is known of the marked one; the rows that they took.
fn draw_cards(view: &JobView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) -> u16 {
    let signs = theme.symbols;
    let room = usize::from(area.width.saturating_sub(8) / CARD).max(1);
    let first = pen::first_row(view.card, view.cards.len(), room);
    pen::put(buf, area, area.x, area.y.saturating_add(1), "cards", theme.style(Meaning::Muted));
    let mut x = area.x.saturating_add(8);
    for (place, card) in view.cards.iter().enumerate().skip(first).take(room) {
        let is_marked = place == view.card;
        let meaning = match (is_marked, card.is_chosen) {
            (true, _) => Meaning::Title,
            (false, true) => Meaning::Right,
            (false, false) => Meaning::Plain,
        };
        let style = theme.style(meaning);
        let (wall, line, [over, over_end]) = (signs.wall, signs.rule.repeat(5), signs.card_top);
        let mark = if is_marked { signs.pointer } else { " " };
        pen::put(buf, pen::rows(area, 0, 1), x, area.y, &format!(" {over}{line}{over_end}"), style);
        let coats = format!("{mark}{wall} {:>2}  {wall}", card.coats);
        pen::put(buf, pen::rows(area, 1, 1), x, area.y.saturating_add(1), &coats, style);
        let under = format!(" {}{line}{}", signs.corner_left, signs.corner_right);
        pen::put(buf, pen::rows(area, 2, 1), x, area.y.saturating_add(2), &under, style);
        let word = if card.is_chosen { "chosen".to_owned() } else { format!("card {}", card.number) };
        pen::put(buf, pen::rows(area, 3, 1), x.saturating_add(1), area.y.saturating_add(3), &word, style);
        x = x.saturating_add(CARD);
    }
    let mut rows = 4;
    let words = view.cards.get(view.card).map_or("", |card| card.words);
    // What comes out of comparing them has what the marked card leaves, and that leaves it what it can.
    let room = usize::from(area.height.saturating_sub(rows));
    let compared = text::wrap(view.compared, area.width).len();
    let of_card = room.saturating_sub(compared).max(2).min(room);
    let words = lines(words, area.width, of_card, theme);
    let compared = lines(view.compared, area.width, room.saturating_sub(words.len()), theme);
    for (lines, meaning) in [(words, Meaning::Plain), (compared, Meaning::Muted)] {
        for line in &lines {
            let row = pen::rows(area, rows, 1);
            pen::put(buf, row, row.x, row.y, line, theme.style(meaning));
            rows = rows.saturating_add(1);
        }
    }
    rows
}
