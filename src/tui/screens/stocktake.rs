//! A stocktake by weighing: the marked tin on the scale, what was found and booked, and the tins to count.

use super::frame::{Chrome, Top};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::digits::Big;
use crate::tui::widgets::list::{List, ListCell, ListRow};
use crate::tui::widgets::pen;
use crate::units::{Division, Grams};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// What was found in a tin, beside what the book says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Found {
    /// What is in it.
    pub found: Grams,
    /// What the book said.
    pub booked: Grams,
    /// How much of what it lacks was poured without a tin's name.
    pub unnamed: Grams,
}

/// A tin to count.
#[derive(Clone, Copy, Debug)]
pub struct CountRow<'a> {
    /// Its label.
    pub label: &'a str,
    /// The toner's code and name.
    pub toner: &'a str,
    /// What the book says that it holds.
    pub booked: Grams,
    /// What was found in it in this stocktake.
    pub done: Option<Found>,
}

/// The stocktake.
#[derive(Clone, Copy, Debug)]
pub struct StocktakeView<'a> {
    /// The tins.
    pub rows: &'a [CountRow<'a>],
    /// Which is marked.
    pub selected: usize,
    /// What stands on the scale, tin and all; none when there is no number to trust.
    pub gross: Option<Grams>,
    /// Whether it is a weight that can be taken.
    pub steady: bool,
    /// What the marked tin weighs empty, as far as is known.
    pub empty: Option<Grams>,
    /// What is in it by the scale; none where that cannot be told.
    pub found: Option<Grams>,
    /// How much of its toner was poured without a tin's name and is not found yet.
    pub unnamed: Grams,
    /// What is to be done, in a sentence.
    pub advice: &'a str,
    /// The scale's division.
    pub division: Division,
    /// How the scale is, in a word; empty if there is nothing to say.
    pub link_words: &'a str,
    /// What is about it.
    pub chrome: Chrome<'a>,
}

/// Where everything begins, and where what belongs to a word stands.
const LEFT: u16 = 3;
const BESIDE: u16 = 13;
/// The rows that the figures take, the list's heading behind them.
const FIGURES: u16 = 13;

/// Draws it.
pub fn draw(view: &StocktakeView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let counted = view.rows.iter().filter(|row| row.done.is_some()).count();
    let middle = format!("{counted} of {} tins counted", view.rows.len());
    let scale =
        if view.link_words.is_empty() { String::new() } else { format!("scale  {}", view.link_words) };
    let right_meaning = if view.steady { Meaning::Steady } else { Meaning::Plain };
    let top = Top { title: "Stocktake", middle: &middle, right: &scale, right_meaning };
    let Some(body) = view.chrome.draw(&top, area, buf, theme) else { return };
    let body = pen::rows(body, 1, body.height);
    let Some(marked) = view.rows.get(view.selected) else {
        let none = "the book knows no tin on the shelf: receive it first, or scan it";
        pen::put(buf, body, body.x.saturating_add(LEFT), body.y, none, theme.style(Meaning::Muted));
        return;
    };
    let inner = pen::columns(body, LEFT, body.width.saturating_sub(LEFT));
    // A question leaves little room: the list goes first, then the large number.
    let large = body.height >= FIGURES.saturating_add(2);
    let mut y = 0;
    if large {
        figure(view, theme).draw(pen::rows(inner, 0, 6), buf, theme);
        y = 6;
    }
    for line in text::wrap(view.advice, inner.width.saturating_sub(2)).iter().take(2) {
        let row = pen::rows(inner, y, 1);
        pen::put(buf, row, row.x, row.y, line, theme.style(Meaning::Doubt));
        y = y.saturating_add(1);
    }
    y = if large { 8 } else { y };
    for (word, value, meaning) in facts(view, marked, theme) {
        let row = pen::rows(inner, y, 1);
        pen::put(buf, row, row.x, row.y, word, theme.style(Meaning::Muted));
        let x = row.x.saturating_add(BESIDE);
        let value = text::fit(&value, row.right().saturating_sub(x), theme.symbols.ellipsis);
        pen::put(buf, row, x, row.y, &value, theme.style(meaning));
        y = y.saturating_add(1);
    }
    draw_list(view, pen::rows(body, y.saturating_add(1), body.height), buf, theme);
}

/// The number: what is in the tin, or what stands on the scale where that is not known.
fn figure(view: &StocktakeView<'_>, theme: &Theme) -> Big {
    let unit = theme.notation.mass_unit();
    let meaning = if view.steady { Meaning::Steady } else { Meaning::Moving };
    let number = |mass| theme.notation.weight(mass, view.division);
    match (view.found, view.gross) {
        (Some(found), _) => Big { number: number(found), words: format!("{unit} in the tin"), meaning },
        (None, Some(gross)) => Big { number: number(gross), words: format!("{unit} on the scale"), meaning },
        (None, None) => Big { number: String::new(), words: "no weight".to_owned(), meaning: Meaning::Doubt },
    }
}

/// What is known of the marked tin, a word and its value each.
fn facts(
    view: &StocktakeView<'_>,
    marked: &CountRow<'_>,
    theme: &Theme,
) -> Vec<(&'static str, String, Meaning)> {
    let notation = theme.notation;
    let weight = |mass| notation.mass(mass, view.division);
    let dot = theme.symbols.dot;
    let empty = view.empty.map_or("not known".to_owned(), weight);
    let gross = view.gross.map_or("no weight".to_owned(), weight);
    let mut facts = vec![
        ("tin", format!("{} {dot} {}", marked.label, marked.toner), Meaning::Value),
        ("weighs", format!("{gross}, empty {empty}"), Meaning::Value),
        ("booked", weight(marked.booked), Meaning::Value),
    ];
    let live = |found| {
        let unnamed = (marked.booked - found).min(view.unnamed).max(Grams::ZERO);
        ("found", Found { found, booked: marked.booked, unnamed })
    };
    let found = view.found.map(live).or(marked.done.map(|done| ("counted", done)));
    if let Some((word, found)) = found {
        let (words, meaning) = difference(found, view.division, theme);
        facts.push((word, format!("{} {dot} {words}", weight(found.found)), meaning));
    }
    facts
}

/// How far what was found is from what the book said: what was poured without a tin's name, and what beyond that is missing.
fn difference(of: Found, division: Division, theme: &Theme) -> (String, Meaning) {
    let missing = division.round(of.booked - of.found - of.unnamed);
    let mass = theme.notation.mass(missing.abs(), division);
    let unnamed = theme.notation.mass(of.unnamed, division);
    if of.unnamed.is_positive() && missing.is_positive() {
        (format!("{unnamed} poured unnamed, {mass} missing"), Meaning::Over)
    } else if of.unnamed.is_positive() {
        (format!("{unnamed} poured unnamed"), Meaning::Value)
    } else if missing.is_positive() {
        (format!("{mass} missing"), Meaning::Over)
    } else if missing.is_negative() {
        (format!("{mass} more than booked"), Meaning::Over)
    } else {
        ("as booked".to_owned(), Meaning::Value)
    }
}

/// The same where there is no room for all of it: what is missing goes before what was poured.
fn in_short(of: Found, division: Division, theme: &Theme) -> String {
    let missing = division.round(of.booked - of.found - of.unnamed);
    let beside = if missing.is_zero() {
        of
    } else {
        Found { booked: of.booked - of.unnamed, unnamed: Grams::ZERO, ..of }
    };
    difference(beside, division, theme).0
}

fn draw_list(view: &StocktakeView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let texts: Vec<[String; 2]> = view
        .rows
        .iter()
        .map(|row| match row.done {
            Some(found) => [
                theme.notation.mass(found.found, view.division),
                format!("counted: {}", in_short(found, view.division, theme)),
            ],
            None => [theme.notation.mass(row.booked, view.division), "booked".to_owned()],
        })
        .collect();
    let rows: Vec<ListRow<'_>> = view
        .rows
        .iter()
        .zip(&texts)
        .map(|(row, [mass, words])| ListRow {
            swatch: None,
            cells: vec![
                ListCell::words(row.toner),
                ListCell::words(row.label),
                ListCell::number(mass),
                ListCell::words(words),
            ],
        })
        .collect();
    List { rows: &rows, selected: Some(view.selected) }.draw(area, buf, theme);
}
