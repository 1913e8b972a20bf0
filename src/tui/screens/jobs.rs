//! The repairs in a list: what is painted, and what comes next.

use super::frame::{Chrome, Top};
use crate::tui::keys::{Action, Context};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::list::{List, ListCell, ListRow};
use crate::tui::widgets::pen;
use crate::tui::widgets::prompt::Input;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// A job in a row.
#[derive(Clone, Copy, Debug)]
pub struct JobRow<'a> {
    /// What the shop calls it.
    pub name: &'a str,
    /// Which vehicle, if that was said.
    pub vehicle: &'a str,
    /// The colour's code and name.
    pub colour: &'a str,
    /// What comes next, in a few words.
    pub next: &'a str,
}

/// The jobs.
#[derive(Clone, Copy, Debug)]
pub struct JobsView<'a> {
    /// The jobs that have what is typed.
    pub rows: &'a [JobRow<'a>],
    /// Whether they are the closed ones.
    pub closed: bool,
    /// Whether these are being read.
    pub reading: bool,
    /// What is being typed.
    pub query: Input<'a>,
    /// Which row is marked.
    pub selected: usize,
    /// How the scale is, in a word; empty if there is nothing to say.
    pub link_words: &'a str,
    /// What is about it.
    pub chrome: Chrome<'a>,
}

/// From this width on the vehicles stand in the list.
const WIDE: u16 = 110;

/// Draws it.
pub fn draw(view: &JobsView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let state = if view.closed { "closed" } else { "open" };
    let middle = match view.rows.len() {
        1 => format!("1 {state}"),
        many => format!("{many} {state}"),
    };
    let scale =
        if view.link_words.is_empty() { String::new() } else { format!("scale  {}", view.link_words) };
    let top = Top { title: "Jobs", middle: &middle, right: &scale, right_meaning: Meaning::Plain };
    let Some(body) = view.chrome.draw(&top, area, buf, theme) else { return };
    let row = pen::rows(body, 1, 1);
    let x = pen::put(buf, row, row.x.saturating_add(3), row.y, "find  ", theme.style(Meaning::Muted));
    let input = Rect { x, width: row.right().saturating_sub(x.saturating_add(2)), ..row }.intersection(row);
    view.query.draw(input, buf, theme);
    if view.query.text.is_empty() {
        let words = "a job's name, its vehicle or its colour's code";
        pen::put(buf, input, input.x.saturating_add(2), input.y, words, theme.style(Meaning::Muted));
    }
    let lower = pen::rows(body, 3, body.height.saturating_sub(3));
    if view.rows.is_empty() {
        return say(&empty(view, theme), lower, buf, theme);
    }
    // What comes next of the marked one stands below in full.
    let next = pen::rows(lower, lower.height.saturating_sub(1), 1);
    if let Some(marked) = view.rows.get(view.selected) {
        let x = pen::put(buf, next, next.x.saturating_add(1), next.y, "next: ", theme.style(Meaning::Muted));
        let room = next.right().saturating_sub(x.saturating_add(1));
        let words = text::fit(marked.next, room, theme.symbols.ellipsis);
        pen::put(buf, next, x, next.y, &words, theme.style(Meaning::Title));
    }
    let wide = area.width >= WIDE;
    let rows: Vec<ListRow<'_>> = view
        .rows
        .iter()
        .map(|row| {
            let cells = [row.name, row.vehicle, row.colour, row.next];
            let shown = cells.iter().enumerate().filter(|(column, _)| wide || *column != 1);
            ListRow { swatch: None, cells: shown.map(|(_, cell)| ListCell::words(cell)).collect() }
        })
        .collect();
    let list = pen::rows(lower, 0, lower.height.saturating_sub(2));
    List { rows: &rows, selected: Some(view.selected) }.draw(list, buf, theme);
}

/// What is said where there is no job.
fn empty(view: &JobsView<'_>, theme: &Theme) -> String {
    let keys = &view.chrome.keys;
    let key = |action| keys.bindings.shown(Context::Jobs, action, theme.symbols);
    match (view.query.text.is_empty(), view.closed) {
        (false, _) => "no job has all of these words".to_owned(),
        (true, true) if view.reading => "reading the book".to_owned(),
        (true, true) => "no job was closed yet".to_owned(),
        (true, false) => {
            let how = key(Action::NewJob).map(|key| format!(": {key} opens one")).unwrap_or_default();
            format!(
                "no job is open{how}. A job is a repair: which panels get which colour. It says what to mix, counts the \
                 coats, keeps the flash-off, bake and pot life, and remembers its spray-out cards."
            )
        }
    }
}

fn say(words: &str, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let clip = pen::columns(area, 3, area.width.saturating_sub(6));
    for (line, y) in text::wrap(words, clip.width).iter().zip(clip.top()..clip.bottom()) {
        pen::put(buf, clip, clip.x, y, line, theme.style(Meaning::Muted));
    }
}
