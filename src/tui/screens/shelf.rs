//! The stores manager's shelf: the toners with their levels, how long they last, and what to order; or one toner with its
//! tins and what is behind its figures.

use super::frame::{Chrome, Top};
use crate::report::shelf::words::{a_day, a_day_and_spread, lasts, order_at, ordered, ordered_in_full};
use crate::report::shelf::{Move, Shelf, ShelfTin, TinState, TonerShelf};
use crate::tui::keys::{Action, Context};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::wall::day;
use crate::tui::widgets::pen;
use crate::tui::widgets::prompt::Input;
use crate::units::Division;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use std::fmt::Write as _;

/// One toner's tins.
#[derive(Clone, Copy, Debug)]
pub struct OpenedView<'a> {
    /// The toner; none where the shelf has it no more.
    pub toner: Option<&'a TonerShelf>,
    /// What came and went, the latest first; none while it is read, a sentence where it cannot be.
    pub moves: Option<Result<&'a [Move], &'a str>>,
    /// The first of them on the screen.
    pub scroll: usize,
    /// Which of its tins is marked.
    pub tin: usize,
    /// The label of that one, where only what came into it and went out of it is shown.
    pub of_tin: Option<&'a str>,
}

/// The shelf.
#[derive(Clone, Copy, Debug)]
pub struct ShelfView<'a> {
    /// The figures; none while they are read, a sentence where they cannot be.
    pub shelf: Option<Result<&'a Shelf, &'a str>>,
    /// The places of the toners to show.
    pub rows: &'a [usize],
    /// What is being typed.
    pub query: Input<'a>,
    /// By what they are sorted, in words.
    pub sort: &'a str,
    /// Which row is marked.
    pub selected: usize,
    /// The toner whose tins are looked at.
    pub opened: Option<OpenedView<'a>>,
    /// How far the clock on the wall is ahead of UTC, in seconds.
    pub seconds_east: i32,
    /// How the scale is, in a word; empty if there is nothing to say.
    pub link_words: &'a str,
    /// What is about it.
    pub chrome: Chrome<'a>,
}

/// The cells of a bar.
const BAR: u16 = 8;
/// From this width on there is room for more columns.
const WIDE: u16 = 110;
/// Between two columns.
const GAP: u16 = 2;

/// A column: its heading, its width, whether numbers stand in it.
type Column = (&'static str, u16, bool);

/// Draws it.
pub fn draw(view: &ShelfView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let middle = match (&view.opened, view.shelf) {
        (Some(_), _) => "one toner".to_owned(),
        (None, Some(Ok(_))) => match view.rows.len() {
            1 => format!("1 toner, {}", view.sort),
            many => format!("{many} toners, {}", view.sort),
        },
        _ => String::new(),
    };
    let scale =
        if view.link_words.is_empty() { String::new() } else { format!("scale  {}", view.link_words) };
    let top = Top { title: "Shelf", middle: &middle, right: &scale, right_meaning: Meaning::Plain };
    let Some(body) = view.chrome.draw(&top, area, buf, theme) else { return };
    if let Some(opened) = &view.opened {
        return draw_opened(view, opened, pen::rows(body, 1, body.height), buf, theme);
    }
    let row = pen::rows(body, 1, 1);
    let x = pen::put(buf, row, row.x.saturating_add(3), row.y, "find  ", theme.style(Meaning::Muted));
    let input = Rect { x, width: row.right().saturating_sub(x.saturating_add(2)), ..row }.intersection(row);
    view.query.draw(input, buf, theme);
    if view.query.text.is_empty() {
        let words = "a toner's code or name, or a tin's label";
        pen::put(buf, input, input.x.saturating_add(2), input.y, words, theme.style(Meaning::Muted));
    }
    let lower = pen::rows(body, 3, body.height.saturating_sub(3));
    let lower = match view.shelf {
        Some(Ok(shelf)) => above_notes(&shelf.not_counted, lower, buf, theme),
        _ => lower,
    };
    match view.shelf {
        Some(Ok(shelf)) if !view.rows.is_empty() => draw_list(view, shelf, lower, buf, theme),
        Some(Ok(_)) if view.query.text.is_empty() => {
            let keys = &view.chrome.keys;
            let key = keys.bindings.shown(Context::Shelf, Action::Receive, theme.symbols);
            let how = key.map_or_else(String::new, |key| format!(": {key} receives one"));
            say(&format!("no tin is on the shelf yet, and nothing was used{how}"), lower, buf, theme);
        }
        Some(Ok(_)) => say("no toner has all of these words", lower, buf, theme),
        Some(Err(why)) => say(why, lower, buf, theme),
        None => say("reading the book", lower, buf, theme),
    }
}

/// Draws at the bottom what open jobs need that is not counted in; answers what is left above it.
fn above_notes(notes: &[String], area: Rect, buf: &mut Buffer, theme: &Theme) -> Rect {
    let clip = pen::columns(area, 3, area.width.saturating_sub(6));
    let most = usize::from(area.height / 3);
    let mut lines: Vec<String> = Vec::new();
    for (at, note) in notes.iter().enumerate() {
        let more = notes.len().saturating_sub(at);
        let own = text::wrap(note, clip.width);
        // A line is left to say that there are more.
        let after = usize::from(more > 1);
        if lines.len().saturating_add(own.len()).saturating_add(after) > most {
            let others = if at == 0 { "" } else { " more" };
            let layers = if more == 1 { "layer" } else { "layers" };
            lines.push(format!(
                "not counted in, {more}{others} {layers} of open jobs: pourbook shelf says why"
            ));
            break;
        }
        lines.extend(own);
    }
    let height = u16::try_from(lines.len()).unwrap_or(u16::MAX);
    if height == 0 || most == 0 {
        return area;
    }
    let top = area.height.saturating_sub(height);
    for (line, y) in lines.iter().zip(pen::rows(clip, top, height).y..) {
        let row = Rect { y, height: 1, ..clip }.intersection(clip);
        let line = text::fit(line, row.width, theme.symbols.ellipsis);
        pen::put(buf, row, row.x, y, &line, theme.style(Meaning::Doubt));
    }
    pen::rows(area, 0, top.saturating_sub(1))
}

fn say(words: &str, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let clip = pen::columns(area, 3, area.width.saturating_sub(6));
    for (line, y) in text::wrap(words, clip.width).iter().zip(clip.top()..clip.bottom()) {
        pen::put(buf, clip, clip.x, y, line, theme.style(Meaning::Muted));
    }
}

/// Writes the cells of a row into columns that end at the right; answers where they begin.
fn put_cells(columns: &[Column], cells: &[(String, Meaning)], row: Rect, buf: &mut Buffer, theme: &Theme) {
    let wide: u16 = columns.iter().map(|(_, width, _)| width.saturating_add(GAP)).sum();
    let mut x = row.right().saturating_sub(wide.saturating_add(1)).max(row.x);
    for ((_, width, is_number), (words, meaning)) in columns.iter().zip(cells) {
        x = x.saturating_add(GAP);
        let clip = Rect { x, width: *width, ..row }.intersection(row);
        let fitted = text::fit(words, clip.width, theme.symbols.ellipsis);
        if *is_number {
            pen::put_right(buf, clip, clip.right(), clip.y, &fitted, theme.style(*meaning));
        } else {
            pen::put(buf, clip, clip.x, clip.y, &fitted, theme.style(*meaning));
        }
        x = x.saturating_add(*width);
    }
}

fn headings(columns: &[Column]) -> Vec<(String, Meaning)> {
    columns.iter().map(|(words, ..)| ((*words).to_owned(), Meaning::Muted)).collect()
}

/// What is left of the columns for what stands before them.
fn before(columns: &[Column], row: Rect) -> Rect {
    let wide: u16 = columns.iter().map(|(_, width, _)| width.saturating_add(GAP)).sum();
    pen::columns(row, 0, row.width.saturating_sub(wide.saturating_add(1)))
}

fn draw_list(view: &ShelfView<'_>, shelf: &Shelf, area: Rect, buf: &mut Buffer, theme: &Theme) {
    const NARROW: &[Column] = &[
        ("level", BAR, false),
        ("on shelf", 8, true),
        ("a day", 6, true),
        ("lasts", 8, true),
        ("order", 13, false),
    ];
    const WIDER: &[Column] = &[
        ("level", BAR, false),
        ("on shelf", 9, true),
        ("a day", 8, true),
        ("lasts", 8, true),
        ("expires", 10, false),
        ("order at", 9, true),
        ("order", 14, false),
    ];
    let notation = theme.notation;
    let columns = if area.width >= WIDE { WIDER } else { NARROW };
    let head = pen::rows(area, 0, 1);
    put_cells(columns, &headings(columns), head, buf, theme);
    let unit = format!("toner, in {}", notation.mass_unit());
    pen::put(
        buf,
        before(columns, head),
        head.x.saturating_add(3),
        head.y,
        &unit,
        theme.style(Meaning::Muted),
    );
    let list = pen::rows(area, 1, area.height.saturating_sub(1));
    let height = usize::from(list.height);
    let first = pen::first_row(view.selected, view.rows.len(), height);
    for ((at, place), y) in view.rows.iter().enumerate().skip(first).take(height).zip(list.top()..) {
        let Some(toner) = shelf.toners.get(*place) else { continue };
        let row = Rect { y, height: 1, ..list };
        let is_marked = at == view.selected;
        let plain = if is_marked { Meaning::Title } else { Meaning::Plain };
        if is_marked {
            let sign = theme.symbols.pointer;
            pen::put(buf, row, row.x.saturating_add(1), y, sign, theme.style(Meaning::KeyHint));
        }
        draw_name(toner, plain, before(columns, row), buf, theme);
        let order = toner.order.as_ref().map_or_else(String::new, |order| ordered(order, notation));
        let low = if toner.order.is_some() { Meaning::Over } else { plain };
        let mut cells = vec![
            (theme.symbols.level(toner.level, BAR), plain),
            (notation.weight(toner.holds, Division::TENTH), plain),
            (a_day(toner, notation), plain),
            (lasts(toner), low),
        ];
        if area.width >= WIDE {
            cells.push((toner.expires().unwrap_or_default(), plain));
            cells.push((order_at(toner, notation), plain));
        }
        cells.push((order, low));
        put_cells(columns, &cells, row, buf, theme);
    }
}

fn draw_name(toner: &TonerShelf, meaning: Meaning, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let x = area.x.saturating_add(3);
    let (sign, style) = match toner.swatch {
        Some(_) => theme.layer(toner.swatch, 0),
        None => (theme.symbols.dot, theme.style(Meaning::Muted)),
    };
    pen::repeat(buf, area, x, area.y, 2, sign, style);
    let x = x.saturating_add(3);
    let words = format!("{}  {}", toner.toner, toner.name);
    let room = area.right().saturating_sub(x);
    pen::put(buf, area, x, area.y, &text::fit(&words, room, theme.symbols.ellipsis), theme.style(meaning));
}

fn draw_opened(view: &ShelfView<'_>, opened: &OpenedView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let Some(toner) = opened.toner else {
        return say("the shelf has this toner no more", area, buf, theme);
    };
    draw_name(toner, Meaning::Title, pen::rows(area, 0, 1), buf, theme);
    let figures = figures(toner, theme);
    for (line, y) in figures.iter().zip(area.y.saturating_add(1)..area.bottom()) {
        pen::put(buf, area, area.x.saturating_add(3), y, line, theme.style(Meaning::Plain));
    }
    let used = u16::try_from(figures.len()).unwrap_or(u16::MAX).saturating_add(2);
    let rest = pen::rows(area, used, area.height);
    // The tins give way to what came and went, down to a few.
    let count = u16::try_from(toner.tins.len()).unwrap_or(u16::MAX);
    let shown = count.min(rest.height.saturating_sub(9).max(3));
    draw_tins(view, (toner, opened.tin), pen::rows(rest, 0, shown.saturating_add(1)), buf, theme);
    let left = toner.tins.len().saturating_sub(usize::from(shown));
    if left > 0 {
        let words = format!("and {left} more");
        let y = rest.y.saturating_add(shown).saturating_add(1);
        pen::put(buf, rest, rest.x.saturating_add(3), y, &words, theme.style(Meaning::Muted));
    }
    let rest = pen::rows(rest, shown.saturating_add(3), rest.height);
    draw_moves(view, opened, rest, buf, theme);
}

/// What can be said of the toner, in two to five lines.
fn figures(toner: &TonerShelf, theme: &Theme) -> Vec<String> {
    let notation = theme.notation;
    let mass = |mass| notation.mass(mass, Division::TENTH);
    let unit = notation.mass_unit();
    let mut there = format!("on the shelf {}", mass(toner.holds));
    if toner.needed.is_positive() {
        let _ = write!(there, ", of which mixes that are not done need {}", mass(toner.needed));
    }
    let days = toner.used.days;
    let used = match toner.used.a_day {
        _ if toner.used.total.is_zero() => format!("none was used in {days} days"),
        Some(_) => {
            let each = a_day_and_spread(toner, notation);
            format!(
                "{} used in {days} days: {each} {unit} a day; lasts {}",
                mass(toner.used.total),
                lasts(toner)
            )
        }
        None => {
            format!("{} used in {days} days: too few to say for how long it lasts", mass(toner.used.total))
        }
    };
    let mut lines = vec![there];
    if toner.unnamed.is_positive() {
        lines.push(format!("{} poured of tins not named are taken off", mass(toner.unnamed)));
    }
    if toner.for_jobs.is_positive() {
        lines.push(format!("layers of open jobs need {}", mass(toner.for_jobs)));
    }
    lines.push(used);
    let at = order_at(toner, notation);
    let now = toner.order.as_ref().map(|order| format!("order {} now", ordered_in_full(order, notation)));
    match (at.is_empty(), now) {
        (false, Some(now)) => lines.push(format!("time to order at {at} {unit}: {now}")),
        (false, None) => lines.push(format!("time to order at {at} {unit}: not yet")),
        (true, Some(now)) => lines.push(now),
        (true, None) => {}
    }
    lines
}

fn draw_tins(
    view: &ShelfView<'_>,
    (toner, marked): (&TonerShelf, usize),
    area: Rect,
    buf: &mut Buffer,
    theme: &Theme,
) {
    const NARROW: &[Column] = &[
        ("level", BAR, false),
        ("holds", 8, true),
        ("state", 11, false),
        ("expires", 10, false),
        ("lot", 10, false),
    ];
    const WIDER: &[Column] = &[
        ("level", BAR, false),
        ("holds", 9, true),
        ("state", 11, false),
        ("expires", 10, false),
        ("lot", 14, false),
        ("opened", 10, false),
    ];
    let columns = if area.width >= WIDE { WIDER } else { NARROW };
    let head = pen::rows(area, 0, 1);
    if toner.tins.is_empty() {
        return say("no tin of it is on the shelf", head, buf, theme);
    }
    put_cells(columns, &headings(columns), head, buf, theme);
    pen::put(buf, head, head.x.saturating_add(3), head.y, "tin", theme.style(Meaning::Muted));
    let list = pen::rows(area, 1, area.height.saturating_sub(1));
    let first = pen::first_row(marked, toner.tins.len(), usize::from(list.height));
    for ((at, on_shelf), y) in toner.tins.iter().enumerate().skip(first).zip(list.top()..list.bottom()) {
        let row = Rect { y, height: 1, ..area };
        let is_marked = at == marked;
        let plain = if is_marked { Meaning::Title } else { Meaning::Plain };
        if is_marked {
            let sign = theme.symbols.pointer;
            pen::put(buf, row, row.x.saturating_add(1), y, sign, theme.style(Meaning::KeyHint));
        }
        let ShelfTin { tin, state } = on_shelf;
        let label = before(columns, row);
        let room = label.width.saturating_sub(3);
        let words = text::fit(&tin.label, room, theme.symbols.ellipsis);
        pen::put(buf, label, label.x.saturating_add(3), y, &words, theme.style(plain));
        let meaning = match state {
            TinState::Unopened | TinState::Open => Meaning::Plain,
            TinState::Empty => Meaning::Doubt,
            TinState::Expired | TinState::Recalled => Meaning::Error,
        };
        let cells = [
            (theme.symbols.level(on_shelf.level(), BAR), Meaning::Plain),
            (theme.notation.weight(tin.holds, Division::TENTH), Meaning::Plain),
            (state.word().to_owned(), meaning),
            (tin.expires.map(|day| day.to_string()).unwrap_or_default(), Meaning::Plain),
            (tin.lot.clone().unwrap_or_default(), Meaning::Plain),
            (tin.opened.map(|at| day(at, view.seconds_east)).unwrap_or_default(), Meaning::Plain),
        ];
        put_cells(columns, &cells, row, buf, theme);
    }
}

fn draw_moves(view: &ShelfView<'_>, opened: &OpenedView<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let of_tin = opened.of_tin.map(|label| format!(" of tin {label}")).unwrap_or_default();
    let title = format!("what came and went{of_tin}, the latest first");
    pen::put(buf, area, area.x.saturating_add(3), area.y, &title, theme.style(Meaning::Title));
    let list = pen::rows(area, 1, area.height.saturating_sub(1));
    let moves = match opened.moves {
        None => return say("reading the book", list, buf, theme),
        Some(Err(why)) => return say(why, list, buf, theme),
        Some(Ok(moves)) => moves,
    };
    let is_of = |moved: &&Move| opened.of_tin.is_none_or(|label| moved.tin.as_deref() == Some(label));
    let moves: Vec<&Move> = moves.iter().filter(is_of).collect();
    if moves.is_empty() {
        return say("nothing yet", list, buf, theme);
    }
    let first = opened.scroll.min(moves.len().saturating_sub(usize::from(list.height)));
    for (moved, y) in moves.iter().skip(first).zip(list.top()..list.bottom()) {
        let row = Rect { y, height: 1, ..list };
        let at = day(moved.at, view.seconds_east);
        pen::put(buf, row, row.x.saturating_add(3), y, &at, theme.style(Meaning::Muted));
        let tin = moved.tin.as_deref().unwrap_or("tin not said");
        let tin = text::left(tin, 14, theme.symbols.ellipsis);
        let x = pen::put(buf, row, row.x.saturating_add(15), y, &tin, theme.style(Meaning::Plain));
        let number = theme.notation.signed(moved.mass, Division::TENTH);
        let end = row.right().min(row.x.saturating_add(78));
        let room = end.saturating_sub(x.saturating_add(4)).saturating_sub(text::width(&number));
        let what = text::fit(&moved.what, room, theme.symbols.ellipsis);
        pen::put(buf, row, x.saturating_add(2), y, &what, theme.style(Meaning::Plain));
        pen::put_right(buf, row, end, y, &number, theme.style(Meaning::Plain));
    }
}
