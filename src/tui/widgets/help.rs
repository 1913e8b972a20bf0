//! The help: what can be done here with which key, in sentences, and what the signs mean. Made from the same
//! bindings that find the action.

use super::keyline::Keys;
use super::pen;
use crate::tui::keys::{Action, Context};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// A line of the page.
enum Entry {
    Heading(&'static str),
    Key(String, &'static str),
    Blank,
}

/// Draws the page over the area, from line `scroll` on: first what can be done now where the person was, then
/// what works everywhere, then the signs.
pub fn draw(keys: &Keys<'_>, scroll: usize, area: Rect, buf: &mut Buffer, theme: &Theme) {
    pen::wipe(buf, area, theme.base());
    let entries = entries(keys, theme);
    let height = usize::from(area.height);
    let scroll = scroll.min(entries.len().saturating_sub(height));
    let widest = entries.iter().map(|entry| match entry {
        Entry::Key(keys, _) => text::width(keys),
        _ => 0,
    });
    let column = widest.max().unwrap_or(0).min(24).saturating_add(5);
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
                let room = row.right().saturating_sub(x.saturating_add(1));
                let sentence = text::fit(sentence, room, theme.symbols.ellipsis);
                pen::put(buf, row, x, row.y, &sentence, theme.style(Meaning::Plain));
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

/// How many lines the page has: nobody need scroll further.
pub fn lines(keys: &Keys<'_>, theme: &Theme) -> usize {
    entries(keys, theme).len()
}

fn entries(keys: &Keys<'_>, theme: &Theme) -> Vec<Entry> {
    let bound = keys.bindings.actions(keys.context);
    let everywhere = keys.bindings.actions(Context::Everywhere);
    let here: Vec<Action> = keys
        .available
        .iter()
        .copied()
        .filter(|action| bound.contains(action) && !everywhere.contains(action))
        .collect();
    let mut entries = Vec::new();
    let mut section = |heading, actions: &[Action]| {
        let hints = keys.bindings.sentences(keys.context, actions, theme.symbols);
        if !hints.is_empty() {
            entries.push(Entry::Heading(heading));
            entries.extend(hints.into_iter().map(|hint| Entry::Key(hint.keys, hint.sentence)));
            entries.push(Entry::Blank);
        }
    };
    section(keys.context.heading(), &here);
    section(Context::Everywhere.heading(), &everywhere);
    entries.push(Entry::Heading("Signs"));
    let signs = theme.symbols;
    entries.extend(
        [
            (signs.right, "Right: within its tolerance."),
            (signs.pointer, "Being poured, or what a key would act on."),
            (signs.part, "Some of it is in, more is to come."),
            (signs.waiting, "Not yet begun."),
            (signs.alert, "Over, or something to look at."),
            (signs.left_off, "Knowingly left off."),
            (signs.foreign, "Not in this formula."),
        ]
        .map(|(sign, sentence)| Entry::Key(sign.to_owned(), sentence)),
    );
    entries
}
