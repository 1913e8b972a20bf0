//! What the shop's files say of the solvents and hazards of what was poured.

use crate::catalogue::{Catalogue, Product, Toner, TonerCode, TonerKind, Volatiles};
use crate::job::{CautionFlags, Ingredient, PerLitre, VocSheet};
use crate::units::Grams;

fn sheet(volatiles: &Volatiles) -> VocSheet {
    VocSheet {
        volatiles: PerLitre::new(volatiles.total),
        water: PerLitre::new(volatiles.water),
        exempt: PerLitre::new(volatiles.exempt),
        exempt_density: volatiles.exempt_density,
    }
}

/// Whether it is of the colour part of a mix, of which its product's sheet speaks.
fn is_colour(toner: &Toner) -> bool {
    !matches!(toner.kind, TonerKind::Hardener | TonerKind::Thinner)
}

/// So much of a toner with what is known of it: by its own entry, or, where that says nothing and it is a part of the
/// colour, by that of the product it is mixed into.
pub(super) fn ingredient(
    catalogue: &Catalogue,
    product: Option<&Product>,
    code: &TonerCode,
    mass: Grams,
) -> Ingredient {
    let toner = catalogue.toner(code.as_str());
    let own = toner.and_then(|toner| toner.volatiles.as_ref());
    let of_product = || product.filter(|_| toner.is_some_and(is_colour))?.colour.as_ref();
    Ingredient {
        code: code.as_str().to_owned(),
        mass,
        density: toner.map(|toner| toner.density),
        sheet: own.or_else(of_product).map(sheet),
    }
}

/// What there is to be careful about: what the product's entry says, and that of each toner in it.
pub(super) fn flags(
    catalogue: &Catalogue,
    product: Option<&Product>,
    ingredients: &[Ingredient],
) -> CautionFlags {
    let toners = || ingredients.iter().filter_map(|one| catalogue.toner(&one.code));
    let says = |of: fn(&Product) -> Option<bool>| product.and_then(of) == Some(true);
    CautionFlags {
        isocyanates: says(|product| product.isocyanates) || toners().any(Toner::counts_as_isocyanate),
        flammable: says(|product| product.flammable) || toners().any(|toner| toner.flammable == Some(true)),
        target_hap: says(|product| product.target_hap),
    }
}
