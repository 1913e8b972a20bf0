//! How things look, by what they mean. A screen asks for [`Meaning::Over`], never for red.

use crate::catalogue::Swatch;
use crate::units::Notation;
use ratatui::style::{Color, Modifier, Style};

mod symbols;
pub use symbols::Symbols;

/// What a piece of text means. Every meaning is also said by a word or a sign beside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meaning {
    /// Text as it comes.
    Plain,
    /// A name: of the colour, the toner, the screen.
    Title,
    /// A number that matters.
    Value,
    /// What can be looked up and need not be read.
    Muted,
    /// The scale stands still.
    Steady,
    /// The scale moves.
    Moving,
    /// Within its tolerance.
    Right,
    /// Still to go.
    Short,
    /// Above its tolerance.
    Over,
    /// No weight can be had.
    Lost,
    /// A weight, but not one to take.
    Doubt,
    /// Something went wrong, or what was typed cannot be.
    Error,
    /// On disk.
    Saved,
    /// On its way to the disk.
    Saving,
    /// Not on disk, and it will not be by itself.
    Unsaved,
    /// A key.
    KeyHint,
    /// Lines that part one thing from another.
    Rule,
    /// The row a key would act on.
    Selected,
    /// The letters that were found.
    Match,
}

impl Meaning {
    /// All of them.
    pub const ALL: [Self; 19] = [
        Self::Plain,
        Self::Title,
        Self::Value,
        Self::Muted,
        Self::Steady,
        Self::Moving,
        Self::Right,
        Self::Short,
        Self::Over,
        Self::Lost,
        Self::Doubt,
        Self::Error,
        Self::Saved,
        Self::Saving,
        Self::Unsaved,
        Self::KeyHint,
        Self::Rule,
        Self::Selected,
        Self::Match,
    ];
}

/// A set of colours.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Palette {
    /// The terminal's own sixteen colours.
    #[default]
    Default,
    /// White on black, nothing dimmed: for bright light.
    HighContrast,
    /// Blue for right and orange for over: told apart with any kind of colour vision.
    BlueOrange,
    /// No colour at all, only bold, underlined and reversed.
    Mono,
}

impl Palette {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Default, Self::HighContrast, Self::BlueOrange, Self::Mono];

    /// The name in settings and on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Default => "default",
            Self::HighContrast => "high-contrast",
            Self::BlueOrange => "blue-orange",
            Self::Mono => "mono",
        }
    }

    /// The palette of that name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|palette| palette.name() == name)
    }
}

/// How many colours the terminal can show.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Depth {
    /// The sixteen every terminal has.
    Sixteen,
    /// Red, green and blue in 256 steps each.
    True,
}

/// Colours, signs and how to use them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Theme {
    /// The colours.
    pub palette: Palette,
    /// How many of them the terminal can show.
    pub depth: Depth,
    /// The signs.
    pub symbols: &'static Symbols,
    /// How numbers are written.
    pub notation: Notation,
}

impl Default for Theme {
    fn default() -> Self {
        Self {
            palette: Palette::Default,
            depth: Depth::Sixteen,
            symbols: Symbols::UNICODE,
            notation: Notation::METRIC,
        }
    }
}

impl Theme {
    /// The theme a terminal asks for by its environment, where the shop has not chosen one.
    ///
    /// `NO_COLOR`, not empty, means no colour (no-color.org); `COLORTERM` says whether swatches can be shown
    /// as they are; a locale that is not UTF-8 gets plain ASCII signs.
    pub fn from_environment(variable: impl Fn(&str) -> Option<String>, chosen: Option<Palette>) -> Self {
        let set = |name: &str| variable(name).filter(|value| !value.is_empty());
        let palette = if set("NO_COLOR").is_some() { Palette::Mono } else { chosen.unwrap_or_default() };
        let depth = match set("COLORTERM").as_deref() {
            Some("truecolor" | "24bit") => Depth::True,
            _ => Depth::Sixteen,
        };
        // The first that is set decides, as in POSIX: LC_ALL, then LC_CTYPE, then LANG.
        let locale = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().find_map(set).unwrap_or_default();
        let locale = locale.to_ascii_lowercase();
        let unicode = locale.contains("utf-8") || locale.contains("utf8");
        let symbols = if unicode { Symbols::UNICODE } else { Symbols::ASCII };
        Self { palette, depth, symbols, notation: Notation::METRIC }
    }

    /// What lies under everything.
    pub const fn base(&self) -> Style {
        match self.palette {
            Palette::HighContrast => Style::new().fg(Color::White).bg(Color::Black),
            _ => Style::new(),
        }
    }

    /// The style of a meaning.
    pub fn style(&self, meaning: Meaning) -> Style {
        let style = Style::new().add_modifier(self.modifier(meaning));
        match self.colour(meaning) {
            Some(colour) => style.fg(colour),
            None => style,
        }
    }

    /// Bold, underlined, reversed: the same in every palette, so that one colour says as much as sixteen.
    const fn modifier(&self, meaning: Meaning) -> Modifier {
        match meaning {
            Meaning::Title
            | Meaning::Value
            | Meaning::Right
            | Meaning::Short
            | Meaning::Over
            | Meaning::Doubt
            | Meaning::Error
            | Meaning::KeyHint => Modifier::BOLD,
            Meaning::Lost | Meaning::Unsaved => Modifier::BOLD.union(Modifier::REVERSED),
            Meaning::Selected => Modifier::REVERSED,
            Meaning::Match => Modifier::BOLD.union(Modifier::UNDERLINED),
            Meaning::Muted | Meaning::Rule | Meaning::Saved => match self.palette {
                Palette::HighContrast => Modifier::empty(),
                _ => Modifier::DIM,
            },
            Meaning::Plain | Meaning::Steady | Meaning::Moving | Meaning::Saving => Modifier::empty(),
        }
    }

    fn colour(&self, meaning: Meaning) -> Option<Color> {
        let [good, bad, busy, alert] = match self.palette {
            Palette::Mono => return None,
            // Yellow and white are not to be read on a light background, blue not on a dark one.
            Palette::Default => [Color::Green, Color::Red, Color::Cyan, Color::Magenta],
            Palette::HighContrast => {
                [Color::LightGreen, Color::LightRed, Color::LightCyan, Color::LightYellow]
            }
            Palette::BlueOrange => match self.depth {
                // Sky blue, vermilion, blue and orange of Okabe and Ito, "Color Universal Design" (2008);
                // values from memory.
                Depth::True => [
                    Color::Rgb(86, 180, 233),
                    Color::Rgb(213, 94, 0),
                    Color::Rgb(0, 114, 178),
                    Color::Rgb(230, 159, 0),
                ],
                Depth::Sixteen => [Color::LightBlue, Color::Yellow, Color::Blue, Color::Yellow],
            },
        };
        Some(match meaning {
            Meaning::Steady | Meaning::Right => good,
            Meaning::Over | Meaning::Lost | Meaning::Error | Meaning::Unsaved => bad,
            Meaning::Moving | Meaning::Saving => busy,
            Meaning::Doubt => alert,
            _ => return None,
        })
    }

    /// A toner's own colour, in its texture: the sign to fill with and its style. `layer` counts from the
    /// bottom; neighbours have different textures, so that they are told apart without colour.
    pub fn layer(&self, swatch: Option<Swatch>, layer: usize) -> (&'static str, Style) {
        let textures = &self.symbols.textures;
        let sign = layer.checked_rem(textures.len()).and_then(|at| textures.get(at)).copied().unwrap_or("#");
        (sign, self.swatch(swatch))
    }

    /// The style in which a swatch's signs are drawn.
    pub fn swatch(&self, swatch: Option<Swatch>) -> Style {
        let Some(swatch) = swatch else { return Style::new() };
        match (self.palette, self.depth) {
            (Palette::Mono, _) => Style::new(),
            (_, Depth::Sixteen) => Style::new().fg(nearest_of_sixteen(swatch)),
            (_, Depth::True) => {
                let (front, back) = (lifted(swatch), grain(swatch));
                Style::new()
                    .fg(Color::Rgb(front.red, front.green, front.blue))
                    .bg(Color::Rgb(back.red, back.green, back.blue))
            }
        }
    }
}

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
fn lifted(swatch: Swatch) -> Swatch {
    if luma(swatch) < 40 { blend(swatch, GREY, 35) } else { swatch }
}

/// What shows between a texture's dots: the same colour, darker if it is light and lighter if it is dark.
fn grain(swatch: Swatch) -> Swatch {
    if luma(swatch) > 110 { blend(swatch, BLACK, 22) } else { blend(lifted(swatch), WHITE, 22) }
}

/// The sixteen colours as a common terminal shows them by default; from memory, and every terminal's user may
/// change them. Black is left out: it would not be seen on a black screen.
const SIXTEEN: [(Color, (u8, u8, u8)); 15] = [
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

fn nearest_of_sixteen(swatch: Swatch) -> Color {
    let distance = |(red, green, blue): (u8, u8, u8)| {
        let square = |a: u8, b: u8| u32::from(a.abs_diff(b)).pow(2);
        2 * square(swatch.red, red) + 4 * square(swatch.green, green) + 3 * square(swatch.blue, blue)
    };
    SIXTEEN.iter().min_by_key(|(_, rgb)| distance(*rgb)).map_or(Color::Gray, |(colour, _)| *colour)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn environment<'a>(pairs: &'a [(&'a str, &'a str)]) -> impl Fn(&str) -> Option<String> + 'a {
        |name| pairs.iter().find(|(key, _)| *key == name).map(|(_, value)| (*value).to_owned())
    }

    #[test]
    fn the_environment_chooses() {
        let theme = Theme::from_environment(
            environment(&[("NO_COLOR", "1"), ("COLORTERM", "truecolor"), ("LANG", "en_GB.UTF-8")]),
            Some(Palette::HighContrast),
        );
        assert_eq!(theme, Theme { palette: Palette::Mono, depth: Depth::True, ..Theme::default() });
        // Empty is not set, by no-color.org.
        let theme = Theme::from_environment(environment(&[("NO_COLOR", "")]), None);
        assert_eq!(theme.palette, Palette::Default);
        assert_eq!(theme.symbols, Symbols::ASCII);
        let locale = [("LC_ALL", "C"), ("LANG", "de_DE.utf8")];
        assert_eq!(Theme::from_environment(environment(&locale), None).symbols, Symbols::ASCII);
    }

    #[test]
    fn one_colour_is_no_colour() {
        for depth in [Depth::Sixteen, Depth::True] {
            let theme = Theme { palette: Palette::Mono, depth, ..Theme::default() };
            let swatch = theme.swatch(Swatch::parse("#123456"));
            let styles = Meaning::ALL.map(|meaning| theme.style(meaning));
            for style in styles.into_iter().chain([theme.base(), swatch]) {
                assert_eq!((style.fg, style.bg), (None, None));
            }
        }
    }

    /// What must be told apart at a glance is told apart by more than colour.
    #[test]
    fn every_palette_has_the_same_weight_of_type() {
        for meaning in Meaning::ALL {
            let weight = |palette| {
                let theme = Theme { palette, ..Theme::default() };
                theme.style(meaning).add_modifier.difference(Modifier::DIM)
            };
            assert!(Palette::ALL.into_iter().all(|palette| weight(palette) == weight(Palette::Mono)));
        }
    }

    #[test]
    fn neighbours_have_different_textures() {
        for symbols in [Symbols::UNICODE, Symbols::ASCII] {
            let theme = Theme { symbols, ..Theme::default() };
            for layer in 0..40 {
                assert_ne!(theme.layer(None, layer).0, theme.layer(None, layer + 1).0);
            }
        }
    }

    #[test]
    fn swatches_in_sixteen_colours() {
        for (swatch, colour) in [
            ("#000000", Color::DarkGray),
            ("#f2f1ec", Color::Gray),
            ("#ffffff", Color::White),
            ("#c01010", Color::Red),
            ("#1020d0", Color::Blue),
        ] {
            assert_eq!(nearest_of_sixteen(Swatch::parse(swatch).unwrap()), colour, "{swatch}");
        }
    }

    #[test]
    fn names_go_both_ways() {
        for palette in Palette::ALL {
            assert_eq!(Palette::from_name(palette.name()), Some(palette));
        }
        assert_eq!(Palette::from_name("pink"), None);
    }
}
