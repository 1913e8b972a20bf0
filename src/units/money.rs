//! Money in the shop's own currency, and what a litre costs. No currency is ever converted.

use super::{Millilitres, NumberError, number, plain, quantity};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use std::fmt;

/// An amount in the shop's currency. Serialised as a decimal string.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Money(Decimal);

quantity!(Money);

impl Money {
    /// That amount.
    pub const fn new(amount: Decimal) -> Self {
        Self(amount)
    }

    /// The text with that many decimals, rounded half to even.
    pub fn with_decimals(self, decimals: u32) -> String {
        super::Grams::new(self.0).with_decimals(decimals)
    }
}

impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&plain(self.0))
    }
}

/// The price of a litre in the shop's currency; never negative.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct PricePerLitre(Money);

impl PricePerLitre {
    /// That price; `None` if it is below nothing.
    pub fn new(amount: Decimal) -> Option<Self> {
        (amount >= Decimal::ZERO).then_some(Self(Money(amount)))
    }

    /// Reads a bare number.
    pub fn parse(text: &str) -> Result<Self, NumberError> {
        Self::new(number::parse_decimal(text)?).ok_or_else(|| NumberError::NotANumber(text.trim().to_owned()))
    }

    /// The bare number.
    pub const fn decimal(self) -> Decimal {
        self.0.0
    }

    /// What that volume costs.
    pub fn cost_of(self, volume: Millilitres) -> Money {
        self.0.times(number::product(volume.decimal(), Decimal::from_parts(1, 0, 0, false, 3)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quarter_litre_costs_a_quarter() {
        let price = PricePerLitre::parse("38.50").unwrap();
        let volume = Millilitres::parse("250").unwrap();
        assert_eq!(price.cost_of(volume), Money::new(Decimal::new(9625, 3)));
        assert!(PricePerLitre::parse("-1").is_err());
    }
}
