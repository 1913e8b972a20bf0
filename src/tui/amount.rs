//! How much of it, in which cup, in which order: what is asked before a mix begins.

use super::for_job::ForJob;
use super::make_ready::MakeReady;
use crate::catalogue::{Catalogue, Colour, Role, Source};
use crate::mix::weighable::Accuracy;
use crate::mix::{Limits, Recipe, RecipeError, Start, Targets, Vessel, order, weighable};
use crate::stock::Leftover;
use crate::units::{Grams, Millilitres, Notation, TypedError};
use std::borrow::Cow;
use tui_input::{Input, InputRequest};

/// What was answered so far.
#[derive(Clone, Debug)]
pub(super) struct Amount {
    /// The layer, colour alone.
    colour: Recipe,
    /// The layer as it is mixed: colour alone, or ready to spray.
    pub recipe: Recipe,
    /// What it can be made ready to spray with, if the shop has a product with a ratio for it.
    pub ready: Option<MakeReady>,
    /// The job that it is mixed for, if it is for one.
    pub job: Option<ForJob>,
    /// The file the formula was read from, if it was.
    pub source: Option<Source>,
    /// The volume as typed.
    pub typed: Input,
    /// Which cup of the catalogue; none if the shop has none on file.
    pub cup: Option<usize>,
    /// What the largest cup of the shop holds.
    largest_cup: Option<Millilitres>,
    /// Whether the order that risks least is wanted rather than the formula's own.
    pub least_risk: bool,
    /// The leftovers of this layer of this colour that can be used, the first to be used up first.
    pub leftovers: Vec<Leftover>,
    /// Which of them the mix begins with, if any.
    pub begins_with: Option<usize>,
    /// Whether all is answered and the empty cup is awaited on the scale.
    pub awaiting_cup: bool,
    /// The mix of which it was said that its full cup seems to stand there.
    pub said_full: Option<u32>,
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
    /// Nothing answered yet but the layer; the volume as last time, or as the job asks for. Ready to spray where the layer's
    /// product has a ratio.
    pub(super) fn new(
        catalogue: &Catalogue,
        colour: &Colour,
        role: Role,
        (typed, job): (&str, Option<ForJob>),
        notation: Notation,
        leftovers: Vec<Leftover>,
    ) -> Result<Self, RecipeError> {
        let named = job.as_ref().and_then(|job| job.product.as_deref());
        let layer = catalogue.layer_of(colour, role, named).ok_or(RecipeError::NoFormula(role))?;
        let recipe = Recipe::of_layer(catalogue, colour, &layer)?;
        let mut ready = MakeReady::of(catalogue, &layer, named);
        // What comes out of a tin is not in the colour's file.
        let source = colour.source.clone().filter(|_| matches!(layer, Cow::Borrowed(_)));
        let typed = Input::new(typed.to_owned());
        // A sheet that does not fit keeps nobody from mixing the colour.
        let as_mixed = ready.as_ref().and_then(|ready| ready.recipe(&recipe, catalogue).ok());
        if let Some(ready) = ready.as_mut().filter(|_| as_mixed.is_none()) {
            ready.on = false;
        }
        let mut amount = Self {
            recipe: as_mixed.unwrap_or_else(|| recipe.clone()),
            colour: recipe,
            ready,
            job,
            source,
            typed,
            cup: None,
            largest_cup: catalogue.largest_cup(),
            least_risk: false,
            leftovers,
            begins_with: None,
            awaiting_cup: false,
            said_full: None,
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
        self.begins_with = (next..self.leftovers.len()).find(|at| self.fits(*at));
    }

    /// Whether all that is in that leftover belongs into the mix: thinner does not, where the colour is mixed alone.
    fn fits(&self, leftover: usize) -> bool {
        self.leftovers.get(leftover).is_some_and(|leftover| {
            leftover.made_of.iter().all(|(toner, _)| self.recipe.position(toner).is_some())
        })
    }

    /// Turns to what it is made ready with next: another hardener, or colour alone; or to another thinner.
    ///
    /// # Errors
    /// The product's sheet does not fit: nothing has changed then.
    pub(super) fn turn_ready(&mut self, thinner: bool, catalogue: &Catalogue) -> Result<(), RecipeError> {
        let Some(ready) = &self.ready else { return Ok(()) };
        let mut turned = ready.clone();
        if thinner {
            turned.turn_thinner();
        } else {
            turned.turn();
        }
        self.recipe = turned.recipe(&self.colour, catalogue)?;
        self.ready = Some(turned);
        if self.begins_with.is_some_and(|at| !self.fits(at)) {
            self.begins_with = None;
        }
        Ok(())
    }

    /// The volumes that are offered beside what is typed, each once: what the job asks for, and the least that can be
    /// weighed where something of it cannot, if the shop has a cup for it. Whole millilitres, rounded up, so that each of
    /// them suffices.
    pub(super) fn offers(&self, limits: Limits, accuracy: Accuracy) -> Vec<Millilitres> {
        let wanted = self.job.as_ref().and_then(|job| job.wanted);
        let smallest = weighable::smallest_weight(limits.division, accuracy)
            .and_then(|least| weighable::smallest_offered(&self.recipe, least, self.largest_cup));
        let volume = self.volume().unwrap_or(Millilitres::ZERO);
        let asked = wanted.map(up);
        // Also once it is taken, so that a key goes back from it.
        let smallest = smallest.filter(|least| *least >= volume && asked.is_none_or(|asked| *least > asked));
        asked.into_iter().chain(smallest).collect()
    }

    /// Types the next of what is offered; false if that changes nothing.
    pub(super) fn turn_offer(&mut self, limits: Limits, accuracy: Accuracy, catalogue: &Catalogue) -> bool {
        let offers = self.offers(limits, accuracy);
        let now = self.volume().ok();
        let at = offers.iter().position(|offer| Some(*offer) == now);
        let next = at.map_or(0, |at| at.saturating_add(1));
        let Some(offer) = offers.get(next).or(offers.first()).filter(|offer| Some(**offer) != now) else {
            return false;
        };
        self.typed = Input::new(self.notation.typed_volume(*offer));
        self.fit_cup(catalogue);
        true
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
            job: self.job.as_ref().map(|job| job.name.clone()),
        })
    }
}

/// The whole millilitres that suffice.
pub(super) fn up(volume: Millilitres) -> Millilitres {
    Millilitres::new(volume.decimal().ceil())
}

/// More than any cup holds.
const NO_BRIM: Millilitres = Millilitres::new(crate::units::Decimal::from_parts(1_000_000, 0, 0, false, 0));
