//! Numbers as an owner reads them, in the sign and the unit that are set. The one place where that is done here.

use crate::units::{Decimal, Grams, Money, Notation, Share};

/// How the figures are written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Shown(pub Notation);

impl Shown {
    /// The symbol of the unit of a mass.
    pub const fn unit(self) -> &'static str {
        self.0.mass_unit()
    }

    /// A mass as a bare number of that unit.
    pub fn measure(self, mass: Grams) -> Decimal {
        mass.ratio_to(Grams::new(self.0.mass.unit().grams_each())).unwrap_or_default()
    }

    /// The number of a mass: to a tenth of a gram, or as finely in the unit that is shown.
    pub fn mass(self, mass: Grams) -> String {
        unsigned_nothing(self.0.weight_to(mass, 1))
    }

    /// An amount of money, to its hundredths.
    pub fn money(self, money: Money) -> String {
        unsigned_nothing(self.0.money(money))
    }

    /// A share in percent.
    pub fn percent(self, share: Share) -> String {
        self.0.percent(share, 1)
    }

    /// A bare number.
    pub fn number(self, number: Decimal) -> String {
        self.0.number(number)
    }
}

/// What is rounded to nothing has no sign.
fn unsigned_nothing(text: String) -> String {
    if text.contains(|c: char| matches!(c, '1'..='9')) {
        text
    } else {
        text.trim_start_matches('-').to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{DecimalSign, MassShown, VolumeShown};

    #[test]
    fn numbers_are_in_the_sign_and_the_unit_that_are_set() {
        let g = |text| Grams::parse(text).unwrap();
        let plain = Shown::default();
        assert_eq!((plain.mass(g("1234.56")), plain.unit()), ("1234.6".into(), "g"));
        assert_eq!(plain.mass(g("-0.04")), "0.0");
        let other =
            Shown(Notation { decimal: DecimalSign::Comma, mass: MassShown::Ounces, volume: VolumeShown::Us });
        // 453.59237 g are 16 oz by definition.
        assert_eq!((other.mass(g("453.59237")), other.unit()), ("16,000".into(), "oz"));
        assert_eq!(other.money(Money::new(Decimal::new(12_345, 3))), "12,34");
        assert_eq!(other.percent(Share::new(Decimal::new(123, 3))), "12,3 %");
    }
}
