//! A drawn buffer as an SVG picture. Blocks and lines are drawn as shapes, so that they meet whatever font the
//! reader's browser has; letters are text.

use crate::tui::theme::{SIXTEEN, Theme};
use ratatui::buffer::{Buffer, Cell};
use ratatui::style::{Color, Modifier};
use std::fmt::Write as _;

/// A cell's width and height, and a margin around them all, in units of the picture.
const CELL: (u16, u16) = (9, 18);
const MARGIN: u16 = 10;
/// Ink and paper where the theme leaves them to the terminal.
const INK: &str = "#d7dce2";
const PAPER: &str = "#12161b";

/// How a cell is painted.
#[derive(Clone, PartialEq)]
struct Paint {
    ink: String,
    paper: Option<String>,
    bold: bool,
    dim: bool,
    underlined: bool,
}

/// The buffer as a picture with that title for those who cannot see it.
pub(super) fn svg(buf: &Buffer, theme: &Theme, title: &str) -> String {
    let (width, height) = (buf.area.width * CELL.0 + 2 * MARGIN, buf.area.height * CELL.1 + 2 * MARGIN);
    let base = theme.base();
    let paper = base.bg.and_then(hex).unwrap_or_else(|| PAPER.to_owned());
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" \
         role=\"img\" shape-rendering=\"crispEdges\" font-family=\"ui-monospace,'DejaVu Sans Mono',Menlo,Consolas,monospace\" \
         font-size=\"15\">\n<title>{}</title>\n<rect width=\"{width}\" height=\"{height}\" rx=\"6\" \
         fill=\"{paper}\"/>\n",
        escaped(title)
    );
    for y in buf.area.top()..buf.area.bottom() {
        row(buf, y, theme, &paper, &mut out);
    }
    out.push_str("</svg>\n");
    out
}

fn row(buf: &Buffer, y: u16, theme: &Theme, paper: &str, out: &mut String) {
    let cells: Vec<&Cell> = (buf.area.left()..buf.area.right()).map(|x| buf.cell((x, y)).unwrap()).collect();
    let paints: Vec<Paint> = cells.iter().map(|cell| paint(cell, theme, paper)).collect();
    let top = y * CELL.1 + MARGIN;
    let mut from = 0;
    while from < cells.len() {
        let same = |at: &usize| paints[*at] == paints[from] && alike(cells[*at], cells[from]);
        let to = (from..cells.len()).take_while(same).last().unwrap() + 1;
        let (left, columns) =
            (u16::try_from(from).unwrap() * CELL.0 + MARGIN, u16::try_from(to - from).unwrap());
        if let Some(paper) = &paints[from].paper {
            rect(out, (left, top, columns * CELL.0, CELL.1), paper, "1");
        }
        let sign = cells[from].symbol();
        if !shape(out, sign, (left, top, columns), &paints[from].ink) && sign != " " {
            let words: String = cells[from..to].iter().map(|cell| cell.symbol()).collect();
            text(out, &words, (left, top, columns), &paints[from]);
        }
        from = to;
    }
}

/// Whether two cells are drawn in one go: two letters, or twice the same sign.
fn alike(a: &Cell, b: &Cell) -> bool {
    let letter = |cell: &Cell| cell.symbol() != " " && !is_shape(cell.symbol());
    (letter(a) && letter(b)) || a.symbol() == b.symbol()
}

fn paint(cell: &Cell, theme: &Theme, paper: &str) -> Paint {
    let base_ink = theme.base().fg.and_then(hex).unwrap_or_else(|| INK.to_owned());
    let (mut ink, mut ground) = (hex(cell.fg).unwrap_or(base_ink), hex(cell.bg));
    if cell.modifier.contains(Modifier::REVERSED) {
        let was = ground.take().unwrap_or_else(|| paper.to_owned());
        ground = Some(std::mem::replace(&mut ink, was));
    }
    Paint {
        ink,
        paper: ground.filter(|ground| ground != paper),
        bold: cell.modifier.contains(Modifier::BOLD),
        dim: cell.modifier.contains(Modifier::DIM),
        underlined: cell.modifier.contains(Modifier::UNDERLINED),
    }
}

fn hex(colour: Color) -> Option<String> {
    let (red, green, blue) = match colour {
        Color::Reset => return None,
        Color::Rgb(red, green, blue) => (red, green, blue),
        Color::Black => (0, 0, 0),
        named => SIXTEEN.iter().find(|(colour, _)| *colour == named)?.1,
    };
    Some(format!("#{red:02x}{green:02x}{blue:02x}"))
}

fn is_shape(sign: &str) -> bool {
    matches!(
        sign,
        "█" | "▓"
            | "▒"
            | "░"
            | "▀"
            | "▄"
            | "─"
            | "┄"
            | "│"
            | "┃"
            | "╷"
            | "╰"
            | "╯"
            | "┠"
            | "┨"
            | "╟"
            | "╢"
    )
}

/// Draws a sign that must meet its neighbours; false if it is text.
fn shape(out: &mut String, sign: &str, (left, top, columns): (u16, u16, u16), ink: &str) -> bool {
    let (width, height) = CELL;
    let (wide, half) = (columns * width, height / 2);
    match sign {
        "█" => rect(out, (left, top, wide, height), ink, "1"),
        "▓" => rect(out, (left, top, wide, height), ink, ".72"),
        "▒" => rect(out, (left, top, wide, height), ink, ".48"),
        "░" => rect(out, (left, top, wide, height), ink, ".26"),
        "▀" => rect(out, (left, top, wide, half), ink, "1"),
        "▄" => rect(out, (left, top + half, wide, half), ink, "1"),
        "─" => rect(out, (left, top + half, wide, 1), ink, ".8"),
        "┄" => {
            for column in 0..columns {
                for third in 0..3 {
                    rect(out, (left + column * width + third * 3, top + half, 2, 1), ink, ".9");
                }
            }
        }
        _ => {
            for column in 0..columns {
                if !upright(out, sign, (left + column * width, top), ink) {
                    return false;
                }
            }
        }
    }
    true
}

/// A sign with an upright line, a cell wide.
fn upright(out: &mut String, sign: &str, (left, top): (u16, u16), ink: &str) -> bool {
    let (width, height) = CELL;
    let (middle, half) = (left + width / 2, top + height / 2);
    let mut line = |x: u16, y: u16, wide: u16, high: u16| rect(out, (x, y, wide, high), ink, "1");
    match sign {
        "│" => line(middle, top, 1, height),
        "┃" => line(middle - 1, top, 3, height),
        "╷" => line(middle, half, 1, height / 2),
        "╰" => {
            line(middle, top, 1, height / 2);
            line(middle, half, width - width / 2, 1);
        }
        "╯" => {
            line(middle, top, 1, height / 2);
            line(left, half, width / 2 + 1, 1);
        }
        "┠" => {
            line(middle - 1, top, 3, height);
            line(middle, half, width - width / 2, 1);
        }
        "┨" => {
            line(middle - 1, top, 3, height);
            line(left, half, width / 2, 1);
        }
        "╟" | "╢" => {
            line(middle - 1, top, 1, height);
            line(middle + 1, top, 1, height);
        }
        _ => return false,
    }
    true
}

fn rect(out: &mut String, (x, y, width, height): (u16, u16, u16, u16), fill: &str, opacity: &str) {
    let faint = if opacity == "1" { String::new() } else { format!(" fill-opacity=\"{opacity}\"") };
    writeln!(out, "<rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" fill=\"{fill}\"{faint}/>")
        .unwrap();
}

fn text(out: &mut String, words: &str, (left, top, columns): (u16, u16, u16), paint: &Paint) {
    let mut looks = String::new();
    for (is, attribute) in [
        (paint.bold, " font-weight=\"bold\""),
        (paint.dim, " fill-opacity=\".6\""),
        (paint.underlined, " text-decoration=\"underline\""),
    ] {
        looks.push_str(if is { attribute } else { "" });
    }
    writeln!(
        out,
        "<text x=\"{left}\" y=\"{}\" textLength=\"{}\" lengthAdjust=\"spacingAndGlyphs\" fill=\"{}\"{looks}>{}</text>",
        top + CELL.1 - 5,
        columns * CELL.0,
        paint.ink,
        escaped(words)
    )
    .unwrap();
}

fn escaped(words: &str) -> String {
    words.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

#[cfg(test)]
mod tests {
    use super::*;
    use ratatui::layout::Rect;
    use ratatui::style::Style;

    #[test]
    fn letters_are_text_and_blocks_are_shapes() {
        let mut buf = Buffer::empty(Rect::new(0, 0, 8, 1));
        buf.set_string(0, 0, "a<b ██", Style::new());
        buf.set_string(4, 0, "██", Style::new().fg(Color::Rgb(1, 2, 3)));
        buf.set_string(7, 0, "x", Style::new().add_modifier(Modifier::REVERSED));
        let picture = svg(&buf, &Theme::default(), "T & C");
        assert!(picture.contains("<title>T &amp; C</title>"));
        assert!(picture.contains(">a&lt;b</text>"));
        assert!(picture.contains("<rect x=\"46\" y=\"10\" width=\"18\" height=\"18\" fill=\"#010203\"/>"));
        assert!(picture.contains(&format!("fill=\"{INK}\"/>\n<text x=\"73\"")), "{picture}");
        assert!(picture.ends_with("</svg>\n"));
    }
}
