//! The figures of a time told apart in every way there is, as a screen turns through them; and the mixes behind a row, which
//! are read only when somebody looks at them.

use super::rows::Names;
use super::{Adding, By, MixCost, Row, Waste, reason};
use crate::book::{Behind, Having, Ledger, Mark, StoreError};
use crate::report::reading::{Amount, Fate};
use crate::report::{Bucket, Period};
use crate::units::{Grams, Stamp};
#[cfg(test)]
use std::collections::BTreeSet;

/// The figures of a time, told apart in every way.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Overview {
    /// All of it, without the mixes and the jobs one by one, and told apart by reasons alone.
    pub waste: Waste,
    /// From the first mix on; none where there is no mix.
    period: Option<Period>,
    /// Told apart: the rows in the order of time, of names, of what became of the paint, and what the book calls that which
    /// each is of.
    apart: Vec<(By, Vec<Row>, Names)>,
}

/// Some of the mixes behind a row.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct MixPage {
    /// The mixes, the latest first.
    pub mixes: Vec<MixCost>,
    /// Whether there are more, begun before these.
    pub is_more: bool,
}

/// Reads the figures told apart in every way, by time by those days, weeks or months, all from the sums that the book keeps.
/// Of times before the first mix there are no rows.
pub fn overview<B: Ledger + ?Sized>(
    book: &B,
    period: &Period,
    bucket: Bucket,
) -> Result<Overview, StoreError> {
    let Some(first) = book.first_begun(&(period.from()..period.before()))? else {
        return Ok(Overview {
            waste: Waste { total: Row::named("all"), ..Waste::default() },
            ..Overview::default()
        });
    };
    let period = period.beginning(period.date_of(first));
    let mut told = Adding::new(&period, &[By::Time(bucket), By::Layer, By::Painter, By::Colour]);
    told.read(book)?;
    let mut apart = Vec::new();
    for rows in std::mem::take(&mut told.apart) {
        let by = rows.by;
        let (mut rows, names) = rows.with_names();
        rows.retain(|row| row.mixes > 0 || matches!(by, By::Time(_)));
        apart.push((by, rows, names));
    }
    let mut names = Names::new();
    for (fate, why) in told.reasons.keys() {
        names.entry(reason(*fate, why)).or_default().insert((fate.name().to_owned(), why.clone()));
    }
    let waste = told.done();
    apart.push((By::Reason, waste.reasons.clone(), names));
    Ok(Overview { waste, period: Some(period), apart })
}

/// Reads so many of those mixes, the latest first; of those that were begun before that moment, or in it with a lower
/// number, where one is given.
pub fn behind<B: Ledger + ?Sized>(
    book: &B,
    period: &Period,
    of: &Behind,
    before: Option<(Stamp, u32)>,
    most: u32,
) -> Result<MixPage, StoreError> {
    let told = book.behind(of, before, most.saturating_add(1))?;
    let mixes = told.iter().map(|(totals, read)| MixCost::told(period, totals, read));
    let mut mixes: Vec<MixCost> = mixes.collect();
    let most = usize::try_from(most).unwrap_or(usize::MAX);
    let is_more = mixes.len() > most;
    mixes.truncate(most);
    Ok(MixPage { mixes, is_more })
}

impl Overview {
    /// The rows told apart by that, in their own order: in that of time, of names, of what became of the paint. None by
    /// days, weeks or months that were not asked for.
    pub fn rows_by(&self, by: By) -> &[Row] {
        self.apart.iter().find(|(own, ..)| *own == by).map_or(&[], |(_, rows, _)| rows)
    }

    /// Which mixes stand behind the row of that key; none if there is no such row.
    pub fn behind(&self, by: By, key: &str) -> Option<Behind> {
        let period = self.period.as_ref()?;
        let time = period.from()..period.before();
        if let By::Time(bucket) = by {
            let mut times = period.times(bucket).into_iter();
            return times.find(|(own, _)| own == key).map(|(_, time)| Behind { time, having: None });
        }
        let (.., names) = self.apart.iter().find(|(own, ..)| *own == by)?;
        let kept_as = names.get(key)?.iter().cloned().collect();
        Some(Behind { time, having: Some(Having::Sum(by.apart()?, kept_as)) })
    }

    /// Which mixes have that mark; none where the time is not known.
    pub fn marked(&self, mark: Mark) -> Option<Behind> {
        let period = self.period.as_ref()?;
        Some(Behind { time: period.from()..period.before(), having: Some(Having::Mark(mark)) })
    }
}

#[cfg(test)]
impl Overview {
    /// The same from mixes that were read; what the book calls a row of is the row's key.
    pub(crate) fn of_mixes(waste: &Waste, period: &Period, bucket: Bucket) -> Self {
        let ways = [By::Time(bucket), By::Layer, By::Painter, By::Colour, By::Reason];
        let apart = ways.map(|by| {
            let rows = waste.rows_by(period, by);
            let named = |row: &Row| (row.key.clone(), BTreeSet::from([(row.key.clone(), String::new())]));
            let names = rows.iter().map(named).collect();
            (by, rows, names)
        });
        let waste = Waste { mixes: Vec::new(), jobs: Vec::new(), rows: Vec::new(), ..waste.clone() };
        Self { waste, period: Some(period.clone()), apart: apart.into() }
    }
}

impl Row {
    /// What was not sprayed of it, kept and in cups included.
    pub fn not_sprayed(&self) -> Grams {
        self.mixed.mass - self.of(Fate::Sprayed).mass
    }
}

impl MixCost {
    /// How much of it had that fate.
    pub fn of(&self, fate: Fate) -> Amount {
        let mut all = Amount::default();
        for (_, _, amount) in self.fates.iter().filter(|(own, ..)| *own == fate) {
            all += *amount;
        }
        all
    }

    /// How much less its ways out wasted than growing the mix would have; none if that was never open.
    pub fn saved_against_growing(&self) -> Option<Grams> {
        let saved = self.chosen.iter().filter_map(|own| Some(own.grown?.mass - own.wasted.mass));
        saved.reduce(|one, other| one + other)
    }

    /// What was lost of it and why, in words.
    pub fn reasons(&self) -> Vec<(String, Amount)> {
        let lost = self.fates.iter().filter(|(fate, ..)| fate.is_waste());
        lost.map(|(fate, why, amount)| (reason(*fate, why), *amount)).collect()
    }
}
