//! The same figures told apart anew, without the book's sums, for tests: from the mixes that were read.

use super::{By, MixCost, Row, Waste, reason};
use crate::report::{Bucket, Period};
use std::collections::BTreeMap;

impl Waste {
    /// The rows told apart by that, as a reading of the same period by it would have them, but in their own order: in that
    /// of time, of names, of what became of the paint. Of days before the first mix there are no rows.
    pub(crate) fn rows_by(&self, period: &Period, by: By) -> Vec<Row> {
        let By::Time(bucket) = by else {
            if by == By::Reason {
                return self.reasons.clone();
            }
            return self.gathered(period, by, BTreeMap::new());
        };
        self.gathered(period, by, self.empty(period, bucket))
    }

    /// The places of the mixes that are behind the row of that key, the latest first.
    pub(crate) fn mixes_of(&self, period: &Period, by: By, key: &str) -> Vec<usize> {
        let is_of = |mix: &MixCost| match by {
            By::Reason => mix.fates.iter().any(|(fate, why, _)| reason(*fate, why) == key),
            _ => key_of(mix, period, by).as_deref() == Some(key),
        };
        let places = self.mixes.iter().enumerate().filter(|(_, mix)| is_of(mix)).map(|(place, _)| place);
        let mut places: Vec<usize> = places.collect();
        places.reverse();
        places
    }

    fn gathered(&self, period: &Period, by: By, mut rows: BTreeMap<String, Row>) -> Vec<Row> {
        for mix in &self.mixes {
            let Some(key) = key_of(mix, period, by) else { continue };
            let row = rows.entry(key.clone()).or_insert_with(|| Row::named(key));
            row.mixes = row.mixes.saturating_add(1);
            for (fate, _, amount) in &mix.fates {
                row.put(*fate, *amount);
            }
        }
        rows.into_values().collect()
    }

    /// The days, weeks or months from the first mix on, so that those stand there too in which nothing was mixed.
    fn empty(&self, period: &Period, bucket: Bucket) -> BTreeMap<String, Row> {
        let first =
            self.mixes.iter().map(|mix| mix.begun).min().map(|begun| bucket.of(period.date_of(begun)));
        let Some(first) = first else { return BTreeMap::new() };
        let from_first = period.buckets(bucket).into_iter().filter(|key| *key >= first);
        from_first.map(|key| (key.clone(), Row::named(key))).collect()
    }
}

fn key_of(mix: &MixCost, period: &Period, by: By) -> Option<String> {
    Some(match by {
        By::Time(bucket) => bucket.of(period.date_of(mix.begun)),
        By::Layer => mix.layer.clone(),
        By::Painter => mix.painter.clone(),
        By::Colour => mix.colour.clone(),
        By::Reason => return None,
    })
}
