//! A colour into the text of its file, so that everything that did not change stays byte for byte: comments, order,
//! blanks, quotes.
//!
//! The file is read with its places, and only the bytes of what differs are replaced. What comes out is read again
//! before anybody gets it: a text that does not say what the colour says is never written.

mod arrange;
mod file_name;
mod fresh;
mod layout;
mod values;

pub use file_name::file_name;
pub use fresh::fresh;

use super::code::fold;
use super::{Colour, Layer, Word as _, colour_file};
use thiserror::Error;

/// Why a file cannot be changed.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum Unwritable {
    /// What is there is no colour.
    #[error(
        "the file cannot be read as a colour any more: put it right by hand first; `pourbook check` shows where"
    )]
    Unreadable,
    /// It is laid out in a way that a change would spoil.
    #[error("the file is laid out so that this change would spoil what else stands in it: change it by hand")]
    Layout,
}

/// `source`, the text of a colour's file, with what differs from `colour` replaced. A product or a shade that `colour`
/// does not name stays.
///
/// # Errors
/// `source` is no colour, or is laid out so that it cannot be changed without loss.
pub fn edited(source: &str, colour: &Colour) -> Result<String, Unwritable> {
    let before = colour_file::read_alone(source).ok_or(Unwritable::Unreadable)?;
    let colour = &colour.with_papers_of(&before);
    if says(&before, colour) {
        return Ok(source.to_owned());
    }
    let mut text = values::replaced(source, colour, &before)?;
    for layer in 0..colour.layers.len() {
        text = arrange::rows(&text, colour, layer)?;
    }
    let text = arrange::layers(&text, colour, &before)?;
    match colour_file::read_alone(&text) {
        Some(after) if says(&after, colour) => Ok(text),
        _ => Err(Unwritable::Layout),
    }
}

/// Whether both say the same. A toner's and a product's capitals are those of its own entry, whatever a formula writes.
fn says(a: &Colour, b: &Colour) -> bool {
    let folded = |colour: &Colour| {
        let mut colour = colour.clone();
        for part in colour.layers.iter_mut().flat_map(|layer| &mut layer.pours) {
            part.toner = super::TonerCode::new(fold(part.toner.as_str()));
        }
        for product in colour.layers.iter_mut().filter_map(|layer| layer.product.as_mut()) {
            *product = super::ProductCode::new(fold(product.as_str()));
        }
        colour
    };
    folded(a).says_the_same(&folded(b))
}

/// Pieces of a text to be replaced.
#[derive(Default)]
struct Edits(Vec<(std::ops::Range<usize>, String)>);

impl Edits {
    fn replace(&mut self, range: std::ops::Range<usize>, with: String) {
        self.0.push((range, with));
    }

    /// From the end backwards, so that the places before stay right.
    fn apply(mut self, text: &str) -> String {
        // stable: what is put in at one place keeps its order
        self.0.sort_by_key(|(range, _)| range.start);
        let mut text = text.to_owned();
        for (range, with) in self.0.into_iter().rev() {
            text.replace_range(range, &with);
        }
        text
    }
}

/// How the lines of a text end.
fn line_end(text: &str) -> &'static str {
    match text.find('\n') {
        Some(at) if text.get(..at).is_some_and(|line| line.ends_with('\r')) => "\r\n",
        _ => "\n",
    }
}

/// Which of `old` each of `new` is: the one with the same name; else, where as many are there, the one in the same
/// place whose name is gone.
fn pairs(old: &[String], new: &[String]) -> Vec<Option<usize>> {
    let named: Vec<Option<usize>> =
        new.iter().map(|name| old.iter().position(|other| other == name)).collect();
    let renamed = |at: usize| (old.len() == new.len() && !named.contains(&Some(at))).then_some(at);
    named.iter().enumerate().map(|(at, pair)| pair.or_else(|| renamed(at))).collect()
}

/// The same of layers. One whose role was changed is another layer where its product or shade is not that of the old.
fn layer_pairs(old: &[String], colour: &Colour, before: &Colour) -> Vec<Option<usize>> {
    let roles: Vec<_> = colour.layers.iter().map(|layer| layer.role.word().to_owned()).collect();
    let is_it = |layer: &Layer, at: usize| {
        let role = old.get(at).map(String::as_str);
        let had = before.layers.iter().find(|had| role == Some(had.role.word()));
        role == Some(layer.role.word())
            || had.is_none_or(|had| had.product == layer.product && had.shade == layer.shade)
    };
    let found = pairs(old, &roles).into_iter().zip(&colour.layers);
    found.map(|(pair, layer)| pair.filter(|at| is_it(layer, *at))).collect()
}

#[cfg(test)]
mod tests;
