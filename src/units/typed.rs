//! Volumes and masses as people type them: `350 mL`, `0.5 L`, `12 fl oz`, `1 qt`, `1,5 L`, `12.5 g`.
//!
//! Point and comma both stand before the decimals, whichever the person's own sign is. Where the other one stands before
//! exactly three digits, as in `1,234`, it can as well part the thousands: that is refused and not guessed.

use super::notation::SQUARE_FOOT;
use super::{
    Area, DecimalSign, Grams, MassShown, MassUnit, Millilitres, Notation, NumberError, VolumeShown,
    VolumeUnit, number,
};
use rust_decimal::Decimal;
use thiserror::Error;

/// Why a typed amount cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum TypedError {
    /// The number in front is not one.
    #[error(transparent)]
    Number(#[from] NumberError),
    /// A number without a unit, where guessing could spoil a mix.
    #[error("'{0}' has no unit: write it with one, like '{0} {1}'")]
    NoUnit(String, &'static str),
    /// A unit nobody knows here.
    #[error("'{unit}' is not a unit of {of}: use one of {known}")]
    UnknownUnit {
        /// What was typed.
        unit: String,
        /// `volume`, `mass` or `area`.
        of: &'static str,
        /// The units that are known.
        known: &'static str,
    },
    /// The sign before three digits can stand before decimals or part the thousands.
    #[error("'{typed}' can be read in two ways: write {thousands}, or {decimals}")]
    TwoWays {
        /// What was typed.
        typed: String,
        /// How to write it with its thousands.
        thousands: String,
        /// How to write it with its decimals.
        decimals: String,
    },
    /// Nothing or less.
    #[error("'{0}' is nothing: an amount must be more than zero")]
    NotPositive(String),
}

const VOLUMES: &str =
    "mL, cL, L, fl oz, pt, qt, gal (US measures; imp fl oz, imp pt, imp qt, imp gal for imperial ones)";
const MASSES: &str = "g, kg, mg, oz, lb";

/// Reads a volume with its unit. `fl oz`, `pt`, `qt` and `gal` alone are US measures; with `imp` (or `UK`)
/// in front they are imperial, with `US` they are US.
pub fn parse_volume(text: &str) -> Result<Millilitres, TypedError> {
    volume(text, Notation::METRIC)
}

/// Reads a mass with its unit.
pub fn parse_mass(text: &str) -> Result<Grams, TypedError> {
    mass(text, DecimalSign::Point)
}

/// Reads an area with its unit, `0.9 m2` or `10 ft2`.
pub fn parse_area(text: &str) -> Result<Area, TypedError> {
    area(text, DecimalSign::Point)
}

fn area(text: &str, decimal: DecimalSign) -> Result<Area, TypedError> {
    let (value, unit) = split(text, "m2", decimal)?;
    match unit.to_lowercase().as_str() {
        "m2" | "m²" | "sq m" => Ok(Area::new(value)),
        "ft2" | "ft²" | "sq ft" => {
            let area = value.checked_mul(SQUARE_FOOT);
            area.map(|area| Area::new(area.normalize()))
                .ok_or_else(|| NumberError::NotANumber(text.to_owned()).into())
        }
        _ => Err(TypedError::UnknownUnit { unit, of: "area", known: "m2, ft2" }),
    }
}

impl Notation {
    /// Reads a volume that a person typed. With a unit it is what it says; `fl oz`, `pt`, `qt` and `gal` alone are US
    /// measures, and imperial ones where those are shown. A bare number is in the unit that is shown; of millilitres
    /// only a whole one, since `0.5` may have been meant as litres.
    pub fn read_volume(self, text: &str) -> Result<Millilitres, TypedError> {
        let text = text.trim();
        let is_bare =
            |c: char| c.is_ascii_digit() || self.volume != VolumeShown::Millilitres && matches!(c, '.' | ',');
        if !text.is_empty() && text.chars().all(is_bare) {
            let value = number(text, self.decimal)?;
            return if value > Decimal::ZERO {
                Ok(Millilitres::from_unit(value, self.volume.unit()))
            } else {
                Err(TypedError::NotPositive(format!("{text} {}", self.volume_unit())))
            };
        }
        volume(text, self)
    }

    /// Reads an area that a person typed: with a unit it is what it says, a bare number is in the unit that is shown.
    pub fn read_area(self, text: &str) -> Result<Area, TypedError> {
        let text = text.trim();
        if !text.is_empty() && text.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',')) {
            return area(&format!("{text} {}", self.area_unit()), self.decimal);
        }
        area(text, self.decimal)
    }

    /// Reads a mass that a person typed: with a unit it is what it says, a bare number is in the unit that is shown.
    pub fn read_mass(self, text: &str) -> Result<Grams, TypedError> {
        let text = text.trim();
        if text.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',')) {
            let value = number(text, self.decimal)?;
            return Ok(Grams::from_unit(value, self.mass.unit()));
        }
        mass(text, self.decimal)
    }

    /// Why what was typed cannot be used, in a sentence with the person's own sign.
    pub fn told(self, error: &TypedError) -> String {
        match (self.decimal, error) {
            (DecimalSign::Comma, TypedError::Number(NumberError::NotANumber(typed))) => {
                format!("'{typed}' is not a number: write digits with a decimal comma, like 12,5")
            }
            _ => error.to_string(),
        }
    }

    /// What is proposed where nobody has said yet how much: what a panel takes (common practice, no source).
    pub fn usual_volume(self) -> String {
        match self.volume {
            VolumeShown::Millilitres => "350 mL".to_owned(),
            _ => format!("12 {}", self.volume_unit()),
        }
    }

    /// How a mass is asked for: the unit's name, for `how many grams?`.
    pub const fn mass_word(self) -> &'static str {
        self.mass.name()
    }

    /// A number of about what a pour is, as an example of how to type one.
    pub const fn example(self) -> &'static str {
        match (self.mass, self.decimal) {
            (MassShown::Grams, DecimalSign::Point) => "12.5",
            (MassShown::Grams, DecimalSign::Comma) => "12,5",
            (MassShown::Ounces, DecimalSign::Point) => "0.44",
            (MassShown::Ounces, DecimalSign::Comma) => "0,44",
        }
    }
}

fn volume(text: &str, notation: Notation) -> Result<Millilitres, TypedError> {
    let (value, unit) = split(text, "mL", notation.decimal)?;
    let Some(unit) = volume_unit(&unit, notation.volume == VolumeShown::Imperial) else {
        return Err(TypedError::UnknownUnit { unit, of: "volume", known: VOLUMES });
    };
    Ok(Millilitres::from_unit(value, unit))
}

fn mass(text: &str, decimal: DecimalSign) -> Result<Grams, TypedError> {
    let (value, unit) = split(text, "g", decimal)?;
    let known = match unit.to_lowercase().as_str() {
        "gram" | "grams" => Some(MassUnit::Gram),
        "ounce" | "ounces" => Some(MassUnit::Ounce),
        "lbs" | "pound" | "pounds" => Some(MassUnit::Pound),
        other => MassUnit::from_symbol(other),
    };
    match known {
        Some(unit) => Ok(Grams::from_unit(value, unit)),
        None => Err(TypedError::UnknownUnit { unit, of: "mass", known: MASSES }),
    }
}

/// A number with either sign, unless the one that is not the person's own may part thousands.
fn number(digits: &str, own: DecimalSign) -> Result<Decimal, TypedError> {
    let value = number::parse_decimal_with_comma(digits)?;
    let other = match own {
        DecimalSign::Point => ',',
        DecimalSign::Comma => '.',
    };
    let unsigned = digits.trim().trim_start_matches(['+', '-']);
    let parts_thousands = unsigned.split_once(other).is_some_and(|(whole, rest)| {
        rest.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with('0')
    });
    if !parts_thousands {
        return Ok(value);
    }
    let sign = match own {
        DecimalSign::Point => ".",
        DecimalSign::Comma => ",",
    };
    Err(TypedError::TwoWays {
        typed: digits.to_owned(),
        thousands: digits.replace(other, ""),
        decimals: digits.replace(other, sign),
    })
}

/// Splits into a number more than zero and the unit's words, blanks squeezed.
fn split(text: &str, example: &'static str, decimal: DecimalSign) -> Result<(Decimal, String), TypedError> {
    let text = text.trim();
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-');
    let end = text.find(|c: char| !is_number(c)).unwrap_or(text.len());
    let (digits, unit) = text.split_at(end);
    if digits.is_empty() && !unit.is_empty() {
        return Err(NumberError::NotANumber(text.to_owned()).into());
    }
    let value = number(digits, decimal)?;
    let unit = unit.split_whitespace().collect::<Vec<_>>().join(" ");
    if unit.is_empty() {
        return Err(TypedError::NoUnit(digits.to_owned(), example));
    }
    if value <= Decimal::ZERO {
        return Err(TypedError::NotPositive(text.to_owned()));
    }
    Ok((value, unit))
}

/// The unit with that name; where nothing says whose measures are meant, imperial ones if `usually_imperial`.
fn volume_unit(typed: &str, usually_imperial: bool) -> Option<VolumeUnit> {
    let lower = typed.to_lowercase().replace('.', "");
    let mut words: Vec<&str> = lower.split(' ').collect();
    let imperial = match words.first().copied() {
        Some("imp" | "imperial" | "uk") => Some(true),
        Some("us") => Some(false),
        _ => None,
    };
    if imperial.is_some() {
        words.remove(0);
    }
    let name = words.join(" ");
    let metric = match name.as_str() {
        "ml" | "cc" | "cm3" | "millilitre" | "millilitres" | "milliliter" | "milliliters" => {
            Some(VolumeUnit::Millilitre)
        }
        "cl" => Some(VolumeUnit::Centilitre),
        "l" | "litre" | "litres" | "liter" | "liters" => Some(VolumeUnit::Litre),
        _ => None,
    };
    if metric.is_some() {
        // "imp mL" is a contradiction, not a volume.
        return metric.filter(|_| imperial.is_none());
    }
    let (us, imp) = match name.as_str() {
        "fl oz" | "floz" | "fluid ounce" | "fluid ounces" => {
            (VolumeUnit::UsFluidOunce, VolumeUnit::ImperialFluidOunce)
        }
        "pt" | "pint" | "pints" => (VolumeUnit::UsPint, VolumeUnit::ImperialPint),
        "qt" | "quart" | "quarts" => (VolumeUnit::UsQuart, VolumeUnit::ImperialQuart),
        "gal" | "gallon" | "gallons" => (VolumeUnit::UsGallon, VolumeUnit::ImperialGallon),
        _ => return None,
    };
    Some(if imperial.unwrap_or(usually_imperial) { imp } else { us })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use rstest::rstest;

    #[rstest]
    #[case("350 mL", "350")]
    #[case("350ml", "350")]
    #[case(" 0.5 L ", "500")]
    #[case("1,5 L", "1500")]
    #[case("25 cl", "250")]
    #[case("12 fl oz", "354.88235475")]
    #[case("12 US fl. oz.", "354.88235475")]
    #[case("12 imp fl oz", "340.95675")]
    #[case("1 qt", "946.352946")]
    #[case("2 pt", "946.352946")]
    #[case("2 UK pt", "1136.5225")]
    #[case("1 gallon", "3785.411784")]
    fn volumes_as_typed(#[case] text: &str, #[case] millilitres: &str) {
        assert_eq!(parse_volume(text).unwrap().to_string(), millilitres);
    }

    #[rstest]
    #[case("350", "'350' has no unit")]
    #[case("350 g", "'g' is not a unit of volume")]
    #[case("12 oz", "'oz' is not a unit of volume")]
    #[case("imp", "'imp' is not a number")]
    #[case("0 mL", "'0 mL' is nothing")]
    #[case("-5 mL", "'-5 mL' is nothing")]
    #[case("1,000.5 mL", "'1,000.5' is not a number")]
    #[case("5 imp mL", "'imp mL' is not a unit of volume")]
    #[case("", "nothing is there")]
    fn volumes_refused(#[case] text: &str, #[case] start: &str) {
        let message = parse_volume(text).unwrap_err().to_string();
        assert!(message.contains(start), "{message}");
    }

    #[rstest]
    #[case("12.5 g", "12.5")]
    #[case("12,5g", "12.5")]
    #[case("0.2 kg", "200")]
    #[case("1 oz", "28.349523125")]
    #[case("1 lb", "453.59237")]
    fn masses_as_typed(#[case] text: &str, #[case] grams: &str) {
        assert_eq!(parse_mass(text).unwrap().to_string(), grams);
    }

    #[test]
    fn a_fluid_ounce_is_no_mass() {
        assert!(parse_mass("12 fl oz").unwrap_err().to_string().contains("not a unit of mass"));
    }

    proptest! {
        #[test]
        fn no_text_is_a_panic(text in ".{0,40}") {
            let _ = parse_volume(&text);
            let _ = parse_mass(&text);
        }
    }
}
