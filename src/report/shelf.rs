//! What is on the shelf, how long it lasts, and what to order: the figures from plain rows of the book.
//!
//! Use is what was poured from tins; what a stocktake found missing is none. A day's use is counted over whole days of
//! UTC before today, days on which nothing was used included. What is on order already the book does not know.

mod moves;
pub mod page;
mod rows;
#[cfg(test)]
mod tests;
pub mod words;

pub use moves::{Move, moves};
pub use rows::{needed, read};

use super::reorder::{Demand, LeadTime, ReorderPoint, days_of_cover, packs, reorder_point, up_to};
use crate::book::Daily;
use crate::catalogue::{Swatch, Toner, TonerCode};
use crate::stock::{Recall, Tin, Today, in_turn};
use crate::units::{Decimal, Grams, Share, Stamp};
use rust_decimal::prelude::ToPrimitive as _;
use std::collections::{BTreeMap, BTreeSet};

/// Fewer days than a week say nothing of what a week uses (common practice, no source).
const LEAST_DAYS: i64 = 7;

/// By what it is ordered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Terms {
    /// Over how many days before today use is counted.
    pub days: u16,
    /// How many days an order takes to come.
    pub lead_days: u16,
    /// The share of orders during whose time nothing is to run out.
    pub service: Share,
}

impl Default for Terms {
    fn default() -> Self {
        Self { days: 90, lead_days: 7, service: Share::from_percent(Decimal::new(95, 0)) }
    }
}

/// What the book and the shop's files say, in rows.
#[derive(Clone, Copy, Debug)]
pub struct Rows<'a> {
    /// The toners of the shop.
    pub toners: &'a [Toner],
    /// Every tin there ever was.
    pub tins: &'a [Tin],
    /// The lots that were called back.
    pub recalls: &'a [Recall],
    /// What happened on the days of [`Window::of`].
    pub daily: &'a [Daily],
    /// What the mixes that are not done still need.
    pub needed: &'a [(TonerCode, Grams)],
    /// What the jobs that are open still need, beyond those mixes.
    pub for_jobs: &'a [(TonerCode, Grams)],
    /// What was poured without a tin's name and is still to be found missing in tins, by [`poured_unnamed`].
    ///
    /// [`poured_unnamed`]: crate::stock::poured_unnamed
    pub unnamed: &'a BTreeMap<TonerCode, Grams>,
}

/// Days since 1970-01-01, of UTC, both included.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    /// The first.
    pub first: i64,
    /// The last.
    pub last: i64,
}

/// A day has so many microseconds.
const DAY: i64 = 86_400_000_000;

const fn day_of(at: Stamp) -> i64 {
    at.0.div_euclid(DAY)
}

impl Window {
    /// So many whole days before the one that it is now.
    pub fn of(now: Stamp, days: u16) -> Self {
        let today = day_of(now);
        Self { first: today.saturating_sub(i64::from(days)), last: today.saturating_sub(1) }
    }

    /// How many days.
    fn days(self) -> i64 {
        self.last.saturating_sub(self.first).saturating_add(1)
    }
}

/// How a tin on the shelf is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TinState {
    /// Nobody opened it.
    Unopened,
    /// It is in use.
    Open,
    /// By the book nothing is in it, or less: it is to be weighed.
    Empty,
    /// It may be used no more.
    Expired,
    /// Its lot was called back.
    Recalled,
}

impl TinState {
    /// In a word or two.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Unopened => "unopened",
            Self::Open => "open",
            Self::Empty => "weigh it",
            Self::Expired => "expired",
            Self::Recalled => "called back",
        }
    }

    /// Whether it can be poured from.
    pub const fn is_usable(self) -> bool {
        matches!(self, Self::Unopened | Self::Open | Self::Empty)
    }
}

/// A tin on the shelf.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShelfTin {
    /// What the book says of it.
    pub tin: Tin,
    /// How it is.
    pub state: TinState,
}

impl ShelfTin {
    /// How much of what came in it is left; none where that is not known. Never below nothing.
    pub fn level(&self) -> Option<Share> {
        self.tin.holds.max(Grams::ZERO).share_of(self.tin.net?)
    }
}

/// What was used of a toner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Use {
    /// All of it.
    pub total: Grams,
    /// Over so many days.
    pub days: i64,
    /// A day's; none where the days are too few to say.
    pub a_day: Option<Demand>,
}

/// What to order of a toner.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Order {
    /// How much is missing, in grams to a tenth, rounded up.
    pub mass: Grams,
    /// How many whole tins of the size that came last that is.
    pub packs: Option<u64>,
    /// What was in the tin that came last; none where no tin was ever received.
    pub pack: Option<Grams>,
    /// Its size as its receipt says it, such as `1 L`; none where it does not.
    pub size: Option<String>,
    /// The label of that tin.
    pub like: Option<String>,
    /// The item's number, as on the tin that came last.
    pub item: Option<String>,
    /// Who sent that.
    pub supplier: Option<String>,
}

/// A toner on the shelf.
#[derive(Clone, Debug, PartialEq)]
pub struct TonerShelf {
    /// Its code.
    pub toner: TonerCode,
    /// What people call it; empty where the shop's files do not have it.
    pub name: String,
    /// What it looks like.
    pub swatch: Option<Swatch>,
    /// Its tins in the order in which they are to be used up.
    pub tins: Vec<ShelfTin>,
    /// What is in those that can be used, what was poured without a tin's name taken off.
    pub holds: Grams,
    /// So much was poured without a tin's name, and is in none of them any more; at most what they hold by the book.
    pub unnamed: Grams,
    /// How much that is of what came in them.
    pub level: Option<Share>,
    /// What was used.
    pub used: Use,
    /// What the mixes that are not done still need.
    pub needed: Grams,
    /// What the jobs that are open still need, beyond those mixes.
    pub for_jobs: Grams,
    /// For how many days it lasts at that use, what is needed taken off; none where nothing is used, or nobody knows.
    pub cover: Option<f64>,
    /// How little may be left before it is time to order.
    pub point: Option<ReorderPoint>,
    /// What to order now, if anything.
    pub order: Option<Order>,
}

/// The shelf.
#[derive(Clone, Debug, PartialEq)]
pub struct Shelf {
    /// The day it is.
    pub today: Today,
    /// By what it is ordered.
    pub terms: Terms,
    /// The toners, by their codes.
    pub toners: Vec<TonerShelf>,
    /// The tins that are not on the shelf any more: said to be empty, or thrown away.
    pub gone: Vec<Tin>,
    /// The lots that were called back.
    pub recalls: Vec<Recall>,
    /// What open jobs need that could not be counted in, in sentences.
    pub not_counted: Vec<String>,
}

impl Shelf {
    /// Reckons it.
    pub fn of(rows: Rows<'_>, today: Today, now: Stamp, terms: Terms) -> Self {
        let window = Window::of(now, terms.days);
        let mut codes: BTreeSet<&TonerCode> = rows.toners.iter().map(|toner| &toner.code).collect();
        codes.extend(rows.tins.iter().filter(|tin| !tin.is_gone()).map(|tin| &tin.toner));
        codes.extend(poured(rows.daily, window).map(|row| &row.toner));
        codes.extend(rows.needed.iter().chain(rows.for_jobs).map(|(toner, _)| toner));
        let toners = codes.into_iter().map(|code| toner(code, rows, today, window, terms)).collect();
        let gone = rows.tins.iter().filter(|tin| tin.is_gone()).cloned().collect();
        Self { today, terms, toners, gone, recalls: rows.recalls.to_vec(), not_counted: Vec::new() }
    }

    /// The toner with that code, its letters large or small.
    pub fn toner(&self, code: &str) -> Option<&TonerShelf> {
        self.toners.iter().find(|one| one.toner.as_str().eq_ignore_ascii_case(code))
    }

    /// What is to be ordered.
    pub fn orders(&self) -> impl Iterator<Item = (&TonerShelf, &Order)> {
        self.toners.iter().filter_map(|one| Some((one, one.order.as_ref()?)))
    }
}

impl Order {
    /// How much comes with it: whole tins, or what is missing where no size is known.
    pub fn whole(&self) -> Grams {
        match (self.packs, self.pack) {
            (Some(packs), Some(pack)) => pack.times(Decimal::from(packs)),
            _ => self.mass,
        }
    }
}

impl TonerShelf {
    /// The last day of the tin that expires first, of those that can be used.
    pub fn expires(&self) -> Option<String> {
        let usable = self.tins.iter().filter(|tin| tin.state.is_usable());
        usable.filter_map(|tin| tin.tin.expires).min().map(|day| day.to_string())
    }

    /// Whether there is anything to say of it: a tin, some use, or a mix or a job that needs it.
    pub fn is_of_interest(&self) -> bool {
        let is_needed = self.needed.is_positive() || self.for_jobs.is_positive();
        !self.tins.is_empty() || !self.used.total.is_zero() || is_needed
    }

    /// What is on the shelf beyond what is needed already.
    pub fn free(&self) -> Grams {
        self.holds - self.needed - self.for_jobs
    }
}

fn poured(daily: &[Daily], window: Window) -> impl Iterator<Item = &Daily> {
    daily.iter().filter(move |row| row.what == "poured" && window.first <= row.day && row.day <= window.last)
}

fn toner(code: &TonerCode, rows: Rows<'_>, today: Today, window: Window, terms: Terms) -> TonerShelf {
    let known = rows.toners.iter().find(|toner| toner.code == *code);
    let tins: Vec<ShelfTin> = in_turn(rows.tins, code, rows.recalls, today.day)
        .into_iter()
        .map(|tin| ShelfTin { state: state(tin, rows.recalls, today), tin: tin.clone() })
        .collect();
    let usable = || tins.iter().filter(|tin| tin.state.is_usable()).map(|tin| &tin.tin);
    let in_tins: Grams = usable().map(|tin| tin.holds.max(Grams::ZERO)).sum();
    let unnamed = rows.unnamed.get(code).copied().unwrap_or(Grams::ZERO).min(in_tins);
    let holds = in_tins - unnamed;
    let with_net = || usable().filter_map(|tin| Some((tin.holds.max(Grams::ZERO), tin.net?)));
    let came: Grams = with_net().map(|(_, net)| net).sum();
    let level = (with_net().map(|(holds, _)| holds).sum::<Grams>() - unnamed).max(Grams::ZERO).share_of(came);
    let used = used(code, rows, window);
    let sum = |of: &[(TonerCode, Grams)]| -> Grams {
        of.iter().filter(|(toner, _)| toner == code).map(|(_, mass)| *mass).sum()
    };
    let (needed, for_jobs) = (sum(rows.needed), sum(rows.for_jobs));
    let lead = LeadTime::always(f64::from(terms.lead_days));
    let service = float(terms.service.decimal());
    let mut found = TonerShelf {
        toner: code.clone(),
        name: known.map_or_else(String::new, |toner| toner.name.clone()),
        swatch: known.and_then(|toner| toner.swatch),
        tins,
        holds,
        unnamed,
        level,
        used,
        needed,
        for_jobs,
        cover: None,
        point: used.a_day.and_then(|demand| reorder_point(demand, lead, service)),
        order: None,
    };
    let free = float(found.free().decimal());
    found.cover = used.a_day.and_then(|demand| days_of_cover(free, demand));
    found.order = missing(&found, lead, service).map(|mass| order(code, rows.tins, mass));
    found
}

fn state(tin: &Tin, recalls: &[Recall], today: Today) -> TinState {
    if recalls.iter().any(|recall| recall.means(tin)) {
        TinState::Recalled
    } else if tin.is_expired(today.day) {
        TinState::Expired
    } else if !tin.holds.is_positive() {
        TinState::Empty
    } else if tin.is_open() {
        TinState::Open
    } else {
        TinState::Unopened
    }
}

/// What was used on each day from which on the book knows the toner, or knows anything.
fn used(code: &TonerCode, rows: Rows<'_>, window: Window) -> Use {
    let tins = |toner: Option<&TonerCode>| {
        let own = rows.tins.iter().filter(move |tin| toner.is_none_or(|toner| tin.toner == *toner));
        own.filter_map(|tin| tin.received.or(tin.opened).or(tin.counted)).map(day_of).min()
    };
    let first_row = |toner: Option<&TonerCode>| {
        let own = rows.daily.iter().filter(move |row| toner.is_none_or(|toner| row.toner == *toner));
        own.map(|row| row.day).min()
    };
    let earliest = |toner| tins(toner).into_iter().chain(first_row(toner)).min();
    // A toner without a receipt may have been used long before it was first poured from within these days.
    let since = if tins(Some(code)).is_some() { earliest(Some(code)) } else { earliest(None) };
    let first = since.unwrap_or(window.last).max(window.first);
    let own = Window { first, ..window };
    let mut by_day: BTreeMap<i64, Grams> = (own.first..=own.last).map(|day| (day, Grams::ZERO)).collect();
    for row in poured(rows.daily, own).filter(|row| row.toner == *code) {
        if let Some(sum) = by_day.get_mut(&row.day) {
            *sum += row.mass;
        }
    }
    let days: Vec<f64> = by_day.values().map(|mass| float(mass.decimal())).collect();
    let a_day = (own.days() >= LEAST_DAYS).then(|| Demand::of_days(&days)).flatten();
    // More can be booked back on a day than was poured on it, but not used over all of them.
    let a_day = a_day.map(|demand| Demand { mean: demand.mean.max(0.0), ..demand });
    Use { total: by_day.values().copied().sum(), days: own.days().max(0), a_day }
}

/// How much is to be ordered; none where it is not time. As much as is used until the order after this one is there:
/// that one is taken to be made when this one has come (common practice, no source).
fn missing(of: &TonerShelf, lead: LeadTime, service: f64) -> Option<f64> {
    let free = float(of.free().decimal());
    let is_used = of.used.a_day.filter(|demand| demand.mean > 0.0);
    if let (Some(demand), Some(point)) = (is_used, of.point)
        && free <= point.point
    {
        return Some(up_to(demand, lead.days, lead, service)? - free);
    }
    (free < 0.0).then_some(-free)
}

fn order(code: &TonerCode, tins: &[Tin], mass: f64) -> Order {
    let own = || tins.iter().filter(|tin| tin.toner == *code && tin.received.is_some());
    let last = own().max_by_key(|tin| tin.received);
    let pack = last.and_then(|tin| tin.net).filter(|net| net.is_positive());
    Order {
        mass: grams_up(mass),
        packs: pack.and_then(|pack| packs(mass, float(pack.decimal()))).map(|count| count.max(1)),
        pack,
        size: None,
        like: last.map(|tin| tin.label.clone()),
        item: last.and_then(|tin| tin.item.clone()),
        supplier: last.and_then(|tin| tin.supplier.clone()),
    }
}

fn float(number: Decimal) -> f64 {
    number.to_f64().unwrap_or(0.0)
}

/// A forecast as a mass to be shown, to a tenth of a gram; nothing that is no number.
pub fn grams(forecast: f64) -> Grams {
    Grams::new(Decimal::from_f64_retain(forecast).unwrap_or_default().round_dp(1))
}

fn grams_up(forecast: f64) -> Grams {
    let strategy = rust_decimal::RoundingStrategy::AwayFromZero;
    let exact = Decimal::from_f64_retain(forecast).unwrap_or_default().round_dp(6);
    Grams::new(exact.round_dp_with_strategy(1, strategy))
}
