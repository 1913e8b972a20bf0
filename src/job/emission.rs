//! How much solvent went up: what was poured in a time, toner by toner, and what of it was volatile organic compounds.

use super::{Ingredient, Lack};
use crate::units::{Density, Grams, Millilitres};

/// What was poured of a toner.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Released {
    /// Which toner.
    pub code: String,
    /// How much.
    pub mass: Grams,
    /// The room it took; none if its density is not known.
    pub volume: Option<Millilitres>,
    /// Volatile organic compounds in it, without exempt ones, and the exempt ones; or why they are not known.
    pub voc: Result<(Grams, Grams), Lack>,
}

/// What was poured altogether. All of the solvent is taken to have gone up: what was thrown away or sent off is not taken
/// off, so that it is too much rather than too little.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Emission {
    /// Toner by toner, as they were given.
    pub rows: Vec<Released>,
    /// All that was poured.
    pub mass: Grams,
    /// The room of what has a density.
    pub volume: Millilitres,
    /// Volatile organic compounds, as far as they are known: at least so much.
    pub voc: Grams,
    /// Exempt compounds, as far as they are known.
    pub exempt: Grams,
    /// How much was poured of which nothing is known. Its solvent is not in the sums.
    pub unknown: Grams,
}

/// What these came to. Each toner is to be given once.
pub fn emission(poured: &[Ingredient], water_density: Density) -> Emission {
    let mut all = Emission::default();
    for ingredient in poured.iter().filter(|one| !one.mass.is_zero()) {
        let mass = ingredient.mass;
        let volume = ingredient.density.map(|density| density.volume_of(mass));
        // A correction of what was booked earlier can be below nothing, and so is its solvent.
        let sized = Ingredient { mass: mass.abs(), ..ingredient.clone() };
        let signed = |part: Grams| if mass.is_negative() { -part } else { part };
        let voc = sized.component(water_density).map(|part| (signed(part.voc()), signed(part.exempt)));
        match &voc {
            Ok((voc, exempt)) => {
                all.voc += *voc;
                all.exempt += *exempt;
            }
            Err(_) => all.unknown += mass,
        }
        all.mass += mass;
        all.volume += volume.unwrap_or_default();
        all.rows.push(Released { code: ingredient.code.clone(), mass, volume, voc });
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::mixed::tests::ingredient;
    use crate::job::{mixed, pounds};
    use crate::units::Decimal;
    use proptest::prelude::*;

    fn g(text: &str) -> Grams {
        Grams::parse(text).unwrap()
    }

    /// A litre of 480 g/L and half a litre of 870 g/L: 480 + 435 = 915 g, 2.017 lb (reckoned; the pound by definition).
    #[test]
    fn a_month() {
        let all = [
            ingredient("a", "1200", "1.2", Some("480")),
            ingredient("b", "435", "0.87", Some("870")),
            ingredient("c", "70", "1.4", None),
            ingredient("d", "0", "1.4", None),
        ];
        let emission = emission(&all, Density::WATER);
        assert_eq!(emission.voc, g("915"));
        assert_eq!(pounds(emission.voc).round_dp(3), "2.017".parse::<Decimal>().unwrap());
        assert_eq!((emission.mass, emission.unknown), (g("1705"), g("70")));
        assert_eq!(emission.volume, Millilitres::parse("1550").unwrap());
        assert_eq!(emission.rows.len(), 3, "nothing was poured of d");
        assert_eq!(emission.rows[2].voc, Err(Lack::Sheet), "unknown, not nothing");
    }

    proptest! {
        /// A month is the sum of its mixes, however they are put together.
        #[test]
        fn as_its_mixes(masses in prop::collection::vec((1_i64..1_000_000, 1_i64..9), 1..20), cut in 0_usize..20) {
            let all: Vec<Ingredient> = masses
                .iter()
                .map(|(mass, tenths)| {
                    let mass = Decimal::new(*mass, 2).to_string();
                    ingredient("a", &mass, "1", Some(&(tenths * 100).to_string()))
                })
                .collect();
            let (left, right) = all.split_at(cut.min(all.len()));
            let of = |part: &[Ingredient]| mixed(part, Density::WATER).known.total.voc();
            prop_assert_eq!(emission(&all, Density::WATER).voc, of(left) + of(right));
        }
    }
}
