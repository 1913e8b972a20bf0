//! How much paint a layer needs: area, coats and film against what of the paint stays on the car.
//!
//! Exact, in decimals; by the formulas for theoretical spreading rate and wet film thickness that handbooks of coatings
//! print. What the paint really takes depends on the hand and the gun: see `own_record`.

use crate::units::{Decimal, Millilitres, Share};
use thiserror::Error;

/// A film as the product's sheet wants it, and how much of the paint gets there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Film {
    /// Dry film of one coat, micrometres.
    pub dry_um: Decimal,
    /// How many coats.
    pub coats: u32,
    /// Solids by volume of the paint ready to spray.
    pub solids: Share,
    /// The share of the solids that stays on what is sprayed.
    pub efficiency: Share,
}

/// What is sprayed, in square metres.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Surface {
    /// On the car.
    pub car: Decimal,
    /// All cards together, each counted with its own coats: the area of one times the coats on it, over the coats of the
    /// layer.
    pub cards: Decimal,
}

/// How much a layer needs, ready to spray.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Need {
    /// On the car, and beside it into the air.
    pub car: Millilitres,
    /// For the cards.
    pub cards: Millilitres,
    /// What stays in gun and strainer.
    pub behind: Millilitres,
}

impl Need {
    /// All of it.
    pub fn total(self) -> Millilitres {
        self.car + self.cards + self.behind
    }
}

/// Figures from which no amount follows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum QuantityError {
    /// Solids that are nothing, or more than everything.
    #[error("the solids by volume must be more than 0 % and at most 100 %: look at the product's sheet")]
    Solids,
    /// Nothing stays on the car, or more than everything.
    #[error("the transfer efficiency must be more than 0 % and at most 100 %")]
    Efficiency,
    /// An area below nothing.
    #[error("an area cannot be below nothing")]
    Area,
    /// A film of nothing.
    #[error("the dry film must be more than 0 µm: look at the product's sheet")]
    Film,
    /// A ratio without colour in it.
    #[error("the ratio must have some colour in it and nothing below nothing")]
    Ratio,
    /// Numbers too large to reckon with.
    #[error("these numbers are too large to reckon with")]
    Large,
}

fn part(share: Share, error: QuantityError) -> Result<Decimal, QuantityError> {
    let share = share.decimal();
    (share > Decimal::ZERO && share <= Decimal::ONE).then_some(share).ok_or(error)
}

/// How far a litre goes, in m²/L: `solids % × 10 / dry film µm`, all of it on what is sprayed.
///
/// # Errors
/// Solids or film that cannot be.
pub fn spreading_rate(solids: Share, dry_um: Decimal) -> Result<Decimal, QuantityError> {
    let solids = part(solids, QuantityError::Solids)?;
    if dry_um <= Decimal::ZERO {
        return Err(QuantityError::Film);
    }
    let thousand = Decimal::from(1000_u32);
    solids.checked_mul(thousand).and_then(|up| up.checked_div(dry_um)).ok_or(QuantityError::Large)
}

/// How thick the wet film has to be for that dry film, in the same unit: `dry / solids`.
///
/// # Errors
/// Solids that cannot be.
pub fn wet_film(dry: Decimal, solids: Share) -> Result<Decimal, QuantityError> {
    let solids = part(solids, QuantityError::Solids)?;
    dry.checked_div(solids).ok_or(QuantityError::Large)
}

/// `area × coats × dry film / (solids × efficiency)`: square metres times micrometres are millilitres.
fn sprayed(area: Decimal, film: Film) -> Result<Millilitres, QuantityError> {
    if area < Decimal::ZERO {
        return Err(QuantityError::Area);
    }
    if film.dry_um <= Decimal::ZERO {
        return Err(QuantityError::Film);
    }
    let stays = part(film.solids, QuantityError::Solids)?
        .checked_mul(part(film.efficiency, QuantityError::Efficiency)?)
        .ok_or(QuantityError::Large)?;
    let dry = area.checked_mul(film.dry_um).and_then(|one| one.checked_mul(film.coats.into()));
    dry.and_then(|dry| dry.checked_div(stays)).map(Millilitres::new).ok_or(QuantityError::Large)
}

/// What a layer needs, ready to spray; what stays in gun and strainer comes on top where anything is sprayed at all.
///
/// # Errors
/// Figures that cannot be.
pub fn needed(surface: Surface, film: Film, behind: Millilitres) -> Result<Need, QuantityError> {
    let (car, cards) = (sprayed(surface.car, film)?, sprayed(surface.cards, film)?);
    let any = (car + cards).is_positive();
    Ok(Need { car, cards, behind: if any { behind } else { Millilitres::ZERO } })
}

/// How much of that is colour, by the product's ratio in parts by volume of colour, hardener and thinner.
///
/// # Errors
/// No colour in it, or a part below nothing.
pub fn colour_of(
    ready: Millilitres,
    colour: Decimal,
    others: &[Decimal],
) -> Result<Millilitres, QuantityError> {
    if colour <= Decimal::ZERO || others.iter().any(Decimal::is_sign_negative) {
        return Err(QuantityError::Ratio);
    }
    let all =
        others.iter().try_fold(colour, |sum, part| sum.checked_add(*part)).ok_or(QuantityError::Large)?;
    let share = colour.checked_div(all).ok_or(QuantityError::Large)?;
    Ok(ready.times(share))
}

#[cfg(test)]
mod tests {
    use super::*;
    use num_bigint::BigInt;
    use num_rational::BigRational;
    use proptest::prelude::*;
    use rstest::rstest;

    fn number(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    fn percent(text: &str) -> Share {
        Share::parse_percent(&format!("{text} %")).unwrap()
    }

    /// Worked examples: a scribd paper "Calculations: volume solids, spreading rate" and a question-and-answer page on
    /// coating calculation (71 %, 125 µm), a paper "Spreading rate" (65 %), a paper of spreading rates in a table (50 %
    /// and 40 %); all read. Rounded as printed.
    #[rstest]
    #[case("71", "125", "5.7", 1)]
    #[case("65", "125", "5.2", 1)]
    #[case("50", "25", "20.0", 1)]
    #[case("50", "50", "10.0", 1)]
    #[case("50", "100", "5.0", 1)]
    #[case("50", "125", "4.0", 1)]
    #[case("40", "25", "16.0", 1)]
    #[case("40", "50", "8.0", 1)]
    #[case("40", "75", "5.3", 1)]
    fn printed_spreading_rates(
        #[case] solids: &str,
        #[case] dry: &str,
        #[case] expected: &str,
        #[case] places: u32,
    ) {
        let found = spreading_rate(percent(solids), number(dry)).unwrap();
        assert_eq!(found.round_dp(places), number(expected));
    }

    /// "176 µm" for 71 % and 125 µm (the same paper; read), and wet film from spreading rate: 10 and 8 m²/L are 100 and
    /// 125 µm ("More on spread rates and film thickness"; read), which is the wet film of paint that is all solids.
    #[test]
    fn printed_wet_films() {
        assert_eq!(wet_film(number("125"), percent("71")).unwrap().round(), number("176"));
        for (rate, wet) in [("10", "100"), ("8", "125")] {
            assert_eq!(spreading_rate(Share::ONE, number(wet)).unwrap(), number(rate));
        }
    }

    /// In US measures: 65 %, 5.0 mils: 208.52 ft²/gal ("Spreading rate"; read); 52 %, 30 % transfer, 1.5 mil: 167 ft² from
    /// a gallon, and 35 %: 194.5 (two columns of the Paints & Coatings Resource Center; read); 35 %, 2 mils: 281 (a paper
    /// on film thickness; read). They reckon with 1604 for 1604.17, hence what is left open. The gallon of 3.785411784 L, the mil of 25.4 µm and the foot of 0.3048 m are exact.
    #[rstest]
    #[case("65", "100", "5.0", "208.52", "0.03")]
    #[case("52", "30", "1.5", "167", "0.5")]
    #[case("52", "35", "1.5", "194.5", "0.2")]
    #[case("35", "100", "2", "281", "0.5")]
    fn printed_us_examples(
        #[case] solids: &str,
        #[case] efficiency: &str,
        #[case] mils: &str,
        #[case] feet: &str,
        #[case] within: &str,
    ) {
        let film = Film {
            dry_um: number(mils) * number("25.4"),
            coats: 1,
            solids: percent(solids),
            efficiency: percent(efficiency),
        };
        let square_foot = number("0.3048") * number("0.3048");
        let surface = Surface { car: number(feet) * square_foot, cards: Decimal::ZERO };
        let need = needed(surface, film, Millilitres::ZERO).unwrap().total().decimal();
        // So many square feet take a gallon.
        let gallon = number("3785.411784");
        let feet_of_a_gallon = number(feet) * gallon / need;
        assert!((feet_of_a_gallon - number(feet)).abs() <= number(within), "{feet_of_a_gallon}");
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let film = Film { dry_um: number("20"), coats: 2, solids: percent("40"), efficiency: percent("60") };
        let one = Surface { car: Decimal::ONE, cards: Decimal::ZERO };
        let of = |surface: Surface, film: Film| needed(surface, film, Millilitres::ZERO);
        assert_eq!(of(one, Film { solids: percent("0"), ..film }), Err(QuantityError::Solids));
        assert_eq!(of(one, Film { efficiency: percent("101"), ..film }), Err(QuantityError::Efficiency));
        assert_eq!(of(one, Film { dry_um: Decimal::ZERO, ..film }), Err(QuantityError::Film));
        assert_eq!(of(Surface { car: -Decimal::ONE, ..one }, film), Err(QuantityError::Area));
        assert_eq!(colour_of(Millilitres::ZERO, Decimal::ZERO, &[]), Err(QuantityError::Ratio));
        let nothing = needed(Surface::default(), film, Millilitres::new(number("30"))).unwrap();
        assert!(nothing.total().is_zero(), "nothing sprayed leaves nothing in the gun");
        let need = needed(one, film, Millilitres::new(number("30"))).unwrap();
        assert_eq!(need.total().decimal().round_dp(3), number("196.667"), "2 · 20 / 0.24, and 30");
    }

    /// 4 : 1 : 1 by volume in 600 mL is 400 mL of colour (reckoned).
    #[test]
    fn back_through_the_ratio() {
        let colour =
            colour_of(Millilitres::new(number("600")), number("4"), &[Decimal::ONE, Decimal::ONE]).unwrap();
        assert_eq!(colour.decimal().round_dp(20), number("400"));
    }

    proptest! {
        /// Against exact rationals.
        #[test]
        fn as_rationals_have_it(
            area in 0_i64..1_000_000, dry in 1_i64..5_000, coats in 0_u32..9, solids in 1_i64..=1000,
            efficiency in 1_i64..=1000,
        ) {
            let ratio = |up: i64, down: i64| BigRational::new(BigInt::from(up), BigInt::from(down));
            let exact = ratio(area, 10_000) * ratio(dry, 10) * ratio(i64::from(coats), 1)
                / (ratio(solids, 1000) * ratio(efficiency, 1000));
            let film = Film {
                dry_um: Decimal::new(dry, 1), coats,
                solids: Share::new(Decimal::new(solids, 3)), efficiency: Share::new(Decimal::new(efficiency, 3)),
            };
            let found = needed(Surface { car: Decimal::new(area, 4), cards: Decimal::ZERO }, film, Millilitres::ZERO);
            let found = found.unwrap().total().decimal();
            let found = BigRational::new(BigInt::from(found.mantissa()), BigInt::from(10).pow(found.scale()));
            let off = if found > exact { found - exact } else { exact - found };
            prop_assert!(off <= ratio(1, 1_000_000_000_000));
        }
    }
}
