//! Why something cannot be said of the stock, in a sentence for the stores manager.

use crate::units::Grams;
use thiserror::Error;

/// Why something cannot be said of the stock.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum StockRefusal {
    /// No label.
    #[error("say which tin it is, by its label")]
    NoLabel,
    /// No toner.
    #[error("say which toner is in tin {0}")]
    NoToner(String),
    /// A label that a tin had before.
    #[error("tin {0} was received before: a label is used once, so give this tin another")]
    LabelUsed(String),
    /// Nothing in it.
    #[error("tin {label}: {mass} g is no amount of paint; say what is in it, in grams")]
    NothingInIt {
        /// The label.
        label: String,
        /// What was said to be in it.
        mass: Grams,
    },
    /// An empty tin that weighs nothing.
    #[error("tin {label}: an empty tin cannot weigh {mass} g")]
    NoEmptyTin {
        /// The label.
        label: String,
        /// What was said.
        mass: Grams,
    },
    /// A price below nothing.
    #[error("tin {0}: a price cannot be below nothing")]
    BadPrice(String),
    /// A day that is none.
    #[error("tin {label}: '{text}' is no day; write it as 2026-12-31")]
    BadDay {
        /// The label.
        label: String,
        /// What was written.
        text: String,
    },
    /// It weighs less than the empty tin.
    #[error("tin {label} weighs {gross} g, and empty it weighs {empty} g: look at both")]
    LighterThanEmpty {
        /// The label.
        label: String,
        /// What it weighed.
        gross: Grams,
        /// What it weighs empty.
        empty: Grams,
    },
    /// What it weighs empty is not known.
    #[error("what tin {0} weighs empty is not known: say that too, or say what is in it")]
    EmptyUnknown(String),
    /// It was thrown away.
    #[error("tin {0} was thrown away: nothing more can be said of it")]
    IsGone(String),
    /// No reason.
    #[error("say why, in a word or two")]
    NoReason,
    /// No lot.
    #[error("say which lot it is, as it stands on the tins")]
    NoLot,
    /// More than there is.
    #[error("of this leftover there is no more than {0} g")]
    MoreThanLeft(Grams),
    /// Nothing.
    #[error("say how much of it is thrown away: more than nothing")]
    Nothing,
}
