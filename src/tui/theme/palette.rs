//! The sets of colours one can choose from. Nothing is said by them alone.

use super::Depth;
use ratatui::style::Color;

/// A set of colours.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Palette {
    /// The terminal's own sixteen colours on its own ground, which is most often dark.
    #[default]
    Dark,
    /// Black on white, whatever the terminal's ground: for a bright room.
    Light,
    /// White on black, nothing dimmed: for tired eyes and bad screens.
    HighContrast,
    /// Blue for right and orange for over: told apart with any kind of colour vision.
    BlueOrange,
    /// No colour at all, only bold, underlined and reversed.
    Mono,
}

/// The colours of a palette, by what they say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Inks {
    /// Right, steady.
    pub(super) good: Color,
    /// Over, lost, not saved.
    pub(super) bad: Color,
    /// Something moves.
    pub(super) busy: Color,
    /// A weight, but not one to take.
    pub(super) alert: Color,
    /// What need not be read; none where it is dimmed instead.
    pub(super) muted: Option<Color>,
}

impl Palette {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::Dark, Self::Light, Self::HighContrast, Self::BlueOrange, Self::Mono];

    /// The name in settings.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Dark => "dark",
            Self::Light => "light",
            Self::HighContrast => "high-contrast",
            Self::BlueOrange => "blue-orange",
            Self::Mono => "mono",
        }
    }

    /// The palette of that name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|palette| palette.name() == name)
    }

    /// Ink and paper, where the palette does not leave them to the terminal.
    pub(super) const fn ground(self) -> Option<(Color, Color)> {
        match self {
            Self::HighContrast => Some((Color::White, Color::Black)),
            Self::Light => Some((Color::Black, Color::White)),
            Self::Dark | Self::BlueOrange | Self::Mono => None,
        }
    }

    /// The colours by what they say; none in one colour.
    pub(super) const fn inks(self, depth: Depth) -> Option<Inks> {
        let [good, bad, busy, alert] = match (self, depth) {
            (Self::Mono, _) => return None,
            // Where the ground is not known: yellow and white are not to be read on a light one, blue not on a dark one.
            (Self::Dark, _) => [Color::Green, Color::Red, Color::Cyan, Color::Magenta],
            // Green and cyan of the sixteen are too pale for white paper on most terminals.
            (Self::Light, Depth::Sixteen) => [Color::Blue, Color::Red, Color::Blue, Color::Magenta],
            (Self::Light, Depth::True) => [
                Color::Rgb(0, 97, 0),
                Color::Rgb(176, 0, 32),
                Color::Rgb(0, 82, 165),
                Color::Rgb(122, 0, 140),
            ],
            (Self::HighContrast, Depth::Sixteen) => {
                [Color::LightGreen, Color::LightRed, Color::LightCyan, Color::LightYellow]
            }
            (Self::HighContrast, Depth::True) => [
                Color::Rgb(120, 255, 120),
                Color::Rgb(255, 140, 140),
                Color::Rgb(120, 255, 255),
                Color::Rgb(255, 255, 0),
            ],
            (Self::BlueOrange, Depth::Sixteen) => {
                [Color::LightCyan, Color::Yellow, Color::Cyan, Color::Yellow]
            }
            // Sky blue, vermilion, bluish green and orange of Okabe and Ito, "Color Universal Design" (2008); values
            // from memory.
            (Self::BlueOrange, Depth::True) => [
                Color::Rgb(86, 180, 233),
                Color::Rgb(213, 94, 0),
                Color::Rgb(0, 158, 115),
                Color::Rgb(230, 159, 0),
            ],
        };
        let muted = match (self, depth) {
            (Self::Light, Depth::Sixteen) => Some(Color::DarkGray),
            (Self::Light, Depth::True) => Some(Color::Rgb(80, 80, 80)),
            _ => None,
        };
        Some(Inks { good, bad, busy, alert, muted })
    }
}
