//! What must be known on every screen: a lost scale, a doubt, pours that are not saved, a book one may only
//! look at. A line each, the most serious first.

use super::pen;
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// What a banner is about, the most serious first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum BannerKind {
    /// Something is not on disk and will not be by itself.
    NotSaved,
    /// The scale is lost.
    Lost,
    /// A tin is in the hand that is not to be poured as it is.
    WrongTin,
    /// The pot life of a mix is over, and nobody has seen it yet.
    PotLife,
    /// Another program has the book: one can look, not weigh.
    LookOnly,
    /// The scale is not checked as it should be, or was not right.
    Check,
    /// There is a reading, but none to trust.
    Doubt,
    /// Anything else worth a line: a timer, files with mistakes.
    Note,
}

/// A line that shows on every screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Banner<'a> {
    /// What it is about.
    pub kind: BannerKind,
    /// A sentence: what happened, and what to do now.
    pub text: &'a str,
}

impl BannerKind {
    const fn word(self) -> &'static str {
        match self {
            Self::NotSaved => "NOT SAVED",
            Self::Lost => "SCALE LOST",
            Self::WrongTin => "WRONG TIN",
            Self::PotLife => "POT LIFE",
            Self::LookOnly => "LOOK ONLY",
            Self::Check => "CHECK SCALE",
            Self::Doubt => "scale",
            Self::Note => "note",
        }
    }

    const fn meaning(self) -> Meaning {
        match self {
            Self::NotSaved => Meaning::Unsaved,
            Self::Lost | Self::WrongTin | Self::PotLife => Meaning::Lost,
            Self::LookOnly => Meaning::Selected,
            Self::Check | Self::Doubt => Meaning::Doubt,
            Self::Note => Meaning::Plain,
        }
    }
}

/// Draws as many banners as there are rows, the most serious first.
pub fn draw(banners: &[Banner<'_>], area: Rect, buf: &mut Buffer, theme: &Theme) {
    let mut sorted: Vec<&Banner<'_>> = banners.iter().collect();
    sorted.sort_by_key(|banner| banner.kind);
    for (banner, at) in sorted.into_iter().zip(0..area.height) {
        let row = pen::rows(area, at, 1);
        let style = theme.style(banner.kind.meaning());
        let words = format!(" {} {}  {}", theme.symbols.alert, banner.kind.word(), banner.text);
        // The serious ones are bars across the screen, to be seen out of the corner of an eye.
        let words = match banner.kind {
            BannerKind::NotSaved
            | BannerKind::Lost
            | BannerKind::WrongTin
            | BannerKind::PotLife
            | BannerKind::LookOnly => text::left(&words, row.width, theme.symbols.ellipsis),
            BannerKind::Check | BannerKind::Doubt | BannerKind::Note => {
                text::fit(&words, row.width, theme.symbols.ellipsis)
            }
        };
        pen::put(buf, row, row.x, row.y, &words, style);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ratatui::style::Modifier;

    #[test]
    fn the_most_serious_first_and_across_the_screen() {
        let banners = [
            Banner { kind: BannerKind::Doubt, text: "the weight moves" },
            Banner { kind: BannerKind::Lost, text: "no reading for 2 s; is the cable in?" },
        ];
        let mut buf = Buffer::empty(Rect::new(0, 0, 40, 2));
        draw(&banners, buf.area, &mut buf, &Theme::default());
        let rows = crate::tui::screens::picture(&buf);
        assert_eq!(rows, [" ! SCALE LOST  no reading for 2 s; is t…", " ! scale  the weight moves"]);
        assert!(buf.cell((39, 0)).unwrap().modifier.contains(Modifier::REVERSED));
        draw(&banners, Rect::new(0, 0, 40, 0), &mut buf, &Theme::default());
    }
}
