//! The label as a picture: SVG 1.1 on its own, without a font of its own, a script, or anything fetched.

use super::layout::{Alphabet, HEIGHT, Item, MILLIMETRES, WIDTH, lay_out};
use super::{Label, When};
use std::fmt::Write as _;

impl Label {
    /// The label as an SVG of 62 by 100 millimetres. Letters are those of whoever shows it, made to fit.
    pub fn svg(&self, when: When<'_>) -> String {
        let sheet = lay_out(self, when, Alphabet::Any);
        let (wide, high) = MILLIMETRES;
        let mut svg = format!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" \
             width=\"{wide}mm\" height=\"{high}mm\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" \
             font-family=\"Helvetica, Arial, 'Liberation Sans', sans-serif\">\n<title>{}</title>\n\
             <rect width=\"{WIDTH}\" height=\"{HEIGHT}\" fill=\"white\"/>\n",
            escaped(&format!("mix {:04}", self.number))
        );
        for item in &sheet.items {
            // Writing into a text cannot fail.
            let _ = match item {
                Item::Bar { x, y, width, height } => writeln!(
                    svg,
                    "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" shape-rendering=\"crispEdges\"/>",
                    Point(*x),
                    Point(*y),
                    Point(*width),
                    Point(*height)
                ),
                Item::Words { x, y, letters, text, white } => writeln!(
                    svg,
                    "<text x=\"{}\" y=\"{}\" font-size=\"{}\" textLength=\"{}\" lengthAdjust=\"spacingAndGlyphs\"{}{}>{}</text>",
                    Point(*x),
                    Point(*y),
                    Point(letters.size),
                    // Whoever shows it may have wider letters than were reckoned with: they are narrowed, not cut off.
                    Point(letters.width(text)),
                    if letters.bold { " font-weight=\"bold\"" } else { "" },
                    if *white { " fill=\"white\"" } else { "" },
                    escaped(text)
                ),
            };
        }
        svg.push_str("</svg>\n");
        svg
    }
}

/// A number of points, to a thousandth and no longer than it needs to be.
struct Point(f32);

impl std::fmt::Display for Point {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let text = format!("{:.3}", self.0);
        f.write_str(text.trim_end_matches('0').trim_end_matches('.'))
    }
}

/// The text as XML 1.0 takes it: what has a meaning there written out, what may not stand there left out.
fn escaped(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '\u{fffe}' | '\u{ffff}' => {}
            letter if letter.is_control() => {}
            letter => escaped.push(letter),
        }
    }
    escaped
}
