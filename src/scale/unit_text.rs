//! The letters of a unit as a scale sent them, held without a detour to the heap: one comes with every reading.

use std::fmt;
use std::ops::Deref;

/// The most letters that are kept: the longest unit of any format has five.
const MOST: usize = 7;

/// A unit's letters, printable ASCII, at most seven.
#[derive(Clone, Copy, Default, PartialEq, Eq, Hash)]
pub struct UnitText {
    /// The letters, noughts behind them, and how many there are.
    packed: [u8; MOST + 1],
}

impl UnitText {
    /// No letters.
    pub const EMPTY: Self = Self { packed: [0; MOST + 1] };

    /// The printable letters among those bytes, as many as are kept.
    #[inline]
    pub fn new(bytes: &[u8]) -> Self {
        // Put together in a register and stored at once, because it is read again at once.
        let (mut packed, mut length) = (0, 0);
        for byte in bytes.iter().filter(|byte| matches!(byte, b'!'..=b'~')).take(MOST) {
            packed |= u64::from(*byte) << (8 * length);
            length += 1;
        }
        Self { packed: (packed | length << (8 * MOST)).to_le_bytes() }
    }

    const fn length(self) -> u8 {
        let [.., length] = self.packed;
        length
    }

    /// Whether there are no letters.
    pub const fn is_empty(&self) -> bool {
        self.length() == 0
    }

    /// The letters.
    pub fn as_str(&self) -> &str {
        std::str::from_utf8(self.as_bytes()).unwrap_or_default()
    }

    /// The letters, as they came over the wire.
    #[inline]
    pub fn as_bytes(&self) -> &[u8] {
        self.packed.get(..usize::from(self.length())).unwrap_or_default()
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
