//! The corrections against a general linear-programming solver and by hand.

use super::*;
use microlp::{ComparisonOp, OptimizationDirection, Problem, SolveOutcome};
use proptest::prelude::*;
use rust_decimal::prelude::ToPrimitive;

fn grams(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

fn correction(items: &[(&str, &str)], floor: &str) -> Correction {
    Correction {
        items: items
            .iter()
            .map(|(share, poured)| Item {
                share: Share::new(grams(share).decimal()),
                tolerance: Share::ONE_PERCENT,
                poured: grams(poured),
            })
            .collect(),
        floor: grams(floor),
        slack: Decimal::ONE,
    }
}

#[test]
fn tolerance_is_relative_down_to_one_division() {
    let cup = correction(&[("0.9", "0"), ("0.1", "0")], "0.1");
    let total = grams("200");
    assert_eq!(cup.tolerance(&cup.items[0], total), grams("1.8"));
    assert_eq!(cup.tolerance(&cup.items[1], total), grams("0.2"));
    assert_eq!(cup.tolerance(&cup.items[1], grams("50")), grams("0.1"));
}

#[test]
fn worked_by_hand() {
    // Two toners, half and half, 100 g ordered, tolerance 1 % and at least 0.1 g; 52 g poured of the first.
    let cup = correction(&[("0.5", "52"), ("0.5", "0")], "0.1");
    let ordered = grams("100");
    assert_eq!(cup.over(ordered), Some(0));
    // 52 = 0.505 T gives T = 102.970297…; the second then needs at least 0.495 T, which is just the rest.
    assert_eq!(cup.smallest_right(ordered), grams("102.970298"));
    assert_eq!(cup.exact(ordered), grams("104"));
    // 50.5 of 52 may stay.
    assert_eq!(cup.keep(ordered).times(Decimal::from(52)).rounded(12), Share::new(Decimal::new(505, 1)));
    // Left at 100 g in all: 52 : 48, four tolerances of 0.5 g off.
    assert_eq!(cup.least_slack(ordered), Some(Decimal::from(4)));
    assert_eq!(cup.amounts(grams("104")), [grams("52"), grams("52")]);
}

#[test]
fn what_is_right_stays_as_ordered() {
    let cup = correction(&[("0.5", "50.2"), ("0.5", "0")], "0.1");
    assert_eq!(cup.smallest_right(grams("100")), grams("100"));
    assert_eq!(cup.keep(grams("100")), Share::ONE);
    assert_eq!(cup.amounts(grams("100")).iter().copied().sum::<Grams>(), grams("100"));
}

#[test]
fn more_than_the_whole_in_the_cup_has_no_slack_that_helps() {
    let cup = correction(&[("0.5", "80"), ("0.5", "30")], "0.1");
    assert_eq!(cup.least_slack(grams("100")), None);
    assert!(cup.least_slack(grams("110")).is_some());
}

/// A cup in trouble: shares, tolerances and amounts as a bench would have them.
fn troubled() -> impl Strategy<Value = (Correction, Grams)> {
    (
        prop::collection::vec((1_i64..100_000, 1_i64..50, 0_i64..1400), 2..9),
        prop::sample::select(vec![1_i64, 10, 100]),
        100_i64..20_000,
    )
        .prop_map(|(raw, floor, ordered)| {
            let total: i64 = raw.iter().map(|item| item.0).sum();
            let ordered = Grams::new(Decimal::new(ordered, 1));
            let items = raw
                .iter()
                .map(|(parts, tolerance, filled)| {
                    let share = Share::new(Decimal::from(*parts).checked_div(Decimal::from(total)).unwrap());
                    Item {
                        share,
                        tolerance: Share::new(Decimal::new(*tolerance, 3)),
                        // From nothing to 1.4 times its target, a third of them nothing.
                        poured: (ordered * share).times(Decimal::new((*filled - 400).max(0), 3)).to_book(),
                    }
                })
                .collect();
            (Correction { items, floor: Grams::new(Decimal::new(floor, 3)), slack: Decimal::ONE }, ordered)
        })
}

fn float(mass: Grams) -> f64 {
    mass.decimal().to_f64().unwrap()
}

/// Least `T ≥ M` with `p ≤ q`, `Σq = T`, `|q − wT| ≤ max(τwT, δ)` by linear programming (microlp). The
/// `max` is not convex in the upper bound, so each toner's branch (relative or floor) is fixed by trying the
/// whole on both sides of every switch point.
fn by_linear_program(cup: &Correction, ordered: Grams) -> f64 {
    let mut edges: Vec<f64> = cup
        .items
        .iter()
        .map(|item| {
            float(cup.floor)
                / (float(Grams::new(item.share.decimal())) * item.tolerance.decimal().to_f64().unwrap())
        })
        .filter(|edge| *edge > float(ordered))
        .collect();
    edges.push(float(ordered));
    edges.push(1e12);
    edges.sort_by(f64::total_cmp);
    for pair in edges.windows(2) {
        let (low, high) = (pair[0], pair[1]);
        let mut program = Problem::new(OptimizationDirection::Minimize);
        let total = program.add_var(1.0, (low, high));
        let mut sum = vec![(total, -1.0)];
        for item in &cup.items {
            let share = item.share.decimal().to_f64().unwrap();
            let relative = share * item.tolerance.decimal().to_f64().unwrap();
            let amount = program.add_var(0.0, (float(item.poured), f64::INFINITY));
            sum.push((amount, 1.0));
            // Within this stretch of T the tolerance is one linear function.
            let middle = if high > 1e11 { low * 2.0 } else { f64::midpoint(low, high) };
            let (slope, fixed) =
                if relative * middle >= float(cup.floor) { (relative, 0.0) } else { (0.0, float(cup.floor)) };
            program.add_constraint([(amount, 1.0), (total, -share - slope)], ComparisonOp::Le, fixed);
            program.add_constraint([(amount, 1.0), (total, -share + slope)], ComparisonOp::Ge, -fixed);
        }
        program.add_constraint(sum, ComparisonOp::Eq, 0.0);
        if let Ok(SolveOutcome::Solution(solution)) = program.solve() {
            return solution.objective();
        }
    }
    f64::INFINITY
}

/// Least `λ` with `p ≤ q`, `Σq = T`, `|q − wT| ≤ λ tol(T)` by linear programming (microlp).
fn slack_by_linear_program(cup: &Correction, total: Grams) -> Option<f64> {
    let mut program = Problem::new(OptimizationDirection::Minimize);
    let slack = program.add_var(1.0, (0.0, f64::INFINITY));
    let mut sum = Vec::new();
    for item in &cup.items {
        let exact = float(total * item.share);
        let tolerance = float(cup.tolerance(item, total));
        let amount = program.add_var(0.0, (float(item.poured), f64::INFINITY));
        sum.push((amount, 1.0));
        program.add_constraint([(amount, 1.0), (slack, -tolerance)], ComparisonOp::Le, exact);
        program.add_constraint([(amount, 1.0), (slack, tolerance)], ComparisonOp::Ge, exact);
    }
    program.add_constraint(sum, ComparisonOp::Eq, float(total));
    match program.solve() {
        Ok(SolveOutcome::Solution(solution)) => Some(solution.objective()),
        _ => None,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Against a general linear-programming solver (microlp).
    #[test]
    fn the_smallest_right_mix_is_the_least_there_is((cup, ordered) in troubled()) {
        let found = cup.smallest_right(ordered);
        prop_assert!(found >= ordered);
        prop_assert!(cup.can_be_right(found));
        let reference = by_linear_program(&cup, ordered);
        prop_assert!((float(found) - reference).abs() <= 1e-6 * reference.max(1.0),
            "{} against {reference}", float(found));
    }

    /// What the amounts promise: right, nothing taken out, and they add up.
    #[test]
    fn the_amounts_make_it_right((cup, ordered) in troubled()) {
        for total in [cup.smallest_right(ordered), cup.exact(ordered)] {
            let amounts = cup.amounts(total);
            let sum: Grams = amounts.iter().copied().sum();
            prop_assert!((sum - total).abs() <= NOISE, "{sum} for {total}");
            for (item, amount) in cup.items.iter().zip(&amounts) {
                prop_assert!(*amount >= item.poured - NOISE);
                prop_assert!(*amount <= cup.most(item, total) + NOISE);
                prop_assert!(*amount >= cup.least(item, total) - NOISE);
            }
            let worst = cup.worst(&amounts).unwrap();
            prop_assert!(worst.tolerances <= Decimal::new(1_000_001, 6), "{worst:?}");
        }
    }

    /// Once right, larger is right too: the ground the search stands on.
    #[test]
    fn growing_never_spoils((cup, ordered) in troubled(), more in 0_i64..100_000) {
        let right = cup.smallest_right(ordered);
        prop_assert!(cup.can_be_right(right + Grams::new(Decimal::new(more, 2))));
    }

    /// Against a general linear-programming solver (microlp).
    #[test]
    fn the_best_that_fits_is_the_best_there_is((cup, ordered) in troubled()) {
        let reference = slack_by_linear_program(&cup, ordered);
        match cup.least_slack(ordered) {
            None => prop_assert_eq!(reference, None),
            Some(slack) => {
                let found = slack.to_f64().unwrap();
                // A cup filled to the last microgram may look over-full to the solver.
                if let Some(reference) = reference {
                    prop_assert!((found - reference).abs() <= 1e-6 * reference.max(1.0), "{found} against {reference}");
                } else {
                    prop_assert!((ordered - cup.poured()).abs() < grams("0.0001"));
                }
                let loose = Correction { slack, ..cup.clone() };
                prop_assert!(loose.can_be_right(ordered));
            }
        }
    }

    /// Ratios and final mass come out as promised, and drawing off never wastes more than growing.
    #[test]
    fn drawing_off_keeps_its_promise((cup, ordered) in troubled()) {
        let keep = cup.keep(ordered);
        prop_assert!(keep <= Share::ONE && !keep.is_negative());
        let rest = Correction {
            items: cup.items.iter().map(|item| Item { poured: item.poured * keep, ..*item }).collect(),
            ..cup.clone()
        };
        prop_assert!(rest.can_be_right(ordered));
        prop_assert_eq!(rest.smallest_right(ordered), ordered);
        let drawn = cup.poured() - cup.poured() * keep;
        let grown = cup.smallest_right(ordered) - ordered;
        prop_assert!(drawn <= grown + NOISE, "drew {drawn}, growing costs {grown}");
        // And it is the least: with a little more left in, it could not be right.
        if keep < Share::ONE {
            let more = keep.times(Decimal::new(1_000_001, 6));
            let greedy = Correction {
                items: cup.items.iter().map(|item| Item { poured: item.poured * more, ..*item }).collect(),
                ..cup.clone()
            };
            prop_assert!(!greedy.can_be_right(ordered) || cup.poured() * keep < grams("0.01"));
        }
    }
}
