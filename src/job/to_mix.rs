//! From the shop's papers to an amount: a product's sheet as a film, panels and cards as a surface, and what to mix when
//! the scale asks for more than the job does.

use super::{Film, Surface};
use crate::catalogue::{Catalogue, Product};
use crate::mix::{LinePart, Recipe, weighable};
use crate::units::{Area, Decimal, Grams, Millilitres, Share};
use thiserror::Error;

/// What a product's sheet lacks, so that no amount follows from it.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum SheetLacks {
    /// How thick a coat is.
    #[error(
        "the product {0} does not say how thick a dry coat is: add film to products.toml, in micrometres"
    )]
    Film(String),
    /// How many coats.
    #[error("the product {0} does not say how many coats: add coats to products.toml, or say how many")]
    Coats(String),
    /// How much of it is solid.
    #[error(
        "the product {0} does not say its solids by volume: add solids to products.toml, ready to spray, like \"31 %\""
    )]
    Solids(String),
}

impl Film {
    /// The film of a product's sheet: so many coats, or as many as the sheet wants; the product's own transfer efficiency,
    /// or else the shop's `usual` one. `readied` is the layer made ready with that product; from it the solids are reckoned
    /// where the sheet gives those of its parts alone.
    ///
    /// # Errors
    /// The sheet lacks something.
    pub fn of_sheet(
        catalogue: &Catalogue,
        product: &Product,
        readied: &Recipe,
        coats: Option<u32>,
        usual: Share,
    ) -> Result<Self, SheetLacks> {
        let code = || product.code.as_str().to_owned();
        let solids = product.solids.or_else(|| solids_ready(catalogue, product, readied));
        Ok(Self {
            dry_um: product.film_um.ok_or_else(|| SheetLacks::Film(code()))?,
            coats: coats.or(product.coats).ok_or_else(|| SheetLacks::Coats(code()))?,
            solids: solids.ok_or_else(|| SheetLacks::Solids(code()))?,
            efficiency: product.efficiency.unwrap_or(usual),
        })
    }
}

/// The solids by volume of a layer ready to spray, from those of the product's colour part and of the hardener, by ideal
/// volumes; a thinner of which nothing is said has none. None where a part is not known.
pub fn solids_ready(catalogue: &Catalogue, product: &Product, readied: &Recipe) -> Option<Share> {
    let mut solid = Millilitres::ZERO;
    let mut all = Millilitres::ZERO;
    for line in readied.lines() {
        let volume = line.density.volume_of(Grams::new(line.parts));
        let own = catalogue.toner(line.toner.as_str()).and_then(|toner| toner.solids);
        let share = match line.part {
            LinePart::Colour => product.colour_solids?,
            LinePart::Hardener => own?,
            LinePart::Thinner => own.unwrap_or(Share::ZERO),
        };
        solid += volume.times(share.decimal());
        all += volume;
    }
    solid.ratio_to(all).map(Share::new)
}

/// One or more equal spray-out cards.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CardArea {
    /// The area of one.
    pub area: Area,
    /// The coats on it.
    pub coats: u32,
}

impl Surface {
    /// What is sprayed in all: panels with as many coats as the layer has, `coats`, and cards each with its own. A layer of
    /// no coats has no surface.
    pub fn of(
        panels: impl IntoIterator<Item = Area>,
        cards: impl IntoIterator<Item = CardArea>,
        coats: u32,
    ) -> Self {
        let car: Area = panels.into_iter().sum();
        let on_cards: Area = cards.into_iter().map(|card| card.area.times(card.coats.into())).sum();
        let cards = on_cards.ratio_to(Area::new(coats.into()));
        Self {
            car: if cards.is_some() { car.decimal() } else { Decimal::ZERO },
            cards: cards.unwrap_or_default(),
        }
    }
}

/// How much to mix of a recipe when a job wants so much, ready to spray.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ToMix {
    /// What the job wants.
    pub wanted: Millilitres,
    /// The smallest volume of which every toner can be weighed, where that is more than the job wants and the shop has a cup
    /// for it, in whole millilitres. It is offered, with what it leaves over: whether to make it is the painter's to say.
    pub smallest: Option<Millilitres>,
}

impl ToMix {
    /// By the smallest weight the scale weighs well enough, none where nothing is asked of it, and the largest cup the shop
    /// has, none where it has none on file.
    pub fn of(
        recipe: &Recipe,
        wanted: Millilitres,
        smallest_weight: Option<Grams>,
        largest_cup: Option<Millilitres>,
    ) -> Self {
        let smallest =
            smallest_weight.and_then(|least| weighable::smallest_offered(recipe, least, largest_cup));
        // What it takes beyond that is less than a millilitre where all can be weighed as it is.
        let is_needed =
            smallest_weight.is_some_and(|least| !weighable::too_small_at(recipe, wanted, least).is_empty());
        Self { wanted, smallest: smallest.filter(|smallest| is_needed && *smallest > wanted) }
    }

    /// The volume to offer first: what the job wants, or the smallest that can be weighed.
    pub fn offered(self) -> Millilitres {
        self.smallest.unwrap_or(self.wanted)
    }

    /// What of the offer the job does not want.
    pub fn beyond(self) -> Millilitres {
        self.offered() - self.wanted
    }
}

/// How much of a volume ready to spray is colour, an estimate by ideal volumes; all of it where the recipe is colour alone.
pub fn colour_volume(recipe: &Recipe, ready: Millilitres) -> Millilitres {
    let volume = |colour_only: bool| -> Millilitres {
        let lines = recipe.lines().iter().filter(|line| !colour_only || line.part.is_colour());
        lines.map(|line| line.density.volume_of(Grams::new(line.parts))).sum()
    };
    let share = volume(true).ratio_to(volume(false));
    share.map_or(Millilitres::ZERO, |share| ready.times(share))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Role;
    use crate::job::{FlowCup, needed};
    use crate::mix::{Additions, Targets};
    use crate::units::Division;

    fn area(text: &str) -> Area {
        Area::parse(text).unwrap()
    }

    fn ml(text: &str) -> Millilitres {
        Millilitres::parse(text).unwrap()
    }

    fn percent(text: &str) -> Share {
        Share::parse_percent(text).unwrap()
    }

    /// The layer made ready with what the invented shop takes for it.
    fn readied(catalogue: &Catalogue, code: &str, role: Role) -> (Recipe, Product) {
        let colour = catalogue.colour(code).unwrap();
        let layer = colour.layer(role).unwrap();
        let product = catalogue.product_for(layer).unwrap().clone();
        let recipe = Recipe::of_layer(catalogue, colour, layer).unwrap();
        (recipe.activated(catalogue, &product, Additions::default()).unwrap(), product)
    }

    /// Worked by hand: two panels of 1.5 and 0.5 m² and three cards of 0.03 m² with 1, 2 and 3 coats are 2 m² and
    /// 0.18/2 m². In two coats of 12 µm at 28 % and 60 %: 2 · 2 · 12 / 0.168 = 285.714 mL, and 12.857 mL for the cards.
    #[test]
    fn from_panels_and_a_sheet_to_millilitres() {
        let shop = Catalogue::demo();
        let (recipe, product) = readied(&shop, "PB-3140", Role::Ground);
        let film = Film::of_sheet(&shop, &product, &recipe, None, percent("60 %")).unwrap();
        let cards = [1, 2, 3].map(|coats| CardArea { area: area("0.03"), coats });
        let surface = Surface::of([area("1.5"), area("0.5")], cards, film.coats);
        assert_eq!((surface.car, surface.cards), (Decimal::TWO, Decimal::new(9, 2)));
        let need = needed(surface, film, ml("40")).unwrap();
        let shown = |volume: Millilitres| volume.with_decimals(3);
        assert_eq!((shown(need.car), shown(need.cards)), ("285.714".into(), "12.857".into()));
        assert_eq!(shown(need.total()), "338.571");
        // 10 : 1 : 3 by volume: ten fourteenths are colour.
        assert_eq!(
            colour_volume(&recipe, ml("140")).decimal().round_dp(15).normalize(),
            Decimal::ONE_HUNDRED
        );
    }

    #[test]
    fn a_layer_of_no_coats_has_no_surface() {
        let surface = Surface::of([area("1.5")], [CardArea { area: area("0.03"), coats: 2 }], 0);
        assert_eq!(surface, Surface::default());
    }

    #[test]
    fn what_the_sheet_lacks_is_said_and_solids_are_reckoned_from_the_parts() {
        let shop = Catalogue::demo();
        let (recipe, product) = readied(&shop, "PB-3140", Role::Ground);
        let film = |product: &Product| Film::of_sheet(&shop, product, &recipe, None, percent("60 %"));
        let lacks = |change: fn(&mut Product)| {
            let mut product = product.clone();
            change(&mut product);
            film(&product)
        };
        assert_eq!(lacks(|product| product.film_um = None), Err(SheetLacks::Film("GC-2".into())));
        assert_eq!(lacks(|product| product.coats = None), Err(SheetLacks::Coats("GC-2".into())));
        let neither = lacks(|product| (product.solids, product.colour_solids) = (None, None));
        assert_eq!(neither, Err(SheetLacks::Solids("GC-2".into())));
        // (10 · 34 % + 1 · 56 %) / 14 = 28.286 %.
        let parts = lacks(|product| product.solids = None).unwrap();
        assert_eq!(parts.solids.rounded(5).to_string(), "0.28286");
        let own = lacks(|product| product.efficiency = Some(percent("65 %"))).unwrap();
        assert_eq!(own.efficiency, percent("65 %"));
    }

    /// What the invented shop says of its products agrees with itself.
    #[test]
    fn the_invented_sheets_hold_together() {
        let shop = Catalogue::demo();
        let mut seen = 0;
        for colour in &shop.colours {
            for layer in &colour.layers {
                let (recipe, product) = readied(&shop, colour.code.as_str(), layer.role);
                let reckoned = solids_ready(&shop, &product, &recipe).unwrap();
                let off = (reckoned - product.solids.unwrap()).abs();
                assert!(off < percent("1 %"), "{}: {}", product.code, reckoned.percent(1));
                assert_eq!(product.is_activated(), recipe.readied.as_ref().unwrap().pot_life.is_some());
                let cup = &product.viscosity.as_ref().unwrap().cup;
                assert!(FlowCup::named(cup).is_ok(), "{cup}");
                seen += 1;
            }
        }
        assert!(seen > 40, "{seen} layers");
        let activated = |role| readied(&shop, "PB-3140", role).1;
        for role in [Role::Ground, Role::Blender] {
            let product = activated(role);
            let bake = product.bake.unwrap();
            assert!(product.is_activated() && product.isocyanates == Some(true), "{role}");
            assert_eq!((product.flash_off, bake.minutes, bake.celsius), (Some(5), 10, 40), "{role}");
        }
    }

    #[test]
    fn the_smallest_that_can_be_weighed_is_offered_when_the_job_wants_less() {
        let shop = Catalogue::demo();
        let (recipe, _) = readied(&shop, "PB-3140", Role::Ground);
        let least = Grams::parse("8.2").unwrap();
        let little = ToMix::of(&recipe, ml("200"), Some(least), None);
        let smallest = little.smallest.unwrap();
        assert_eq!(little.offered(), smallest);
        assert_eq!(little.beyond(), smallest - ml("200"));
        let order: Vec<_> = (0..recipe.lines().len()).collect();
        let too_small = |volume: Millilitres| {
            weighable::too_small(&Targets::new(&recipe, volume, Division::TENTH, &order), least)
        };
        assert!(too_small(smallest).is_empty());
        // R20 is the least of the formula, 1.50 parts.
        assert_eq!(too_small(smallest - ml("1")), [5]);
        let enough = ToMix::of(&recipe, smallest, Some(least), None);
        assert_eq!((enough.smallest, enough.offered()), (None, smallest));
        assert_eq!(ToMix::of(&recipe, ml("1"), None, None).offered(), ml("1"));
        let by_cup = |brim: Millilitres| ToMix::of(&recipe, ml("200"), Some(least), Some(brim)).smallest;
        assert_eq!((by_cup(smallest), by_cup(smallest - ml("1"))), (Some(smallest), None));
    }
}
