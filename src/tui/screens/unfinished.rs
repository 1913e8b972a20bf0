//! The mixes that wait to be taken up again: put aside, or cut off when the program ended.

use super::frame::{Chrome, Top};
use crate::mix::Session;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::list::{List, ListCell, ListRow};
use crate::tui::widgets::pen;
use crate::tui::widgets::record::Record;
use crate::units::{Grams, Millilitres, VolumeShown};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// One mix that waits.
#[derive(Clone, Copy, Debug)]
pub struct UnfinishedRow<'a> {
    /// Its number in the book.
    pub number: u32,
    /// The colour's name.
    pub name: &'a str,
    /// Which layer.
    pub layer: &'a str,
    /// How much was asked for.
    pub volume: Millilitres,
    /// What is in the cup.
    pub in_cup: Grams,
    /// Why it waits: `put aside`, `cut off`.
    pub why: &'a str,
    /// When it was last worked on, as people say it: `today 14:05`.
    pub when: &'a str,
}

/// Which mixes they are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ListOf {
    /// Those that are not done.
    Unfinished,
    /// Those that are done, and whose cups are not emptied.
    Cups,
}

/// Mixes to take up again, or cups to be emptied.
#[derive(Clone, Copy, Debug)]
pub struct UnfinishedView<'a> {
    /// Which mixes they are.
    pub of: ListOf,
    /// The mixes, the latest first.
    pub rows: &'a [UnfinishedRow<'a>],
    /// Which is marked.
    pub selected: usize,
    /// The marked mix as it stands, to show its record.
    pub preview: Option<&'a Session>,
    /// How the scale is, in a word; empty if there is nothing to say.
    pub link_words: &'a str,
    /// What is about it.
    pub chrome: Chrome<'a>,
}

/// Draws it.
pub fn draw(view: &UnfinishedView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let (title, what, none) = match view.of {
        ListOf::Unfinished => {
            ("Mixes to go on with", "mix", "no mix waits: every one begun is done or given up")
        }
        ListOf::Cups => {
            ("Cups after spraying", "cup", "no cup waits: what was mixed is sprayed, kept or thrown away")
        }
    };
    let count = match (view.rows.len(), view.of) {
        (1, _) => format!("1 {what} waits"),
        (many, ListOf::Unfinished) => format!("{many} mixes wait"),
        (many, ListOf::Cups) => format!("{many} cups wait"),
    };
    let scale =
        if view.link_words.is_empty() { String::new() } else { format!("scale  {}", view.link_words) };
    let top = Top { title, middle: &count, right: &scale, right_meaning: Meaning::Plain };
    let Some(body) = view.chrome.draw(&top, area, buf, theme) else { return };
    let body = pen::rows(body, 1, body.height);
    if view.rows.is_empty() {
        pen::put(buf, body, body.x.saturating_add(3), body.y, none, theme.style(Meaning::Muted));
        return;
    }
    // The record of the marked one follows the list; the list gives way to it, down to four rows.
    let record = view.preview.map(|session| Record { session, net: Some(session.holds()), saved: &[] });
    let wanted = record.map_or(0, |record| record.rows().saturating_add(3));
    let count = u16::try_from(view.rows.len()).unwrap_or(u16::MAX);
    let upper = count.min(body.height.saturating_sub(wanted).max(4)).min(body.height);
    let lower = body.height.saturating_sub(upper).saturating_sub(1).min(wanted);
    draw_list(view, pen::rows(body, 0, upper), buf, theme);
    if let Some(record) = record {
        let area = pen::rows(body, upper.saturating_add(1), lower);
        let number = view.rows.get(view.selected).map_or(0, |row| row.number);
        let job = record.session.start().job.as_ref().map(|job| format!(", for {job}")).unwrap_or_default();
        let title = format!("what is in the cup of mix {number:04}{job}");
        pen::put(buf, area, area.x.saturating_add(3), area.y, &title, theme.style(Meaning::Title));
        record.draw(pen::rows(area, 2, area.height.saturating_sub(2)), buf, theme);
    }
}

fn draw_list(view: &UnfinishedView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let notation = theme.notation;
    // Measures with a long name leave no room for the word.
    let word = if notation.volume == VolumeShown::Millilitres { " in" } else { "" };
    // The texts must outlive the cells that borrow them.
    let texts: Vec<[String; 3]> = view
        .rows
        .iter()
        .map(|row| {
            [
                format!("{:04}", row.number),
                notation.volume(row.volume, 0),
                format!("{} {}{}", notation.weight_to(row.in_cup, 1), notation.mass_unit(), word),
            ]
        })
        .collect();
    let rows: Vec<ListRow<'_>> = view
        .rows
        .iter()
        .zip(&texts)
        .map(|(row, [number, volume, in_cup])| ListRow {
            swatch: None,
            // How much was asked for does not matter any more once the cup is to be emptied.
            cells: [
                Some(ListCell::number(number)),
                Some(ListCell::words(row.name)),
                Some(ListCell::words(row.layer)),
                (view.of == ListOf::Unfinished).then(|| ListCell::number(volume)),
                Some(ListCell::number(in_cup)),
                Some(ListCell::words(row.why)),
                Some(ListCell::words(row.when)),
            ]
            .into_iter()
            .flatten()
            .collect(),
        })
        .collect();
    List { rows: &rows, selected: Some(view.selected) }.draw(area, buf, theme);
}
