//! A shop's folder on the disk: the one place where the catalogue touches one.

use super::Catalogue;
use super::assemble::{Base, ShopFile, assemble, is_colour};
use super::problem::Problem;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// The largest file read. A shop of ten thousand toners is a tenth of it; what is larger is something else.
const MOST_BYTES: u64 = 16 * 1024 * 1024;

pub(super) fn load(shop: &Path) -> Catalogue {
    let label = shop.display().to_string();
    if let Some(problem) = missing(shop, &label) {
        return Catalogue { problems: vec![problem], ..Catalogue::default() };
    }
    let mut files = beside_the_colours(shop);
    let mut unlisted = None;
    match colours(shop) {
        Ok(found) => {
            files.extend(found.into_iter().map(|(path, file)| read(&file, path)));
        }
        Err(error) => unlisted = Some(unlistable(&label, &error)),
    }
    let mut catalogue = assemble(&label, files);
    catalogue.problems.extend(unlisted);
    catalogue
}

/// Why there is no such folder, if there is none.
pub(super) fn missing(shop: &Path, label: &str) -> Option<Problem> {
    let (what, hint) = match fs::metadata(shop) {
        Ok(metadata) if metadata.is_dir() => return None,
        Ok(_) => ("this is a file, not a folder".to_owned(), "Name the folder it is in."),
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            let hint = "Make it, or name the one that holds your toners.toml.";
            ("this folder is not there".to_owned(), hint)
        }
        Err(error) => (format!("this folder cannot be read: {error}"), "Check who may read it."),
    };
    Some(Problem::error(label, None, what).hint(hint))
}

/// The files beside the colours, as far as they are there.
pub(super) fn beside_the_colours(shop: &Path) -> Vec<ShopFile> {
    Base::FILES
        .into_iter()
        .filter(|path| !is_absent(&shop.join(path)))
        .map(|path| read(&shop.join(path), path.to_owned()))
        .collect()
}

/// The colours' files: the path inside the shop's folder, and the file itself. None of them is opened.
pub(super) fn colours(shop: &Path) -> io::Result<Vec<(String, PathBuf)>> {
    let folder = shop.join("colours");
    if is_absent(&folder) {
        return Ok(Vec::new());
    }
    let mut found = Vec::new();
    for entry in fs::read_dir(&folder)? {
        let entry = entry?;
        let path = format!("colours/{}", entry.file_name().to_string_lossy());
        if is_colour(&path) {
            found.push((path, entry.path()));
        }
    }
    Ok(found)
}

/// What there is to say where the colours' files cannot be listed.
pub(super) fn unlistable(label: &str, error: &io::Error) -> Problem {
    let colours = Path::new(label).join("colours");
    Problem::error(&colours.display().to_string(), None, format!("this folder cannot be read: {error}"))
        .hint("Check that it is a folder and who may read it.")
}

fn is_absent(path: &Path) -> bool {
    fs::symlink_metadata(path).is_err_and(|error| error.kind() == io::ErrorKind::NotFound)
}

/// The file's bytes or why they cannot be had.
pub(super) fn read(file: &Path, path: String) -> ShopFile {
    let metadata = match fs::metadata(file) {
        Ok(metadata) => metadata,
        Err(error) => return unreadable(path, &error),
    };
    // A pipe or a device of that name could keep the bench waiting for ever.
    if !metadata.is_file() {
        return ShopFile::unreadable(path, "this is not a file".to_owned(), "Move it out of the folder.");
    }
    if metadata.len() > MOST_BYTES {
        let why = format!("this file has {} bytes, more than the {MOST_BYTES} that are read", metadata.len());
        return ShopFile::unreadable(path, why, "Check that it is what its name says.");
    }
    match fs::read(file) {
        Ok(bytes) => ShopFile::read(path, bytes),
        Err(error) => unreadable(path, &error),
    }
}

fn unreadable(path: String, error: &io::Error) -> ShopFile {
    ShopFile::unreadable(path, format!("this file cannot be read: {error}"), "Check who may read it.")
}
