//! How full something is, as a bar of signs.

use super::Symbols;
use crate::units::{Decimal, Share};
use rust_decimal::prelude::ToPrimitive as _;

impl Symbols {
    /// A share as a bar of so many cells; what is not nothing has one at least, and what is not all of it lacks one.
    /// Blank where the share is not known.
    pub fn level(&self, share: Option<Share>, cells: u16) -> String {
        let Some(share) = share else { return " ".repeat(usize::from(cells)) };
        let part = share.decimal().clamp(Decimal::ZERO, Decimal::ONE);
        let full = part.saturating_mul(Decimal::from(cells)).round().to_u16().unwrap_or(0);
        let least = u16::from(part > Decimal::ZERO).min(cells);
        let most = if part < Decimal::ONE { cells.saturating_sub(1).max(least) } else { cells };
        let full = full.clamp(least, most);
        let empty = cells.saturating_sub(full);
        self.step_full.repeat(usize::from(full)) + &self.step_empty.repeat(usize::from(empty))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_little_is_seen_and_so_is_what_is_gone() {
        let bar = |percent: i64| Symbols::ASCII.level(Some(Share::from_percent(Decimal::from(percent))), 8);
        assert_eq!(bar(0), "........");
        assert_eq!(bar(1), "#.......");
        assert_eq!(bar(50), "####....");
        assert_eq!(bar(99), "#######.");
        assert_eq!(bar(100), "########");
        assert_eq!(bar(130), "########");
        assert_eq!(bar(-5), "........");
        assert_eq!(Symbols::UNICODE.level(None, 3), "   ");
        for cells in 0..3 {
            assert_eq!(Symbols::ASCII.level(Some(Share::ONE_PERCENT), cells).len(), usize::from(cells));
        }
    }
}
