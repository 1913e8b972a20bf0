//! What was used: received, poured, found missing and discarded, a toner each, and by week, painter, colour or layer.

use super::waste::By;
use super::{Bucket, Period, periods};
use crate::book::mix_sums::{Apart, UseSum};
use crate::book::spans::{Span, cut};
use crate::book::{Daily, Ledger, StoreError, Told};
use crate::catalogue::TonerCode;
use crate::units::Grams;
use std::collections::BTreeMap;

/// What happened to toners.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Uses {
    /// Came in with tins.
    pub received: Grams,
    /// Was poured out of tins.
    pub poured: Grams,
    /// Was poured out of leftovers.
    pub reused: Grams,
    /// Was found missing when tins were counted; below nothing if there was more than the book said.
    pub missing: Grams,
    /// Was thrown away with its tin.
    pub discarded: Grams,
}

impl std::ops::AddAssign for Uses {
    fn add_assign(&mut self, other: Self) {
        // A row of the book is one of these, and there are many rows.
        let other = [other.received, other.poured, other.reused, other.missing, other.discarded];
        let own =
            [&mut self.received, &mut self.poured, &mut self.reused, &mut self.missing, &mut self.discarded];
        for (own, other) in own.into_iter().zip(other).filter(|(_, other)| !other.is_zero()) {
            *own += other;
        }
    }
}

/// The use of toners by one painter, in one week, …
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct UseRow {
    /// What it is the row of.
    pub key: String,
    /// All toners together.
    pub total: Uses,
    /// Each of them.
    pub toners: BTreeMap<TonerCode, Uses>,
}

impl UseRow {
    fn named(key: impl Into<String>) -> Self {
        Self { key: key.into(), ..Self::default() }
    }

    fn put(&mut self, toner: &TonerCode, uses: Uses) {
        self.total += uses;
        match self.toners.get_mut(toner) {
            Some(known) => *known += uses,
            None => {
                self.toners.insert(toner.clone(), uses);
            }
        }
    }
}

/// What was used in a period.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Used {
    /// All of it.
    pub all: UseRow,
    /// Told apart as was asked; empty if by toner only.
    pub rows: Vec<UseRow>,
    /// Whether it is by mixes that were begun in the period, so that only pours are known; else by days of UTC, as the
    /// book keeps them.
    pub of_mixes: bool,
}

/// Reads what was used. By time it is of the book's own days, which are of UTC. By painter, colour or layer it is of the
/// mixes begun in the period, and only their pours.
pub fn used<B: Ledger + ?Sized>(
    book: &B,
    period: &Period,
    by: Option<By>,
    toner: Option<&TonerCode>,
) -> Result<Used, StoreError> {
    let wanted = |code: &TonerCode| toner.is_none_or(|toner| toner == code);
    let mut used = Used { all: UseRow::named("all"), ..Used::default() };
    let mut rows = BTreeMap::<String, UseRow>::new();
    let apart = match by {
        Some(By::Layer) => Some(Apart::Layer),
        Some(By::Painter) => Some(Apart::Painter),
        Some(By::Colour) => Some(Apart::Colour),
        Some(By::Time(_) | By::Reason) | None => None,
    };
    if let Some(apart) = apart {
        used.of_mixes = true;
        let mut put = |key: String, toner: &TonerCode, uses: Uses| {
            if wanted(toner) && uses != Uses::default() {
                used.all.put(toner, uses);
                rows.entry(key.clone()).or_insert_with(|| UseRow::named(key)).put(toner, uses);
            }
        };
        let time = period.from()..period.before();
        let (spans, ends) = cut(time.clone(), apart.spans());
        for (span, hours) in &spans {
            for row in book.uses(apart, *span, hours)? {
                let UseSum { poured, reused } = row.uses;
                let [poured, reused] = [poured, reused].map(Grams::from_micrograms);
                let key = match apart {
                    Apart::Colour => super::waste::colour_named(Some(&row.key), Some(&row.more)),
                    _ => super::waste::said(Some(&row.key)),
                };
                put(key, &row.toner, Uses { poured, reused, ..Uses::default() });
            }
        }
        let mut one_by_one = book.told(Told::Open, &time)?;
        for end in &ends {
            one_by_one.extend(book.told(Told::Ended, end)?);
        }
        for (totals, read) in &one_by_one {
            let key = match apart {
                Apart::Colour => super::waste::colour(totals),
                Apart::Painter => super::waste::said(Some(&totals.head.operator)),
                _ => super::waste::said(totals.head.subject[2].as_deref()),
            };
            for (toner, poured, reused) in &read.uses {
                put(key.clone(), toner, Uses { poured: *poured, reused: *reused, ..Uses::default() });
            }
        }
        used.rows = rows.into_values().collect();
        used.rows.sort_by_key(|row| std::cmp::Reverse(row.total.poured));
        return Ok(used);
    }
    let bucket = if let Some(By::Time(bucket)) = by { Some(bucket) } else { None };
    if let Some(bucket) = bucket {
        rows.extend(period.buckets(bucket).into_iter().map(|key| (key.clone(), UseRow::named(key))));
    }
    let mut of_day: Option<(i64, String)> = None;
    for daily in days(book, period, bucket)? {
        let Some(uses) = uses_of(&daily).filter(|_| wanted(&daily.toner)) else { continue };
        used.all.put(&daily.toner, uses);
        // They come by day, so that each day's name is made once.
        if of_day.as_ref().is_none_or(|(day, _)| *day != daily.day) {
            of_day =
                bucket.zip(periods::date_of_epoch_day(daily.day)).map(|(by, date)| (daily.day, by.of(date)));
        }
        if let Some((_, key)) = &of_day {
            match rows.get_mut(key) {
                Some(row) => row.put(&daily.toner, uses),
                None => rows
                    .entry(key.clone())
                    .or_insert_with(|| UseRow::named(key.clone()))
                    .put(&daily.toner, uses),
            }
        }
    }
    used.rows = rows.into_values().collect();
    Ok(used)
}

/// What happened in the period: by day where it is told by day, else by the longest times that are wholly in one of the
/// weeks or months it is told by, so that years are few rows.
fn days<B: Ledger + ?Sized>(
    book: &B,
    period: &Period,
    bucket: Option<Bucket>,
) -> Result<Vec<Daily>, StoreError> {
    let (first, last) = period.days();
    let span = match bucket {
        Some(Bucket::Day) => return book.used(Span::Day, first, last),
        Some(Bucket::Week) => Span::Week,
        Some(Bucket::Month) | None => Span::Month,
    };
    let after = last.saturating_add(1);
    let begin = if span.first_day(first) == first { first } else { span.next_day(first) };
    let end = span.first_day(after);
    if begin >= end {
        return book.used(Span::Day, first, last);
    }
    let mut all = book.used(Span::Day, first, begin.saturating_sub(1))?;
    all.extend(book.used(span, begin, end.saturating_sub(1))?);
    all.extend(book.used(Span::Day, end, last)?);
    Ok(all)
}

fn uses_of(daily: &Daily) -> Option<Uses> {
    let mut uses = Uses::default();
    let slot = match daily.what.as_str() {
        "received" => &mut uses.received,
        "poured" => &mut uses.poured,
        "reused" => &mut uses.reused,
        "missing" => &mut uses.missing,
        "discarded" => &mut uses.discarded,
        _ => return None,
    };
    *slot = daily.mass;
    Some(uses)
}
