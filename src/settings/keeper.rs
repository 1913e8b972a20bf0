//! The settings file on the disk.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why the settings cannot be read or written.
#[derive(Debug, Error)]
#[error("the settings in {path} cannot be {what}: {why}. Check who may {may} it")]
pub struct KeepError {
    path: PathBuf,
    what: &'static str,
    may: &'static str,
    why: io::Error,
}

/// The file's text; none if there is no such file.
pub fn read(path: &Path) -> Result<Option<String>, KeepError> {
    match fs::read(path) {
        Ok(bytes) => Ok(Some(String::from_utf8_lossy(&bytes).into_owned())),
        Err(why) if why.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(why) => Err(KeepError { path: path.to_owned(), what: "read", may: "read", why }),
    }
}

/// Puts the text in place of the file: whole or not at all. The folder is made if it is not there.
pub fn write(path: &Path, text: &str) -> Result<(), KeepError> {
    let put = || -> io::Result<()> {
        // A link stays one: what it points at is written.
        let path = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        fs::create_dir_all(folder)?;
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let beside = folder.join(format!(".{name}.{}", std::process::id()));
        let written = fs::File::create(&beside).and_then(|mut file| {
            file.write_all(text.as_bytes())?;
            file.sync_all()
        });
        let put = written.and_then(|()| fs::rename(&beside, &path));
        if put.is_err() {
            let _ = fs::remove_file(&beside);
        }
        put?;
        fs::File::open(folder)?.sync_all()
    };
    put().map_err(|why| KeepError { path: path.to_owned(), what: "written", may: "write", why })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn written_whole_and_read_back() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("deep/settings.toml");
        assert_eq!(read(&path).unwrap(), None);
        write(&path, "painter = \"Robin\"\n").unwrap();
        write(&path, "painter = \"Kim\"\n").unwrap();
        assert_eq!(read(&path).unwrap().as_deref(), Some("painter = \"Kim\"\n"));
        assert_eq!(fs::read_dir(path.parent().unwrap()).unwrap().count(), 1, "nothing is left beside it");
        let into_a_file = path.join("settings.toml");
        let said = write(&into_a_file, "").unwrap_err().to_string();
        assert!(said.contains("cannot be written"), "{said}");
    }
}
