//! Another shop's folder of formulas.

use super::{Entry, Preview, Wrong};
use crate::catalogue::assemble::is_colour;
use crate::catalogue::code::{fold, same};
use crate::catalogue::nearest::nearest;
use crate::catalogue::{Catalogue, Colour, Severity, TonerCode, colour_file};
use std::collections::{BTreeMap, HashMap};

/// What importing these files would do: pairs of a file's name and what it holds. Toners the shop does not have are
/// named once each, with the colours that need them.
pub fn from_folder<'f>(
    catalogue: &Catalogue,
    files: impl IntoIterator<Item = (&'f str, &'f [u8])>,
) -> Preview {
    let mut preview = Preview::default();
    let mut missing: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let mut seen: Vec<(String, String)> = Vec::new();
    // Which toners there are is asked below, of all colours at once.
    let broken = HashMap::new();
    let known = colour_file::Known::new(&[], &broken, false);
    for (name, bytes) in files {
        let name = name.rsplit('/').next().unwrap_or(name);
        if !is_colour(&format!("colours/{name}")) {
            continue;
        }
        let Ok(text) = std::str::from_utf8(bytes) else {
            let says = "this file is not UTF-8. Save it again with the encoding UTF-8.".to_owned();
            preview.wrong.push(Wrong { at: crate::units::clean(name), line: None, says });
            continue;
        };
        let (colour, problems) = colour_file::read_with(name, text, &known);
        for problem in problems.iter().filter(|problem| problem.severity == Severity::Error) {
            preview.wrong.push(Wrong { at: problem.location(), line: None, says: problem.sentence() });
        }
        let Some(mut colour) = colour else { continue };
        if seen.iter().any(|(code, shade)| same(code, colour.code.as_str()) && same(shade, &colour.variant)) {
            let says = format!(
                "there is another file with the colour {} and the variant {}. Take one of them out.",
                colour.code, colour.variant
            );
            preview.wrong.push(Wrong { at: crate::units::clean(name), line: None, says });
            continue;
        }
        seen.push((colour.code.as_str().to_owned(), colour.variant.clone()));
        let without = spell(catalogue, &mut colour);
        let complete = without.is_empty();
        for toner in without {
            missing.entry(toner).or_default().push(colour.code.to_string());
        }
        if complete {
            preview.entries.push(Entry::of(catalogue, colour, Some(text.to_owned())));
        }
    }
    for (toner, mut colours) in missing {
        colours.dedup();
        let codes = catalogue.toners.iter().map(|toner| toner.code.as_str());
        let near =
            nearest(&toner, codes).map_or_else(String::new, |near| format!(" The nearest here is '{near}'."));
        let says = format!(
            "the shop has no such toner, and {} needs it.{near} Add it to toners.toml first.",
            colours.join(", ")
        );
        preview.wrong.push(Wrong { at: format!("toner {toner}"), line: None, says });
    }
    preview
}

/// Spells the toners as the shop does; those it does not have.
fn spell(catalogue: &Catalogue, colour: &mut Colour) -> Vec<String> {
    let mut missing = Vec::new();
    for part in colour.layers.iter_mut().flat_map(|layer| &mut layer.pours) {
        let code = fold(part.toner.as_str());
        match catalogue.toners.iter().find(|toner| fold(toner.code.as_str()) == code) {
            Some(toner) => part.toner = TonerCode::new(toner.code.as_str()),
            None if missing.contains(&part.toner.to_string()) => {}
            None => missing.push(part.toner.to_string()),
        }
    }
    missing
}
