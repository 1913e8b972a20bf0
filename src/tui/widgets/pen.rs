//! The one way onto the cells: everything is clipped, nothing is indexed out of range.

use crate::tui::text;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// Writes text from a cell to the right, as far as `clip` goes. Answers with the column after it.
pub fn put(buf: &mut Buffer, clip: Rect, x: u16, y: u16, words: &str, style: Style) -> u16 {
    let clip = clip.intersection(buf.area);
    if y < clip.top() || y >= clip.bottom() || x < clip.left() || x >= clip.right() {
        return x;
    }
    let room = clip.right().saturating_sub(x);
    buf.set_stringn(x, y, text::safe(words), usize::from(room), style).0
}

/// Writes text so that it ends before column `end`; nothing where it does not fit whole.
pub fn put_right(buf: &mut Buffer, clip: Rect, end: u16, y: u16, words: &str, style: Style) {
    if let Some(x) = end.checked_sub(text::width(words)) {
        put(buf, clip, x, y, words, style);
    }
}

/// Repeats one sign over `length` cells to the right.
pub fn repeat(buf: &mut Buffer, clip: Rect, x: u16, y: u16, length: u16, sign: &str, style: Style) {
    for step in 0..length {
        let Some(column) = x.checked_add(step) else { return };
        put(buf, clip, column, y, sign, style);
    }
}

/// Blanks the area, so that what lies under it does not show through.
pub fn wipe(buf: &mut Buffer, area: Rect, style: Style) {
    let area = area.intersection(buf.area);
    for y in area.top()..area.bottom() {
        for x in area.left()..area.right() {
            if let Some(cell) = buf.cell_mut((x, y)) {
                cell.reset();
                cell.set_style(style);
            }
        }
    }
}

/// The rows from `from` (counted from the top of `area`), at most `rows` of them.
pub fn rows(area: Rect, from: u16, rows: u16) -> Rect {
    let y = area.y.saturating_add(from.min(area.height));
    Rect { y, height: rows.min(area.bottom().saturating_sub(y)), ..area }
}

/// The columns from `from` (counted from the left of `area`), at most `columns` of them.
pub fn columns(area: Rect, from: u16, columns: u16) -> Rect {
    let x = area.x.saturating_add(from.min(area.width));
    Rect { x, width: columns.min(area.right().saturating_sub(x)), ..area }
}

/// The first of `count` rows to show in `height`, so that the marked one is in view, in the middle if it can
/// be. Needs no memory of the last time.
pub fn first_row(marked: usize, count: usize, height: usize) -> usize {
    marked.saturating_sub(height / 2).min(count.saturating_sub(height))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_written_outside() {
        let area = Rect::new(1, 1, 3, 1);
        let mut buf = Buffer::empty(Rect::new(0, 0, 6, 3));
        for (x, y) in [(0, 1), (4, 1), (1, 0), (1, 2), (1, 1), (900, 900)] {
            put(&mut buf, area, x, y, "abcdef", Style::new());
        }
        assert_eq!(buf, Buffer::with_lines(["      ", " abc  ", "      "]));
        put_right(&mut buf, area, 4, 1, "xy", Style::new());
        put_right(&mut buf, area, 1, 1, "too long", Style::new());
        repeat(&mut buf, area, 1, 1, 1, "-", Style::new());
        assert_eq!(buf, Buffer::with_lines(["      ", " -xy  ", "      "]));
    }

    #[test]
    fn the_marked_row_is_in_view() {
        assert_eq!(first_row(0, 20, 5), 0);
        assert_eq!(first_row(10, 20, 5), 8);
        assert_eq!(first_row(19, 20, 5), 15);
        assert_eq!(first_row(3, 4, 5), 0);
        assert_eq!(first_row(3, 4, 0), 3);
    }

    #[test]
    fn parts_of_an_area_stay_inside() {
        let area = Rect::new(2, 3, 10, 4);
        assert_eq!(rows(area, 1, 2), Rect::new(2, 4, 10, 2));
        assert_eq!(rows(area, 3, 9), Rect::new(2, 6, 10, 1));
        assert_eq!(rows(area, 9, 9).height, 0);
        assert_eq!(columns(area, 4, 90), Rect::new(6, 3, 6, 4));
    }
}
