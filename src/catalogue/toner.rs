//! One tinting material on the shelf.

use super::{Swatch, TonerCode, Volatiles, word::words};
use crate::barcode::Gtin;
use crate::units::{Density, PricePerLitre, Share};

words! {
    /// What a toner is made to do. Pearls, metallics, binders and blenders are toners too.
    TonerKind is "a kind of toner" {
        /// Pigment that hides.
        Solid = "solid",
        /// Mica and the like: colour that turns with the light.
        Pearl = "pearl",
        /// Metal flake.
        Metallic = "metallic",
        /// Resin without pigment: what carries the others.
        Binder = "binder",
        /// What lets an edge run out unseen, or steers how the flake lies.
        Blender = "blender",
        /// Colour as it comes: a clear or a primer that is sprayed from its tin, with hardener and thinner and no formula.
        Supplied = "supplied",
        /// What makes the mix cure: the pot life begins with it.
        Hardener = "hardener",
        /// What makes the mix thin enough for the gun.
        Thinner = "thinner",
    }
}

words! {
    /// Where in the pour order the maker's sheet wants a toner, when it says so.
    Place is "a place in the pour order" {
        /// Before all others: a binder that wets the cup.
        First = "first",
        /// After all others: a pearl that goes in last.
        Last = "last",
    }
}

/// A toner as the shop wrote it down.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Toner {
    /// Its code; no other toner's differs from it by capitals only.
    pub code: TonerCode,
    /// What people call it.
    pub name: String,
    /// What it is made to do.
    pub kind: TonerKind,
    /// Mass per volume.
    pub density: Density,
    /// What a litre costs, if the shop has said.
    pub price: Option<PricePerLitre>,
    /// How far a pour may be off, as a share of its target, more than nothing and at most all of it; none where the
    /// shop's usual tolerance holds: [`Catalogue::tolerance_of`](super::Catalogue::tolerance_of).
    pub tolerance: Option<Share>,
    /// What it looks like, roughly, if the shop has said.
    pub swatch: Option<Swatch>,
    /// Where the sheet wants it, if it says so.
    pub place: Option<Place>,
    /// What the barcodes on its tins say: item numbers as fourteen digits, others as they are.
    pub codes: Vec<String>,
    /// What a litre of it gives off, if the shop has said.
    pub volatiles: Option<Volatiles>,
    /// Its solids by volume, if the shop has said.
    pub solids: Option<Share>,
    /// Whether there are isocyanates in it, if the shop has said: see [`Toner::counts_as_isocyanate`].
    pub isocyanates: Option<bool>,
    /// Whether it is flammable, if the shop has said.
    pub flammable: Option<bool>,
}

/// A barcode as it is compared: an item's number with noughts before it, any other as it is.
pub(super) fn barcode_of(text: &str) -> String {
    Gtin::parse(text).map_or_else(|| text.to_owned(), |item| item.to_string())
}

impl Toner {
    /// The tolerance of a toner whose file names none: one in a hundred.
    pub const USUAL_TOLERANCE: Share = Share::ONE_PERCENT;

    /// Whether it is to be handled as something with isocyanates in it: where its entry says so, and a hardener of which
    /// nothing is said.
    pub fn counts_as_isocyanate(&self) -> bool {
        self.isocyanates.unwrap_or(self.kind == TonerKind::Hardener)
    }
}
