//! What happened, page by page: deliveries, tins stirred, and mixes weighed by a hand that is sometimes a little quick.

use super::rack::Rack;
use super::{DAY, MINUTE, PastError};
use crate::book::{By, Envelope, Ids, Journal};
use crate::catalogue::{Catalogue, Colour, Toner};
use crate::job::JobJournal;
use crate::mix::{Choice, Event, Goal, How, Limits, Phase, Recipe, Start, Vessel, Way, order};
use crate::scale::Chance;
use crate::stock::{Receipt, StockEvent};
use crate::units::{Decimal, Division, Grams, Millilitres, Stamp};
use rust_decimal::prelude::FromPrimitive as _;

/// The painters: nobody real. How much more than the estimate each mixes, in percent, and how often in a hundred a pour
/// of theirs goes well over.
pub(super) const PAINTERS: [(&str, u32, f64); 3] = [("Robin", 12, 2.0), ("Kim", 34, 7.0), ("Alex", 20, 4.0)];

/// More steps than any mix takes.
const MOST_STEPS: u32 = 200;

/// What is written so far, and what it is written with.
pub(super) struct Diary<'a> {
    pub(super) shop: &'a Catalogue,
    pub(super) ids: Ids,
    pub(super) chance: Chance,
    pub(super) rack: Rack,
    events: Vec<Envelope>,
}

/// A mix that was weighed to its end.
pub(super) struct Weighed {
    pub(super) journal: Journal,
    /// When it was done.
    pub(super) done: Stamp,
    /// All that happened to it, and when.
    pub(super) told: Vec<(Stamp, Event)>,
}

/// A part of one as a decimal.
pub(super) fn decimal(part: f64) -> Decimal {
    Decimal::from_f64(part).unwrap_or_default().round_dp(4)
}

/// A day as `2026-12-31`.
pub(super) fn day_of(at: Stamp) -> String {
    let at = jiff::Timestamp::from_microsecond(at.0).unwrap_or_default();
    jiff::tz::Offset::UTC.to_datetime(at).date().to_string()
}

impl<'a> Diary<'a> {
    pub(super) fn new(shop: &'a Catalogue, ids: Ids, seed: u64) -> Self {
        Self { shop, ids, chance: Chance::new(seed), rack: Rack::default(), events: Vec::new() }
    }

    /// Everything in the order it happened; of what happened at once the order it was told in.
    pub(super) fn into_events(mut self) -> Vec<Envelope> {
        self.events.sort_by_key(|event| event.at);
        self.events
    }

    pub(super) fn write(&mut self, envelope: Envelope) {
        self.events.push(envelope);
    }

    /// Chance picks one of so many.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "a handful"
    )]
    pub(super) fn one_of(&mut self, many: usize) -> usize {
        ((self.chance.part() * many as f64) as usize).min(many.saturating_sub(1))
    }

    /// A colour that is in use: the first ones of the list far more often than the last.
    pub(super) fn any_colour(&mut self, wanted: impl Fn(&Colour) -> bool) -> Option<&'a Colour> {
        let all: Vec<&Colour> =
            self.shop.colours.iter().filter(|colour| colour.retired.is_none() && wanted(colour)).collect();
        let far = self.chance.part() * self.chance.part();
        let at = self.one_of(all.len());
        let at = if far < 0.3 { at / 2 } else { at };
        all.get(at).copied()
    }

    fn stock(&mut self, event: &StockEvent, at: Stamp, by: &By) -> Result<(), PastError> {
        let envelope = event.envelope(self.ids.event(at), at, by)?;
        self.write(envelope);
        Ok(())
    }

    /// A tin comes. Each lot can be used for two years, but one that had lain at the supplier's.
    fn receive(&mut self, toner: &Toner, at: Stamp) -> Result<Receipt, PastError> {
        let days = if self.chance.part() < 0.05 { 100 } else { 730 };
        let lot = self.one_of(9_000) + 1_000;
        let (today, expires) = (day_of(at), day_of(Stamp(at.0 + days * DAY)));
        let year = today.get(2..4).and_then(|year| year.parse().ok()).unwrap_or_default();
        let receipt = self.rack.receive(toner, year, u32::try_from(lot).unwrap_or(1_000), expires);
        self.stock(&StockEvent::Received(receipt.clone()), at, &stores())?;
        Ok(receipt)
    }

    /// The shop opens: a tin of everything.
    pub(super) fn first_delivery(&mut self, day: Stamp) -> Result<(), PastError> {
        for (place, toner) in (0..).zip(&self.shop.toners) {
            self.receive(toner, Stamp(day.0 + (7 * 60 + place) * MINUTE))?;
        }
        Ok(())
    }

    /// Mondays' delivery, and what was scraped out put away.
    pub(super) fn restock(&mut self, day: Stamp) -> Result<(), PastError> {
        for (tin, booked) in self.rack.scrape() {
            let event = StockEvent::Emptied { tin, booked, unnamed: None };
            self.stock(&event, Stamp(day.0 + 6 * 60 * MINUTE + 30 * MINUTE), &stores())?;
        }
        if (day.0 / DAY + 4).rem_euclid(7) == 1 {
            for (place, toner) in (0..).zip(&self.shop.toners) {
                if self.rack.is_low(toner) {
                    self.receive(toner, Stamp(day.0 + (7 * 60 + place) * MINUTE))?;
                }
            }
        }
        Ok(())
    }

    /// Every open tin is stirred.
    pub(super) fn stir(&mut self, at: Stamp) -> Result<(), PastError> {
        let tins: Vec<_> = self.rack.open().collect();
        for tin in tins {
            self.stock(&StockEvent::Stirred(tin), at, &stores())?;
        }
        Ok(())
    }

    /// A mix of that recipe, weighed to its end; the moment that was.
    pub(super) fn weigh(
        &mut self,
        recipe: Recipe,
        volume: Millilitres,
        job: Option<&JobJournal>,
        painter: usize,
        mut at: Stamp,
    ) -> Result<Weighed, PastError> {
        let (by, overs) = who(painter);
        let start = Event::Started(self.start(recipe, volume, job)?);
        let id = self.ids.mix(at);
        let (mut journal, first) = Journal::begin(id, &start, self.ids.event(at), at, &by)?;
        self.write(first);
        let mut told = vec![(at, start)];
        for _ in 0..MOST_STEPS {
            at.0 += MINUTE / 6 + i64::try_from(self.one_of(30)).unwrap_or(0) * MINUTE / 60;
            let Some(event) = self.step(&journal, overs, at)? else { break };
            let envelope = journal.record(&event, self.ids.event(at), at, &by)?;
            self.write(envelope);
            if let Event::Poured(pour) = &event
                && let Some(tin) = &pour.tin
            {
                self.rack.take(&pour.toner, tin, pour.after - pour.before);
            }
            told.push((at, event));
        }
        Ok(Weighed { journal, done: at, told })
    }

    fn start(
        &self,
        recipe: Recipe,
        volume: Millilitres,
        job: Option<&JobJournal>,
    ) -> Result<Start, PastError> {
        let wanted = volume.times(Decimal::new(11, 1));
        let cups = self.shop.cups.iter().filter_map(|cup| Some((cup, cup.tare?)));
        let fits = cups.clone().filter(|(cup, _)| cup.brim >= wanted).min_by_key(|(cup, _)| cup.brim);
        let (cup, tare) = fits
            .or_else(|| cups.max_by_key(|(cup, _)| cup.brim))
            .ok_or_else(|| PastError::other("no cup has a weight of its own"))?;
        Ok(Start {
            order: order::formula_order(&recipe),
            recipe,
            volume: volume.min(cup.brim.times(Decimal::new(9, 1))),
            vessel: Vessel { name: cup.name.clone(), brim: cup.brim, tare },
            limits: Limits { division: Division::TENTH, capacity: None },
            version: None,
            job: job.map(|job| job.job().name.clone()),
        })
    }

    /// What comes next; none once it is done.
    fn step(&mut self, journal: &Journal, overs: f64, at: Stamp) -> Result<Option<Event>, PastError> {
        let mix = journal.session();
        let refused = |refusal| PastError::Journal(crate::book::JournalError::Refused(refusal));
        let event = match mix.phase() {
            Phase::Finished | Phase::Abandoned => return Ok(None),
            Phase::Over(_) | Phase::Fouled => {
                let ways = mix.ways();
                let sensible = |choice: &&Choice| !matches!(choice.way, Way::Restart);
                // Most take the most sparing way; now and then it is left as it is, or more is made.
                let at = if self.chance.part() < 0.75 { 0 } else { self.one_of(ways.len()) };
                let way = ways.iter().filter(sensible).nth(at).or_else(|| ways.iter().find(sensible));
                mix.steer(way.ok_or_else(|| PastError::other("no way out"))?)
            }
            Phase::Drawing => {
                let to = mix.draw_to().ok_or_else(|| PastError::other("drawn off to nowhere"))?;
                mix.take_drawn(Division::TENTH.round(to), How::Scale)
            }
            Phase::Aside => mix.take_up(Grams::ZERO),
            Phase::Weighing | Phase::Complete => match mix.goal() {
                None => mix.finish(),
                Some(goal) => match self.tin(journal, goal, at)? {
                    Some(event) => return Ok(Some(event)),
                    None => mix.take(self.lands(mix.holds(), goal, overs), How::Scale),
                },
            },
        };
        event.map(Some).map_err(refused)
    }

    /// The tin that toner is poured from, where none is in the hand yet.
    fn tin(&mut self, journal: &Journal, goal: Goal, at: Stamp) -> Result<Option<Event>, PastError> {
        let mix = journal.session();
        let Some(line) = mix.recipe().lines().get(goal.line).filter(|_| mix.tin(goal.line).is_none()) else {
            return Ok(None);
        };
        let toner = line.toner.clone();
        let wanted = (goal.stop - mix.holds()).times(Decimal::new(13, 1)) + Grams::new(Decimal::TEN);
        let mut found = self.rack.tin_for(&toner, wanted);
        if found.is_none() {
            // Somebody is sent for another: it came a little earlier.
            let sheet = self.shop.toner(toner.as_str());
            let sheet = sheet.ok_or_else(|| PastError::other(format!("no toner {toner}")))?;
            self.receive(sheet, Stamp(at.0 - MINUTE / 4))?;
            found = self.rack.tin_for(&toner, wanted);
        }
        let (label, opened) =
            found.ok_or_else(|| PastError::other(format!("a tin of {toner} is too small")))?;
        if opened {
            let tin = crate::stock::TinName { label: label.clone(), toner: toner.clone() };
            self.stock(&StockEvent::Opened(tin), Stamp(at.0 - MINUTE / 10), &stores())?;
        }
        Ok(Some(Event::TinTaken { toner, tin: label, marks: None }))
    }

    /// Where a hand stops that was to stop there.
    fn lands(&mut self, holds: Grams, goal: Goal, overs: f64) -> Grams {
        let tenth = Grams::new(Decimal::new(1, 1));
        let stop = Division::TENTH.round(goal.stop);
        let chance = self.chance.part() * 100.0;
        let more = if chance < overs {
            let share = decimal(0.02 + 0.05 * self.chance.part());
            (goal.stop - holds).times(share) + tenth.times(Decimal::from(2 + self.one_of(9)))
        } else if chance < 22.0 {
            tenth
        } else {
            Grams::ZERO
        };
        Division::TENTH.round(stop + more).max(holds + tenth)
    }
}

/// The one who keeps the shelf.
pub(super) fn stores() -> By {
    By { bench: "stores".to_owned(), operator: "Jo".to_owned() }
}

/// A painter, and how often in a hundred a pour of theirs goes well over.
pub(super) fn who(painter: usize) -> (By, f64) {
    let (name, _, overs) = PAINTERS.get(painter).copied().unwrap_or(("Robin", 0, 0.0));
    (By { bench: "bench 1".to_owned(), operator: name.to_owned() }, overs)
}
