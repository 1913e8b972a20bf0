//! A step at the bench: what it needs, what it did, and why it could not be.

use crate::book::{By, Envelope, Ids, JournalError};
use crate::mix::Refusal;
use crate::tui::message::Now;
use crate::units::{Grams, Notation};

/// What a step at the bench did.
#[derive(Debug, Default)]
pub struct Step {
    /// What happened, for the sound and the message line.
    pub happened: Option<Happened>,
}

/// What a person should hear and see of a step.
#[derive(Clone, Debug, PartialEq)]
pub enum Happened {
    /// A pour was taken and is right.
    Right,
    /// A pour was taken and more of it is to come.
    Part,
    /// A pour was taken and is over.
    Over,
    /// Some was drawn off.
    Drawn,
    /// Everything is in.
    Complete,
    /// The mix is done.
    Finished,
    /// The mix was given up.
    Abandoned {
        /// Whether the same is to be begun again.
        again: bool,
    },
    /// The mix was put aside.
    Aside,
    /// The cup is back on the scale.
    CupBack {
        /// Whether it weighs what it did.
        same: bool,
    },
    /// It is back with another weight, and it is asked why.
    CupAsks,
    /// Anything else.
    Changed,
}

/// Why something cannot be done at the bench now.
#[derive(Debug, thiserror::Error)]
pub enum BenchError {
    /// The mix or the book refuses.
    #[error(transparent)]
    Journal(#[from] JournalError),
    /// The scale has no weight to take.
    #[error("there is no steady weight to take: {0}")]
    NoWeight(String),
    /// The cup was off the scale, and is not compared yet with what it weighed before.
    #[error("{0}")]
    Cup(&'static str),
    /// More was typed than the cup can take.
    #[error("{0} g do not fit into this cup: look at the weight and type it again")]
    TooMuch(Grams),
    /// Without a scale a weight has to be typed.
    #[error("there is no scale: press m and type the weight")]
    TypeIt,
}

impl BenchError {
    /// The same sentence, its numbers as the person writes them.
    pub(in crate::tui) fn sentence(&self, notation: Notation) -> String {
        match self {
            Self::TooMuch(mass) => {
                let mass = notation.given_mass(*mass);
                format!("{mass} do not fit into this cup: look at the weight and type it again")
            }
            other => other.to_string(),
        }
    }
}

impl From<Refusal> for BenchError {
    fn from(refusal: Refusal) -> Self {
        Self::Journal(JournalError::Refused(refusal))
    }
}

/// What every step needs from outside.
pub struct Tools<'a> {
    /// Where identities come from.
    pub ids: &'a mut Ids,
    /// Who is at the bench.
    pub by: &'a By,
    /// When.
    pub now: Now,
    /// The envelopes to write, in order. They are kept here and not in what a step answers with: where a step's
    /// second event is refused, its first has happened all the same and must not be lost.
    pub written: Vec<Envelope>,
}

impl Step {
    /// What comes later is what counts, unless it is nothing to hear of.
    pub(super) fn add(&mut self, later: Self) {
        let silent = matches!(later.happened, None | Some(Happened::Changed));
        if !silent || self.happened.is_none() {
            self.happened = later.happened;
        }
    }
}
