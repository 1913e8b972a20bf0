//! A toner's colour on a screen: as it is, or the nearest of sixteen, so that it is seen on the ground it lies on.

use super::Palette;
use crate::catalogue::Swatch;
use ratatui::style::Color;

/// Lightness from 0 to 255, by the luma weights of ITU-R BT.601.
fn luma(swatch: Swatch) -> u8 {
    let sum = u32::from(swatch.red) * 299 + u32::from(swatch.green) * 587 + u32::from(swatch.blue) * 114;
    u8::try_from(sum / 1000).unwrap_or(u8::MAX)
}

/// `part` hundredths of `b` in `a`.
fn blend(a: Swatch, b: Swatch, part: u32) -> Swatch {
    let channel = |a: u8, b: u8| {
        let sum = u32::from(a) * (100 - part) + u32::from(b) * part;
        u8::try_from(sum / 100).unwrap_or(u8::MAX)
    };
    Swatch { red: channel(a.red, b.red), green: channel(a.green, b.green), blue: channel(a.blue, b.blue) }
}

const BLACK: Swatch = Swatch { red: 0, green: 0, blue: 0 };
const GREY: Swatch = Swatch { red: 120, green: 120, blue: 120 };
const WHITE: Swatch = Swatch { red: 255, green: 255, blue: 255 };

/// The swatch, a black a little lifted: it must be seen on a black screen.
pub(super) fn lifted(swatch: Swatch) -> Swatch {
    if luma(swatch) < 40 { blend(swatch, GREY, 35) } else { swatch }
}

/// What shows between a texture's dots: the same colour, darker if it is light and lighter if it is dark.
pub(super) fn grain(swatch: Swatch) -> Swatch {
    if luma(swatch) > 110 { blend(swatch, BLACK, 22) } else { blend(lifted(swatch), WHITE, 22) }
}

/// The sixteen colours as a common terminal shows them by default; from memory, and every terminal's user may
/// change them. Black is left out: it would not be seen on a black screen.
pub(in crate::tui) const SIXTEEN: [(Color, (u8, u8, u8)); 15] = [
    (Color::Red, (205, 0, 0)),
    (Color::Green, (0, 205, 0)),
    (Color::Yellow, (205, 205, 0)),
    (Color::Blue, (0, 0, 238)),
    (Color::Magenta, (205, 0, 205)),
    (Color::Cyan, (0, 205, 205)),
    (Color::Gray, (229, 229, 229)),
    (Color::DarkGray, (90, 90, 90)),
    (Color::LightRed, (255, 0, 0)),
    (Color::LightGreen, (0, 255, 0)),
    (Color::LightYellow, (255, 255, 0)),
    (Color::LightBlue, (92, 92, 255)),
    (Color::LightMagenta, (255, 0, 255)),
    (Color::LightCyan, (0, 255, 255)),
    (Color::White, (255, 255, 255)),
];

pub(super) fn nearest_of_sixteen(swatch: Swatch, palette: Palette) -> Color {
    let distance = |(red, green, blue): (u8, u8, u8)| {
        let square = |a: u8, b: u8| u32::from(a.abs_diff(b)).pow(2);
        2 * square(swatch.red, red) + 4 * square(swatch.green, green) + 3 * square(swatch.blue, blue)
    };
    // On white paper, white and the palest yellow would not be seen.
    let seen =
        |colour: Color| palette != Palette::Light || !matches!(colour, Color::White | Color::LightYellow);
    let nearest = SIXTEEN.iter().filter(|(colour, _)| seen(*colour)).min_by_key(|(_, rgb)| distance(*rgb));
    nearest.map_or(Color::Gray, |(colour, _)| *colour)
}
