//! Which tin of a toner is to be taken next, as far as the book knows; or why none is.

use super::{Caution, Recall, Tin, in_turn};
use crate::barcode::Day;
use crate::catalogue::TonerCode;

/// Which tin of a toner is to be taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Proposal<'a> {
    /// That one: it is to be used up first.
    Take(&'a Tin),
    /// None: those on the shelf may not be poured from, each for that reason. The others, if there are any, hold nothing.
    Barred(Vec<(&'a Tin, Caution)>),
    /// None: by the book nothing is left in any of its tins.
    NothingLeft,
    /// The book does not know: no tin of it ever came or was counted, or one is in use that nobody booked in.
    Unknown,
}

/// Which tin of a toner is to be taken on that day.
pub fn proposal<'a>(tins: &'a [Tin], toner: &TonerCode, recalls: &[Recall], today: Day) -> Proposal<'a> {
    let own = in_turn(tins, toner, recalls, today);
    let (barred, usable): (Vec<_>, Vec<_>) =
        own.into_iter().map(|tin| (tin, bar(tin, recalls, today))).partition(|(_, bar)| bar.is_some());
    if let Some((first, _)) = usable.iter().find(|(tin, _)| tin.holds.is_positive()) {
        return Proposal::Take(first);
    }
    let is_booked = |tin: &Tin| tin.received.is_some() || tin.counted.is_some();
    if usable.iter().any(|(tin, _)| !is_booked(tin)) {
        return Proposal::Unknown;
    }
    let barred: Vec<_> = barred.into_iter().filter_map(|(tin, bar)| Some((tin, bar?))).collect();
    if !barred.is_empty() {
        return Proposal::Barred(barred);
    }
    // Those that were emptied or thrown away are known to be gone.
    if tins.iter().any(|tin| tin.toner == *toner && is_booked(tin)) {
        Proposal::NothingLeft
    } else {
        Proposal::Unknown
    }
}

/// Why that tin may not be poured from, whatever is in it.
fn bar(tin: &Tin, recalls: &[Recall], today: Day) -> Option<Caution> {
    if let Some(recall) = recalls.iter().find(|recall| recall.means(tin)) {
        return Some(Caution::Recalled { lot: recall.lot.clone(), why: recall.why.clone() });
    }
    tin.expires.filter(|_| tin.is_expired(today)).map(|on| Caution::Expired { on })
}
