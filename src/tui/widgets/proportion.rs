//! How many cells a part of a whole takes. Exact: no floats, not even for drawing.

use crate::units::{Decimal, Grams};
use rust_decimal::RoundingStrategy;
use rust_decimal::prelude::ToPrimitive;

/// `part` of `whole` in cells, of `cells` in all: rounded to the nearest, never outside.
pub fn nearest(part: Grams, whole: Grams, cells: u16) -> u16 {
    share(part, whole, cells, RoundingStrategy::MidpointAwayFromZero)
}

/// As [`nearest`], rounded up: something is never nothing.
pub fn up(part: Grams, whole: Grams, cells: u16) -> u16 {
    share(part, whole, cells, RoundingStrategy::ToPositiveInfinity)
}

/// As [`nearest`], rounded down: the cell that the value lies in.
pub fn down(part: Grams, whole: Grams, cells: u16) -> u16 {
    share(part, whole, cells, RoundingStrategy::ToNegativeInfinity)
}

fn share(part: Grams, whole: Grams, cells: u16, strategy: RoundingStrategy) -> u16 {
    if !part.is_positive() || !whole.is_positive() {
        return 0;
    }
    part.times(Decimal::from(cells))
        .ratio_to(whole)
        .and_then(|exact| exact.round_dp_with_strategy(0, strategy).to_u16())
        .map_or(cells, |count| count.min(cells))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn g(text: &str) -> Grams {
        Grams::parse(text).unwrap()
    }

    #[test]
    fn cells_of_a_part() {
        for (part, whole, low, near, high) in [
            ("0", "10", 0, 0, 0),
            ("1", "10", 2, 2, 2),
            ("1.2", "10", 2, 2, 3),
            ("0.01", "10", 0, 0, 1),
            ("99", "10", 20, 20, 20),
            ("-1", "10", 0, 0, 0),
            ("1", "0", 0, 0, 0),
        ] {
            assert_eq!(down(g(part), g(whole), 20), low, "{part} of {whole}");
            assert_eq!(nearest(g(part), g(whole), 20), near, "{part} of {whole}");
            assert_eq!(up(g(part), g(whole), 20), high, "{part} of {whole}");
        }
        assert_eq!(nearest(Grams::new(Decimal::MAX), g("0.000001"), u16::MAX), u16::MAX);
    }
}
