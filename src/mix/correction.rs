//! What can still be right, given what is in the cup. Nothing can be taken out of a mix but the mix itself,
//! so every toner ends with at least what was poured of it; the rest is finding the least that makes it right.
//!
//! All of it is exact: the conditions are piecewise linear in what is sought, so the answer is found on their
//! breakpoints and not by trial.

use crate::units::{Decimal, Grams, Share};

/// One toner: what the formula asks and what the cup holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Item {
    /// Its share of the whole, `w`.
    pub share: Share,
    /// Its relative tolerance, `τ`.
    pub tolerance: Share,
    /// What the cup holds of it, `p`.
    pub poured: Grams,
}

/// A cup part way through a formula, and how far off is still right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Correction {
    /// The toners; their shares add up to one.
    pub items: Vec<Item>,
    /// The smallest tolerance, `δ`: one division.
    pub floor: Grams,
    /// How many times the tolerance still counts as right: 1, or more once a mix is knowingly left as it is.
    pub slack: Decimal,
}

/// The toner that is furthest off, in its own tolerances.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Worst {
    /// Its place in the formula.
    pub line: usize,
    /// How far its amount is from its share of the whole, relative to that share: 0.016 is 1.6 % too much.
    pub deviation: Share,
    /// The same in tolerances: 1 is just right, and exact is nothing.
    pub tolerances: Decimal,
}

/// Below the book's resolution by a thousand: what the last digits of a quotient may disagree by.
const NOISE: Grams = Grams::new(Decimal::from_parts(1, 0, 0, false, 9));

impl Correction {
    /// The tolerance of a toner in a whole of `total`: `max(τ · w · T, δ)`, times the slack.
    pub fn tolerance(&self, item: &Item, total: Grams) -> Grams {
        self.tolerance_of(item, total * item.share)
    }

    /// The tolerance of a toner whose exact amount is known.
    fn tolerance_of(&self, item: &Item, exact: Grams) -> Grams {
        self.plain_tolerance(item, exact).times(self.slack)
    }

    fn plain_tolerance(&self, item: &Item, exact: Grams) -> Grams {
        (exact * item.tolerance).max(self.floor)
    }

    /// The most of a toner that is right in a whole of `total`.
    pub fn most(&self, item: &Item, total: Grams) -> Grams {
        let exact = total * item.share;
        exact + self.tolerance_of(item, exact)
    }

    /// The least of a toner that is right in a whole of `total`; never below nothing.
    pub fn least(&self, item: &Item, total: Grams) -> Grams {
        let exact = total * item.share;
        (exact - self.tolerance_of(item, exact)).max(Grams::ZERO)
    }

    /// All that the cup holds of the formula's toners.
    pub fn poured(&self) -> Grams {
        self.items.iter().map(|item| item.poured).sum()
    }

    /// Which toner is over in a whole of `total`, the first in formula order.
    pub fn over(&self, total: Grams) -> Option<usize> {
        self.items.iter().position(|item| item.poured > self.most(item, total) + NOISE)
    }

    /// Whether a right mix of `total` can still be made of what is in the cup: no toner is over, and what must
    /// at least be there does not exceed the whole. Once true it stays true for every larger whole.
    pub fn can_be_right(&self, total: Grams) -> bool {
        self.over(total).is_none() && self.room(total) >= -NOISE
    }

    /// Whether the cup, as it is, is a right mix of all it holds.
    pub fn is_right(&self) -> bool {
        let total = self.poured();
        self.over(total).is_none() && self.items.iter().all(|item| self.has_least(item, total))
    }

    /// Whether the cup holds the least of that toner that is right in a whole of `total`.
    pub fn has_least(&self, item: &Item, total: Grams) -> bool {
        item.poured >= self.least(item, total) - NOISE
    }

    /// `T − Σ max(p, w·T − tol(T))`: what is left of the whole once every toner has its least.
    fn room(&self, total: Grams) -> Grams {
        total - self.items.iter().map(|item| item.poured.max(self.least(item, total))).sum::<Grams>()
    }

    /// The least whole, `at_least` or more, of which a right mix can be made. At the book's resolution, rounded
    /// up, so that what is promised can be kept.
    pub fn smallest_right(&self, at_least: Grams) -> Grams {
        if self.can_be_right(at_least) {
            return at_least;
        }
        // No toner over: p ≤ max(w(1+τk)T, wT + kδ), so T is the lesser of the two bounds, for each toner.
        let floor = self.floor.times(self.slack);
        let not_over = self
            .items
            .iter()
            .filter_map(|item| {
                let relative = item.share + item.share * self.relative(item);
                let by_relative = over_share(item.poured, relative)?;
                let by_floor = over_share(item.poured - floor, item.share)?;
                Some(by_relative.min(by_floor))
            })
            .fold(at_least, Grams::max);
        if !self.room(not_over).is_negative() {
            return not_over.to_book_up();
        }
        let exact = self.exact(at_least);
        let mut points = Vec::with_capacity(self.items.len().saturating_mul(2).saturating_add(2));
        for item in &self.items {
            let relative = item.share - item.share * self.relative(item);
            // Where the floor gives way to the relative tolerance, and where the least overtakes the poured.
            points.extend(over_share(self.floor, item.share * item.tolerance));
            let by_relative = over_share(item.poured, relative);
            let by_floor = over_share(item.poured + floor, item.share);
            points.extend(by_floor.map(|floor| by_relative.map_or(floor, |relative| relative.max(floor))));
        }
        crossing(points, not_over, exact, |total| self.room(total)).to_book_up()
    }

    /// `w·τ·slack` as a factor on the share.
    fn relative(&self, item: &Item) -> Share {
        item.tolerance.times(self.slack)
    }

    /// The least whole, `at_least` or more, of which an exact mix can be made: `max(M, max p/w)`.
    pub fn exact(&self, at_least: Grams) -> Grams {
        self.items
            .iter()
            .filter_map(|item| over_share(item.poured, item.share))
            .fold(at_least, Grams::max)
            .to_book_up()
    }

    /// What each toner should come to in a whole of `total`: as near to its exact share as what is in the cup
    /// allows, what is too much of one taken from the others in proportion to what they can spare.
    ///
    /// Where [`Self::can_be_right`] holds, every amount is right and they add up to `total`.
    pub fn amounts(&self, total: Grams) -> Vec<Grams> {
        let exact: Vec<Grams> = self.items.iter().map(|item| total * item.share).collect();
        let wanted: Vec<Grams> =
            self.items.iter().zip(&exact).map(|(item, exact)| item.poured.max(*exact)).collect();
        let excess = wanted.iter().copied().sum::<Grams>() - total;
        let spare: Vec<Grams> = self
            .items
            .iter()
            .zip(exact)
            .zip(&wanted)
            .map(|((item, exact), want)| {
                let least = item.poured.max(exact - self.tolerance_of(item, exact));
                (*want - least).max(Grams::ZERO)
            })
            .collect();
        let most = spare.iter().copied().sum::<Grams>();
        let Some(part) = excess.min(most).ratio_to(most) else { return wanted };
        wanted.into_iter().zip(spare).map(|(want, spare)| want - spare.times(part)).collect()
    }

    /// The least worst deviation of a whole of `total`: by how many (plain) tolerances the worst toner must be
    /// off. `None` if the cup holds more than that already.
    pub fn least_slack(&self, total: Grams) -> Option<Decimal> {
        if self.poured() > total {
            return None;
        }
        let mut least = Decimal::ZERO;
        let mut points = Vec::with_capacity(self.items.len());
        let mut exact_and_tolerance = Vec::with_capacity(self.items.len());
        for item in &self.items {
            let exact = total * item.share;
            let tolerance = self.plain_tolerance(item, exact);
            let off = (item.poured - exact).ratio_to(tolerance)?;
            least = least.max(off);
            points.push(-Grams::new(off));
            exact_and_tolerance.push((exact, tolerance));
        }
        // With all of it as slack nothing must be added, and what is in the cup fits.
        let most = points.iter().copied().fold(Grams::new(least), Grams::max);
        let room = |slack: Grams| {
            let at_least = |(exact, tolerance): (Grams, Grams)| exact - tolerance.times(slack.decimal());
            let needed = self.items.iter().zip(exact_and_tolerance.iter().copied());
            total - needed.map(|(item, exact)| item.poured.max(at_least(exact))).sum::<Grams>()
        };
        if !room(Grams::new(least)).is_negative() {
            return Some(least);
        }
        Some(crossing(points, Grams::new(least), most, room).decimal())
    }

    /// The largest share of the cup that can stay so that a right mix of `total` can be made: one, if it can
    /// as it is. Drawing off leaves the ratios in the cup alone, so it is the same share of every toner.
    pub fn keep(&self, total: Grams) -> Share {
        let most = self
            .items
            .iter()
            .filter_map(|item| self.most(item, total).ratio_to(item.poured))
            .fold(Decimal::ONE, Decimal::min);
        let least: Vec<Grams> = self.items.iter().map(|item| self.least(item, total)).collect();
        let room = |kept: Grams| {
            let needed = self.items.iter().zip(&least);
            total - needed.map(|(item, least)| item.poured.times(kept.decimal()).max(*least)).sum::<Grams>()
        };
        if !room(Grams::new(most)).is_negative() {
            return Share::new(most);
        }
        let points = self
            .items
            .iter()
            .zip(&least)
            .filter_map(|(item, least)| least.ratio_to(item.poured).map(Grams::new))
            .collect();
        // `crossing` looks for the point where a falling quantity turns right, from the far end.
        let taken = |gone: Grams| room(Grams::new(Decimal::ONE) - gone);
        let points = mirrored(points);
        let gone =
            crossing(points, Grams::new(Decimal::ONE) - Grams::new(most), Grams::new(Decimal::ONE), taken);
        Share::ONE - Share::new(gone.decimal())
    }

    /// The toner furthest off if the amounts were these, in its tolerances. `None` without toners.
    pub fn worst(&self, amounts: &[Grams]) -> Option<Worst> {
        let total = amounts.iter().copied().sum::<Grams>();
        let off = |(line, (item, amount)): (usize, (&Item, &Grams))| {
            let exact = total * item.share;
            let off = *amount - exact;
            Some((line, off, exact, off.abs().ratio_to(self.plain_tolerance(item, exact))?))
        };
        let (line, off, exact, tolerances) = self
            .items
            .iter()
            .zip(amounts)
            .enumerate()
            .filter_map(off)
            .filter(|(_, _, exact, _)| !exact.is_zero())
            .reduce(|worst, next| if next.3 > worst.3 { next } else { worst })?;
        Some(Worst { line, deviation: off.share_of(exact)?, tolerances })
    }
}

/// `mass / share`: the whole of which `mass` is that share.
fn over_share(mass: Grams, share: Share) -> Option<Grams> {
    mass.ratio_to(Grams::new(share.decimal())).map(Grams::new)
}

fn mirrored(points: Vec<Grams>) -> Vec<Grams> {
    points.into_iter().map(|point| Grams::new(Decimal::ONE) - point).collect()
}

/// The least `x` in `from..=to` with `f(x) ≥ 0`, for an `f` that never falls, is linear between the `points`,
/// is below nothing at `from` and not at `to`.
fn crossing(mut points: Vec<Grams>, from: Grams, to: Grams, f: impl Fn(Grams) -> Grams) -> Grams {
    points.retain(|point| *point > from && *point < to);
    points.sort_unstable();
    let reached = points.partition_point(|point| f(*point).is_negative());
    let right = points.get(reached).copied().unwrap_or(to);
    let left = reached.checked_sub(1).and_then(|index| points.get(index).copied()).unwrap_or(from);
    let (low, high) = (f(left), f(right));
    let rise = high - low;
    (-low).ratio_to(rise).map_or(right, |part| (left + (right - left).times(part)).min(right))
}

#[cfg(test)]
mod tests;
