//! What a book can be asked for without reading its journal: tins, what mixes came to, days, and where paint went.

use super::figures::{JobRow, MixHead, TinRow};
use super::mix_sums::{Apart, ChoiceRow, ManyPours, Sum, SumRow, UseRow};
use super::reading::MixRead;
use super::spans::{Hours, Span, Times};
use super::{Account, Balance, Envelope, JobId, Mark, MixId, StoreError};
use crate::catalogue::{ColourCode, Role, TonerCode};
use crate::mix::Recipe;
use crate::units::{Grams, Millilitres, Money, Stamp};

/// Which tins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TinsOf<'a> {
    /// All there ever were.
    All,
    /// The one with that label.
    Label(&'a str),
    /// Those of a toner.
    Toner(&'a TonerCode),
    /// Those of a lot.
    Lot(&'a str),
}

/// Which mixes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MixesOf<'a> {
    /// That one.
    Mix(MixId),
    /// The one with that number.
    Number(u32),
    /// Those that were sprayed on a repair.
    Job(&'a str),
    /// Those that were begun for a repair or sprayed on it.
    For(&'a str),
    /// Those of a layer of a colour whose cup was emptied.
    Emptied {
        /// The colour.
        colour: &'a ColourCode,
        /// Its variant.
        variant: &'a str,
        /// The layer.
        layer: Role,
    },
    /// So many of those that were begun last.
    Latest(u32),
    /// So many of those that are done and whose cup was not emptied, begun from then on, the last of them.
    InCups {
        /// The first moment.
        from: Stamp,
        /// How many at most.
        most: u32,
    },
    /// Those that were begun from then on and before then.
    Begun {
        /// The first moment.
        from: Stamp,
        /// The first moment that is too late.
        before: Stamp,
    },
}

/// Which of the mixes that were begun in a time stand behind a sum.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Behind {
    /// The time.
    pub time: Times,
    /// What they have in common; none if it is the time alone.
    pub having: Option<Having>,
}

/// What mixes have in common.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Having {
    /// What a sum is told apart by, and what the book calls it: the key of a sum and what more there is to it, each of which
    /// will do.
    Sum(Apart, Vec<(String, String)>),
    /// What went over in them, or was done about it.
    Mark(Mark),
}

/// Which jobs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JobsOf<'a> {
    /// All there ever were.
    All,
    /// Those that are not closed.
    Open,
    /// Of the latest thousand those that were closed since then: what was set running in one may run on.
    ClosedSince(Stamp),
    /// The one with that name.
    Name(&'a str),
    /// That one.
    Job(JobId),
}

/// What became of a mix's paint.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Flows {
    /// Poured from tins.
    pub poured: Grams,
    /// Poured from leftovers.
    pub reused: Grams,
    /// Drawn off to put it right.
    pub drawn_off: Grams,
    /// Sprayed.
    pub sprayed: Grams,
    /// Kept after spraying.
    pub kept: Grams,
    /// Thrown away after spraying.
    pub thrown: Grams,
    /// Given up.
    pub abandoned: Grams,
}

/// What a mix came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MixTotals {
    /// Which mix.
    pub mix: MixId,
    /// What it is.
    pub head: MixHead,
    /// What became of its paint.
    pub flows: Flows,
    /// What its pours cost, by the prices it was begun with.
    pub cost: Money,
    /// How much was poured of toners without a price, which is not in the cost.
    pub unpriced: Grams,
}

/// What happened to a toner on a day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Daily {
    /// Which day: days since 1970-01-01, of UTC.
    pub day: i64,
    /// What: `received`, `poured`, `reused`, `drawn-off`, `sprayed`, `kept`, `abandoned`, `thrown`, `discarded` or
    /// `missing`.
    pub what: String,
    /// Why, where there is a reason.
    pub why: String,
    /// Of which toner.
    pub toner: TonerCode,
    /// How much.
    pub mass: Grams,
}

/// What can happen to toners, as the book names it, in the order of [`UsedRow::uses`].
pub const USES: [&str; 5] = ["received", "poured", "reused", "missing", "discarded"];

/// What happened to a toner in a day, a week or a month; borrowed from the book, since there are many. A toner can come more
/// than once for one of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct UsedRow<'b> {
    /// Its first day: days since 1970-01-01, of UTC.
    pub first: i64,
    /// The toner's code.
    pub toner: &'b str,
    /// How much, in micrograms, of each of [`USES`].
    pub uses: [i64; USES.len()],
}

/// So much of a toner went into an account, or, below nothing, out of it, by the events about one subject.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moved {
    /// The mix; an event's own identity if it is about none.
    pub subject: MixId,
    /// The account.
    pub account: Account,
    /// The toner.
    pub toner: TonerCode,
    /// How much.
    pub mass: Grams,
}

/// What became of paint of which nobody said from which tin it came.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LooseKind {
    /// It was poured, and no tin was named.
    Poured,
    /// It was found missing in a tin.
    Missing,
}

/// So much of a toner was poured and no tin named, or was found missing in a tin.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Loose {
    /// When.
    pub at: Stamp,
    /// Which toner.
    pub toner: TonerCode,
    /// Which of the two.
    pub kind: LooseKind,
    /// How much; below nothing where a pour was booked back, or more was found.
    pub mass: Grams,
}

/// Which of the mixes that were begun in a time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Told {
    /// All of them.
    All,
    /// Those that are done or given up, which are in the sums.
    Ended,
    /// Those that are not.
    Open,
}

/// A mix that was joined to a job, as it was weighed and what became of it.
#[derive(Clone, Debug, PartialEq)]
pub struct JobMix {
    /// The job.
    pub job: JobId,
    /// What the layer was estimated to need when it was mixed, ready to spray, if that was written down.
    pub estimate: Option<Millilitres>,
    /// What it was weighed from; none where its beginning cannot be read.
    pub recipe: Option<Recipe>,
    /// What it came to.
    pub totals: MixTotals,
}

/// A book that keeps its figures. Each answer is found by an index, however long the journal is.
pub trait Ledger {
    /// Tins, by their labels.
    fn tins(&self, of: TinsOf<'_>) -> Result<Vec<TinRow>, StoreError>;

    /// Mixes, in the order they were begun.
    fn totals(&self, of: MixesOf<'_>) -> Result<Vec<MixTotals>, StoreError>;

    /// Jobs, in the order they were opened.
    fn jobs(&self, of: JobsOf<'_>) -> Result<Vec<JobRow>, StoreError>;

    /// The name of the job that a mix was begun for, if it was begun for one.
    fn begun_for(&self, mix: MixId) -> Result<Option<String>, StoreError>;

    /// The code of the product that a mix was made ready to spray with, as its first event says; none if it was not.
    fn readied_with(&self, mix: MixId) -> Result<Option<String>, StoreError>;

    /// So many of the mixes that were joined to jobs as that layer of the car, the latest jobs first. They are looked for in
    /// the latest thousand jobs, so that the answer takes no longer in a long book.
    fn job_mixes(&self, layer: Role, most: u32) -> Result<Vec<JobMix>, StoreError>;

    /// What came out of tins into mixes from then and before then, by mix and toner: an account has so much less.
    fn poured(&self, from: Stamp, before: Stamp) -> Result<Vec<Moved>, StoreError>;

    /// The size of a tin as its receipt says it, such as `1 L`; none where it says none, or there is no receipt.
    fn size_of(&self, label: &str) -> Result<Option<String>, StoreError>;

    /// What happened from that day to that day, both included, by day and what.
    fn daily(&self, from: i64, to: i64) -> Result<Vec<Daily>, StoreError>;

    /// The same of what toners were received, poured, reused, found missing and discarded, by days, or by weeks or months as far
    /// as they are wholly within those days: of each its first day. What belongs to a span comes together, as a rule.
    fn used(
        &self,
        span: Span,
        from: i64,
        to: i64,
        take: &mut dyn FnMut(UsedRow<'_>),
    ) -> Result<(), StoreError>;

    /// What the mixes came to that were begun in whole spans of those hours and have ended, told apart.
    fn sums(&self, apart: Apart, span: Span, hours: &Hours) -> Result<Vec<SumRow>, StoreError>;

    /// How many of them were begun in each span of those hours and what became of their paint (the rest of the sum is left
    /// out, which costs as much again to read), and the span's first hour, in order; spans
    /// without a mix are left out. Where times of the day are given (0 to 23, of UTC), only spans that begin then.
    fn sum_of_each(&self, span: Span, hours: &Hours, of_day: &[u8]) -> Result<Vec<(i64, Sum)>, StoreError>;

    /// When the first of the mixes was begun that were begun in that time.
    fn first_begun(&self, time: &Times) -> Result<Option<Stamp>, StoreError>;

    /// So many of the mixes behind a sum, each with what it tells, the one begun last first; where a moment and a number are
    /// given, only those before: begun before it, or in it with a lower number.
    fn behind(
        &self,
        of: &Behind,
        before: Option<(Stamp, u32)>,
        most: u32,
    ) -> Result<Vec<(MixTotals, MixRead)>, StoreError>;

    /// What they were poured from, told apart by layer, painter or colour.
    fn uses(&self, apart: Apart, span: Span, hours: &Hours) -> Result<Vec<UseRow>, StoreError>;

    /// Their pours, one for each toner and span.
    fn pours(&self, span: Span, hours: &Hours) -> Result<Vec<ManyPours>, StoreError>;

    /// What was chosen in them when something had gone wrong, one for each way and span.
    fn choices(&self, span: Span, hours: &Hours) -> Result<Vec<ChoiceRow>, StoreError>;

    /// The mixes that were begun in that time, each with what it tells, in order.
    fn told(&self, of: Told, time: &Times) -> Result<Vec<(MixTotals, MixRead)>, StoreError>;

    /// What accounts of a kind (`tin`, `leftover`, `car`, …: what stands before the colon) hold, where that is not nothing.
    fn held(&self, kind: &str) -> Result<Vec<Balance>, StoreError>;

    /// What was poured from then on and no tin named, and what was found missing in tins, in order. The events from then on are
    /// gone through.
    fn loose(&self, from: Stamp) -> Result<Vec<Loose>, StoreError>;

    /// What each mix, or event that stands alone, put into an account or took out of it, the first first.
    fn moved_by(&self, account: &Account) -> Result<Vec<Moved>, StoreError>;

    /// What a mix's own events put into each account or took out of it.
    fn moved_in(&self, mix: MixId) -> Result<Vec<Moved>, StoreError>;

    /// The events of that kind that call lots back, the oldest first.
    fn recalls(&self) -> Result<Vec<Envelope>, StoreError>;
}
