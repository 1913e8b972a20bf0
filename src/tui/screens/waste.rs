//! The owner's waste: what was mixed and not sprayed, week by week or told apart by layer, reason, painter or colour, a bar
//! for each row, and the figures beside them.

use super::frame::{Chrome, Top};
use super::mix_events::{self, EventsView};
use super::waste_overs::{self, OversView};
use super::{waste_mixes, waste_panel};
use crate::report::overs::{Corrections, Over};
use crate::report::reading::Fate;
use crate::report::waste::{By, MixCost, Row, Waste};
use crate::report::{Bucket, Shown, tables};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::pen;
use crate::tui::widgets::prompt::Input;
use crate::units::{Decimal, Grams};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use rust_decimal::prelude::ToPrimitive as _;

/// What mixes are behind.
#[derive(Clone, Copy, Debug)]
pub enum MixesOf<'a> {
    /// A row.
    Row(&'a Row),
    /// A toner that went over.
    Over(&'a Over),
    /// The pours that were put right.
    PutRight(&'a Corrections),
    /// The mixes that were given up while a pour was over.
    GivenUp(&'a Corrections),
}

/// The mixes behind a row, or behind a toner that went over.
#[derive(Clone, Copy, Debug)]
pub struct MixesView<'a> {
    /// What they are behind; none where it is there no more.
    pub of: Option<MixesOf<'a>>,
    /// The mixes to show, of those that are read.
    pub mixes: &'a [&'a MixCost],
    /// How many are read.
    pub read: usize,
    /// What is being typed.
    pub query: Input<'a>,
    /// By what they are sorted, in words.
    pub sort: &'a str,
    /// Whether there are more.
    pub is_more: bool,
    /// Whether they, or more of them, are being read.
    pub is_reading: bool,
    /// Why they could not be read.
    pub failed: Option<&'a str>,
    /// Which is marked.
    pub selected: usize,
    /// The one whose events are looked at.
    pub mix: Option<EventsView<'a>>,
}

/// What the bars are of. They are of what the rows are sorted by, so that little waste beside much paint is seen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Bars {
    /// Of all that was mixed in its parts, to one scale.
    #[default]
    Parts,
    /// Of the same parts, each bar as long as the others.
    Shares,
    /// Of what was wasted alone.
    Wasted,
    /// Of what that cost.
    Cost,
}

/// The waste.
#[derive(Clone, Copy, Debug)]
pub struct WasteView<'a> {
    /// The figures; none while they are read for the first time, a sentence where they cannot be.
    pub waste: Option<Result<&'a Waste, &'a str>>,
    /// Whether they are being read.
    pub is_reading: bool,
    /// Over which time, in words.
    pub span: &'a str,
    /// What the rows are told apart by.
    pub by: By,
    /// The rows to show.
    pub rows: &'a [&'a Row],
    /// What is being typed.
    pub query: Input<'a>,
    /// By what they are sorted, in words.
    pub sort: &'a str,
    /// What the bars are of.
    pub bars: Bars,
    /// Which row is marked.
    pub selected: usize,
    /// The page of what went over, while it is open.
    pub overs: Option<OversView<'a>>,
    /// The row whose mixes are looked at.
    pub opened: Option<MixesView<'a>>,
    /// What is said where there is no mix.
    pub nothing: &'a str,
    /// How to try again, in words.
    pub again: &'a str,
    /// The key that opens what went over.
    pub overs_key: &'a str,
    /// The key that opens the cups from the colours.
    pub cups_key: &'a str,
    /// How far the clock on the wall is ahead of UTC, in seconds.
    pub seconds_east: i32,
    /// How the scale is, in a word; empty if there is nothing to say.
    pub link_words: &'a str,
    /// What is about it.
    pub chrome: Chrome<'a>,
}

/// From this width on there is room for more columns.
pub(super) const WIDE: u16 = 110;
/// The cells of the figures beside the bars, on a wide screen and on another.
const WIDE_PANEL: u16 = 40;
const PANEL: u16 = 35;
/// A longer name of a row is cut.
const LONGEST_NAME: u16 = 24;
/// The most rows that notes take of the list.
const NOTE_ROWS: u16 = 4;

/// Draws it.
pub fn draw(view: &WasteView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let middle = match (&view.opened, view.by) {
        (Some(_), _) => view.span.to_owned(),
        (None, _) if view.overs.is_some() => view.span.to_owned(),
        (None, by) => format!("{}, by {}", view.span, by.word()),
    };
    let scale =
        if view.link_words.is_empty() { String::new() } else { format!("scale  {}", view.link_words) };
    let title = if view.overs.is_some() { "What went over" } else { "Waste" };
    let top = Top { title, middle: &middle, right: &scale, right_meaning: Meaning::Plain };
    let Some(body) = view.chrome.draw(&top, area, buf, theme) else { return };
    let waste = match view.waste {
        Some(Ok(waste)) => waste,
        Some(Err(_)) if view.is_reading => return say(READING, below(body), buf, theme),
        Some(Err(why)) => return say(&format!("{why}; {}", view.again), below(body), buf, theme),
        None => return say(READING, below(body), buf, theme),
    };
    if let Some(mix) = view.opened.as_ref().and_then(|opened| opened.mix.as_ref()) {
        return mix_events::draw(mix, view.seconds_east, body, buf, theme);
    }
    if let Some(opened) = &view.opened {
        return waste_mixes::draw(view, opened, body, buf, theme);
    }
    if waste.total.mixes == 0 {
        return say(if view.is_reading { READING } else { view.nothing }, below(body), buf, theme);
    }
    if let Some(overs) = &view.overs {
        return waste_overs::draw(view, overs, waste, body, buf, theme);
    }
    let panel = if area.width >= WIDE { WIDE_PANEL } else { PANEL };
    let left = pen::columns(body, 0, body.width.saturating_sub(panel));
    draw_find((view.query, view.sort, view.is_reading), pen::rows(left, 0, 1), buf, theme);
    draw_legend(view.bars, pen::rows(left, 1, 1), buf, theme);
    let lower = pen::rows(left, 2, left.height);
    let notes = notes(waste, view.cups_key, Shown(theme.notation));
    let room = if area.height > 30 { lower.height / 3 } else { NOTE_ROWS.min(lower.height / 3) };
    let notes = fitting(&notes, lower.width.saturating_sub(4), usize::from(room));
    let lines = u16::try_from(notes.len()).unwrap_or(u16::MAX);
    draw_notes(&notes, pen::rows(lower, lower.height.saturating_sub(lines), lines), buf, theme);
    draw_list(view, waste, pen::rows(lower, 0, lower.height.saturating_sub(lines)), buf, theme);
    let panel = pen::columns(body, left.width, panel);
    let marked = view.rows.get(view.selected).copied();
    waste_panel::draw(waste, (marked, view.overs_key), panel, buf, theme);
}

/// A blank line above what is said alone.
fn below(body: Rect) -> Rect {
    pen::rows(body, 1, body.height)
}

/// That the figures are on their way.
const READING: &str = "reading the book";

pub(super) fn say(words: &str, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let clip = pen::columns(area, 3, area.width.saturating_sub(6));
    for (line, y) in text::wrap(words, clip.width).iter().zip(clip.top()..clip.bottom()) {
        pen::put(buf, clip, clip.x, y, line, theme.style(Meaning::Muted));
    }
}

/// What is typed, and at the end by what the rows are sorted.
pub(super) fn draw_find(
    (query, sort, is_reading): (Input<'_>, &str, bool),
    row: Rect,
    buf: &mut Buffer,
    theme: &Theme,
) {
    let x = pen::put(buf, row, row.x.saturating_add(3), row.y, "find  ", theme.style(Meaning::Muted));
    // While the book is read anew that stands where the way to sort does.
    let words = if is_reading { READING } else { sort };
    pen::put_right(buf, row, row.right().saturating_sub(1), row.y, words, theme.style(Meaning::Muted));
    let room = row.right().saturating_sub(x).saturating_sub(text::width(words).saturating_add(3));
    let input = Rect { x, width: room, ..row }.intersection(row);
    query.draw(input, buf, theme);
}

/// The parts of a bar from the left. What was lost comes first, so that the bars can be held against one another in it. A
/// cost is drawn as if it were a mass.
fn parts(row: &Row, bars: Bars) -> [Grams; 4] {
    let of = |fate| row.of(fate).mass;
    let (wasted, none) = (row.wasted(), Grams::ZERO);
    let parts = match bars {
        Bars::Parts | Bars::Shares => [wasted.mass, of(Fate::InCup), of(Fate::Kept), of(Fate::Sprayed)],
        Bars::Wasted => [wasted.mass, none, none, none],
        Bars::Cost => [Grams::new(wasted.cost.decimal()), none, none, none],
    };
    parts.map(|part| part.max(none))
}

fn sum(parts: [Grams; 4]) -> Grams {
    parts.into_iter().sum()
}

/// The signs of those parts, with what they mean and how they are called.
fn signs(theme: &Theme) -> [(&'static str, Meaning, &'static str); 4] {
    let texture = |at: usize| theme.symbols.textures.get(at).copied().unwrap_or("#");
    [
        (theme.symbols.wasted, Meaning::Over, "wasted"),
        (texture(3), Meaning::Doubt, "in the cup"),
        (texture(2), Meaning::Plain, "kept"),
        (texture(0), Meaning::Muted, "sprayed"),
    ]
}

pub(super) fn draw_legend(bars: Bars, row: Rect, buf: &mut Buffer, theme: &Theme) {
    let mut x = row.x.saturating_add(3);
    let all = signs(theme);
    let told = match bars {
        Bars::Parts | Bars::Shares => all.to_vec(),
        Bars::Wasted => all.into_iter().take(1).collect(),
        Bars::Cost => {
            all.into_iter().take(1).map(|(sign, meaning, _)| (sign, meaning, "what the waste cost")).collect()
        }
    };
    for (sign, meaning, word) in told {
        pen::put(buf, row, x, row.y, sign, theme.style(meaning));
        x = pen::put(buf, row, x.saturating_add(2), row.y, word, theme.style(Meaning::Muted))
            .saturating_add(2);
    }
}

/// How many cells each part of a bar takes, of `width` for the longest bar. A part that is not nothing has a cell where
/// there is room for it at all.
fn cells(parts: [Grams; 4], longest: Grams, width: u16) -> [u16; 4] {
    let wide = Decimal::from(width);
    let mut cells = parts.map(|part| {
        let exact = part.ratio_to(longest).unwrap_or_default().checked_mul(wide).unwrap_or_default();
        let cells = exact.round().to_u16().unwrap_or(0);
        if part.is_positive() { cells.max(1) } else { 0 }
    });
    // What rounding has put too much is taken from the longest part.
    while cells.iter().sum::<u16>() > width {
        let Some(most) = cells.iter_mut().max() else { break };
        *most = most.saturating_sub(1);
    }
    cells
}

/// A bar to the scale of the longest, or for itself where all are as long.
pub(super) fn draw_bar(
    row: &Row,
    (bars, longest): (Bars, Grams),
    area: Rect,
    buf: &mut Buffer,
    theme: &Theme,
) {
    let parts = parts(row, bars);
    let longest = if bars == Bars::Shares { sum(parts) } else { longest };
    let mut x = area.x;
    for (cells, (sign, meaning, _)) in cells(parts, longest, area.width).into_iter().zip(signs(theme)) {
        pen::repeat(buf, area, x, area.y, cells, sign, theme.style(meaning));
        x = x.saturating_add(cells);
    }
}

/// What has to be known of the figures, the most needed first.
fn notes(waste: &Waste, cups_key: &str, shown: Shown) -> Vec<String> {
    let mass = |mass| format!("{} {}", shown.mass(mass), shown.unit());
    let mut notes = Vec::new();
    if waste.unreadable > 0 {
        notes.push(format!(
            "{} not to be read back wholly: `pourbook check` says more",
            tables::mixes(waste.unreadable)
        ));
    }
    if waste.priced.unpriced.is_positive() {
        notes.push(format!("{} without a price cost nothing here", mass(waste.priced.unpriced)));
    }
    let in_cups = waste.total.of(Fate::InCup).mass;
    if in_cups.is_positive() {
        notes.push(format!(
            "{} are still in cups: {cups_key} on the colours says what became of them",
            mass(in_cups)
        ));
    }
    if waste.total.of(Fate::Kept).mass.is_positive() {
        let kept = waste.of_kept;
        notes.push(format!(
            "of what was kept {} used again since, {} thrown away, {} still there",
            shown.mass(kept.used_again),
            shown.mass(kept.thrown),
            shown.mass(kept.still_there)
        ));
    }
    notes.push("of the mixes begun in this time; thinner and hardener as weighed".to_owned());
    notes
}

/// The lines of as many of the sentences as have room whole.
fn fitting(notes: &[String], width: u16, room: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for note in notes {
        let more = text::wrap(note, width);
        if lines.len().saturating_add(more.len()) <= room {
            lines.extend(more);
        }
    }
    lines
}

fn draw_notes(notes: &[String], area: Rect, buf: &mut Buffer, theme: &Theme) {
    for (line, y) in notes.iter().zip(area.top()..area.bottom()) {
        pen::put(buf, area, area.x.saturating_add(3), y, line, theme.style(Meaning::Muted));
    }
}

/// The columns behind the bars, with their widths. Where there is room for one alone it is what the bars are of.
const fn columns(by: By, bars: Bars, is_wide: bool) -> &'static [(&'static str, u16)] {
    match (is_wide, by, bars) {
        (true, By::Reason, _) => &[("mass", 10), ("of all", 7), ("its cost", 9)],
        (true, ..) => &[("wasted", 10), ("share", 7), ("its cost", 9)],
        (false, _, Bars::Cost) => &[("its cost", 9)],
        (false, _, Bars::Wasted) => &[("wasted", 9)],
        (false, By::Reason, _) => &[("of all", 7)],
        (false, ..) => &[("wasted", 7)],
    }
}

/// What stands in them.
fn figures(row: &Row, view: &WasteView<'_>, waste: &Waste, (is_wide, shown): (bool, Shown)) -> Vec<String> {
    let (own, share) = match view.by {
        By::Reason => (row.mixed, row.mixed.mass.share_of(waste.total.mixed.mass)),
        _ => (row.wasted(), row.wasted_share()),
    };
    let share = share.map_or_else(|| "-".to_owned(), |share| shown.percent(share));
    let lost = row.wasted();
    match view.bars {
        _ if is_wide => vec![shown.mass(own.mass), share, shown.money(own.cost)],
        Bars::Cost => vec![shown.money(lost.cost)],
        Bars::Wasted => vec![shown.mass(lost.mass)],
        Bars::Parts | Bars::Shares => vec![share],
    }
}

fn draw_list(view: &WasteView<'_>, waste: &Waste, area: Rect, buf: &mut Buffer, theme: &Theme) {
    if view.rows.is_empty() {
        return say("no row has all of these words", below(area), buf, theme);
    }
    let shown = Shown(theme.notation);
    // Beside the panel there is room for more columns where the whole is wide.
    let is_wide = area.width >= WIDE.saturating_sub(WIDE_PANEL);
    let columns = columns(view.by, view.bars, is_wide);
    let head = pen::rows(area, 0, 1);
    let muted = theme.style(Meaning::Muted);
    let names = view.rows.iter().map(|row| text::width(&row.key)).max().unwrap_or(0);
    let name = names.clamp(8, if is_wide { LONGEST_NAME } else { LONGEST_NAME.saturating_sub(4) });
    let right: u16 = columns.iter().map(|(_, width)| width.saturating_add(1)).sum();
    let bar_x = area.x.saturating_add(4).saturating_add(name);
    let bar = area.width.saturating_sub(name).saturating_sub(right).saturating_sub(6);
    pen::put(buf, head, head.x.saturating_add(3), head.y, heading(view.by), muted);
    let ends: Vec<u16> = columns
        .iter()
        .scan(area.right().saturating_sub(right).saturating_sub(1), |end, (_, width)| {
            *end = end.saturating_add(*width).saturating_add(1);
            Some(*end)
        })
        .collect();
    for ((words, _), end) in columns.iter().zip(&ends) {
        pen::put_right(buf, head, *end, head.y, words, muted);
    }
    let longest = view.rows.iter().map(|row| sum(parts(row, view.bars))).max().unwrap_or_default();
    let list = pen::rows(area, 1, area.height.saturating_sub(1));
    let height = usize::from(list.height);
    let first = pen::first_row(view.selected, view.rows.len(), height);
    for ((at, row), y) in view.rows.iter().enumerate().skip(first).take(height).zip(list.top()..) {
        let line = Rect { y, height: 1, ..list };
        let plain = if at == view.selected { Meaning::Title } else { Meaning::Plain };
        if at == view.selected {
            let sign = theme.symbols.pointer;
            pen::put(buf, line, line.x.saturating_add(1), y, sign, theme.style(Meaning::KeyHint));
        }
        let key = text::fit(&row.key, name, theme.symbols.ellipsis);
        pen::put(buf, line, line.x.saturating_add(3), y, &key, theme.style(plain));
        let room = Rect { x: bar_x, width: bar, ..line }.intersection(line);
        draw_bar(row, (view.bars, longest), room, buf, theme);
        for (words, end) in figures(row, view, waste, (is_wide, shown)).iter().zip(&ends) {
            pen::put_right(buf, line, *end, y, words, theme.style(plain));
        }
    }
}

const fn heading(by: By) -> &'static str {
    match by {
        By::Time(Bucket::Day) => "day",
        By::Time(Bucket::Week) => "week",
        By::Time(Bucket::Month) => "month",
        By::Layer => "layer",
        By::Reason => "what, and why",
        By::Painter => "painter",
        By::Colour => "colour",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn g(grams: i64) -> Grams {
        Grams::new(Decimal::from(grams))
    }

    #[test]
    fn bars_are_to_one_scale_and_a_little_is_seen() {
        assert_eq!(cells([g(10), g(0), g(0), g(30)], g(40), 20), [5, 0, 0, 15]);
        assert_eq!(cells([g(0), g(0), g(0), g(20)], g(40), 20), [0, 0, 0, 10]);
        // A thousandth is seen, and the bar is no longer for it.
        assert_eq!(cells([g(1), g(1), g(0), g(998)], g(1000), 20), [1, 1, 0, 18]);
        assert_eq!(cells([g(1), g(1), g(1), g(1)], g(4), 2).iter().sum::<u16>(), 2);
        assert_eq!(cells([g(0); 4], g(0), 20), [0; 4]);
    }

    proptest! {
        #[test]
        fn no_bar_is_longer_than_its_room(
            parts in prop::array::uniform4(0_i64..1_000_000),
            more in 0_i64..1_000_000,
            width in 0_u16..300,
        ) {
            let longest = g(parts.iter().sum::<i64>() + more);
            let drawn = cells(parts.map(g), longest, width);
            prop_assert!(drawn.iter().sum::<u16>() <= width);
            if width > 8 {
                for (part, cells) in parts.iter().zip(drawn) {
                    prop_assert_eq!(*part > 0, cells > 0);
                }
            }
        }
    }
}
