//! The close-up: the last stretch before the stop, magnified as the stop comes near.

use super::{pen, proportion};
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::units::{Decimal, Division, Grams};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// A bar along which the cup comes up to its stop, or down to it while drawing off: the picture is the same.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Closeup {
    /// How much is still to go; below nothing when it is past the stop. None if there is no weight to trust:
    /// then there is no mark.
    pub to_go: Option<Grams>,
    /// How much there was to go when the pour began.
    pub began: Grams,
    /// How far before the stop right begins.
    pub before: Grams,
    /// How far past the stop right ends.
    pub past: Grams,
    /// What will be left to go when the tin is set upright now, if that is known.
    pub landing: Option<Grams>,
    /// What is left to go where the flow should become slower, if it should at all.
    pub ease: Option<Grams>,
    /// What the scale shows in.
    pub division: Division,
    /// Whether the weight moves.
    pub moving: bool,
    /// What is written below, at the left.
    pub words: String,
    /// What is written below, at the right: where it lands.
    pub landing_words: String,
}

/// How far the bar looks before the stop, in grams: 1, 2, 5, 10 … times the division, the least that has the
/// mark on it, and never less than twenty divisions or the right zone four times.
pub fn stretch(to_go: Grams, before: Grams, division: Division) -> Grams {
    let step = division.grams();
    let least = to_go.max(before.times(Decimal::from(4))).max(step.times(Decimal::from(20)));
    let mut tens = step;
    for _ in 0..12 {
        for factor in [1, 2, 5] {
            let span = tens.times(Decimal::from(factor));
            if span >= least {
                return span;
            }
        }
        tens = tens.times(Decimal::TEN);
    }
    least
}

/// Where things are on a bar of so many cells.
struct Axis {
    span: Grams,
    whole: Grams,
    cells: u16,
}

impl Axis {
    /// The cell of a weight with so much to go.
    fn cell(&self, to_go: Grams) -> u16 {
        proportion::down(self.span - to_go, self.whole, self.cells).min(self.cells.saturating_sub(1))
    }
}

impl Closeup {
    /// Draws the bar in as many rows as there are but the last, which has the words.
    pub fn draw(&self, area: Rect, buf: &mut Buffer, theme: &Theme) {
        let cells = area.width.saturating_sub(2);
        if cells < 8 || area.height == 0 {
            return;
        }
        let bar = pen::rows(area, 0, area.height.saturating_sub(1).max(1));
        for y in bar.top()..bar.bottom() {
            self.draw_bar(pen::rows(area, y.saturating_sub(area.y), 1), buf, theme);
        }
        if area.height > 1 {
            self.draw_words(pen::rows(area, bar.height, 1), buf, theme);
        }
    }

    fn axis(&self, cells: u16) -> Axis {
        let span = stretch(self.to_go.unwrap_or(Grams::ZERO), self.before, self.division);
        // A little past the stop is always seen, and twice the right zone.
        let beyond = span.times(Decimal::new(2, 1)).max(self.past.times(Decimal::TWO));
        Axis { span, whole: span + beyond, cells }
    }

    /// The cells of the right zone's first and last, and of the stop between them.
    fn zone(&self, axis: &Axis) -> (u16, u16, u16) {
        let stop = axis.cell(Grams::ZERO);
        let start = axis.cell(self.before).min(stop.saturating_sub(1));
        let end = axis.cell(-self.past).max(stop.saturating_add(1)).min(axis.cells.saturating_sub(1));
        (start, stop, end)
    }

    fn draw_bar(&self, row: Rect, buf: &mut Buffer, theme: &Theme) {
        let signs = theme.symbols;
        let (quiet, left) = (theme.style(Meaning::Rule), row.x.saturating_add(1));
        let axis = self.axis(row.width.saturating_sub(2));
        let (start, stop, end) = self.zone(&axis);
        let now = self.to_go.map(|to_go| axis.cell(to_go));
        let began = axis.cell(self.began);
        let ease = self.ease.map(|ease| axis.cell(ease));
        let filled = theme.style(self.state());
        pen::put(buf, row, row.x, row.y, signs.bar_start, quiet);
        for cell in 0..axis.cells {
            let (sign, style) = if cell == stop {
                (signs.stop, theme.style(Meaning::Value))
            } else if now.is_some_and(|now| cell == now || cell < now && cell >= began) {
                (signs.solid, filled)
            } else if ease == Some(cell) && cell < start {
                (signs.ease, theme.style(Meaning::Value))
            } else if cell == start {
                (signs.zone_start, theme.style(Meaning::Right))
            } else if cell == end {
                (signs.zone_end, theme.style(Meaning::Right))
            } else if cell > start && cell < end {
                (signs.zone, theme.style(Meaning::Right))
            } else if cell > end || cell < began {
                (signs.bar_empty, quiet)
            } else {
                (signs.dotted, quiet)
            };
            pen::put(buf, row, left.saturating_add(cell), row.y, sign, style);
        }
        pen::put(buf, row, left.saturating_add(axis.cells), row.y, signs.bar_end, quiet);
    }

    fn state(&self) -> Meaning {
        match self.to_go {
            Some(to_go) if to_go < -self.past => Meaning::Over,
            Some(to_go) if to_go <= self.before => Meaning::Right,
            Some(_) if self.moving => Meaning::Moving,
            _ => Meaning::Short,
        }
    }

    fn draw_words(&self, row: Rect, buf: &mut Buffer, theme: &Theme) {
        let muted = theme.style(Meaning::Muted);
        let style = if self.moving { theme.style(Meaning::Moving) } else { muted };
        let left = row.x.saturating_add(1);
        let words_end = pen::put(buf, row, left, row.y, &self.words, style);
        let Some(landing) = self.landing else { return };
        let axis = self.axis(row.width.saturating_sub(2));
        let x = left.saturating_add(axis.cell(landing));
        let mark = theme.symbols.up_mark;
        let landed = if landing < -self.past {
            Meaning::Over
        } else if landing <= self.before {
            Meaning::Right
        } else {
            Meaning::Moving
        };
        if x > words_end {
            pen::put(buf, row, x, row.y, mark, theme.style(landed));
        }
        // The words stand on that side of the mark where there is room.
        let long = text::width(&self.landing_words).saturating_add(1);
        let before = x.saturating_sub(long);
        if before > words_end.saturating_add(1) {
            pen::put(buf, row, before, row.y, &self.landing_words, muted);
        } else if x.saturating_add(long) < row.right() && x > words_end {
            pen::put(buf, row, x.saturating_add(2), row.y, &self.landing_words, muted);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::theme::Symbols;
    use proptest::prelude::*;

    fn g(text: &str) -> Grams {
        Grams::parse(text).unwrap()
    }

    fn closeup(to_go: Option<&str>) -> Closeup {
        Closeup {
            to_go: to_go.map(g),
            began: g("257.4"),
            before: g("2.6"),
            past: g("2.6"),
            landing: None,
            ease: None,
            division: Division::TENTH,
            moving: true,
            words: "pouring".to_owned(),
            landing_words: String::new(),
        }
    }

    fn rows(closeup: &Closeup, width: u16, symbols: &'static Symbols) -> Vec<String> {
        let mut buf = Buffer::empty(Rect::new(0, 0, width, 2));
        closeup.draw(buf.area, &mut buf, &Theme { symbols, ..Theme::default() });
        crate::tui::screens::picture(&buf)
    }

    #[test]
    fn comes_up_to_the_stop() {
        for (to_go, bar) in [
            (Some("200"), "┠█┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄╟┃╢─────┨"),
            (Some("27.4"), "┠███████████████┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄╟┃▒╢────┨"),
            (Some("6"), "┠██████████████████████┄┄┄┄╟▒▒▒┃▒▒▒╢───┨"),
            (Some("0.5"), "┠██████████████████████████████┃▒▒▒╢───┨"),
            (Some("-1.2"), "┠██████████████████████████████┃█▒▒╢───┨"),
            (Some("-4.1"), "┠██████████████████████████████┃██████─┨"),
            (None, "┠┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄╟▒▒▒┃▒▒▒╢───┨"),
        ] {
            assert_eq!(rows(&closeup(to_go), 40, Symbols::UNICODE)[0], bar, "{to_go:?}");
        }
    }

    #[test]
    fn the_landing_is_marked() {
        let landing = Closeup {
            landing: Some(g("0.4")),
            landing_words: "lands at 317.6".to_owned(),
            ..closeup(Some("6"))
        };
        assert_eq!(
            rows(&landing, 40, Symbols::UNICODE),
            ["┠██████████████████████┄┄┄┄╟▒▒▒┃▒▒▒╢───┨", " pouring       lands at 317.6 ▲"]
        );
        assert_eq!(
            rows(&landing, 40, Symbols::ASCII),
            ["|######################....[:::|:::]---|", " pouring       lands at 317.6 ^"]
        );
    }

    #[test]
    fn where_to_ease_off_is_a_shape_of_its_own() {
        let ease = |to_go, at| Closeup { ease: Some(g(at)), ..closeup(Some(to_go)) };
        for (to_go, at, bar) in [
            ("27.4", "15", "┠███████████████┄┄┄┄┄┄┄▽┄┄┄┄┄┄┄╟┃▒╢────┨"),
            // Behind the mark, or where right begins, there is nothing to ease off for.
            ("27.4", "40", "┠███████████████┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄╟┃▒╢────┨"),
            ("27.4", "1", "┠███████████████┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄╟┃▒╢────┨"),
        ] {
            assert_eq!(rows(&ease(to_go, at), 40, Symbols::UNICODE)[0], bar, "{at}");
        }
        let ascii = "|###############.......v.......[|:]----|";
        assert_eq!(rows(&ease("27.4", "15"), 40, Symbols::ASCII)[0], ascii);
    }

    #[test]
    fn magnified_in_steps() {
        for (to_go, span) in [
            ("900", "1000"),
            ("500", "500"),
            ("430", "500"),
            ("200.1", "500"),
            ("27.4", "50"),
            ("12", "20"),
            ("0.3", "20"),
            ("-5", "20"),
        ] {
            assert_eq!(stretch(g(to_go), g("2.6"), Division::TENTH), g(span), "{to_go}");
        }
        // A narrow zone on a coarse scale: twenty divisions.
        assert_eq!(stretch(g("0"), g("0.1"), Division::parse("1").unwrap()), g("20"));
    }

    proptest! {
        /// Nearer is never shown smaller, and the mark is always on the bar.
        #[test]
        fn the_stretch_only_shrinks(a in 0_i64..5_000_000, b in 0_i64..5_000_000, before in 0_i64..10_000) {
            let grams = |n: i64| Grams::new(Decimal::new(n, 3));
            let at = |n| stretch(grams(n), grams(before), Division::TENTH);
            let (near, far) = (a.min(b), a.max(b));
            prop_assert!(at(near) <= at(far));
            prop_assert!(at(near) >= grams(near));
        }

        /// A mark further on is never drawn further back, and right is drawn on the zone's cells only.
        #[test]
        fn the_mark_keeps_to_the_axis(to_go in -50_000_i64..500_000, more in 0_i64..1_000, cells in 8_u16..300) {
            let grams = |n: i64| Grams::new(Decimal::new(n, 3));
            let bar = Closeup { to_go: Some(grams(to_go)), ..closeup(None) };
            let axis = bar.axis(cells);
            prop_assert!(axis.cell(grams(to_go)) <= axis.cell(grams(to_go - more)));
            let (start, stop, end) = bar.zone(&axis);
            prop_assert!(start < stop && stop < end && end < cells);
        }
    }
}
