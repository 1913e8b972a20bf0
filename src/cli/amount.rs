//! Amounts on the command line: how they are read, and how JSON shows them.

use crate::catalogue::{Role, Word};
use crate::units::{Division, Grams, Millilitres, Money, Notation, Share, parse_volume};

/// Decimals of an exact value in JSON: the book's resolution.
const BOOK: u32 = 6;

/// Reads a layer's role, as `ground` or `ground coat`.
pub(super) fn role(text: &str) -> Result<Role, String> {
    Role::named(text).ok_or_else(|| {
        let all: Vec<_> = Role::ALL.iter().map(|role| role.word()).collect();
        format!("one of {} was expected", all.join(", "))
    })
}

/// Reads a volume with its unit.
pub(super) fn volume(text: &str) -> Result<Millilitres, String> {
    parse_volume(text).map_err(|error| error.to_string())
}

/// Reads a scale's division in grams.
pub(super) fn division(text: &str) -> Result<Division, String> {
    let bare = text.trim().trim_end_matches('g').trim_end();
    Division::parse(bare).map_err(|error| format!("grams, more than nothing, were expected ({error})"))
}

/// Reads grams, more than nothing, with or without their unit.
pub(super) fn grams(text: &str) -> Result<Grams, String> {
    let bare = text.trim().trim_end_matches('g').trim_end();
    let grams = Grams::parse(bare).map_err(|error| error.to_string())?;
    if grams.is_positive() { Ok(grams) } else { Err("grams, more than nothing, were expected".to_owned()) }
}

/// Reads what was poured of a toner, as `W10=201.3`.
pub(super) fn poured(text: &str) -> Result<(String, Grams), String> {
    let (toner, mass) =
        text.split_once('=').ok_or("a toner and its grams were expected, as W10=201.3".to_owned())?;
    if toner.trim().is_empty() {
        return Err("a toner and its grams were expected, as W10=201.3".to_owned());
    }
    Ok((toner.trim().to_owned(), grams(mass)?))
}

/// An exact mass for JSON, rounded half to even to the book's resolution.
pub(super) fn exact(mass: Grams) -> String {
    mass.with_decimals(BOOK)
}

/// An exact volume for JSON.
pub(super) fn exact_volume(volume: Millilitres) -> String {
    volume.with_decimals(BOOK)
}

/// An exact amount of money for JSON.
pub(super) fn exact_money(money: Money) -> String {
    money.with_decimals(BOOK)
}

/// An exact fraction for JSON.
pub(super) fn exact_share(share: Share) -> String {
    Grams::new(share.decimal()).with_decimals(BOOK)
}

/// A volume for a person: whole millilitres, and tenths of a small one, or as finely in the unit that is shown.
pub(super) fn plain_volume(volume: Millilitres, notation: Notation) -> String {
    let small = volume.decimal() < 100.into();
    notation.volume(volume, u32::from(small))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_poured_needs_a_toner_and_grams() {
        assert_eq!(poured("W10=201.3").unwrap(), ("W10".to_owned(), Grams::parse("201.3").unwrap()));
        assert_eq!(poured(" W10 = 201.3 g ").unwrap().0, "W10");
        for wrong in ["W10", "=3", "W10=", "W10=x", "W10=0", "W10=-3", "W10=1,5,0"] {
            assert!(poured(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_layer_by_its_word_or_its_name() {
        assert_eq!(role("Ground").unwrap(), Role::Ground);
        assert_eq!(role("pearl coat").unwrap(), Role::Pearl);
        assert!(role("top").unwrap_err().contains("ground, base"));
    }
}
