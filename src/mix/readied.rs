//! A recipe made ready to spray: hardener and thinner by the product's ratio, behind the colour.
//!
//! A ratio by volume becomes parts by mass through the densities, `r·ρ`, with the colour's volume that of its toners
//! together (ideal volumes, ASTM D5201: no volume change on mixing).

use super::{Event, Line, Recipe, RecipeError};
use crate::catalogue::{Addition, Catalogue, Place, Product, ProductCode, RatioBy, TonerCode};
use crate::units::{Decimal, Grams, Millilitres};
use serde::{Deserialize, Serialize};

/// What a line of a recipe is for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LinePart {
    /// The colour.
    #[default]
    Colour,
    /// What makes it cure.
    Hardener,
    /// What makes it thin enough for the gun.
    Thinner,
}

impl LinePart {
    /// Whether it is of the colour.
    pub const fn is_colour(&self) -> bool {
        matches!(self, Self::Colour)
    }
}

/// What a recipe was made ready to spray with, as the product's sheet stood then.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Readied {
    /// The product's code.
    pub product: ProductCode,
    /// The product's name.
    pub name: String,
    /// Minutes that it can be sprayed once hardener is in, if the sheet says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pot_life: Option<u32>,
    /// How many coats it is mixed for: what the sheet says, unless somebody wants another number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coats: Option<u32>,
}

/// Which of the toners that a ratio names are taken; none for the usual one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Additions<'a> {
    /// The hardener.
    pub hardener: Option<&'a TonerCode>,
    /// The thinner.
    pub thinner: Option<&'a TonerCode>,
}

impl Recipe {
    /// The recipe with hardener and thinner by the product's ratio, in parts by mass of the same measure as the colour's;
    /// they stand behind the colour, and are to be poured last. A product without a ratio adds nothing but its name.
    ///
    /// # Errors
    /// The product is not for this layer, its ratio does not name what was chosen, the catalogue does not know it, or the
    /// recipe is ready already.
    pub fn activated(
        &self,
        catalogue: &Catalogue,
        product: &Product,
        chosen: Additions<'_>,
    ) -> Result<Self, RecipeError> {
        if let Some(readied) = &self.readied {
            return Err(RecipeError::Readied(readied.product.clone()));
        }
        if !product.is_for(self.role) {
            return Err(RecipeError::NotFor { product: product.code.clone(), role: self.role });
        }
        let mut lines = self.lines().to_vec();
        if let Some(ratio) = &product.ratio {
            let measure = (ratio.by, ratio.colour);
            let wanted = [
                (&ratio.hardener, chosen.hardener, LinePart::Hardener),
                (&ratio.thinner, chosen.thinner, LinePart::Thinner),
            ];
            for (addition, chosen, part) in wanted {
                match (addition, chosen) {
                    (None, None) => {}
                    (None, Some(chosen)) => return Err(not_offered(product, chosen)),
                    (Some(addition), chosen) => {
                        let line = self.added(catalogue, product, measure, addition, chosen)?;
                        lines.push(Line { part, ..line });
                    }
                }
            }
        }
        let (colour, name, variant) = (self.colour.clone(), self.name.clone(), self.variant.clone());
        let mut recipe = Self::new(colour, name, variant, self.role, lines)?;
        let readied = Readied {
            product: product.code.clone(),
            name: product.name.clone(),
            pot_life: product.pot_life.filter(|_| product.is_activated()),
            coats: product.coats,
        };
        recipe.readied = Some(readied);
        Ok(recipe)
    }

    /// One line of what is added; `measure` is what the ratio counts and how many of its parts are colour.
    fn added(
        &self,
        catalogue: &Catalogue,
        product: &Product,
        measure: (RatioBy, Decimal),
        addition: &Addition,
        chosen: Option<&TonerCode>,
    ) -> Result<Line, RecipeError> {
        let code = match chosen {
            Some(chosen) if !addition.toners.contains(chosen) => return Err(not_offered(product, chosen)),
            Some(chosen) => chosen,
            None => addition.toners.first().ok_or_else(|| RecipeError::Ratio(product.code.clone()))?,
        };
        let toner = catalogue.toner(code.as_str()).ok_or_else(|| RecipeError::Unknown(code.clone()))?;
        let (by, colour) = measure;
        // Multiplied first: a ratio of thirds would be rounded before it is used.
        let parts = match by {
            RatioBy::Volume => {
                let filled = self.volume_of(self.lines().iter().map(|line| Grams::new(line.parts)));
                let volume = filled.times(addition.parts).ratio_to(Millilitres::new(colour));
                volume.map(|volume| toner.density.mass_of(Millilitres::new(volume)))
            }
            RatioBy::Mass => {
                let parts = Grams::new(self.total_parts()).times(addition.parts);
                parts.ratio_to(Grams::new(colour)).map(Grams::new)
            }
        };
        let parts = parts.filter(|parts| parts.is_positive());
        let parts = parts.ok_or_else(|| RecipeError::Ratio(product.code.clone()))?.decimal().normalize();
        Ok(Line { place: Some(Place::Last), ..Line::of(catalogue, toner, parts) })
    }

    /// Whether that toner is a hardener here.
    pub fn is_hardener(&self, toner: &TonerCode) -> bool {
        self.lines().iter().any(|line| line.part == LinePart::Hardener && line.toner == *toner)
    }

    /// The share of the whole that is colour, by mass; all of it unless it was made ready.
    pub fn colour_mass(&self) -> crate::units::Share {
        let colour = self.lines().iter().zip(self.shares()).filter(|(line, _)| line.part.is_colour());
        colour.map(|(_, share)| share).sum()
    }
}

fn not_offered(product: &Product, toner: &TonerCode) -> RecipeError {
    RecipeError::NotOffered { product: product.code.clone(), toner: toner.clone() }
}

/// What of a mix has hardener in it, event by event: the pot life begins with the first of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HardenerWatch<T> {
    /// When something went in, and whether it was hardener. Leftovers between the pours, so that the order of time stays.
    went_in: Vec<(T, bool)>,
    /// Which of them are the pours.
    pours: Vec<usize>,
}

impl<T> Default for HardenerWatch<T> {
    fn default() -> Self {
        Self { went_in: Vec::new(), pours: Vec::new() }
    }
}

impl<T: Copy> HardenerWatch<T> {
    /// Takes in what happened to the mix, in its order; `is_hardener` says which toners are. A pour counts as what it is
    /// booked as in the end.
    pub fn take_in(&mut self, at: T, event: &Event, is_hardener: impl Fn(&TonerCode) -> bool) {
        match event {
            Event::Poured(pour) => {
                self.pours.push(self.went_in.len());
                self.went_in.push((at, is_hardener(&pour.toner)));
            }
            Event::Rebooked(rebooked) => {
                let place = self.pours.get(rebooked.pour).copied();
                if let Some((_, is)) = place.and_then(|place| self.went_in.get_mut(place)) {
                    *is = is_hardener(&rebooked.toner);
                }
            }
            Event::LeftoverAdded(added) => {
                self.went_in.push((at, added.parts.iter().any(|(toner, _)| is_hardener(toner))));
            }
            _ => {}
        }
    }

    /// When the first hardener went in, if any did.
    pub fn began(&self) -> Option<T> {
        self.went_in.iter().find(|(_, is)| *is).map(|(at, _)| *at)
    }
}

/// When the first hardener went into a mix, by a pour or with a leftover that has some: the pot life begins there. `events`
/// are the mix's own in their order, each with its time; `is_hardener` says which toners are. A pour counts as what it is
/// booked as in the end.
pub fn activated_at<'a, T: Copy>(
    events: impl IntoIterator<Item = (T, &'a Event)>,
    is_hardener: impl Fn(&TonerCode) -> bool,
) -> Option<T> {
    let mut watch = HardenerWatch::default();
    for (at, event) in events {
        watch.take_in(at, event, &is_hardener);
    }
    watch.began()
}

#[cfg(test)]
mod tests;
