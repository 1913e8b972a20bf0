//! The figures as they follow from a journal, event by event.

use super::{Figures, JobRow, MixCost, MixHead, PriceRow, TinRow};
use crate::book::mix_sums::{MixSums, Sum, UseSum};
use crate::book::reading::{MixReader, OfKept, TinPrice};
use crate::book::spans::Span;
use crate::book::{Account, Envelope, JobId, MixId, Posting};
use crate::catalogue::TonerCode;
use crate::mix::Recipe;
use crate::units::Grams;
use serde::Deserialize;
use serde_json::Value;
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

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
        all.uses.retain(|_, uses| *uses != UseSum::default());
        all.sums.retain(|_, sum| *sum != Sum::default());
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
pub(in crate::book) fn cost_of(recipe: Option<&Recipe>, postings: &[Posting]) -> MixCost {
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
