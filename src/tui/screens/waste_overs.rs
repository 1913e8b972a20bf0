//! The toners that went over, and the pours that were put right: how often, by how much, and what that saved.

use super::waste::{WasteView, draw_find, say};
use crate::book::Mark;
use crate::report::overs::{Against, Corrections, Over};
use crate::report::waste::Waste;
use crate::report::{Shown, tables};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::pen;
use crate::tui::widgets::prompt::Input;
use crate::units::Grams;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// The page.
#[derive(Clone, Copy, Debug)]
pub struct OversView<'a> {
    /// The rows to show.
    pub rows: &'a [Mark],
    /// What is being typed.
    pub query: Input<'a>,
    /// By what the toners are sorted, in words.
    pub sort: &'a str,
    /// Which row is marked.
    pub selected: usize,
}

/// What the row of the pours that were put right is called, and found by.
pub const PUT_RIGHT: &str = "pours put right by a way out";
/// The same of the mixes that were given up.
pub const GIVEN_UP: &str = "mixes given up over a pour";

/// The columns behind the name: heading and width.
const COLUMNS: [(&str, u16); 5] =
    [("over", 6), ("pours", 6), ("of pours", 8), ("mean by", 9), ("at worst", 9)];

/// Draws it.
pub(super) fn draw(
    view: &WasteView<'_>,
    page: &OversView<'_>,
    waste: &Waste,
    area: Rect,
    buf: &mut Buffer,
    theme: &Theme,
) {
    draw_find((page.query, page.sort, view.is_reading), pen::rows(area, 0, 1), buf, theme);
    let area = pen::rows(area, 2, area.height);
    if page.rows.is_empty() {
        let nothing = if page.query.text.is_empty() {
            "no pour went over in this time, and nothing was put right or given up for one"
        } else {
            "no toner that went over has all of these words"
        };
        return say(nothing, area, buf, theme);
    }
    let shown = Shown(theme.notation);
    let head = format!("toner, masses in {}", shown.unit());
    let heads = COLUMNS.map(|(words, _)| words.to_owned());
    draw_line((&head, &heads), pen::rows(area, 0, 1), Meaning::Muted, buf, theme);
    // Of the marked row more is told below the list.
    let more = u16::from(area.height > 6).saturating_mul(3);
    let list = pen::rows(area, 1, area.height.saturating_sub(more.saturating_add(1)));
    let height = usize::from(list.height);
    let first = pen::first_row(page.selected, page.rows.len(), height);
    for ((at, mark), y) in page.rows.iter().enumerate().skip(first).take(height).zip(list.top()..) {
        let line = Rect { y, height: 1, ..list };
        let meaning = if at == page.selected { Meaning::Title } else { Meaning::Plain };
        if at == page.selected {
            let sign = theme.symbols.pointer;
            pen::put(buf, line, line.x.saturating_add(1), y, sign, theme.style(Meaning::KeyHint));
        }
        match mark {
            Mark::Over(toner) => {
                let Some(over) = waste.overs.iter().find(|over| over.toner == *toner) else { continue };
                let name = format!("{} {}", over.toner, over.name);
                draw_line((&name, &figures(over, shown)), line, meaning, buf, theme);
            }
            Mark::PutRight => {
                let count = [waste.corrections.count.to_string()];
                draw_line((PUT_RIGHT, &count), line, meaning, buf, theme);
            }
            Mark::GivenUp => {
                let count = [waste.corrections.given_up.to_string()];
                draw_line((GIVEN_UP, &count), line, meaning, buf, theme);
            }
        }
    }
    let words = match page.rows.get(page.selected) {
        Some(Mark::Over(toner)) => waste
            .overs
            .iter()
            .find(|over| over.toner == *toner)
            .map(|over| over_words(over, shown))
            .unwrap_or_default(),
        Some(Mark::PutRight) => corrections_words(&waste.corrections, shown),
        Some(Mark::GivenUp) => given_up_words(&waste.corrections, shown),
        None => String::new(),
    };
    say(&words, pen::rows(area, area.height.saturating_sub(more.saturating_sub(1)), more), buf, theme);
}

fn figures(over: &Over, shown: Shown) -> [String; 5] {
    let share = Grams::new(over.over.into()).share_of(Grams::new(over.pours.into()));
    [
        over.over.to_string(),
        over.pours.to_string(),
        share.map_or_else(|| "-".to_owned(), |share| shown.percent(share)),
        shown.mass(over.mean()),
        shown.mass(over.worst),
    ]
}

/// How often it went over, and by how much, in a sentence.
pub(super) fn over_words(over: &Over, shown: Shown) -> String {
    let mass = |mass| format!("{} {}", shown.mass(mass), shown.unit());
    let often = if over.over == 1 { "once".to_owned() } else { format!("{} times", over.over) };
    let pours = if over.pours == 1 { "1 pour".to_owned() } else { format!("{} pours", over.pours) };
    format!(
        "went over {often} in {pours}, by {} together, {} on average, {} at worst",
        mass(over.by),
        mass(over.mean()),
        mass(over.worst)
    )
}

/// What putting pours right has saved, in a sentence.
pub(super) fn corrections_words(all: &Corrections, shown: Shown) -> String {
    let saved = |against: &Against| {
        let is_known = against.unpriced < against.count;
        let worth = if is_known { format!(" ({})", shown.money(against.saved_cost)) } else { String::new() };
        format!("{} {}{worth}", shown.mass(against.saved), shown.unit())
    };
    let count = if all.count == 1 { "1 correction".to_owned() } else { format!("{} corrections", all.count) };
    format!(
        "{count} saved {} against growing the mix and {} against a new start",
        saved(&all.growing),
        saved(&all.restarting)
    )
}

/// How many mixes were given up over a pour, and what was in their cups, in a sentence.
pub(super) fn given_up_words(all: &Corrections, shown: Shown) -> String {
    let cups = if all.given_up == 1 { "the cup" } else { "their cups" };
    let (mass, unit) = (shown.mass(all.given_up_mass), shown.unit());
    format!(
        "{} given up while a pour was over or wrong, with {mass} {unit} in {cups}",
        tables::mixes(all.given_up)
    )
}

/// A row: its name, and the figures behind it from the left on.
fn draw_line(
    (name, figures): (&str, &[String]),
    row: Rect,
    meaning: Meaning,
    buf: &mut Buffer,
    theme: &Theme,
) {
    let wide: u16 = COLUMNS.iter().map(|(_, width)| width.saturating_add(1)).sum();
    let start = row.right().saturating_sub(wide.saturating_add(1)).min(row.x.saturating_add(48)).max(row.x);
    let x = row.x.saturating_add(3);
    let name = text::fit(name, start.saturating_sub(x), theme.symbols.ellipsis);
    pen::put(buf, row, x, row.y, &name, theme.style(meaning));
    let mut end = start;
    for ((_, width), words) in COLUMNS.iter().zip(figures) {
        end = end.saturating_add(*width).saturating_add(1);
        pen::put_right(buf, row, end, row.y, words, theme.style(meaning));
    }
}
