//! Picking a colour by typing, and a layer of it.

use super::known::Known;
use crate::catalogue::{Catalogue, Entry, Found, Role};
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
    pub(super) fn all(known: &mut Known) -> Self {
        let mut colours = Self::default();
        colours.search(known);
        colours
    }

    /// Looks again for what is typed now.
    pub(super) fn search(&mut self, known: &mut Known) {
        self.found = known.find(self.query.value(), MOST);
        self.selected = 0;
        self.layer = 0;
    }

    /// Changes what is typed.
    pub(super) fn edit(&mut self, request: InputRequest, known: &mut Known) {
        if self.query.handle(request).is_some_and(|change| change.value) {
            self.search(known);
        }
    }

    /// Moves the mark by so many rows.
    pub(super) fn step(&mut self, rows: isize) {
        let last = self.found.len().saturating_sub(1);
        self.selected = self.selected.saturating_add_signed(rows).min(last);
        self.layer = 0;
    }

    /// The colours are others now: what is typed and what is marked stay as far as they can.
    pub(super) fn search_again(&mut self, was: Option<(String, String)>, known: &mut Known) {
        let layer = self.layer;
        self.search(known);
        let name = |found: &Found| {
            known.entry(found.colour).map(|entry| (entry.code.to_owned(), entry.variant.to_owned()))
        };
        if let Some(at) =
            was.and_then(|was| self.found.iter().position(|found| name(found) == Some(was.clone())))
        {
            self.selected = at;
            self.layer = layer;
        }
    }

    /// The marked colour's place in the listing, and what stands there.
    pub(super) fn colour<'a>(&self, known: &'a Known) -> Option<(usize, Entry<'a>)> {
        let at = self.found.get(self.selected)?.colour;
        Some((at, known.entry(at)?))
    }

    /// Marks the next layer of the marked colour, or the one before.
    pub(super) fn turn_layer(&mut self, known: &Known, shop: &Catalogue, forward: bool) {
        let count = self.colour(known).map_or(0, |(_, entry)| roles(&entry, shop).count());
        if count > 0 {
            let step = if forward { 1 } else { count.saturating_sub(1) };
            self.layer = self.layer.saturating_add(step) % count;
        }
    }

    /// The marked layer.
    pub(super) fn role(&self, known: &Known, shop: &Catalogue) -> Option<Role> {
        let (_, entry) = self.colour(known)?;
        roles(&entry, shop).nth(self.layer)
    }
}

/// The layers of a colour that can be mixed: those it has a formula of, and those that come out of a tin.
fn roles(entry: &Entry<'_>, shop: &Catalogue) -> impl Iterator<Item = Role> {
    let tins = shop.from_tins(entry).into_iter().map(|layer| layer.role);
    entry.layers.iter().map(|(role, _)| *role).chain(tins)
}
