//! How much of it, in which cup, in which order: what is asked before a mix begins.

use crate::catalogue::{Catalogue, Colour, Role, Source};
use crate::mix::weighable::Accuracy;
use crate::mix::{Limits, Recipe, RecipeError, Start, Targets, Vessel, order, weighable};
use crate::stock::Leftover;
use crate::units::{Grams, Millilitres, Notation, TypedError};
use tui_input::{Input, InputRequest};

/// What was answered so far.
#[derive(Clone, Debug)]
pub(super) struct Amount {
    /// The layer to mix.
    pub recipe: Recipe,
    /// The file the formula was read from, if it was.
    pub source: Option<Source>,
    /// The volume as typed.
    pub typed: Input,
    /// Which cup of the catalogue; none if the shop has none on file.
    pub cup: Option<usize>,
    /// Whether the order that risks least is wanted rather than the formula's own.
    pub least_risk: bool,
    /// The leftovers of this layer of this colour that can be used, the first to be used up first.
    pub leftovers: Vec<Leftover>,
    /// Which of them the mix begins with, if any.
    pub begins_with: Option<usize>,
    /// Whether all is answered and the empty cup is awaited on the scale.
    pub awaiting_cup: bool,
    /// How what is typed is to be read.
    notation: Notation,
}

/// What the answers come to.
#[derive(Clone, Debug)]
pub(super) struct Outlook {
    /// The targets.
    pub targets: Targets,
    /// The toners that are too little for the scale, as places in the recipe.
    pub too_small: Vec<usize>,
    /// The smallest volume at which everything can be weighed, if something cannot.
    pub smallest_volume: Option<Millilitres>,
}

impl Amount {
    /// Nothing answered yet but the layer; the volume as last time.
    pub(super) fn new(
        catalogue: &Catalogue,
        colour: &Colour,
        role: Role,
        typed: &str,
        notation: Notation,
        leftovers: Vec<Leftover>,
    ) -> Result<Self, RecipeError> {
        let layer = colour.layer(role).ok_or(RecipeError::Empty)?;
        let recipe = Recipe::of_layer(catalogue, colour, layer)?;
        let source = colour.source.clone();
        let typed = Input::new(typed.to_owned());
        let mut amount = Self {
            recipe,
            source,
            typed,
            cup: None,
            least_risk: false,
            leftovers,
            begins_with: None,
            awaiting_cup: false,
            notation,
        };
        amount.fit_cup(catalogue);
        Ok(amount)
    }

    /// The volume, if what is typed is one.
    pub(super) fn volume(&self) -> Result<Millilitres, TypedError> {
        self.notation.read_volume(self.typed.value())
    }

    /// Changes what is typed.
    pub(super) fn edit(&mut self, request: InputRequest, catalogue: &Catalogue) {
        if !self.awaiting_cup && self.typed.handle(request).is_some_and(|change| change.value) {
            self.fit_cup(catalogue);
        }
    }

    /// Turns to the next leftover; behind the last, to none.
    pub(super) fn turn_leftover(&mut self) {
        let next = self.begins_with.map_or(0, |at| at.saturating_add(1));
        self.begins_with = Some(next).filter(|at| *at < self.leftovers.len());
    }

    /// The leftover that the mix begins with.
    pub(super) fn leftover(&self) -> Option<&Leftover> {
        self.leftovers.get(self.begins_with?)
    }

    /// What the chosen cup weighs when empty, if that is on file.
    pub(super) fn cup_tare(&self, catalogue: &Catalogue) -> Option<Grams> {
        catalogue.cups.get(self.cup?)?.tare
    }

    /// Takes the smallest cup that the volume fits into with a tenth to spare for stirring and a pour that goes
    /// over (common practice, no source); else the largest.
    pub(super) fn fit_cup(&mut self, catalogue: &Catalogue) {
        let Ok(volume) = self.volume() else { return };
        let wanted = volume.times(crate::units::Decimal::new(11, 1));
        let fits = catalogue.cups.iter().enumerate().filter(|(_, cup)| cup.brim >= wanted);
        let smallest = fits.min_by_key(|(_, cup)| cup.brim).map(|(index, _)| index);
        let largest =
            catalogue.cups.iter().enumerate().max_by_key(|(_, cup)| cup.brim).map(|(index, _)| index);
        self.cup = smallest.or(largest);
    }

    /// Takes the next cup of the catalogue, or the one before.
    pub(super) fn turn_cup(&mut self, catalogue: &Catalogue, forward: bool) {
        let count = catalogue.cups.len();
        if count == 0 {
            return;
        }
        let step = if forward { 1 } else { count.saturating_sub(1) };
        self.cup = Some(self.cup.map_or(0, |cup| cup.saturating_add(step) % count));
    }

    fn order(&self, mass: Grams, limits: Limits, accuracy: Accuracy) -> Vec<usize> {
        if self.least_risk {
            let smallest = weighable::smallest_weight(limits.division, accuracy);
            order::least_risk(&self.recipe, mass, limits.division, smallest)
        } else {
            order::formula_order(&self.recipe)
        }
    }

    /// What the answers come to on this scale.
    pub(super) fn outlook(&self, limits: Limits, accuracy: Accuracy) -> Result<Outlook, TypedError> {
        let volume = self.volume()?;
        let order = self.order(self.recipe.mass_for(volume), limits, accuracy);
        let targets = Targets::new(&self.recipe, volume, limits.division, &order);
        let smallest = weighable::smallest_weight(limits.division, accuracy);
        let too_small = smallest.map(|least| weighable::too_small(&targets, least)).unwrap_or_default();
        let smallest_volume = smallest
            .filter(|_| !too_small.is_empty())
            .map(|least| weighable::smallest_volume(&self.recipe, least));
        Ok(Outlook { targets, too_small, smallest_volume })
    }

    /// The mix's start, the empty cup weighing so much on the scale.
    pub(super) fn start(
        &self,
        catalogue: &Catalogue,
        limits: Limits,
        accuracy: Accuracy,
        tare: Grams,
    ) -> Result<Start, TypedError> {
        let volume = self.volume()?;
        let cup = self.cup.and_then(|index| catalogue.cups.get(index));
        Ok(Start {
            recipe: self.recipe.clone(),
            volume,
            vessel: Vessel {
                name: cup.map_or_else(|| "cup".to_owned(), |cup| cup.name.clone()),
                // Without a cup on file nothing is known of its brim: none is ever reached.
                brim: cup.map_or(NO_BRIM, |cup| cup.brim),
                tare,
            },
            limits,
            order: self.order(self.recipe.mass_for(volume), limits, accuracy),
            version: self.source.as_ref().map(|source| source.version.as_str().to_owned()),
            job: None,
        })
    }
}

/// More than any cup holds.
const NO_BRIM: Millilitres = Millilitres::new(crate::units::Decimal::from_parts(1_000_000, 0, 0, false, 0));
