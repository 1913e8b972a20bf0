//! What is kept of earlier mixes: which, how old, until when, and what the marked one holds; or what happened to the mix
//! that it is of.

use super::frame::{Chrome, Top};
use super::mix_events::{self, EventsView};
use super::waste::say;
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::list::{List, ListCell, ListRow};
use crate::tui::widgets::pen;
use crate::tui::widgets::prompt::Input;
use crate::units::{Division, Grams, Share};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// A leftover.
#[derive(Clone, Copy, Debug)]
pub struct LeftoverRow<'a> {
    /// The number of the mix it is of.
    pub number: u32,
    /// The colour's code and the layer.
    pub of: &'a str,
    /// How much there is.
    pub holds: Grams,
    /// How old it is, in whole days; none where that is not known.
    pub days: Option<i64>,
    /// Until when it may be used, in words.
    pub use_by: &'a str,
    /// Why it cannot be used, in a word; empty if it can.
    pub unfit: &'a str,
}

/// What is in one.
#[derive(Clone, Copy, Debug)]
pub struct LeftoverPart<'a> {
    /// The toner's code and name.
    pub toner: &'a str,
    /// How much of it.
    pub mass: Grams,
    /// Which share of the whole.
    pub share: Share,
}

/// The leftovers.
#[derive(Clone, Copy, Debug)]
pub struct LeftoversView<'a> {
    /// Those to show.
    pub rows: &'a [LeftoverRow<'a>],
    /// How many there are.
    pub all: usize,
    /// What is being typed.
    pub query: Input<'a>,
    /// By what they are sorted, in words.
    pub sort: &'a str,
    /// Which is marked.
    pub selected: usize,
    /// What is in that one.
    pub parts: &'a [LeftoverPart<'a>],
    /// What is to be said of it, in a sentence; empty if nothing.
    pub said: &'a str,
    /// The mix whose events are looked at.
    pub opened: Option<EventsView<'a>>,
    /// How far the clock on the wall is ahead of UTC, in seconds.
    pub seconds_east: i32,
    /// How the scale is, in a word; empty if there is nothing to say.
    pub link_words: &'a str,
    /// What is about it.
    pub chrome: Chrome<'a>,
}

/// Draws it.
pub fn draw(view: &LeftoversView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let middle = if view.opened.is_some() { "one leftover".to_owned() } else { counted(view, theme) };
    let scale =
        if view.link_words.is_empty() { String::new() } else { format!("scale  {}", view.link_words) };
    let top = Top { title: "Leftovers", middle: &middle, right: &scale, right_meaning: Meaning::Plain };
    let Some(body) = view.chrome.draw(&top, area, buf, theme) else { return };
    if let Some(opened) = &view.opened {
        return mix_events::draw(opened, view.seconds_east, body, buf, theme);
    }
    if view.all == 0 {
        return say("nothing is kept of earlier mixes", pen::rows(body, 1, body.height), buf, theme);
    }
    draw_query(view, pen::rows(body, 1, 1), buf, theme);
    let body = pen::rows(body, 3, body.height);
    if view.rows.is_empty() {
        return say("no leftover has all of these words", body, buf, theme);
    }
    // What the marked one holds follows the list; the list gives way to it, down to four rows.
    let parts = u16::try_from(view.parts.len()).unwrap_or(u16::MAX);
    let wanted = parts.saturating_add(4);
    let count = u16::try_from(view.rows.len()).unwrap_or(u16::MAX);
    let upper = count.min(body.height.saturating_sub(wanted).max(4)).min(body.height);
    draw_list(view, pen::rows(body, 0, upper), buf, theme);
    let lower = pen::rows(body, upper.saturating_add(1), body.height);
    let number = view.rows.get(view.selected).map_or(0, |row| row.number);
    let title = format!("what is left of mix {number:04}");
    let left = lower.x.saturating_add(3);
    pen::put(buf, lower, left, lower.y, &title, theme.style(Meaning::Title));
    let mut y = 1;
    for line in text::wrap(view.said, lower.width.saturating_sub(6)).iter().take(2) {
        let row = pen::rows(lower, y, 1);
        pen::put(buf, row, left, row.y, line, theme.style(Meaning::Error));
        y = y.saturating_add(1);
    }
    for part in view.parts {
        let row = pen::rows(lower, y, 1);
        let toner = text::left(part.toner, 30, theme.symbols.ellipsis);
        pen::put(buf, row, left, row.y, &toner, theme.style(Meaning::Plain));
        let mass = theme.notation.mass(part.mass, Division::TENTH);
        pen::put_right(buf, row, row.x.saturating_add(46), row.y, &mass, theme.style(Meaning::Plain));
        let share = theme.notation.percent(part.share, 1);
        pen::put_right(buf, row, row.x.saturating_add(56), row.y, &share, theme.style(Meaning::Muted));
        y = y.saturating_add(1);
    }
}

/// How many are shown, of how many, and how much that is.
fn counted(view: &LeftoversView<'_>, theme: &Theme) -> String {
    let shown: Grams = view.rows.iter().map(|row| row.holds).sum();
    let mass = theme.notation.mass(shown, Division::TENTH);
    match (view.rows.len(), view.all) {
        (_, 0) => String::new(),
        (1, 1) => "1 leftover".to_owned(),
        (shown, all) if shown == all => format!("{all} leftovers, {mass}"),
        (0, all) => format!("none of {all} leftovers"),
        (shown, all) => format!("{shown} of {all} leftovers, {mass}"),
    }
}

fn draw_query(view: &LeftoversView<'_>, row: Rect, buf: &mut Buffer, theme: &Theme) {
    let muted = theme.style(Meaning::Muted);
    let x = pen::put(buf, row, row.x.saturating_add(3), row.y, "find  ", muted);
    pen::put_right(buf, row, row.right().saturating_sub(1), row.y, view.sort, muted);
    let room = row.right().saturating_sub(x).saturating_sub(text::width(view.sort).saturating_add(3));
    let input = Rect { x, width: room, ..row }.intersection(row);
    view.query.draw(input, buf, theme);
    if view.query.text.is_empty() {
        let words = "a number, a colour, a toner, or expired";
        let words = text::fit(words, room.saturating_sub(2), theme.symbols.ellipsis);
        pen::put(buf, input, input.x.saturating_add(2), input.y, &words, muted);
    }
}

fn draw_list(view: &LeftoversView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let texts: Vec<[String; 3]> = view
        .rows
        .iter()
        .map(|row| {
            [
                format!("{:04}", row.number),
                theme.notation.mass(row.holds, Division::TENTH),
                match row.days {
                    None => String::new(),
                    Some(0) => "of today".to_owned(),
                    Some(1) => "1 day old".to_owned(),
                    Some(days) => format!("{days} days old"),
                },
            ]
        })
        .collect();
    let rows: Vec<ListRow<'_>> = view
        .rows
        .iter()
        .zip(&texts)
        .map(|(row, [number, holds, age])| ListRow {
            swatch: None,
            cells: vec![
                ListCell::number(number),
                ListCell::words(row.of),
                ListCell::number(holds),
                ListCell::words(age),
                ListCell::words(row.use_by),
                ListCell::words(row.unfit),
            ],
        })
        .collect();
    List { rows: &rows, selected: Some(view.selected) }.draw(area, buf, theme);
}
