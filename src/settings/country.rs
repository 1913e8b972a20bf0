//! What is usual in a country: the sign before the decimals, the measures of a volume, whose limits apply. A start, which
//! any setting overrides.
//!
//! Decimal signs as in the Unicode CLDR (from memory). Paint is metered by weight and asked for in millilitres nearly
//! everywhere; US fluid ounces in the United States (common practice, no source). Which law applies is for the shop to
//! know: the limits named here are only the likeliest.

use crate::units::{DecimalSign, VolumeShown};

/// A country.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Country {
    /// Its code in ISO 3166-1, in small letters.
    pub code: &'static str,
    /// Its name.
    pub name: &'static str,
    /// The sign before the decimals.
    pub decimal: DecimalSign,
    /// The measures of a volume.
    pub volume: VolumeShown,
    /// Whose limits of solvents apply.
    pub limits: &'static str,
}

/// Tables of limits that can be named.
pub(super) const LIMITS: &[&str] = &["none", "us", "us-california", "eu", "uk", "canada"];

const fn country(
    code: &'static str,
    name: &'static str,
    decimal: DecimalSign,
    limits: &'static str,
) -> Country {
    Country { code, name, decimal, volume: VolumeShown::Millilitres, limits }
}

const POINT: DecimalSign = DecimalSign::Point;
const COMMA: DecimalSign = DecimalSign::Comma;

/// The countries one can choose, by name.
pub const COUNTRIES: &[Country] = &[
    country("ar", "Argentina", COMMA, "none"),
    country("au", "Australia", POINT, "none"),
    country("at", "Austria", COMMA, "eu"),
    country("be", "Belgium", COMMA, "eu"),
    country("br", "Brazil", COMMA, "none"),
    country("bg", "Bulgaria", COMMA, "eu"),
    country("ca", "Canada", POINT, "canada"),
    country("cl", "Chile", COMMA, "none"),
    country("cn", "China", POINT, "none"),
    country("hr", "Croatia", COMMA, "eu"),
    country("cz", "Czechia", COMMA, "eu"),
    country("dk", "Denmark", COMMA, "eu"),
    country("ee", "Estonia", COMMA, "eu"),
    country("fi", "Finland", COMMA, "eu"),
    country("fr", "France", COMMA, "eu"),
    country("de", "Germany", COMMA, "eu"),
    country("gr", "Greece", COMMA, "eu"),
    country("hu", "Hungary", COMMA, "eu"),
    country("in", "India", POINT, "none"),
    country("ie", "Ireland", POINT, "eu"),
    country("it", "Italy", COMMA, "eu"),
    country("jp", "Japan", POINT, "none"),
    country("lv", "Latvia", COMMA, "eu"),
    country("lt", "Lithuania", COMMA, "eu"),
    country("lu", "Luxembourg", COMMA, "eu"),
    country("mx", "Mexico", POINT, "none"),
    country("nl", "Netherlands", COMMA, "eu"),
    country("nz", "New Zealand", POINT, "none"),
    country("no", "Norway", COMMA, "eu"),
    country("pl", "Poland", COMMA, "eu"),
    country("pt", "Portugal", COMMA, "eu"),
    country("ro", "Romania", COMMA, "eu"),
    country("sk", "Slovakia", COMMA, "eu"),
    country("si", "Slovenia", COMMA, "eu"),
    country("za", "South Africa", COMMA, "none"),
    country("kr", "South Korea", POINT, "none"),
    country("es", "Spain", COMMA, "eu"),
    country("se", "Sweden", COMMA, "eu"),
    country("ch", "Switzerland", POINT, "none"),
    country("tr", "Turkey", COMMA, "none"),
    country("gb", "United Kingdom", POINT, "uk"),
    Country { volume: VolumeShown::Us, ..country("us", "United States", POINT, "us") },
];

impl Country {
    /// The country with that code.
    pub fn of(code: &str) -> Option<&'static Self> {
        COUNTRIES.iter().find(|country| country.code.eq_ignore_ascii_case(code.trim()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_apart_and_in_order_of_name() {
        for (at, country) in COUNTRIES.iter().enumerate() {
            assert!(country.code.len() == 2 && country.code.bytes().all(|b| b.is_ascii_lowercase()));
            assert!(LIMITS.contains(&country.limits), "{}", country.name);
            let later = COUNTRIES.get(at + 1..).unwrap();
            assert!(
                later.iter().all(|other| other.code != country.code && other.name > country.name),
                "{}",
                country.name
            );
        }
        assert_eq!(Country::of("US").map(|country| country.volume), Some(VolumeShown::Us));
        assert_eq!(Country::of("zz"), None);
    }
}
