//! Can it be weighed: the smallest amount a scale can weigh to a stated accuracy, in the form of USP 41.

use super::{Recipe, Targets};
use crate::units::{Decimal, Division, Grams, Millilitres, Share};

/// What the shop asks of its scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Accuracy {
    /// The relative limit `p` for the smallest pour; 1 % unless the shop sets another.
    pub limit: Share,
    /// The standard deviation `s` of ten weighings, if the shop has measured it.
    pub repeatability: Option<Grams>,
}

impl Default for Accuracy {
    fn default() -> Self {
        Self { limit: Share::ONE_PERCENT, repeatability: None }
    }
}

/// The smallest net weight: `m_min = 2 · max(s, 0.41 d) / p` (the form of USP 41: twice the standard
/// deviation over the smallest net weight at most `p`, and never less than two roundings give, 0.41 d).
///
/// `None` if the limit is nothing.
pub fn smallest_weight(division: Division, accuracy: Accuracy) -> Option<Grams> {
    let floor = division.grams().times(Decimal::new(41, 2));
    let spread = accuracy.repeatability.map_or(floor, |s| s.max(floor));
    spread.times(Decimal::TWO).ratio_to(Grams::new(accuracy.limit.decimal())).map(Grams::new)
}

/// Which targets are too small for the scale, as places in the recipe.
pub fn too_small(targets: &Targets, smallest: Grams) -> Vec<usize> {
    targets.pours.iter().filter(|target| target.exact < smallest).map(|target| target.line).collect()
}

/// The smallest volume of the recipe at which every toner can be weighed.
pub fn smallest_volume(recipe: &Recipe, smallest: Grams) -> Millilitres {
    let least = recipe.shares().into_iter().min().unwrap_or(Share::ONE);
    let mass = smallest.ratio_to(Grams::new(least.decimal())).map_or(Grams::ZERO, Grams::new);
    recipe.volume_at(mass)
}

/// Which lines of a recipe are too small for the scale when so much of it is mixed, as places in the recipe.
pub fn too_small_at(recipe: &Recipe, volume: Millilitres, smallest: Grams) -> Vec<usize> {
    let mass = recipe.mass_for(volume);
    let shares = recipe.shares().into_iter().enumerate();
    shares.filter(|(_, share)| mass.times(share.decimal()) < smallest).map(|(line, _)| line).collect()
}

/// The smallest volume that is offered to somebody who wants less of it: that at which every toner can be weighed, in whole
/// millilitres, rounded up so that it suffices. None if no cup of the shop holds it; `largest_cup` is none where the shop has
/// no cups on file, of whose brims nothing is known then.
pub fn smallest_offered(
    recipe: &Recipe,
    smallest: Grams,
    largest_cup: Option<Millilitres>,
) -> Option<Millilitres> {
    let least = Millilitres::new(smallest_volume(recipe, smallest).decimal().ceil());
    largest_cup.is_none_or(|brim| least <= brim).then_some(least)
}

#[cfg(test)]
mod tests {
    use super::super::recipe::tests::recipe;
    use super::*;
    use rstest::rstest;

    /// USP 41's floor of 0.41 d in the general form, worked out for usual divisions and limits (derived).
    #[rstest]
    #[case("0.01", ["8.2", "1.64", "0.82", "0.41"])]
    #[case("0.05", ["41", "8.2", "4.1", "2.05"])]
    #[case("0.1", ["82", "16.4", "8.2", "4.1"])]
    #[case("1", ["820", "164", "82", "41"])]
    fn the_table_of_smallest_weights(#[case] division: &str, #[case] expected: [&str; 4]) {
        for (limit, expected) in ["0.1 %", "0.5 %", "1 %", "2 %"].into_iter().zip(expected) {
            let accuracy = Accuracy { limit: Share::parse_percent(limit).unwrap(), repeatability: None };
            let smallest = smallest_weight(Division::parse(division).unwrap(), accuracy).unwrap();
            assert_eq!(smallest, Grams::parse(expected).unwrap(), "{division} g at {limit}");
        }
    }

    /// Worked by hand from USP 41's form: seven readings of 200.0 and three of 200.1 have s = 0.0483 g.
    /// And USP 41's own example: s = 0.00015 g at 0.10 % gives 0.300 g.
    #[rstest]
    #[case("0.1", "0.0483", "0.1 %", "96.6")]
    #[case("0.1", "0.0483", "1 %", "9.66")]
    #[case("0.1", "0", "0.1 %", "82")]
    #[case("0.0001", "0.00015", "0.1 %", "0.3")]
    fn worked_examples(#[case] division: &str, #[case] s: &str, #[case] limit: &str, #[case] expected: &str) {
        let accuracy = Accuracy {
            limit: Share::parse_percent(limit).unwrap(),
            repeatability: Some(Grams::parse(s).unwrap()),
        };
        let smallest = smallest_weight(Division::parse(division).unwrap(), accuracy).unwrap();
        assert_eq!(smallest, Grams::parse(expected).unwrap());
    }

    #[test]
    fn the_smallest_volume_weighs_the_smallest_toner() {
        let recipe = recipe(&[("97", "1"), ("3", "1")]);
        let smallest = Grams::parse("8.2").unwrap();
        let volume = smallest_volume(&recipe, smallest);
        let at = |volume| Targets::new(&recipe, volume, Division::TENTH, &[0, 1]);
        assert!(too_small(&at(volume + Millilitres::parse("0.000001").unwrap()), smallest).is_empty());
        assert_eq!(too_small(&at(volume - Millilitres::parse("0.01").unwrap()), smallest), [1]);
    }

    #[test]
    fn what_no_cup_of_the_shop_holds_is_not_offered() {
        let recipe = recipe(&[("97", "1"), ("3", "1")]);
        let ml = |text: &str| Millilitres::parse(text).unwrap();
        // 8.2 g / 3 % = 273.33 g, and as many millilitres.
        let offered =
            |cup: Option<&str>| smallest_offered(&recipe, Grams::parse("8.2").unwrap(), cup.map(ml));
        assert_eq!(offered(None), Some(ml("274")));
        assert_eq!((offered(Some("274")), offered(Some("273.9"))), (Some(ml("274")), None));
        let small = |volume| too_small_at(&recipe, ml(volume), Grams::parse("8.2").unwrap());
        assert_eq!((small("274"), small("273"), small("8")), (vec![], vec![1], vec![0, 1]));
    }

    #[test]
    fn no_limit_has_no_smallest_weight() {
        let accuracy = Accuracy { limit: Share::ZERO, repeatability: None };
        assert_eq!(smallest_weight(Division::TENTH, accuracy), None);
    }
}
