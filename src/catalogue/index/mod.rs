//! The index of a shop's colours: what the program needs of every colour to open and to find, kept in one file of
//! the user's cache folder, so that not every colour's file is read at every start.
//!
//! The index is a copy and never the truth. What is wrong with it makes it be made anew in silence; a formula is read
//! from its own file when it is picked ([`ShopIndex::colour`]), and [`Looker::look`] goes through the folder and reads
//! what has changed. What comes out of a look is what reading every file would have given.
//!
//! A file has changed when its [`Key`] has. `toners.toml` counts too, and `products.toml` in the same way: where a toner's code has gone, every
//! colour is read again, as any of them may have named it; where the file changed otherwise, those colours that have
//! something wrong with them, as a toner that was missing may be there now. A colour that nothing is wrong with stays
//! right when toners are added.

mod key;
mod look;
mod records;
mod stored;

pub use look::{Looker, Looking, Seen};

use key::Key;

use super::assemble::{Base, ReadFile, read_colour};
use super::folder;
use super::{Catalogue, Colour, Listing, Problem, Severity};
use sha2::{Digest as _, Sha256};
use std::fs::{self, DirBuilder, OpenOptions};
use std::io::{self, Write as _};
use std::os::unix::ffi::OsStrExt as _;
use std::os::unix::fs::{DirBuilderExt as _, OpenOptionsExt as _};
use std::path::{Path, PathBuf};
use thiserror::Error;

/// A shop's folder and its index.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShopIndex {
    shop: PathBuf,
    /// The folder as problems show it.
    label: String,
    /// The index's own file; none if there is no place for one.
    file: Option<PathBuf>,
}

/// What the index says of a shop.
#[derive(Clone, Debug)]
pub struct AtOnce {
    /// The shop without its colours: toners, cups and scale as they are now, and the problems as far as is known.
    pub catalogue: Catalogue,
    /// The colours as they were when the index was written.
    pub listing: Listing,
    /// Sees what has changed since.
    pub looker: Looker,
}

/// A colour as its file has it now.
#[derive(Clone, Debug)]
pub struct Fresh {
    /// The colour.
    pub colour: Colour,
    /// The shop's toners as they are now; every part of the colour names one of them.
    pub toners: Vec<super::Toner>,
}

/// Why a colour could not be read from its file.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum FreshError {
    /// There is no such file any more.
    #[error("{file} is not there any more: the colour was taken away or its file has another name")]
    Gone {
        /// Its name, from the shop's folder on.
        file: String,
    },
    /// It is there, but cannot be used.
    #[error("{at}: {why}")]
    Wrong {
        /// Where.
        at: String,
        /// What is wrong and what to do, in a sentence.
        why: String,
    },
}

impl ShopIndex {
    /// The index of that shop, in a file of its own in `cache`, which need not be there yet; without one nothing is
    /// kept.
    pub fn new(shop: &Path, cache: Option<&Path>) -> Self {
        let label = shop.display().to_string();
        // One folder has one index, however it was named.
        let shop = fs::canonicalize(shop).unwrap_or_else(|_| shop.to_owned());
        let file = cache.map(|folder| folder.join(name_of(&shop)));
        Self { shop, label, file }
    }

    /// The index's own file.
    pub fn file(&self) -> Option<&Path> {
        self.file.as_deref()
    }

    /// The shop as the index has it; none if there is no index that can be used. Opens none of the colours' files and
    /// looks at none of them.
    pub fn open(&self) -> Option<AtOnce> {
        folder::missing(&self.shop, &self.label).is_none().then_some(())?;
        let bytes = fs::read(self.file.as_ref()?).ok()?;
        let (first, rest) = stored::read(&bytes, &self.shop)?;
        let base = self.base();
        let mut listing = first.listing;
        let mut problems: Vec<Problem> = first.problems.into_iter().map(Into::into).collect();
        if let Some(problem) = base.without_toners(&self.label, listing.len()) {
            problems.push(problem);
            listing = Listing::default();
        }
        let looker = Looker::knowing(self.clone(), rest.to_vec(), base.clone());
        Some(AtOnce { catalogue: catalogue(base, problems), listing, looker })
    }

    /// The shop without its colours, as the files beside them are now.
    pub fn without_colours(&self) -> Catalogue {
        catalogue(self.base(), Vec::new())
    }

    /// Looks through the folder without knowing anything of it yet.
    pub fn looker(&self) -> Looker {
        Looker::new(self.clone())
    }

    /// The colour in that file of `colours/`, and the toners, as the files have them now.
    pub fn colour(&self, file: &str) -> Result<Fresh, FreshError> {
        let path = format!("colours/{file}");
        let gone = || FreshError::Gone { file: path.clone() };
        // Names that are not UTF-8 are listed with what can be shown of them.
        let is_there = |path: &Path| fs::symlink_metadata(path).is_ok();
        let on_disk = Some(self.shop.join("colours").join(file)).filter(|path| is_there(path));
        let on_disk = on_disk.or_else(|| {
            let all = folder::colours(&self.shop).ok()?;
            all.into_iter().find(|(name, _)| *name == path).map(|(_, path)| path)
        });
        let on_disk = on_disk.ok_or_else(gone)?;
        let base = self.base();
        let read = read_colour("", &folder::read(&on_disk, path.clone()), &base.known());
        let ReadFile { colour: Some((colour, _)), .. } = read else {
            let first = read.problems.iter().find(|problem| problem.severity == Severity::Error);
            return Err(match first {
                Some(problem) => FreshError::Wrong { at: problem.location(), why: problem.sentence() },
                None => gone(),
            });
        };
        if !base.complete {
            let why =
                "this file cannot be read, and without toners no colour can be used. Put it right first.";
            return Err(FreshError::Wrong { at: "toners.toml".to_owned(), why: why.to_owned() });
        }
        Ok(Fresh { colour, toners: base.toners })
    }

    /// The files beside the colours, as they are now.
    fn base(&self) -> Base {
        Base::read(&self.label, &folder::beside_the_colours(&self.shop))
    }

    /// Writes the index. It appears as a whole or not at all, for its owner alone.
    fn keep(&self, bytes: &[u8]) -> io::Result<()> {
        let Some(file) = &self.file else { return Ok(()) };
        if let Some(folder) = file.parent() {
            DirBuilder::new().recursive(true).mode(0o700).create(folder)?;
        }
        let new = file.with_extension(format!("new-{}", std::process::id()));
        // Left by a program of the same number that was cut off.
        drop(fs::remove_file(&new));
        let written = OpenOptions::new()
            .write(true)
            .create_new(true)
            .mode(0o600)
            .open(&new)
            .and_then(|mut to| to.write_all(bytes))
            .and_then(|()| fs::rename(&new, file));
        if written.is_err() {
            drop(fs::remove_file(&new));
        }
        written
    }
}

/// A shop without its colours.
fn catalogue(base: Base, colours: Vec<Problem>) -> Catalogue {
    let Base { toners, cups, scale, products, panels, mut problems, .. } = base;
    problems.extend(colours);
    let colours = Vec::new();
    Catalogue { toners, cups, colours, scale, products, panels, usual_tolerance: None, problems }
}

/// The name of the index of the shop in that folder: the first half of the SHA-256 of its path.
fn name_of(shop: &Path) -> String {
    let digest = Sha256::digest(shop.as_os_str().as_bytes());
    let digits = digest.iter().take(16).flat_map(|byte| [byte >> 4, byte & 0xf]);
    let name: String = digits.filter_map(|digit| char::from_digit(u32::from(digit), 16)).collect();
    format!("{name}.index")
}
