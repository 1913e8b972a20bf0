//! Volumes and masses as people type them: `350 mL`, `0.5 L`, `12 fl oz`, `1 qt`, `1,5 L`, `12.5 g`.

use super::{Grams, MassUnit, Millilitres, NumberError, VolumeUnit, number};
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
        /// `volume` or `mass`.
        of: &'static str,
        /// The units that are known.
        known: &'static str,
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
    let (value, unit) = split(text, "mL")?;
    let Some(unit) = volume_unit(&unit) else {
        return Err(TypedError::UnknownUnit { unit, of: "volume", known: VOLUMES });
    };
    Ok(Millilitres::from_unit(value, unit))
}

/// Reads a mass with its unit.
pub fn parse_mass(text: &str) -> Result<Grams, TypedError> {
    let (value, unit) = split(text, "g")?;
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

/// Splits into a number more than zero and the unit's words, blanks squeezed.
fn split(text: &str, example: &'static str) -> Result<(Decimal, String), TypedError> {
    let text = text.trim();
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-');
    let end = text.find(|c: char| !is_number(c)).unwrap_or(text.len());
    let (digits, unit) = text.split_at(end);
    if digits.is_empty() && !unit.is_empty() {
        return Err(NumberError::NotANumber(text.to_owned()).into());
    }
    let value = number::parse_decimal_with_comma(digits)?;
    let unit = unit.split_whitespace().collect::<Vec<_>>().join(" ");
    if unit.is_empty() {
        return Err(TypedError::NoUnit(digits.to_owned(), example));
    }
    if value <= Decimal::ZERO {
        return Err(TypedError::NotPositive(text.to_owned()));
    }
    Ok((value, unit))
}

fn volume_unit(typed: &str) -> Option<VolumeUnit> {
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
    Some(if imperial == Some(true) { imp } else { us })
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
