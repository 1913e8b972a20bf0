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
    let mut files: Vec<_> = ["toners.toml", "cups.toml"]
        .into_iter()
        .filter_map(|path| read(&shop.join(path), path.to_owned()))
        .collect();
    let mut problems = Vec::new();
    let colours = shop.join("colours");
    match fs::read_dir(&colours) {
        Ok(entries) => {
            for entry in entries.flatten() {
                let path = format!("colours/{}", entry.file_name().to_string_lossy());
                if is_colour(&path) {
                    files.extend(read(&entry.path(), path));
                }
            }
        }
        // said by what puts the shop together, which finds no colours
        Err(error) if error.kind() == io::ErrorKind::NotFound => {}
        Err(error) => {
            let what = format!("this folder cannot be read: {error}");
            problems.push(
                Problem::error(&colours.display().to_string(), None, what).hint("Check who may read it."),
            );
        }
    }
    let mut catalogue = assemble(&label, files);
    catalogue.problems.append(&mut problems);
    catalogue
}

/// The file's bytes or why they cannot be had; `None` if there is no such file.
fn read(file: &Path, path: String) -> Option<ShopFile> {
    let metadata = match fs::metadata(file) {
        Ok(metadata) => metadata,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return None,
        Err(error) => return Some(unreadable(path, &error)),
    };
    // A pipe or a device of that name could keep the bench waiting for ever.
    if !metadata.is_file() {
        return Some(ShopFile::unreadable(
            path,
            "this is not a file".to_owned(),
            "Move it out of the folder.",
        ));
    }
    if metadata.len() > MOST_BYTES {
        let why = format!("this file has {} bytes, more than the {MOST_BYTES} that are read", metadata.len());
        return Some(ShopFile::unreadable(path, why, "Check that it is what its name says."));
    }
    match fs::read(file) {
        Ok(bytes) => Some(ShopFile::read(path, bytes)),
        Err(error) => Some(unreadable(path, &error)),
    }
}

fn unreadable(path: String, error: &io::Error) -> ShopFile {
    ShopFile::unreadable(path, format!("this file cannot be read: {error}"), "Check who may read it.")
}

fn without(shop: &str, what: &str, hint: &str) -> Catalogue {
    Catalogue { problems: vec![Problem::error(shop, None, what).hint(hint)], ..Catalogue::default() }
}
