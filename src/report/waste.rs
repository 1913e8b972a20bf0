//! The owner's figures: how much paint was mixed and not sprayed, why, what it cost, and which pours went over.

mod apart;
#[cfg(test)]
pub(super) mod by_journal;
#[cfg(test)]
mod by_mix;
mod events;
mod rows;

pub use crate::book::reading::OfKept;
pub use apart::{MixPage, Overview, behind, overview};
pub use events::{Happened, Went, events};

use super::overs::{Corrections, Over, Overs};
use super::reading::{Amount, Fate, Priced};
use super::{Bucket, Period};
use crate::book::mix_sums::{Apart, OVER_SPANS, Sum, SumRow};
use crate::book::reading::{Chosen, MixRead, TonerPours};
use crate::book::spans::cut;
use crate::book::{Ledger, MixTotals, StoreError, Told};
use crate::units::{Grams, Money, Share, Stamp};
use rows::Rows;
use std::collections::BTreeMap;

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

    /// What the book's sums are told apart by then; none where that is the time of the mixes.
    pub(super) const fn apart(self) -> Option<Apart> {
        match self {
            Self::Time(_) => None,
            Self::Layer => Some(Apart::Layer),
            Self::Reason => Some(Apart::Reason),
            Self::Painter => Some(Apart::Painter),
            Self::Colour => Some(Apart::Colour),
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
    /// The pours of each toner that went over in it.
    pub overs: Vec<TonerPours>,
    /// The ways out that were taken in it.
    pub chosen: Vec<Chosen>,
    /// What was in its cup when it was given up while something was over.
    pub given_up_over: Option<Grams>,
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

/// Reads the figures, and what each mix and each job cost. `progress` hears how many mixes of how many are read; they are
/// read month by month, so that it hears of it while they are, and what each of them tells is not held longer than its month.
pub fn waste<B: Ledger + ?Sized>(
    book: &B,
    period: &Period,
    by: By,
    progress: &mut dyn FnMut(usize, usize),
) -> Result<Waste, StoreError> {
    let mut waste = totals(book, period, by)?;
    let all = usize::try_from(waste.total.mixes).unwrap_or(usize::MAX);
    let mut jobs = BTreeMap::<String, JobCost>::new();
    for (_, month) in period.times(Bucket::Month) {
        for (totals, read) in &book.told(Told::All, &month)? {
            progress(waste.mixes.len(), all);
            waste.mixes.push(MixCost::told(period, totals, read));
            if let Some(job) = totals.head.job.as_deref().filter(|job| !job.is_empty()) {
                jobs.entry(job.to_owned()).or_default().add(job, read);
            }
        }
    }
    progress(all, all);
    waste.mixes.sort_by_key(|mix| mix.number);
    waste.jobs = jobs.into_values().collect();
    Ok(waste)
}

/// Reads the figures without the mixes and the jobs one by one: from the sums that the book keeps, so that years are few
/// rows. Only mixes at the two ends of the period, on days of UTC that are not wholly in it, and those that have not
/// ended are looked at themselves.
pub fn totals<B: Ledger + ?Sized>(book: &B, period: &Period, by: By) -> Result<Waste, StoreError> {
    let mut told = Adding::new(period, &[by]);
    told.read(book)?;
    Ok(told.done())
}

/// The figures while they are being added up.
struct Adding<'a> {
    period: &'a Period,
    waste: Waste,
    /// Told apart in one way or in several.
    apart: Vec<Rows>,
    reasons: BTreeMap<(Fate, String), Row>,
    overs: Overs,
}

impl<'a> Adding<'a> {
    fn new(period: &'a Period, ways: &[By]) -> Self {
        let waste = Waste { total: Row::named("all"), ..Waste::default() };
        let apart = ways.iter().map(|by| Rows::new(*by, period)).collect();
        Self { period, waste, apart, reasons: BTreeMap::new(), overs: Overs::default() }
    }

    /// Adds up all that the book has of the period.
    fn read<B: Ledger + ?Sized>(&mut self, book: &B) -> Result<(), StoreError> {
        let time = self.period.from()..self.period.before();
        let (spans, ends) = cut(time.clone(), OVER_SPANS);
        for (span, hours) in &spans {
            for row in book.sums(Apart::All, *span, hours)? {
                self.waste.take(&row.sum);
            }
            for row in book.sums(Apart::Reason, *span, hours)? {
                self.take_reason(&row);
            }
            for rows in &mut self.apart {
                rows.take_span(book, *span, hours)?;
            }
            for pours in book.pours(*span, hours)? {
                self.overs.take_pours(pours);
            }
            for choices in book.choices(*span, hours)? {
                self.overs.take_choices(&choices);
            }
        }
        for end in &ends {
            book.told(Told::Ended, end)?.iter().for_each(|(totals, read)| self.take_mix(totals, read, false));
        }
        for rows in &mut self.apart {
            rows.take_times(book, self.period)?;
        }
        book.told(Told::Open, &time)?.iter().for_each(|(totals, read)| self.take_mix(totals, read, true));
        Ok(())
    }

    /// Takes in mixes that have a reason in common.
    fn take_reason(&mut self, row: &SumRow) {
        let Some(fate) = Fate::ALL.into_iter().find(|fate| fate.name() == row.key) else { return };
        if row.sum != Sum::default() {
            self.reason(fate, &row.more).add_sum(&row.sum);
        }
    }

    fn reason(&mut self, fate: Fate, why: &str) -> &mut Row {
        let key = (fate, why.to_owned());
        self.reasons.entry(key).or_insert_with(|| Row::named(reason(fate, why)))
    }

    /// Takes in a mix by itself; its day, week or month too, if that does not come by the sums.
    fn take_mix(&mut self, totals: &MixTotals, read: &MixRead, its_time: bool) {
        self.waste.take_mix(read);
        for (fate, why, amount) in &read.fates {
            let row = self.reason(*fate, why);
            row.put(*fate, *amount);
            row.mixes = row.mixes.saturating_add(1);
        }
        for rows in &mut self.apart {
            rows.take_mix(self.period, totals, read, its_time);
        }
        self.overs.take(totals, read);
    }

    /// All of it, told apart in the first way.
    fn done(self) -> Waste {
        let Self { mut waste, apart, reasons, overs, .. } = self;
        waste.reasons = reasons.into_values().collect();
        if let Some(rows) = apart.into_iter().next() {
            waste.rows = match rows.by {
                By::Reason => waste.reasons.clone(),
                By::Time(_) => rows.all(),
                _ => {
                    let mut rows: Vec<Row> = rows.all().into_iter().filter(|row| row.mixes > 0).collect();
                    rows.sort_by_key(|row| std::cmp::Reverse((row.wasted().mass, row.mixed.mass)));
                    rows
                }
            };
        }
        (waste.overs, waste.corrections) = overs.told();
        waste
    }
}

impl Waste {
    fn take(&mut self, sum: &Sum) {
        self.total.add_sum(sum);
        self.reused += Grams::from_micrograms(sum.reused);
        self.priced += sum.priced();
        self.unreadable = self.unreadable.saturating_add(u32::try_from(sum.unreadable).unwrap_or(u32::MAX));
        self.add_kept(sum.kept());
    }

    fn take_mix(&mut self, read: &MixRead) {
        self.total.add(read);
        self.reused += read.reused;
        self.priced += read.priced;
        self.unreadable = self.unreadable.saturating_add(u32::from(read.is_unreadable));
        if read.kept_some() {
            self.add_kept(read.of_kept);
        }
    }

    fn add_kept(&mut self, of_kept: OfKept) {
        self.of_kept.used_again += of_kept.used_again;
        self.of_kept.thrown += of_kept.thrown;
        self.of_kept.still_there += of_kept.still_there;
    }
}

impl MixCost {
    fn told(period: &Period, totals: &MixTotals, read: &MixRead) -> Self {
        let mut own = Row::default();
        own.add(read);
        Self {
            number: totals.head.number,
            begun: totals.head.begun,
            day: period.date_of(totals.head.begun).to_string(),
            colour: colour(totals),
            layer: said(totals.head.subject[2].as_deref()),
            painter: said(Some(&totals.head.operator)),
            job: totals.head.job.clone().unwrap_or_default(),
            mixed: own.mixed,
            fates: read.fates.clone(),
            wasted: own.wasted(),
            from_tins: read.from_tins,
            as_begun: totals.cost,
            priced: read.priced,
            overs: read.pours.iter().filter(|pours| pours.over > 0).cloned().collect(),
            chosen: read.chosen.clone(),
            given_up_over: read.given_up_over,
        }
    }
}

impl Row {
    fn add(&mut self, read: &MixRead) {
        self.mixes = self.mixes.saturating_add(1);
        for (fate, _, amount) in &read.fates {
            self.put(*fate, *amount);
        }
    }

    fn add_sum(&mut self, sum: &Sum) {
        self.mixes = self.mixes.saturating_add(u32::try_from(sum.mixes).unwrap_or(u32::MAX));
        for fate in Fate::ALL {
            let amount = sum.fate(fate);
            if amount != Amount::default() {
                self.put(fate, amount);
            }
        }
    }
}

impl JobCost {
    fn add(&mut self, job: &str, read: &MixRead) {
        job.clone_into(&mut self.job);
        self.mixes = self.mixes.saturating_add(1);
        self.priced += read.priced;
        for (fate, _, amount) in &read.fates {
            self.mixed += *amount;
            if *fate == Fate::Sprayed {
                self.sprayed += *amount;
            }
        }
    }
}

pub(super) fn said(text: Option<&str>) -> String {
    text.filter(|text| !text.trim().is_empty()).unwrap_or("not said").to_owned()
}

/// A colour's code, and its variant where it is not the usual one.
pub(super) fn colour(totals: &MixTotals) -> String {
    let [code, variant, _] = &totals.head.subject;
    colour_named(code.as_deref(), variant.as_deref())
}

pub(super) fn colour_named(code: Option<&str>, variant: Option<&str>) -> String {
    match variant {
        Some(variant) if !matches!(variant, "" | "standard") => format!("{} {variant}", said(code)),
        _ => said(code),
    }
}

/// What became of it and why, in words.
fn reason(fate: Fate, why: &str) -> String {
    match (fate.is_waste(), why.trim()) {
        (true, "") | (false, _) => fate.word().to_owned(),
        (true, why) => format!("{}: {why}", fate.word()),
    }
}
