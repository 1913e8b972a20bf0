//! What the shop keeps on paper: toners, cups, colours and the scale; loaded, checked and found.
//!
//! The texts of a shop's files go in, a [`Catalogue`] comes out: what could be read, and a list of
//! [`Problem`]s for what could not. Only `folder`, `formula_folder` and `index` touch a disk.

#![deny(clippy::float_arithmetic, clippy::indexing_slicing)]

mod assemble;
mod changes;
mod clean;
mod code;
mod colour;
mod colour_file;
mod cup;
mod cup_file;
pub mod demo;
mod draft;
mod export;
mod fields;
mod find;
mod finder;
mod folder;
mod formula_folder;
mod from_tin;
pub mod import;
pub mod index;
mod layer;
mod listing;
mod nearest;
mod page;
mod panel;
mod panel_file;
mod problem;
mod product;
mod product_file;
mod retired;
mod scale_file;
mod scale_sheet;
mod source;
mod swatch;
mod toner;
mod toner_file;
mod volatiles;
mod volatiles_fields;
mod word;
mod writing;

pub use changes::{changes, changes_written, named};
pub use code::{ColourCode, TonerCode};
pub use colour::{Colour, Finish, STANDARD};
pub use cup::Cup;
pub use draft::{Draft, DraftLayer, DraftRow, Fault, Field};
pub use export::to_csv;
pub use find::{Found, find};
pub use finder::Finder;
pub use formula_folder::{FolderError, FormulaFile, FormulaFolder, Kept};
pub use layer::{Layer, Part, Role};
pub use listing::{Entry, Listing};
pub(crate) use nearest::nearest;
pub use panel::Panel;
pub use problem::{Problem, Severity, Spot};
pub use product::{Addition, Bake, Hazards, Product, ProductCode, Ratio, RatioBy, Signal, Viscosity};
pub use retired::Retired;
pub use scale_sheet::ScaleSheet;
pub use source::{Source, VersionId};
pub use swatch::Swatch;
pub use toner::{Place, Toner, TonerKind};
pub use volatiles::Volatiles;
pub use word::Word;
pub(crate) use word::words;
pub use writing::{Unwritable, edited, file_name, fresh};

use crate::units::{Millilitres, Share};
use std::path::Path;

/// Everything a shop has written down that could be read, and what is wrong with the rest.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Catalogue {
    /// The toners, in the order of their file.
    pub toners: Vec<Toner>,
    /// The cups, in the order of their file.
    pub cups: Vec<Cup>,
    /// The products, in the order of their file. Every tin, and every hardener and thinner of a ratio, names
    /// a toner in `toners`.
    pub products: Vec<Product>,
    /// The parts of a body, in the order of their file.
    pub panels: Vec<Panel>,
    /// The colours, in the order of their files' names. Every part of every layer names a toner in `toners`,
    /// by that toner's own spelling.
    pub colours: Vec<Colour>,
    /// The bench scale and its check weights, if the shop has written them down.
    pub scale: Option<ScaleSheet>,
    /// The tolerance of the toners whose file names none; none for [`Toner::USUAL_TOLERANCE`].
    pub usual_tolerance: Option<Share>,
    /// What is wrong, file by file, from the top of each.
    pub problems: Vec<Problem>,
}

impl Catalogue {
    /// Reads a shop's folder: `toners.toml`, `cups.toml`, `products.toml`, `panels.toml`, `scale.toml` and
    /// `colours/*.toml`. Never fails as a whole: what
    /// cannot be read is a [`Problem`].
    pub fn load(shop: &Path) -> Self {
        folder::load(shop)
    }

    /// The same from texts in memory: pairs of a path inside the shop's folder (`colours/gannet-white.toml`)
    /// and what that file holds. `shop` is the folder's name as problems show it, and may be empty.
    pub fn from_files<P, B>(shop: &str, files: impl IntoIterator<Item = (P, B)>) -> Self
    where
        P: Into<String>,
        B: Into<Vec<u8>>,
    {
        let files = files.into_iter().map(|(path, bytes)| assemble::ShopFile::read(path, bytes)).collect();
        assemble::assemble(shop, files)
    }

    /// The invented shop that comes inside the program.
    pub fn demo() -> Self {
        Self::from_files(demo::SHOP, demo::FILES.iter().copied())
    }

    /// The toner with that code: as written, or else in whatever case.
    pub fn toner(&self, code: &str) -> Option<&Toner> {
        lookup(&self.toners, code, |toner| toner.code.as_str())
    }

    /// How far from its target a toner may be and still be right, relative to the target.
    pub fn tolerance_of(&self, toner: &Toner) -> Share {
        toner.tolerance.or(self.usual_tolerance).unwrap_or(Toner::USUAL_TOLERANCE)
    }

    /// The toner on whose tins that barcode is.
    pub fn toner_by_barcode(&self, text: &str) -> Option<&Toner> {
        let barcode = toner::barcode_of(text.trim());
        self.toners.iter().find(|toner| toner.codes.contains(&barcode))
    }

    /// The cup with that name: as written, or else in whatever case.
    pub fn cup(&self, name: &str) -> Option<&Cup> {
        lookup(&self.cups, name, |cup| &cup.name)
    }

    /// What the largest cup holds to its brim; none if no cups are written down.
    pub fn largest_cup(&self) -> Option<Millilitres> {
        self.cups.iter().map(|cup| cup.brim).max()
    }

    /// The product with that code: as written, or else in whatever case.
    pub fn product(&self, code: &str) -> Option<&Product> {
        lookup(&self.products, code, |product| product.code.as_str())
    }

    /// What a layer is mixed with: the product that it names, or else the first of the file that is for such layers.
    /// None where there is none, or where the one it names is not there.
    pub fn product_for(&self, layer: &Layer) -> Option<&Product> {
        match &layer.product {
            Some(code) => self.product(code.as_str()),
            None => self.products.iter().find(|product| product.is_for(layer.role)),
        }
    }

    /// What a layer that there is no formula of is mixed with, where nobody named a product: of those that are for such
    /// layers the first that comes ready in its tin, or else the first.
    pub fn product_without_formula(&self, role: Role) -> Option<&Product> {
        let of_role = || self.products.iter().filter(move |product| product.is_for(role));
        of_role().find(|product| product.tin.is_some()).or_else(|| of_role().next())
    }

    /// The part of a body with that name: as written, or else in whatever case.
    pub fn panel(&self, name: &str) -> Option<&Panel> {
        lookup(&self.panels, name, |panel| &panel.name)
    }

    /// The colour with that code: as written, or else in whatever case. Of several variants the standard one,
    /// or the first if none is called so.
    pub fn colour(&self, code: &str) -> Option<&Colour> {
        let standard = self.variants(code).find(|colour| code::same(&colour.variant, STANDARD));
        standard.or_else(|| self.variants(code).next())
    }

    /// The colour with that code and that variant.
    pub fn colour_variant(&self, code: &str, variant: &str) -> Option<&Colour> {
        self.variants(code).find(|colour| code::same(&colour.variant, variant))
    }

    /// All variants of the colour with that code.
    pub fn variants<'a, 'c>(&'a self, code: &'c str) -> impl Iterator<Item = &'a Colour> + use<'a, 'c> {
        self.colours.iter().filter(move |colour| code::same(colour.code.as_str(), code))
    }

    /// Whether anything had to be left out.
    pub fn has_errors(&self) -> bool {
        self.problems.iter().any(|problem| problem.severity == Severity::Error)
    }
}

/// The colour in that text, as a kept version holds it, whatever toners the shop has by now; none if it is none.
pub fn colour_of(text: &str) -> Option<Colour> {
    colour_file::read_alone(text)
}

fn lookup<'a, T>(things: &'a [T], wanted: &str, name: impl Fn(&T) -> &str) -> Option<&'a T> {
    let exact = things.iter().find(|thing| name(thing) == wanted);
    exact.or_else(|| things.iter().find(|thing| code::same(name(thing), wanted)))
}
