//! The one big number, to be read from two metres, and the words that belong to it.

use super::pen;
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

/// A number and its words. Draws in the largest size that fits, at the least as plain text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Big {
    /// Digits, a sign, a point or a comma: `27.4`.
    pub number: String,
    /// What it is: `g to go`.
    pub words: String,
    /// What it means.
    pub meaning: Meaning,
}

/// Drawn on six columns and ten half rows: a number a half row from the top, a bit a point, the sixth from the
/// right the leftmost.
type Glyph = [u8; 10];

const WIDTH: u16 = 6;

const DIGITS: [Glyph; 10] = [
    // 0
    [
        0b01_1110, 0b11_1111, 0b11_0011, 0b11_0011, 0b11_0011, 0b11_0011, 0b11_0011, 0b11_0011, 0b11_1111,
        0b01_1110,
    ],
    // 1
    [
        0b00_1100, 0b01_1100, 0b11_1100, 0b00_1100, 0b00_1100, 0b00_1100, 0b00_1100, 0b00_1100, 0b11_1111,
        0b11_1111,
    ],
    // 2
    [
        0b01_1110, 0b11_1111, 0b11_0011, 0b00_0011, 0b00_0111, 0b01_1110, 0b11_1000, 0b11_0000, 0b11_1111,
        0b11_1111,
    ],
    // 3
    [
        0b11_1110, 0b11_1111, 0b00_0011, 0b00_0011, 0b01_1110, 0b01_1110, 0b00_0011, 0b00_0011, 0b11_1111,
        0b11_1110,
    ],
    // 4
    [
        0b11_0011, 0b11_0011, 0b11_0011, 0b11_0011, 0b11_1111, 0b11_1111, 0b00_0011, 0b00_0011, 0b00_0011,
        0b00_0011,
    ],
    // 5
    [
        0b11_1111, 0b11_1111, 0b11_0000, 0b11_0000, 0b11_1110, 0b11_1111, 0b00_0011, 0b00_0011, 0b11_1111,
        0b11_1110,
    ],
    // 6
    [
        0b01_1110, 0b11_1111, 0b11_0000, 0b11_0000, 0b11_1110, 0b11_1111, 0b11_0011, 0b11_0011, 0b11_1111,
        0b01_1110,
    ],
    // 7
    [
        0b11_1111, 0b11_1111, 0b00_0011, 0b00_0110, 0b00_0110, 0b00_1100, 0b00_1100, 0b01_1000, 0b01_1000,
        0b01_1000,
    ],
    // 8
    [
        0b01_1110, 0b11_1111, 0b11_0011, 0b11_0011, 0b01_1110, 0b01_1110, 0b11_0011, 0b11_0011, 0b11_1111,
        0b01_1110,
    ],
    // 9
    [
        0b01_1110, 0b11_1111, 0b11_0011, 0b11_0011, 0b11_1111, 0b01_1111, 0b00_0011, 0b00_0011, 0b11_1111,
        0b01_1110,
    ],
];

const MINUS: Glyph = [0, 0, 0, 0, 0b00_1111, 0b00_1111, 0, 0, 0, 0];
const PLUS: Glyph = [0, 0, 0b00_0110, 0b00_0110, 0b00_1111, 0b00_1111, 0b00_0110, 0b00_0110, 0, 0];
const POINT: Glyph = [0, 0, 0, 0, 0, 0, 0, 0, 0b00_0011, 0b00_0011];
// Its tail goes down to the left, so that it is no point from two metres either.
const COMMA: Glyph = [0, 0, 0, 0, 0, 0, 0, 0b00_0011, 0b00_0011, 0b00_0110];

/// The drawing of a sign and how many of its right-hand columns are used.
const fn glyph(sign: char) -> Option<(Glyph, u16)> {
    let [zero, one, two, three, four, five, six, seven, eight, nine] = DIGITS;
    Some(match sign {
        '0' => (zero, WIDTH),
        '1' => (one, WIDTH),
        '2' => (two, WIDTH),
        '3' => (three, WIDTH),
        '4' => (four, WIDTH),
        '5' => (five, WIDTH),
        '6' => (six, WIDTH),
        '7' => (seven, WIDTH),
        '8' => (eight, WIDTH),
        '9' => (nine, WIDTH),
        '-' => (MINUS, 4),
        '+' => (PLUS, 4),
        '.' => (POINT, 2),
        ',' => (COMMA, 3),
        _ => return None,
    })
}

/// How large: how many cells a point of the drawing takes across, and half cells down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Size {
    /// Ten rows.
    Large,
    /// Five rows.
    Middle,
}

impl Size {
    const fn scale(self) -> u16 {
        match self {
            Self::Large => 2,
            Self::Middle => 1,
        }
    }

    const fn rows(self) -> u16 {
        5 * self.scale()
    }

    /// The columns of a number, a gap between its signs; nothing if it cannot be drawn.
    fn columns(self, number: &str) -> Option<u16> {
        let mut columns = 0_u16;
        for sign in number.chars() {
            let (_, width) = glyph(sign)?;
            columns = columns.saturating_add((width.saturating_add(1)).saturating_mul(self.scale()));
        }
        Some(columns.saturating_sub(self.scale()))
    }
}

impl Big {
    /// How many rows the number takes where there are so many columns and rows.
    pub fn rows(&self, width: u16, height: u16) -> u16 {
        self.size(width, height).map_or(1, |(size, _)| size.rows())
    }

    /// The size, and whether the words fit beside it. Beside is better than larger with the words below.
    fn size(&self, width: u16, height: u16) -> Option<(Size, bool)> {
        let words = text::width(&self.words).saturating_add(2);
        let columns = |size: Size| size.columns(&self.number);
        let fits = |size: Size, more: u16, rows: u16| {
            size.rows().saturating_add(rows) <= height
                && columns(size).is_some_and(|columns| columns.saturating_add(more) <= width)
        };
        let beside = [Size::Large, Size::Middle].into_iter().find(|size| fits(*size, words, 0));
        let below = || fits(Size::Middle, 0, 1).then_some((Size::Middle, false));
        beside.map(|size| (size, true)).or_else(below)
    }

    /// Draws it from the upper left of the area: the number, and its words beside its last row, or in the row
    /// below where there is no room beside. Answers whether the row below the number is free.
    pub fn draw(&self, area: Rect, buf: &mut Buffer, theme: &Theme) -> bool {
        let words = theme.style(self.meaning);
        // A block drawn reversed would be a hole.
        let blocks = words.remove_modifier(Modifier::REVERSED);
        let Some((size, beside)) = self.size(area.width, area.height) else {
            let line = format!("{} {}", self.number, self.words);
            let line = text::fit(line.trim(), area.width, theme.symbols.ellipsis);
            pen::put(buf, area, area.x, area.y, &line, words);
            return true;
        };
        let mut x = area.x;
        for sign in self.number.chars() {
            let Some((glyph, width)) = glyph(sign) else { continue };
            draw_glyph(&glyph, width, size, (x, area.y), area, buf, theme, blocks);
            x = x.saturating_add((width.saturating_add(1)).saturating_mul(size.scale()));
        }
        let y = area.y.saturating_add(size.rows());
        if beside {
            let x = x.saturating_sub(size.scale()).saturating_add(2);
            pen::put(buf, area, x, y.saturating_sub(1), &self.words, words);
        } else {
            let line = text::fit(&self.words, area.width, theme.symbols.ellipsis);
            pen::put(buf, area, area.x, y, &line, words);
        }
        beside
    }
}

#[expect(clippy::too_many_arguments, reason = "what to draw, how large, where, and onto what")]
fn draw_glyph(
    glyph: &Glyph,
    width: u16,
    size: Size,
    (left, top): (u16, u16),
    clip: Rect,
    buf: &mut Buffer,
    theme: &Theme,
    style: Style,
) {
    let point = |column: u16, half_row: u16| {
        let (column, half_row) = (column.div_euclid(size.scale()), half_row.div_euclid(size.scale()));
        let bit = width.saturating_sub(column).saturating_sub(1);
        glyph.get(usize::from(half_row)).is_some_and(|row| (row >> bit) & 1 == 1)
    };
    for row in 0..size.rows() {
        for column in 0..width.saturating_mul(size.scale()) {
            let (upper, lower) = (
                point(column, row.saturating_mul(2)),
                point(column, row.saturating_mul(2).saturating_add(1)),
            );
            let sign = match (upper, lower) {
                (false, false) => continue,
                (true, false) if theme.symbols.halves => "▀",
                (false, true) if theme.symbols.halves => "▄",
                _ => theme.symbols.solid,
            };
            pen::put(buf, clip, left.saturating_add(column), top.saturating_add(row), sign, style);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::theme::{Palette, Symbols};

    fn big(number: &str, words: &str) -> Big {
        Big { number: number.to_owned(), words: words.to_owned(), meaning: Meaning::Short }
    }

    fn rows(big: &Big, width: u16, height: u16, symbols: &'static Symbols) -> Vec<String> {
        let mut buf = Buffer::empty(Rect::new(0, 0, width, height));
        big.draw(buf.area, &mut buf, &Theme { symbols, ..Theme::default() });
        crate::tui::screens::picture(&buf)
    }

    #[test]
    fn all_the_digits() {
        let rows = rows(&big("0123456789", ""), 80, 5, Symbols::UNICODE);
        assert_eq!(
            rows,
            [
                "▄████▄  ▄██   ▄████▄ █████▄ ██  ██ ██████ ▄████▄ ██████ ▄████▄ ▄████▄",
                "██  ██ ▀▀██   ▀▀  ██     ██ ██  ██ ██     ██        ▄█▀ ██  ██ ██  ██",
                "██  ██   ██    ▄▄██▀  ████  ██████ █████▄ █████▄   ▄█▀   ████  ▀█████",
                "██  ██   ██   ██▀        ██     ██     ██ ██  ██  ▄█▀   ██  ██     ██",
                "▀████▀ ██████ ██████ █████▀     ██ █████▀ ▀████▀  ██    ▀████▀ ▀████▀",
            ]
        );
    }

    #[test]
    fn a_comma_has_a_tail_and_a_point_has_none() {
        let both = rows(&big("1,2.3", ""), 40, 5, Symbols::UNICODE);
        assert_eq!(
            both,
            [
                " ▄██       ▄████▄    █████▄",
                "▀▀██       ▀▀  ██        ██",
                "  ██        ▄▄██▀     ████",
                "  ██    ▄▄ ██▀           ██",
                "██████ ▄█▀ ██████ ██ █████▀",
            ]
        );
        let ascii = |number| rows(&big(number, ""), 40, 5, Symbols::ASCII);
        assert_ne!(ascii("1,2"), ascii("1.2"));
    }

    #[test]
    fn plain_text_where_there_is_no_room() {
        assert_eq!(rows(&big("27.4", "g to go"), 20, 5, Symbols::UNICODE)[0], "27.4 g to go");
        assert_eq!(rows(&big("27.4", "g to go"), 60, 4, Symbols::UNICODE)[0], "27.4 g to go");
        assert_eq!(rows(&big("27.4", "g to go"), 26, 6, Symbols::UNICODE)[5], "g to go");
        assert_eq!(rows(&big("27.4", "g to go"), 8, 1, Symbols::UNICODE)[0], "27.4 g…");
        assert_eq!(rows(&big("soon", "g"), 60, 10, Symbols::UNICODE)[0], "soon g");
    }

    #[test]
    fn a_block_is_never_reversed() {
        let mut buf = Buffer::empty(Rect::new(0, 0, 40, 5));
        let lost = Big { meaning: Meaning::Lost, ..big("8", "x") };
        lost.draw(buf.area, &mut buf, &Theme { palette: Palette::Mono, ..Theme::default() });
        let cell = buf.cell((1, 0)).unwrap();
        assert_eq!((cell.symbol(), cell.modifier.contains(Modifier::REVERSED)), ("█", false));
    }
}
