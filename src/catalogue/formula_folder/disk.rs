//! Files written so that at every moment the old or the new is there as a whole, and on the disk when it is said so.

use super::{FolderError, FormulaFile};
use crate::catalogue::VersionId;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

/// The largest file read, as in `folder`.
const MOST_BYTES: u64 = 16 * 1024 * 1024;

fn refused(path: &Path, done: &'static str) -> impl FnOnce(io::Error) -> FolderError {
    let path = path.to_owned();
    move |error| FolderError::System { path, done, error }
}

/// The text of a file, no larger than any formula.
pub(super) fn read_text(path: &Path) -> Result<String, FolderError> {
    let metadata = fs::metadata(path).map_err(refused(path, "read"))?;
    if !metadata.is_file() || metadata.len() > MOST_BYTES {
        let error = io::Error::new(io::ErrorKind::InvalidData, "it is no file of a formula");
        return Err(FolderError::System { path: path.to_owned(), done: "read", error });
    }
    fs::read_to_string(path).map_err(refused(path, "read"))
}

/// A folder and those above it.
pub(super) fn make_folder(folder: &Path) -> Result<(), FolderError> {
    fs::create_dir_all(folder).map_err(refused(folder, "made"))
}

/// A file that was not there. What is there is never written over.
pub(super) fn whole_new(path: &Path, bytes: &[u8]) -> Result<(), FolderError> {
    let folder = path.parent().unwrap_or(Path::new("."));
    let temporary = written_beside(path, bytes)?;
    // A second name for the same bytes: unlike a renaming it fails where something has that name.
    let linked = fs::hard_link(&temporary, path);
    let named = match linked {
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
            Err(FolderError::There(path.to_owned()))
        }
        // A disk without second names, such as a stick.
        Err(_) if fs::symlink_metadata(path).is_err() => {
            fs::rename(&temporary, path).map_err(refused(path, "written"))
        }
        other => other.map_err(refused(path, "written")),
    };
    drop(fs::remove_file(&temporary));
    named?;
    sync_folder(folder)
}

/// Another text in a file that still holds `before`.
pub(super) fn replace(path: &Path, before: &VersionId, bytes: &[u8]) -> Result<(), FolderError> {
    // Where the name is a link, what it leads to is the file.
    let path = &fs::canonicalize(path).map_err(refused(path, "read"))?;
    let temporary = written_beside(path, bytes)?;
    let renamed = (|| {
        let metadata = fs::metadata(path).map_err(refused(path, "read"))?;
        if metadata.permissions().readonly() {
            let error = io::Error::new(io::ErrorKind::PermissionDenied, "it is set to read only");
            return Err(FolderError::System { path: path.clone(), done: "written", error });
        }
        fs::set_permissions(&temporary, metadata.permissions()).map_err(refused(&temporary, "written"))?;
        // As late as can be: whoever writes between this and the next line is lost.
        if VersionId::of(read_text(path)?.as_bytes()) != *before {
            return Err(FolderError::Changed(path.clone()));
        }
        fs::rename(&temporary, path).map_err(refused(path, "written"))
    })();
    if renamed.is_err() {
        drop(fs::remove_file(&temporary));
    }
    renamed?;
    sync_folder(path.parent().unwrap_or(Path::new(".")))
}

/// A version among those kept.
pub(super) fn kept_beside(folder: &Path, time: &str, file: &FormulaFile) -> Result<(), FolderError> {
    let path = folder.join(format!("{time}-{}.toml", file.version.short()));
    match whole_new(&path, file.text.as_bytes()) {
        // Another one kept the same at the same time.
        Err(FolderError::There(_)) if read_text(&path).is_ok_and(|text| text == file.text) => Ok(()),
        other => other,
    }
}

/// The bytes, on the disk, in a hidden file of their own beside `path`. Hidden files are never read as colours.
fn written_beside(path: &Path, bytes: &[u8]) -> Result<PathBuf, FolderError> {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let temporary = path.with_file_name(format!(".{name}.{}.new", uuid::Uuid::now_v7().simple()));
    let written = (|| {
        let mut file = OpenOptions::new().write(true).create_new(true).open(&temporary)?;
        file.write_all(bytes)?;
        file.sync_all()
    })();
    if let Err(error) = written {
        drop(fs::remove_file(&temporary));
        return Err(refused(path, "written")(error));
    }
    Ok(temporary)
}

/// A new name is on the disk only once its folder is.
fn sync_folder(folder: &Path) -> Result<(), FolderError> {
    File::open(folder).and_then(|folder| folder.sync_all()).map_err(refused(folder, "written"))
}
