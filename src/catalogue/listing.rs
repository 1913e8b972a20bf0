//! What finding and listing need of every colour, without the formulas: a few columns over one text, so that a
//! hundred thousand colours are there at once and take little room.

use super::code::{fold, same};
use super::{Colour, Finish, Retired, Role, Swatch, Word as _};
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// One colour of a listing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Entry<'l> {
    /// Its code.
    pub code: &'l str,
    /// What people call it.
    pub name: &'l str,
    /// Which of the shades sold under the code.
    pub variant: &'l str,
    /// How it is built up.
    pub finish: Finish,
    /// What it looks like, roughly, if its file says.
    pub swatch: Option<Swatch>,
    /// Its layers in the order of the file, and of how many toners each is.
    pub layers: &'l [(Role, u32)],
    /// Its file's name inside `colours/`; empty for a colour that was not read from a folder.
    pub file: &'l str,
    /// Since when it is no longer mixed, if it is not: the day, and why.
    pub retired: Option<(&'l str, Option<&'l str>)>,
    /// Which it was in what the listing was made from; for a shop in memory its place among the colours.
    pub place: usize,
}

/// Every colour of a shop in order of name, then code, then variant, capitals not counted.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Listing {
    /// Code, name and file of each colour, one behind the other.
    text: String,
    rows: Vec<Row>,
    /// What many colours have in common stands here once.
    variants: Vec<String>,
    layers: Vec<Vec<(Role, u32)>>,
    retired: Vec<(String, Option<String>)>,
}

/// One colour's place in the columns. Widths are in bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Row {
    start: usize,
    code: u32,
    name: u32,
    file: u32,
    variant: u32,
    layers: u32,
    /// One more than its place; 0 for a colour that is mixed.
    retired: u32,
    finish: Finish,
    /// Red, green and blue, and 1 in the highest byte; 0 for none.
    swatch: u32,
    place: u32,
}

impl Listing {
    /// The colours of a shop in memory; an entry's place is the colour's.
    pub fn of(colours: &[Colour]) -> Self {
        let mut making = Making::default();
        for colour in colours {
            let layers = colour.layers.iter().map(|layer| (layer.role, number(layer.pours.len())));
            making.add(Entry {
                code: colour.code.as_str(),
                name: &colour.name,
                variant: &colour.variant,
                finish: colour.finish,
                swatch: colour.swatch,
                layers: &layers.collect::<Vec<_>>(),
                file: "",
                retired: colour.retired.as_ref().map(said),
                place: 0,
            });
        }
        making.end()
    }

    /// How many colours there are.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The colour at that place of the listing.
    pub fn get(&self, at: usize) -> Option<Entry<'_>> {
        let row = self.rows.get(at)?;
        let code = row.start.checked_add(size(row.code))?;
        let name = code.checked_add(size(row.name))?;
        let file = name.checked_add(size(row.file))?;
        let retired = size(row.retired).checked_sub(1).and_then(|at| self.retired.get(at));
        Some(Entry {
            code: self.text.get(row.start..code)?,
            name: self.text.get(code..name)?,
            file: self.text.get(name..file)?,
            variant: self.variants.get(size(row.variant))?,
            finish: row.finish,
            swatch: unpacked(row.swatch),
            layers: self.layers.get(size(row.layers))?,
            retired: retired.map(|(on, because)| (on.as_str(), because.as_deref())),
            place: size(row.place),
        })
    }

    /// All of them, in order of name.
    pub fn iter(&self) -> impl Iterator<Item = Entry<'_>> {
        (0..self.rows.len()).filter_map(|at| self.get(at))
    }

    /// The colour with that code and that variant, capitals not counted, as [`Catalogue::colour_variant`](super::Catalogue::colour_variant)
    /// finds it.
    pub fn named(&self, code: &str, variant: &str) -> Option<Entry<'_>> {
        self.iter().find(|entry| same(entry.code, code) && same(entry.variant, variant))
    }

    /// The place of the colour with that code and that variant, both as written.
    pub fn position(&self, code: &str, variant: &str) -> Option<usize> {
        self.iter().position(|entry| entry.code == code && entry.variant == variant)
    }
}

/// What a colour's file says of its being retired.
pub(super) fn said(retired: &Retired) -> (&str, Option<&str>) {
    (&retired.on, retired.because.as_deref())
}

/// A listing that is being made, in whatever order.
#[derive(Default)]
pub(super) struct Making {
    listing: Listing,
    /// By folded name, code and variant.
    order: Vec<(String, String, String)>,
    variants: HashMap<String, u32>,
    layers: HashMap<Vec<(Role, u32)>, u32>,
    retired: HashMap<(String, Option<String>), u32>,
}

impl Making {
    /// Adds the next colour; its place is how many were added before.
    pub(super) fn add(&mut self, entry: Entry<'_>) {
        let listing = &mut self.listing;
        let start = listing.text.len();
        for text in [entry.code, entry.name, entry.file] {
            listing.text.push_str(text);
        }
        let retired = entry.retired.map(|(on, because)| (on.to_owned(), because.map(str::to_owned)));
        let row = Row {
            start,
            code: number(entry.code.len()),
            name: number(entry.name.len()),
            file: number(entry.file.len()),
            variant: once(&mut self.variants, &mut listing.variants, entry.variant.to_owned()),
            layers: once(&mut self.layers, &mut listing.layers, entry.layers.to_vec()),
            retired: retired.map_or(0, |retired| {
                once(&mut self.retired, &mut listing.retired, retired).saturating_add(1)
            }),
            finish: entry.finish,
            swatch: packed(entry.swatch),
            place: number(listing.rows.len()),
        };
        listing.rows.push(row);
        self.order.push((fold(entry.name), fold(entry.code), fold(entry.variant)));
    }

    /// The listing, in order.
    pub(super) fn end(self) -> Listing {
        let Self { mut listing, order, .. } = self;
        listing.rows.sort_by(|a, b| order.get(size(a.place)).cmp(&order.get(size(b.place))));
        listing
    }
}

/// Where that stands among what is kept once.
fn once<T: Clone + Eq + std::hash::Hash>(places: &mut HashMap<T, u32>, kept: &mut Vec<T>, what: T) -> u32 {
    if let Some(&at) = places.get(&what) {
        return at;
    }
    let at = number(kept.len());
    kept.push(what.clone());
    places.insert(what, at);
    at
}

/// More than four thousand million of anything is not to be had: a file is 16 MiB at the most.
fn number(size: usize) -> u32 {
    u32::try_from(size).unwrap_or(u32::MAX)
}

fn size(number: u32) -> usize {
    usize::try_from(number).unwrap_or(usize::MAX)
}

fn packed(swatch: Option<Swatch>) -> u32 {
    swatch.map_or(0, |Swatch { red, green, blue }| u32::from_be_bytes([1, red, green, blue]))
}

fn unpacked(number: u32) -> Option<Swatch> {
    let [there, red, green, blue] = number.to_be_bytes();
    (there == 1).then_some(Swatch { red, green, blue })
}

impl Entry<'_> {
    /// `PB-3140 Gannet White`, with its variant where it is not the standard one.
    pub fn named(&self) -> String {
        super::changes::in_words(self.code, self.name, self.variant)
    }

    /// The texts in which a word is looked for: code, name, variant and the finish's word.
    pub fn texts(&self) -> [&str; 4] {
        [self.code, self.name, self.variant, self.finish.word()]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;

    #[test]
    fn a_listing_says_of_every_colour_what_the_colour_says() {
        let shop = Catalogue::demo();
        let listing = Listing::of(&shop.colours);
        assert_eq!(listing.len(), shop.colours.len());
        for entry in listing.iter() {
            let colour = &shop.colours[entry.place];
            assert_eq!(
                entry.texts(),
                [colour.code.as_str(), &colour.name, &colour.variant, colour.finish.word()]
            );
            let layers: Vec<_> = colour
                .layers
                .iter()
                .map(|layer| (layer.role, u32::try_from(layer.pours.len()).unwrap()))
                .collect();
            assert_eq!((entry.swatch, entry.layers), (colour.swatch, &*layers));
            assert_eq!((entry.file, entry.retired), ("", None));
        }
        let names: Vec<String> = listing.iter().map(|entry| entry.name.to_lowercase()).collect();
        assert!(names.is_sorted());
        let at = listing.position("PB-2204", "coarser").unwrap();
        assert_eq!(listing.get(at).unwrap().name, "Shale Drizzle");
        assert_eq!(listing.position("PB-2204", "finer"), None);
    }

    #[test]
    fn a_swatch_and_none_are_told_apart() {
        for swatch in [None, Swatch::parse("#000000"), Swatch::parse("#ffffff"), Swatch::parse("#010203")] {
            assert_eq!(unpacked(packed(swatch)), swatch);
        }
    }
}
