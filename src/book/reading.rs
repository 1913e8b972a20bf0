//! One mix read from its own events: where its paint went, what it cost, which pours went over, and what was chosen then.

use super::{Account, Envelope};
use crate::catalogue::TonerCode;
use crate::mix::{Choice, Event, Phase, Recipe, Session, Way};
use crate::units::{Decimal, Grams, Money};
use rust_decimal::RoundingStrategy;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What became of paint that was mixed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Fate {
    /// Sprayed.
    Sprayed,
    /// Kept after spraying.
    Kept,
    /// Still in the cup.
    InCup,
    /// Drawn off to put a mix right.
    DrawnOff,
    /// Thrown away after spraying.
    Thrown,
    /// Given up before it was done.
    Abandoned,
}

impl Fate {
    /// All of them, in the order in which they are shown.
    pub const ALL: [Self; 6] =
        [Self::Sprayed, Self::Kept, Self::InCup, Self::DrawnOff, Self::Thrown, Self::Abandoned];

    /// In words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Sprayed => "sprayed",
            Self::Kept => "kept",
            Self::InCup => "in the cup",
            Self::DrawnOff => "drawn off",
            Self::Thrown => "thrown away",
            Self::Abandoned => "given up",
        }
    }

    /// The name in results.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Sprayed => "sprayed",
            Self::Kept => "kept",
            Self::InCup => "in_cup",
            Self::DrawnOff => "drawn_off",
            Self::Thrown => "thrown",
            Self::Abandoned => "abandoned",
        }
    }

    /// Whether that paint is lost.
    pub const fn is_waste(self) -> bool {
        matches!(self, Self::DrawnOff | Self::Thrown | Self::Abandoned)
    }
}

/// A mass of paint and what it cost.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Amount {
    /// How much.
    pub mass: Grams,
    /// What it cost, as far as its prices are known, to a millionth.
    pub cost: Money,
}

impl Amount {
    fn add(&mut self, other: Self) {
        self.mass += other.mass;
        self.cost += other.cost;
    }
}

impl std::ops::AddAssign for Amount {
    fn add_assign(&mut self, other: Self) {
        self.add(other);
    }
}

/// By which price a cost was reckoned.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Priced {
    /// So much by the price of the tin it came from.
    pub by_tin: Grams,
    /// So much by the price the mix was begun with.
    pub by_formula: Grams,
    /// Of so much no price is known: it is not in the cost.
    pub unpriced: Grams,
}

impl std::ops::AddAssign for Priced {
    fn add_assign(&mut self, other: Self) {
        self.by_tin += other.by_tin;
        self.by_formula += other.by_formula;
        self.unpriced += other.unpriced;
    }
}

/// The pours of one of the formula's toners in one mix.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct TonerPours {
    /// Its code.
    pub toner: TonerCode,
    /// Its name, as the formula has it.
    pub name: String,
    /// How often it was poured.
    pub pours: u32,
    /// How often that was more than is right.
    pub over: u32,
    /// By how much above what was asked for, all of those together, to 10⁻¹⁵ g.
    pub by: Grams,
    /// The worst of them, as finely.
    pub worst: Grams,
}

/// What a way out wastes, to 10⁻¹⁵ of a gram and of the currency.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Wasted {
    /// How much.
    pub mass: Grams,
    /// What that costs; none if a price is not known.
    pub cost: Option<Money>,
}

/// A way out that was chosen, and what two others would have wasted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Chosen {
    /// Which.
    pub way: Way,
    /// What it promised to waste.
    pub wasted: Wasted,
    /// The least growing; none if it would not have come right with that cup on that scale.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grown: Option<Wasted>,
    /// Starting again.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub restarted: Option<Wasted>,
}

/// What became of what was kept.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct OfKept {
    /// Poured into another mix since.
    pub used_again: Grams,
    /// Thrown away since.
    pub thrown: Grams,
    /// Still there.
    pub still_there: Grams,
}

/// What a tin cost, and what was in it, as its receipt says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
pub struct TinPrice {
    /// What the tin cost; not below nothing.
    pub price: Money,
    /// What was in it; more than nothing.
    pub net: Grams,
}

impl TinPrice {
    /// The price in the body of a receipt; none if it says none, or none that can be reckoned with.
    pub fn of_receipt(body: &str) -> Option<Self> {
        let said: Self = serde_json::from_str(body).ok()?;
        (said.net.is_positive() && said.price.decimal() >= Decimal::ZERO).then_some(said)
    }

    /// What that mass out of it cost.
    pub fn cost_of(self, mass: Grams) -> Option<Money> {
        Some(self.price.times(mass.ratio_to(self.net)?))
    }
}

/// What a mix's events tell.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct MixRead {
    /// Where its paint went, and why, in order.
    pub fates: Vec<(Fate, String, Amount)>,
    /// How much was poured out of tins.
    pub poured: Grams,
    /// How much of what is in it came out of leftovers.
    pub reused: Grams,
    /// By which prices.
    pub priced: Priced,
    /// What came out of tins for it cost.
    pub from_tins: Money,
    /// How much of each toner was poured out of tins, and out of leftovers.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub uses: Vec<(TonerCode, Grams, Grams)>,
    /// The pours of each toner that the formula has.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub pours: Vec<TonerPours>,
    /// The ways out that were chosen.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub chosen: Vec<Chosen>,
    /// What was in the cup when it was given up while something was over.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub given_up_over: Option<Grams>,
    /// What became of what was kept of it, whether any was or not.
    #[serde(skip_serializing_if = "is_default")]
    pub of_kept: OfKept,
    /// Whether some of it cannot be read back, so that its pours and choices are not all known.
    #[serde(skip_serializing_if = "is_default")]
    pub is_unreadable: bool,
}

fn is_default<T: Default + PartialEq>(value: &T) -> bool {
    *value == T::default()
}

impl MixRead {
    /// How much had that fate, for whatever reason.
    pub fn of(&self, fate: Fate) -> Amount {
        let mut all = Amount::default();
        for (_, _, amount) in self.fates.iter().filter(|(own, ..)| *own == fate) {
            all.add(*amount);
        }
        all
    }

    /// Whether some of it was kept.
    pub fn kept_some(&self) -> bool {
        self.fates.iter().any(|(fate, ..)| *fate == Fate::Kept)
    }
}

/// Micrograms of each toner.
type Parts = BTreeMap<TonerCode, i64>;

/// Where a mix's paint came from and went to.
#[derive(Clone, Debug, Default)]
struct Moves {
    /// Out of each tin.
    tins: BTreeMap<(Option<String>, TonerCode), i64>,
    reused: Parts,
    fates: BTreeMap<(Fate, String), Parts>,
}

impl Moves {
    /// The mix's own events' postings, as the book's flows name them.
    fn take(&mut self, event: &Envelope) {
        for posting in &event.postings {
            let (toner, into) = (posting.toner.clone(), posting.micrograms);
            let fate = match &posting.account {
                Account::Tin(label) => {
                    add(&mut self.tins, (Some(label.clone()), toner), into.saturating_neg());
                    continue;
                }
                Account::UnknownTin(_) => {
                    add(&mut self.tins, (None, toner), into.saturating_neg());
                    continue;
                }
                Account::Leftover(_) if event.kind == "mix/leftover-added" => {
                    add(&mut self.reused, toner, into.saturating_neg());
                    continue;
                }
                Account::Leftover(_) => (Fate::Kept, String::new()),
                Account::Car(_) => (Fate::Sprayed, String::new()),
                Account::DrawnOff => (Fate::DrawnOff, String::new()),
                Account::Abandoned(reason) => (Fate::Abandoned, reason.clone()),
                Account::LeftThrown(reason) => (Fate::Thrown, reason.clone()),
                Account::Cup(_) => (Fate::InCup, String::new()),
                _ => continue,
            };
            add(self.fates.entry(fate).or_default(), toner, into);
        }
    }
}

impl Moves {
    /// How much of each toner was poured out of tins, and out of leftovers.
    fn uses(&self) -> Vec<(TonerCode, Grams, Grams)> {
        let mut uses = BTreeMap::<&TonerCode, [i64; 2]>::new();
        let tins = self.tins.iter().map(|((_, toner), micrograms)| (toner, [*micrograms, 0]));
        let leftovers = self.reused.iter().map(|(toner, micrograms)| (toner, [0, *micrograms]));
        for (toner, [poured, reused]) in tins.chain(leftovers) {
            let [all_poured, all_reused] = uses.entry(toner).or_default();
            *all_poured = all_poured.saturating_add(poured);
            *all_reused = all_reused.saturating_add(reused);
        }
        uses.into_iter()
            .filter(|(_, both)| *both != [0, 0])
            .map(|(toner, both)| {
                let [poured, reused] = both.map(Grams::from_micrograms);
                (toner.clone(), poured, reused)
            })
            .collect()
    }
}

fn add<K: Ord>(sums: &mut BTreeMap<K, i64>, key: K, amount: i64) {
    let sum = sums.entry(key).or_default();
    *sum = sum.saturating_add(amount);
}

/// Reads a mix, an event after the other.
#[derive(Clone, Debug, Default)]
pub struct MixReader {
    moves: Moves,
    session: Option<Session>,
    told: MixRead,
}

impl MixReader {
    /// Takes in the mix's next event; one of another wing tells nothing of it.
    pub fn take(&mut self, envelope: &Envelope) {
        if !envelope.kind.starts_with("mix/") {
            return;
        }
        self.moves.take(envelope);
        if self.told.is_unreadable {
            return;
        }
        let event: Option<Event> = serde_json::from_str(&envelope.body).ok();
        let step = match (event, self.session.as_mut()) {
            (Some(event), Some(session)) => self.told.follow(session, &event),
            (Some(event), None) => Session::fold([&event]).ok().map(|begun| self.session = Some(begun)),
            (None, _) => None,
        };
        self.told.is_unreadable = step.is_none();
    }

    /// What it has told so far, by what those tins cost.
    ///
    /// # Errors
    /// What `price_of` says.
    pub fn read<E>(
        &self,
        price_of: &mut dyn FnMut(&str) -> Result<Option<TinPrice>, E>,
    ) -> Result<MixRead, E> {
        let mut read = self.told.clone();
        read.settle(&self.moves, self.session.as_ref().map(Session::recipe), price_of)?;
        Ok(read)
    }

    /// The tins that were poured from.
    pub fn tins(&self) -> impl Iterator<Item = &str> {
        self.moves.tins.keys().filter_map(|(label, _)| label.as_deref())
    }
}

impl MixRead {
    /// Takes an event in, and what it tells.
    fn follow(&mut self, session: &mut Session, event: &Event) -> Option<()> {
        match event {
            Event::Poured(pour) => {
                let line = session.recipe().position(&pour.toner);
                let asked = line.map(|line| session.aim(line));
                session.apply(event).ok()?;
                if let (Some(line), Some(asked)) = (line, asked) {
                    let over = (session.phase() == Phase::Over(line)).then(|| session.poured(line) - asked);
                    let name =
                        session.recipe().lines().get(line).map(|line| line.name.clone()).unwrap_or_default();
                    self.pour(&pour.toner, name, over.map(fine));
                }
                return Some(());
            }
            Event::Steered(steer) => {
                let ways = session.every_way();
                let find = |way: Way| ways.iter().find(|choice| choice.way == way);
                let wasted = |way: Way| {
                    find(way).map(|choice| Wasted {
                        mass: fine(choice.waste),
                        cost: choice
                            .extra_cost
                            .map(|cost| Money::new(fine(Grams::new(cost.decimal())).decimal())),
                    })
                };
                if let Some(own) = wasted(steer.way) {
                    let can_grow = find(Way::Smallest).is_some_and(Choice::usable);
                    self.chosen.push(Chosen {
                        way: steer.way,
                        wasted: own,
                        grown: wasted(Way::Smallest).filter(|_| can_grow),
                        restarted: wasted(Way::Restart),
                    });
                }
            }
            Event::Abandoned { .. } if matches!(session.phase(), Phase::Over(_) | Phase::Fouled) => {
                self.given_up_over = Some(fine(session.holds()));
            }
            _ => {}
        }
        session.apply(event).ok()
    }

    fn pour(&mut self, toner: &TonerCode, name: String, over: Option<Grams>) {
        let place = self.pours.iter().position(|pours| pours.toner == *toner).unwrap_or(self.pours.len());
        if place == self.pours.len() {
            let (by, worst) = (Grams::ZERO, Grams::ZERO);
            self.pours.push(TonerPours {
                toner: toner.clone(),
                name: String::new(),
                pours: 0,
                over: 0,
                by,
                worst,
            });
        }
        let Some(pours) = self.pours.get_mut(place) else { return };
        pours.name = name;
        pours.pours = pours.pours.saturating_add(1);
        if let Some(by) = over {
            pours.over = pours.over.saturating_add(1);
            pours.by += by;
            pours.worst = pours.worst.max(by);
        }
    }

    /// What it all came to, and what that cost. Each toner's cost goes where the toner went, by its mass; the parts are
    /// rounded so that they add up.
    fn settle<E>(
        &mut self,
        moves: &Moves,
        recipe: Option<&Recipe>,
        price_of: &mut dyn FnMut(&str) -> Result<Option<TinPrice>, E>,
    ) -> Result<(), E> {
        let by_formula = |toner: &TonerCode, mass: Grams| {
            let recipe = recipe?;
            let line = recipe.lines().get(recipe.position(toner)?)?;
            Some(line.price?.cost_of(line.density.volume_of(mass)))
        };
        self.uses = moves.uses();
        let mut costs = BTreeMap::<TonerCode, Money>::new();
        for ((label, toner), micrograms) in &moves.tins {
            let mass = Grams::from_micrograms(*micrograms);
            self.poured += mass;
            let by_tin = match label {
                Some(label) => price_of(label)?.and_then(|price| price.cost_of(mass)),
                None => None,
            };
            let cost = match (by_tin, by_formula(toner, mass)) {
                (Some(cost), _) => {
                    self.priced.by_tin += mass;
                    cost
                }
                (None, Some(cost)) => {
                    self.priced.by_formula += mass;
                    cost
                }
                (None, None) => {
                    self.priced.unpriced += mass;
                    Money::ZERO
                }
            };
            let cost = to_millionths(cost);
            self.from_tins += cost;
            *costs.entry(toner.clone()).or_default() += cost;
        }
        for (toner, micrograms) in &moves.reused {
            let mass = Grams::from_micrograms(*micrograms);
            self.reused += mass;
            let cost = by_formula(toner, mass);
            *(if cost.is_some() { &mut self.priced.by_formula } else { &mut self.priced.unpriced }) += mass;
            *costs.entry(toner.clone()).or_default() += to_millionths(cost.unwrap_or_default());
        }
        let mut all = Parts::new();
        for (toner, micrograms) in moves.fates.values().flatten() {
            add(&mut all, toner.clone(), *micrograms);
        }
        let mut upto = Parts::new();
        let mut given = BTreeMap::<&TonerCode, Money>::new();
        for (fate, parts) in &moves.fates {
            let mut amount = Amount::default();
            for (toner, micrograms) in parts {
                add(&mut upto, toner.clone(), *micrograms);
                let of = |sums: &Parts| Grams::from_micrograms(sums.get(toner).copied().unwrap_or_default());
                let part = of(&upto).ratio_to(of(&all)).unwrap_or_default();
                let cost = costs.get(toner).copied().unwrap_or_default();
                let cost_upto = to_millionths(cost.times(part));
                let before = given.insert(toner, cost_upto).unwrap_or_default();
                amount.add(Amount { mass: Grams::from_micrograms(*micrograms), cost: cost_upto - before });
            }
            if amount != Amount::default() {
                self.fates.push((fate.0, fate.1.clone(), amount));
            }
        }
        Ok(())
    }
}

/// To so fine a part of a gram that a million of them come to the same microgram as if none had been rounded; and so
/// that sums of them are exact, whatever their order.
fn fine(mass: Grams) -> Grams {
    const DECIMALS: u32 = 15;
    Grams::new(mass.decimal().round_dp_with_strategy(DECIMALS, RoundingStrategy::MidpointNearestEven))
}

/// To a millionth of the currency, as finely as the book keeps a mass.
fn to_millionths(cost: Money) -> Money {
    Money::new(Grams::new(cost.decimal()).to_book().decimal())
}
