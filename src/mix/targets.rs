//! What each toner should weigh, exactly and as the scale will show it.

use super::Recipe;
use crate::units::{Division, Grams, Millilitres};

/// One toner's target.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Target {
    /// Its place in the recipe.
    pub line: usize,
    /// How much of it, exactly.
    pub exact: Grams,
    /// What the cup holds after it, exactly.
    pub cumulative: Grams,
    /// How much of it in whole divisions, such that the shown pours add up to the shown total.
    pub shown: Grams,
    /// What the cup holds after it, in whole divisions.
    pub shown_cumulative: Grams,
}

/// A recipe scaled to a volume.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Targets {
    /// The volume that was asked for; an estimate, since mass is what is weighed.
    pub volume: Millilitres,
    /// The mass of it, exactly.
    pub mass: Grams,
    /// The pours, in the order they are poured.
    pub pours: Vec<Target>,
}

/// Decimals to which a cumulative is taken before it is rounded to the division. The arithmetic is good to
/// 1e-20 g; this keeps its last digits from deciding a tie between two divisions.
const SETTLED_DECIMALS: u32 = 12;

impl Targets {
    /// Scales the recipe to `volume`, pouring in `order` (places in the recipe, each once).
    ///
    /// The **cumulative** targets are rounded half to even to the division and differences taken, so that no
    /// shown cumulative is off by more than half a division and the shown pours add up to the shown total.
    pub fn new(recipe: &Recipe, volume: Millilitres, division: Division, order: &[usize]) -> Self {
        let mass = recipe.mass_for(volume);
        let shares = recipe.shares();
        let mut cumulative = Grams::ZERO;
        let mut shown_before = Grams::ZERO;
        let pours = order
            .iter()
            .filter_map(|&line| {
                let exact = mass * *shares.get(line)?;
                cumulative += exact;
                let settled = Grams::new(cumulative.decimal().round_dp(SETTLED_DECIMALS));
                let shown_cumulative = division.round(settled);
                let shown = shown_cumulative - shown_before;
                shown_before = shown_cumulative;
                Some(Target { line, exact, cumulative, shown, shown_cumulative })
            })
            .collect();
        Self { volume, mass, pours }
    }

    /// The total as the scale will show it.
    pub fn shown_total(&self) -> Grams {
        self.pours.last().map_or(Grams::ZERO, |last| last.shown_cumulative)
    }
}

#[cfg(test)]
mod tests {
    use super::super::recipe::tests::recipe;
    use super::*;
    use crate::units::{Decimal, parse_decimal};
    use num_bigint::BigInt;
    use num_rational::BigRational;
    use num_traits::{Signed, Zero};
    use proptest::prelude::*;

    fn rational(number: Decimal) -> BigRational {
        let power = BigInt::from(10).pow(number.scale());
        BigRational::new(BigInt::from(number.mantissa()), power)
    }

    /// Half to even on exact rationals, in steps of `division`: the reference.
    fn rounded(value: &BigRational, division: &BigRational) -> BigRational {
        let steps = value / division;
        let below = steps.floor();
        let rest = &steps - &below;
        let half = BigRational::new(1.into(), 2.into());
        let up = rest > half || rest == half && (below.to_integer() % BigInt::from(2)) != BigInt::zero();
        (if up { below + BigRational::from_integer(1.into()) } else { below }) * division
    }

    #[test]
    fn ties_go_to_the_even_division() {
        // One part in four of 1 g and of 3 g: cumulatives 0.25 and 0.75 at a division of 0.1.
        for (volume, first) in [("1", "0.2"), ("3", "0.8")] {
            let targets = Targets::new(
                &recipe(&[("1", "1"), ("3", "1")]),
                Millilitres::parse(volume).unwrap(),
                Division::TENTH,
                &[0, 1],
            );
            assert_eq!(targets.pours[0].shown, Grams::parse(first).unwrap());
            assert_eq!(targets.shown_total(), Grams::parse(volume).unwrap());
        }
    }

    #[test]
    fn a_tie_behind_a_repeating_fraction_is_still_a_tie() {
        // p/ρ is 1/3 here, so the mass is computed through a rounded quotient; it is 1 g all the same.
        let recipe = recipe(&[("1", "3"), ("3", "3")]);
        let volume = Millilitres::new(Decimal::ONE.checked_div(Decimal::from(3)).unwrap());
        let targets = Targets::new(&recipe, volume, Division::TENTH, &[0, 1]);
        assert_eq!(targets.pours[0].shown, Grams::parse("0.2").unwrap());
    }

    proptest! {
        /// Against exact rationals (num-rational).
        #[test]
        fn exact_scaling(
            lines in prop::collection::vec((1_u64..10_000_000, 500_u64..3_000), 1..20),
            volume in 1_u64..10_000_000,
            division in prop::sample::select(vec!["0.01", "0.02", "0.05", "0.1", "0.5", "1"]),
        ) {
            let texts: Vec<_> = lines
                .iter()
                .map(|(parts, density)| {
                    (Decimal::new(i64::try_from(*parts).unwrap(), 3).to_string(),
                     Decimal::new(i64::try_from(*density).unwrap(), 3).to_string())
                })
                .collect();
            let recipe = recipe(&texts.iter().map(|(p, d)| (p.as_str(), d.as_str())).collect::<Vec<_>>());
            let volume = Millilitres::new(Decimal::new(i64::try_from(volume).unwrap(), 2));
            let division = Division::parse(division).unwrap();
            let order: Vec<_> = (0..lines.len()).collect();
            let targets = Targets::new(&recipe, volume, division, &order);

            let parts: Vec<_> = recipe.lines().iter().map(|line| rational(line.parts)).collect();
            let total: BigRational = parts.iter().sum();
            let filled: BigRational =
                recipe.lines().iter().map(|line| rational(line.parts) / rational(line.density.decimal())).sum();
            let mass = rational(volume.decimal()) * &total / filled;
            let step = rational(division.grams().decimal());
            let noise = BigRational::new(1.into(), BigInt::from(10).pow(12));
            let mut cumulative = BigRational::zero();
            let mut shown_sum = Grams::ZERO;
            for (target, part) in targets.pours.iter().zip(&parts) {
                let exact = &mass * part / &total;
                cumulative += &exact;
                prop_assert!((rational(target.exact.decimal()) - &exact).abs() < noise);
                shown_sum += target.shown;
                let shown = rational(shown_sum.decimal());
                // Never off by more than half a division (and the picogram that settles ties).
                prop_assert!((&shown - &cumulative).abs() <= &step / BigInt::from(2) + &noise);
                let reference = rounded(&cumulative, &step);
                let to_tie = ((&cumulative / &step).fract() - BigRational::new(1.into(), 2.into())).abs() * &step;
                if to_tie > noise || to_tie.is_zero() {
                    prop_assert_eq!(&shown, &reference);
                }
                prop_assert!(division.divides(target.shown));
            }
            prop_assert_eq!(shown_sum, targets.shown_total());
        }

        #[test]
        fn ties_follow_the_exact_rationals(steps in 0_u32..2000, half in any::<bool>()) {
            // A first pour of n or n and a half divisions out of 1000, in one density: exact ties.
            let first = Decimal::new(i64::from(steps) * 10 + if half { 5 } else { 0 } + 10, 2);
            let rest = parse_decimal("1000").unwrap().checked_sub(first).unwrap();
            let recipe = recipe(&[(&first.to_string(), "0.7"), (&rest.to_string(), "0.7")]);
            let volume = Millilitres::new(Decimal::from(10_000).checked_div(Decimal::from(7)).unwrap());
            let targets = Targets::new(&recipe, volume, Division::TENTH, &[0, 1]);
            let shown = rational(targets.pours[0].shown.decimal());
            prop_assert_eq!(shown, rounded(&rational(first), &rational(Decimal::new(1, 1))));
        }
    }
}
