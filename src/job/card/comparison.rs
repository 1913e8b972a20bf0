//! Which card comes nearest to the car, by measure and by eye, and which count of coats would between two cards.
//!
//! By measure an angle stands for itself: each has its CIEDE2000 difference, and a card is as far off as at its worst
//! angle. They are never averaged: a card that is right straight on and wrong on the side tone is wrong. The nearest card is
//! the one whose worst angle is the least far off.
//!
//! Between the cards of two neighbouring counts L*a*b* is taken on a straight line in the number of coats, at each angle
//! (and the car's, which may have been measured anew), and the tenth of a coat is sought at which the worst angle is the
//! least far off. A straight line is an approximation (common practice, no source), so the count is one to spray and look
//! at. A card without a coat, of what lies below alone, is one of these counts: it may lie at the lower end, and is never
//! chosen.

use super::gun::differ;
use super::sight::{Light, Sight, View};
use super::{AtAngle, Gun};
use crate::job::{Card, MOST_COATS};
use crate::units::Decimal;
use rust_decimal::prelude::FromPrimitive as _;
use std::collections::{BTreeMap, BTreeSet};

/// ΔE00 at an angle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Difference {
    /// How far from the gloss, in degrees.
    pub angle: i16,
    /// ΔE00, to hundredths.
    pub de: Decimal,
}

/// How one card compares with the car.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Compared {
    /// Its number.
    pub card: u32,
    /// Its count of coats.
    pub coats: u32,
    /// ΔE00 at each angle it was measured at, the angle nearest to the gloss first. What was measured last counts.
    pub differences: Vec<Difference>,
    /// The worst of them; of several the one nearest to the gloss.
    pub worst: Option<Difference>,
    /// Angles at which another card was measured, and this one was not.
    pub lacks: Vec<i16>,
    /// How it looks from each side in each light. What was seen last counts.
    pub sights: Vec<Sight>,
    /// The sight at which it is the furthest off; none if it matches wherever it was looked at.
    pub worst_sight: Option<Sight>,
}

impl Compared {
    /// In how many views it matches the car.
    pub fn matches(&self) -> usize {
        self.sights.iter().filter(|sight| sight.is_match()).count()
    }

    /// Whether it was measured, at every angle at which any card was.
    pub fn is_measured(&self) -> bool {
        !self.differences.is_empty() && self.lacks.is_empty()
    }
}

/// Which cards come nearest by measure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ByMeasure {
    /// Their numbers: several if they are equally near, none if no card was measured at every angle.
    pub best: Vec<u32>,
    /// ΔE00 at their worst angle.
    pub worst: Option<Decimal>,
    /// The cards that were measured, but not at every angle, and are left out for it.
    pub left_out: Vec<u32>,
}

/// Which cards come nearest by eye.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ByEye {
    /// Those that match in most views: several if they match in as many, none if none matches anywhere.
    pub best: Vec<u32>,
    /// In how many views they match.
    pub matches: usize,
    /// In how many views any card was looked at.
    pub views: usize,
    /// The cards that were looked at, but not in each of these.
    pub not_everywhere: Vec<u32>,
}

/// A count of coats between the cards, or at one of them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Count {
    /// The count, in tenths of a coat.
    pub tenths: u32,
    /// The cards it lies between, by their numbers: that with fewer coats, that with more.
    pub cards: (u32, u32),
    /// Their counts of coats.
    pub coats: (u32, u32),
    /// ΔE00 at the worst angle that is to be expected there.
    pub worst: Difference,
    /// Whether it is the least count of all that were measured: fewer may come nearer.
    pub is_fewest: bool,
    /// Whether it is the greatest: more may come nearer.
    pub is_most: bool,
}

impl Count {
    /// The card that has just that count, if the count is one of a card.
    pub fn card(&self) -> Option<u32> {
        let is = |coats: u32| coats.checked_mul(10) == Some(self.tenths);
        if is(self.coats.0) { Some(self.cards.0) } else { is(self.coats.1).then_some(self.cards.1) }
    }

    /// The whole count nearest to it, where that has more coats than the one card and fewer than the other: none where it
    /// is the count of one of them, as it is of cards a coat apart.
    pub fn coats_between(&self) -> Option<u32> {
        let nearest = self.tenths.saturating_add(5) / 10;
        (self.coats.0 < nearest && nearest < self.coats.1).then_some(nearest)
    }
}

/// Why no count is reckoned between the cards.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoCount {
    /// No card was measured at every angle.
    NotMeasured,
    /// All that were have the same count of coats.
    OneCount(u32),
    /// Neighbouring cards stand on different undercoats, or were sprayed in different ways.
    Unlike,
}

/// How the cards of a layer compare.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Comparison {
    /// Each card, by its number.
    pub cards: Vec<Compared>,
    /// By measure; none if none was measured.
    pub measured: Option<ByMeasure>,
    /// By eye; none if none was looked at by view and light.
    pub eye: Option<ByEye>,
    /// The count between them, or why there is none.
    pub count: Result<Count, NoCount>,
}

impl Comparison {
    /// The one card that comes nearest: by measure, and where that does not tell, by eye. None where it is not one alone.
    pub fn nearest(&self) -> Option<u32> {
        let measured = self.measured.as_ref().map(|by| by.best.as_slice()).unwrap_or_default();
        let eye = self.eye.as_ref().map(|by| by.best.as_slice()).unwrap_or_default();
        match (measured, eye) {
            ([one], _) | ([], [one]) => Some(*one),
            _ => None,
        }
    }

    /// Whether nothing was measured, and nothing looked at by view and light.
    pub const fn is_empty(&self) -> bool {
        self.measured.is_none() && self.eye.is_none()
    }
}

/// A card, and what was measured last at each angle.
struct Held<'a> {
    card: &'a Card,
    at: BTreeMap<i16, &'a AtAngle>,
}

/// Compares the cards of one layer.
pub fn comparison<'a>(cards: impl IntoIterator<Item = &'a Card>) -> Comparison {
    let held: Vec<Held<'a>> = cards
        .into_iter()
        .map(|card| Held { card, at: card.measured.iter().map(|(_, at)| (at.angle, at)).collect() })
        .collect();
    let angles: BTreeSet<i16> = held.iter().flat_map(|held| held.at.keys().copied()).collect();
    let compared: Vec<Compared> = held.iter().map(|held| compared(held, &angles)).collect();
    let whole: Vec<&Held<'_>> = held
        .iter()
        .zip(&compared)
        .filter(|(_, compared)| compared.is_measured())
        .map(|(held, _)| held)
        .collect();
    Comparison {
        measured: (!angles.is_empty()).then(|| by_measure(&compared)),
        eye: by_eye(&compared),
        count: count(&whole),
        cards: compared,
    }
}

/// To hundredths, as far as a difference is shown, and by which differences are told apart.
fn hundredths(difference: f64) -> Decimal {
    Decimal::from_f64(difference).map_or(Decimal::MAX, |exact| exact.round_dp(2))
}

/// The worst; of several the first.
fn worst_of<T: Copy>(all: impl Iterator<Item = T>, is_worse: impl Fn(T, T) -> bool) -> Option<T> {
    all.reduce(|worst, next| if is_worse(next, worst) { next } else { worst })
}

fn compared(held: &Held<'_>, angles: &BTreeSet<i16>) -> Compared {
    let differences: Vec<Difference> =
        held.at.values().map(|at| Difference { angle: at.angle, de: hundredths(at.difference()) }).collect();
    let sights: BTreeMap<(View, Light), &Sight> =
        held.card.sights.iter().map(|(_, sight)| ((sight.view, sight.light), sight)).collect();
    let off = sights.values().copied().filter(|sight| !sight.is_match());
    Compared {
        card: held.card.made.card,
        coats: held.card.made.coats,
        worst: worst_of(differences.iter().copied(), |one, two| one.de > two.de),
        differences,
        lacks: if held.at.is_empty() {
            Vec::new()
        } else {
            angles.iter().copied().filter(|angle| !held.at.contains_key(angle)).collect()
        },
        worst_sight: worst_of(off, |one, two| one.off() > two.off()).cloned(),
        sights: sights.into_values().cloned().collect(),
    }
}

fn by_measure(cards: &[Compared]) -> ByMeasure {
    let whole = || cards.iter().filter(|card| card.is_measured());
    let worst = whole().filter_map(|card| card.worst).map(|worst| worst.de).min();
    ByMeasure {
        best: whole()
            .filter(|card| card.worst.map(|worst| worst.de) == worst)
            .map(|card| card.card)
            .collect(),
        worst,
        left_out: cards.iter().filter(|card| !card.lacks.is_empty()).map(|card| card.card).collect(),
    }
}

fn by_eye(cards: &[Compared]) -> Option<ByEye> {
    let seen = || cards.iter().filter(|card| !card.sights.is_empty());
    let matches = seen().map(Compared::matches).max()?;
    let views: BTreeSet<(View, Light)> =
        cards.iter().flat_map(|card| &card.sights).map(|sight| (sight.view, sight.light)).collect();
    let best = seen().filter(|card| matches > 0 && card.matches() == matches).map(|card| card.card);
    let not_everywhere = seen().filter(|card| card.sights.len() < views.len()).map(|card| card.card);
    Some(ByEye {
        best: best.collect(),
        matches,
        views: views.len(),
        not_everywhere: not_everywhere.collect(),
    })
}

/// What is to be expected of a count between two cards, measured at the same angles: the worst angle, exactly.
fn expected(below: &Held<'_>, above: &Held<'_>, part: f64) -> Option<(i16, f64)> {
    let at = below.at.iter().filter_map(|(angle, fewer)| {
        let more = above.at.get(angle)?;
        let car = fewer.car.lab().towards(more.car.lab(), part);
        let card = fewer.card.lab().towards(more.card.lab(), part);
        Some((*angle, car.difference(card)))
    });
    worst_of(at, |one, two| one.1 > two.1)
}

/// Whether more differs between two cards than their coats, as far as it was said. With which gun a card is without a coat
/// says nothing.
fn is_unlike(one: &Card, two: &Card) -> bool {
    let are_coated = one.made.coats > 0 && two.made.coats > 0;
    let guns: Option<(&Gun, &Gun)> = one.made.gun.as_ref().zip(two.made.gun.as_ref()).filter(|_| are_coated);
    differ(one.made.over.as_deref(), two.made.over.as_deref())
        || guns.is_some_and(|(one, two)| one.differs(two))
}

fn count(cards: &[&Held<'_>]) -> Result<Count, NoCount> {
    let coats_of = |held: &Held<'_>| held.card.made.coats;
    let counts: BTreeSet<u32> =
        cards.iter().map(|held| coats_of(held)).filter(|coats| *coats <= MOST_COATS).collect();
    let (Some(fewest), Some(most)) = (counts.first(), counts.last()) else {
        return Err(NoCount::NotMeasured);
    };
    if fewest == most {
        return Err(NoCount::OneCount(*fewest));
    }
    let mut best: Option<(f64, Count)> = None;
    for (fewer, more) in counts.iter().zip(counts.iter().skip(1)) {
        let of = |coats: u32| cards.iter().filter(move |held| coats_of(held) == coats);
        for (below, above) in of(*fewer).flat_map(|below| of(*more).map(move |above| (below, above))) {
            if is_unlike(below.card, above.card) {
                continue;
            }
            let (from, to) = (fewer.saturating_mul(10), more.saturating_mul(10));
            for tenths in from..=to {
                let part = f64::from(tenths.saturating_sub(from)) / f64::from(to.saturating_sub(from));
                let Some((angle, exact)) = expected(below, above, part) else { continue };
                if best.as_ref().is_some_and(|(least, _)| exact >= *least) {
                    continue;
                }
                let found = Count {
                    tenths,
                    cards: (below.card.made.card, above.card.made.card),
                    coats: (*fewer, *more),
                    worst: Difference { angle, de: hundredths(exact) },
                    is_fewest: tenths == fewest.saturating_mul(10),
                    is_most: tenths == most.saturating_mul(10),
                };
                best = Some((exact, found));
            }
        }
    }
    // A card that has no neighbour of its kind may come nearer than all that lies between others.
    let worst = |held: &&Held<'_>| expected(held, held, 0.0).map(|(_, exact)| exact);
    let least = cards.iter().filter_map(worst).min_by(f64::total_cmp);
    let is_nearest = |exact: f64| least.is_none_or(|least| hundredths(exact) <= hundredths(least));
    best.filter(|(exact, _)| is_nearest(*exact)).map(|(_, count)| count).ok_or(NoCount::Unlike)
}
