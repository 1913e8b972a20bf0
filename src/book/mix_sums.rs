//! What mixes came to, added up by the time they were begun in: of a layer, a painter, a colour, a reason, of all.
//!
//! Those that are done or given up are in the sums, each from then on and as it is now; the few that are not are read
//! one by one.

use super::Mark;
use super::figures::MixHead;
use super::reading::{Amount, Chosen, Fate, MixRead, OfKept, Priced, TonerPours, Wasted};
use super::spans::Span;
use crate::catalogue::TonerCode;
use crate::mix::Way;
use crate::units::{Decimal, Grams, Money, Stamp};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// What sums are told apart by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Apart {
    /// Not at all.
    All,
    /// By layer, as the mix's first event says it; empty where it does not.
    Layer,
    /// By who began the mix.
    Painter,
    /// By colour and variant.
    Colour,
    /// By what became of the paint, and why: only paint of that fate is in the sum.
    Reason,
}

impl Apart {
    /// In a word, as the book has it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::All => "all",
            Self::Layer => "layer",
            Self::Painter => "painter",
            Self::Colour => "colour",
            Self::Reason => "reason",
        }
    }

    /// Of which spans the sums are kept.
    pub const fn spans(self) -> &'static [Span] {
        match self {
            Self::All => &[Span::Month, Span::Day, Span::Hour],
            _ => &[Span::Month, Span::Day],
        }
    }
}

/// Which sum: of mixes begun in that span (its first hour since 1970-01-01), and what they have in common.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct SumKey {
    /// How long a time.
    pub span: Span,
    /// Its first hour.
    pub first: i64,
    /// Told apart by what.
    pub apart: Apart,
    /// The layer, the painter, the colour's code, the fate.
    pub key: String,
    /// The colour's variant, the reason; else empty.
    pub more: String,
}

/// What mixes came to together.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sum {
    /// How many.
    pub mixes: i64,
    /// Micrograms and millionths of the currency, in the order of [`Fate::ALL`].
    pub fates: [[i64; 2]; 6],
    /// Micrograms by the tins' prices, by the formulas', by none.
    pub priced: [i64; 3],
    /// Micrograms out of leftovers.
    pub reused: i64,
    /// Micrograms of what was kept that were used again, thrown away, and are still there.
    pub of_kept: [i64; 3],
    /// How many cannot be read back wholly.
    pub unreadable: i64,
}

/// How many numbers a [`Sum`] is.
pub const NUMBERS: usize = 21;

/// How many of them say how many mixes there were and what became of their paint: the first so many.
pub const FIRST_NUMBERS: usize = 13;

/// The names of a [`Sum`]'s numbers in the book, in order.
pub const COLUMNS: [&str; NUMBERS] = [
    "mixes",
    "sprayed",
    "sprayed_cost",
    "kept",
    "kept_cost",
    "in_cup",
    "in_cup_cost",
    "drawn_off",
    "drawn_off_cost",
    "thrown",
    "thrown_cost",
    "abandoned",
    "abandoned_cost",
    "by_tin",
    "by_formula",
    "unpriced",
    "reused",
    "kept_used_again",
    "kept_thrown",
    "kept_still_there",
    "unreadable",
];

impl Sum {
    /// Its numbers, as [`COLUMNS`] names them.
    pub fn numbers(&self) -> [i64; NUMBERS] {
        let all = std::iter::once(self.mixes)
            .chain(self.fates.into_iter().flatten())
            .chain(self.priced)
            .chain([self.reused])
            .chain(self.of_kept)
            .chain([self.unreadable]);
        let mut numbers = [0; NUMBERS];
        numbers.iter_mut().zip(all).for_each(|(number, own)| *number = own);
        numbers
    }

    /// The sum with those numbers.
    pub fn of(numbers: [i64; NUMBERS]) -> Self {
        let mut sum = Self::default();
        let places = std::iter::once(&mut sum.mixes)
            .chain(sum.fates.iter_mut().flatten())
            .chain(&mut sum.priced)
            .chain([&mut sum.reused])
            .chain(&mut sum.of_kept)
            .chain([&mut sum.unreadable]);
        places.zip(numbers).for_each(|(place, number)| *place = number);
        sum
    }

    /// With another, so many times (−1 takes it away).
    pub fn add(&mut self, other: &Self, times: i64) {
        let mut numbers = self.numbers();
        for (own, other) in numbers.iter_mut().zip(other.numbers()) {
            *own = own.saturating_add(other.saturating_mul(times));
        }
        *self = Self::of(numbers);
    }

    /// What had that fate.
    pub fn fate(&self, fate: Fate) -> Amount {
        let place = Fate::ALL.iter().position(|own| *own == fate);
        let [mass, cost] = place.and_then(|place| self.fates.get(place)).copied().unwrap_or_default();
        Amount { mass: Grams::from_micrograms(mass), cost: Money::new(Decimal::new(cost, 6)) }
    }

    /// By which prices.
    pub fn priced(&self) -> Priced {
        let [by_tin, by_formula, unpriced] = self.priced.map(Grams::from_micrograms);
        Priced { by_tin, by_formula, unpriced }
    }

    /// What became of what was kept.
    pub fn kept(&self) -> OfKept {
        let [used_again, thrown, still_there] = self.of_kept.map(Grams::from_micrograms);
        OfKept { used_again, thrown, still_there }
    }

    fn put(&mut self, fate: Fate, amount: Amount) {
        if let Some([mass, cost]) =
            Fate::ALL.iter().position(|own| *own == fate).and_then(|place| self.fates.get_mut(place))
        {
            *mass = mass.saturating_add(whole(amount.mass));
            *cost = cost.saturating_add(whole(Grams::new(amount.cost.decimal())));
        }
    }

    /// What one mix came to.
    fn of_mix(read: &MixRead) -> Self {
        let mut sum = Self { mixes: 1, unreadable: i64::from(read.is_unreadable), ..Self::default() };
        for (fate, _, amount) in &read.fates {
            sum.put(*fate, *amount);
        }
        let Priced { by_tin, by_formula, unpriced } = read.priced;
        sum.priced = [by_tin, by_formula, unpriced].map(whole);
        sum.reused = whole(read.reused);
        if read.kept_some() {
            let OfKept { used_again, thrown, still_there } = read.of_kept;
            sum.of_kept = [used_again, thrown, still_there].map(whole);
        }
        sum
    }
}

/// In the book's smallest unit; what does not fit is the most that does.
fn whole(mass: Grams) -> i64 {
    mass.micrograms().unwrap_or(i64::MAX)
}

/// The sums that a mix is in, and what it adds to each.
pub fn sums_of(head: &MixHead, read: &MixRead) -> BTreeMap<SumKey, Sum> {
    let mut sums = BTreeMap::new();
    let all = Sum::of_mix(read);
    let mut put = |apart: Apart, key: &str, more: &str, sum: Sum| {
        for span in apart.spans() {
            let (key, more) = (key.to_owned(), more.to_owned());
            let key = SumKey { span: *span, first: span.first_hour(head.begun), apart, key, more };
            sums.insert(key, sum);
        }
    };
    let [colour, variant, layer] = head.subject.each_ref().map(|said| said.as_deref().unwrap_or_default());
    put(Apart::All, "", "", all);
    put(Apart::Layer, layer, "", all);
    put(Apart::Painter, &head.operator, "", all);
    put(Apart::Colour, colour, variant, all);
    for (fate, why, amount) in &read.fates {
        let mut sum = Sum { mixes: 1, ..Sum::default() };
        sum.put(*fate, *amount);
        put(Apart::Reason, fate.name(), why, sum);
    }
    sums
}

/// What mixes were poured from, in micrograms.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct UseSum {
    /// Out of tins.
    pub poured: i64,
    /// Out of leftovers.
    pub reused: i64,
}

impl UseSum {
    /// With another, so many times (−1 takes it away).
    pub fn add(&mut self, other: &Self, times: i64) {
        self.poured = self.poured.saturating_add(other.poured.saturating_mul(times));
        self.reused = self.reused.saturating_add(other.reused.saturating_mul(times));
    }
}

/// Which sum, and of which toner.
pub type UseKey = (SumKey, String);

/// The sums of uses that a mix is in, by layer, painter and colour, and what it adds to each.
pub fn uses_of(head: &MixHead, read: &MixRead) -> BTreeMap<UseKey, UseSum> {
    let [colour, variant, layer] = head.subject.each_ref().map(|said| said.as_deref().unwrap_or_default());
    let mut all = BTreeMap::new();
    for (apart, key, more) in [
        (Apart::Layer, layer, ""),
        (Apart::Painter, head.operator.as_str(), ""),
        (Apart::Colour, colour, variant),
    ] {
        for span in apart.spans() {
            let (key, more) = (key.to_owned(), more.to_owned());
            let key = SumKey { span: *span, first: span.first_hour(head.begun), apart, key, more };
            for (toner, poured, reused) in &read.uses {
                let uses = UseSum { poured: whole(*poured), reused: whole(*reused) };
                all.insert((key.clone(), toner.as_str().to_owned()), uses);
            }
        }
    }
    all
}

/// A row of uses, of a span or several.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UseRow {
    /// The layer, the painter, the colour's code.
    pub key: String,
    /// The colour's variant; else empty.
    pub more: String,
    /// Which toner.
    pub toner: TonerCode,
    /// How much of it.
    pub uses: UseSum,
}

/// Of which spans pours that went over, and what was done about them, are kept.
pub const OVER_SPANS: &[Span] = &[Span::Month, Span::Day];

/// The pours of a toner in many mixes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ManyPours {
    /// The number of the last of those mixes, whose formula says the toner's name.
    pub number: u32,
    /// The pours.
    pub pours: TonerPours,
}

impl ManyPours {
    /// Those of one mix.
    pub fn of_mix(number: u32, pours: &TonerPours) -> Self {
        Self { number, pours: pours.clone() }
    }

    /// With those of other mixes.
    pub fn add(&mut self, other: &Self) {
        let (own, more) = (&mut self.pours, &other.pours);
        if other.number >= self.number {
            self.number = other.number;
            own.name.clone_from(&more.name);
        }
        own.pours = own.pours.saturating_add(more.pours);
        own.over = own.over.saturating_add(more.over);
        own.by += more.by;
        own.worst = own.worst.max(more.worst);
    }
}

/// What was chosen held against another way, where that was open too.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Against {
    /// How often it was open.
    pub count: u32,
    /// What the other way would have wasted.
    pub waste: Grams,
    /// How much less was wasted by what was chosen; below nothing if it was more.
    pub saved: Grams,
    /// What that is worth, by the prices the mixes were begun with.
    pub saved_cost: Money,
    /// How often what it is worth is not known.
    pub unpriced: u32,
}

impl Against {
    fn take(&mut self, chosen: Wasted, other: Option<Wasted>) {
        let Some(other) = other else { return };
        self.count = self.count.saturating_add(1);
        self.waste += other.mass;
        self.saved += other.mass - chosen.mass;
        match (chosen.cost, other.cost) {
            (Some(own), Some(other)) => self.saved_cost += other - own,
            _ => self.unpriced = self.unpriced.saturating_add(1),
        }
    }

    fn add(&mut self, other: &Self) {
        self.count = self.count.saturating_add(other.count);
        self.waste += other.waste;
        self.saved += other.saved;
        self.saved_cost += other.saved_cost;
        self.unpriced = self.unpriced.saturating_add(other.unpriced);
    }
}

/// What was chosen when something had gone wrong: a way out, or giving the mix up.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Choices {
    /// How often.
    pub count: u32,
    /// The paint that it promised to waste; what was in the cups that were given up.
    pub waste: Grams,
    /// What that cost, as far as the prices were known.
    pub cost: Money,
    /// Held against making the least more that comes right.
    pub growing: Against,
    /// Held against starting again.
    pub restarting: Against,
}

impl Choices {
    fn take(&mut self, chosen: &Chosen) {
        self.count = self.count.saturating_add(1);
        self.waste += chosen.wasted.mass;
        self.cost += chosen.wasted.cost.unwrap_or_default();
        self.growing.take(chosen.wasted, chosen.grown);
        self.restarting.take(chosen.wasted, chosen.restarted);
    }

    /// With others.
    pub fn add(&mut self, other: &Self) {
        self.count = self.count.saturating_add(other.count);
        self.waste += other.waste;
        self.cost += other.cost;
        self.growing.add(&other.growing);
        self.restarting.add(&other.restarting);
    }
}

/// What was chosen in a mix, by the way out's name; nothing's name is that of giving it up.
pub fn choices_of(read: &MixRead) -> BTreeMap<&'static str, (Option<Way>, Choices)> {
    let mut all = BTreeMap::<&'static str, (Option<Way>, Choices)>::new();
    for chosen in &read.chosen {
        let (way, choices) = all.entry(chosen.way.name()).or_default();
        *way = Some(chosen.way);
        choices.take(chosen);
    }
    if let Some(waste) = read.given_up_over {
        all.insert(GIVEN_UP, (None, Choices { count: 1, waste, ..Choices::default() }));
    }
    all
}

/// What stands in the book for a way's name where a mix was given up.
pub const GIVEN_UP: &str = "";

/// A span, its first hour, and of which toner or way.
pub type OverKey = (Span, i64, String);

/// A mark's word, when the mix that has it was begun, and the mix's number.
pub type MarkKey = (String, Stamp, u32);

/// The marks of a mix that has ended, by which it is found.
pub fn marks_of<'r>(head: &MixHead, read: &'r MixRead) -> impl Iterator<Item = MarkKey> + use<'r> {
    let (begun, number) = (head.begun, head.number);
    Mark::of(read).into_iter().map(move |mark| (mark.word(), begun, number))
}

/// All the sums of a book.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct MixSums {
    /// What each mix tells, as it is now.
    pub reads: BTreeMap<super::MixId, MixRead>,
    /// What mixes came to.
    pub sums: BTreeMap<SumKey, Sum>,
    /// What they were poured from.
    pub uses: BTreeMap<UseKey, UseSum>,
    /// Pours, by toner.
    pub pours: BTreeMap<OverKey, ManyPours>,
    /// Choices, by the name of the way.
    pub choices: BTreeMap<OverKey, Choices>,
    /// What went over in a mix, or was done about it.
    pub marks: BTreeSet<MarkKey>,
}

impl MixSums {
    /// Adds what a mix that has just ended came to.
    pub fn add_ended(&mut self, head: &MixHead, read: &MixRead) {
        for (key, sum) in sums_of(head, read) {
            self.sums.entry(key).or_default().add(&sum, 1);
        }
        for (key, uses) in uses_of(head, read) {
            self.uses.entry(key).or_default().add(&uses, 1);
        }
        self.marks.extend(marks_of(head, read));
        for span in OVER_SPANS {
            let first = span.first_hour(head.begun);
            for pours in &read.pours {
                let one = ManyPours::of_mix(head.number, pours);
                let key = (*span, first, pours.toner.as_str().to_owned());
                match self.pours.get_mut(&key) {
                    Some(many) => many.add(&one),
                    None => {
                        self.pours.insert(key, one);
                    }
                }
            }
            for (name, (_, choices)) in choices_of(read) {
                self.choices.entry((*span, first, name.to_owned())).or_default().add(&choices);
            }
        }
    }
}

/// A row of sums, of a span or several: what the mixes have in common, and what they came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SumRow {
    /// The layer, the painter, the colour's code, the fate's name.
    pub key: String,
    /// The colour's variant, the reason; else empty.
    pub more: String,
    /// What they came to.
    pub sum: Sum,
}

/// Choices of a way; of giving up if it is none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ChoiceRow {
    /// Which way.
    pub way: Option<Way>,
    /// What was chosen.
    pub choices: Choices,
}

/// That toner's pours, while nothing is known of them.
pub(super) fn no_pours(toner: &str, name: String) -> TonerPours {
    TonerPours { toner: TonerCode::new(toner), name, pours: 0, over: 0, by: Grams::ZERO, worst: Grams::ZERO }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sum_is_its_numbers() {
        let mut numbers = [0; NUMBERS];
        for (number, place) in numbers.iter_mut().zip(1..) {
            *number = place;
        }
        let sum = Sum::of(numbers);
        assert_eq!(sum.numbers(), numbers);
        assert_eq!((sum.mixes, sum.fates[5], sum.priced, sum.unreadable), (1, [12, 13], [14, 15, 16], 21));
        assert_eq!(COLUMNS[11..FIRST_NUMBERS], ["abandoned", "abandoned_cost"]);
        assert_eq!(sum.fate(Fate::Abandoned).mass, Grams::from_micrograms(12));
    }
}
