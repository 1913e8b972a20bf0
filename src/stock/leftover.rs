//! What is left of an earlier mix, and whether it can be the start of another.

use super::{Recall, Tin};
use crate::barcode::Day;
use crate::book::MixTotals;
use crate::catalogue::TonerCode;
use crate::units::{Grams, Share, Stamp};
use std::collections::BTreeSet;
use std::fmt;

/// A tin that something was poured from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FromTin {
    /// Its label.
    pub label: String,
    /// What is in it.
    pub toner: TonerCode,
    /// Its lot, if that is known.
    pub lot: Option<String>,
}

/// A leftover on the shelf.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Leftover {
    /// The mix it is left of.
    pub of: MixTotals,
    /// What is in it: how much of each toner.
    pub made_of: Vec<(TonerCode, Grams)>,
    /// The tins that was poured from, each once, also by way of leftovers that its mix began with.
    pub tins: Vec<FromTin>,
    /// When it was kept.
    pub kept: Option<Stamp>,
    /// The last day on which it may be used, if that was said.
    pub use_by: Option<Day>,
    /// Whether thinner or hardener is in it too.
    pub is_thinned: bool,
}

/// Why a leftover cannot be the start of a mix; as text, a sentence for the painter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unfit {
    /// Something of a lot that was called back is in it.
    Recalled {
        /// Which lot.
        lot: String,
        /// Of which toner.
        toner: TonerCode,
        /// Why.
        why: String,
    },
    /// Thinner or hardener is in it.
    Thinned,
    /// It may be used no more.
    Expired(Day),
    /// Of some toner it holds less than nothing: a pour was put right after some of it was used.
    Doubtful,
}

impl fmt::Display for Unfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Recalled { lot, toner, why } => write!(
                f,
                "lot {lot} of {toner}, which is in this leftover, was called back ({why}): do not use it, throw it away"
            ),
            Self::Thinned => {
                f.write_str("thinner or hardener is in this leftover: its weight is not that of the toners in it")
            }
            Self::Expired(day) => write!(f, "this leftover was to be used until {day}: throw it away"),
            Self::Doubtful => f.write_str(
                "what is in this leftover is not known any more, since a pour of its mix was put right after some of it \
                 was used: throw it away",
            ),
        }
    }
}

impl Leftover {
    /// How much of it there is.
    pub fn holds(&self) -> Grams {
        self.made_of.iter().map(|(_, mass)| *mass).sum()
    }

    /// Each toner's share of it by mass; nothing if nothing is left.
    pub fn shares(&self) -> Vec<(TonerCode, Share)> {
        let whole = self.holds();
        self.made_of.iter().filter_map(|(toner, mass)| Some((toner.clone(), mass.share_of(whole)?))).collect()
    }

    /// The first of those recalls that means a tin it was poured from, and that tin.
    pub fn called_back<'a>(&'a self, recalls: &'a [Recall]) -> Option<(&'a Recall, &'a FromTin)> {
        let means = |recall: &'a Recall| {
            let of_lot = |tin: &&FromTin| tin.lot.as_deref().is_some_and(|lot| recall.is_of(lot, &tin.toner));
            Some((recall, self.tins.iter().find(of_lot)?))
        };
        recalls.iter().find_map(means)
    }

    /// Why it cannot be the start of a mix on that day, with those lots called back; none if it can.
    pub fn unfit(&self, today: Day, recalls: &[Recall]) -> Option<Unfit> {
        if let Some((recall, tin)) = self.called_back(recalls) {
            let (lot, toner, why) = (recall.lot.clone(), tin.toner.clone(), recall.why.clone());
            return Some(Unfit::Recalled { lot, toner, why });
        }
        if self.made_of.iter().any(|(_, mass)| mass.is_negative()) {
            return Some(Unfit::Doubtful);
        }
        if self.is_thinned {
            return Some(Unfit::Thinned);
        }
        self.use_by.filter(|day| *day < today).map(Unfit::Expired)
    }
}

/// The lots of tins that were poured from before anybody said them are known in leftovers too, once they are of the tins.
pub fn know_lots<'a>(poured_from: impl Iterator<Item = &'a mut FromTin>, tins: &[Tin]) {
    let mut unsaid: Vec<&mut FromTin> = poured_from.filter(|tin| tin.lot.is_none()).collect();
    let labels: BTreeSet<String> = unsaid.iter().map(|tin| tin.label.clone()).collect();
    if labels.is_empty() {
        return;
    }
    for said in tins.iter().filter(|tin| tin.lot.is_some() && labels.contains(&tin.label)) {
        for tin in unsaid.iter_mut().filter(|tin| tin.label == said.label) {
            (tin.lot, tin.toner) = (said.lot.clone(), said.toner.clone());
        }
    }
}
