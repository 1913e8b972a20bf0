//! What was used: received, poured, found missing and discarded, a toner each, and by week, painter, colour or layer.

use super::waste::By;
use super::{Bucket, Period, periods};
use crate::book::spans::Span;
use crate::book::{Account, Daily, Ledger, MixTotals, MixesOf, StoreError};
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
        self.received += other.received;
        self.poured += other.poured;
        self.reused += other.reused;
        self.missing += other.missing;
        self.discarded += other.discarded;
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
/// mixes begun in the period, and only their pours; each is found by its index, and `progress` hears how many are read.
pub fn used<B: Ledger + ?Sized>(
    book: &B,
    period: &Period,
    by: Option<By>,
    toner: Option<&TonerCode>,
    progress: &mut dyn FnMut(usize, usize),
) -> Result<Used, StoreError> {
    let wanted = |code: &TonerCode| toner.is_none_or(|toner| toner == code);
    let mut used = Used { all: UseRow::named("all"), ..Used::default() };
    let mut rows = BTreeMap::<String, UseRow>::new();
    let of_mix: Option<fn(&MixTotals) -> String> = match by {
        Some(By::Layer) => Some(|totals| super::waste::said(totals.head.subject[2].as_deref())),
        Some(By::Painter) => Some(|totals| super::waste::said(Some(&totals.head.operator))),
        Some(By::Colour) => Some(super::waste::colour),
        Some(By::Time(_) | By::Reason) | None => None,
    };
    if let Some(key_of) = of_mix {
        used.of_mixes = true;
        let mixes = book.totals(MixesOf::Begun { from: period.from(), before: period.before() })?;
        for (place, totals) in mixes.iter().enumerate() {
            progress(place, mixes.len());
            for moved in book.moved_in(totals.mix)? {
                let mut uses = Uses::default();
                match moved.account {
                    Account::Tin(_) | Account::UnknownTin(_) => uses.poured = -moved.mass,
                    Account::Leftover(of) if of != totals.mix => uses.reused = -moved.mass,
                    _ => continue,
                }
                if !wanted(&moved.toner) {
                    continue;
                }
                used.all.put(&moved.toner, uses);
                let key = key_of(totals);
                rows.entry(key.clone()).or_insert_with(|| UseRow::named(key)).put(&moved.toner, uses);
            }
        }
        progress(mixes.len(), mixes.len());
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
            of_day = bucket
                .zip(periods::date_of_epoch_day(daily.day))
                .map(|(by, date)| (daily.day, by.of(date)));
        }
        if let Some((_, key)) = &of_day {
            match rows.get_mut(key) {
                Some(row) => row.put(&daily.toner, uses),
                None => rows.entry(key.clone()).or_insert_with(|| UseRow::named(key.clone())).put(&daily.toner, uses),
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
        Some(Bucket::Day) => return book.daily(first, last),
        Some(Bucket::Week) => Span::Week,
        Some(Bucket::Month) | None => Span::Month,
    };
    let after = last.saturating_add(1);
    let begin = if span.first_day(first) == first { first } else { span.next_day(first) };
    let end = span.first_day(after);
    if begin >= end {
        return book.daily(first, last);
    }
    let mut all = book.daily(first, begin.saturating_sub(1))?;
    all.extend(book.by_span(span, begin, end.saturating_sub(1))?);
    all.extend(book.daily(end, last)?);
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
