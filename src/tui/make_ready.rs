//! What a layer's colour is made ready to spray with: its product, and which hardener and thinner of those that it offers.

use crate::catalogue::{Addition, Catalogue, Layer, Product, TonerCode};
use crate::mix::{Additions, LinePart, Recipe, RecipeError};
use crate::units::{Grams, Millilitres};

/// A product that has a ratio, and what was chosen of it.
#[derive(Clone, Debug)]
pub(super) struct MakeReady {
    /// The product.
    pub product: Product,
    /// Whether it is made ready at all; else it is colour alone.
    pub on: bool,
    hardener: usize,
    thinner: usize,
}

/// The toner at that place of what may be taken.
fn chosen(addition: Option<&Addition>, at: usize) -> Option<&TonerCode> {
    addition?.toners.get(at)
}

/// The place behind that one; none behind the last.
fn next(addition: Option<&Addition>, at: usize) -> Option<usize> {
    let next = at.saturating_add(1);
    (next < addition?.toners.len()).then_some(next)
}

impl MakeReady {
    /// By the product that is named, or else that of the layer; none where it has none, or one that is sprayed as it is.
    pub(super) fn of(catalogue: &Catalogue, layer: &Layer, named: Option<&str>) -> Option<Self> {
        let product = named.and_then(|code| catalogue.product(code)).or_else(|| catalogue.product_for(layer));
        let product = product.filter(|product| product.ratio.is_some())?;
        Some(Self { product: product.clone(), on: true, hardener: 0, thinner: 0 })
    }

    /// The hardener that was chosen, if one goes in.
    pub(super) fn hardener(&self) -> Option<&TonerCode> {
        chosen(self.product.ratio.as_ref()?.hardener.as_ref(), self.hardener)
    }

    /// The thinner that was chosen, if one goes in.
    pub(super) fn thinner(&self) -> Option<&TonerCode> {
        chosen(self.product.ratio.as_ref()?.thinner.as_ref(), self.thinner)
    }

    /// Turns to the next hardener; behind the last to colour alone, and behind that to the first.
    pub(super) fn turn(&mut self) {
        let hardeners = self.product.ratio.as_ref().and_then(|ratio| ratio.hardener.as_ref());
        if let Some(next) = next(hardeners, self.hardener).filter(|_| self.on) {
            self.hardener = next;
        } else {
            self.on = !self.on;
            self.hardener = 0;
        }
    }

    /// Turns to the next thinner; behind the last to the first.
    pub(super) fn turn_thinner(&mut self) {
        let thinners = self.product.ratio.as_ref().and_then(|ratio| ratio.thinner.as_ref());
        self.thinner = next(thinners, self.thinner).unwrap_or(0);
    }

    /// Whether there is another thinner to turn to.
    pub(super) fn has_thinners(&self) -> bool {
        let thinners = self.product.ratio.as_ref().and_then(|ratio| ratio.thinner.as_ref());
        self.on && thinners.is_some_and(|thinners| thinners.toners.len() > 1)
    }

    /// The recipe as it is mixed: with what was chosen, or colour alone.
    ///
    /// # Errors
    /// The product's sheet does not fit.
    pub(super) fn recipe(&self, colour: &Recipe, catalogue: &Catalogue) -> Result<Recipe, RecipeError> {
        if !self.on {
            return Ok(colour.clone());
        }
        let chosen = Additions { hardener: self.hardener(), thinner: self.thinner() };
        colour.activated(catalogue, &self.product, chosen)
    }
}

/// How much of a volume ready to spray is colour, hardener and thinner, an estimate by ideal volumes; each part of the
/// recipe once, with the code of what is added.
pub(super) fn volumes(recipe: &Recipe, ready: Millilitres) -> Vec<(LinePart, String, Millilitres)> {
    let lines = recipe.lines();
    let all = recipe.volume_of(lines.iter().map(|line| Grams::new(line.parts)));
    let mut volumes: Vec<(LinePart, String, Millilitres)> = Vec::new();
    for line in lines {
        let own = line.density.volume_of(Grams::new(line.parts));
        let volume = own.ratio_to(all).map_or(Millilitres::ZERO, |share| ready.times(share));
        match volumes.last_mut().filter(|(part, ..)| part.is_colour() && line.part.is_colour()) {
            Some((_, _, colour)) => *colour += volume,
            None => volumes.push((line.part, line.toner.as_str().to_owned(), volume)),
        }
    }
    volumes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Role;

    fn ground() -> (Catalogue, Recipe, MakeReady) {
        let shop = Catalogue::demo();
        let colour = shop.colour("PB-3140").unwrap();
        let layer = colour.layer(Role::Ground).unwrap();
        let recipe = Recipe::of_layer(&shop, colour, layer).unwrap();
        let ready = MakeReady::of(&shop, layer, None).unwrap();
        (shop, recipe, ready)
    }

    #[test]
    fn a_key_goes_through_the_hardeners_and_colour_alone() {
        let (shop, colour, mut ready) = ground();
        let codes = |ready: &MakeReady| {
            let recipe = ready.recipe(&colour, &shop).unwrap();
            let added = recipe.lines().iter().filter(|line| !line.part.is_colour());
            added.map(|line| line.toner.as_str().to_owned()).collect::<Vec<_>>()
        };
        assert_eq!(codes(&ready), ["H60", "T70"]);
        ready.turn_thinner();
        ready.turn();
        assert_eq!(codes(&ready), ["H66", "T74"]);
        ready.turn();
        assert!(!ready.on && !ready.has_thinners() && codes(&ready).is_empty());
        ready.turn();
        ready.turn_thinner();
        assert_eq!(codes(&ready), ["H60", "T70"]);
    }

    /// 10 : 1 : 3 by volume: of 310 mL 221.43, 22.14 and 66.43 mL (worked by hand).
    #[test]
    fn a_volume_ready_to_spray_in_its_parts() {
        let (shop, colour, ready) = ground();
        let recipe = ready.recipe(&colour, &shop).unwrap();
        let parts = volumes(&recipe, Millilitres::parse("310").unwrap());
        let shown: Vec<_> = parts
            .iter()
            .map(|(part, code, volume)| {
                (*part, if part.is_colour() { "" } else { code.as_str() }, volume.with_decimals(2))
            })
            .collect();
        assert_eq!(
            shown,
            [
                (LinePart::Colour, "", "221.43".to_owned()),
                (LinePart::Hardener, "H60", "22.14".to_owned()),
                (LinePart::Thinner, "T70", "66.43".to_owned()),
            ]
        );
    }
}
