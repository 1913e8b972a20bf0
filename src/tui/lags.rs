//! What was learned of each scale's lag, kept from one start to the next. It is no part of the book: a forecast is
//! never recorded.

use crate::mix::Lag;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, Write as _};
use std::path::Path;
use std::sync::{Mutex, PoisonError};

/// How many scales are remembered: a port's name can differ each time it is plugged in.
const SCALES: usize = 32;
/// Held while the file is written.
static WRITING: Mutex<()> = Mutex::new(());
/// A file that is longer was not written here, in bytes.
const LONGEST: u64 = 64 * 1024;

/// The lag of each scale by its address.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Lags {
    by_scale: BTreeMap<String, Lag>,
}

impl Lags {
    /// What was learned of that scale; nothing yet where there is nothing.
    pub(super) fn of(&self, scale: &str) -> Lag {
        self.by_scale.get(scale).cloned().unwrap_or_default()
    }

    /// Keeps what was learned of it.
    pub(super) fn set(&mut self, scale: &str, lag: Lag) {
        if self.by_scale.len() >= SCALES && !self.by_scale.contains_key(scale) {
            self.by_scale.pop_first();
        }
        self.by_scale.insert(scale.to_owned(), lag);
    }

    /// Reads the file. One that is not there, or damaged, has nothing in it: it is all learned again.
    pub(super) fn read(path: &Path) -> Self {
        let read = || -> io::Result<Self> {
            if fs::metadata(path)?.len() > LONGEST {
                return Err(io::Error::from(io::ErrorKind::FileTooLarge));
            }
            Ok(serde_json::from_str(&fs::read_to_string(path)?)?)
        };
        read().unwrap_or_else(|error| {
            if error.kind() != io::ErrorKind::NotFound {
                tracing::warn!(%error, path = %path.display(), "what was learned of the scales cannot be read");
            }
            Self::default()
        })
    }

    /// Writes the file, for its owner alone. Whatever happens in between, there is the old one or the new.
    pub(super) fn write(&self, path: &Path) -> io::Result<()> {
        // Two pours may end sooner after each other than a slow disk has written.
        let _one_at_a_time = WRITING.lock().unwrap_or_else(PoisonError::into_inner);
        let folder = path.parent().ok_or(io::ErrorKind::InvalidInput)?;
        fs::create_dir_all(folder)?;
        let fresh = path.with_extension("new");
        let mut options = File::options();
        options.write(true).create(true).truncate(true);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        let mut file = options.open(&fresh)?;
        file.write_all(&serde_json::to_vec(self)?)?;
        file.sync_all()?;
        fs::rename(&fresh, path)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mix::Lesson;
    use crate::units::Grams;

    fn learned() -> Lag {
        let mut lag = Lag::default();
        let grams = |text: &str| Grams::parse(text).unwrap();
        let lesson = Lesson { flow: grams("10"), reading: grams("100"), landed: grams("112") };
        for _ in 0..6 {
            assert!(lag.learn(&lesson));
        }
        lag
    }

    #[test]
    fn kept_from_one_start_to_the_next_by_scale() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("pourbook").join("landing.json");
        assert_eq!(Lags::read(&path), Lags::default());
        let mut lags = Lags::default();
        lags.set("serial:one", learned());
        lags.write(&path).unwrap();
        lags.write(&path).unwrap();
        let again = Lags::read(&path);
        assert_eq!((again.of("serial:one").behind_ms(), again.of("serial:other").behind_ms()), (800, 350));
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt as _;
            assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
        }
        assert_eq!(fs::read_dir(path.parent().unwrap()).unwrap().count(), 1, "nothing else is left");
    }

    #[test]
    fn a_damaged_file_has_nothing_in_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("landing.json");
        let long = " ".repeat(70_000);
        for damaged in [&b"{\"serial:one\":[800"[..], b"[]", b"\xff", b"{\"a\":[-1]}", long.as_bytes()] {
            fs::write(&path, damaged).unwrap();
            assert_eq!(Lags::read(&path), Lags::default());
        }
    }

    #[test]
    fn no_more_scales_than_it_says() {
        let mut lags = Lags::default();
        for scale in 0..100 {
            lags.set(&format!("serial:{scale:03}"), learned());
        }
        assert_eq!(lags.by_scale.len(), SCALES);
        assert_eq!(lags.of("serial:099"), learned());
    }
}
