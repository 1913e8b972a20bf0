//! A year of an invented shop, the same for the same seed: mixes poured right and over, put right, drawn off, given up,
//! put aside and booked anew. Nothing of it is real.

use pourbook::book::{By, Envelope, Ids, Journal};
use pourbook::catalogue::{Catalogue, TonerCode};
use pourbook::mix::{Event, How, Limits, Phase, Recipe, Session, Start, Vessel, Way, order};
use pourbook::units::{Decimal, Division, Grams, Millilitres, Stamp};

/// 2025-01-06T07:00:00Z, a Monday.
const BEGUN: i64 = 1_736_146_800_000_000;
const DAY: i64 = 86_400_000_000;
const SECOND: i64 = 1_000_000;

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
}

/// The events of so many working days, in the order they happened.
pub(crate) struct Year {
    chance: Chance,
    ids: Ids,
    recipes: Vec<Recipe>,
    day: i64,
    days: i64,
    ready: std::vec::IntoIter<Envelope>,
}

impl Year {
    /// That many days from a Monday on, five of each seven worked, with about eleven mixes a day.
    pub(crate) fn of(days: i64, seed: u64) -> Self {
        let shop = Catalogue::demo();
        let layers =
            shop.colours.iter().flat_map(|colour| colour.layers.iter().map(move |layer| (colour, layer)));
        let recipes =
            layers.filter_map(|(colour, layer)| Recipe::of_layer(&shop, colour, layer).ok()).collect();
        let ready = Vec::new().into_iter();
        Self { chance: Chance(seed), ids: Ids::counted(seed), recipes, day: 0, days, ready }
    }

    fn start(&mut self) -> Start {
        let which = self.chance.below(self.recipes.len() as u64) as usize;
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

    /// Tins change over the year, some have no label, and some labels are not what one would wish for.
    fn tin(&mut self, toner: &TonerCode) -> Option<String> {
        match self.chance.below(20) {
            0 => None,
            1 => Some(format!("{toner}: old; shelf \"2\"")),
            2 => Some(format!("{toner}  (50%)")),
            _ => Some(format!("25-{toner}-{:02}", self.day / 30)),
        }
    }

    /// What comes next in that mix, or nothing if a hand would leave it for today.
    fn step(&mut self, mix: &Session) -> Option<Event> {
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
            let tin = self.tin(&toner);
            if let Ok(event) = mix.rebook(pour, toner, tin) {
                return Some(event);
            }
        }
        let Some(goal) = mix.goal() else { return mix.finish().ok() };
        let toner = mix.recipe().lines()[goal.line].toner.clone();
        if mix.tin(goal.line).is_none()
            && let Some(tin) = self.tin(&toner)
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
        mix.take(lands.max(mix.holds() + tenths(1)), How::Scale).ok()
    }

    fn mix(&mut self, mut at: Stamp, by: &By) -> Vec<Envelope> {
        let id = self.ids.mix(at);
        let start = Event::Started(self.start());
        let (mut journal, first) = Journal::begin(id, &start, self.ids.event(at), at, by).unwrap();
        let mut envelopes = vec![first];
        // One that goes wrong again and again is left standing.
        for _ in 0..60 {
            let Some(event) = self.step(journal.session()) else { break };
            at.0 += SECOND * i64::try_from(8 + self.chance.below(40)).unwrap();
            // What the mix refuses a person does otherwise the next time.
            if let Ok(envelope) = journal.record(&event, self.ids.event(at), at, by) {
                envelopes.push(envelope);
            }
        }
        envelopes
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
            let mut events = Vec::new();
            if self.day % 7 < 5 {
                for mix in 0..i64::try_from(6 + self.chance.below(11)).unwrap() {
                    let operator = ["Robin", "Kim Ö", "Alex; B"][self.chance.below(3) as usize].to_owned();
                    let by = By { bench: "bench 1".into(), operator };
                    events.extend(self.mix(Stamp(BEGUN + self.day * DAY + mix * 1_800 * SECOND), &by));
                }
            }
            self.day += 1;
            self.ready = events.into_iter();
        }
    }
}
