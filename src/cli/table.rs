//! A plain table: columns by their widest cell, texts to the left, numbers to the right.

use crate::tui::text;
use unicode_width::UnicodeWidthStr;

/// Where a column's cells stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    Left,
    Right,
}

/// The rows as lines, two blanks between columns and none at the end of a line. A row's cells beyond the given
/// columns stand to the left.
pub(super) fn lines(sides: &[Side], rows: &[Vec<String>]) -> Vec<String> {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |column: usize| rows.iter().filter_map(|row| Some(row.get(column)?.width())).max();
    let widths: Vec<usize> = (0..columns).map(|column| width(column).unwrap_or(0)).collect();
    rows.iter()
        .map(|row| {
            let mut line = String::new();
            for (column, (cell, width)) in row.iter().zip(&widths).enumerate() {
                if column > 0 {
                    line.push_str("  ");
                }
                let blanks = " ".repeat(width.saturating_sub(cell.width()));
                match sides.get(column) {
                    Some(Side::Right) => line.extend([blanks.as_str(), cell]),
                    _ => line.extend([cell, blanks.as_str()]),
                }
            }
            line.truncate(line.trim_end().len());
            line
        })
        .collect()
}

/// A column is not made narrower than that by breaking words.
const LEAST: usize = 6;

/// The rows as lines that are no wider than that, where it can be done: what stands in columns of text, and what stands above
/// numbers, goes on in the next line. Numbers are never broken.
pub(super) fn fitted(sides: &[Side], rows: &[Vec<String>], width: usize) -> Vec<String> {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let side = |column: usize| sides.get(column).copied().unwrap_or(Side::Left);
    let cells = |column: usize| rows.iter().filter_map(move |row| row.get(column));
    let natural = |column: usize| cells(column).map(|cell| cell.width()).max().unwrap_or(0);
    let longest_word = |column: usize| cells(column).map(|cell| word_width(cell)).max().unwrap_or(0);
    let mut widths: Vec<usize> = (0..columns).map(natural).collect();
    let room = width.saturating_sub(columns.saturating_sub(1).saturating_mul(2));
    let is_wide = |widths: &[usize]| widths.iter().sum::<usize>() > room;
    if is_wide(&widths) {
        // What stands above numbers first: it costs a line or two, and no more.
        for (column, width) in
            widths.iter_mut().enumerate().filter(|(column, _)| side(*column) == Side::Right)
        {
            let below = cells(column).skip(1).map(|cell| cell.width()).max().unwrap_or(0);
            *width = below.max(longest_word(column));
        }
        let by_words: Vec<usize> = (0..columns).map(longest_word).collect();
        narrow(&mut widths, &by_words, room);
        let broken: Vec<usize> =
            (0..columns)
                .map(|column| {
                    if side(column) == Side::Right { widths.get(column).copied().unwrap_or(0) } else { LEAST }
                })
                .collect();
        narrow(&mut widths, &broken, room);
    }
    let mut broken: Vec<Vec<String>> = Vec::new();
    for row in rows {
        let cells: Vec<Vec<String>> =
            row.iter().zip(&widths).map(|(cell, width)| wrapped(cell, (*width).max(1))).collect();
        let high = cells.iter().map(Vec::len).max().unwrap_or(0);
        for line in 0..high {
            broken.push(cells.iter().map(|cell| cell.get(line).cloned().unwrap_or_default()).collect());
        }
    }
    lines(sides, &broken)
}

/// Makes the widest column narrower that is not at its least yet, until all of them have room or are.
fn narrow(widths: &mut [usize], least: &[usize], room: usize) {
    while widths.iter().sum::<usize>() > room {
        let loose = widths.iter_mut().zip(least).filter(|(width, least)| **width > **least);
        let Some((widest, _)) = loose.max_by_key(|(width, _)| **width) else { return };
        *widest = widest.saturating_sub(1);
    }
}

fn word_width(text: &str) -> usize {
    text.split(' ').map(UnicodeWidthStr::width).max().unwrap_or(0)
}

/// A text in lines that are no wider than that, broken at blanks, and within a word only where that is wider by itself; at
/// least one line.
pub(super) fn wrapped(text: &str, width: usize) -> Vec<String> {
    let lines = text::wrap(text, u16::try_from(width).unwrap_or(u16::MAX));
    if lines.is_empty() { vec![String::new()] } else { lines }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_below_each_other() {
        let rows = [["a", "9.5", "x"], ["föhn", "10.5", ""]].map(|row| row.map(str::to_owned).to_vec());
        assert_eq!(lines(&[Side::Left, Side::Right], &rows), ["a      9.5  x", "föhn  10.5"]);
    }

    #[test]
    fn what_is_too_wide_goes_on_below() {
        let rows = [
            ["layer", "what is to be said of it", "mixed together, g"],
            ["ground coat", "one two three four five", "1234.5"],
        ];
        let rows = rows.map(|row| row.map(str::to_owned).to_vec());
        let sides = [Side::Left, Side::Left, Side::Right];
        assert_eq!(fitted(&sides, &rows, 80), lines(&sides, &rows), "nothing is broken that has room");
        assert_eq!(
            fitted(&sides, &rows, 34),
            [
                "layer        what is to      mixed",
                "             be said of  together,",
                "             it                  g",
                "ground coat  one two        1234.5",
                "             three four",
                "             five",
            ]
        );
        // A word that is too wide by itself is broken, and a number never.
        let long = [["x".repeat(30), "123456789.5".to_owned()].to_vec()];
        let broken = fitted(&[Side::Left, Side::Right], &long, 23);
        assert_eq!(broken, ["xxxxxxxxxx  123456789.5", "xxxxxxxxxx", "xxxxxxxxxx"]);
        assert_eq!(fitted(&[Side::Left, Side::Right], &long, 5)[0], "xxxxxx  123456789.5");
    }

    #[test]
    fn a_text_is_broken_at_blanks() {
        assert_eq!(wrapped("one two three", 7), ["one two", "three"]);
        assert_eq!(wrapped("", 7), [""]);
        assert_eq!(wrapped("a twelvelettersword", 6), ["a", "twelve", "letter", "sword"].map(str::to_owned));
    }
}
