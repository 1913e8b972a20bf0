//! How much a layer of a job wants: from the product's sheet and the panels an estimate, from the shop's own record what to
//! mix, and in one sentence what that means at the bench, or what is missing and where it is entered.

use super::{
    Advice, CardArea, Film, FlowCup, Job, LayerPlan, Need, Odds, Past, QuantityError, SheetLacks, Standing,
    Surface, ToMix, advice, colour_of, colour_volume, needed,
};
use crate::catalogue::{Catalogue, Layer, Product, RatioBy, Role, TonerCode, Word as _};
use crate::mix::{Additions, Recipe, RecipeError, weighable};
use crate::units::{Area, Decimal, Grams, Millilitres, Notation, Share};
use std::fmt::Write as _;
use thiserror::Error;

/// What the shop sets for all its jobs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Usual {
    /// The share of the solids that stays on what is sprayed, for products whose sheet does not say it.
    pub efficiency: Share,
    /// What stays in gun and strainer, ready to spray.
    pub behind: Millilitres,
    /// How large a spray-out card is.
    pub card: Area,
    /// How many cards are sprayed before a count of coats is chosen: with one coat, two, and so on.
    pub cards: u32,
    /// What a millilitre too few costs against one too many.
    pub odds: Odds,
    /// The cup on the bench that viscosities are measured with, where the shop names one.
    pub flow_cup: Option<FlowCup>,
}

impl Default for Usual {
    /// Common practice, no source: 60 % on the car (a handbook's guns reach 30 to 70 %), 40 mL in gun and strainer, four
    /// cards of 15 by 20 cm.
    fn default() -> Self {
        Self {
            efficiency: Share::from_percent(Decimal::new(60, 0)),
            behind: Millilitres::new(Decimal::new(40, 0)),
            card: Area::new(Decimal::new(3, 2)),
            cards: 4,
            odds: Odds::USUAL,
            flow_cup: None,
        }
    }
}

/// What is missing, so that no amount follows; said so that it can be entered.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum WantLack {
    /// Nobody said what is painted.
    #[error(
        "what is painted is not said: name the panels of the job, as \"door, left=0.9 m2\", or say how much is asked for"
    )]
    Panels,
    /// A panel's area.
    #[error(
        "how large the panel '{0}' is is not known: say it with the job's panel, as \"{0}=0.9 m2\", or add it to panels.toml"
    )]
    Area(String),
    /// No product for such layers.
    #[error("no product is for a layer like {}: add its sheet to products.toml, with roles = [\"{}\"]", .0.name(), .0.word())]
    NoProduct(Role),
    /// The product is not in the shop's files.
    #[error("the product {0} is not in products.toml: add its sheet there, or name another for this layer")]
    Unknown(String),
    /// Something of the product's sheet.
    #[error(transparent)]
    Sheet(#[from] SheetLacks),
    /// The layer cannot be made ready with its product.
    #[error(transparent)]
    Recipe(#[from] RecipeError),
    /// Figures that cannot be.
    #[error(transparent)]
    Figures(#[from] QuantityError),
}

/// How much a layer of a job wants, all of it ready to spray.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// Which layer.
    pub layer: Role,
    /// The code of its product, where that is known.
    pub product: Option<String>,
    /// In how many coats, where that is known.
    pub coats: Option<u32>,
    /// What is sprayed, where that is known.
    pub surface: Option<Surface>,
    /// How thick and in how many coats, and how much of the paint gets there, where that is known.
    pub film: Option<Film>,
    /// What that takes by the product's sheet: on the car, for the cards, and what stays in the gun.
    pub need: Option<Need>,
    /// What a person asked for; it goes before what is advised.
    pub asked: Option<Millilitres>,
    /// What the shop's own record makes of the estimate.
    pub advice: Option<Advice>,
    /// What to mix: what was asked for, or else what is advised, in whole millilitres, and the smallest that can be weighed.
    pub to_mix: Option<ToMix>,
    /// The toners of which that is too little to be weighed well, by their codes, where no larger amount is offered.
    pub too_small: Vec<TonerCode>,
    /// How much of what is to be mixed is colour, by ideal volumes; none where it is not known what is added to it.
    pub colour: Option<Millilitres>,
    /// What is missing for an estimate.
    pub lacks: Option<WantLack>,
}

/// The layer's formula in the shop's files; none where the colour has no such layer, or is gone.
fn formula<'c>(job: &Job, role: Role, catalogue: &'c Catalogue) -> Option<&'c Layer> {
    catalogue.colour_variant(job.colour.as_str(), &job.variant)?.layer(role)
}

/// The product a layer of a job is mixed with: what the job names, or what its formula does, or the first for such layers;
/// where there is no formula, the first that comes ready in its tin.
///
/// # Errors
/// There is none, or the one that is named is gone.
pub fn product_of<'c>(
    job: &Job,
    plan: &LayerPlan,
    catalogue: &'c Catalogue,
) -> Result<&'c Product, WantLack> {
    let named = plan.product.as_deref();
    let formula = formula(job, plan.role, catalogue);
    let by_formula = || formula.and_then(|layer| layer.product.as_ref());
    match named.or_else(|| by_formula().map(crate::catalogue::ProductCode::as_str)) {
        Some(code) => catalogue.product(code).ok_or_else(|| WantLack::Unknown(code.to_owned())),
        None => match formula {
            Some(layer) => catalogue.product_for(layer),
            None => catalogue.product_without_formula(plan.role),
        }
        .ok_or(WantLack::NoProduct(plan.role)),
    }
}

/// A layer of a job made ready to spray with its product, by the shop's files: by the colour's formula, or out of the
/// product's tin; none where the shop has neither.
///
/// # Errors
/// The product is not known, or not for it.
pub fn readied(job: &Job, plan: &LayerPlan, catalogue: &Catalogue) -> Result<Option<Recipe>, WantLack> {
    let Some(colour) = catalogue.colour_variant(job.colour.as_str(), &job.variant) else { return Ok(None) };
    let named = plan.product.as_deref();
    let Some(recipe) = Recipe::of_role(catalogue, colour, plan.role, named)? else { return Ok(None) };
    let product = product_of(job, plan, catalogue)?;
    Ok(Some(recipe.activated(catalogue, product, Additions::default())?))
}

/// The area of a panel: as the job has it, or else as the shop's files do.
fn area_of(panel: &super::Panel, catalogue: &Catalogue) -> Result<Area, WantLack> {
    let usual = || catalogue.panel(&panel.name).and_then(|known| known.area_on(None));
    panel.area.map(Area::new).or_else(usual).ok_or_else(|| WantLack::Area(panel.name.clone()))
}

/// What the layer covers on the car: its own area where the job gives one, or else all panels.
fn on_the_car(job: &Job, plan: &LayerPlan, catalogue: &Catalogue) -> Result<Area, WantLack> {
    if let Some(own) = plan.area {
        return Ok(Area::new(own));
    }
    if job.panels.is_empty() {
        return Err(WantLack::Panels);
    }
    job.panels.iter().map(|panel| area_of(panel, catalogue)).sum()
}

/// The cards that come out of this layer's mix for the car. Until a count of coats is chosen, those that are still to be
/// made, built up as the car is: the layer that is counted with one coat, two, and so on, what is under and over it as
/// often as on the car. After that, those only that were made from a mix for the car.
fn cards(job: &Job, role: Role, coats: u32, usual: &Usual) -> Vec<CardArea> {
    let counted = job.standings().find(|layer| Job::wants_cards(layer.plan.role));
    let Some(counted) = counted else { return Vec::new() };
    let card = |coats| CardArea { area: usual.card, coats };
    let is_open = counted.chosen.is_none() && counted.unmatched.is_none() && counted.coats.is_empty();
    if !is_open {
        let own = |card: &&super::Card| {
            let mix = card.made.mix;
            let joined = job.mixes().find(|joined| Some(joined.mix) == mix);
            card.made.layer == role && joined.is_some_and(|joined| !joined.for_cards && joined.layer == role)
        };
        return job.cards().filter(own).map(|made| card(made.made.coats)).collect();
    }
    let all = 1..=usual.cards;
    match role {
        role if role == counted.plan.role => all.map(card).collect(),
        Role::Undercoat | Role::Ground | Role::Clear => all.map(|_| card(coats)).collect(),
        Role::Base | Role::Pearl | Role::Blender => Vec::new(),
    }
}

/// The film of a layer of which the shop has neither formula nor tin: what the product's sheet says ready to spray.
fn film_of_tin(product: &Product, coats: Option<u32>, usual: Share) -> Result<Film, SheetLacks> {
    let code = || product.code.as_str().to_owned();
    Ok(Film {
        dry_um: product.film_um.ok_or_else(|| SheetLacks::Film(code()))?,
        coats: coats.or(product.coats).ok_or_else(|| SheetLacks::Coats(code()))?,
        solids: product.solids.ok_or_else(|| SheetLacks::Solids(code()))?,
        efficiency: product.efficiency.unwrap_or(usual),
    })
}

/// How much of that is colour where the shop has neither formula nor tin: by the product's ratio, if that counts volumes.
fn colour_by_ratio(product: &Product, ready: Millilitres) -> Option<Millilitres> {
    let Some(ratio) = &product.ratio else { return Some(ready) };
    if ratio.by != RatioBy::Volume {
        return None;
    }
    let others: Vec<Decimal> =
        [&ratio.hardener, &ratio.thinner].into_iter().flatten().map(|addition| addition.parts).collect();
    colour_of(ready, ratio.colour, &others).ok()
}

/// The film of a layer, from its formula made ready or from the tin.
fn film(
    product: &Product,
    coats: Option<u32>,
    catalogue: &Catalogue,
    recipe: Option<&Recipe>,
    usual: &Usual,
) -> Result<Film, SheetLacks> {
    match recipe {
        Some(recipe) => Film::of_sheet(catalogue, product, recipe, coats, usual.efficiency),
        None => film_of_tin(product, coats, usual.efficiency),
    }
}

/// How much the spray-out cards that are still to be made take, ready to spray.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CardsWanted {
    /// How many cards.
    pub cards: usize,
    /// On them and beside them, and what stays in the gun.
    pub need: Need,
}

impl CardsWanted {
    /// What to mix, in whole millilitres.
    pub fn to_mix(self) -> Millilitres {
        whole(self.need.total())
    }

    /// What that means, in one sentence for who mixes it.
    pub fn sentence(self, notation: Notation) -> String {
        let cards = if self.cards == 1 { "1 card".to_owned() } else { format!("{} cards", self.cards) };
        format!(
            "{} for {cards} still to be made: the estimate alone, {} of it for gun and strainer",
            notation.volume_up(self.to_mix()),
            notation.volume_number(self.need.behind, 0),
        )
    }
}

/// How much of that layer the cards take that are still to be made: of the counts of coats that the shop sprays cards with,
/// those of which there is none yet, or one coat more than the last. None if the layer is not planned.
///
/// # Errors
/// What is missing, so that no amount follows.
pub fn wanted_for_cards(
    job: &Job,
    layer: Role,
    catalogue: &Catalogue,
    usual: &Usual,
) -> Option<Result<CardsWanted, WantLack>> {
    let standing = job.standing(layer)?;
    let reckon = || {
        let product = product_of(job, standing.plan, catalogue)?;
        let recipe = readied(job, standing.plan, catalogue)?;
        let film = film(product, standing.wanted, catalogue, recipe.as_ref(), usual)?;
        let counted = job.plan().iter().map(|plan| plan.role).find(|role| Job::wants_cards(*role));
        let made: Vec<u32> =
            job.cards().filter(|card| Some(card.made.layer) == counted).map(|card| card.made.coats).collect();
        let mut open: Vec<u32> = (1..=usual.cards).filter(|coats| !made.contains(coats)).collect();
        if open.is_empty() {
            open.push(made.iter().max().copied().unwrap_or(0).saturating_add(1));
        }
        let own = |coats| if Some(layer) == counted { coats } else { film.coats };
        let cards: Vec<CardArea> =
            open.into_iter().map(|coats| CardArea { area: usual.card, coats: own(coats) }).collect();
        let count = cards.len();
        let surface = Surface::of([], cards, film.coats);
        Ok(CardsWanted { cards: count, need: needed(surface, film, usual.behind)? })
    };
    Some(reckon())
}

fn estimate(
    job: &Job,
    standing: &Standing<'_>,
    catalogue: &Catalogue,
    recipe: Option<&Recipe>,
    usual: &Usual,
) -> Result<(Surface, Film, Need), WantLack> {
    let plan = standing.plan;
    let product = product_of(job, plan, catalogue)?;
    let film = film(product, standing.wanted, catalogue, recipe, usual)?;
    let cards = cards(job, plan.role, film.coats, usual);
    let surface = Surface::of([on_the_car(job, plan, catalogue)?], cards, film.coats);
    Ok((surface, film, needed(surface, film, usual.behind)?))
}

/// How much that layer of the job wants; none if it is not planned. `past` is what the shop's record has of such layers, the
/// latest last; `smallest` is the smallest weight that the scale weighs well enough, if that is known.
pub fn wanted(
    job: &Job,
    layer: Role,
    catalogue: &Catalogue,
    past: &[Past],
    usual: &Usual,
    smallest: Option<Grams>,
) -> Option<Wanted> {
    let standing = job.standing(layer)?;
    let plan = standing.plan;
    let product = product_of(job, plan, catalogue);
    let (recipe, unready) = match readied(job, plan, catalogue) {
        Ok(recipe) => (recipe, None),
        Err(lack) => (None, Some(lack)),
    };
    let found = match unready {
        Some(lack) => Err(lack),
        None => estimate(job, &standing, catalogue, recipe.as_ref(), usual),
    };
    let need = found.as_ref().ok().map(|(_, _, need)| *need);
    let advice = need.map(|need| advice(need.total(), past, usual.odds));
    let aim = plan.asked.or_else(|| advice.as_ref().map(|advice| whole(advice.mix)));
    let to_mix = aim.map(|aim| match &recipe {
        Some(recipe) => ToMix::of(recipe, aim, smallest, catalogue.largest_cup()),
        None => ToMix { wanted: aim, smallest: None },
    });
    let colour = to_mix.and_then(|to_mix| match &recipe {
        Some(recipe) => Some(colour_volume(recipe, to_mix.wanted)),
        None => colour_by_ratio(product.as_ref().ok()?, to_mix.wanted),
    });
    let too_small = to_mix.filter(|to_mix| to_mix.smallest.is_none()).zip(recipe.as_ref()).zip(smallest);
    let too_small = too_small.map_or_else(Vec::new, |((to_mix, recipe), least)| {
        let places = weighable::too_small_at(recipe, to_mix.wanted, least);
        places.into_iter().filter_map(|at| recipe.lines().get(at)).map(|line| line.toner.clone()).collect()
    });
    Some(Wanted {
        layer,
        product: product.as_ref().ok().map(|product| product.code.as_str().to_owned()),
        coats: standing.wanted.or_else(|| product.as_ref().ok()?.coats),
        surface: found.as_ref().ok().map(|(surface, ..)| *surface),
        film: found.as_ref().ok().map(|(_, film, _)| *film),
        need,
        asked: plan.asked,
        advice,
        to_mix,
        too_small,
        colour,
        lacks: found.err(),
    })
}

/// Never less than that, in whole millilitres.
fn whole(volume: Millilitres) -> Millilitres {
    Millilitres::new(volume.decimal().ceil())
}

/// `R20`, `R20 and V40`, `R20, V40 and V41`.
fn listed(codes: &[TonerCode]) -> String {
    match codes {
        [] => String::new(),
        [one] => one.to_string(),
        [first @ .., last] => {
            let first: Vec<_> = first.iter().map(ToString::to_string).collect();
            format!("{} and {last}", first.join(", "))
        }
    }
}

/// So many times in ten, in words.
fn times_in_ten(times: u32) -> String {
    let word = match times {
        0 => return "less than once in ten".to_owned(),
        1 => return "once in ten".to_owned(),
        2 => return "twice in ten".to_owned(),
        3 => "three",
        4 => "four",
        5 => "five",
        6 => "six",
        7 => "seven",
        8 => "eight",
        _ => "nine",
    };
    format!("{word} times in ten")
}

impl Wanted {
    /// What it is estimated to need, by the product's sheet alone, to a millionth of a millilitre: what is written down of a
    /// mix.
    pub fn estimate(&self) -> Option<Millilitres> {
        self.need.map(|need| Millilitres::new(need.total().decimal().round_dp(6).normalize()))
    }

    /// What that means, in one sentence for who mixes it.
    pub fn sentence(&self, notation: Notation) -> String {
        let mut said = match (self.asked, &self.advice, &self.lacks) {
            (Some(asked), Some(advice), _) => {
                let asked = notation.given_volume(asked);
                format!("{asked}, as it is asked for; {}", Self::advised(advice, notation, self.layer, true))
            }
            (Some(asked), None, lacks) => {
                let why = lacks.as_ref().map_or_else(String::new, |lack| format!("; {lack}"));
                format!("{}, as it is asked for{why}", notation.given_volume(asked))
            }
            (None, Some(advice), _) => Self::advised(advice, notation, self.layer, false),
            (None, None, Some(lack)) => lack.to_string(),
            (None, None, None) => "nothing is known of how much it wants".to_owned(),
        };
        if let Some(to_mix) = self.to_mix
            && let Some(smallest) = to_mix.smallest
        {
            let _ = write!(
                said,
                "; the smallest that can be weighed well is {}, which leaves {}",
                notation.volume_up(smallest),
                notation.volume_number(to_mix.beyond(), 0),
            );
        }
        if !self.too_small.is_empty() {
            let _ = write!(said, "; {} cannot be weighed well at that amount", listed(&self.too_small));
        }
        said
    }

    fn advised(advice: &Advice, notation: Notation, layer: Role, beside: bool) -> String {
        let mix = notation.volume_up(advice.mix);
        let Some(in_ten) = advice.in_ten else {
            let alone =
                if beside { format!("the estimate is {mix}") } else { format!("{mix}: the estimate alone") };
            let such = if layer == Role::Undercoat { "such an" } else { "such a" };
            return format!("{alone}, since the shop's record of {such} {} is empty", layer.name());
        };
        let often = times_in_ten(in_ten);
        let mut said = if beside {
            format!("by the shop's record {mix} is enough {often}")
        } else {
            format!("{mix}: enough {often}")
        };
        if let Some((mixed, left)) = advice.last.filter(|(_, left)| left.is_positive() && !beside) {
            let number = |volume| notation.volume_number(volume, 0);
            let _ = write!(said, "; mixing {}, as last time, would leave {}", number(mixed), number(left));
        }
        said
    }
}

#[cfg(test)]
mod tests;
