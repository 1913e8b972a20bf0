//! How things look, by what they mean. A screen asks for [`Meaning::Over`], never for red.

use crate::catalogue::Swatch;
use crate::units::Notation;
use ratatui::style::{Color, Modifier, Style};

mod level;
mod palette;
mod shade;
mod symbols;
#[cfg(test)]
mod tests;

pub use palette::Palette;
#[cfg(test)]
pub(super) use shade::SIXTEEN;
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
            palette: Palette::Dark,
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
        match self.palette.ground() {
            Some((ink, paper)) => Style::new().fg(ink).bg(paper),
            None => Style::new(),
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
            // Dimmed on a ground of its own, text would fall below what can be read in bright light.
            Meaning::Muted | Meaning::Rule | Meaning::Saved => match self.palette.ground() {
                Some(_) => Modifier::empty(),
                None => Modifier::DIM,
            },
            Meaning::Plain | Meaning::Steady | Meaning::Moving | Meaning::Saving => Modifier::empty(),
        }
    }

    fn colour(&self, meaning: Meaning) -> Option<Color> {
        let inks = self.palette.inks(self.depth)?;
        match meaning {
            Meaning::Steady | Meaning::Right => Some(inks.good),
            Meaning::Over | Meaning::Lost | Meaning::Error | Meaning::Unsaved => Some(inks.bad),
            Meaning::Moving | Meaning::Saving => Some(inks.busy),
            Meaning::Doubt => Some(inks.alert),
            Meaning::Muted | Meaning::Rule | Meaning::Saved => inks.muted,
            _ => None,
        }
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
            (palette, Depth::Sixteen) => Style::new().fg(shade::nearest_of_sixteen(swatch, palette)),
            (_, Depth::True) => {
                let (front, back) = (shade::lifted(swatch), shade::grain(swatch));
                Style::new()
                    .fg(Color::Rgb(front.red, front.green, front.blue))
                    .bg(Color::Rgb(back.red, back.green, back.blue))
            }
        }
    }
}
