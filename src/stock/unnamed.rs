//! What was poured of a toner without a word from which tin, and no count has found yet: it is in none of the tins any more,
//! though by the book it is in one of them still.

use super::Tin;
use crate::book::{Account, Ledger, Loose, LooseKind, StoreError};
use crate::catalogue::TonerCode;
use crate::units::{Grams, Stamp};
use std::collections::BTreeMap;

/// How far before the last count it is looked for what counts found, in microseconds: 90 days. What was poured before that
/// and found only since then is taken for found too early.
const BACK: i64 = 90 * 86_400_000_000;

/// From when on what was poured of each toner without a tin's name may be missing in one of its tins: when the one of them
/// was counted, or came, that was not counted for the longest. A tin that nobody booked in counts for none.
fn since(tins: &[Tin]) -> BTreeMap<&TonerCode, Stamp> {
    let mut since = BTreeMap::new();
    for tin in tins.iter().filter(|tin| !tin.is_gone()) {
        let Some(at) = tin.received.max(tin.counted) else { continue };
        since.entry(&tin.toner).and_modify(|first: &mut Stamp| *first = at.min(*first)).or_insert(at);
    }
    since
}

/// What of each toner is still to be found missing in its tins, from what happened in order. What a count finds missing is
/// first what was poured without a tin's name, the oldest first; and once every tin that was there was counted after a pour,
/// it is found, whatever they held. Nothing of toners of which no tin is on the shelf.
pub fn unnamed(tins: &[Tin], moved: &[Loose]) -> BTreeMap<TonerCode, Grams> {
    let mut found = BTreeMap::new();
    for (toner, since) in since(tins) {
        let mut poured: Vec<(Stamp, Grams)> = Vec::new();
        for one in moved.iter().filter(|one| one.toner == *toner) {
            match one.kind {
                LooseKind::Poured if one.mass.is_positive() => poured.push((one.at, one.mass)),
                // A pour that was booked as what it was: it is in the latest ones.
                LooseKind::Poured => take(poured.iter_mut().rev(), -one.mass),
                LooseKind::Missing => take(poured.iter_mut(), one.mass),
            }
        }
        let left: Grams = poured.into_iter().filter(|(at, _)| *at > since).map(|(_, mass)| mass).sum();
        if left.is_positive() {
            found.insert(toner.clone(), left);
        }
    }
    found
}

/// Takes so much out of them, one after the other.
fn take<'a>(poured: impl Iterator<Item = &'a mut (Stamp, Grams)>, mut mass: Grams) {
    for (_, left) in poured {
        let part = mass.min(*left).max(Grams::ZERO);
        *left -= part;
        mass -= part;
    }
}

/// The same out of the book. What is read are the events since the tin was counted, or came, that was not for the longest,
/// and those of 90 days before; nothing where every pour has a tin's name.
pub fn poured_unnamed(book: &dyn Ledger, tins: &[Tin]) -> Result<BTreeMap<TonerCode, Grams>, StoreError> {
    let mut without: Vec<TonerCode> = Vec::new();
    for balance in book.held("tin?")? {
        if matches!(balance.account, Account::UnknownTin(_)) {
            without.push(balance.toner);
        }
    }
    let own: Vec<Tin> = tins.iter().filter(|tin| without.contains(&tin.toner)).cloned().collect();
    let Some(first) = since(&own).into_values().min() else { return Ok(BTreeMap::new()) };
    let moved = book.loose(Stamp(first.0.saturating_sub(BACK)))?;
    Ok(unnamed(&own, &moved))
}
