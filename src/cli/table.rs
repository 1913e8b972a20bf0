//! A plain table: columns by their widest cell, texts to the left, numbers to the right.

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_below_each_other() {
        let rows = [["a", "9.5", "x"], ["föhn", "10.5", ""]].map(|row| row.map(str::to_owned).to_vec());
        assert_eq!(lines(&[Side::Left, Side::Right], &rows), ["a      9.5  x", "föhn  10.5"]);
    }
}
