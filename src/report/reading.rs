//! One mix read from its own events: where its paint went, what it cost, which pours went over, and what was chosen then.

use super::prices::TinPrices;
use crate::book::{Account, Envelope, Ledger, Store, StoreError};
use crate::catalogue::TonerCode;
use crate::mix::{Choice, Event, Phase, Session, Way};
use crate::units::{Grams, Money};
use std::collections::BTreeMap;

/// What became of paint that was mixed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
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
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Amount {
    /// How much.
    pub mass: Grams,
    /// What it cost, as far as its prices are known, to a millionth.
    pub cost: Money,
}

impl std::ops::AddAssign for Amount {
    fn add_assign(&mut self, other: Self) {
        self.mass += other.mass;
        self.cost += other.cost;
    }
}

/// By which price a cost was reckoned.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
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

/// One pour of one of the formula's toners.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct PourRead {
    pub(super) toner: TonerCode,
    pub(super) name: String,
    /// How far above what was asked for, if it was more than is right.
    pub(super) over: Option<Grams>,
}

/// What a way out wastes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Wasted {
    pub(super) mass: Grams,
    pub(super) cost: Option<Money>,
}

/// A way out that was chosen, and what two others would have wasted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Chosen {
    pub(super) way: Way,
    pub(super) wasted: Wasted,
    /// The least growing; none if it would not have come right with that cup on that scale.
    pub(super) grown: Option<Wasted>,
    pub(super) restarted: Option<Wasted>,
}

/// What a mix's events tell.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct MixRead {
    /// Where its paint went, and why.
    pub(super) fates: BTreeMap<(Fate, String), Amount>,
    /// How much of what is in it came out of leftovers.
    pub(super) reused: Grams,
    /// By which prices.
    pub(super) priced: Priced,
    /// What came out of tins for it cost.
    pub(super) from_tins: Money,
    pub(super) pours: Vec<PourRead>,
    pub(super) chosen: Vec<Chosen>,
    /// What was in the cup when it was given up while something was over.
    pub(super) given_up_over: Option<Grams>,
    /// Whether some of it cannot be read back, so that its pours and choices are not all known.
    pub(super) is_unreadable: bool,
}

/// Micrograms of each toner.
type Parts = BTreeMap<TonerCode, i64>;

/// Where a mix's paint came from and went to.
#[derive(Debug, Default)]
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

fn add<K: Ord>(sums: &mut BTreeMap<K, i64>, key: K, amount: i64) {
    let sum = sums.entry(key).or_default();
    *sum = sum.saturating_add(amount);
}

/// Reads a mix. `events` are its own in order.
pub(super) fn read<B: Ledger + Store + ?Sized>(
    book: &B,
    events: &[Envelope],
    prices: &mut TinPrices,
) -> Result<MixRead, StoreError> {
    let mut read = MixRead::default();
    let mut moves = Moves::default();
    let mut session: Option<Session> = None;
    for envelope in events.iter().filter(|event| event.kind.starts_with("mix/")) {
        moves.take(envelope);
        if read.is_unreadable {
            continue;
        }
        let event: Option<Event> = serde_json::from_str(&envelope.body).ok();
        let step = match (event, session.as_mut()) {
            (Some(event), Some(session)) => read.follow(session, &event),
            (Some(event), None) => Session::fold([&event]).ok().map(|begun| session = Some(begun)),
            (None, _) => None,
        };
        read.is_unreadable = step.is_none();
    }
    read.settle(book, &moves, session.as_ref(), prices)?;
    Ok(read)
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
                    self.pours.push(PourRead { toner: pour.toner.clone(), name, over });
                }
                return Some(());
            }
            Event::Steered(steer) => {
                let ways = session.every_way();
                let find = |way: Way| ways.iter().find(|choice| choice.way == way);
                let wasted =
                    |way: Way| find(way).map(|choice| Wasted { mass: choice.waste, cost: choice.extra_cost });
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
                self.given_up_over = Some(session.holds());
            }
            _ => {}
        }
        session.apply(event).ok()
    }

    /// What it all came to, and what that cost. Each toner's cost goes where the toner went, by its mass; the parts are
    /// rounded so that they add up.
    fn settle<B: Ledger + Store + ?Sized>(
        &mut self,
        book: &B,
        moves: &Moves,
        session: Option<&Session>,
        prices: &mut TinPrices,
    ) -> Result<(), StoreError> {
        let by_formula = |toner: &TonerCode, mass: Grams| {
            let recipe = session?.recipe();
            let line = recipe.lines().get(recipe.position(toner)?)?;
            Some(line.price?.cost_of(line.density.volume_of(mass)))
        };
        let mut costs = BTreeMap::<TonerCode, Money>::new();
        for ((label, toner), micrograms) in &moves.tins {
            let mass = Grams::from_micrograms(*micrograms);
            let by_tin = match label {
                Some(label) => prices.of(book, label)?.and_then(|price| price.cost_of(mass)),
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
                amount += Amount { mass: Grams::from_micrograms(*micrograms), cost: cost_upto - before };
            }
            if amount != Amount::default() {
                self.fates.insert(fate.clone(), amount);
            }
        }
        Ok(())
    }
}

/// To a millionth of the currency, as finely as the book keeps a mass.
fn to_millionths(cost: Money) -> Money {
    Money::new(Grams::new(cost.decimal()).to_book().decimal())
}
