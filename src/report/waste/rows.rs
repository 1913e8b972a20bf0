//! The rows of one way to tell the waste apart, while they are being added up.

use super::{By, Row, colour_named, said};
use crate::book::mix_sums::{Apart, Sum, SumRow};
use crate::book::reading::MixRead;
use crate::book::spans::{Hours, Span, Times, cover};
use crate::book::{Ledger, MixTotals, StoreError, Told};
use crate::report::Period;
use std::collections::{BTreeMap, BTreeSet};

/// The rows, and what the book calls that which each is of.
pub(super) struct Rows {
    pub(super) by: By,
    all: BTreeMap<String, Row>,
    kept_as: Names,
}

/// What the book calls that which a row is of, by the row's key.
pub(super) type Names = BTreeMap<String, BTreeSet<(String, String)>>;

impl Rows {
    /// None yet; by time all that are in the period, so that those stand there too in which nothing was mixed.
    pub(super) fn new(by: By, period: &Period) -> Self {
        let mut all = BTreeMap::new();
        if let By::Time(bucket) = by {
            all.extend(period.buckets(bucket).into_iter().map(|key| (key.clone(), Row::named(key))));
        }
        Self { by, all, kept_as: Names::new() }
    }

    /// All of them, in order.
    pub(super) fn all(self) -> Vec<Row> {
        self.all.into_values().collect()
    }

    /// All of them, and what the book calls them.
    pub(super) fn with_names(self) -> (Vec<Row>, Names) {
        (self.all.into_values().collect(), self.kept_as)
    }

    fn row(&mut self, key: String) -> &mut Row {
        self.all.entry(key.clone()).or_insert_with(|| Row::named(key))
    }

    /// The row of what the book calls so.
    fn row_of(&mut self, kept: (&str, &str)) -> &mut Row {
        let (own, more) = kept;
        let key = match self.by {
            By::Colour => colour_named(Some(own), Some(more)),
            _ => said(Some(own)),
        };
        let kept_as = self.kept_as.entry(key.clone()).or_default();
        if !kept_as.iter().any(|(known, known_more)| (known.as_str(), known_more.as_str()) == kept) {
            kept_as.insert((own.to_owned(), more.to_owned()));
        }
        self.row(key)
    }

    /// Takes in the mixes of whole spans that have ended; by time they are taken in together.
    pub(super) fn take_span<B: Ledger + ?Sized>(
        &mut self,
        book: &B,
        span: Span,
        hours: &Hours,
    ) -> Result<(), StoreError> {
        let Some(apart) = self.by.apart().filter(|apart| *apart != Apart::Reason) else { return Ok(()) };
        for SumRow { key, more, sum } in book.sums(apart, span, hours)? {
            self.row_of((&key, &more)).add_sum(&sum);
        }
        Ok(())
    }

    /// Takes in a mix by itself; its day, week or month too, if that does not come by the sums.
    pub(super) fn take_mix(&mut self, period: &Period, totals: &MixTotals, read: &MixRead, its_time: bool) {
        let [colour, variant, layer] =
            totals.head.subject.each_ref().map(|said| said.as_deref().unwrap_or_default());
        let row = match self.by {
            By::Time(bucket) if its_time => self.row(bucket.of(period.date_of(totals.head.begun))),
            By::Layer => self.row_of((layer, "")),
            By::Painter => self.row_of((&totals.head.operator, "")),
            By::Colour => self.row_of((colour, variant)),
            By::Time(_) | By::Reason => return,
        };
        row.add(read);
    }

    /// Takes in what the mixes came to that were begun in each day, week or month and have ended; nothing where it is not
    /// told apart by time.
    ///
    /// Years of days are thousands of spans. They are read together: the book is asked once for each length of span.
    pub(super) fn take_times<B: Ledger + ?Sized>(
        &mut self,
        book: &B,
        period: &Period,
    ) -> Result<(), StoreError> {
        let By::Time(bucket) = self.by else { return Ok(()) };
        let Some(first) = book.first_begun(&(period.from()..period.before()))? else { return Ok(()) };
        let times = period.times(bucket).into_iter().filter(|(_, time)| time.end > first);
        let covered: Vec<_> = times.map(|(key, time)| (key, cover(time))).collect();
        let parts = covered.iter().flat_map(|(_, (parts, _))| parts);
        let kept = Kept::read(book, parts.map(|(span, hours, _)| (*span, hours)))?;
        for (key, (parts, ends)) in covered {
            let mut all = Sum::default();
            for (span, hours, times) in &parts {
                kept.of(*span, hours).for_each(|sum| all.add(sum, *times));
            }
            self.row(key.clone()).add_sum(&all);
            for end in &ends {
                self.take_end(book, &key, end)?;
            }
        }
        Ok(())
    }

    fn take_end<B: Ledger + ?Sized>(&mut self, book: &B, key: &str, end: &Times) -> Result<(), StoreError> {
        for (_, read) in book.told(Told::Ended, end)? {
            self.row(key.to_owned()).add(&read);
        }
        Ok(())
    }
}

/// Sums of all mixes, by span and first hour.
struct Kept(BTreeMap<(Span, i64), Sum>);

impl Kept {
    /// Reads those spans: from the first to the last of each length, of hours only those times of the day that are among
    /// them.
    fn read<'a, B: Ledger + ?Sized>(
        book: &B,
        parts: impl Iterator<Item = (Span, &'a Hours)>,
    ) -> Result<Self, StoreError> {
        let mut wanted = BTreeMap::<Span, (Hours, BTreeSet<u8>)>::new();
        for (span, hours) in parts {
            let (all, of_day) = wanted.entry(span).or_insert_with(|| (hours.clone(), BTreeSet::new()));
            *all = all.start.min(hours.start)..all.end.max(hours.end);
            if span == Span::Hour {
                of_day.extend(hours.clone().filter_map(|hour| u8::try_from(hour.rem_euclid(24)).ok()));
            }
        }
        let mut sums = BTreeMap::new();
        for (span, (hours, of_day)) in wanted {
            let of_day: Vec<u8> = of_day.into_iter().collect();
            let each = book.sum_of_each(span, &hours, &of_day)?;
            sums.extend(each.into_iter().map(|(first, sum)| ((span, first), sum)));
        }
        Ok(Self(sums))
    }

    fn of(&self, span: Span, hours: &Hours) -> impl Iterator<Item = &Sum> {
        self.0.range((span, hours.start)..(span, hours.end)).map(|(_, sum)| sum)
    }
}
