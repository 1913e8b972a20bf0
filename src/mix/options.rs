//! The ways out when a pour went over, side by side and the most sparing first.

use super::{Correction, Limits, Recipe, Vessel, Worst};
use crate::units::{Decimal, Grams, Millilitres, Money, Share};
use serde::{Deserialize, Serialize};

/// A way out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Way {
    /// Go on with the mix as far off as it is.
    Leave,
    /// Make just so much more that every toner is within its tolerance.
    Smallest,
    /// Make so much more that every toner is exact.
    Exact,
    /// Come as near as the cup and the scale allow.
    Fit,
    /// Take some of the stirred mix out, then go on to the mass that was ordered.
    DrawOff,
    /// Throw it away and begin anew.
    Restart,
}

impl Way {
    /// The name in results, as `draw-off`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Leave => "leave",
            Self::Smallest => "smallest",
            Self::Exact => "exact",
            Self::Fit => "fit",
            Self::DrawOff => "draw-off",
            Self::Restart => "restart",
        }
    }
}

/// What a way out would come to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// Which way.
    pub way: Way,
    /// What the cup will hold in the end.
    pub final_mass: Grams,
    /// The volume of it, an estimate.
    pub final_volume: Millilitres,
    /// What will be in the cup beyond what was ordered.
    pub extra_mass: Grams,
    /// What to take out first.
    pub draw_off: Grams,
    /// The paint that is used and not asked for: the extra mass, or what is taken out or thrown away.
    pub waste: Grams,
    /// What that waste costs; none if a price is not known.
    pub extra_cost: Option<Money>,
    /// The toner that will be furthest off.
    pub worst: Option<Worst>,
    /// Whether every toner will be within its tolerance.
    pub right: bool,
    /// Whether it stays below the brim.
    pub fits_cup: bool,
    /// Whether the scale can weigh it, cup included.
    pub fits_scale: bool,
    /// How much of each toner is still to be poured, in formula order.
    pub add: Vec<Grams>,
    /// How many tolerances count as right from here on.
    pub slack: Decimal,
    /// What the formula's toners come to in the end: the final mass without what does not belong.
    pub formula_mass: Grams,
}

impl Choice {
    /// Right, and it can be done with this cup on this scale.
    pub const fn usable(&self) -> bool {
        self.right && self.fits_cup && self.fits_scale
    }
}

/// What the options are worked out from.
#[derive(Clone, Copy, Debug)]
pub struct Situation<'a> {
    /// The formula.
    pub recipe: &'a Recipe,
    /// What of it is in the cup, and what counts as right.
    pub cup: &'a Correction,
    /// What else is in the cup that is not in the formula.
    pub foreign: Grams,
    /// The mass that was ordered, or that was settled on at an earlier correction.
    pub ordered: Grams,
    /// The cup.
    pub vessel: &'a Vessel,
    /// The scale.
    pub limits: Limits,
}

/// Every way out, the most sparing first: those that come right with this cup on this scale by what they
/// waste; then those that stay off; then those that do not fit; starting again last.
///
/// With something in the cup that is not in the formula no amount can make it right, so only leaving it and
/// starting again are offered.
pub fn ways(situation: &Situation<'_>) -> Vec<Choice> {
    let asked = situation.recipe.cost_of(situation.ordered_amounts());
    let mut choices = if situation.foreign.is_positive() {
        vec![situation.leave(asked), situation.restart()]
    } else {
        vec![
            situation.draw_off(),
            situation.grow(Way::Smallest, situation.cup.smallest_right(situation.ordered), asked),
            situation.grow(Way::Exact, situation.cup.exact(situation.ordered), asked),
            situation.fit(asked),
            situation.leave(asked),
            situation.restart(),
        ]
    };
    choices.sort_by_key(|choice| (choice.class(), choice.waste));
    choices
}

/// As [`ways`], without those that come to the same as a more sparing one.
pub fn distinct_ways(situation: &Situation<'_>) -> Vec<Choice> {
    let mut kept: Vec<Choice> = Vec::new();
    for choice in ways(situation) {
        let same = |other: &Choice| {
            (choice.formula_mass - other.formula_mass).abs() < situation.limits.division.grams()
                && choice.draw_off == other.draw_off
                && choice.right == other.right
                && choice.way != Way::Restart
        };
        if !kept.iter().any(same) {
            kept.push(choice);
        }
    }
    kept
}

impl Choice {
    const fn class(&self) -> u8 {
        match self.way {
            Way::Restart => 3,
            _ if !(self.fits_cup && self.fits_scale) => 2,
            _ if !self.right => 1,
            _ => 0,
        }
    }
}

impl Situation<'_> {
    fn in_cup(&self) -> Vec<Grams> {
        self.cup.items.iter().map(|item| item.poured).collect()
    }

    fn ordered_amounts(&self) -> Vec<Grams> {
        self.cup.items.iter().map(|item| self.ordered * item.share).collect()
    }

    /// Whether that volume stays below the brim. The ordered mass is kept to the microgram, so what was ordered
    /// just to the brim may come out a hair above it.
    fn is_below_brim(&self, volume: Millilitres) -> bool {
        volume <= self.vessel.brim + A_DROP
    }

    /// The volume of these amounts and of what does not belong, the latter at the formula's density.
    fn volume(&self, amounts: &[Grams]) -> Millilitres {
        let own = self.recipe.volume_of(amounts.iter().copied());
        if self.foreign.is_zero() { own } else { own + self.recipe.volume_at(self.foreign) }
    }

    /// Everything that follows from what is in the cup before and after, for any way. What was ordered costs
    /// `asked`, where the extra cost is to be told by that.
    fn choice(&self, way: Way, from: &[Grams], amounts: &[Grams], asked: Option<Money>) -> Choice {
        let formula_mass: Grams = amounts.iter().copied().sum();
        let final_mass = formula_mass + self.foreign;
        let final_volume = self.volume(amounts);
        let worst = self.cup.worst(amounts);
        let off = worst.map_or(Decimal::ZERO, |worst| worst.tolerances);
        let extra_mass = (final_mass - self.ordered).max(Grams::ZERO);
        let cost = || self.recipe.cost_of(amounts.iter().copied());
        Choice {
            way,
            final_mass,
            final_volume,
            extra_mass,
            draw_off: Grams::ZERO,
            waste: extra_mass,
            extra_cost: asked.and_then(|asked| Some((cost()? - asked).max(Money::ZERO))),
            right: Grams::new(off) <= Grams::new(self.cup.slack) + A_HAIR && self.foreign.is_zero(),
            worst,
            fits_cup: self.is_below_brim(final_volume),
            fits_scale: self.limits.capacity.is_none_or(|most| self.vessel.tare + final_mass <= most),
            add: amounts.iter().zip(from).map(|(amount, have)| (*amount - *have).max(Grams::ZERO)).collect(),
            slack: self.cup.slack,
            formula_mass,
        }
    }

    fn grow(&self, way: Way, total: Grams, asked: Option<Money>) -> Choice {
        self.choice(way, &self.in_cup(), &self.cup.amounts(total), asked)
    }

    fn leave(&self, asked: Option<Money>) -> Choice {
        let in_cup = self.in_cup();
        let amounts: Vec<Grams> =
            self.ordered_amounts().into_iter().zip(&in_cup).map(|(want, have)| want.max(*have)).collect();
        let choice = self.choice(Way::Leave, &in_cup, &amounts, asked);
        let slack = choice.worst.map_or(self.cup.slack, |worst| accepted(worst.tolerances, self.cup.slack));
        Choice { slack, ..choice }
    }

    fn fit(&self, asked: Option<Money>) -> Choice {
        let in_cup = self.in_cup();
        let held: Grams = in_cup.iter().copied().sum();
        let by_scale = self.limits.capacity.map(|most| most - self.vessel.tare - self.foreign);
        let exact = self.cup.exact(self.ordered);
        let mut cap = by_scale.map_or(exact, |most| most.min(exact));
        let (mut amounts, mut slack);
        // An overpoured light toner takes more room than the formula's density says, so the brim's mass is
        // found in a few steps; each at least halves what is left over.
        let mut steps = 0_u8;
        loop {
            let total = cap.max(held).to_book();
            slack = self.cup.least_slack(total).unwrap_or(self.cup.slack);
            let loose = Correction { slack: accepted(slack, self.cup.slack), ..self.cup.clone() };
            // No more than it takes for that deviation.
            let least = loose.smallest_right(self.ordered.min(total)).min(total);
            amounts = loose.amounts(least);
            let volume = self.volume(&amounts);
            steps = steps.saturating_add(1);
            if self.is_below_brim(volume) || cap <= held || steps > 8 {
                break;
            }
            cap = self.vessel.brim.ratio_to(volume).map_or(held, |part| least.times(part));
        }
        let choice = self.choice(Way::Fit, &in_cup, &amounts, asked);
        let slack = choice.worst.map_or(self.cup.slack, |worst| accepted(worst.tolerances, self.cup.slack));
        Choice { slack, ..choice }
    }

    /// Takes out the least that lets the mass that was ordered come right, rounded up to what the scale shows.
    fn draw_off(&self) -> Choice {
        let in_cup = self.in_cup();
        let held: Grams = in_cup.iter().copied().sum();
        let least = held - held * self.cup.keep(self.ordered);
        // A quotient's last digits must not cost a whole division more.
        let least = Grams::new(least.decimal().round_dp(9));
        let draw = self.limits.division.round_up(least).min(held);
        let kept = (held - draw).share_of(held).unwrap_or(Share::ONE);
        let rest = Correction {
            items: self
                .cup
                .items
                .iter()
                .map(|item| super::Item { poured: item.poured * kept, ..*item })
                .collect(),
            ..self.cup.clone()
        };
        let left: Vec<Grams> = rest.items.iter().map(|item| item.poured).collect();
        let gone: Vec<Grams> = in_cup.iter().zip(&left).map(|(had, has)| *had - *has).collect();
        let choice = self.choice(Way::DrawOff, &left, &rest.amounts(self.ordered), None);
        Choice { draw_off: draw, waste: draw, extra_cost: self.recipe.cost_of(gone), ..choice }
    }

    fn restart(&self) -> Choice {
        let in_cup = self.in_cup();
        let nothing = vec![Grams::ZERO; in_cup.len()];
        let fresh = Situation { foreign: Grams::ZERO, ..*self };
        let choice = fresh.choice(Way::Restart, &nothing, &self.ordered_amounts(), None);
        let thrown = in_cup.iter().copied().sum::<Grams>() + self.foreign;
        let cost = if self.foreign.is_zero() { self.recipe.cost_of(in_cup) } else { None };
        Choice { waste: thrown, extra_cost: cost, slack: Decimal::ONE, ..choice }
    }
}

/// What still counts as right once a deviation is accepted: that deviation, and a hair for its last digits.
fn accepted(tolerances: Decimal, before: Decimal) -> Decimal {
    (Grams::new(tolerances).to_book_up() + A_HAIR).decimal().max(before).max(Decimal::ONE)
}

/// A hundredth of a millilitre.
const A_DROP: Millilitres = Millilitres::new(Decimal::from_parts(1, 0, 0, false, 2));

/// A millionth of a tolerance: what the book's resolution may move a deviation by.
const A_HAIR: Grams = Grams::new(Decimal::from_parts(1, 0, 0, false, 6));
