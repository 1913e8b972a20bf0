//! How much solvent went up: what was poured in a time, toner by toner, and what of it was volatile organic compounds.

use super::{Ingredient, Lack};
use crate::units::{Density, Grams, Millilitres};
use std::collections::BTreeMap;

/// What was poured of a toner.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Released {
    /// Which toner.
    pub code: String,
    /// How much.
    pub mass: Grams,
    /// The room it took; none if its density is not known.
    pub volume: Option<Millilitres>,
    /// Volatile organic compounds in it, without exempt ones, as far as they are known: at least so much.
    pub voc: Grams,
    /// Exempt compounds, as far as they are known.
    pub exempt: Grams,
    /// How much of it was poured of which nothing is known. Its solvent is not in the sums.
    pub unknown: Grams,
    /// In which mixes that is, by their numbers, and what is not known of it there.
    pub lacking: Vec<(u32, Lack)>,
}

impl Released {
    /// Whether the solvent of all of it is known.
    pub const fn is_known(&self) -> bool {
        self.lacking.is_empty()
    }
}

/// What was poured altogether. All of the solvent is taken to have gone up: what was thrown away or sent off is not taken
/// off, so that it is too much rather than too little.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Emission {
    /// Toner by toner, in order of their codes.
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

impl Emission {
    /// Whether the solvent of all that was poured is known.
    pub fn is_known(&self) -> bool {
        self.rows.iter().all(Released::is_known)
    }
}

/// What these came to: what was poured into each mix, by its number, with what is known of it there. The same toner holds
/// in one product what the one's sheet says, and in another what the other's does.
pub fn emission<'a>(
    mixes: impl IntoIterator<Item = (u32, &'a [Ingredient])>,
    water_density: Density,
) -> Emission {
    let mut all = Emission::default();
    let mut rows = BTreeMap::<&str, Released>::new();
    let poured = mixes.into_iter().flat_map(|(number, all)| all.iter().map(move |one| (number, one)));
    for (number, ingredient) in poured.filter(|(_, one)| !one.mass.is_zero()) {
        let mass = ingredient.mass;
        let row = rows.entry(&ingredient.code).or_insert_with(|| Released {
            code: ingredient.code.clone(),
            mass: Grams::ZERO,
            volume: Some(Millilitres::default()),
            voc: Grams::ZERO,
            exempt: Grams::ZERO,
            unknown: Grams::ZERO,
            lacking: Vec::new(),
        });
        let volume = ingredient.density.map(|density| density.volume_of(mass));
        // A correction of what was booked earlier can be below nothing, and so is its solvent.
        let sized = Ingredient { mass: mass.abs(), ..ingredient.clone() };
        let signed = |part: Grams| if mass.is_negative() { -part } else { part };
        match sized.component(water_density) {
            Ok(part) => {
                row.voc += signed(part.voc());
                row.exempt += signed(part.exempt);
            }
            Err(why) => {
                row.unknown += mass;
                row.lacking.push((number, why));
            }
        }
        row.mass += mass;
        row.volume = row.volume.zip(volume).map(|(all, one)| all + one);
        all.volume += volume.unwrap_or_default();
    }
    all.rows = rows.into_values().collect();
    for row in &all.rows {
        all.mass += row.mass;
        all.voc += row.voc;
        all.exempt += row.exempt;
        all.unknown += row.unknown;
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
        let emission = emission([(7, all.as_slice())], Density::WATER);
        assert_eq!(emission.voc, g("915"));
        assert_eq!(pounds(emission.voc).round_dp(3), "2.017".parse::<Decimal>().unwrap());
        assert_eq!((emission.mass, emission.unknown), (g("1705"), g("70")));
        assert_eq!(emission.volume, Millilitres::parse("1550").unwrap());
        assert_eq!(emission.rows.len(), 3, "nothing was poured of d");
        assert_eq!(emission.rows[2].lacking, [(7, Lack::Sheet)], "unknown, not nothing");
        assert_eq!(emission.rows[2].unknown, g("70"));
        assert!(!emission.is_known());
    }

    /// By hand: 100 g at 1 g/mL are 100 mL; in one product they hold 500 g/L and in the other 300, in a third nobody knows.
    #[test]
    fn a_toner_holds_what_the_sheet_of_its_mix_says() {
        let of = |sheet| [ingredient("a", "100", "1", sheet)];
        let (one, other, third) = (of(Some("500")), of(Some("300")), of(None));
        let mixes = [(1, one.as_slice()), (2, other.as_slice()), (3, third.as_slice())];
        let all = emission(mixes, Density::WATER);
        let [row] = all.rows.as_slice() else { panic!("{all:?}") };
        assert_eq!((row.mass, row.voc, row.unknown), (g("300"), g("80"), g("100")));
        assert_eq!((row.volume, row.lacking.as_slice()), (Some(all.volume), [(3, Lack::Sheet)].as_slice()));
        assert_eq!((all.mass, all.voc, all.unknown), (row.mass, row.voc, row.unknown));
        // What was booked and taken back again holds nothing.
        let back = [ingredient("a", "-100", "1", Some("500"))];
        let none = emission([(1, one.as_slice()), (1, back.as_slice())], Density::WATER);
        assert_eq!((none.mass, none.voc, none.volume), (g("0"), g("0"), Millilitres::default()));
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
            let whole = emission([(1, left), (2, right)], Density::WATER);
            prop_assert_eq!((whole.voc, whole.rows.len()), (of(left) + of(right), 1));
        }
    }
}
