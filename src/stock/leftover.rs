//! What is left of an earlier mix, and whether it can be the start of another.

use crate::barcode::Day;
use crate::book::MixTotals;
use crate::catalogue::TonerCode;
use crate::units::{Grams, Share, Stamp};
use std::fmt;

/// A leftover on the shelf.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Leftover {
    /// The mix it is left of.
    pub of: MixTotals,
    /// What is in it: how much of each toner.
    pub made_of: Vec<(TonerCode, Grams)>,
    /// When it was kept.
    pub kept: Option<Stamp>,
    /// The last day on which it may be used, if that was said.
    pub use_by: Option<Day>,
    /// Whether thinner or hardener is in it too.
    pub is_thinned: bool,
}

/// Why a leftover cannot be the start of a mix; as text, a sentence for the painter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unfit {
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

    /// Why it cannot be the start of a mix on that day; none if it can.
    pub fn unfit(&self, today: Day) -> Option<Unfit> {
        if self.made_of.iter().any(|(_, mass)| mass.is_negative()) {
            return Some(Unfit::Doubtful);
        }
        if self.is_thinned {
            return Some(Unfit::Thinned);
        }
        self.use_by.filter(|day| *day < today).map(Unfit::Expired)
    }
}
