//! From the bytes of a shop's files to its catalogue. No file is opened here.

use super::code::fold;
use super::colour_file::{self, Known};
use super::fields::At;
use super::page::Page;
use super::problem::{Problem, Spot};
use super::toner_file::{self, Toners};
use super::{Catalogue, Colour, cup_file, scale_file};
use std::collections::{HashMap, hash_map::Entry};

const TONERS: &str = "toners.toml";
const CUPS: &str = "cups.toml";
const SCALE: &str = "scale.toml";

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
}

/// Puts a shop together. `shop` stands before each path in a problem, and may be empty.
pub(super) fn assemble(shop: &str, mut files: Vec<ShopFile>) -> Catalogue {
    files.sort_by(|a, b| a.path.cmp(&b.path));
    let mut problems = Vec::new();

    let toners_file = Shown::new(shop, TONERS);
    let toners = toners_file.text(&files, &mut problems, true).and_then(|text| {
        let mut page = Page::new(&toners_file.label, text, "toner");
        let toners = toner_file::read(&mut page);
        problems.extend(page.into_problems());
        toners
    });

    let cups_file = Shown::new(shop, CUPS);
    let cups = cups_file.text(&files, &mut problems, false).map_or_else(Vec::new, |text| {
        let mut page = Page::new(&cups_file.label, text, "cup");
        let cups = cup_file::read(&mut page);
        problems.extend(page.into_problems());
        cups
    });

    let scale_file = Shown::new(shop, SCALE);
    let is_there = files.iter().any(|file| file.path == SCALE);
    let scale = is_there.then(|| scale_file.text(&files, &mut problems, false)).flatten().and_then(|text| {
        let mut page = Page::new(&scale_file.label, text, "scale");
        let scale = scale_file::read(&mut page);
        problems.extend(page.into_problems());
        scale
    });

    let complete = toners.is_some();
    let Toners { toners, broken } = toners.unwrap_or_default();
    let known = Known::new(&toners, &broken, complete);
    let mut colours = read_colours(shop, &files, &known, &mut problems);
    if !complete && !colours.is_empty() {
        let what = format!("without toners none of the {} colours can be used", colours.len());
        problems.push(Problem::error(&toners_file.label, None, what).hint("Put this file right first."));
        colours.clear();
    }
    Catalogue { toners, cups, colours, scale, problems }
}

fn read_colours(
    shop: &str,
    files: &[ShopFile],
    known: &Known<'_>,
    problems: &mut Vec<Problem>,
) -> Vec<Colour> {
    let mut colours = Vec::new();
    let mut first_at: HashMap<(String, String), String> = HashMap::new();
    for file in files.iter().filter(|file| is_colour(&file.path)) {
        let shown = Shown::new(shop, &file.path);
        let Some(text) = shown.text(files, problems, true) else { continue };
        let mut page = Page::new(&shown.label, text, "colour");
        if let Some(At { value: colour, offset }) = colour_file::read(&mut page, known) {
            match first_at.entry((fold(colour.code.as_str()), fold(&colour.variant))) {
                Entry::Occupied(first) => {
                    let what = format!(
                        "there are two colours '{}' with the variant '{}'",
                        colour.code, colour.variant
                    );
                    let hint = format!("The first is at {}. Give one another code or variant.", first.get());
                    page.report(page.error(offset, what).hint(hint));
                }
                Entry::Vacant(entry) => {
                    entry.insert(page.location(offset));
                    colours.push(colour);
                }
            }
        }
        problems.extend(page.into_problems());
    }
    if !files.iter().any(|file| is_colour(&file.path)) {
        let folder = Shown::new(shop, "colours");
        let problem = Problem::warning(&folder.label, None, "there are no colours in this folder")
            .hint("Put a file for each colour into it, like gannet-white.toml.");
        problems.push(problem);
    }
    colours
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
        let problem = match files.iter().find(|file| file.path == self.path).map(|file| &file.content) {
            Some(Content::Bytes(bytes)) => match std::str::from_utf8(bytes) {
                Ok(text) => return Some(text),
                Err(error) => self.not_utf8(bytes, error.valid_up_to()),
            },
            Some(Content::Unreadable(why, hint)) => {
                Problem::error(&self.label, None, why).hint(hint).leaving_out("file")
            }
            None if needed => Problem::error(&self.label, None, "this file is not there")
                .hint("Write it; the formulas of the colours need it."),
            None => Problem::warning(&self.label, None, "this file is not there")
                .hint("Write it, so that a mix can be held against its cup."),
        };
        problems.push(problem);
        None
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
