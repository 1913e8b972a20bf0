//! The cup: the picture of the whole mix, filled from the bottom, a layer a toner.

use super::pen;
use super::proportion;
use crate::catalogue::Swatch;
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::units::Grams;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// One toner in the cup.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Layer {
    /// How much of it.
    pub mass: Grams,
    /// What it looks like.
    pub swatch: Option<Swatch>,
}

/// A height in the cup, with what is written beside it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// The height, as what the cup then holds.
    pub at: Grams,
    /// What is written on the left, with a pointer: `stop`. Nothing for marks on the right only.
    pub name: &'static str,
    /// What is written on the right: `318.0`.
    pub label: String,
    /// What it means.
    pub meaning: Meaning,
    /// Whether a dotted line is drawn across.
    pub line: bool,
}

/// The cup. Draws itself into any area; from 24 columns and 4 rows on it is to be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cup {
    /// What is in it, from the bottom.
    pub layers: Vec<Layer>,
    /// What it holds when full to the brim.
    pub full: Grams,
    /// The marks, those that matter most first.
    pub marks: Vec<Mark>,
}

/// Room for the names on the left, with their pointer.
const NAMES: u16 = 7;
/// Room for the labels on the right.
const LABELS: u16 = 12;

impl Cup {
    /// Draws it.
    pub fn draw(&self, area: Rect, buf: &mut Buffer, theme: &Theme) {
        let inner = area.width.saturating_sub(NAMES + LABELS + 2).min(16);
        let height = area.height.saturating_sub(1);
        if inner == 0 || height == 0 {
            return;
        }
        let left = area.x.saturating_add(NAMES);
        draw_glass(area, left, inner, height, buf, theme);
        let filled = self.draw_layers(area, left.saturating_add(1), inner, height, buf, theme);
        self.draw_marks(area, left, inner, height, filled, buf, theme);
    }

    /// Fills the cup and answers with how many rows are filled.
    fn draw_layers(
        &self,
        area: Rect,
        left: u16,
        inner: u16,
        height: u16,
        buf: &mut Buffer,
        theme: &Theme,
    ) -> u16 {
        let masses: Vec<Grams> = self.layers.iter().map(|layer| layer.mass).collect();
        let rows = stack(&masses, self.full, height);
        for (up, row) in (0_u16..).zip(&rows) {
            let Some(y) = area.y.checked_add(height.saturating_sub(up).saturating_sub(1)) else { continue };
            // Toners too small for a row of their own share one, side by side.
            let (mut x, mut rest) = (left, inner);
            for (at, &layer) in row.iter().enumerate() {
                let sharing = u16::try_from(row.len().saturating_sub(at)).unwrap_or(1).max(1);
                let part = rest.div_ceil(sharing);
                let (sign, style) = theme.layer(self.layers.get(layer).and_then(|l| l.swatch), layer);
                pen::repeat(buf, area, x, y, part, sign, style);
                x = x.saturating_add(part);
                rest = rest.saturating_sub(part);
            }
        }
        u16::try_from(rows.len()).unwrap_or(height)
    }

    #[expect(clippy::too_many_arguments, reason = "the cup's measures, passed down once")]
    fn draw_marks(
        &self,
        area: Rect,
        left: u16,
        inner: u16,
        height: u16,
        filled: u16,
        buf: &mut Buffer,
        theme: &Theme,
    ) {
        let wanted: Vec<u16> = self.marks.iter().map(|mark| self.row(mark.at, height)).collect();
        for (mark, row) in self.marks.iter().zip(spread(&self.marks, &wanted, height)) {
            let Some(row) = row else { continue };
            let y = area.y.saturating_add(row);
            let style = theme.style(mark.meaning);
            if !mark.name.is_empty() {
                let name = format!("{} {}", mark.name, theme.symbols.pointer);
                pen::put_right(buf, area, left.saturating_sub(1), y, &name, style);
            }
            let inside = left.saturating_add(1);
            if mark.line && row < height.saturating_sub(filled) {
                pen::repeat(buf, area, inside, y, inner, theme.symbols.dotted, style);
            }
            let label = text::fit(&mark.label, LABELS.saturating_sub(1), theme.symbols.ellipsis);
            pen::put(buf, area, inside.saturating_add(inner).saturating_add(2), y, &label, style);
        }
    }

    /// The row of that height, from the top: the uppermost that is filled when the cup holds so much.
    fn row(&self, at: Grams, height: u16) -> u16 {
        let filled = proportion::up(at, self.full, height).max(1);
        height.saturating_sub(filled)
    }
}

/// The walls and the bottom; the rim is open.
fn draw_glass(area: Rect, left: u16, inner: u16, height: u16, buf: &mut Buffer, theme: &Theme) {
    let signs = theme.symbols;
    let style = theme.style(Meaning::Rule);
    let right = left.saturating_add(inner).saturating_add(1);
    for row in 0..height {
        let wall = if row == 0 { signs.rim } else { signs.wall };
        let y = area.y.saturating_add(row);
        pen::put(buf, area, left, y, wall, style);
        pen::put(buf, area, right, y, wall, style);
    }
    let bottom = area.y.saturating_add(height);
    pen::put(buf, area, left, bottom, signs.corner_left, style);
    pen::repeat(buf, area, left.saturating_add(1), bottom, inner, signs.rule, style);
    pen::put(buf, area, right, bottom, signs.corner_right, style);
}

/// The layers of each filled row, from the bottom up. What is in the cup fills at least a row. As long as there
/// are rows enough every layer has one of its own, the rest go by mass; the lower ones first, so that what came
/// late does not sink what is already seen. With too few rows layers share them.
fn stack(masses: &[Grams], full: Grams, height: u16) -> Vec<Vec<usize>> {
    let there: Vec<usize> =
        masses.iter().enumerate().filter(|(_, mass)| mass.is_positive()).map(|(at, _)| at).collect();
    let total: Grams = masses.iter().filter(|mass| mass.is_positive()).copied().sum();
    let rows = usize::from(proportion::up(total, full, height));
    if rows == 0 || there.is_empty() {
        return Vec::new();
    }
    if there.len() >= rows {
        let mut shared = vec![Vec::new(); rows];
        for (at, layer) in there.iter().enumerate() {
            let row = at.saturating_mul(rows).checked_div(there.len()).unwrap_or(0);
            if let Some(row) = shared.get_mut(row) {
                row.push(*layer);
            }
        }
        return shared;
    }
    let mut counts = vec![1_usize; there.len()];
    for _ in there.len()..rows {
        // The next row goes to the layer that is shown the most too thin; the lower one of two alike.
        let mut neediest: Option<(usize, Grams)> = None;
        for (at, (count, layer)) in counts.iter().zip(&there).enumerate() {
            let mass = masses.get(*layer).copied().unwrap_or(Grams::ZERO);
            let each = mass.ratio_to(Grams::new(crate::units::Decimal::from(*count)));
            let each = Grams::new(each.unwrap_or_default());
            if neediest.is_none_or(|(_, most)| each > most) {
                neediest = Some((at, each));
            }
        }
        if let Some(count) = neediest.and_then(|(at, _)| counts.get_mut(at)) {
            *count = count.saturating_add(1);
        }
    }
    let rows_of = |(count, layer): (&usize, &usize)| std::iter::repeat_n(vec![*layer], *count);
    counts.iter().zip(&there).flat_map(rows_of).collect()
}

/// The rows in which the marks are written, each its own, in the order of their heights. The first mark has the
/// row it belongs to; those that would be written into one already taken step away from it, and those for which
/// no row is left go without.
fn spread(marks: &[Mark], wanted: &[u16], height: u16) -> Vec<Option<u16>> {
    let mut found = vec![None; marks.len()];
    let (Some(anchor), Some(&middle)) = (marks.first(), wanted.first()) else { return found };
    if let Some(slot) = found.first_mut() {
        *slot = Some(middle).filter(|row| *row < height);
    }
    let is_above = |at: usize| marks.get(at).is_some_and(|mark| mark.at >= anchor.at);
    let (mut above, mut below): (Vec<usize>, Vec<usize>) = (1..marks.len()).partition(|at| is_above(*at));
    // Where there are too few rows above, those that matter more have them.
    above.truncate(usize::from(middle));
    let height_of = |&at: &usize| marks.get(at).map(|mark| mark.at);
    // From the anchor outwards; of two at the same height the one that matters more lies nearer.
    above.sort_by_key(height_of);
    below.sort_by_key(|at| std::cmp::Reverse(height_of(at)));

    let mut free_above = middle;
    for (above_it, at) in (0_u16..u16::try_from(above.len()).unwrap_or(0)).rev().zip(above) {
        // Below the one before, and with a row left for each that is higher still.
        let highest = free_above.saturating_sub(1);
        let row = wanted.get(at).map_or(highest, |row| (*row).min(highest)).max(above_it);
        free_above = row;
        if let Some(slot) = found.get_mut(at) {
            *slot = Some(row);
        }
    }
    let mut free_below = middle.saturating_add(1);
    for at in below {
        let row = wanted.get(at).map_or(free_below, |row| (*row).max(free_below));
        free_below = row.saturating_add(1);
        if let Some(slot) = found.get_mut(at) {
            *slot = Some(row).filter(|row| *row < height);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::theme::Symbols;
    use proptest::prelude::*;

    fn g(text: &str) -> Grams {
        Grams::parse(text).unwrap()
    }

    fn mark(at: &str, name: &'static str, line: bool) -> Mark {
        Mark { at: g(at), name, label: at.to_owned(), meaning: Meaning::Plain, line }
    }

    fn cup(layers: &[&str], marks: Vec<Mark>) -> Cup {
        let layers = layers.iter().map(|mass| Layer { mass: g(mass), swatch: None }).collect();
        Cup { layers, full: g("600"), marks }
    }

    fn rows(cup: &Cup, width: u16, height: u16, symbols: &'static Symbols) -> Vec<String> {
        let mut buf = Buffer::empty(Rect::new(0, 0, width, height));
        let theme = Theme { palette: crate::tui::theme::Palette::Mono, symbols, ..Theme::default() };
        cup.draw(buf.area, &mut buf, &theme);
        crate::tui::screens::picture(&buf)
    }

    #[test]
    fn filled_from_the_bottom_with_its_marks() {
        let cup = cup(
            &["60", "180"],
            vec![mark("240", "now", false), mark("360", "stop", true), mark("420", "", false)],
        );
        let expected = [
            "        ╷        ╷",
            "        │        │",
            "        │        │",
            "        │        │ 420",
            " stop ▸ │┄┄┄┄┄┄┄┄│ 360",
            "        │        │",
            "  now ▸ │▓▓▓▓▓▓▓▓│ 240",
            "        │▓▓▓▓▓▓▓▓│",
            "        │▓▓▓▓▓▓▓▓│",
            "        │████████│",
            "        ╰────────╯",
        ];
        let expected = expected.map(|row| row.get(1..).unwrap().to_owned());
        assert_eq!(rows(&cup, 29, 11, Symbols::UNICODE), expected);
    }

    #[test]
    fn in_plain_ascii() {
        let cup = cup(&["300", "150"], vec![mark("450", "now", false)]);
        let expected =
            ["       |    |", " now > |%%%%| 450", "       |####|", "       |####|", "       +----+"];
        assert_eq!(rows(&cup, 25, 5, Symbols::ASCII), expected);
    }

    /// Marks that would be written into one row keep their order and each has a row.
    #[test]
    fn marks_step_aside() {
        let near = vec![
            mark("241", "now", false),
            mark("245", "stop", true),
            mark("599", "", false),
            mark("600", "", false),
        ];
        let rows = rows(&cup(&["241"], near), 29, 11, Symbols::UNICODE);
        let found: Vec<_> = ["600", "599", "245", "241"]
            .iter()
            .map(|label| rows.iter().position(|row| row.ends_with(label)).unwrap())
            .collect();
        assert_eq!(found, [0, 1, 4, 5]);
    }

    /// What was passed lies below, and the mark that matters stays at the brink of what is in the cup.
    #[test]
    fn a_stop_that_was_passed_steps_down() {
        let marks = vec![mark("350", "now", false), mark("346", "stop", true), mark("600", "", false)];
        let rows = rows(&cup(&["350"], marks), 29, 11, Symbols::UNICODE);
        assert_eq!(rows.get(4..6).unwrap(), [" now ▸ │████████│ 350", "stop ▸ │████████│ 346"]);
    }

    #[test]
    fn with_few_rows_the_marks_that_matter_stay() {
        let marks = vec![mark("10", "now", false), mark("500", "stop", true), mark("600", "", false)];
        let rows = rows(&cup(&["10"], marks), 29, 3, Symbols::UNICODE);
        assert!(rows[0].ends_with("500") && rows[1].ends_with("10"), "{rows:?}");
    }

    #[test]
    fn small_layers_are_seen() {
        let masses = |list: &[&str]| list.iter().map(|mass| g(mass)).collect::<Vec<_>>();
        // Three rows for four toners: they share.
        assert_eq!(stack(&masses(&["1", "1", "88", "1"]), g("300"), 9), [vec![0, 1], vec![2], vec![3]]);
        // A gram in a big cup is still a row.
        assert_eq!(stack(&masses(&["0", "1"]), g("2300"), 10), [[1]]);
        // Rows enough: one each, the rest by mass.
        assert_eq!(stack(&masses(&["2", "150", "48"]), g("400"), 10), [[0], [1], [1], [1], [2]]);
        assert!(stack(&masses(&["0", "-1"]), g("400"), 10).is_empty());
    }

    proptest! {
        #[test]
        fn every_toner_is_seen_and_nothing_runs_over(
            masses in prop::collection::vec(1_u32..400_000, 1..20),
            full in 1_u32..3_000_000,
            height in 1_u16..40,
        ) {
            let masses: Vec<Grams> = masses.iter().map(|m| Grams::new(crate::units::Decimal::new(i64::from(*m), 3))).collect();
            let full = Grams::new(crate::units::Decimal::new(i64::from(full), 3));
            let rows = stack(&masses, full, height);
            prop_assert!(rows.len() <= usize::from(height));
            let flat: Vec<usize> = rows.into_iter().flatten().collect();
            prop_assert!(flat.is_sorted());
            prop_assert!((0..masses.len()).all(|layer| flat.contains(&layer)));
        }
    }
}
