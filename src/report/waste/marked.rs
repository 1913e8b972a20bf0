//! The mixes that stand behind what is told of single pours: in which a toner went over, and in which a way out was taken.

use super::{MixCost, MixPage};
use crate::book::reading::MixRead;
use crate::book::spans::Times;
use crate::book::{Ledger, StoreError, Told};
use crate::catalogue::TonerCode;
use crate::report::{Bucket, Period};
use crate::units::Stamp;

/// What happened in a mix.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Mark {
    /// That toner went over.
    Over(TonerCode),
    /// A way out was taken when something had gone wrong.
    PutRight,
    /// It was given up while something was over.
    GivenUp,
}

impl Mark {
    /// Whether it happened in the mix that tells that.
    pub fn is_on(&self, read: &MixRead) -> bool {
        match self {
            Self::Over(toner) => read.pours.iter().any(|pours| pours.toner == *toner && pours.over > 0),
            Self::PutRight => !read.chosen.is_empty(),
            Self::GivenUp => read.given_up_over.is_some(),
        }
    }
}

/// Reads so many of the mixes with that mark that were begun in that time, as [`super::behind`] does. What each mix of the
/// time tells is read month by month, the latest first, until there are enough.
pub(super) fn read<B: Ledger + ?Sized>(
    book: &B,
    period: &Period,
    (time, mark): (&Times, &Mark),
    before: Option<(Stamp, u32)>,
    most: u32,
) -> Result<MixPage, StoreError> {
    let most = usize::try_from(most).unwrap_or(usize::MAX);
    let is_before = |own: (Stamp, u32)| before.is_none_or(|before| own < before);
    let mut mixes = Vec::new();
    for (_, month) in period.times(Bucket::Month).into_iter().rev() {
        let month = month.start.max(time.start)..month.end.min(time.end);
        if month.start >= month.end || before.is_some_and(|(before, _)| month.start > before) {
            continue;
        }
        let mut told = book.told(Told::All, &month)?;
        told.retain(|(totals, read)| is_before((totals.head.begun, totals.head.number)) && mark.is_on(read));
        told.sort_by_key(|(totals, _)| std::cmp::Reverse((totals.head.begun, totals.head.number)));
        mixes.extend(told.iter().map(|(totals, read)| MixCost::told(period, totals, read)));
        if mixes.len() > most {
            break;
        }
    }
    let is_more = mixes.len() > most;
    mixes.truncate(most);
    Ok(MixPage { mixes, is_more })
}
