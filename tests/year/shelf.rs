//! The invented shop's shelf as its book has it: tins that come, are opened, counted and put away, and what was kept of
//! mixes. What happens to them is said by the program's own `stock`.

use super::{Chance, Date};
use pourbook::barcode::Day;
use pourbook::book::figures::{MixHead, TinRow};
use pourbook::book::{Account, Envelope, Flows, MixId, MixTotals};
use pourbook::catalogue::{Toner, TonerCode};
use pourbook::stock::{self, Leftover, Receipt, StockEvent, Tin, TinName, Unfit, Unnamed};
use pourbook::units::{Decimal, Grams, Millilitres, Money, Stamp};
use std::collections::BTreeMap;

/// Of what is in a tin that is as good as empty, at most so many grams are left.
const SCRAPED: u32 = 15;

/// A leftover, and from which of the year's recipes.
pub(super) struct Left {
    pub(super) recipe: usize,
    pub(super) of: Leftover,
}

/// All that stands on it.
#[derive(Default)]
pub(super) struct Shelf {
    tins: BTreeMap<TonerCode, Vec<Tin>>,
    lefts: Vec<Left>,
    /// What was poured without a tin's name.
    unnamed: Unnamed,
    /// What came, and is only booked the day after.
    late: Vec<Receipt>,
    came: u64,
}

fn litre() -> Millilitres {
    Millilitres::new(Decimal::from(1_000))
}

fn few(grams: u32) -> Grams {
    Grams::new(Decimal::from(grams))
}

impl Shelf {
    /// Books what an event moved.
    pub(super) fn take(&mut self, event: &Envelope) {
        self.unnamed.follow(event);
        for posting in &event.postings {
            let mass = Grams::from_micrograms(posting.micrograms);
            match &posting.account {
                Account::Tin(label) => self.tin(label, &posting.toner).holds += mass,
                Account::Leftover(mix) => {
                    let Some(left) = self.lefts.iter_mut().find(|left| left.of.of.mix == *mix) else {
                        continue;
                    };
                    let parts = &mut left.of.made_of;
                    match parts.iter_mut().find(|(toner, _)| *toner == posting.toner) {
                        Some((_, holds)) => *holds += mass,
                        None => parts.push((posting.toner.clone(), mass)),
                    }
                    parts.retain(|(_, mass)| !mass.is_zero());
                }
                _ => {}
            }
        }
        self.lefts.retain(|left| !left.of.made_of.is_empty());
    }

    /// Notes what was said of a tin.
    pub(super) fn said(&mut self, event: &StockEvent, at: Stamp) {
        match event {
            StockEvent::Received(came) => {
                let tin = self.tin(&came.tin.label, &came.tin.toner);
                (tin.received, tin.net, tin.empty) = (Some(at), Some(came.net), came.empty);
                tin.lot.clone_from(&came.lot);
                tin.expires = came.expires.as_deref().and_then(Day::parse);
            }
            StockEvent::Opened(tin) => self.tin(&tin.label, &tin.toner).opened = Some(at),
            StockEvent::Counted(count) => self.tin(&count.tin.label, &count.tin.toner).counted = Some(at),
            StockEvent::Emptied { tin, .. } | StockEvent::Discarded { tin, .. } => {
                let tins = self.tins.entry(tin.toner.clone()).or_default();
                tins.retain(|known| known.label != tin.label);
            }
            _ => {}
        }
    }

    /// The tin with that label: one that is poured from is there, whether it was received or not.
    fn tin(&mut self, label: &str, toner: &TonerCode) -> &mut Tin {
        let tins = self.tins.entry(toner.clone()).or_default();
        let place = tins.iter().position(|tin| tin.label == label).unwrap_or_else(|| {
            tins.push(Tin::new(TinRow::unsaid(label.to_owned(), toner.clone()), Grams::ZERO));
            tins.len() - 1
        });
        &mut tins[place]
    }

    /// What is left in a tin, where it was received.
    pub(super) fn holds(&self, label: &str, toner: &TonerCode) -> Option<Grams> {
        let tin = self.tins.get(toner)?.iter().find(|tin| tin.label == label)?;
        tin.received.map(|_| tin.holds)
    }

    /// The tin to pour from next: its label, and whether somebody opened it before; none if all are as good as empty.
    pub(super) fn turn(&self, toner: &TonerCode, today: Day) -> Option<(String, bool)> {
        let tins = stock::in_turn(self.tins.get(toner)?, toner, &[], today);
        let tin = tins.into_iter().find(|tin| tin.holds >= few(SCRAPED) && !tin.is_expired(today))?;
        Some((tin.label.clone(), tin.is_open()))
    }

    /// A tin that comes: a label of its own, in a year of that seed; its lot, its day and its price made up, or not said.
    pub(super) fn delivery(&mut self, toner: &Toner, seed: u64, date: Date, chance: &mut Chance) -> Receipt {
        self.came += 1;
        let code = &toner.code;
        let days = if chance.one_in(20) { 10 } else { 400 };
        let price = toner.price.map(|price| Money::new(price.cost_of(litre()).decimal().round_dp(2)));
        Receipt {
            tin: stock::name(&format!("{seed}-{code}-{:04}", self.came), code.as_str()).unwrap(),
            net: Grams::new(toner.density.mass_of(litre()).decimal().round()),
            empty: Some(few(113)),
            size: Some("1 L".to_owned()),
            lot: (!chance.one_in(10)).then(|| format!("{code}/{}", self.came / 50)),
            expires: (!chance.one_in(8)).then(|| date.after(days)),
            price: price.filter(|_| !chance.one_in(12)),
            item: toner.codes.first().cloned(),
            supplier: (!chance.one_in(15))
                .then(|| (*chance.of(&["an invented supplier", "Anybody & Son; \"north\""])).to_owned()),
        }
    }

    /// A tin is poured from before anybody books that it came.
    pub(super) fn is_late(&mut self, receipt: Receipt) {
        self.late.push(receipt);
    }

    /// What of that is booked now.
    pub(super) fn at_last(&mut self) -> Vec<Receipt> {
        std::mem::take(&mut self.late)
    }

    /// Whether another tin of it should come.
    pub(super) fn is_low(&self, toner: &Toner) -> bool {
        let held: Grams = self.tins.get(&toner.code).into_iter().flatten().map(|tin| tin.holds).sum();
        held < few(700)
    }

    fn all(&self) -> impl Iterator<Item = &Tin> {
        self.tins.values().flatten()
    }

    /// Every tin there is now: what is said of one can depend on what was said of another.
    pub(super) fn names(&self) -> Vec<TinName> {
        self.all().map(|tin| stock::name(&tin.label, tin.toner.as_str()).unwrap()).collect()
    }

    /// That tin, and all of its toner.
    fn among(&self, name: &TinName) -> (&Tin, &[Tin]) {
        let tins = &self.tins[&name.toner];
        (tins.iter().find(|tin| tin.label == name.label).unwrap(), tins)
    }

    fn discard(&self, name: &TinName, reason: &str) -> StockEvent {
        let (tin, tins) = self.among(name);
        stock::discard(tin, reason, self.unnamed.only_in(tin, tins)).unwrap()
    }

    /// Whether a tin is put away in the morning: scraped out, past its day, or in no state to be used.
    pub(super) fn put_away(&self, name: &TinName, today: Day, chance: &mut Chance) -> Option<StockEvent> {
        let (tin, tins) = self.among(name);
        tin.received?;
        if tin.is_open() && tin.holds < few(SCRAPED) {
            Some(stock::empty(tin, self.unnamed.of(tins, &tin.toner)).unwrap())
        } else if tin.is_expired(today) {
            Some(self.discard(name, "past its day"))
        } else if chance.one_in(800) {
            let why = *chance.of(&["skinned over", "lid rusted; \"dirt\""]);
            Some(self.discard(name, why))
        } else {
            None
        }
    }

    /// The rack is stirred.
    pub(super) fn stirred(&self) -> Vec<StockEvent> {
        self.tins.values().flat_map(|tins| stock::stirring(tins)).collect()
    }

    /// A tin is weighed, or, where nobody knows what it weighs empty, looked into. An open one lacks what was poured without a
    /// tin's name; beyond that some hold less than the book says, few hold more.
    pub(super) fn counted(&self, name: &TinName, chance: &mut Chance) -> StockEvent {
        let (tin, tins) = self.among(name);
        let unnamed = self.unnamed.of(tins, &tin.toner);
        let lacks = if tin.is_open() { unnamed.min(tin.holds).max(Grams::ZERO) } else { Grams::ZERO };
        let most = if chance.one_in(6) { 400 } else { 15 };
        let off = chance.grams(most);
        let off = if chance.one_in(4) { -off } else { off };
        let tenths = Grams::new((tin.holds - lacks - off).decimal().round_dp(1));
        let found = if tenths.is_negative() { chance.grams(3_000) } else { tenths };
        let gross = tin.empty.map(|empty| found + empty);
        let of = |why| stock::count(tin, gross, None, found, why, unnamed).unwrap();
        let StockEvent::Counted(said) = of(None) else { unreachable!("a count is one") };
        let why = (!stock::is_small(tin, said.missing()))
            .then(|| *chance.of(&["spilt", "poured unweighed; \"never\" again", ""]))
            .filter(|why| !why.is_empty());
        of(why)
    }

    /// A lot is called back, and which tins there are of it.
    pub(super) fn called_back(&self) -> Option<(StockEvent, Vec<TinName>)> {
        let first = self.all().find(|tin| tin.lot.is_some())?;
        let recall = stock::recall(first.lot.as_deref()?, Some(&first.toner), "grey when dry");
        let is_of_lot = |name: &TinName| {
            let (tin, _) = self.among(name);
            tin.lot == first.lot && tin.toner == first.toner
        };
        Some((recall.unwrap(), self.names().into_iter().filter(is_of_lot).collect()))
    }

    /// What is thrown away of a lot that was called back.
    pub(super) fn thrown_back(&self, name: &TinName) -> StockEvent {
        self.discard(name, "called back")
    }

    /// What will be left of a mix.
    pub(super) fn keep(&mut self, recipe: usize, mix: MixId, use_by: Option<&str>, is_thinned: bool) {
        let (head, flows) = (MixHead::default(), Flows::default());
        let of = MixTotals { mix, head, flows, cost: Money::ZERO, unpriced: Grams::ZERO };
        let use_by = use_by.and_then(Day::parse);
        let of = Leftover { of, made_of: Vec::new(), tins: Vec::new(), kept: None, use_by, is_thinned };
        self.lefts.push(Left { recipe, of });
    }

    /// What is left of mixes of that recipe and can be used.
    pub(super) fn left_of(&self, recipe: usize, today: Day) -> Option<&Leftover> {
        let mut own = self.lefts.iter().filter(|left| left.recipe == recipe);
        own.find(|left| left.of.unfit(today, &[]).is_none()).map(|left| &left.of)
    }

    /// Leftovers that nobody will use any more, or a part of them.
    pub(super) fn thrown(&self, today: Day, chance: &mut Chance) -> Vec<StockEvent> {
        let mut said = Vec::new();
        for Left { of: left, .. } in &self.lefts {
            let reason = match left.unfit(today, &[]) {
                Some(Unfit::Expired(_)) => "past its day",
                Some(Unfit::Doubtful) => "nobody knows what is in it",
                Some(Unfit::Thinned) if chance.one_in(5) => "thinner in it",
                None if chance.one_in(60) => "lid off; \"hard\"",
                _ => continue,
            };
            let half = Grams::new(left.holds().times(Decimal::new(5, 1)).decimal().round_dp(1));
            let part = Some(half).filter(|half| half.is_positive() && chance.one_in(8));
            said.push(stock::throw_leftover(left, part, reason).unwrap());
        }
        said
    }
}
