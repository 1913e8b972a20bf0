//! How far apart the readings of each second were over the last minute: a column a second, the newest at the
//! right, its height in divisions. A second without a number to be trusted is a gap.

use super::pen;
use crate::tui::theme::{Meaning, Theme};
use crate::units::{Division, Grams};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// The plot.
#[derive(Clone, Copy, Debug)]
pub struct Steadiness<'a> {
    /// The spread of each second, the newest last.
    pub spreads: &'a [Option<Grams>],
    /// What it is counted in.
    pub division: Division,
}

/// Rows of the plot, and what each begins at, in divisions: the first is reached by any reading at all.
const STEPS: [u32; 4] = [0, 2, 4, 8];
/// Columns for the scale at the left.
const AXIS: u16 = 7;

impl Steadiness<'_> {
    /// How many rows it takes.
    pub const ROWS: u16 = 4;

    /// Draws it, newest at the right.
    pub fn draw(&self, area: Rect, buf: &mut Buffer, theme: &Theme) {
        let signs = theme.symbols;
        let columns = area.width.saturating_sub(AXIS);
        let shown = usize::from(columns).min(self.spreads.len());
        for (row, least) in STEPS.iter().rev().enumerate() {
            let row = u16::try_from(row).unwrap_or(0);
            if row >= area.height {
                return;
            }
            let y = area.y.saturating_add(row);
            let label = if *least == 0 { "0-1 d".to_owned() } else { format!("{least} d") };
            let end = area.x.saturating_add(AXIS).saturating_sub(1);
            pen::put_right(buf, area, end, y, &label, theme.style(Meaning::Muted));
            let first = area.x.saturating_add(AXIS);
            let spreads = self.spreads.iter().skip(self.spreads.len().saturating_sub(shown));
            for (place, spread) in spreads.enumerate() {
                let x = first.saturating_add(u16::try_from(place).unwrap_or(u16::MAX));
                match spread {
                    Some(spread) if self.divisions(*spread) >= *least => {
                        let calm = self.divisions(*spread) <= 1;
                        let meaning = if calm { Meaning::Steady } else { Meaning::Moving };
                        pen::put(buf, area, x, y, signs.solid, theme.style(meaning));
                    }
                    None if *least == 0 => {
                        pen::put(buf, area, x, y, signs.waiting, theme.style(Meaning::Muted));
                    }
                    _ => {}
                }
            }
        }
    }

    /// Whole divisions, rounded up.
    fn divisions(&self, spread: Grams) -> u32 {
        let whole = (0..STEPS[STEPS.len() - 1]).find(|&count| {
            let limit = self.division.grams().times(count.into());
            spread <= limit
        });
        whole.unwrap_or(STEPS[STEPS.len() - 1])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::screens::picture;
    use crate::tui::theme::{Palette, Symbols};

    fn g(text: &str) -> Grams {
        Grams::parse(text).unwrap()
    }

    #[test]
    fn the_height_is_in_divisions_and_gaps_are_gaps() {
        let spreads = [None, Some(g("0")), Some(g("0.1")), Some(g("0.2")), Some(g("0.4")), Some(g("9"))];
        let theme = Theme { palette: Palette::Mono, symbols: Symbols::ASCII, ..Theme::default() };
        let mut buf = Buffer::empty(Rect::new(0, 0, 20, 4));
        Steadiness { spreads: &spreads, division: Division::TENTH }.draw(buf.area, &mut buf, &theme);
        assert_eq!(picture(&buf), ["   8 d      #", "   4 d     ##", "   2 d    ###", " 0-1 d .#####"]);
    }

    #[test]
    fn the_newest_stay_where_there_is_little_room() {
        let spreads = [Some(g("9")), Some(g("0"))];
        let theme = Theme { palette: Palette::Mono, symbols: Symbols::ASCII, ..Theme::default() };
        let mut buf = Buffer::empty(Rect::new(0, 0, 8, 4));
        Steadiness { spreads: &spreads, division: Division::TENTH }.draw(buf.area, &mut buf, &theme);
        assert_eq!(picture(&buf), ["   8 d", "   4 d", "   2 d", " 0-1 d #"]);
    }
}
