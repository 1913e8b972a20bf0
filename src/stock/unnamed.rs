//! What was poured of a toner without a word from which tin, and no count has found yet: it is in none of the tins any more,
//! though by the book it is in one of them still.
//!
//! A count that finds a tin to lack something, a tin that is said to be empty, and one that is thrown away book that back to
//! where the pour came from, `tin → tin?`. In books of before that, all of it is a difference: those are found by the same
//! rule, though their account stays below nothing.

use super::Tin;
use crate::book::{Account, Envelope, Ledger, Loose, LooseKind, MixId, StoreError};
use crate::catalogue::TonerCode;
use crate::units::{Grams, Stamp};
use std::collections::BTreeMap;

/// How far before the last count it is looked for what counts found, in microseconds: 90 days. What was poured before that
/// and found only since then is taken for found too early.
const BACK: i64 = 90 * 86_400_000_000;

/// The pours without a tin's name, each with what of it is still to be found, kept up with the book event by event.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Unnamed {
    /// Of each toner its pours in order.
    poured: BTreeMap<TonerCode, Vec<Pour>>,
    /// What the account of each toner's unnamed tins is below nothing, or, below nothing, above it.
    lacks: BTreeMap<TonerCode, Grams>,
}

/// A pour without a tin's name.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Pour {
    at: Stamp,
    mix: MixId,
    /// How much of it is still to be found.
    left: Grams,
}

/// From when on what was poured of a toner without a tin's name may be missing in one of its tins: when the one of them was
/// counted, or came, that was not counted for the longest. A tin that nobody booked in counts for none.
fn since<'a>(tins: impl IntoIterator<Item = &'a Tin>, toner: &TonerCode) -> Option<Stamp> {
    let own = tins.into_iter().filter(|tin| tin.toner == *toner && !tin.is_gone());
    own.filter_map(|tin| tin.received.max(tin.counted)).min()
}

impl Unnamed {
    /// Reads it out of the book. What is gone through are the events since the tin was counted, or came, that was not for the
    /// longest, and those of 90 days before; nothing where every pour has a tin's name.
    pub fn read(book: &dyn Ledger, tins: &[Tin]) -> Result<Self, StoreError> {
        let mut read = Self::default();
        for balance in book.held("tin?")? {
            if matches!(balance.account, Account::UnknownTin(_)) {
                read.lacks.insert(balance.toner, -Grams::from_micrograms(balance.micrograms));
            }
        }
        let without = read.lacks.iter().filter(|(_, lacks)| lacks.is_positive());
        if let Some(first) = without.filter_map(|(toner, _)| since(tins, toner)).min() {
            for one in book.loose(Stamp(first.0.saturating_sub(BACK)))? {
                read.take(&one);
            }
        }
        Ok(read)
    }

    /// Takes in an event that was written into the book.
    pub fn follow(&mut self, event: &Envelope) {
        // What an event moves of a toner is one thing, however many postings it takes.
        let mut moved = BTreeMap::<(&TonerCode, bool), Grams>::new();
        for posting in &event.postings {
            let is_unnamed = matches!(posting.account, Account::UnknownTin(_));
            if is_unnamed || matches!(posting.account, Account::Difference(_)) {
                *moved.entry((&posting.toner, is_unnamed)).or_insert(Grams::ZERO) +=
                    Grams::from_micrograms(posting.micrograms);
            }
        }
        for ((toner, is_unnamed), mass) in moved {
            let (kind, mass_of_kind) = if !is_unnamed {
                (LooseKind::Missing, mass)
            } else if event.kind.starts_with("mix/") {
                (LooseKind::Poured, -mass)
            } else {
                (LooseKind::Found, mass)
            };
            let (at, subject) = (event.at, event.subject);
            self.take(&Loose { at, subject, toner: toner.clone(), kind, mass: mass_of_kind });
            if is_unnamed {
                *self.lacks.entry(toner.clone()).or_insert(Grams::ZERO) -= mass;
            }
        }
    }

    /// What a tin lacks is first what was poured without a tin's name, the oldest first, whatever it was booked as. A pour that
    /// is booked anew as what it was is one of its mix; where a count has taken that for found already, in the latest ones.
    fn take(&mut self, one: &Loose) {
        let poured = self.poured.entry(one.toner.clone()).or_default();
        match one.kind {
            LooseKind::Poured if one.mass.is_positive() => {
                poured.push(Pour { at: one.at, mix: one.subject, left: one.mass });
            }
            LooseKind::Poured => {
                let own = poured.iter_mut().rev().filter(|pour| pour.mix == one.subject);
                let over = take_out(own, -one.mass);
                take_out(poured.iter_mut().rev(), over);
            }
            LooseKind::Found | LooseKind::Missing => {
                take_out(poured.iter_mut(), one.mass);
            }
        }
        poured.retain(|pour| pour.left.is_positive());
    }

    /// How much of a toner is still to be found missing in those of these tins that it may be missing in. Once every tin that
    /// was there was counted after a pour, it is found, whatever they held. Nothing where no tin of it is on the shelf, and
    /// never more than its account is below nothing.
    pub fn of(&self, tins: &[Tin], toner: &TonerCode) -> Grams {
        self.since(since(tins, toner), toner)
    }

    /// How much of its toner is still to be found and can be missing in no tin but this one.
    pub fn only_in(&self, tin: &Tin, tins: &[Tin]) -> Grams {
        let others = tins.iter().filter(|other| other.label != tin.label);
        self.of(tins, &tin.toner) - self.since(since(others, &tin.toner), &tin.toner)
    }

    fn since(&self, since: Option<Stamp>, toner: &TonerCode) -> Grams {
        let (Some(since), Some(poured)) = (since, self.poured.get(toner)) else { return Grams::ZERO };
        let left: Grams = poured.iter().filter(|pour| pour.at > since).map(|pour| pour.left).sum();
        let lacks = self.lacks.get(toner).copied().unwrap_or(Grams::ZERO);
        left.min(lacks).max(Grams::ZERO)
    }
}

/// Takes so much out of them, one after the other; what is over.
fn take_out<'a>(poured: impl Iterator<Item = &'a mut Pour>, mut mass: Grams) -> Grams {
    for pour in poured {
        let part = mass.min(pour.left).max(Grams::ZERO);
        pour.left -= part;
        mass -= part;
    }
    mass
}

/// What of each toner is still to be found missing in its tins, out of the book, as [`Unnamed::read`] reads it.
pub fn poured_unnamed(book: &dyn Ledger, tins: &[Tin]) -> Result<BTreeMap<TonerCode, Grams>, StoreError> {
    let unnamed = Unnamed::read(book, tins)?;
    let of = unnamed.poured.keys().map(|toner| (toner.clone(), unnamed.of(tins, toner)));
    Ok(of.filter(|(_, left)| left.is_positive()).collect())
}
