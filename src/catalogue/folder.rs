//! A shop's folder on the disk: the one place where the catalogue touches one.

use super::Catalogue;
use super::assemble::{ShopFile, assemble, is_colour};
use super::problem::Problem;
use std::fs;
use std::io;
use std::path::Path;

/// The largest file read. A shop of ten thousand toners is a tenth of it; what is larger is something else.
const MOST_BYTES: u64 = 16 * 1024 * 1024;

pub(super) fn load(shop: &Path) -> Catalogue {
    let label = shop.display().to_string();
    match fs::metadata(shop) {
        Ok(metadata) if metadata.is_dir() => {}
        Ok(_) => return without(&label, "this is a file, not a folder", "Name the folder it is in."),
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            return without(
                &label,
                "this folder is not there",
                "Make it, or name the one that holds your toners.toml.",
            );
        }
        Err(error) => {
            return without(
                &label,
                &format!("this folder cannot be read: {error}"),
                "Check who may read it.",
            );
        }
    }
    let absent =
        |path: &Path| fs::symlink_metadata(path).is_err_and(|error| error.kind() == io::ErrorKind::NotFound);
    let mut files: Vec<_> = ["toners.toml", "cups.toml", "scale.toml"]
        .into_iter()
        .filter(|path| !absent(&shop.join(path)))
        .map(|path| read(&shop.join(path), path.to_owned()))
        .collect();
    let mut unlisted = None;
    let colours = shop.join("colours");
    if !absent(&colours) {
        match fs::read_dir(&colours).and_then(Iterator::collect::<io::Result<Vec<_>>>) {
            Ok(entries) => {
                for entry in entries {
                    let path = format!("colours/{}", entry.file_name().to_string_lossy());
                    if is_colour(&path) {
                        files.push(read(&entry.path(), path));
                    }
                }
            }
            Err(error) => {
                let what = format!("this folder cannot be read: {error}");
                let problem = Problem::error(&colours.display().to_string(), None, what);
                unlisted = Some(problem.hint("Check that it is a folder and who may read it."));
            }
        }
    }
    let mut catalogue = assemble(&label, files);
    catalogue.problems.extend(unlisted);
    catalogue
}

/// The file's bytes or why they cannot be had.
fn read(file: &Path, path: String) -> ShopFile {
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

fn without(shop: &str, what: &str, hint: &str) -> Catalogue {
    Catalogue { problems: vec![Problem::error(shop, None, what).hint(hint)], ..Catalogue::default() }
}
