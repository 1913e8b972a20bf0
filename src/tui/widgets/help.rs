//! The help: what can be done here with which key, in sentences, and what the signs mean. Made from the same
//! bindings that find the action.

use super::keyline::Keys;
use super::pen;
use crate::tui::keys::{Action, Context};
use crate::tui::text;
use crate::tui::theme::{Meaning, Symbols, Theme};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// A line of the page.
enum Entry {
    Heading(&'static str),
    /// The keys and what they do, or the rest of a long sentence without them.
    Key(String, String),
    Blank,
}

/// Draws the page over the area, from line `scroll` on: first what can be done now where the person was, then
/// what works everywhere, then the signs.
pub fn draw(keys: &Keys<'_>, scroll: usize, area: Rect, buf: &mut Buffer, theme: &Theme) {
    pen::wipe(buf, area, theme.base());
    let (entries, column) = entries(keys, area.width, theme);
    let height = usize::from(area.height);
    let scroll = scroll.min(entries.len().saturating_sub(height));
    for (entry, at) in entries.iter().skip(scroll).zip(0..area.height) {
        let row = pen::rows(area, at, 1);
        match entry {
            Entry::Blank => {}
            Entry::Heading(words) => {
                pen::put(buf, row, row.x.saturating_add(1), row.y, words, theme.style(Meaning::Title));
            }
            Entry::Key(keys, sentence) => {
                pen::put(buf, row, row.x.saturating_add(3), row.y, keys, theme.style(Meaning::KeyHint));
                let x = row.x.saturating_add(column);
                pen::put(buf, row, x, row.y, sentence, theme.style(Meaning::Plain));
            }
        }
    }
    let below = entries.len().saturating_sub(scroll.saturating_add(height));
    if below > 0 && area.height > 0 {
        let row = pen::rows(area, area.height.saturating_sub(1), 1);
        pen::wipe(buf, row, theme.base());
        let words = format!("{below} more lines below");
        pen::put(buf, row, row.x.saturating_add(3), row.y, &words, theme.style(Meaning::Muted));
    }
}

/// How many lines the page has at that width: nobody need scroll further.
pub fn lines(keys: &Keys<'_>, width: u16, theme: &Theme) -> usize {
    entries(keys, width, theme).0.len()
}

/// The lines, and the column of the sentences.
fn entries(keys: &Keys<'_>, width: u16, theme: &Theme) -> (Vec<Entry>, u16) {
    let bound = keys.bindings.actions(keys.context);
    let mut everywhere = keys.bindings.actions(Context::Everywhere);
    if keys.context == Context::FirstRun {
        // There is no bench yet: no scale to look at, nothing to save again.
        everywhere.retain(|action| matches!(action, Action::Help | Action::Suspend | Action::Quit));
    }
    let here: Vec<Action> = keys
        .available
        .iter()
        .copied()
        .filter(|action| bound.contains(action) && !everywhere.contains(action))
        .collect();
    let said = |actions: &[Action]| -> Vec<(String, &'static str)> {
        let hints = keys.bindings.sentences(keys.context, actions, theme.symbols);
        hints.into_iter().map(|hint| (hint.keys, hint.sentence)).collect()
    };
    let signs = theme.symbols;
    let sections = [
        (keys.context.heading(), said(&here)),
        (Context::Everywhere.heading(), said(&everywhere)),
        ("Signs", sign_sentences(signs)),
    ];
    let widest = sections.iter().flat_map(|(_, lines)| lines).map(|(keys, _)| text::width(keys)).max();
    let column = widest.unwrap_or(0).min(24).saturating_add(5);
    let room = width.saturating_sub(column.saturating_add(1));
    let mut entries = Vec::new();
    for (heading, lines) in sections.into_iter().filter(|(_, lines)| !lines.is_empty()) {
        if !entries.is_empty() {
            entries.push(Entry::Blank);
        }
        entries.push(Entry::Heading(heading));
        for (mut keys, sentence) in lines {
            for part in text::wrap(sentence, room) {
                entries.push(Entry::Key(std::mem::take(&mut keys), part));
            }
        }
    }
    (entries, column)
}

fn sign_sentences(signs: &Symbols) -> Vec<(String, &'static str)> {
    [
        (signs.right, "Right: within its tolerance."),
        (signs.pointer, "Being poured, or what a key would act on."),
        (signs.part, "Some of it is in, more is to come."),
        (signs.waiting, "Not yet begun."),
        (signs.alert, "Over, or something to look at."),
        (signs.left_off, "Knowingly left off."),
        (signs.foreign, "Not in this formula."),
    ]
    .map(|(sign, sentence)| (sign.to_owned(), sentence))
    .to_vec()
}
