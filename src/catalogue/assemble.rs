//! From the bytes of a shop's files to its catalogue. No file is opened here.

use super::code::fold;
use super::colour_file::{self, Known};
use super::fields::At;
use super::page::Page;
use super::problem::{Problem, Spot};
use super::product_file::{self, Products};
use super::toner_file::{self, Toners};
use super::{Catalogue, Colour, Cup, Panel, Product, ScaleSheet, Toner, cup_file, panel_file, scale_file};
use std::collections::{HashMap, hash_map::Entry};

const TONERS: &str = "toners.toml";
const CUPS: &str = "cups.toml";
const SCALE: &str = "scale.toml";
const PRODUCTS: &str = "products.toml";
const PANELS: &str = "panels.toml";

/// Whether a shop's file of that path holds a colour: `colours/*.toml`. Hidden files, such as those editors
/// leave beside the one being edited, do not.
pub(super) fn is_colour(path: &str) -> bool {
    path.strip_prefix("colours/").is_some_and(|name| {
        let end = name.get(name.len().saturating_sub(5)..).unwrap_or_default();
        end.eq_ignore_ascii_case(".toml") && !name.starts_with('.') && !name.contains('/')
    })
}

/// One file of a shop.
pub(super) struct ShopFile {
    /// Its path inside the shop's folder, with `/` between the names.
    path: String,
    content: Content,
}

enum Content {
    Bytes(Vec<u8>),
    /// It is there but could not be read: why, and what to do.
    Unreadable(String, &'static str),
}

impl ShopFile {
    pub(super) fn read(path: impl Into<String>, bytes: impl Into<Vec<u8>>) -> Self {
        Self { path: path.into(), content: Content::Bytes(bytes.into()) }
    }

    pub(super) fn unreadable(path: impl Into<String>, why: String, hint: &'static str) -> Self {
        Self { path: path.into(), content: Content::Unreadable(why, hint) }
    }

    /// Whether it is the toners' file.
    pub(super) fn is_toners(&self) -> bool {
        self.path == TONERS
    }

    /// Whether it is the products' file.
    pub(super) fn is_products(&self) -> bool {
        self.path == PRODUCTS
    }

    /// What it holds; nothing if it could not be read.
    pub(super) fn bytes(&self) -> &[u8] {
        match &self.content {
            Content::Bytes(bytes) => bytes,
            Content::Unreadable(..) => &[],
        }
    }
}

/// The files beside the colours, read.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Base {
    pub(super) toners: Vec<Toner>,
    pub(super) cups: Vec<Cup>,
    pub(super) scale: Option<ScaleSheet>,
    pub(super) products: Vec<Product>,
    pub(super) panels: Vec<Panel>,
    pub(super) problems: Vec<Problem>,
    /// As [`Toners::broken`].
    broken: HashMap<String, String>,
    /// As [`Products::broken`].
    broken_products: HashMap<String, String>,
    /// Whether the toners' own file could be read at all.
    pub(super) complete: bool,
    /// Whether the products' own file could be read, or is not there.
    pub(super) products_complete: bool,
}

impl Base {
    /// The names of these files.
    pub(super) const FILES: [&'static str; 5] = [TONERS, CUPS, SCALE, PRODUCTS, PANELS];

    pub(super) fn read(shop: &str, files: &[ShopFile]) -> Self {
        let mut problems = Vec::new();
        let toners_file = Shown::new(shop, TONERS);
        let toners = toners_file.text(files, &mut problems, true).and_then(|text| {
            let mut page = Page::new(&toners_file.label, text, "toner");
            let toners = toner_file::read(&mut page);
            problems.extend(page.into_problems());
            toners
        });

        let cups_file = Shown::new(shop, CUPS);
        let cups = cups_file.text(files, &mut problems, false).map_or_else(Vec::new, |text| {
            let mut page = Page::new(&cups_file.label, text, "cup");
            let cups = cup_file::read(&mut page);
            problems.extend(page.into_problems());
            cups
        });

        let scale_file = Shown::new(shop, SCALE);
        let is_there = files.iter().any(|file| file.path == SCALE);
        let scale =
            is_there.then(|| scale_file.text(files, &mut problems, false)).flatten().and_then(|text| {
                let mut page = Page::new(&scale_file.label, text, "scale");
                let scale = scale_file::read(&mut page);
                problems.extend(page.into_problems());
                scale
            });

        let complete = toners.is_some();
        let Toners { toners, broken } = toners.unwrap_or_default();
        let mut base = Self { toners, cups, scale, broken, complete, ..Self::default() };
        base.read_products(shop, files, &mut problems);
        base.read_panels(shop, files, &mut problems);
        Self { problems, ..base }
    }

    /// Reads the products, if there is a file of them; the toners are there already.
    fn read_products(&mut self, shop: &str, files: &[ShopFile], problems: &mut Vec<Problem>) {
        self.products_complete = true;
        if !files.iter().any(ShopFile::is_products) {
            return;
        }
        let shown = Shown::new(shop, PRODUCTS);
        let read = shown.text(files, problems, false).and_then(|text| {
            let mut page = Page::new(&shown.label, text, "product");
            let known = Known::new(&self.toners, &self.broken, self.complete);
            let read = product_file::read(&mut page, &known);
            problems.extend(page.into_problems());
            read
        });
        self.products_complete = read.is_some();
        Products { products: self.products, broken: self.broken_products } = read.unwrap_or_default();
    }

    /// Reads the panels, if there is a file of them.
    fn read_panels(&mut self, shop: &str, files: &[ShopFile], problems: &mut Vec<Problem>) {
        if !files.iter().any(|file| file.path == PANELS) {
            return;
        }
        let shown = Shown::new(shop, PANELS);
        if let Some(text) = shown.text(files, problems, false) {
            let mut page = Page::new(&shown.label, text, "panel");
            self.panels = panel_file::read(&mut page);
            problems.extend(page.into_problems());
        }
    }

    /// The toners and products a formula may name.
    pub(super) fn known(&self) -> Known<'_> {
        let known = Known::new(&self.toners, &self.broken, self.complete);
        if self.products_complete {
            known.with_products(&self.products, &self.broken_products)
        } else {
            known
        }
    }

    /// What there is to say where so many colours would be there, but no toners.
    pub(super) fn without_toners(&self, shop: &str, colours: usize) -> Option<Problem> {
        (!self.complete && colours > 0).then(|| {
            let what = format!("without toners none of the {colours} colours can be used");
            Problem::error(&Shown::new(shop, TONERS).label, None, what).hint("Put this file right first.")
        })
    }
}

/// One colour's file, read by itself.
pub(super) struct ReadFile {
    /// The colour, and the place of its code; none if anything in the file is wrong.
    pub(super) colour: Option<(Colour, Spot)>,
    /// What is wrong, from the top of the file.
    pub(super) problems: Vec<Problem>,
}

/// Reads one colour's file.
pub(super) fn read_colour(shop: &str, file: &ShopFile, known: &Known<'_>) -> ReadFile {
    let shown = Shown::new(shop, &file.path);
    let text = match shown.text_of(&file.content) {
        Ok(text) => text,
        Err(problem) => return ReadFile { colour: None, problems: vec![*problem] },
    };
    let mut page = Page::new(&shown.label, text, "colour");
    let colour = colour_file::read(&mut page, known);
    let colour = colour.map(|At { value, offset }| (value, Spot::of(text, offset)));
    ReadFile { colour, problems: page.into_problems() }
}

/// The colours of all files together: of two with the same code and variant the later one is left out.
pub(super) struct Joining<'s> {
    shop: &'s str,
    /// By folded code and variant, where the first stands.
    first_at: HashMap<(String, String), String>,
    files: usize,
}

impl<'s> Joining<'s> {
    pub(super) fn new(shop: &'s str) -> Self {
        Self { shop, first_at: HashMap::new(), files: 0 }
    }

    /// Takes in the next file in order of the files' names: whether its colour, if it has one, is the first of its
    /// code and variant. If not, its problems say so.
    pub(super) fn take(
        &mut self,
        path: &str,
        colour: Option<(&str, &str, &Spot)>,
        problems: &mut Vec<Problem>,
    ) -> bool {
        self.files = self.files.saturating_add(1);
        let Some((code, variant, spot)) = colour else { return false };
        let label = Shown::new(self.shop, path).label;
        match self.first_at.entry((fold(code), fold(variant))) {
            Entry::Occupied(first) => {
                let what = format!("there are two colours '{code}' with the variant '{variant}'");
                let hint = format!("The first is at {}. Give one another code or variant.", first.get());
                let problem = Problem::error(&label, Some(spot.clone()), what);
                problems.push(problem.hint(hint).leaving_out("colour"));
                problems.sort_by_key(|problem| problem.spot.as_ref().map(|spot| (spot.line, spot.column)));
                false
            }
            Entry::Vacant(entry) => {
                entry.insert(Problem::error(&label, Some(spot.clone()), "").location());
                true
            }
        }
    }

    /// What there is to say once all are in.
    pub(super) fn end(&self) -> Option<Problem> {
        let folder = Shown::new(self.shop, "colours");
        (self.files == 0).then(|| {
            Problem::warning(&folder.label, None, "there are no colours in this folder")
                .hint("Put a file for each colour into it, like gannet-white.toml.")
        })
    }
}

/// Puts a shop together. `shop` stands before each path in a problem, and may be empty.
pub(super) fn assemble(shop: &str, mut files: Vec<ShopFile>) -> Catalogue {
    files.sort_by(|a, b| a.path.cmp(&b.path));
    let base = Base::read(shop, &files);
    let known = base.known();
    let mut joining = Joining::new(shop);
    let (mut colours, mut problems) = (Vec::new(), Vec::new());
    for file in files.iter().filter(|file| is_colour(&file.path)) {
        let ReadFile { colour, problems: mut own } = read_colour(shop, file, &known);
        let identity =
            colour.as_ref().map(|(colour, spot)| (colour.code.as_str(), colour.variant.as_str(), spot));
        if joining.take(&file.path, identity, &mut own) {
            colours.extend(colour.map(|(colour, _)| colour));
        }
        problems.append(&mut own);
    }
    problems.extend(joining.end());
    if let Some(problem) = base.without_toners(shop, colours.len()) {
        problems.push(problem);
        colours.clear();
    }
    let Base { toners, cups, scale, products, panels, problems: mut all, .. } = base;
    all.append(&mut problems);
    Catalogue { toners, cups, colours, scale, products, panels, usual_tolerance: None, problems: all }
}

/// A file as problems name it.
struct Shown<'a> {
    path: &'a str,
    label: String,
}

impl<'a> Shown<'a> {
    fn new(shop: &str, path: &'a str) -> Self {
        let label =
            if shop.is_empty() { path.to_owned() } else { format!("{}/{path}", shop.trim_end_matches('/')) };
        Self { path, label }
    }

    /// The file's text, or a problem. A shop without the file can be an error or no more than a warning.
    fn text<'f>(&self, files: &'f [ShopFile], problems: &mut Vec<Problem>, needed: bool) -> Option<&'f str> {
        let problem = match files.iter().find(|file| file.path == self.path) {
            Some(file) => match self.text_of(&file.content) {
                Ok(text) => return Some(text),
                Err(problem) => *problem,
            },
            None if needed => Problem::error(&self.label, None, "this file is not there")
                .hint("Write it; the formulas of the colours need it."),
            None => Problem::warning(&self.label, None, "this file is not there")
                .hint("Write it, so that a mix can be held against its cup."),
        };
        problems.push(problem);
        None
    }

    fn text_of<'f>(&self, content: &'f Content) -> Result<&'f str, Box<Problem>> {
        match content {
            Content::Bytes(bytes) => std::str::from_utf8(bytes)
                .map_err(|error| Box::new(self.not_utf8(bytes, error.valid_up_to()))),
            Content::Unreadable(why, hint) => {
                Err(Box::new(Problem::error(&self.label, None, why).hint(hint).leaving_out("file")))
            }
        }
    }

    fn not_utf8(&self, bytes: &[u8], good: usize) -> Problem {
        // Up to the first bad byte both are the same, so its place holds for both.
        let text = String::from_utf8_lossy(bytes);
        let byte = bytes.get(good).copied().unwrap_or_default();
        Problem::error(
            &self.label,
            Some(Spot::of(&text, good)),
            format!("the byte 0x{byte:02x} is not UTF-8"),
        )
        .hint("Save the file again with the encoding UTF-8.")
        .leaving_out("file")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn which_files_hold_a_colour() {
        for path in ["colours/gannet-white.toml", "colours/A.TOML", "colours/föhn.toml"] {
            assert!(is_colour(path), "{path}");
        }
        for path in [
            "colours/.#gannet-white.toml",
            "colours/old/x.toml",
            "colours/README.md",
            "toners.toml",
            "colours/toml",
        ] {
            assert!(!is_colour(path), "{path}");
        }
    }
}
