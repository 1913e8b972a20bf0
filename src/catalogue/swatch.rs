//! A colour for the screen: enough to tell two toners apart, never to judge a match by.

use serde::{Deserialize, Serialize};
use std::fmt;

/// Red, green and blue of an sRGB colour. Written, and serialised, as `#f2f1ec`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Swatch {
    /// Red.
    pub red: u8,
    /// Green.
    pub green: u8,
    /// Blue.
    pub blue: u8,
}

impl Swatch {
    /// Reads `#` and six hexadecimal digits.
    pub fn parse(text: &str) -> Option<Self> {
        let digits = text.trim().strip_prefix('#')?;
        // from_str_radix alone would also take a sign
        if digits.len() != 6 || !digits.bytes().all(|byte| byte.is_ascii_hexdigit()) {
            return None;
        }
        let [_, red, green, blue] = u32::from_str_radix(digits, 16).ok()?.to_be_bytes();
        Some(Self { red, green, blue })
    }
}

impl TryFrom<String> for Swatch {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        Self::parse(&text).ok_or_else(|| format!("'{text}' is not a swatch like #f2f1ec"))
    }
}

impl From<Swatch> for String {
    fn from(swatch: Swatch) -> Self {
        swatch.to_string()
    }
}

impl fmt::Display for Swatch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("#{:02x}{:02x}{:02x}", self.red, self.green, self.blue))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_six_digits_and_nothing_else() {
        let swatch = Swatch::parse("#F2f1eC").unwrap();
        assert_eq!((swatch.red, swatch.green, swatch.blue), (0xf2, 0xf1, 0xec));
        assert_eq!(swatch.to_string(), "#f2f1ec");
        for text in ["f2f1ec", "#fff", "#f2f1ecf", "#+2f1ec", "#g2f1ec", "#ééé", "", "#"] {
            assert_eq!(Swatch::parse(text), None, "{text}");
        }
    }

    #[test]
    fn goes_through_json_as_text() {
        let swatch = Swatch { red: 1, green: 2, blue: 255 };
        let json = serde_json::to_string(&swatch).unwrap();
        assert_eq!(json, "\"#0102ff\"");
        assert_eq!(serde_json::from_str::<Swatch>(&json).unwrap(), swatch);
        assert!(serde_json::from_str::<Swatch>("\"red\"").is_err());
    }
}
