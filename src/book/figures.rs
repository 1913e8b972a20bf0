//! The figures a book keeps beside its journal, reckoned anew from the journal alone: what was kept is held against this.

mod reckoning;

pub use reckoning::Reckoning;
pub(in crate::book) use reckoning::{cost_of, received, recipe_of};

use super::mix_sums::{MarkKey, MixSums};
use super::reading::TinPrice;
use super::{JobId, MixId, USES};
use crate::catalogue::TonerCode;
use crate::units::{Grams, Stamp};
use std::collections::{BTreeMap, BTreeSet};

/// What a mix is and came to, without its flows.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct MixHead {
    /// The how-manieth mix of this book it is, from 1.
    pub number: u32,
    /// When it was begun.
    pub begun: Stamp,
    /// Who began it.
    pub operator: String,
    /// The colour's code, its variant, and the layer, as the mix's first event says.
    pub subject: [Option<String>; 3],
    /// When it was done or given up, and the kind of the event that says so.
    pub ended: Option<(Stamp, String)>,
    /// When the cup was emptied.
    pub emptied: Option<Stamp>,
    /// Until when what was kept of it may be used, as `2026-12-31`.
    pub use_by: Option<String>,
    /// What it was sprayed on.
    pub job: Option<String>,
}

/// What a mix's toners cost.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct MixCost {
    /// In millionths of the shop's currency, by the prices the mix was begun with; each pour rounded half to even.
    pub millionths: i64,
    /// Micrograms of toners whose price is not known.
    pub unpriced: i64,
}

/// What the book says of a tin.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TinRow {
    /// Its label.
    pub label: String,
    /// What is in it.
    pub toner: TonerCode,
    /// Its lot.
    pub lot: Option<String>,
    /// Until when it may be used, as `2026-12-31`.
    pub expires: Option<String>,
    /// The item's number.
    pub item: Option<String>,
    /// Who sent it.
    pub supplier: Option<String>,
    /// What was in it when it came, in grams.
    pub net: Option<String>,
    /// What it weighs empty, in grams.
    pub empty: Option<String>,
    /// When it came; none if it was never received.
    pub received: Option<Stamp>,
    /// When it was opened.
    pub opened: Option<Stamp>,
    /// When it was last stirred.
    pub stirred: Option<Stamp>,
    /// When it was last counted.
    pub counted: Option<Stamp>,
    /// When it was said to be empty.
    pub emptied: Option<Stamp>,
    /// When it was thrown away.
    pub discarded: Option<Stamp>,
}

impl TinRow {
    /// A tin of which nothing is known but its label and what is in it.
    pub fn unsaid(label: String, toner: TonerCode) -> Self {
        Self {
            label,
            toner,
            lot: None,
            expires: None,
            item: None,
            supplier: None,
            net: None,
            empty: None,
            received: None,
            opened: None,
            stirred: None,
            counted: None,
            emptied: None,
            discarded: None,
        }
    }
}

/// What a tin cost, as its first receipt says: the price of the whole tin in the shop's currency, and what was in it in
/// grams; nothing of both where the receipt says no price that can be reckoned with.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PriceRow {
    /// The price.
    pub price: Option<String>,
    /// What was in it.
    pub net: Option<String>,
}

impl PriceRow {
    /// The row of that price.
    pub(in crate::book) fn of(price: Option<TinPrice>) -> Self {
        let text = |part: fn(TinPrice) -> String| price.map(part);
        Self { price: text(|p| p.price.decimal().to_string()), net: text(|p| p.net.decimal().to_string()) }
    }
}

/// A job, in a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobRow {
    /// Its identity.
    pub job: JobId,
    /// The how-manieth job of this book it is, from 1.
    pub number: u32,
    /// What the shop calls it; no other has the same name.
    pub name: String,
    /// Which vehicle, in the shop's own words.
    pub vehicle: Option<String>,
    /// The colour's code.
    pub colour: Option<String>,
    /// The colour's variant.
    pub variant: Option<String>,
    /// Who opened it.
    pub operator: String,
    /// When it was opened.
    pub opened: Stamp,
    /// When something last happened to it.
    pub last: Stamp,
    /// When it was closed; none if it is open.
    pub closed: Option<Stamp>,
}

/// A day (since 1970-01-01, of UTC), what, why, and of which toner.
pub type DailyKey = (i64, String, String, String);

/// A span's word, its first day, what, why, and of which toner.
pub type SpanKey = (String, i64, String, String, String);

/// All the figures of a book. Sums are in micrograms; those of nothing are left out.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Figures {
    /// What each account holds of each toner.
    pub balances: BTreeMap<(String, String), i64>,
    /// What happened on a day.
    pub daily: BTreeMap<DailyKey, i64>,
    /// What happened in a week, and in a month.
    pub spans: BTreeMap<SpanKey, i64>,
    /// What became of each mix's paint.
    pub flows: BTreeMap<(MixId, String), i64>,
    /// The mixes.
    pub mixes: BTreeMap<MixId, MixHead>,
    /// What they cost.
    pub costs: BTreeMap<MixId, MixCost>,
    /// The tins, by their labels.
    pub tins: BTreeMap<String, TinRow>,
    /// What the tins that came in cost, by their labels.
    pub tin_prices: BTreeMap<String, PriceRow>,
    /// What each mix tells, and what they came to by the time they were begun in.
    pub of_mixes: MixSums,
    /// Whether they were kept before there were sums of weeks, months and mixes, so that those are not among them.
    pub is_without_sums: bool,
    /// Whether they were kept before a day's uses were one row and mixes had marks.
    pub is_without_found: bool,
    /// What was used of a toner on a day (since 1970-01-01, of UTC): each of [`USES`].
    pub day_uses: BTreeMap<(i64, String), [i64; USES.len()]>,
    /// The jobs.
    pub jobs: BTreeMap<JobId, JobRow>,
    /// The name of the job that a mix was begun for.
    pub begun_for: BTreeMap<MixId, String>,
}

impl Figures {
    /// What happened on each day, as uses of a toner.
    fn uses_by_day(&self) -> BTreeMap<(i64, String), [i64; USES.len()]> {
        let mut all = BTreeMap::<_, [i64; USES.len()]>::new();
        for ((day, what, _, toner), micrograms) in &self.daily {
            let Some(place) = USES.iter().position(|own| own == what) else { continue };
            let sums = all.entry((*day, toner.clone())).or_default();
            if let Some(sum) = sums.get_mut(place) {
                *sum = sum.saturating_add(*micrograms);
            }
        }
        all.retain(|_, sums| *sums != [0; USES.len()]);
        all
    }

    /// Where what was kept is not what the journal comes to, a sentence each, at most `most` of them; `self` is reckoned.
    pub fn differences(&self, kept: &Self, most: usize) -> Vec<String> {
        let mut said = Vec::new();
        let grams = |micrograms: &i64| format!("{} g", Grams::from_micrograms(*micrograms));
        let account = |(account, toner): &(String, String)| format!("of {toner}, {account}");
        differing(&self.balances, &kept.balances, account, grams, &mut said);
        let day = |(day, what, why, toner): &DailyKey| {
            let why = if why.is_empty() { String::new() } else { format!(" ({why})") };
            format!("of {toner}, {what}{why} on day {day} since 1970-01-01")
        };
        differing(&self.daily, &kept.daily, day, grams, &mut said);
        let span = |(span, first, what, why, toner): &SpanKey| {
            let why = if why.is_empty() { String::new() } else { format!(" ({why})") };
            format!("of {toner}, {what}{why} in the {span} from day {first} since 1970-01-01")
        };
        if !kept.is_without_sums {
            differing(&self.spans, &kept.spans, span, grams, &mut said);
        }
        if !kept.is_without_found {
            let day = |(day, toner): &(i64, String)| format!("uses of {toner} on day {day} since 1970-01-01");
            let uses = |uses: &[i64; USES.len()]| {
                let all = USES.iter().zip(uses).filter(|(_, sum)| **sum != 0);
                all.map(|(what, sum)| format!("{what} {}", grams(sum))).collect::<Vec<_>>().join(", ")
            };
            differing(&self.day_uses, &kept.day_uses, day, uses, &mut said);
            let mark = |(mark, begun, number): &MarkKey| {
                format!("the mark {mark} of mix {number:04}, begun at {} microseconds", begun.0)
            };
            let [is, kept] = [self, kept].map(|all| all.of_mixes.marks.iter().cloned().map(|key| (key, ())));
            let there = |(): &()| "that it is there".to_owned();
            differing(&is.collect(), &kept.collect(), mark, there, &mut said);
        }
        let flow = |(mix, what): &(MixId, String)| format!("{what} of mix {mix}");
        differing(&self.flows, &kept.flows, flow, grams, &mut said);
        differing(
            &self.mixes,
            &kept.mixes,
            |mix| format!("mix {mix}"),
            |head| format!("{head:?}"),
            &mut said,
        );
        let cost = |cost: &MixCost| {
            let (whole, unpriced) = (Grams::from_micrograms(cost.millionths), grams(&cost.unpriced));
            format!("{whole} and {unpriced} without a price")
        };
        differing(&self.costs, &kept.costs, |mix| format!("the cost of mix {mix}"), cost, &mut said);
        differing(
            &self.tins,
            &kept.tins,
            |label| format!("tin {label}"),
            |tin| format!("{tin:?}"),
            &mut said,
        );
        if !kept.is_without_sums {
            let price = |label: &String| format!("the price of tin {label}");
            differing(&self.tin_prices, &kept.tin_prices, price, |price| format!("{price:?}"), &mut said);
            self.mix_differences(kept, &mut said);
        }
        let named = |job: &JobId| format!("job {job}");
        differing(&self.jobs, &kept.jobs, named, |job| format!("{job:?}"), &mut said);
        let begun = |mix: &MixId| format!("the job of mix {mix}");
        differing(&self.begun_for, &kept.begun_for, begun, Clone::clone, &mut said);
        let more = said.len().saturating_sub(most);
        said.truncate(most);
        if more > 0 {
            said.push(format!("and {more} more"));
        }
        said
    }
}

impl Figures {
    fn mix_differences(&self, kept: &Self, said: &mut Vec<String>) {
        let (is, kept) = (&self.of_mixes, &kept.of_mixes);
        let read = |mix: &MixId| format!("what mix {mix} tells");
        differing(&is.reads, &kept.reads, read, |read| format!("{read:?}"), said);
        let key = |key: &super::mix_sums::SumKey| {
            format!(
                "mixes by {} {} {} in the {} from hour {} since 1970-01-01",
                key.apart.word(),
                key.key,
                key.more,
                key.span.word(),
                key.first
            )
        };
        differing(&is.sums, &kept.sums, key, |sum| format!("{sum:?}"), said);
        let uses = |(sum, toner): &super::mix_sums::UseKey| format!("{toner} in {}", key(sum));
        differing(&is.uses, &kept.uses, uses, |uses| format!("{uses:?}"), said);
        let over = |(span, first, what): &super::mix_sums::OverKey| {
            format!(
                "pours of and choices of '{what}' in the {} from hour {first} since 1970-01-01",
                span.word()
            )
        };
        differing(&is.pours, &kept.pours, over, |pours| format!("{pours:?}"), said);
        differing(&is.choices, &kept.choices, over, |choices| format!("{choices:?}"), said);
    }
}

fn differing<K: Ord, V: PartialEq>(
    is: &BTreeMap<K, V>,
    kept: &BTreeMap<K, V>,
    name: impl Fn(&K) -> String,
    text: impl Fn(&V) -> String,
    said: &mut Vec<String>,
) {
    let keys: BTreeSet<_> = is.keys().chain(kept.keys()).collect();
    for key in keys {
        let (is, kept) = (is.get(key), kept.get(key));
        if is != kept {
            let told = |value: Option<&V>| value.map_or("nothing".to_owned(), &text);
            said.push(format!(
                "{}: kept is {}, and by the journal it is {}",
                name(key),
                told(kept),
                told(is)
            ));
        }
    }
}
