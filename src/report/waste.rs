//! The owner's figures: how much paint was mixed and not sprayed, why, what it cost, and which pours went over.

use super::overs::{Corrections, Over, Overs};
use super::prices::TinPrices;
use super::reading::{self, Amount, Fate, MixRead, Priced};
use super::{Bucket, Period};
use crate::book::{Account, Ledger, MixId, MixTotals, MixesOf, Store, StoreError};
use crate::units::{Grams, Money, Share, Stamp};
use std::collections::{BTreeMap, BTreeSet};

mod apart;

/// What the figures are told apart by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// By the day, week or month in which a mix was begun.
    Time(Bucket),
    /// By layer.
    Layer,
    /// By what became of the paint, and why.
    Reason,
    /// By who began the mix.
    Painter,
    /// By colour.
    Colour,
}

impl By {
    /// In a word, as it is asked for.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Time(Bucket::Day) => "day",
            Self::Time(Bucket::Week) => "week",
            Self::Time(Bucket::Month) => "month",
            Self::Layer => "layer",
            Self::Reason => "reason",
            Self::Painter => "painter",
            Self::Colour => "colour",
        }
    }
}

/// Paint that was mixed, and what became of it: the fates add up to what was mixed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Row {
    /// What it is the row of: `2026-W40`, `ground`, a name.
    pub key: String,
    /// How many mixes it is about.
    pub mixes: u32,
    /// Everything that went into cups, out of tins and out of leftovers.
    pub mixed: Amount,
    /// What became of it.
    fates: BTreeMap<Fate, Amount>,
}

impl Row {
    fn named(key: impl Into<String>) -> Self {
        Self { key: key.into(), ..Self::default() }
    }

    /// What had that fate.
    pub fn of(&self, fate: Fate) -> Amount {
        self.fates.get(&fate).copied().unwrap_or_default()
    }

    /// What was lost: drawn off, thrown away and given up.
    pub fn wasted(&self) -> Amount {
        let mut all = Amount::default();
        for fate in Fate::ALL.into_iter().filter(|fate| fate.is_waste()) {
            all += self.of(fate);
        }
        all
    }

    /// What was lost of what was mixed; none where nothing was.
    pub fn wasted_share(&self) -> Option<Share> {
        self.wasted().mass.share_of(self.mixed.mass)
    }

    /// Adds what had that fate.
    pub(crate) fn put(&mut self, fate: Fate, amount: Amount) {
        self.mixed += amount;
        *self.fates.entry(fate).or_default() += amount;
    }
}

/// What became of what was kept.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct OfKept {
    /// Poured into another mix since.
    pub used_again: Grams,
    /// Thrown away since.
    pub thrown: Grams,
    /// Still there.
    pub still_there: Grams,
}

/// What a mix cost.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MixCost {
    /// Its number.
    pub number: u32,
    /// When it was begun.
    pub begun: Stamp,
    /// The day of that, as `2026-10-01`.
    pub day: String,
    /// The colour's code and the layer, as far as the mix says them.
    pub colour: String,
    /// The layer.
    pub layer: String,
    /// Who began it.
    pub painter: String,
    /// What it was sprayed on; empty where that was not said.
    pub job: String,
    /// What went into its cup, and what that cost.
    pub mixed: Amount,
    /// What became of it, and why.
    pub fates: Vec<(Fate, String, Amount)>,
    /// What was lost of it.
    pub wasted: Amount,
    /// What came out of tins for it, by the tins' own prices where a receipt says one.
    pub from_tins: Money,
    /// The same by the prices it was begun with, as the book keeps it.
    pub as_begun: Money,
    /// By which prices.
    pub priced: Priced,
}

/// What the mixes of a job cost.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct JobCost {
    /// The job, as it was said when the cup was emptied.
    pub job: String,
    /// How many mixes.
    pub mixes: u32,
    /// What went into their cups.
    pub mixed: Amount,
    /// What was sprayed.
    pub sprayed: Amount,
    /// By which prices.
    pub priced: Priced,
}

/// All of it, of the mixes that were begun in a period, whenever their cups were emptied.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Waste {
    /// All of them together.
    pub total: Row,
    /// Told apart as was asked.
    pub rows: Vec<Row>,
    /// Told apart by what became of it, and why.
    pub reasons: Vec<Row>,
    /// What of it came out of leftovers, and so was mixed before.
    pub reused: Grams,
    /// What became of what was kept, up to now.
    pub of_kept: OfKept,
    /// By which prices the costs are.
    pub priced: Priced,
    /// The toners, those that went over most often first.
    pub overs: Vec<Over>,
    /// What was done when a pour went over.
    pub corrections: Corrections,
    /// The mixes, the first first.
    pub mixes: Vec<MixCost>,
    /// The jobs, by name.
    pub jobs: Vec<JobCost>,
    /// How many mixes cannot be read back wholly: their masses are counted, their pours and choices not all of them.
    pub unreadable: u32,
}

/// Reads the figures. Each mix begun in the period is read from its own events, found by their index; the rest of the
/// journal is not touched. `progress` hears how many mixes of how many are read.
pub fn waste<B: Ledger + Store + ?Sized>(
    book: &B,
    period: &Period,
    by: By,
    progress: &mut dyn FnMut(usize, usize),
) -> Result<Waste, StoreError> {
    let heads = book.totals(MixesOf::Begun { from: period.from(), before: period.before() })?;
    let mut waste = Waste { total: Row::named("all"), ..Waste::default() };
    let mut prices = TinPrices::default();
    let mut rows = BTreeMap::<String, Row>::new();
    if let By::Time(bucket) = by {
        rows.extend(period.buckets(bucket).into_iter().map(|key| (key.clone(), Row::named(key))));
    }
    let mut reasons = BTreeMap::<(Fate, String), Row>::new();
    let mut overs = Overs::default();
    let mut jobs = BTreeMap::<String, JobCost>::new();
    for (place, totals) in heads.iter().enumerate() {
        progress(place, heads.len());
        let read = reading::read(book, &book.events(totals.mix)?, &mut prices)?;
        waste.take(period, totals, &read);
        for (key, amount) in &read.fates {
            let row = reasons.entry(key.clone()).or_insert_with(|| Row::named(reason(key.0, &key.1)));
            row.put(key.0, *amount);
            row.mixes = row.mixes.saturating_add(1);
        }
        let key = match by {
            By::Time(bucket) => Some(bucket.of(period.date_of(totals.head.begun))),
            By::Layer => Some(said(totals.head.subject[2].as_deref())),
            By::Painter => Some(said(Some(&totals.head.operator))),
            By::Colour => Some(colour(totals)),
            By::Reason => None,
        };
        if let Some(key) = key {
            let row = rows.entry(key.clone()).or_insert_with(|| Row::named(key));
            row.add(&read);
        }
        if read.fates.keys().any(|(fate, _)| *fate == Fate::Kept) {
            waste.of_kept.add(book, totals.mix)?;
        }
        overs.take(&read);
        if let Some(job) = totals.head.job.as_deref().filter(|job| !job.is_empty()) {
            jobs.entry(job.to_owned()).or_default().add(job, &read);
        }
    }
    progress(heads.len(), heads.len());
    waste.reasons = reasons.into_values().collect();
    waste.rows = match by {
        By::Reason => waste.reasons.clone(),
        By::Time(_) => rows.into_values().collect(),
        _ => {
            let mut rows: Vec<Row> = rows.into_values().collect();
            rows.sort_by_key(|row| std::cmp::Reverse((row.wasted().mass, row.mixed.mass)));
            rows
        }
    };
    (waste.overs, waste.corrections) = overs.told();
    waste.jobs = jobs.into_values().collect();
    Ok(waste)
}

impl Waste {
    fn take(&mut self, period: &Period, totals: &MixTotals, read: &MixRead) {
        self.total.add(read);
        self.reused += read.reused;
        self.priced += read.priced;
        self.unreadable = self.unreadable.saturating_add(u32::from(read.is_unreadable));
        let mut own = Row::default();
        own.add(read);
        self.mixes.push(MixCost {
            number: totals.head.number,
            begun: totals.head.begun,
            day: period.date_of(totals.head.begun).to_string(),
            colour: colour(totals),
            layer: said(totals.head.subject[2].as_deref()),
            painter: said(Some(&totals.head.operator)),
            job: totals.head.job.clone().unwrap_or_default(),
            mixed: own.mixed,
            fates: read.fates.iter().map(|((fate, why), amount)| (*fate, why.clone(), *amount)).collect(),
            wasted: own.wasted(),
            from_tins: read.from_tins,
            as_begun: totals.cost,
            priced: read.priced,
        });
    }
}

impl Row {
    fn add(&mut self, read: &MixRead) {
        self.mixes = self.mixes.saturating_add(1);
        for ((fate, _), amount) in &read.fates {
            self.put(*fate, *amount);
        }
    }
}

impl JobCost {
    fn add(&mut self, job: &str, read: &MixRead) {
        job.clone_into(&mut self.job);
        self.mixes = self.mixes.saturating_add(1);
        self.priced += read.priced;
        for ((fate, _), amount) in &read.fates {
            self.mixed += *amount;
            if *fate == Fate::Sprayed {
                self.sprayed += *amount;
            }
        }
    }
}

impl OfKept {
    /// What became of one mix's leftover: what went out of it went into another mix, or, by an event that is about no mix,
    /// to waste.
    fn add<B: Ledger + Store + ?Sized>(&mut self, book: &B, mix: MixId) -> Result<(), StoreError> {
        let mut mixes = BTreeSet::from([mix]);
        for moved in book.moved_by(&Account::Leftover(mix))? {
            self.still_there += moved.mass;
            if moved.subject == mix {
                continue;
            }
            if !mixes.contains(&moved.subject) && !book.totals(MixesOf::Mix(moved.subject))?.is_empty() {
                mixes.insert(moved.subject);
            }
            let gone = -moved.mass;
            *(if mixes.contains(&moved.subject) { &mut self.used_again } else { &mut self.thrown }) += gone;
        }
        Ok(())
    }
}

pub(super) fn said(text: Option<&str>) -> String {
    text.filter(|text| !text.trim().is_empty()).unwrap_or("not said").to_owned()
}

/// A colour's code, and its variant where it is not the usual one.
pub(super) fn colour(totals: &MixTotals) -> String {
    let [code, variant, _] = &totals.head.subject;
    match variant.as_deref() {
        Some(variant) if !matches!(variant, "" | "standard") => {
            format!("{} {variant}", said(code.as_deref()))
        }
        _ => said(code.as_deref()),
    }
}

/// What became of it and why, in words.
fn reason(fate: Fate, why: &str) -> String {
    match (fate.is_waste(), why.trim()) {
        (true, "") | (false, _) => fate.word().to_owned(),
        (true, why) => format!("{}: {why}", fate.word()),
    }
}
