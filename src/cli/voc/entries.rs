//! What the shop's files say of the solvents and hazards of what was poured.

use crate::catalogue::{Catalogue, Layer, Product, Role, Toner, TonerCode, TonerKind, Volatiles, Word as _};
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

/// The sheet of a toner that has none of its own and of which nobody knows into which mix it went: that of the products it
/// can be mixed into by the shop's formulas, if they all say the same.
pub(super) fn of_any_product(catalogue: &Catalogue, code: &TonerCode) -> Option<VocSheet> {
    catalogue.toner(code.as_str()).filter(|toner| is_colour(toner))?;
    let layers = catalogue.colours.iter().flat_map(|colour| &colour.layers);
    let products = layers
        .filter(|layer| layer.pours.iter().any(|part| part.toner == *code))
        .map(|layer| catalogue.product_for(layer));
    let tins = catalogue.products.iter().filter(|product| product.tin.as_ref() == Some(code)).map(Some);
    let mut sheets = products.chain(tins).map(|product| product.and_then(|product| product.colour.as_ref()));
    let first = sheets.next()??;
    sheets.all(|other| other == Some(first)).then(|| sheet(first))
}

/// A layer that a mix can be of, and the colour's own formula of it, if it has one.
fn layer<'a>(catalogue: &'a Catalogue, subject: &[Option<String>; 3]) -> Option<(Role, Option<&'a Layer>)> {
    let [code, variant, role] = subject.each_ref().map(Option::as_deref);
    let role = Role::from_word(role?)?;
    let named = code.and_then(|code| match variant {
        Some(variant) => catalogue.colour_variant(code, variant),
        None => catalogue.colour(code),
    });
    Some((role, named.and_then(|colour| colour.layer(role))))
}

/// The product of a mix: what its layer names, or what the shop takes for such layers.
pub(super) fn product<'a>(catalogue: &'a Catalogue, subject: &[Option<String>; 3]) -> Option<&'a Product> {
    match layer(catalogue, subject)? {
        (_, Some(layer)) => catalogue.product_for(layer),
        (role, None) => catalogue.products.iter().find(|product| product.is_for(role)),
    }
}

/// The product whose tin was poured into a mix of a layer that has no formula; `toners` are those that are in it.
pub(super) fn by_tin<'a>(
    catalogue: &'a Catalogue,
    subject: &[Option<String>; 3],
    toners: &[(TonerCode, Grams)],
) -> Option<&'a Product> {
    let (role, None) = layer(catalogue, subject)? else { return None };
    let poured = |tin: &TonerCode| toners.iter().any(|(toner, _)| toner == tin);
    let mut products = catalogue.products.iter().filter(|product| product.is_for(role));
    products.find(|product| product.tin.as_ref().is_some_and(poured))
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
