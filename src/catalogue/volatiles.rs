//! What evaporates out of a litre of something, as its data sheet says.

use crate::units::{Decimal, Density};

/// What a litre gives off, in grams a litre of the material as it is supplied. Never below nothing; water and exempt
/// compounds together are at most all of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Volatiles {
    /// Everything that evaporates, water and exempt compounds too, g/L.
    pub total: Decimal,
    /// The water in it, g/L.
    pub water: Decimal,
    /// The exempt compounds in it, g/L.
    pub exempt: Decimal,
    /// The density of the exempt compounds, g/mL; there where `exempt` is more than nothing.
    pub exempt_density: Option<Density>,
}

impl Volatiles {
    /// The grams a litre that count as VOC: what is neither water nor exempt.
    pub fn counted(&self) -> Decimal {
        let left = self.total.checked_sub(self.water).and_then(|left| left.checked_sub(self.exempt));
        left.unwrap_or(self.total).max(Decimal::ZERO)
    }
}
