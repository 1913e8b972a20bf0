//! What a layer is mixed from: the colour's own formula, or what is in the tin of the product it is sprayed with.

use super::{Catalogue, Colour, Entry, Layer, Part, Product, Role, Word as _};
use crate::units::Decimal;
use std::borrow::Cow;

impl Catalogue {
    /// What that layer of the colour is mixed from: its own formula, or else what is in the tin of the product that is
    /// `named` for it, or of the first for such layers that has one, as a layer of that one toner. None where there is neither.
    pub fn layer_of<'c>(
        &self,
        colour: &'c Colour,
        role: Role,
        named: Option<&str>,
    ) -> Option<Cow<'c, Layer>> {
        let own = colour.layer(role).map(Cow::Borrowed);
        own.or_else(|| self.layer_from_tin(role, named).map(Cow::Owned))
    }

    /// Such a layer out of the tin alone: a hundred parts of what is in it.
    pub fn layer_from_tin(&self, role: Role, named: Option<&str>) -> Option<Layer> {
        let product: &Product = match named {
            Some(code) => self.product(code).filter(|product| product.is_for(role)),
            None => self.product_without_formula(role),
        }?;
        let toner = product.tin.clone()?;
        Some(Layer {
            role,
            pours: vec![Part { toner, parts: Decimal::ONE_HUNDRED }],
            product: Some(product.code.clone()),
            shade: None,
        })
    }

    /// The layers of a colour that it has no formula of and that have a place in its finish, and what they are mixed from
    /// out of the tin; from the panel outwards.
    pub fn from_tins(&self, colour: &Entry<'_>) -> Vec<Layer> {
        let open = |role: &&Role| {
            !colour.finish.excludes().contains(role) && !colour.layers.iter().any(|(own, _)| own == *role)
        };
        Role::ALL.iter().filter(open).filter_map(|role| self.layer_from_tin(*role, None)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Listing;

    /// The tin that a layer comes out of, if it does, and its product.
    fn tin(shop: &Catalogue, colour: &str, role: Role, named: Option<&str>) -> Option<(String, String)> {
        let layer = shop.layer_of(shop.colour(colour).unwrap(), role, named)?;
        let Cow::Owned(layer) = layer else { return None };
        let [part] = &layer.pours[..] else { panic!("{layer:?}") };
        assert_eq!((part.parts, layer.role, layer.shade.clone()), (Decimal::ONE_HUNDRED, role, None));
        Some((part.toner.to_string(), layer.product.unwrap().to_string()))
    }

    #[test]
    fn a_layer_without_a_formula_comes_out_of_its_products_tin() {
        let shop = Catalogue::demo();
        let of_clear = Some(("V90".to_owned(), "CC-6".to_owned()));
        assert_eq!(tin(&shop, "PB-3140", Role::Clear, None), of_clear);
        assert_eq!(tin(&shop, "PB-2219", Role::Clear, None), of_clear, "two stages");
        assert_eq!(tin(&shop, "PB-3140", Role::Clear, Some("cc-6")), of_clear);
        // Its own formula goes first, whatever product is named.
        let own = shop.colour("PB-3171").unwrap();
        for named in [None, Some("CC-6"), Some("GONE-1")] {
            assert_eq!(shop.layer_of(own, Role::Clear, named).as_deref(), own.layer(Role::Clear));
        }
    }

    #[test]
    fn no_other_tin_is_taken_for_the_one_that_is_named() {
        let mut shop = Catalogue::demo();
        assert_eq!(tin(&shop, "PB-3140", Role::Clear, Some("GONE-1")), None);
        assert_eq!(tin(&shop, "PB-3140", Role::Clear, Some("BL-5")), None, "a product for other layers");
        assert_eq!(tin(&shop, "PB-3140", Role::Base, None), None, "a product without a tin");
        // A second clear: what is named, and the first where nothing is.
        let second = shop.product("CC-6").unwrap().clone();
        let second = Product {
            code: crate::catalogue::ProductCode::new("CC-9"),
            tin: Some(crate::catalogue::TonerCode::new("V92")),
            ..second
        };
        shop.products.push(second);
        let of = |named| tin(&shop, "PB-3140", Role::Clear, named).map(|(toner, _)| toner);
        assert_eq!((of(Some("CC-9")).as_deref(), of(None).as_deref()), (Some("V92"), Some("V90")));
        // The first has no tin: the one that has is taken, but not for the one that is named.
        shop.products
            .iter_mut()
            .filter(|product| product.code.as_str() == "CC-6")
            .for_each(|first| first.tin = None);
        let of = |named| tin(&shop, "PB-3140", Role::Clear, named).map(|(toner, _)| toner);
        assert_eq!((of(None).as_deref(), of(Some("CC-6"))), (Some("V92"), None));
    }

    #[test]
    fn beside_its_formulas_a_colour_has_what_its_finish_has_a_place_for() {
        let shop = Catalogue::demo();
        let listing = Listing::of(&shop.colours);
        let of = |code: &str| -> Vec<Role> {
            let entry = listing.iter().find(|entry| entry.code == code).unwrap();
            shop.from_tins(&entry).into_iter().map(|layer| layer.role).collect()
        };
        assert_eq!(of("PB-3140"), [Role::Clear], "three stages");
        assert_eq!(of("PB-3171"), [Role::Blender], "its clear has a formula");
        assert_eq!(of("PB-2219"), [Role::Clear], "two stages");
        assert_eq!(of("PB-1121"), [Role::Blender], "a single stage has its own gloss");
        let bare = Catalogue { products: Vec::new(), ..Catalogue::demo() };
        assert!(listing.iter().all(|entry| bare.from_tins(&entry).is_empty()));
    }
}
