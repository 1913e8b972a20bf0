//! The figures a book keeps beside its journal, reckoned anew from the journal alone: what was kept is held against this.

use super::mix_sums::{MarkKey, MixSums};
use super::reading::{MixReader, OfKept, TinPrice};
use super::spans::Span;
use super::{Account, Envelope, JobId, MixId, Posting, USES};
use crate::catalogue::TonerCode;
use crate::mix::Recipe;
use crate::units::{Grams, Stamp};
use serde::Deserialize;
use serde_json::Value;
use std::collections::btree_map::Entry;
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

/// The figures as they are reckoned from a journal.
#[derive(Clone, Debug, Default)]
pub struct Reckoning {
    figures: Figures,
    /// The recipes of the mixes so far, for their prices.
    recipes: BTreeMap<MixId, Recipe>,
    /// The mixes as they are read.
    readers: BTreeMap<MixId, MixReader>,
    /// What each subject put into a mix's leftover, or took out of it.
    leftovers: BTreeMap<MixId, BTreeMap<MixId, i64>>,
    /// What tins cost, by the first receipt of each.
    prices: BTreeMap<String, Option<TinPrice>>,
}

/// A day has so many microseconds.
const DAY: i64 = 86_400_000_000;

impl Reckoning {
    /// What the events so far come to.
    pub fn figures(&mut self) -> &Figures {
        self.figures.of_mixes = self.of_mixes();
        self.figures.day_uses = self.figures.uses_by_day();
        &self.figures
    }

    /// What each mix tells now, and the sums of those that have ended: each is looked at once, as it is in the end, and not
    /// as what each of its events has changed.
    fn of_mixes(&self) -> MixSums {
        let mut all = MixSums::default();
        let mut price_of =
            |label: &str| Ok::<_, std::convert::Infallible>(self.prices.get(label).copied().flatten());
        for (mix, head) in &self.figures.mixes {
            let Some(Ok(mut told)) = self.readers.get(mix).map(|reader| reader.read(&mut price_of)) else {
                continue;
            };
            for (subject, micrograms) in self.leftovers.get(mix).into_iter().flatten() {
                let mass = Grams::from_micrograms(*micrograms);
                let OfKept { used_again, thrown, still_there } = &mut told.of_kept;
                *still_there += mass;
                if subject != mix {
                    *(if self.figures.mixes.contains_key(subject) { used_again } else { thrown }) += -mass;
                }
            }
            if head.ended.is_some() {
                all.add_ended(head, &told);
            }
            all.reads.insert(*mix, told);
        }
        all.uses.retain(|_, uses| *uses != super::mix_sums::UseSum::default());
        all.sums.retain(|_, sum| *sum != super::mix_sums::Sum::default());
        all
    }

    /// Takes in what is told of a mix, of what was kept of it, and of what a tin cost.
    fn take_told(&mut self, event: &Envelope) {
        if event.kind.starts_with("mix/") {
            self.readers.entry(event.subject).or_default().take(event);
        }
        for posting in &event.postings {
            if let Account::Leftover(mix) = &posting.account {
                let sum = self.leftovers.entry(*mix).or_default().entry(event.subject).or_default();
                *sum = sum.saturating_add(posting.micrograms);
            }
        }
        if let Some(label) = received(event)
            && !self.prices.contains_key(label)
        {
            let price = TinPrice::of_receipt(&event.body);
            self.prices.insert(label.to_owned(), price);
            self.figures.tin_prices.insert(label.to_owned(), PriceRow::of(price));
        }
    }

    /// Takes an event in. They come in the order in which they were written.
    pub fn take(&mut self, event: &Envelope) {
        let body: Value = serde_json::from_str(&event.body).unwrap_or_default();
        self.take_mix(event, &body);
        self.take_tin(event, &body);
        self.take_told(event);
        self.take_job(event, &body);
        for posting in &event.postings {
            let (account, toner) = (posting.account.to_string(), posting.toner.as_str().to_owned());
            if let Some((what, why, amount)) = flow(&event.kind, &account, posting.micrograms) {
                let day = event.at.0.div_euclid(DAY);
                for span in [Span::Week, Span::Month] {
                    let (word, first) = (span.word().to_owned(), span.first_day(day));
                    add(
                        &mut self.figures.spans,
                        (word, first, what.to_owned(), why.clone(), toner.clone()),
                        amount,
                    );
                }
                add(&mut self.figures.daily, (day, what.to_owned(), why, toner.clone()), amount);
                if event.kind.starts_with("mix/") {
                    add(&mut self.figures.flows, (event.subject, what.to_owned()), amount);
                }
            }
            add(&mut self.figures.balances, (account, toner), posting.micrograms);
        }
        if event.kind.starts_with("mix/") {
            let cost = cost_of(self.recipes.get(&event.subject), &event.postings);
            let kept = self.figures.costs.entry(event.subject).or_default();
            kept.millionths = kept.millionths.saturating_add(cost.millionths);
            kept.unpriced = kept.unpriced.saturating_add(cost.unpriced);
        }
    }

    fn take_mix(&mut self, event: &Envelope, body: &Value) {
        let at = |pointer: &str| text(body, pointer);
        match event.kind.as_str() {
            "mix/started" if !self.figures.mixes.contains_key(&event.subject) => {
                let number = u32::try_from(self.figures.mixes.len()).unwrap_or(u32::MAX).saturating_add(1);
                let head = MixHead {
                    number,
                    begun: event.at,
                    operator: event.operator.clone(),
                    subject: ["/recipe/colour", "/recipe/variant", "/recipe/role"].map(at),
                    ..MixHead::default()
                };
                self.figures.mixes.insert(event.subject, head);
                if let Some(recipe) = recipe_of(&event.body) {
                    self.recipes.insert(event.subject, recipe);
                }
            }
            "mix/finished" | "mix/abandoned" => {
                if let Some(head) = self.figures.mixes.get_mut(&event.subject) {
                    head.ended = Some((event.at, event.kind.clone()));
                }
            }
            "mix/emptied" => {
                if let Some(head) = self.figures.mixes.get_mut(&event.subject) {
                    (head.emptied, head.use_by, head.job) = (Some(event.at), at("/use_by"), at("/job"));
                }
            }
            _ => {}
        }
    }

    fn take_job(&mut self, event: &Envelope, body: &Value) {
        let at = |pointer: &str| text(body, pointer);
        if event.kind == "mix/started"
            && let Some(job) = at("/job")
        {
            self.figures.begun_for.entry(event.subject).or_insert(job);
        }
        let Some(what) = event.kind.strip_prefix("job/") else { return };
        let (job, jobs) = (JobId::of(event.subject), &mut self.figures.jobs);
        let Some(row) = jobs.get_mut(&job) else {
            if let ("opened", Some(name)) = (what, at("/name")) {
                let number = u32::try_from(jobs.len()).unwrap_or(u32::MAX).saturating_add(1);
                let [vehicle, colour, variant] = ["/vehicle", "/colour", "/variant"].map(at);
                let (operator, opened) = (event.operator.clone(), event.at);
                let row = JobRow {
                    job,
                    number,
                    name,
                    vehicle,
                    colour,
                    variant,
                    operator,
                    opened,
                    last: opened,
                    closed: None,
                };
                jobs.insert(job, row);
            }
            return;
        };
        row.last = row.last.max(event.at);
        match what {
            "amended" => row.vehicle = at("/vehicle").or(row.vehicle.take()),
            "closed" => {
                row.closed.get_or_insert(event.at);
            }
            "reopened" => row.closed = None,
            _ => {}
        }
    }

    fn take_tin(&mut self, event: &Envelope, body: &Value) {
        let seen = event.kind == "mix/tin-taken";
        let known = event.kind.strip_prefix("tin/").is_some_and(|kind| {
            matches!(kind, "received" | "opened" | "stirred" | "counted" | "emptied" | "discarded")
        });
        if !(known || seen && body.get("marks").is_some_and(Value::is_object)) {
            return;
        }
        let marked = |name: &str| text(body, &format!("{}/{name}", if seen { "/marks" } else { "" }));
        let Some(label) = text(body, if seen { "/tin" } else { "/label" }) else { return };
        let Some(toner) = text(body, "/toner").map(TonerCode::new) else { return };
        let received = event.kind == "tin/received";
        let tin =
            self.figures.tins.entry(label.clone()).or_insert_with(|| TinRow::unsaid(label, toner.clone()));
        if tin.toner != toner && !received {
            return;
        }
        let fill = |slot: &mut Option<String>, said: Option<String>, over: bool| {
            if said.is_some() && (over || slot.is_none()) {
                *slot = said;
            }
        };
        tin.toner = toner;
        fill(&mut tin.lot, marked("lot"), received);
        fill(&mut tin.expires, marked("expires"), received);
        fill(&mut tin.item, marked("item"), received);
        fill(&mut tin.supplier, text(body, "/supplier"), false);
        fill(&mut tin.net, text(body, "/net"), false);
        fill(&mut tin.empty, text(body, "/empty"), true);
        let when = match event.kind.as_str() {
            "tin/received" => &mut tin.received,
            "tin/opened" => &mut tin.opened,
            "tin/stirred" => &mut tin.stirred,
            "tin/counted" => &mut tin.counted,
            "tin/emptied" => &mut tin.emptied,
            "tin/discarded" => &mut tin.discarded,
            _ => return,
        };
        *when = Some(event.at);
    }
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

fn add<K: Ord>(sums: &mut BTreeMap<K, i64>, key: K, amount: i64) {
    match sums.entry(key) {
        Entry::Vacant(none) => {
            none.insert(amount);
        }
        Entry::Occupied(mut sum) => {
            *sum.get_mut() = sum.get().saturating_add(amount);
            if *sum.get() == 0 {
                sum.remove();
            }
        }
    }
}

fn text(body: &Value, pointer: &str) -> Option<String> {
    Some(body.pointer(pointer)?.as_str()?.to_owned())
}

/// What a posting means, why, and how much of it; none if it is the other side of what another posting says.
fn flow(kind: &str, account: &str, micrograms: i64) -> Option<(&'static str, String, i64)> {
    let out = micrograms.checked_neg()?;
    let of_mix = kind.starts_with("mix/");
    let (place, rest) = account.split_once(':')?;
    let plain = |what| Some((what, String::new(), micrograms));
    match (place, kind) {
        ("tin" | "tin?", _) if of_mix => Some(("poured", String::new(), out)),
        ("tin" | "tin?", "tin/received") => plain("received"),
        ("leftover", "mix/leftover-added") => Some(("reused", String::new(), out)),
        ("leftover", _) if of_mix => plain("kept"),
        ("car", _) => plain("sprayed"),
        ("difference", _) => Some(("missing", rest.to_owned(), micrograms)),
        ("waste", _) if rest == "drawn-off" => plain("drawn-off"),
        ("waste", _) => {
            let (what, why) = rest.split_once(':')?;
            let what = match what {
                "abandoned" => "abandoned",
                "left" => "thrown",
                "tin" => "discarded",
                _ => return None,
            };
            Some((what, why.to_owned(), micrograms))
        }
        _ => None,
    }
}

/// The label of the tin that came in with an event.
pub(in crate::book) fn received(event: &Envelope) -> Option<&str> {
    event.postings.iter().filter(|_| event.kind == "tin/received").find_map(|posting| {
        match &posting.account {
            Account::Tin(label) if posting.micrograms > 0 => Some(label.as_str()),
            _ => None,
        }
    })
}

/// The recipe in the body of a mix's first event.
pub(in crate::book) fn recipe_of(body: &str) -> Option<Recipe> {
    #[derive(Deserialize)]
    struct Begun {
        recipe: Recipe,
    }
    serde_json::from_str::<Begun>(body).ok().map(|begun| begun.recipe)
}

/// What the postings of one event of a mix cost: what comes out of tins, by the recipe's prices.
pub(super) fn cost_of(recipe: Option<&Recipe>, postings: &[Posting]) -> MixCost {
    let mut cost = MixCost::default();
    for posting in postings {
        let account = posting.account.to_string();
        if !(account.starts_with("tin:") || account.starts_with("tin?:")) {
            continue;
        }
        let Some(out) = posting.micrograms.checked_neg() else { continue };
        match millionths(recipe, &posting.toner, out) {
            Some(millionths) => cost.millionths = cost.millionths.saturating_add(millionths),
            None => cost.unpriced = cost.unpriced.saturating_add(out),
        }
    }
    cost
}

fn millionths(recipe: Option<&Recipe>, toner: &TonerCode, micrograms: i64) -> Option<i64> {
    let recipe = recipe?;
    let line = recipe.lines().get(recipe.position(toner)?)?;
    let cost = line.price?.cost_of(line.density.volume_of(Grams::from_micrograms(micrograms)));
    // Micrograms are to grams what millionths are to one.
    Grams::new(cost.decimal()).micrograms()
}
