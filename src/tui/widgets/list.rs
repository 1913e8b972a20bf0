//! A list to pick from: rows in columns, the letters that were found marked, the chosen row pointed at.

use super::pen;
use crate::catalogue::Swatch;
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use std::ops::Range;

/// One piece of a row.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ListCell<'a> {
    /// What it says.
    pub text: &'a str,
    /// The bytes of it that were found, in order and apart from each other.
    pub found: &'a [Range<usize>],
    /// Whether it belongs at the right of its column.
    pub number: bool,
}

impl<'a> ListCell<'a> {
    /// Plain words.
    pub const fn words(text: &'a str) -> Self {
        Self { text, found: &[], number: false }
    }

    /// Words of which some letters were found.
    pub const fn found(text: &'a str, found: &'a [Range<usize>]) -> Self {
        Self { text, found, number: false }
    }

    /// A number, to be read down its column.
    pub const fn number(text: &'a str) -> Self {
        Self { text, found: &[], number: true }
    }
}

/// One row.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ListRow<'a> {
    /// A patch of colour before it; the inner none is a colour that is not known.
    pub swatch: Option<Option<Swatch>>,
    /// Its pieces, a column each.
    pub cells: Vec<ListCell<'a>>,
}

/// A list.
#[derive(Clone, Copy, Debug)]
pub struct List<'a> {
    /// Its rows.
    pub rows: &'a [ListRow<'a>],
    /// Which is pointed at.
    pub selected: Option<usize>,
}

/// Between columns.
const GAP: u16 = 2;
/// A patch of colour and the blank after it.
const PATCH: u16 = 4;

impl List<'_> {
    /// Draws the rows about the chosen one.
    pub fn draw(&self, area: Rect, buf: &mut Buffer, theme: &Theme) {
        let height = usize::from(area.height);
        let first = pen::first_row(self.selected.unwrap_or(0), self.rows.len(), height);
        let widths = self.widths(area.width);
        for ((at, row), y) in self.rows.iter().enumerate().skip(first).take(height).zip(0_u16..) {
            draw_row(pen::rows(area, y, 1), row, self.selected == Some(at), &widths, buf, theme);
        }
    }

    /// The width of each column: what its widest cell needs, the widest column of words giving way where all do not fit.
    /// A number that is cut would be another one, so those give way last.
    fn widths(&self, room: u16) -> Vec<u16> {
        let columns = self.rows.iter().map(|row| row.cells.len()).max().unwrap_or(0);
        let widest = |column: usize| {
            let cells = self.rows.iter().filter_map(|row| row.cells.get(column));
            cells.map(|cell| text::width(cell.text)).max().unwrap_or(0)
        };
        let mut widths: Vec<u16> = (0..columns).map(widest).collect();
        let patch = if self.rows.iter().any(|row| row.swatch.is_some()) { PATCH } else { 0 };
        let gaps = GAP.saturating_mul(u16::try_from(columns).unwrap_or(u16::MAX));
        let room = u32::from(room.saturating_sub(3 + patch).saturating_sub(gaps));
        loop {
            let sum: u32 = widths.iter().map(|width| u32::from(*width)).sum();
            let spare = |column: &usize| widths.get(*column).is_some_and(|width| *width > 0);
            let words = (0..widths.len()).filter(spare).filter(|column| !self.is_number(*column));
            let most = words.max_by_key(|column| widths.get(*column));
            let most =
                most.or_else(|| (0..widths.len()).filter(spare).max_by_key(|column| widths.get(*column)));
            let Some(most) = most.and_then(|column| widths.get_mut(column)) else { break };
            if sum <= room {
                break;
            }
            let excess = u16::try_from(sum.saturating_sub(room)).unwrap_or(u16::MAX);
            // Halved at the most, so that no column vanishes while another is still wide.
            *most = most.saturating_sub(excess).max(*most / 2);
        }
        widths
    }

    fn is_number(&self, column: usize) -> bool {
        self.rows.iter().any(|row| row.cells.get(column).is_some_and(|cell| cell.number))
    }
}

fn draw_row(row: Rect, entry: &ListRow<'_>, selected: bool, widths: &[u16], buf: &mut Buffer, theme: &Theme) {
    let mut x = row.x.saturating_add(1);
    if selected {
        pen::put(buf, row, x, row.y, theme.symbols.pointer, theme.style(Meaning::KeyHint));
    }
    x = x.saturating_add(2);
    if let Some(swatch) = entry.swatch {
        let (sign, style) = match swatch {
            Some(_) => theme.layer(swatch, 0),
            None => (theme.symbols.dot, theme.style(Meaning::Muted)),
        };
        pen::repeat(buf, row, x, row.y, PATCH.saturating_sub(1), sign, style);
        x = x.saturating_add(PATCH);
    }
    for (cell, &width) in entry.cells.iter().zip(widths) {
        let clip = Rect { x, width, ..row }.intersection(row);
        cell.draw(clip, selected, buf, theme);
        x = x.saturating_add(width).saturating_add(GAP);
    }
}

impl ListCell<'_> {
    fn draw(&self, clip: Rect, selected: bool, buf: &mut Buffer, theme: &Theme) {
        let plain = theme.style(if selected { Meaning::Title } else { Meaning::Plain });
        let fitted = text::fit(self.text, clip.width, theme.symbols.ellipsis);
        if self.number {
            pen::put_right(buf, clip, clip.right(), clip.y, &fitted, plain);
            return;
        }
        // Cleaned or cut text no longer has the places that were found; then it is shown without them.
        let whole = fitted == self.text;
        let mut x = clip.x;
        let mut at = 0;
        for found in self.found.iter().filter(|_| whole) {
            let (Some(before), Some(hit)) = (self.text.get(at..found.start), self.text.get(found.clone()))
            else {
                break;
            };
            x = pen::put(buf, clip, x, clip.y, before, plain);
            x = pen::put(buf, clip, x, clip.y, hit, plain.patch(theme.style(Meaning::Match)));
            at = found.end;
        }
        let rest = if whole { self.text.get(at..).unwrap_or_default() } else { &fitted };
        pen::put(buf, clip, x, clip.y, rest, plain);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ratatui::style::Modifier;

    fn row<'a>(code: &'a str, name: &'a str, found: &'a [Range<usize>]) -> ListRow<'a> {
        ListRow { swatch: None, cells: vec![ListCell::words(code), ListCell::found(name, found)] }
    }

    #[test]
    fn found_letters_are_underlined() {
        let found = [0..3, 7..9];
        let rows = [row("PB-1", "Gannet White", &found), row("PB-20", "Coal Tit", &[])];
        let mut buf = Buffer::empty(Rect::new(0, 0, 30, 2));
        List { rows: &rows, selected: Some(0) }.draw(buf.area, &mut buf, &Theme::default());
        assert_eq!(crate::tui::screens::picture(&buf), [" ▸ PB-1   Gannet White", "   PB-20  Coal Tit"]);
        let marked: String = (0..30)
            .filter_map(|x| buf.cell((x, 0)))
            .filter(|cell| cell.modifier.contains(Modifier::UNDERLINED))
            .map(ratatui::buffer::Cell::symbol)
            .collect();
        assert_eq!(marked, "GanWh");
    }

    #[test]
    fn places_that_are_not_in_the_text_do_no_harm() {
        let wrong = [(3, 90), (1, 2), (5, 3)].map(|(start, end)| Range { start, end });
        for found in wrong.chunks(1) {
            let rows = [row("x", "ü雪b", found)];
            let mut buf = Buffer::empty(Rect::new(0, 0, 12, 1));
            List { rows: &rows, selected: None }.draw(buf.area, &mut buf, &Theme::default());
            assert_eq!(crate::tui::screens::picture(&buf), ["   x  ü雪b"]);
        }
    }

    #[test]
    fn wide_columns_give_way() {
        let rows = [row("PB-1", "a name that is longer than the row has room for", &[])];
        let mut buf = Buffer::empty(Rect::new(0, 0, 24, 1));
        List { rows: &rows, selected: None }.draw(buf.area, &mut buf, &Theme::default());
        assert_eq!(crate::tui::screens::picture(&buf), ["   PB-1  a name that…"]);
    }
}
