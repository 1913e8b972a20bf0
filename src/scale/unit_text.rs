//! The letters of a unit as a scale sent them, held without a detour to the heap: one comes with every reading.

use std::fmt;
use std::ops::Deref;

/// The most letters that are kept: the longest unit of any format has five.
const MOST: usize = 7;

/// A unit's letters, printable ASCII, at most seven.
#[derive(Clone, Copy, Default, PartialEq, Eq, Hash)]
pub struct UnitText {
    letters: [u8; MOST],
    length: u8,
}

impl UnitText {
    /// No letters.
    pub const EMPTY: Self = Self { letters: [0; MOST], length: 0 };

    /// The printable letters among those bytes, as many as are kept.
    pub fn new(bytes: &[u8]) -> Self {
        let mut text = Self::EMPTY;
        let printable = bytes.iter().filter(|byte| matches!(byte, b'!'..=b'~'));
        for (place, byte) in text.letters.iter_mut().zip(printable) {
            *place = *byte;
            text.length += 1;
        }
        text
    }

    /// The letters.
    pub fn as_str(&self) -> &str {
        let letters = self.letters.get(..usize::from(self.length)).unwrap_or_default();
        std::str::from_utf8(letters).unwrap_or_default()
    }
}

impl Deref for UnitText {
    type Target = str;

    fn deref(&self) -> &str {
        self.as_str()
    }
}

impl From<&str> for UnitText {
    fn from(text: &str) -> Self {
        Self::new(text.as_bytes())
    }
}

impl fmt::Debug for UnitText {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(self.as_str(), f)
    }
}

impl fmt::Display for UnitText {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_keeps_what_can_be_printed_and_no_more_than_it_holds() {
        assert_eq!(UnitText::from("tl(t)").as_str(), "tl(t)");
        assert_eq!(UnitText::new(b"k\x07g\xff ").as_str(), "kg");
        assert_eq!(UnitText::from("kilograms").as_str(), "kilogra");
        assert!(UnitText::EMPTY.is_empty() && UnitText::new(b"").is_empty());
        assert_eq!(format!("{:?} {:>3}", UnitText::from("g"), UnitText::from("g")), "\"g\"   g");
    }
}
