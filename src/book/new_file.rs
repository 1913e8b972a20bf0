//! A file that is whole or not there: written under another name beside its place, and put there at the end.

use super::lock;
use std::ffi::OsString;
use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

/// A file that is being written, for its owner alone. Dropped before it is kept, it leaves nothing behind.
#[derive(Debug)]
pub struct NewFile {
    target: PathBuf,
    part: PathBuf,
    file: File,
}

/// What SQLite may put beside a file it writes in.
const BESIDE: [&str; 4] = ["", "-journal", "-wal", "-shm"];

impl NewFile {
    /// Begins it.
    ///
    /// # Errors
    /// There is something in its place already (`AlreadyExists`), or its folder does not take a file.
    pub fn create(target: &Path) -> io::Result<Self> {
        if target.symlink_metadata().is_ok() {
            return Err(ErrorKind::AlreadyExists.into());
        }
        let mut last = io::Error::from(ErrorKind::AlreadyExists);
        // One that a power cut left is not in the way of the next.
        for count in 0..100 {
            let part = with_suffix(target, &format!(".{}-{count}.part", std::process::id()));
            match lock::private(OpenOptions::new().read(true).write(true).create_new(true)).open(&part) {
                Ok(file) => return Ok(Self { target: target.to_owned(), part, file }),
                Err(error) if error.kind() == ErrorKind::AlreadyExists => last = error,
                Err(error) => return Err(error),
            }
        }
        Err(last)
    }

    /// The file to write in.
    pub const fn file(&self) -> &File {
        &self.file
    }

    /// What it is called until it is kept.
    pub fn path(&self) -> &Path {
        &self.part
    }

    /// Puts it in its place, on disk with its name. What came to be there meanwhile is left alone.
    ///
    /// # Errors
    /// Something is in its place by now (`AlreadyExists`), or the disk failed; nothing is left behind.
    pub fn keep(self) -> io::Result<()> {
        self.file.sync_all()?;
        match fs::hard_link(&self.part, &self.target) {
            Ok(()) => fs::remove_file(&self.part)?,
            Err(error) if error.kind() == ErrorKind::AlreadyExists => return Err(error),
            // A disk that knows no second names, as those of cameras and memory sticks.
            Err(_) if self.target.symlink_metadata().is_ok() => return Err(ErrorKind::AlreadyExists.into()),
            Err(_) => fs::rename(&self.part, &self.target)?,
        }
        // The file is only there after a power cut if its folder says so.
        #[cfg(unix)]
        File::open(folder_of(&self.target))?.sync_all()?;
        Ok(())
    }
}

impl Drop for NewFile {
    fn drop(&mut self) {
        for suffix in BESIDE {
            // Once it is kept there is nothing under this name.
            let _ = fs::remove_file(with_suffix(&self.part, suffix));
        }
    }
}

/// The folder a file is in.
pub(super) fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// A file beside another.
fn with_suffix(path: &Path, suffix: &str) -> PathBuf {
    let mut name: OsString = path.as_os_str().to_owned();
    name.push(suffix);
    PathBuf::from(name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write as _;

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn it_is_there_once_it_is_kept_and_leaves_nothing_otherwise() {
        let folder = tempfile::tempdir().unwrap();
        let target = folder.path().join("a");
        let new = NewFile::create(&target).unwrap();
        new.file().write_all(b"half").unwrap();
        assert!(!target.exists());
        fs::write(with_suffix(new.path(), "-wal"), "x").unwrap();
        drop(new);
        assert_eq!(names(folder.path()), [""; 0]);
        let new = NewFile::create(&target).unwrap();
        new.file().write_all(b"whole").unwrap();
        new.keep().unwrap();
        assert_eq!(
            (names(folder.path()), fs::read(&target).unwrap()),
            (vec!["a".to_owned()], b"whole".to_vec())
        );
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            assert_eq!(fs::metadata(&target).unwrap().permissions().mode() & 0o777, 0o600);
        }
    }

    #[test]
    fn what_is_there_is_never_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let target = folder.path().join("a");
        // One that comes into its place while it is being written.
        let new = NewFile::create(&target).unwrap();
        fs::write(&target, "mine").unwrap();
        assert_eq!(new.keep().unwrap_err().kind(), ErrorKind::AlreadyExists);
        assert_eq!(NewFile::create(&target).unwrap_err().kind(), ErrorKind::AlreadyExists);
        assert_eq!(
            (names(folder.path()), fs::read(&target).unwrap()),
            (vec!["a".to_owned()], b"mine".to_vec())
        );
    }
}
