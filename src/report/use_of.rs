//! What was used: received, poured, found missing and discarded, a toner each, and by week, painter, colour or layer.

use super::waste::By;
use super::{Bucket, Period, periods};
use crate::book::mix_sums::{Apart, UseSum};
use crate::book::spans::{Span, cut};
use crate::book::{Ledger, StoreError, Told, USES, UsedRow};
use crate::catalogue::TonerCode;
use crate::units::Grams;
use std::collections::{BTreeMap, HashMap};

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
    let apart = by.and_then(By::apart).filter(|apart| *apart != Apart::Reason);
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
    let (mut all, mut of_key) = (Toners::default(), Toners::default());
    let (mut day, mut key) = (None, None::<String>);
    days(book, period, bucket, &mut |row| {
        if toner.is_some_and(|toner| toner.as_str() != row.toner) {
            return;
        }
        all.add(row.toner, row.uses);
        // They come by day, so that each day's name is made once, and what it comes to is in one place.
        if day != Some(row.first) {
            day = Some(row.first);
            let next = bucket.zip(periods::date_of_epoch_day(row.first)).map(|(by, date)| by.of(date));
            if next != key {
                of_key.told(key.as_ref(), &mut rows);
                key = next;
            }
        }
        if key.is_some() {
            of_key.add(row.toner, row.uses);
        }
    })?;
    of_key.told(key.as_ref(), &mut rows);
    all.put_into(&mut used.all);
    used.rows = rows.into_values().collect();
    Ok(used)
}

/// Micrograms of each toner, while they are being added up; none of those of which nothing is said.
#[derive(Default)]
struct Toners {
    places: HashMap<String, usize>,
    /// The place after the one that was added to last: each day's toners come in the same order, as a rule.
    next: usize,
    codes: Vec<TonerCode>,
    sums: Vec<Option<Sums>>,
}

type Sums = [i64; USES.len()];

impl Toners {
    fn add(&mut self, toner: &str, uses: Sums) {
        let is_next = self.codes.get(self.next).is_some_and(|code| code.as_str() == toner);
        let known = if is_next { Some(self.next) } else { self.places.get(toner).copied() };
        let place = known.unwrap_or_else(|| {
            self.places.insert(toner.to_owned(), self.sums.len());
            self.codes.push(TonerCode::new(toner));
            self.sums.push(None);
            self.sums.len().saturating_sub(1)
        });
        self.next = place.saturating_add(1);
        if let Some(sums) = self.sums.get_mut(place).map(Option::get_or_insert_default) {
            sums.iter_mut().zip(uses).for_each(|(sum, more)| *sum = sum.saturating_add(more));
        }
    }

    /// Puts them into the row of that key, and begins anew.
    fn told(&mut self, key: Option<&String>, rows: &mut BTreeMap<String, UseRow>) {
        if let Some(key) = key {
            self.put_into(rows.entry(key.clone()).or_insert_with(|| UseRow::named(key.clone())));
        }
        self.sums.fill(None);
        self.next = 0;
    }

    fn put_into(&self, row: &mut UseRow) {
        // A toner of which all was taken back is none that was used.
        let known = self.codes.iter().zip(&self.sums).filter_map(|(code, sums)| Some((code, (*sums)?)));
        let known = known.filter(|(_, sums)| *sums != Sums::default());
        if !row.toners.is_empty() {
            known.for_each(|(code, sums)| row.put(code, uses(sums)));
            return;
        }
        // Years of days are many rows: each toner of a row is made once, and the row's total is added up as whole numbers.
        let mut total = Sums::default();
        for (_, sums) in known.clone() {
            total.iter_mut().zip(sums).for_each(|(own, other)| *own = own.saturating_add(other));
        }
        row.total += uses(total);
        row.toners = known.map(|(code, sums)| (code.clone(), uses(sums))).collect();
    }
}

fn uses(sums: Sums) -> Uses {
    let [received, poured, reused, missing, discarded] = sums.map(Grams::from_micrograms);
    Uses { received, poured, reused, missing, discarded }
}

/// What happened in the period: by day where it is told by day, else by the longest times that are wholly in one of the
/// weeks or months it is told by, so that years are few rows.
fn days<B: Ledger + ?Sized>(
    book: &B,
    period: &Period,
    bucket: Option<Bucket>,
    take: &mut dyn FnMut(UsedRow<'_>),
) -> Result<(), StoreError> {
    let (first, last) = period.days();
    let span = match bucket {
        Some(Bucket::Day) => return book.used(Span::Day, first, last, take),
        Some(Bucket::Week) => Span::Week,
        Some(Bucket::Month) | None => Span::Month,
    };
    let after = last.saturating_add(1);
    let begin = if span.first_day(first) == first { first } else { span.next_day(first) };
    let end = span.first_day(after);
    if begin >= end {
        return book.used(Span::Day, first, last, take);
    }
    book.used(Span::Day, first, begin.saturating_sub(1), take)?;
    book.used(span, begin, end.saturating_sub(1), take)?;
    book.used(Span::Day, end, last, take)
}
