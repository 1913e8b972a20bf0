//! Picking a colour by typing, and a layer of it.

use crate::catalogue::{Catalogue, Colour, Finder, Found, Role};
use tui_input::{Input, InputRequest};

/// The colours that fit what was typed, best first.
#[derive(Clone, Debug, Default)]
pub(super) struct Colours {
    /// What was typed.
    pub query: Input,
    /// What fits.
    pub found: Vec<Found>,
    /// Which is marked.
    pub selected: usize,
    /// Which of its layers is marked.
    pub layer: usize,
}

/// As many as anybody will look through.
const MOST: usize = 200;

impl Colours {
    /// All of them.
    pub(super) fn all(catalogue: &Catalogue, finder: &mut Finder) -> Self {
        let mut colours = Self::default();
        colours.search(catalogue, finder);
        colours
    }

    /// Looks again for what is typed now.
    pub(super) fn search(&mut self, catalogue: &Catalogue, finder: &mut Finder) {
        self.found = finder.find(&catalogue.colours, self.query.value(), MOST);
        self.selected = 0;
        self.layer = 0;
    }

    /// Changes what is typed.
    pub(super) fn edit(&mut self, request: InputRequest, catalogue: &Catalogue, finder: &mut Finder) {
        if self.query.handle(request).is_some_and(|change| change.value) {
            self.search(catalogue, finder);
        }
    }

    /// Moves the mark by so many rows.
    pub(super) fn step(&mut self, rows: isize) {
        let last = self.found.len().saturating_sub(1);
        self.selected = self.selected.saturating_add_signed(rows).min(last);
        self.layer = 0;
    }

    /// The marked colour.
    pub(super) fn colour<'a>(&self, catalogue: &'a Catalogue) -> Option<(usize, &'a Colour)> {
        let index = self.found.get(self.selected)?.colour;
        Some((index, catalogue.colours.get(index)?))
    }

    /// Marks the next layer of the marked colour, or the one before.
    pub(super) fn turn_layer(&mut self, catalogue: &Catalogue, forward: bool) {
        let count = self.colour(catalogue).map_or(0, |(_, colour)| colour.layers.len());
        if count > 0 {
            let step = if forward { 1 } else { count.saturating_sub(1) };
            self.layer = self.layer.saturating_add(step) % count;
        }
    }

    /// The marked layer.
    pub(super) fn role(&self, catalogue: &Catalogue) -> Option<Role> {
        let (_, colour) = self.colour(catalogue)?;
        colour.layers.get(self.layer).map(|layer| layer.role)
    }
}
