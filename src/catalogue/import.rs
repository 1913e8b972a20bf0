//! Formulas from elsewhere, looked at before anything is written: what would be added, what changed, what is the same,
//! and everything that cannot be read.

mod columns;
mod folder;
mod sheet;
mod table;

pub use columns::{Column, Columns, Meaning};
pub use folder::from_folder;
pub use sheet::{Sheet, SheetRow};
pub use table::{Options, from_csv};

use super::{Catalogue, Colour, FolderError, FormulaFile, FormulaFolder, Unwritable, edited};
use crate::units::Stamp;
use std::fmt;
use thiserror::Error;

/// What an import would do.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Preview {
    /// The table and what its columns were taken for; none for a folder.
    pub table: Option<(Sheet, Columns)>,
    /// Whether the parts were read as running totals.
    pub cumulative: bool,
    /// The colours that can be read.
    pub entries: Vec<Entry>,
    /// Everything that cannot, and what to do about it. Nothing is written while there is any, unless the rest is
    /// asked for.
    pub wrong: Vec<Wrong>,
    /// What is worth a look.
    pub notes: Vec<String>,
}

/// One colour of an import.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// As it will be.
    pub colour: Colour,
    /// The text of its file, where it brings one along.
    pub text: Option<String>,
    /// What happens to it.
    pub outcome: Outcome,
}

/// What an import makes of a colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Outcome {
    /// The shop does not have it.
    Added,
    /// The shop has it otherwise: a new version, and the old one is kept.
    Changed,
    /// The shop has it just so: left as it is.
    Same,
}

/// Something that cannot be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wrong {
    /// Where: `line 7, column 3 (toner)`, or a file with its line and column.
    pub at: String,
    /// The line in a table.
    pub line: Option<u64>,
    /// What is wrong and what to do: sentences.
    pub says: String,
}

impl fmt::Display for Wrong {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.at, self.says)
    }
}

/// Why one colour could not be written.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ImportError {
    /// The disk.
    #[error(transparent)]
    Folder(#[from] FolderError),
    /// Its text.
    #[error(transparent)]
    Text(#[from] Unwritable),
}

impl Preview {
    /// How many colours have that outcome.
    pub fn count(&self, outcome: Outcome) -> usize {
        self.entries.iter().filter(|entry| entry.outcome == outcome).count()
    }
}

impl Entry {
    /// With its outcome in that shop.
    fn of(catalogue: &Catalogue, colour: Colour, text: Option<String>) -> Self {
        let has = catalogue.colour_variant(colour.code.as_str(), &colour.variant);
        // A table has no word for products and shades: what the shop has of them stays.
        let colour = match has {
            Some(has) if text.is_none() => colour.with_papers_of(has),
            _ => colour,
        };
        let outcome = match has {
            None => Outcome::Added,
            Some(has) if has.says_the_same(&colour) => Outcome::Same,
            Some(_) => Outcome::Changed,
        };
        Self { colour, text, outcome }
    }

    /// Writes it, the old version kept first; none where it is the same.
    ///
    /// # Errors
    /// It cannot be written; what was there is as it was.
    pub fn write(&self, shop: &FormulaFolder, at: Stamp) -> Result<Option<FormulaFile>, ImportError> {
        Ok(match (self.outcome, &self.text) {
            (Outcome::Same, _) => None,
            (Outcome::Added, None) => Some(shop.add(&self.colour)?),
            (Outcome::Added, Some(text)) => Some(shop.add_text(&self.colour, text.clone())?),
            (Outcome::Changed, text) => {
                let before = shop.find(&self.colour)?;
                let text = text.clone().map_or_else(|| edited(&before.text, &self.colour), Ok)?;
                Some(shop.change(&before, &text, at)?)
            }
        })
    }
}

#[cfg(test)]
mod tests;
