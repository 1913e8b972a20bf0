//! The mixes behind a row of the waste, or behind a toner that went over: when, who, what, and what became of the paint and
//! why.

use super::waste::{Bars, MixesOf, MixesView, WIDE, WasteView, draw_bar, draw_find, draw_legend, say};
use super::waste_overs::{GIVEN_UP, PUT_RIGHT, corrections_words, given_up_words, over_words};
use crate::book::reading::Chosen;
use crate::report::reading::Fate;
use crate::report::waste::{MixCost, Row};
use crate::report::{Shown, tables};
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
    let Some(of) = opened.of else {
        return say(gone, pen::rows(area, 1, area.height), buf, theme);
    };
    let shown = Shown(theme.notation);
    let head = pen::rows(area, 0, 3);
    match of {
        MixesOf::Row(row) => {
            draw_head((&row.key, &row_words(row, shown)), (opened, Some(row.mixes)), head, buf, theme);
            draw_parts(row, pen::rows(head, 2, 1), buf, theme);
        }
        MixesOf::Over(over) => {
            let name = format!("{} {}", over.toner, over.name);
            draw_head((&name, &over_words(over, shown)), (opened, None), head, buf, theme);
        }
        MixesOf::PutRight(all) => {
            let words = corrections_words(all, shown);
            draw_head((PUT_RIGHT, &words), (opened, None), head, buf, theme);
        }
        MixesOf::GivenUp(all) => {
            let words = given_up_words(all, shown);
            draw_head((GIVEN_UP, &words), (opened, Some(all.given_up)), head, buf, theme);
        }
    }
    draw_find((opened.query, opened.sort, false), pen::rows(area, 3, 1), buf, theme);
    let rest = pen::rows(area, 4, area.height);
    if opened.mixes.is_empty() {
        let words = match opened.failed {
            _ if opened.is_reading => "reading its mixes".to_owned(),
            Some(why) => format!("{why}; go back and open it again"),
            None if opened.read > 0 => "no mix has all of these words".to_owned(),
            None => gone.to_owned(),
        };
        return say(&words, rest, buf, theme);
    }
    let more = MORE.min(rest.height / 3);
    let list = pen::rows(rest, 0, rest.height.saturating_sub(more.saturating_add(1)));
    draw_list(view, (opened, of), list, buf, theme);
    let marked = opened.mixes.get(opened.selected).copied();
    let rest = pen::rows(rest, rest.height.saturating_sub(more), more);
    if let Some(mix) = marked {
        draw_more((mix, of), rest, buf, theme);
    }
}

/// What a row comes to, in a sentence.
fn row_words(row: &Row, shown: Shown) -> String {
    let unit = shown.unit();
    let share = row.wasted_share().map(|share| format!(", {}", shown.percent(share))).unwrap_or_default();
    let wasted = row.wasted();
    format!(
        "mixed {} {unit}, not sprayed {}, wasted {}{share}, cost {}",
        shown.mass(row.mixed.mass),
        shown.mass(row.not_sprayed()),
        shown.mass(wasted.mass),
        shown.money(wasted.cost)
    )
}

/// What it is called, how many mixes there are, and what it comes to.
fn draw_head(
    (name, words): (&str, &str),
    (opened, all): (&MixesView<'_>, Option<u32>),
    area: Rect,
    buf: &mut Buffer,
    theme: &Theme,
) {
    let clip = pen::columns(area, 3, area.width.saturating_sub(4));
    let name = text::fit(name, clip.width, theme.symbols.ellipsis);
    pen::put(buf, clip, clip.x, clip.y, &name, theme.style(Meaning::Title));
    let count = counted(opened, all);
    if text::width(&name).saturating_add(text::width(&count)).saturating_add(2) < clip.width {
        pen::put_right(buf, clip, clip.right(), clip.y, &count, theme.style(Meaning::Muted));
    }
    for (line, y) in text::wrap(words, clip.width).iter().zip(clip.y.saturating_add(1)..clip.bottom()) {
        pen::put(buf, clip, clip.x, y, line, theme.style(Meaning::Plain));
    }
}

/// How many mixes there are, are read, and have the words that were typed. How many there are of a toner that went over is not
/// known before all are read.
fn counted(opened: &MixesView<'_>, all: Option<u32>) -> String {
    let read = opened.read;
    let is_reading_on = opened.is_more && opened.is_reading;
    let of_all = all.map(|all| format!(" of {all}")).unwrap_or_default();
    let words = match all {
        None if read == 0 => return String::new(),
        _ if is_reading_on && all.is_none() => format!("the latest {read} mixes, reading on"),
        _ if is_reading_on => format!("{read}{of_all} mixes, reading on"),
        _ if opened.is_more => format!("the latest {read}{of_all} mixes"),
        Some(1) => "1 mix".to_owned(),
        Some(all) => format!("{all} mixes"),
        None if read == 1 => "1 mix".to_owned(),
        None => format!("{read} mixes"),
    };
    let shown = opened.mixes.len();
    match (opened.query.text.trim(), opened.is_more) {
        ("", _) => words,
        (_, true) => format!("{shown} among {words}"),
        (_, false) => format!("{shown} of {words}"),
    }
}

/// A row's bar with what its parts are.
fn draw_parts(row: &Row, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let bar = pen::columns(area, 3, area.width.saturating_sub(4));
    let legend = pen::columns(bar, bar.width.saturating_sub(45), 45);
    let room = pen::columns(bar, 0, bar.width.saturating_sub(46));
    draw_bar(row, (Bars::Parts, row.mixed.mass), room, buf, theme);
    draw_legend(Bars::Parts, legend, buf, theme);
}

/// The columns: heading, width, whether numbers stand in it. What the last three are called depends on what was opened.
const COLUMNS: [(&str, u16, bool); 8] = [
    ("mix", 5, false),
    ("begun", 16, false),
    ("painter", 10, false),
    ("colour", 8, false),
    ("layer", 9, false),
    ("", 7, true),
    ("", 7, true),
    ("", 7, true),
];

/// What the last three columns are called.
const fn headings(of: MixesOf<'_>) -> [&'static str; 3] {
    match of {
        MixesOf::Row(_) => ["mixed", "sprayed", "wasted"],
        MixesOf::Over(_) => ["mixed", "times", "over by"],
        MixesOf::PutRight(_) => ["mixed", "times", "saved"],
        MixesOf::GivenUp(_) => ["mixed", "wasted", "in cup"],
    }
}

/// What stands in them. What was saved is against growing the mix, as far as that was open.
fn last_cells(mix: &MixCost, of: MixesOf<'_>, shown: Shown) -> [String; 3] {
    let mixed = shown.mass(mix.mixed.mass);
    match of {
        MixesOf::Row(_) => [mixed, shown.mass(mix.of(Fate::Sprayed).mass), shown.mass(mix.wasted.mass)],
        MixesOf::Over(over) => {
            let own = mix.overs.iter().find(|own| own.toner == over.toner);
            let times = own.map_or_else(|| "-".to_owned(), |own| own.over.to_string());
            [mixed, times, own.map_or_else(|| "-".to_owned(), |own| shown.mass(own.by))]
        }
        MixesOf::PutRight(_) => {
            let saved = mix.saved_against_growing();
            let words = saved.map_or_else(|| "-".to_owned(), |saved| shown.mass(saved));
            [mixed, mix.chosen.len().to_string(), words]
        }
        MixesOf::GivenUp(_) => {
            let in_cup = mix.given_up_over.map_or_else(|| "-".to_owned(), |mass| shown.mass(mass));
            [mixed, shown.mass(mix.wasted.mass), in_cup]
        }
    }
}

fn draw_list(
    view: &WasteView<'_>,
    (opened, of): (&MixesView<'_>, MixesOf<'_>),
    area: Rect,
    buf: &mut Buffer,
    theme: &Theme,
) {
    let shown = Shown(theme.notation);
    let is_wide = area.width >= WIDE;
    let head = pen::rows(area, 0, 1);
    let mut heads = COLUMNS.map(|(words, ..)| words.to_owned());
    heads.iter_mut().skip(5).zip(headings(of)).for_each(|(head, words)| words.clone_into(head));
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
        let [mixed, middle, last] = last_cells(mix, of, shown);
        let cells = [
            format!("{:04}", mix.number),
            when(mix.begun, view.seconds_east),
            mix.painter.clone(),
            mix.colour.clone(),
            mix.layer.clone(),
            mixed,
            middle,
            last,
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
fn draw_more((mix, of): (&MixCost, MixesOf<'_>), area: Rect, buf: &mut Buffer, theme: &Theme) {
    let clip = pen::columns(area, 3, area.width.saturating_sub(6));
    let shown = Shown(theme.notation);
    let lines = pours_words(mix, of, shown).into_iter().chain(more(mix, shown));
    let lines = lines.flat_map(|line| text::wrap(&line, clip.width));
    for (line, y) in lines.zip(clip.top()..clip.bottom()) {
        pen::put(buf, clip, clip.x, y, &line, theme.style(Meaning::Plain));
    }
}

/// What went over in the mix, or how it was put right, in words.
fn pours_words(mix: &MixCost, of: MixesOf<'_>, shown: Shown) -> Vec<String> {
    let mass = |mass| format!("{} {}", shown.mass(mass), shown.unit());
    match of {
        MixesOf::Row(_) | MixesOf::GivenUp(_) => Vec::new(),
        MixesOf::Over(over) => {
            let own = mix.overs.iter().find(|own| own.toner == over.toner);
            let words = own.map(|own| match own.over {
                1 => format!("{} went over by {}", own.toner, mass(own.by)),
                many => {
                    let (by, worst) = (mass(own.by), mass(own.worst));
                    format!("{} went over {many} times, by {by} together, {worst} at worst", own.toner)
                }
            });
            words.into_iter().collect()
        }
        MixesOf::PutRight(_) => {
            let way = |own: &Chosen| format!("{}: {} wasted", tables::way(own.way), mass(own.wasted.mass));
            vec![mix.chosen.iter().map(way).collect::<Vec<_>>().join("; ")]
        }
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
