//! Area in square metres.

use super::{NumberError, number, plain, quantity};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use std::fmt;

/// An area in square metres, exact. Serialised as a decimal string.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Area(Decimal);

quantity!(Area);

impl Area {
    /// An area of that many square metres.
    pub const fn new(square_metres: Decimal) -> Self {
        Self(square_metres)
    }

    /// Reads a bare number of square metres.
    pub fn parse(text: &str) -> Result<Self, NumberError> {
        number::parse_decimal(text).map(Self)
    }
}

impl fmt::Display for Area {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&plain(self.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn areas_add_up_exactly() {
        let sum: Area = ["0.1", "0.2", "1.45"].iter().map(|text| Area::parse(text).unwrap()).sum();
        assert_eq!(sum, Area::parse("1.75").unwrap());
        assert_eq!(sum.to_string(), "1.75");
        assert_eq!(serde_json::to_string(&sum).unwrap(), "\"1.75\"");
        assert!(Area::parse("1,75").is_err());
    }
}
