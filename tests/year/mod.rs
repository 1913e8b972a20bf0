//! A year of an invented shop, the same for the same seed: tins delivered, opened, counted and put away; mixes begun from
//! leftovers or from nothing, poured right and over, put right, drawn off, given up, put aside and booked anew; their cups
//! emptied on cars, and what was left kept or thrown away. Nothing of it is real.

mod shelf;

use jiff::tz::Offset;
use pourbook::barcode::Day;
use pourbook::book::{By, Envelope, Ids, Journal};
use pourbook::catalogue::{Catalogue, Toner, TonerCode};
use pourbook::mix::{Ending, Event, How, Limits, Phase, Recipe, Session, Start, Vessel, Way, order};
use pourbook::stock::{self, StockEvent, TinName};
use pourbook::units::{Decimal, Division, Grams, Millilitres, Stamp};
use shelf::Shelf;

/// 2025-01-06T07:00:00Z, a Monday.
const BEGUN: i64 = 1_736_146_800_000_000;
const DAY: i64 = 86_400_000_000;
const SECOND: i64 = 1_000_000;
const MINUTE: i64 = 60 * SECOND;
/// When the cups come back, after the day's beginning.
const EVENING: i64 = 600 * MINUTE;

/// `SplitMix64` (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, most: u64) -> u64 {
        self.next() % most
    }

    fn one_in(&mut self, many: u64) -> bool {
        self.below(many) == 0
    }

    fn of<'a, T>(&mut self, these: &'a [T]) -> &'a T {
        &these[usize::try_from(self.below(these.len() as u64)).unwrap()]
    }

    /// Less than so many tenths of a gram.
    fn grams(&mut self, tenths: u64) -> Grams {
        Grams::new(Decimal::new(i64::try_from(self.below(tenths)).unwrap(), 1))
    }
}

/// A day, told from its beginning.
#[derive(Clone, Copy)]
struct Date(Stamp);

impl Date {
    /// So many days after, as `2025-12-31`.
    fn after(self, days: i64) -> String {
        let at = jiff::Timestamp::from_microsecond(self.0.0 + days * DAY).unwrap();
        Offset::UTC.to_datetime(at).date().to_string()
    }

    fn day(self) -> Day {
        Day::parse(&self.after(0)).unwrap()
    }
}

/// A mix that is done, in its cup.
struct Cup {
    journal: Journal,
    by: By,
    recipe: usize,
    /// On which day it was mixed.
    day: i64,
}

/// The events of so many working days, in the order they were written.
pub(crate) struct Year {
    seed: u64,
    chance: Chance,
    ids: Ids,
    toners: Vec<Toner>,
    recipes: Vec<Recipe>,
    shelf: Shelf,
    cups: Vec<Cup>,
    day: i64,
    days: i64,
    written: Vec<Envelope>,
    ready: std::vec::IntoIter<Envelope>,
}

impl Year {
    /// That many days from a Monday on, five of each seven worked, with about eleven mixes a day. Tins of different seeds
    /// have different labels.
    pub(crate) fn of(days: i64, seed: u64) -> Self {
        let shop = Catalogue::demo();
        let layers =
            shop.colours.iter().flat_map(|colour| colour.layers.iter().map(move |layer| (colour, layer)));
        let recipes: Vec<Recipe> =
            layers.filter_map(|(colour, layer)| Recipe::of_layer(&shop, colour, layer).ok()).collect();
        let is_used = |toner: &&Toner| recipes.iter().any(|recipe| recipe.position(&toner.code).is_some());
        let toners = shop.toners.iter().filter(is_used).cloned().collect();
        Self {
            seed,
            chance: Chance(seed),
            ids: Ids::counted(seed),
            toners,
            recipes,
            shelf: Shelf::default(),
            cups: Vec::new(),
            day: 0,
            days,
            written: Vec::new(),
            ready: Vec::new().into_iter(),
        }
    }

    /// The same from a later day on: their identities come after those of all days before.
    #[allow(dead_code, reason = "a test writes one year only")]
    pub(crate) fn after(self, day: i64) -> Self {
        Self { day, days: self.days.saturating_add(day), ..self }
    }

    /// That long after the day began.
    fn at(&self, after: i64) -> Stamp {
        Stamp(BEGUN + self.day * DAY + after)
    }

    fn today(&self) -> Date {
        Date(self.at(0))
    }

    fn write(&mut self, envelope: Envelope) {
        self.shelf.take(&envelope);
        self.written.push(envelope);
    }

    fn stock(&mut self, event: &StockEvent, at: Stamp) {
        let by = By { bench: "stores".into(), operator: "Sam".into() };
        let envelope = event.envelope(self.ids.event(at), at, &by).unwrap();
        self.write(envelope);
        self.shelf.said(event, at);
    }

    /// What is said of the shelf one after the other, from then on.
    fn all_of(&mut self, events: &[StockEvent], mut at: Stamp) {
        for event in events {
            self.stock(event, at);
            at.0 += SECOND;
        }
    }

    /// What is said of each of those tins, one after the other, from then on.
    fn of_each(
        &mut self,
        tins: Vec<TinName>,
        mut at: Stamp,
        say: impl Fn(&Shelf, &TinName, &mut Chance) -> Option<StockEvent>,
    ) {
        for name in tins {
            if let Some(event) = say(&self.shelf, &name, &mut self.chance) {
                self.stock(&event, at);
                at.0 += SECOND;
            }
        }
    }

    fn morning(&mut self) {
        let (at, today) = (self.at(0), self.today());
        let late = self.shelf.at_last();
        let late: Vec<_> = late.iter().map(|receipt| stock::receive(receipt, None).unwrap()).collect();
        self.all_of(&late, at);
        self.of_each(self.shelf.names(), at, |shelf, name, chance| shelf.put_away(name, today.day(), chance));
        let thrown = self.shelf.thrown(today.day(), &mut self.chance);
        self.all_of(&thrown, at);
        if self.day % 7 == 0 {
            let low: Vec<Toner> =
                self.toners.iter().filter(|toner| self.shelf.is_low(toner)).cloned().collect();
            for toner in low {
                self.receive(&toner, at);
            }
            let stirred = self.shelf.stirred();
            self.all_of(&stirred, self.at(10 * MINUTE));
        }
        if self.day % 28 == 18 {
            let at = self.at(10 * MINUTE);
            self.of_each(self.shelf.names(), at, |shelf, name, chance| Some(shelf.counted(name, chance)));
        }
        if self.day % 91 == 44
            && let Some((called, tins)) = self.shelf.called_back()
        {
            let at = self.at(20 * MINUTE);
            self.stock(&called, at);
            self.of_each(tins, Stamp(at.0 + SECOND), |shelf, name, _| Some(shelf.thrown_back(name)));
        }
    }

    fn receive(&mut self, toner: &Toner, at: Stamp) {
        let receipt = self.shelf.delivery(toner, self.seed, self.today(), &mut self.chance);
        let event = stock::receive(&receipt, None).unwrap();
        self.stock(&event, at);
    }

    fn start(&mut self, which: usize) -> Start {
        let recipe = self.recipes[which].clone();
        let volume = Decimal::from(self.chance.below(90) * 10 + 80);
        let vessel = Vessel {
            name: "1200".into(),
            brim: Millilitres::parse("1200").unwrap(),
            tare: Grams::parse("31.4").unwrap(),
        };
        Start {
            order: order::formula_order(&recipe),
            version: None,
            job: None,
            recipe,
            volume: Millilitres::new(volume),
            vessel,
            limits: Limits { division: Division::TENTH, capacity: None },
        }
    }

    /// A tin of that toner. Most are on the shelf or are sent for, and of some of these it is only booked the
    /// day after that they came; some have no label, and some labels are not what one would wish for.
    fn tin(&mut self, toner: &TonerCode, at: Stamp) -> Option<String> {
        match self.chance.below(30) {
            0 => return None,
            1 => return Some(format!("{toner}: old; shelf \"2\"")),
            2 => return Some(format!("{toner}  (50%)")),
            _ => {}
        }
        let today = self.today();
        let found = self.shelf.turn(toner, today.day()).or_else(|| {
            let toner = self.toners.iter().find(|known| known.code == *toner)?.clone();
            if self.chance.one_in(3) {
                let receipt = self.shelf.delivery(&toner, self.seed, today, &mut self.chance);
                let label = receipt.tin.label.clone();
                self.shelf.is_late(receipt);
                return Some((label, false));
            }
            self.receive(&toner, at);
            self.shelf.turn(&toner.code, today.day())
        });
        let (label, is_open) = found?;
        if !is_open && !self.chance.one_in(10) {
            self.stock(&StockEvent::Opened(stock::name(&label, toner.as_str()).unwrap()), at);
        }
        Some(label)
    }

    /// What comes next in that mix, or nothing if a hand would leave it for today.
    fn step(&mut self, mix: &Session, at: Stamp) -> Option<Event> {
        let tenths = |count: u64| Grams::new(Decimal::new(i64::try_from(count).unwrap_or(0), 1));
        match mix.phase() {
            Phase::Finished | Phase::Abandoned => return None,
            Phase::Over(_) | Phase::Fouled => {
                let ways = mix.ways();
                let usable: Vec<_> = ways
                    .iter()
                    .filter(|choice| choice.way != Way::Restart || self.chance.0.is_multiple_of(8))
                    .collect();
                let way = usable.get(self.chance.below(usable.len().max(1) as u64) as usize)?;
                return mix.steer(way).ok();
            }
            Phase::Drawing => {
                let to = mix.draw_to().map(|to| Division::TENTH.round(to))?;
                return mix.take_drawn(to, How::Scale).ok();
            }
            Phase::Aside => return mix.take_up(Grams::ZERO).ok(),
            Phase::Weighing | Phase::Complete => {}
        }
        let what = self.chance.below(200);
        if what < 3 && !mix.holds().is_zero() {
            return mix.abandon(["wrong colour", "spilt; floor", "job cancelled"][what as usize]).ok();
        }
        if what < 5 {
            return mix.set_aside().ok();
        }
        if what < 8 {
            let taken = Grams::new(Decimal::new(i64::try_from(self.chance.below(40_000)).ok()?, 3));
            if let Ok(event) = mix.take_drawn(mix.holds() - taken, How::Scale) {
                return Some(event);
            }
        }
        if what < 12 && !mix.pours().is_empty() {
            let pour = self.chance.below(mix.pours().len() as u64) as usize;
            let lines = mix.recipe().lines();
            let toner = lines[self.chance.below(lines.len() as u64) as usize].toner.clone();
            let tin = self.tin(&toner, at);
            if let Ok(event) = mix.rebook(pour, toner, tin) {
                return Some(event);
            }
        }
        let Some(goal) = mix.goal() else { return mix.finish().ok() };
        let toner = mix.recipe().lines()[goal.line].toner.clone();
        let in_hand = mix.tin(goal.line);
        let holds = in_hand.and_then(|label| self.shelf.holds(label, &toner));
        if (in_hand.is_none() || holds.is_some_and(|holds| holds < tenths(10)))
            && let Some(tin) = self.tin(&toner, at)
            && in_hand != Some(tin.as_str())
        {
            return Some(Event::TinTaken { toner, tin, marks: None });
        }
        let stop = Division::TENTH.round(goal.stop);
        // A hand is a tenth or two off, short or over, and now and then several grams over.
        let lands = match self.chance.below(100) {
            0..=59 => stop,
            60..=79 => stop + tenths(self.chance.below(4)),
            80..=93 => stop - tenths(self.chance.below(6)),
            _ => stop + tenths(self.chance.below(90)),
        };
        // No more than there is in the tin.
        let lands = holds.map_or(lands, |holds| lands.min(mix.holds() + Division::TENTH.round(holds)));
        mix.take(lands.max(mix.holds() + tenths(1)), How::Scale).ok()
    }

    /// Begins with what is left of an earlier mix of the same.
    fn leftover(&mut self, recipe: usize, journal: &mut Journal, at: Stamp, by: &By) {
        let today = self.today().day();
        let Some(left) = self.shelf.left_of(recipe, today).cloned() else { return };
        if self.chance.one_in(4) {
            return;
        }
        let from = left.of.mix.to_string();
        let due = Event::LeftoverDue { from: Some(from.clone()) };
        self.record(journal, &due, at, by);
        // All of it, or as much as is a good half of the new mix.
        let half = Division::TENTH.round(journal.session().total().times(Decimal::new(5, 1)));
        let reading = left.holds().min(half);
        let added = journal.session().take_leftover(&from, &left.made_of, reading, How::Scale);
        let event = added.unwrap_or(Event::LeftoverDue { from: None });
        self.record(journal, &event, at, by);
    }

    /// Writes it, unless the mix refuses it.
    fn record(&mut self, journal: &mut Journal, event: &Event, at: Stamp, by: &By) {
        if let Ok(envelope) = journal.record(event, self.ids.event(at), at, by) {
            self.write(envelope);
        }
    }

    fn mix(&mut self, mut at: Stamp, by: By) {
        let recipe = usize::try_from(self.chance.below(self.recipes.len() as u64)).unwrap();
        let id = self.ids.mix(at);
        let start = Event::Started(self.start(recipe));
        let (mut journal, first) = Journal::begin(id, &start, self.ids.event(at), at, &by).unwrap();
        self.write(first);
        self.leftover(recipe, &mut journal, at, &by);
        // One that goes wrong again and again is left standing.
        for _ in 0..60 {
            let Some(event) = self.step(journal.session(), at) else { break };
            at.0 += SECOND * i64::try_from(8 + self.chance.below(40)).unwrap();
            // What the mix refuses a person does otherwise the next time.
            self.record(&mut journal, &event, at, &by);
        }
        if journal.session().phase() == Phase::Finished {
            self.cups.push(Cup { journal, by, recipe, day: self.day });
        }
    }

    /// The day's cups come back. Some come a day later, few never.
    fn evening(&mut self) {
        let mut at = self.at(EVENING);
        for cup in std::mem::take(&mut self.cups) {
            if self.chance.one_in(300) {
                continue;
            }
            if cup.day == self.day && self.chance.one_in(20) {
                self.cups.push(cup);
                continue;
            }
            at.0 += 2 * MINUTE;
            self.empty(cup, at);
        }
    }

    fn empty(&mut self, cup: Cup, at: Stamp) {
        let Cup { mut journal, by, recipe, day } = cup;
        let holds = journal.session().holds();
        // With thinner in it there is more in the cup than the mix.
        let tenth = |mass: Grams| Division::TENTH.round(mass);
        let ready =
            self.chance.one_in(4).then(|| tenth(holds.times(Decimal::new(13, 1)) + Grams::new(Decimal::ONE)));
        let percent = if self.chance.one_in(4) { 0 } else { 4 + self.chance.below(40) };
        let left = tenth(ready.unwrap_or(holds).times(Decimal::new(i64::try_from(percent).unwrap(), 2)));
        let keep = left.is_positive() && !self.chance.one_in(3);
        let use_by = (keep && !self.chance.one_in(8)).then(|| self.today().after(28));
        let reasons = ["more mixed than the job took", "hardened; lid \"off\"", "wrong variant"];
        let reason = (!keep).then(|| (*self.chance.of(&reasons)).to_owned());
        let car = self.day * 3 + i64::try_from(self.chance.below(3)).unwrap();
        let job = match self.chance.below(12) {
            0 => None,
            1 => Some(format!("{car}; \"left\"  door: 50 %")),
            _ => Some(format!("R-{car}")),
        };
        let is_thinned = ready.is_some();
        let ending = Ending { ready, left, keep, use_by: use_by.clone(), reason, job };
        let event = journal.session().empty(ending, How::Scale).unwrap();
        if keep {
            self.shelf.keep(recipe, journal.mix(), use_by.as_deref(), is_thinned);
        }
        self.record(&mut journal, &event, at, &by);
        // A pour is found to have been another toner, its paint being on the car, on the shelf and in the bin.
        if day == self.day && self.chance.one_in(20) && !journal.session().pours().is_empty() {
            let pour = usize::try_from(self.chance.below(journal.session().pours().len() as u64)).unwrap();
            let toner = self.chance.of(journal.session().recipe().lines()).toner.clone();
            let tin = self.tin(&toner, at);
            if let Ok(event) = journal.session().rebook(pour, toner, tin) {
                self.record(&mut journal, &event, Stamp(at.0 + MINUTE), &by);
            }
        }
    }
}

impl Iterator for Year {
    type Item = Envelope;

    fn next(&mut self) -> Option<Envelope> {
        loop {
            if let Some(envelope) = self.ready.next() {
                return Some(envelope);
            }
            if self.day >= self.days {
                return None;
            }
            if self.day % 7 < 5 {
                self.morning();
                for mix in 1..=i64::try_from(6 + self.chance.below(11)).unwrap() {
                    let operator = (*self.chance.of(&["Robin", "Kim Ö", "Alex; B"])).to_owned();
                    self.mix(self.at(mix * 30 * MINUTE), By { bench: "bench 1".into(), operator });
                }
                self.evening();
            }
            self.day += 1;
            self.ready = std::mem::take(&mut self.written).into_iter();
        }
    }
}
