//! The mixes behind a row of the waste: when, who, what, and what became of the paint and why.

use super::waste::{Bars, MixesView, WIDE, WasteView, draw_bar, draw_legend, say};
use crate::report::Shown;
use crate::report::reading::Fate;
use crate::report::waste::{MixCost, Row};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::wall::when;
use crate::tui::widgets::pen;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// The rows that tell more of the marked mix.
const MORE: u16 = 4;

/// Draws them.
pub(super) fn draw(
    view: &WasteView<'_>,
    opened: &MixesView<'_>,
    area: Rect,
    buf: &mut Buffer,
    theme: &Theme,
) {
    let gone = "no mix stands behind it any more";
    let Some(row) = opened.row else {
        return say(gone, pen::rows(area, 1, area.height), buf, theme);
    };
    draw_row(opened, row, pen::rows(area, 0, 3), buf, theme);
    let rest = pen::rows(area, 4, area.height);
    if opened.mixes.is_empty() {
        let words = match opened.failed {
            _ if opened.is_reading => "reading its mixes".to_owned(),
            Some(why) => format!("{why}; go back and open it again"),
            None => gone.to_owned(),
        };
        return say(&words, rest, buf, theme);
    }
    let more = MORE.min(rest.height / 3);
    let list = pen::rows(rest, 0, rest.height.saturating_sub(more.saturating_add(1)));
    draw_list(view, opened, list, buf, theme);
    let marked = opened.mixes.get(opened.selected);
    let rest = pen::rows(rest, rest.height.saturating_sub(more), more);
    if let Some(mix) = marked {
        draw_more(mix, rest, buf, theme);
    }
}

/// What the row says, and its bar.
fn draw_row(opened: &MixesView<'_>, row: &Row, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let shown = Shown(theme.notation);
    let unit = shown.unit();
    let share = row.wasted_share().map(|share| format!(", {}", shown.percent(share))).unwrap_or_default();
    let wasted = row.wasted();
    let words = format!(
        "mixed {} {unit}, not sprayed {}, wasted {}{share}, cost {}",
        shown.mass(row.mixed.mass),
        shown.mass(row.not_sprayed()),
        shown.mass(wasted.mass),
        shown.money(wasted.cost)
    );
    let clip = pen::columns(area, 3, area.width.saturating_sub(4));
    let key = text::fit(opened.key, clip.width, theme.symbols.ellipsis);
    pen::put(buf, clip, clip.x, clip.y, &key, theme.style(Meaning::Title));
    let count = match (row.mixes, opened.mixes.len()) {
        (1, _) => "1 mix".to_owned(),
        (all, read) if opened.is_more && opened.is_reading => format!("{read} of {all} mixes, reading on"),
        (all, read) if opened.is_more => format!("the latest {read} of {all} mixes"),
        (all, _) => format!("{all} mixes"),
    };
    if text::width(&key).saturating_add(text::width(&count)).saturating_add(2) < clip.width {
        pen::put_right(buf, clip, clip.right(), clip.y, &count, theme.style(Meaning::Muted));
    }
    let words = text::fit(&words, clip.width, theme.symbols.ellipsis);
    pen::put(buf, clip, clip.x, clip.y.saturating_add(1), &words, theme.style(Meaning::Plain));
    let bar = pen::rows(clip, 2, 1);
    let legend = pen::columns(bar, bar.width.saturating_sub(45), 45);
    draw_bar(
        row,
        (Bars::Parts, row.mixed.mass),
        pen::columns(bar, 0, bar.width.saturating_sub(46)),
        buf,
        theme,
    );
    draw_legend(Bars::Parts, legend, buf, theme);
}

/// The columns: heading, width, whether numbers stand in it.
const COLUMNS: [(&str, u16, bool); 8] = [
    ("mix", 5, false),
    ("begun", 16, false),
    ("painter", 10, false),
    ("colour", 8, false),
    ("layer", 9, false),
    ("mixed", 7, true),
    ("sprayed", 7, true),
    ("wasted", 7, true),
];

fn draw_list(view: &WasteView<'_>, opened: &MixesView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let shown = Shown(theme.notation);
    let is_wide = area.width >= WIDE;
    let head = pen::rows(area, 0, 1);
    let heads = COLUMNS.map(|(words, ..)| words.to_owned());
    let end = put_cells(&heads, head, Meaning::Muted, buf, theme);
    if is_wide {
        pen::put(buf, head, end, head.y, "why", theme.style(Meaning::Muted));
    }
    let list = pen::rows(area, 1, area.height.saturating_sub(1));
    let height = usize::from(list.height);
    let first = pen::first_row(opened.selected, opened.mixes.len(), height);
    for ((at, mix), y) in opened.mixes.iter().enumerate().skip(first).take(height).zip(list.top()..) {
        let line = Rect { y, height: 1, ..list };
        let meaning = if at == opened.selected { Meaning::Title } else { Meaning::Plain };
        if at == opened.selected {
            let sign = theme.symbols.pointer;
            pen::put(buf, line, line.x.saturating_add(1), y, sign, theme.style(Meaning::KeyHint));
        }
        let cells = [
            format!("{:04}", mix.number),
            when(mix.begun, view.seconds_east),
            mix.painter.clone(),
            mix.colour.clone(),
            mix.layer.clone(),
            shown.mass(mix.mixed.mass),
            shown.mass(mix.of(Fate::Sprayed).mass),
            shown.mass(mix.wasted.mass),
        ];
        let end = put_cells(&cells, line, meaning, buf, theme);
        if is_wide {
            let why: Vec<String> = mix.reasons().into_iter().map(|(why, _)| why).collect();
            let room = line.right().saturating_sub(end).saturating_sub(1);
            let why = text::fit(&why.join("; "), room, theme.symbols.ellipsis);
            pen::put(buf, line, end, y, &why, theme.style(meaning));
        }
    }
}

/// Writes the cells of a row; answers where what comes after them begins.
fn put_cells(cells: &[String; 8], row: Rect, meaning: Meaning, buf: &mut Buffer, theme: &Theme) -> u16 {
    let gap = if row.width >= WIDE { 2 } else { 1 };
    let mut x = row.x.saturating_add(3);
    for (words, (_, width, is_number)) in cells.iter().zip(COLUMNS) {
        let clip = Rect { x, width, ..row }.intersection(row);
        let words = text::fit(words, width, theme.symbols.ellipsis);
        if is_number {
            pen::put_right(buf, clip, clip.right(), clip.y, &words, theme.style(meaning));
        } else {
            pen::put(buf, clip, clip.x, clip.y, &words, theme.style(meaning));
        }
        x = x.saturating_add(width).saturating_add(gap);
    }
    x
}

/// What became of the marked mix, and why.
fn draw_more(mix: &MixCost, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let clip = pen::columns(area, 3, area.width.saturating_sub(6));
    let lines = more(mix, Shown(theme.notation)).into_iter().flat_map(|line| text::wrap(&line, clip.width));
    for (line, y) in lines.zip(clip.top()..clip.bottom()) {
        pen::put(buf, clip, clip.x, y, &line, theme.style(Meaning::Plain));
    }
}

/// In words: where its paint is, why some of it is lost, and what that cost.
fn more(mix: &MixCost, shown: Shown) -> Vec<String> {
    let mass = |mass| format!("{} {}", shown.mass(mass), shown.unit());
    let job = if mix.job.is_empty() { String::new() } else { format!(" on {}", mix.job) };
    let mut became: Vec<String> = [Fate::Sprayed, Fate::Kept, Fate::InCup]
        .into_iter()
        .map(|fate| (fate, mix.of(fate).mass))
        .filter(|(_, own)| !own.is_zero())
        .map(|(fate, own)| {
            let job = if fate == Fate::Sprayed { job.as_str() } else { "" };
            format!("{}{job} {}", fate.word(), mass(own))
        })
        .collect();
    if became.is_empty() {
        became.push("nothing of it was sprayed".to_owned());
    }
    let lost: Vec<String> =
        mix.reasons().into_iter().map(|(why, lost)| format!("{why} {}", mass(lost.mass))).collect();
    let lost = if lost.is_empty() {
        "nothing of it is lost".to_owned()
    } else {
        format!("lost: {}", lost.join(", "))
    };
    let cost = format!(
        "it cost {}, what is lost of it {}",
        shown.money(mix.mixed.cost),
        shown.money(mix.wasted.cost)
    );
    let what = format!("mix {:04}, {} {}", mix.number, mix.colour, mix.layer);
    vec![format!("{what}: {}", became.join(", ")), lost, cost]
}
