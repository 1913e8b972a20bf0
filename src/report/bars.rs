//! Bars in the cells of a terminal.

use crate::units::{Decimal, Grams};
use rust_decimal::prelude::ToPrimitive as _;

/// The cells of the longest bar.
const WIDTH: u8 = 40;

/// One bar for each of the masses, each part with its sign, to one scale. A part that is not nothing has a cell at least.
pub fn bars<const PARTS: usize>(rows: &[[Grams; PARTS]], signs: [char; PARTS]) -> Vec<String> {
    let sum = |row: &[Grams; PARTS]| row.iter().copied().sum::<Grams>();
    let longest = rows.iter().map(sum).max().unwrap_or_default();
    let bar = |row: &[Grams; PARTS]| {
        let mut text = String::new();
        for (mass, sign) in row.iter().zip(signs) {
            let part = mass.ratio_to(longest).unwrap_or_default();
            let cells =
                Grams::new(part).times(Decimal::from(WIDTH)).decimal().round().to_usize().unwrap_or(0);
            let cells = if mass.is_positive() { cells.max(1) } else { 0 };
            text.extend(std::iter::repeat_n(sign, cells));
        }
        text
    };
    rows.iter().map(bar).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_are_to_one_scale_and_a_little_is_seen() {
        let g = |grams: i64| Grams::new(Decimal::from(grams));
        let rows =
            [[g(30), g(10)], [g(20), g(0)], [g(0), g(0)], [g(10_000).times(Decimal::new(1, 7)), g(-5)]];
        let drawn = bars(&rows, ['#', 'x']);
        assert_eq!(drawn[0], format!("{}{}", "#".repeat(30), "x".repeat(10)));
        assert_eq!(drawn[1], "#".repeat(20));
        assert_eq!((drawn[2].as_str(), drawn[3].as_str()), ("", "#"));
        assert_eq!(bars(&[[g(0)]], ['#']), [""]);
    }
}
