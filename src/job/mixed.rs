//! The content of a mix as it was really poured: each toner by its own sheet, and which of them have none.

use super::{Component, Content, VocError, VocSheet};
use crate::book::{Account, MixId, Moved};
use crate::catalogue::TonerCode;
use crate::units::{Density, Grams};
use std::collections::BTreeMap;
use std::fmt;

/// So much of a toner that went into a cup.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ingredient {
    /// Which toner.
    pub code: String,
    /// How much of it.
    pub mass: Grams,
    /// What a millilitre of it weighs; none if nobody knows that toner any more.
    pub density: Option<Density>,
    /// What its sheet says of solvents; none if nobody wrote that down.
    pub sheet: Option<VocSheet>,
}

/// Why the solvent of an ingredient is not known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lack {
    /// Its density is not known.
    Density,
    /// Nothing is written down of its solvents.
    Sheet,
    /// What is written down cannot be.
    Wrong(VocError),
}

impl fmt::Display for Lack {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Density => f.pad("its density is not known: it is in no file of the shop"),
            Self::Sheet => f.pad("no VOC data: write them into its file from the maker's data sheet"),
            Self::Wrong(error) => error.fmt(f),
        }
    }
}

/// An ingredient whose solvent is not known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lacking {
    /// Which toner.
    pub code: String,
    /// How much of it.
    pub mass: Grams,
    /// Why.
    pub why: Lack,
}

/// What is known of a mix.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Mixed {
    /// What the ingredients with data come to: of the whole mix only if nothing is lacking.
    pub known: Content,
    /// The others. Unknown, never nothing.
    pub lacking: Vec<Lacking>,
}

impl Mixed {
    /// The content of the whole mix; none if anything in it is not known.
    pub fn content(&self) -> Option<Content> {
        self.lacking.is_empty().then_some(self.known)
    }

    /// Why there is none, in words.
    pub fn why_not(&self) -> Option<String> {
        let codes: Vec<&str> = self.lacking.iter().map(|lacking| lacking.code.as_str()).collect();
        (!codes.is_empty()).then(|| format!("not known of {}", codes.join(", ")))
    }
}

/// What a mix was in the end, by where its own events put its paint: what is in the cup, was sprayed, kept or thrown away
/// after spraying. What was drawn off to put it right is no part of it. Of a mix that was given up it is what was given up.
pub fn in_the_end(moved: &[Moved], mix: MixId) -> Vec<(TonerCode, Grams)> {
    let sum = |counts: &dyn Fn(&Account) -> bool| {
        let mut sums = BTreeMap::<&TonerCode, Grams>::new();
        for one in moved.iter().filter(|one| counts(&one.account)) {
            *sums.entry(&one.toner).or_default() += one.mass;
        }
        sums.retain(|_, mass| mass.is_positive());
        sums
    };
    let whole = sum(&|account| match account {
        Account::Cup(of) | Account::Leftover(of) => *of == mix,
        Account::Car(_) | Account::LeftThrown(_) => true,
        _ => false,
    });
    let found =
        if whole.is_empty() { sum(&|account| matches!(account, Account::Abandoned(_))) } else { whole };
    found.into_iter().map(|(toner, mass)| (toner.clone(), mass)).collect()
}

impl Ingredient {
    /// What it brings in.
    ///
    /// # Errors
    /// That is not known.
    pub fn component(&self, water_density: Density) -> Result<Component, Lack> {
        let density = self.density.ok_or(Lack::Density)?;
        let sheet = self.sheet.as_ref().ok_or(Lack::Sheet)?;
        Component::of(density.volume_of(self.mass), self.mass, sheet, water_density).map_err(Lack::Wrong)
    }
}

/// What these came to together.
pub fn mixed(ingredients: &[Ingredient], water_density: Density) -> Mixed {
    let mut all = Mixed::default();
    for ingredient in ingredients.iter().filter(|one| !one.mass.is_zero()) {
        match ingredient.component(water_density) {
            Ok(component) => all.known.total = all.known.total.with(component),
            Err(why) => {
                all.lacking.push(Lacking { code: ingredient.code.clone(), mass: ingredient.mass, why });
            }
        }
    }
    all
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::job::PerLitre;
    use crate::units::Decimal;

    /// Grams of a toner of that density that has so much solvent a litre, in g/L; none if nobody wrote it down.
    pub(in crate::job) fn ingredient(
        code: &str,
        mass: &str,
        density: &str,
        volatiles: Option<&str>,
    ) -> Ingredient {
        let number = |text: &str| text.parse::<Decimal>().unwrap();
        let sheet = |text| VocSheet { volatiles: PerLitre::new(number(text)), ..VocSheet::default() };
        Ingredient {
            code: code.to_owned(),
            mass: Grams::new(number(mass)),
            density: Density::new(number(density)),
            sheet: volatiles.map(sheet),
        }
    }

    /// 100 mL with 50 g and 100 mL with 30 g: 80 g in 0.2 L (reckoned).
    #[test]
    fn each_by_its_own_sheet() {
        let all = [ingredient("a", "120", "1.2", Some("500")), ingredient("b", "90", "0.9", Some("300"))];
        let mixed = mixed(&all, Density::WATER);
        assert_eq!(mixed.content().unwrap().regulatory().unwrap().decimal(), Decimal::from(400));
        assert_eq!(mixed.why_not(), None);
    }

    /// Ten grams drawn off, a leftover of another mix in it, and the rest sprayed, kept and thrown away.
    #[test]
    fn a_mix_is_what_it_was_in_the_end() {
        use crate::book::Ids;
        use crate::units::Stamp;
        let mut ids = Ids::counted(1);
        let (mix, other) = (ids.mix(Stamp(0)), ids.mix(Stamp(0)));
        let moved = |account: Account, toner: &str, mass: &str| Moved {
            subject: mix,
            account,
            toner: TonerCode::new(toner),
            mass: Grams::parse(mass).unwrap(),
        };
        let mut all = vec![
            moved(Account::Tin("24-1".into()), "W10", "-100"),
            moved(Account::Leftover(other), "K05", "-20"),
            moved(Account::DrawnOff, "W10", "10"),
            moved(Account::Cup(mix), "W10", "90"),
            moved(Account::Cup(mix), "K05", "20"),
        ];
        let g = |text| Grams::parse(text).unwrap();
        let expected = vec![(TonerCode::new("K05"), g("20")), (TonerCode::new("W10"), g("90"))];
        assert_eq!(in_the_end(&all, mix), expected);
        // Emptied: nothing is in the cup any more, and the same mix is in three places.
        all.truncate(3);
        all.extend([
            moved(Account::Car("job".into()), "W10", "60"),
            moved(Account::Leftover(mix), "W10", "25"),
            moved(Account::LeftThrown(String::new()), "W10", "5"),
            moved(Account::Car("job".into()), "K05", "20"),
        ]);
        assert_eq!(in_the_end(&all, mix), expected);
        let given_up = [
            moved(Account::Tin("24-1".into()), "W10", "-5"),
            moved(Account::Abandoned(String::new()), "W10", "5"),
        ];
        assert_eq!(in_the_end(&given_up, mix), [(TonerCode::new("W10"), g("5"))]);
    }

    #[test]
    fn what_is_not_known_is_never_nothing() {
        let mut gone = ingredient("gone", "5", "1", Some("300"));
        gone.density = None;
        let heavy = ingredient("heavy", "9", "0.9", Some("950"));
        let all =
            [ingredient("a", "120", "1.2", Some("500")), ingredient("b", "90", "0.9", None), gone, heavy];
        let mixed = mixed(&all, Density::WATER);
        assert_eq!(mixed.content(), None);
        assert_eq!(mixed.why_not().unwrap(), "not known of b, gone, heavy");
        let why: Vec<Lack> = mixed.lacking.iter().map(|lacking| lacking.why).collect();
        assert_eq!(why, [Lack::Sheet, Lack::Density, Lack::Wrong(VocError::Mass)]);
        assert_eq!(mixed.known.total.voc(), Grams::new(Decimal::from(50)));
        // None of it went in: nothing has to be known of it.
        assert!(super::mixed(&[ingredient("b", "0", "0.9", None)], Density::WATER).lacking.is_empty());
    }
}
