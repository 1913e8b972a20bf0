//! A repair, from the panels to the empty cups; and a mix that nobody wanted in the end.

use super::diary::{Diary, PAINTERS, day_of, decimal, who};
use super::{DAY, MINUTE, PastError};
use crate::book::{By, Journal};
use crate::catalogue::{Colour, Layer, Product, Role};
use crate::job::card::{AtAngle, Gun, Light, Sight, View};
use crate::job::{
    Activation, CardArea, CardChosen, CardCompared, CardMade, Coat, Film, Job, JobEvent, JobJournal, Joined,
    LayerPlan, Opening, Panel, Surface, Timer, needed,
};
use crate::mix::{Additions, Ending, Event, How, LinePart, Recipe, activated_at};
use crate::units::{Area, Decimal, Grams, Millilitres, Share, Stamp};
use std::borrow::Cow;

/// How far a repair is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Upto {
    /// The cards are made, and nothing is chosen yet.
    TheCards,
    /// The car is done.
    TheEnd,
}

/// What is repaired: nobody's car.
const WORK: [(&str, &str, &[&str]); 8] = [
    ("front wing and bumper", "hatchback, small", &["front wing", "front bumper"]),
    ("tailgate", "estate, middle", &["tailgate"]),
    ("two doors, left", "saloon, middle", &["front door", "rear door"]),
    ("bonnet", "van", &["bonnet"]),
    ("rear wing", "saloon, large", &["rear wing"]),
    ("boot lid and rear bumper", "saloon, middle", &["boot lid", "rear bumper"]),
    ("front door", "hatchback, small", &["front door"]),
    ("bonnet and front wing", "estate, large", &["bonnet", "front wing"]),
];

/// What stays on the car, and in gun and strainer: invented, about what is usual (common practice, no source).
const EFFICIENCY: Decimal = Decimal::from_parts(60, 0, 0, false, 2);
const BEHIND_ML: u32 = 40;

/// The card's area in square metres: invented.
const CARD_M2: Decimal = Decimal::from_parts(3, 0, 0, false, 2);

/// A card of a set: how many coats, how the side tone looked in the sun, and what was measured of it near the gloss and
/// far from it. Invented.
struct Held {
    coats: u32,
    seen: &'static str,
    measured: [&'static str; 2],
}

const CARDS: [Held; 3] = [
    Held {
        coats: 2,
        seen: "a little darker",
        measured: ["25: car 84.1 -1.2 3.9 card 83.0 -1.0 3.0", "110: car 62.3 0.4 5.1 card 60.6 0.5 4.4"],
    },
    Held {
        coats: 3,
        seen: "match",
        measured: ["25: car 84.1 -1.2 3.9 card 84.3 -1.2 3.8", "110: car 62.3 0.4 5.1 card 62.0 0.4 5.0"],
    },
    Held {
        coats: 4,
        seen: "a little lighter",
        measured: ["25: car 84.1 -1.2 3.9 card 85.2 -1.4 4.6", "110: car 62.3 0.4 5.1 card 63.4 0.4 5.7"],
    },
];

/// One layer of it.
struct Work<'a> {
    layer: Cow<'a, Layer>,
    product: &'a Product,
    recipe: Recipe,
    coats: u32,
    /// How much of the panels it goes on, in square metres.
    area: Decimal,
    /// What the sheet and the area ask for.
    estimate: Millilitres,
}

/// Whom and what the telling is about.
struct Told {
    journal: JobJournal,
    by: By,
    painter: usize,
    at: Stamp,
}

impl<'a> Diary<'a> {
    fn happened(&mut self, told: &mut Told, event: &JobEvent) -> Result<(), PastError> {
        let (envelope, _) = told.journal.record(event, self.ids.event(told.at), told.at, &told.by)?;
        self.write(envelope);
        Ok(())
    }

    /// A repair in that colour, begun then.
    pub(super) fn repair(
        &mut self,
        colour: &'a Colour,
        number: u32,
        at: Stamp,
        upto: Upto,
    ) -> Result<(), PastError> {
        let place = self.one_of(WORK.len());
        let Some((what, vehicle, names)) = WORK.get(place).copied() else { return Ok(()) };
        let area = |name: &str| self.shop.panel(name).and_then(|panel| panel.area);
        let panels: Vec<Panel> = names
            .iter()
            .map(|name| Panel { name: (*name).to_owned(), area: area(name).map(Area::decimal) })
            .collect();
        let areas: Vec<Area> = names.iter().filter_map(|name| area(name)).collect();
        let works = self.works(colour, &areas)?;
        let plan = |work: &Work<'_>| LayerPlan {
            product: Some(work.product.code.to_string()),
            coats: (!Job::wants_cards(work.layer.role)).then_some(work.coats),
            shade: work.layer.shade.clone(),
            asked: Some(work.estimate),
            area: Some(work.area),
            flash_off: work.product.flash_off,
            bake: work.product.bake.map(|bake| bake.minutes),
            ..LayerPlan::of(work.layer.role)
        };
        let year = day_of(at).get(2..4).unwrap_or("26").to_owned();
        let opening = JobEvent::Opened(Opening {
            name: format!("{year}-{number} {what}"),
            vehicle: Some(vehicle.to_owned()),
            colour: colour.code.clone(),
            variant: colour.variant.clone(),
            finish: colour.finish,
            panels,
            layers: works.iter().map(plan).collect(),
        });
        let painter = self.one_of(PAINTERS.len());
        let (by, _) = who(painter);
        let id = self.ids.job(at);
        let (journal, envelope) = JobJournal::begin(id, &opening, self.ids.event(at), at, &by)?;
        self.write(envelope);
        let mut told = Told { journal, by, painter, at };
        told.at.0 += 10 * MINUTE;
        for work in works.iter().filter(|work| Job::wants_cards(work.layer.role)) {
            self.cards(&mut told, work, upto)?;
        }
        if upto == Upto::TheCards {
            return Ok(());
        }
        for work in &works {
            self.layer(&mut told, work)?;
        }
        self.happened(&mut told, &JobEvent::Closed)
    }

    fn works(&self, colour: &'a Colour, areas: &[Area]) -> Result<Vec<Work<'a>>, PastError> {
        let mut works = Vec::new();
        // Clear lies on whatever has no gloss of its own, out of the tin where it has no formula.
        let has_clear = !colour.finish.excludes().contains(&Role::Clear);
        let clear = has_clear.then(|| self.shop.layer_of(colour, Role::Clear, None)).flatten();
        let clear = clear.filter(|_| colour.layer(Role::Clear).is_none());
        for layer in colour.layers.iter().map(Cow::Borrowed).chain(clear) {
            let missing = || PastError::other(format!("no product for the {}", layer.role.name()));
            let product = self.shop.product_for(&layer).ok_or_else(missing)?;
            let recipe = Recipe::of_layer(self.shop, colour, &layer).map_err(PastError::other)?;
            let recipe =
                recipe.activated(self.shop, product, Additions::default()).map_err(PastError::other)?;
            let film = Film::of_sheet(self.shop, product, &recipe, None, Share::new(EFFICIENCY))
                .map_err(PastError::other)?;
            // The ground coat is kept small, and the blender goes wider: invented shares of the panels.
            let share = match layer.role {
                Role::Undercoat => Decimal::new(35, 2),
                Role::Ground => Decimal::new(60, 2),
                Role::Blender => Decimal::new(80, 2),
                Role::Base | Role::Pearl | Role::Clear => Decimal::ONE,
            };
            let area: Area = areas.iter().map(|area| area.times(share)).sum();
            let need = needed(Surface::of([area], [], film.coats), film, Millilitres::new(BEHIND_ML.into()))
                .map_err(PastError::other)?;
            let estimate = Millilitres::new(need.total().decimal().ceil());
            works.push(Work { layer, product, recipe, coats: film.coats, area: area.decimal(), estimate });
        }
        // From the panel outwards, whatever order the colour's file has.
        works.sort_by_key(|work: &Work<'_>| work.layer.role);
        Ok(works)
    }

    /// The cards of a layer: weighed, sprayed, held against the car, and one chosen.
    fn cards(&mut self, told: &mut Told, work: &Work<'_>, upto: Upto) -> Result<(), PastError> {
        let role = work.layer.role;
        let cards = CARDS.map(|card| CardArea { area: Area::new(CARD_M2), coats: card.coats });
        let film =
            Film::of_sheet(self.shop, work.product, &work.recipe, Some(work.coats), Share::new(EFFICIENCY))
                .map_err(PastError::other)?;
        let need = needed(Surface::of([], cards, film.coats), film, Millilitres::new(BEHIND_ML.into()));
        let wanted = need.map_err(PastError::other)?.total().max(Millilitres::new(60.into()));
        let mix = self.mixed(told, work, wanted, true)?;
        for (card, held) in (1..).zip(CARDS) {
            told.at.0 += 6 * MINUTE;
            let made = CardMade {
                over: Some("the undercoat and the ground coat of the car".to_owned()),
                gun: Some(Gun::parse("tip=1.3 mm, pressure=1.8 bar").map_err(PastError::other)?),
                mix: Some(mix.mix()),
                ..CardMade::of(card, role, held.coats)
            };
            self.happened(told, &JobEvent::CardMade(made))?;
            let sight = Sight::parse(View::SideTone, Light::Sun, held.seen).map_err(PastError::other)?;
            let measured = held.measured.iter().map(|text| AtAngle::parse(text));
            let measured = measured.collect::<Result<_, _>>().map_err(PastError::other)?;
            let compared = CardCompared { card, seen: String::new(), sights: vec![sight], measured };
            self.happened(told, &JobEvent::CardCompared(compared))?;
        }
        told.at.0 += 4 * MINUTE;
        if upto == Upto::TheEnd {
            let chosen = CardChosen { card: Some(2), ..CardChosen::of(role, 3) };
            self.happened(told, &JobEvent::CardChosen(chosen))?;
        }
        let used = wanted.times(decimal(0.6 + 0.35 * self.chance.part()));
        self.emptied(told, mix, used, "cards done")
    }

    /// A layer for the car: mixed, sprayed coat by coat, baked, and its cup emptied.
    fn layer(&mut self, told: &mut Told, work: &Work<'_>) -> Result<(), PastError> {
        let role = work.layer.role;
        let (_, more, _) = PAINTERS.get(told.painter).copied().unwrap_or_default();
        let share = Decimal::ONE + Decimal::new(i64::from(more), 2);
        let wanted = (work.estimate.times(share).decimal() / Decimal::TEN).ceil() * Decimal::TEN;
        let mix = self.mixed(told, work, Millilitres::new(wanted), false)?;
        let coats = told.journal.job().standing(role).and_then(|layer| layer.wanted).unwrap_or(work.coats);
        for coat in 1..=coats {
            told.at.0 += 4 * MINUTE;
            let flash_off = work.product.flash_off;
            self.happened(told, &JobEvent::CoatSprayed(Coat { layer: role, coat, at: told.at, flash_off }))?;
            told.at.0 += i64::from(flash_off.unwrap_or(0)) * MINUTE;
        }
        if let Some(bake) = work.product.bake {
            let timer = Timer::Bake { layer: role };
            let started = JobEvent::TimerStarted { timer, from: told.at, minutes: bake.minutes };
            self.happened(told, &started)?;
            told.at.0 += i64::from(bake.minutes) * MINUTE;
        }
        self.happened(told, &JobEvent::LayerFinished { layer: role })?;
        // About a seventh less than the estimate is used, as it happens; sometimes half, sometimes more.
        let used = work.estimate.times(decimal((0.86 + 0.11 * self.chance.normal()).clamp(0.5, 1.3)));
        let why = if work.product.is_activated() { "pot life over" } else { "more mixed than the job took" };
        self.emptied(told, mix, used, why)
    }

    /// A mix for the job, joined to it, with its pot life where it has one.
    fn mixed(
        &mut self,
        told: &mut Told,
        work: &Work<'_>,
        volume: Millilitres,
        for_cards: bool,
    ) -> Result<Journal, PastError> {
        let recipe = work.recipe.clone();
        let begun = told.at;
        let weighed = self.weigh(recipe.clone(), volume, Some(&told.journal), told.painter, begun)?;
        let mix = weighed.journal;
        told.at = weighed.done;
        let estimate = (!for_cards).then_some(work.estimate);
        let joined = Joined { mix: mix.mix(), layer: work.layer.role, for_cards, estimate };
        self.happened(told, &JobEvent::MixJoined(joined))?;
        let since = activated_at(weighed.told.iter().map(|(at, event)| (*at, event)), |toner| {
            recipe.is_hardener(toner)
        });
        if let (Some(since), Some(pot_life)) = (since, work.product.pot_life) {
            self.happened(told, &JobEvent::Activated(Activation { mix: mix.mix(), since, pot_life }))?;
        }
        told.at.0 += 3 * MINUTE;
        Ok(mix)
    }

    /// The cup comes back: so much was used, and the rest is kept where that can be, or thrown away.
    fn emptied(
        &mut self,
        told: &mut Told,
        mut mix: Journal,
        used: Millilitres,
        why: &str,
    ) -> Result<(), PastError> {
        let session = mix.session();
        let used = used.min(session.end_volume());
        let share = used.ratio_to(session.end_volume()).unwrap_or(Decimal::ONE);
        let left = Grams::new((session.holds() - session.holds().times(share)).decimal().round_dp(1));
        let left = left.max(Grams::ZERO).min(session.holds());
        // What has hardener in it cannot be kept.
        let lines = session.recipe().lines();
        let can_stay = lines.iter().all(|line| line.part != LinePart::Hardener);
        let keep = can_stay && left > Grams::new(Decimal::from(40_u32)) && self.chance.part() < 0.6;
        let ending = Ending {
            ready: None,
            left,
            keep,
            use_by: keep.then(|| day_of(Stamp(told.at.0 + 30 * DAY))),
            reason: (!keep).then(|| why.to_owned()),
            job: Some(told.journal.job().name.clone()),
        };
        let event = session.empty(ending, How::Scale).map_err(crate::book::JournalError::Refused)?;
        told.at.0 += 2 * MINUTE;
        let envelope = mix.record(&event, self.ids.event(told.at), told.at, &told.by)?;
        self.write(envelope);
        Ok(())
    }

    /// A mix that was begun and given up: the wrong variant, or the car did not come.
    pub(super) fn given_up(&mut self, at: Stamp) -> Result<(), PastError> {
        let Some(colour) = self.any_colour(|_| true) else { return Ok(()) };
        let Some(layer) = colour.layers.iter().find(|layer| matches!(layer.role, Role::Base | Role::Ground))
        else {
            return Ok(());
        };
        let recipe = Recipe::of_layer(self.shop, colour, layer).map_err(PastError::other)?;
        let painter = self.one_of(PAINTERS.len());
        let (by, _) = who(painter);
        let volume = Millilitres::new(Decimal::from(120 + 10 * self.one_of(20)));
        let weighed = self.weigh(recipe, volume, None, painter, at)?;
        let (mut mix, at) = (weighed.journal, weighed.done);
        let reasons = ["wrong variant", "the car did not come", "spilt"];
        let why = reasons.get(self.one_of(reasons.len())).copied().unwrap_or("spilt");
        let ending =
            Ending { left: mix.session().holds(), reason: Some(why.to_owned()), ..Ending::default() };
        let event: Event =
            mix.session().empty(ending, How::Scale).map_err(crate::book::JournalError::Refused)?;
        let at = Stamp(at.0 + 5 * MINUTE);
        let envelope = mix.record(&event, self.ids.event(at), at, &by)?;
        self.write(envelope);
        Ok(())
    }
}
