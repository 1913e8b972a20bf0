//! Which file a colour was read from, and which version of that file.

use sha2::{Digest as _, Sha256};
use std::fmt;

/// A version of a formula: the SHA-256 (FIPS 180-4) of its file's bytes. Shown as its first twelve hexadecimal digits.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct VersionId(String);

impl VersionId {
    /// How many digits are shown, and stand in the name of a kept version.
    pub const SHOWN: usize = 12;

    /// The version with those bytes.
    pub fn of(bytes: &[u8]) -> Self {
        let mut digits = String::new();
        for byte in Sha256::digest(bytes) {
            for half in [byte >> 4, byte & 0xf] {
                digits.extend(char::from_digit(u32::from(half), 16));
            }
        }
        Self(digits)
    }

    /// All sixty-four digits, as a mix keeps them.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The first twelve digits.
    pub fn short(&self) -> &str {
        self.0.get(..Self::SHOWN).unwrap_or(&self.0)
    }

    /// Whether somebody who writes `start` can mean this one: at least four of its first digits.
    pub fn starts_with(&self, start: &str) -> bool {
        let start = start.trim().to_ascii_lowercase();
        start.len() >= 4 && self.0.starts_with(&start)
    }
}

impl fmt::Display for VersionId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.short())
    }
}

/// The file a colour was read from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    /// Its name inside `colours/`, as `gannet-white.toml`.
    pub file: String,
    /// What stood in it then.
    pub version: VersionId,
}

impl Source {
    /// `path` may have folders before the file's name.
    pub fn of(path: &str, text: &str) -> Self {
        let file = path.rsplit('/').next().unwrap_or(path).to_owned();
        Self { file, version: VersionId::of(text.as_bytes()) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-2, appendix B.1: the digest of `abc`.
    #[test]
    fn a_version_is_the_digest_of_its_bytes() {
        let version = VersionId::of(b"abc");
        assert_eq!(version.as_str(), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
        assert_eq!(version.to_string(), "ba7816bf8f01");
        assert!(version.starts_with("BA78") && !version.starts_with("ba7") && !version.starts_with("ba79"));
        assert_eq!(Source::of("shop/colours/a.toml", "").file, "a.toml");
    }
}
