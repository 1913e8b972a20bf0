//! A shop's formulas on the disk: read, written, and every version of them kept.
//!
//! Versions lie in `versions/NAME/TIME-ID.toml` inside the shop's folder, beside `colours/`, where nothing reads them
//! as colours. A version is on disk before the one after it takes its place. Only this and `folder` touch a disk.

mod disk;

use super::assemble::is_colour;
use super::code::same;
use super::{Colour, VersionId, colour_file, file_name, fresh};
use crate::units::Stamp;
use disk::{kept_beside, make_folder, read_text, replace, whole_new};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// A shop's folder, for what is written in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FormulaFolder {
    shop: PathBuf,
}

/// A formula's file as it stood when it was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FormulaFile {
    /// Its name inside `colours/`.
    pub name: String,
    /// What stood in it.
    pub text: String,
    /// Which version that is.
    pub version: VersionId,
}

/// A version that is kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kept {
    /// When it was put aside, in UTC: `2026-11-25T22:40:00Z`.
    pub at: String,
    /// Which version it is.
    pub version: VersionId,
    /// What stands in it.
    pub text: String,
}

/// Why a formula could not be read or written.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum FolderError {
    /// The file is not what it was.
    #[error(
        "{0} was changed by somebody else since it was read, and was left as it is now: look at it again, and make your change there"
    )]
    Changed(PathBuf),
    /// There is one already.
    #[error("{0} is there already, and was left as it is: choose another name")]
    There(PathBuf),
    /// A name that would lead out of the folder, or is no colour's.
    #[error("'{0}' is not the name of a colour's file")]
    Name(String),
    /// No such formula.
    #[error(
        "no file in {folder} holds the colour {code} with the variant {variant}: look whether it was moved"
    )]
    NoFile {
        /// Where was looked.
        folder: PathBuf,
        /// What for.
        code: String,
        /// What for.
        variant: String,
    },
    /// The system refuses.
    #[error("{path} cannot be {done}: {error}; check who may write there, and whether the disk is full")]
    System {
        /// Which file or folder.
        path: PathBuf,
        /// `read`, `written`.
        done: &'static str,
        /// Why.
        error: io::Error,
    },
}

impl FormulaFolder {
    /// The shop in that folder. Nothing is read or made yet.
    pub fn of(shop: impl Into<PathBuf>) -> Self {
        Self { shop: shop.into() }
    }

    /// The shop's own folder.
    pub fn folder(&self) -> &Path {
        &self.shop
    }

    /// Where the colours are.
    pub fn colours(&self) -> PathBuf {
        self.shop.join("colours")
    }

    /// Reads a colour's file by its name.
    ///
    /// # Errors
    /// It cannot be read, or the name is no colour's.
    pub fn read(&self, name: &str) -> Result<FormulaFile, FolderError> {
        let text = read_text(&self.path(name)?)?;
        Ok(FormulaFile { name: name.to_owned(), version: VersionId::of(text.as_bytes()), text })
    }

    /// The file of a colour: the one it was read from if that still holds it, else whichever does.
    ///
    /// # Errors
    /// No file holds it, or the folder cannot be read.
    pub fn find(&self, colour: &Colour) -> Result<FormulaFile, FolderError> {
        let holds = |file: &FormulaFile| {
            colour_file::read_alone(&file.text).is_some_and(|found| {
                same(found.code.as_str(), colour.code.as_str()) && same(&found.variant, &colour.variant)
            })
        };
        let first = colour.source.as_ref().and_then(|source| self.read(&source.file).ok());
        if let Some(file) = first.filter(holds) {
            return Ok(file);
        }
        let files = self.names()?.into_iter().filter_map(|name| self.read(&name).ok());
        files.into_iter().find(holds).ok_or_else(|| FolderError::NoFile {
            folder: self.colours(),
            code: colour.code.to_string(),
            variant: colour.variant.clone(),
        })
    }

    /// Writes a new colour; the name its file got.
    ///
    /// # Errors
    /// It cannot be written. No file that is there is ever written over.
    pub fn add(&self, colour: &Colour) -> Result<FormulaFile, FolderError> {
        self.add_text(colour, fresh(colour))
    }

    /// As [`Self::add`], with the text that somebody else wrote of that colour.
    ///
    /// # Errors
    /// As [`Self::add`].
    pub fn add_text(&self, colour: &Colour, text: String) -> Result<FormulaFile, FolderError> {
        make_folder(&self.colours())?;
        let mut taken = self.names()?;
        loop {
            let name = file_name(colour, |name| taken.iter().any(|other| same(other, name)));
            match whole_new(&self.path(&name)?, text.as_bytes()) {
                // Somebody else was quicker.
                Err(FolderError::There(_)) => taken.push(name),
                Err(error) => return Err(error),
                Ok(()) => return Ok(FormulaFile { name, version: VersionId::of(text.as_bytes()), text }),
            }
        }
    }

    /// Writes `text` in place of what was read as `before`, which is kept first.
    ///
    /// # Errors
    /// The file is no longer as it was read, the version cannot be kept, or the new one cannot be written. In each
    /// case the file is as it was.
    pub fn change(&self, before: &FormulaFile, text: &str, at: Stamp) -> Result<FormulaFile, FolderError> {
        let path = self.path(&before.name)?;
        self.keep(&before.name, &before.version, at)?;
        let version = VersionId::of(text.as_bytes());
        if version != before.version {
            replace(&path, &before.version, text.as_bytes())?;
        }
        Ok(FormulaFile { name: before.name.clone(), text: text.to_owned(), version })
    }

    /// Keeps the version of that file if it is not kept yet; whether it had to be.
    ///
    /// # Errors
    /// It is not kept, and the file holds another by now; or it cannot be written.
    pub fn keep(&self, name: &str, version: &VersionId, at: Stamp) -> Result<bool, FolderError> {
        if self.versions(name)?.iter().any(|kept| kept.version == *version) {
            return Ok(false);
        }
        let file = self.read(name)?;
        if file.version != *version {
            return Err(FolderError::Changed(self.path(name)?));
        }
        let folder = self.kept_in(name)?;
        make_folder(&folder)?;
        kept_beside(&folder, &time(at), &file)?;
        Ok(true)
    }

    /// The versions kept of that file, the oldest first. What is damaged, so that its name no longer tells what is in
    /// it, is not one.
    ///
    /// # Errors
    /// The folder is there but cannot be read.
    pub fn versions(&self, name: &str) -> Result<Vec<Kept>, FolderError> {
        let folder = self.kept_in(name)?;
        let mut kept: Vec<_> = listed(&folder)?
            .into_iter()
            .filter_map(|name| {
                let (at, start) = name.strip_suffix(".toml")?.split_once('-')?;
                let text = read_text(&folder.join(&name)).ok()?;
                let version = VersionId::of(text.as_bytes());
                (version.short() == start).then(|| Kept { at: readable(at), version, text })
            })
            .collect();
        kept.sort_by(|a, b| (&a.at, &a.version).cmp(&(&b.at, &b.version)));
        Ok(kept)
    }

    /// The names of the colours' files, in order. No folder has none.
    fn names(&self) -> Result<Vec<String>, FolderError> {
        let mut names = listed(&self.colours())?;
        names.retain(|name| is_colour(&format!("colours/{name}")));
        names.sort_unstable();
        Ok(names)
    }

    fn path(&self, name: &str) -> Result<PathBuf, FolderError> {
        if is_colour(&format!("colours/{name}")) && !name.contains('\\') {
            Ok(self.colours().join(name))
        } else {
            Err(FolderError::Name(crate::units::clean(name)))
        }
    }

    fn kept_in(&self, name: &str) -> Result<PathBuf, FolderError> {
        self.path(name)?;
        let stem = name.get(..name.len().saturating_sub(".toml".len())).unwrap_or(name);
        Ok(self.shop.join("versions").join(stem))
    }
}

/// What is in a folder; nothing where there is none.
fn listed(folder: &Path) -> Result<Vec<String>, FolderError> {
    let unreadable = |error| FolderError::System { path: folder.to_owned(), done: "read", error };
    match fs::read_dir(folder) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(Vec::new()),
        Err(error) => Err(unreadable(error)),
        Ok(entries) => entries
            .map(|entry| Ok(entry.map_err(unreadable)?.file_name().to_string_lossy().into_owned()))
            .collect(),
    }
}

/// A moment in UTC in the basic form of ISO 8601, which every disk takes as a name: `20261125T224000Z`.
fn time(at: Stamp) -> String {
    jiff::Timestamp::from_microsecond(at.0)
        .map_or_else(|_| "00010101T000000Z".to_owned(), |at| at.strftime("%Y%m%dT%H%M%SZ").to_string())
}

/// The same in the extended form; as it is if it is none.
fn readable(time: &str) -> String {
    let read = jiff::civil::DateTime::strptime("%Y%m%dT%H%M%SZ", time);
    read.map_or_else(|_| time.to_owned(), |at| at.strftime("%Y-%m-%dT%H:%M:%SZ").to_string())
}

#[cfg(test)]
mod tests;
