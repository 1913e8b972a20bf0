//! What a stocktake needs beside what is told of one tin: when a difference has to be explained, and stirring the rack.

use super::{StockEvent, Tin, TinName};
use crate::units::{Decimal, Grams};

/// Grams that are no difference worth a word, whatever the tin: a lid's rim and a stirring paddle hold as much (common
/// practice, no source).
const FEW_GRAMS: Decimal = Decimal::from_parts(2, 0, 0, false, 0);
/// The share of what came in the tin that is none either (common practice, no source).
const SMALL_SHARE: Decimal = Decimal::from_parts(1, 0, 0, false, 2);

/// Whether so little is missing in a tin, or too much in it, that nobody is asked why: 2 g, or 1 % of what came in the tin
/// where that is more.
pub fn is_small(tin: &Tin, missing: Grams) -> bool {
    let share = tin.net.unwrap_or(Grams::ZERO).times(SMALL_SHARE);
    missing.abs() <= share.max(Grams::new(FEW_GRAMS))
}

/// That the rack was stirred: an event for each open tin on the shelf. Tins nobody opened have a lid on and are not on
/// the rack. That a rack is stirred twice a day is common practice, no source.
pub fn stirring(tins: &[Tin]) -> Vec<StockEvent> {
    let open = tins.iter().filter(|tin| tin.is_open() && !tin.is_gone());
    open.map(|tin| StockEvent::Stirred(TinName { label: tin.label.clone(), toner: tin.toner.clone() }))
        .collect()
}
