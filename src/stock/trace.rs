//! Where the paint of a lot has gone, and where that of a mix or of a repair came from; also by way of leftovers.

use crate::book::figures::TinRow;
use crate::book::{Account, Ledger, MixId, MixTotals, MixesOf, StoreError, TinsOf};
use crate::catalogue::TonerCode;
use crate::units::Grams;
use std::collections::BTreeSet;
use thiserror::Error;

/// That much of a toner is in a mix.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Use {
    /// Which mix.
    pub mix: MixTotals,
    /// Which toner.
    pub toner: TonerCode,
    /// From which place: a tin, a tin whose label was not said, or a leftover.
    pub from: Account,
    /// How much of it was poured; of a leftover, how much of that toner came with it.
    pub mass: Grams,
}

/// What a trace found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Trace {
    /// The tins, by their labels.
    pub tins: Vec<TinRow>,
    /// The mixes and what went into them, in the order they were begun.
    pub uses: Vec<Use>,
}

/// Why nothing can be traced.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum TraceError {
    /// The book knows nothing of it.
    #[error("there is no {0} in this book")]
    Unknown(String),
    /// The book cannot be read.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl Trace {
    /// The repairs that were sprayed with it, each once.
    pub fn jobs(&self) -> Vec<&str> {
        let jobs: BTreeSet<_> = self.uses.iter().filter_map(|used| used.mix.head.job.as_deref()).collect();
        jobs.into_iter().collect()
    }

    /// The lots of its tins, each once.
    pub fn lots(&self) -> Vec<&str> {
        let lots: BTreeSet<_> = self.tins.iter().filter_map(|tin| tin.lot.as_deref()).collect();
        lots.into_iter().collect()
    }

    fn settle(mut self) -> Self {
        self.uses.sort_by_key(|used| used.mix.head.number);
        self.tins.sort_by(|one, other| one.label.cmp(&other.label));
        self.tins.dedup();
        self
    }
}

/// Every tin of a lot, and every mix that has some of it, also by way of a leftover.
pub fn trace_lot(book: &dyn Ledger, lot: &str) -> Result<Trace, TraceError> {
    let tins = book.tins(TinsOf::Lot(lot))?;
    if tins.is_empty() {
        return Err(TraceError::Unknown(format!("tin of lot {lot}")));
    }
    let mut trace = Trace::default();
    let mut seen = BTreeSet::new();
    for tin in &tins {
        let mut ahead = vec![Account::Tin(tin.label.clone())];
        while let Some(place) = ahead.pop() {
            for moved in book.moved_by(&place)? {
                // What went in is a receipt, a count, or what the mix itself kept.
                if moved.toner != tin.toner || !moved.mass.is_negative() {
                    continue;
                }
                let Some(mix) = mix(book, moved.subject)? else { continue };
                if seen.insert((place.clone(), mix.mix, moved.toner.clone())) {
                    ahead.push(Account::Leftover(mix.mix));
                    trace.uses.push(Use { mix, toner: moved.toner, from: place.clone(), mass: -moved.mass });
                }
            }
        }
    }
    trace.tins = tins;
    Ok(trace.settle())
}

/// Every tin and leftover that a mix is made of, and the tins that those leftovers are made of.
pub fn trace_mix(book: &dyn Ledger, mix: MixId) -> Result<Trace, TraceError> {
    trace_mixes(book, &[mix])
}

/// The same of every mix that was sprayed on a repair.
pub fn trace_job(book: &dyn Ledger, job: &str) -> Result<Trace, TraceError> {
    let mixes: Vec<_> = book.totals(MixesOf::Job(job))?.into_iter().map(|mix| mix.mix).collect();
    if mixes.is_empty() {
        return Err(TraceError::Unknown(format!("mix that was sprayed on {job}")));
    }
    trace_mixes(book, &mixes)
}

fn trace_mixes(book: &dyn Ledger, mixes: &[MixId]) -> Result<Trace, TraceError> {
    let mut trace = Trace::default();
    let mut seen = BTreeSet::new();
    let mut ahead = mixes.to_vec();
    while let Some(id) = ahead.pop() {
        if !seen.insert(id) {
            continue;
        }
        let of = mix(book, id)?.ok_or_else(|| TraceError::Unknown(format!("mix {id}")))?;
        for moved in book.moved_in(id)? {
            match &moved.account {
                Account::Tin(label) => trace.tins.extend(book.tins(TinsOf::Label(label))?),
                Account::UnknownTin(_) => {}
                Account::Leftover(old) if *old != id && moved.mass.is_negative() => ahead.push(*old),
                _ => continue,
            }
            if moved.mass.is_negative() {
                trace.uses.push(Use {
                    mix: of.clone(),
                    toner: moved.toner,
                    from: moved.account,
                    mass: -moved.mass,
                });
            }
        }
    }
    Ok(trace.settle())
}

fn mix(book: &dyn Ledger, mix: MixId) -> Result<Option<MixTotals>, StoreError> {
    Ok(book.totals(MixesOf::Mix(mix))?.pop())
}
