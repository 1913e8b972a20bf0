//! One layer of a colour, with all that weighing it needs to know, as it stood when the mix began.

use super::{LinePart, Readied};
use crate::catalogue::{
    Catalogue, Colour, ColourCode, Layer, Part, Place, ProductCode, Role, Swatch, Toner, TonerCode,
};
use crate::units::{Decimal, Density, Grams, Millilitres, Money, PricePerLitre, Share};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// A toner's place in a recipe.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Line {
    /// The toner's code.
    pub toner: TonerCode,
    /// The toner's name.
    pub name: String,
    /// Parts by mass, more than nothing.
    pub parts: Decimal,
    /// Its density, g/mL.
    pub density: Density,
    /// The relative tolerance of its amount.
    pub tolerance: Share,
    /// What a litre of it costs, if the shop keeps prices.
    pub price: Option<PricePerLitre>,
    /// Where the sheet wants it in the pour order, if it does.
    pub place: Option<Place>,
    /// Its colour on a screen.
    pub swatch: Option<Swatch>,
    /// Whether it is of the colour, or what the colour is made ready with.
    #[serde(default, skip_serializing_if = "LinePart::is_colour")]
    pub part: LinePart,
}

impl Line {
    /// So many parts of a toner, with what the catalogue knows of it.
    pub(super) fn of(catalogue: &Catalogue, toner: &Toner, parts: Decimal) -> Self {
        Self {
            toner: toner.code.clone(),
            name: toner.name.clone(),
            parts,
            density: toner.density,
            tolerance: catalogue.tolerance_of(toner),
            price: toner.price,
            place: toner.place,
            swatch: toner.swatch,
            part: LinePart::Colour,
        }
    }
}

/// A layer's toners in parts by mass, in pour order. At least one line, every part more than nothing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Unchecked")]
pub struct Recipe {
    /// The colour's code.
    pub colour: ColourCode,
    /// The colour's name.
    pub name: String,
    /// The colour's variant.
    pub variant: String,
    /// Which layer.
    pub role: Role,
    /// What it was made ready to spray with; none while it is colour alone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub readied: Option<Readied>,
    lines: Vec<Line>,
}

/// Why a list of toners is no recipe.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum RecipeError {
    /// No line at all.
    #[error("the layer has no pours: give it at least one toner")]
    Empty,
    /// Parts of nothing or less.
    #[error("toner {0} has parts that are not more than zero")]
    Parts(TonerCode),
    /// A toner that the catalogue does not have.
    #[error("toner {0} is not in the catalogue: add it to toners.toml")]
    Unknown(TonerCode),
    /// The same toner on two lines.
    #[error("toner {0} stands twice in the layer: add its parts up in one line")]
    Twice(TonerCode),
    /// A layer without a formula, and no tin for it.
    #[error(
        "the colour has no formula for the {}, and its product does not say what is in its tin: add tin = \"…\" to it in products.toml",
        .0.name()
    )]
    NoFormula(Role),
    /// A product that is for other layers.
    #[error(
        "the product {product} is not for a layer with the role '{role}': see its roles in products.toml"
    )]
    NotFor {
        /// The product.
        product: ProductCode,
        /// The layer's role.
        role: Role,
    },
    /// A hardener or thinner that the product's ratio does not name.
    #[error("{toner} is not among what the product {product} is mixed with: see its ratio in products.toml")]
    NotOffered {
        /// The product.
        product: ProductCode,
        /// What was asked for.
        toner: TonerCode,
    },
    /// It has hardener or thinner in it already.
    #[error("this is ready to spray already, with the product {0}")]
    Readied(ProductCode),
    /// Parts too large or too small to reckon with.
    #[error("the parts of the product {0} cannot be reckoned with: look at its ratio in products.toml")]
    Ratio(ProductCode),
}

#[derive(Deserialize)]
struct Unchecked {
    colour: ColourCode,
    name: String,
    variant: String,
    role: Role,
    #[serde(default)]
    readied: Option<Readied>,
    lines: Vec<Line>,
}

impl TryFrom<Unchecked> for Recipe {
    type Error = RecipeError;
    fn try_from(raw: Unchecked) -> Result<Self, RecipeError> {
        let recipe = Self::new(raw.colour, raw.name, raw.variant, raw.role, raw.lines)?;
        Ok(Self { readied: raw.readied, ..recipe })
    }
}

impl Recipe {
    /// A recipe from its lines, in pour order.
    pub fn new(
        colour: ColourCode,
        name: String,
        variant: String,
        role: Role,
        lines: Vec<Line>,
    ) -> Result<Self, RecipeError> {
        if lines.is_empty() {
            return Err(RecipeError::Empty);
        }
        for (index, line) in lines.iter().enumerate() {
            if line.parts <= Decimal::ZERO {
                return Err(RecipeError::Parts(line.toner.clone()));
            }
            if lines.iter().take(index).any(|earlier| earlier.toner == line.toner) {
                return Err(RecipeError::Twice(line.toner.clone()));
            }
        }
        Ok(Self { colour, name, variant, role, readied: None, lines })
    }

    /// A layer of a colour, with what the catalogue knows of its toners.
    pub fn of_layer(catalogue: &Catalogue, colour: &Colour, layer: &Layer) -> Result<Self, RecipeError> {
        let line = |part: &Part| {
            let toner = catalogue
                .toner(part.toner.as_str())
                .ok_or_else(|| RecipeError::Unknown(part.toner.clone()))?;
            Ok(Line::of(catalogue, toner, part.parts))
        };
        let lines = layer.pours.iter().map(line).collect::<Result<_, _>>()?;
        Self::new(colour.code.clone(), colour.name.clone(), colour.variant.clone(), layer.role, lines)
    }

    /// A colour's layer as the shop's files have it: by the colour's own formula, or else out of the tin of the product
    /// that is `named` for it, or of the first for such layers. None where there is neither.
    ///
    /// # Errors
    /// The catalogue does not know a toner of it.
    pub fn of_role(
        catalogue: &Catalogue,
        colour: &Colour,
        role: Role,
        named: Option<&str>,
    ) -> Result<Option<Self>, RecipeError> {
        let layer = catalogue.layer_of(colour, role, named);
        layer.map(|layer| Self::of_layer(catalogue, colour, &layer)).transpose()
    }

    /// The toners, in the formula's own pour order.
    pub fn lines(&self) -> &[Line] {
        &self.lines
    }

    /// Where a toner stands, if it is in the recipe.
    pub fn position(&self, toner: &TonerCode) -> Option<usize> {
        self.lines.iter().position(|line| line.toner == *toner)
    }

    /// The sum of all parts.
    pub fn total_parts(&self) -> Decimal {
        self.lines.iter().map(|line| Share::new(line.parts)).sum::<Share>().decimal()
    }

    /// Each toner's share of the whole by mass, in pour order; they add up to one.
    pub fn shares(&self) -> Vec<Share> {
        let total = Share::new(self.total_parts());
        self.lines.iter().filter_map(|line| Share::new(line.parts).ratio_to(total).map(Share::new)).collect()
    }

    /// The mass that fills `volume`: `M = V · Σp / Σ(p/ρ)`, ideal volumes (ASTM D5201: no volume change on
    /// mixing). The mass is exact to 1e-20 g; that the volume comes out so is an estimate.
    pub fn mass_for(&self, volume: Millilitres) -> Grams {
        let parts = Grams::new(self.total_parts());
        let filled = self.volume_of(self.lines.iter().map(|line| Grams::new(line.parts)));
        volume.ratio_to(filled).map_or(Grams::ZERO, |factor| parts.times(factor))
    }

    /// The volume of the lines' amounts, in pour order: `V = Σ m/ρ`, ideal volumes.
    pub fn volume_of(&self, amounts: impl IntoIterator<Item = Grams>) -> Millilitres {
        self.lines.iter().zip(amounts).map(|(line, mass)| line.density.volume_of(mass)).sum()
    }

    /// The volume of so much of the finished mix.
    pub fn volume_at(&self, mass: Grams) -> Millilitres {
        self.volume_of(self.shares().into_iter().map(|share| mass * share))
    }

    /// What the lines' amounts cost, in pour order; none if the price of a toner that is used is not known.
    pub fn cost_of(&self, amounts: impl IntoIterator<Item = Grams>) -> Option<Money> {
        self.lines
            .iter()
            .zip(amounts)
            .filter(|(_, mass)| !mass.is_zero())
            .map(|(line, mass)| line.price.map(|price| price.cost_of(line.density.volume_of(mass))))
            .sum()
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::units::{VolumeUnit, parse_decimal};

    /// A recipe of made-up toners `A`, `B`, … from `(parts, density)`, 1 % tolerance, price 10 a litre.
    pub(crate) fn recipe(lines: &[(&str, &str)]) -> Recipe {
        let lines = lines
            .iter()
            .zip('A'..)
            .map(|((parts, density), code)| Line {
                toner: TonerCode::new(code.to_string()),
                name: format!("toner {code}"),
                parts: parse_decimal(parts).unwrap(),
                density: Density::new(parse_decimal(density).unwrap()).unwrap(),
                tolerance: Share::ONE_PERCENT,
                price: PricePerLitre::new(Decimal::TEN),
                place: None,
                swatch: None,
                part: LinePart::Colour,
            })
            .collect();
        Recipe::new(ColourCode::new("PB-0000"), "test".into(), "standard".into(), Role::Ground, lines)
            .unwrap()
    }

    fn grams(text: &str) -> Grams {
        Grams::parse(text).unwrap()
    }

    /// A painting inspector's training exercise (`BGas Exercise`, page 5): density of a mix by volume parts.
    #[test]
    fn worked_examples_of_mix_density() {
        for (one, other, mass, shown) in [
            // 1 : 1 by volume, 1.4 and 0.9: 1.15
            (("1.4", "1.4"), ("0.9", "0.9"), "1.15", "1.15"),
            // 6 : 1 by volume, 1.3 and 0.9: 8.7/7 = 1.24
            (("7.8", "1.3"), ("0.9", "0.9"), "1.2429", "1.24"),
            // 3 : 1 by volume, 1.4 and 0.9: 1.275 [derived]
            (("4.2", "1.4"), ("0.9", "0.9"), "1.275", "1.28"),
        ] {
            let litre =
                recipe(&[one, other]).mass_for(Millilitres::from_unit(Decimal::ONE, VolumeUnit::Litre));
            let density = litre.times(Decimal::new(1, 3));
            assert_eq!(density.with_decimals(4).trim_end_matches('0'), mass);
            assert_eq!(density.with_decimals(2), shown);
        }
    }

    /// Worked by hand (derived): 4 : 1 : 1 by volume, 600 mL, densities 0.98 / 1.08 / 0.87.
    #[test]
    fn worked_example_of_a_ratio_by_volume() {
        let recipe = recipe(&[("3.92", "0.98"), ("1.08", "1.08"), ("0.87", "0.87")]);
        let volume = Millilitres::parse("600").unwrap();
        let mass = recipe.mass_for(volume);
        assert_eq!(mass.to_book(), grams("587"));
        let amounts: Vec<_> = recipe.shares().into_iter().map(|share| (mass * share).to_book()).collect();
        assert_eq!(amounts, [grams("392"), grams("108"), grams("87")]);
        assert_eq!(Density::of(mass, volume).unwrap().decimal().round_dp(6).to_string(), "0.978333");
    }

    #[test]
    fn costs_are_only_known_if_every_used_toner_has_a_price() {
        let mut lines = recipe(&[("1", "2"), ("1", "1")]).lines;
        lines[1].price = None;
        let recipe = Recipe::new(ColourCode::new("X"), "x".into(), "s".into(), Role::Ground, lines).unwrap();
        // 200 g at 2 g/mL is 100 mL at 10 a litre.
        assert_eq!(recipe.cost_of([grams("200"), Grams::ZERO]), Some(Money::new(Decimal::ONE)));
        assert_eq!(recipe.cost_of([grams("200"), grams("1")]), None);
    }

    #[test]
    fn a_recipe_is_checked_when_read_back_too() {
        let good = recipe(&[("1", "2"), ("1", "1")]);
        let json = serde_json::to_string(&good).unwrap();
        assert_eq!(serde_json::from_str::<Recipe>(&json).unwrap(), good);
        assert!(serde_json::from_str::<Recipe>(&json.replace("\"parts\":\"1\"", "\"parts\":\"0\"")).is_err());
        assert!(serde_json::from_str::<Recipe>(&json.replace("\"B\"", "\"A\"")).is_err());
    }
}
