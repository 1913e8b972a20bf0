//! What went wrong in a mix, by which it is found again.

use super::reading::MixRead;
use crate::catalogue::TonerCode;
use std::collections::BTreeSet;

/// Something that went over in a mix, or what was done about it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mark {
    /// More of that toner was poured than is right, once or more often.
    Over(TonerCode),
    /// A way out was chosen.
    PutRight,
    /// It was given up while something was over.
    GivenUp,
}

impl Mark {
    /// In a word, as the book has it.
    pub fn word(&self) -> String {
        match self {
            Self::Over(toner) => format!("over:{}", toner.as_str()),
            Self::PutRight => "put-right".to_owned(),
            Self::GivenUp => "given-up".to_owned(),
        }
    }

    /// The marks of a mix that tells this.
    pub fn of(read: &MixRead) -> BTreeSet<Self> {
        let over = read.pours.iter().filter(|pours| pours.over > 0);
        let mut marks: BTreeSet<Self> = over.map(|pours| Self::Over(pours.toner.clone())).collect();
        marks.extend((!read.chosen.is_empty()).then_some(Self::PutRight));
        marks.extend(read.given_up_over.is_some().then_some(Self::GivenUp));
        marks
    }
}
