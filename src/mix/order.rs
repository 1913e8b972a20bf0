//! The pour order that risks least, beside the formula's own.
//!
//! A hand misses by grams, not by percent, so the small toners are the ones that go over, and a correction
//! costs in proportion to what is in the cup already. If `r_i` is the part of the cup that a miss of toner `i`
//! is expected to cost, an order's expected waste is `Σ r_i · (what is in the cup after i)`: the sum of
//! weighted completion times of a single machine, which is least in the order of `q_i / r_i` (Smith's rule,
//! W. E. Smith 1956, "Various optimizers for single-stage production").

use super::Recipe;
use crate::catalogue::Place;
use crate::units::{Decimal, Division, Grams};

/// How far above its target a hand may land, evenly spread from nothing to this: half a gram is the "few
/// tenths of a gram" of the design's model; common practice, no source.
const HAND: Grams = Grams::new(Decimal::from_parts(5, 0, 0, false, 1));

/// Places in the recipe in its own order.
pub fn formula_order(recipe: &Recipe) -> Vec<usize> {
    (0..recipe.lines().len()).collect()
}

/// Places in the recipe in the order that risks least. Toners that the sheet wants first or last stay there,
/// in the formula's order among themselves; what the scale cannot resolve on an empty cup is not put first.
pub fn least_risk(recipe: &Recipe, mass: Grams, division: Division, smallest: Option<Grams>) -> Vec<usize> {
    let place = |index: &usize| recipe.lines().get(*index).and_then(|line| line.place);
    let all = formula_order(recipe);
    let keep = |wanted: Option<Place>| all.iter().copied().filter(move |index| place(index) == wanted);
    let mut free: Vec<(Rank, usize)> =
        keep(None).filter_map(|i| Some((rank(recipe, mass, division, i)?, i))).collect();
    free.sort_unstable();
    let mut order: Vec<usize> = keep(Some(Place::First)).collect();
    let empty_cup = order.is_empty();
    let mut middle: Vec<usize> = free.into_iter().map(|(_, index)| index).collect();
    if empty_cup {
        let amount = |index: &usize| recipe.shares().get(*index).map(|share| mass * *share);
        let resolved = |index: &usize| amount(index) >= smallest;
        if let Some(first) = middle.iter().position(resolved) {
            let head = middle.remove(first);
            middle.insert(0, head);
        }
    }
    order.append(&mut middle);
    order.extend(keep(Some(Place::Last)));
    order
}

/// Whether a miss can cost anything, then amount over expected cost, then the amount.
type Rank = (bool, Grams, Grams);

fn rank(recipe: &Recipe, mass: Grams, division: Division, index: usize) -> Option<Rank> {
    let line = recipe.lines().get(index)?;
    let amount = mass * *recipe.shares().get(index)?;
    let tolerance = (amount * crate::units::Share::new(line.tolerance.decimal())).max(division.grams());
    if tolerance >= HAND {
        return Some((true, amount, amount));
    }
    // E[(e − t)+] for e even on 0…E is (E − t)²/2E; as a part of what the toner may come to.
    let beyond = HAND - tolerance;
    let expected = beyond.times(beyond.ratio_to(HAND.times(Decimal::TWO))?);
    let part = expected.ratio_to(amount + tolerance)?;
    Some((false, amount.ratio_to(Grams::new(part)).map(Grams::new)?, amount))
}

#[cfg(test)]
mod tests {
    use super::super::recipe::tests::recipe;
    use super::*;

    fn with_places(lines: &[(&str, Option<Place>)]) -> Recipe {
        let plain = recipe(&lines.iter().map(|(parts, _)| (*parts, "1")).collect::<Vec<_>>());
        let placed = plain
            .lines()
            .iter()
            .zip(lines)
            .map(|(line, (_, place))| super::super::Line { place: *place, ..line.clone() })
            .collect();
        Recipe::new(plain.colour, plain.name, plain.variant, plain.role, placed).unwrap()
    }

    fn order(recipe: &Recipe, smallest: Option<&str>) -> Vec<usize> {
        let smallest = smallest.map(|text| Grams::parse(text).unwrap());
        least_risk(recipe, Grams::parse("400").unwrap(), Division::TENTH, smallest)
    }

    #[test]
    fn the_smallest_goes_first() {
        let recipe = with_places(&[("300", None), ("20", None), ("70", None), ("10", None)]);
        assert_eq!(order(&recipe, None), [3, 1, 2, 0]);
    }

    #[test]
    fn the_sheets_places_are_kept() {
        let recipe = with_places(&[
            ("300", Some(Place::First)),
            ("20", None),
            ("70", Some(Place::Last)),
            ("10", None),
            ("5", Some(Place::First)),
        ]);
        assert_eq!(order(&recipe, None), [0, 4, 3, 1, 2]);
    }

    #[test]
    fn what_an_empty_cup_cannot_resolve_is_not_first() {
        let recipe = with_places(&[("300", None), ("20", None), ("70", None), ("5", None)]);
        assert_eq!(order(&recipe, Some("8.2")), [1, 3, 2, 0]);
        // With a binder in the cup already the rule has done its work.
        let wet = with_places(&[("300", Some(Place::First)), ("20", None), ("5", None)]);
        assert_eq!(order(&wet, Some("8.2")), [0, 2, 1]);
    }

    /// Smith's rule against every order there is, on the cost it promises to make least.
    #[test]
    fn no_other_order_risks_less() {
        let recipe = with_places(&[("130", None), ("20", None), ("7", None), ("3", None), ("11", None)]);
        let mass = Grams::parse("171").unwrap();
        let cost = |order: &[usize]| {
            let mut held = Grams::ZERO;
            let mut cost = Grams::ZERO;
            for &index in order {
                let amount = mass * recipe.shares()[index];
                held += amount;
                let tolerance = amount.times(Decimal::new(1, 2)).max(Grams::new(Decimal::new(1, 1)));
                let beyond = (HAND - tolerance).max(Grams::ZERO);
                let expected = beyond.times(beyond.ratio_to(HAND).unwrap()).times(Decimal::new(5, 1));
                cost += held.times(expected.ratio_to(amount + tolerance).unwrap());
            }
            cost
        };
        let best = cost(&least_risk(&recipe, mass, Division::TENTH, None));
        let mut orders = vec![vec![]];
        for _ in 0..5 {
            orders = orders
                .iter()
                .flat_map(|order: &Vec<usize>| {
                    (0..5).filter(|next| !order.contains(next)).map(|next| {
                        let mut longer = order.clone();
                        longer.push(next);
                        longer
                    })
                })
                .collect();
        }
        assert_eq!(orders.len(), 120);
        assert!(orders.iter().all(|order| cost(order) >= best - Grams::new(Decimal::new(1, 9))));
    }
}
