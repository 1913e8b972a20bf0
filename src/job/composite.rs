//! What several contents come to: a coating of several stages, a day of several coatings, a content per volume of solids.

use super::PerLitre;
use crate::units::{Decimal, Grams, Millilitres};

/// The content of a topcoat of a base coat, any number of midcoats and a clear coat:
/// `(VOC_bc + Σ VOC_mc + 2·VOC_cc) / (M + 3)`, 40 CFR 59.104(a)(2) (the variables read; the form from memory, since the
/// equation is an image there). Without midcoats it is `(VOC_bc + 2·VOC_cc) / 3` of Kern's rule 410.4A and San Luis
/// Obispo's 423 (read). None if it is too large.
pub fn composite(base: PerLitre, mids: &[PerLitre], clear: PerLitre) -> Option<PerLitre> {
    let twice = clear.decimal().checked_mul(Decimal::TWO)?;
    let sum = mids.iter().try_fold(base.decimal(), |sum, mid| sum.checked_add(mid.decimal()))?;
    let parts = Decimal::from(mids.len()).checked_add(Decimal::from(3_u32))?;
    sum.checked_add(twice)?.checked_div(parts).map(PerLitre::new)
}

/// The average of several coatings by their volume: `Σ(Vi·Ci) / ΣVi`, with volumes less water and exempt compounds where
/// the contents are (35 Ill. Adm. Code 211.1670; read). None if there is nothing of any.
pub fn average(coatings: &[(Millilitres, PerLitre)]) -> Option<PerLitre> {
    let mass: Grams = coatings.iter().map(|(volume, content)| content.in_volume(*volume)).sum();
    PerLitre::of(mass, coatings.iter().map(|(volume, _)| *volume).sum())
}

/// The density of the solvent that Texas takes for all of them, in pounds per US gallon (30 TAC 115.423(1); read).
pub const SOLVENT_POUNDS_PER_GALLON: Decimal = Decimal::from_parts(736, 0, 0, false, 2);

/// A content per volume of coating as one per volume of solids: `S = C / (1 − C/D)`, D the density of the solvent in the
/// same unit (30 TAC 115.423(1); read). None if there is no room for solids.
pub fn per_solids(content: PerLitre, solvent: PerLitre) -> Option<PerLitre> {
    let taken = content.decimal().checked_div(solvent.decimal())?;
    let solids = Decimal::ONE.checked_sub(taken).filter(|solids| *solids > Decimal::ZERO)?;
    content.decimal().checked_div(solids).map(PerLitre::new)
}
