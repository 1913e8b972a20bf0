//! Numbers as an owner reads them, in the sign and the unit that are set. The one place where that is done here.

use crate::units::{Decimal, DecimalSign, Grams, MassShown, MassUnit, Money, Notation, Share};

/// How the figures are written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Shown(pub Notation);

impl Shown {
    /// The symbol of the unit of a mass.
    pub const fn unit(self) -> &'static str {
        match self.0.mass {
            MassShown::Grams => "g",
            MassShown::Ounces => "oz",
        }
    }

    /// A mass as a bare number of that unit.
    pub fn measure(self, mass: Grams) -> Decimal {
        let unit = match self.0.mass {
            MassShown::Grams => MassUnit::Gram,
            MassShown::Ounces => MassUnit::Ounce,
        };
        mass.ratio_to(Grams::new(unit.grams_each())).unwrap_or_default()
    }

    /// The number of a mass: to a tenth of a gram, or to a hundredth of an ounce.
    pub fn mass(self, mass: Grams) -> String {
        let decimals = match self.0.mass {
            MassShown::Grams => 1,
            MassShown::Ounces => 2,
        };
        self.number(self.measure(mass), decimals)
    }

    /// An amount of money, to its hundredths.
    pub fn money(self, money: Money) -> String {
        self.number(money.decimal(), 2)
    }

    /// A share in percent.
    pub fn percent(self, share: Share) -> String {
        self.signed(share.percent(1))
    }

    /// A bare number with so many decimals.
    pub fn number(self, number: Decimal, decimals: u32) -> String {
        let text = Grams::new(number).with_decimals(decimals);
        // What is rounded to nothing has no sign.
        let is_nothing = text.bytes().all(|byte| matches!(byte, b'-' | b'0' | b'.'));
        self.signed(if is_nothing { text.trim_start_matches('-').to_owned() } else { text })
    }

    fn signed(self, text: String) -> String {
        match self.0.decimal {
            DecimalSign::Point => text,
            DecimalSign::Comma => text.replace('.', ","),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::VolumeShown;

    #[test]
    fn numbers_are_in_the_sign_and_the_unit_that_are_set() {
        let g = |text| Grams::parse(text).unwrap();
        let plain = Shown::default();
        assert_eq!((plain.mass(g("1234.56")), plain.unit()), ("1234.6".into(), "g"));
        assert_eq!(plain.mass(g("-0.04")), "0.0");
        let other =
            Shown(Notation { decimal: DecimalSign::Comma, mass: MassShown::Ounces, volume: VolumeShown::Us });
        // 453.59237 g are 16 oz by definition.
        assert_eq!((other.mass(g("453.59237")), other.unit()), ("16,00".into(), "oz"));
        assert_eq!(other.money(Money::new(Decimal::new(12_345, 3))), "12,34");
        assert_eq!(other.percent(Share::new(Decimal::new(123, 3))), "12,3 %");
    }
}
