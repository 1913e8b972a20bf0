//! How much thinner a mix may take before its content is over a limit.

use super::{Basis, Component, PerLitre};
use crate::units::{Decimal, Millilitres};

/// How much thinner keeps a limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Thinning {
    /// So much, and no more.
    UpTo(Millilitres),
    /// Any amount: mix and thinner are both within.
    Any,
    /// So much at least: the mix is over, and the thinner is not.
    From(Millilitres),
    /// None: the mix is over, and the thinner does not make it better.
    Never,
}

/// How much of a thinner a mix may take: the y of `limit = (VOC + t·y) / (V + d·y)`, with the thinner's compounds t and its
/// counted volume d per volume (Metal Finishing Guidebook 2013, appendix B, reckons so; read). `thinner` is any amount of
/// it, more than nothing. None if there is nothing of it, or numbers too large.
pub fn thinning(mix: &Component, thinner: &Component, limit: PerLitre, basis: Basis) -> Option<Thinning> {
    let per_volume = thinner.volume.decimal();
    if per_volume <= Decimal::ZERO {
        return None;
    }
    // What each may still take (below nothing: has too much), in grams: of the mix, and of a millilitre of the thinner.
    let room = |of: &Component| {
        let (mass, volume) = of.counted(basis);
        (limit.in_volume(volume) - mass).decimal()
    };
    let (has, each) = (room(mix), room(thinner).checked_div(per_volume)?);
    let meets = || Some(Millilitres::new(has.checked_div(each)?.abs()));
    Some(match (has >= Decimal::ZERO, each >= Decimal::ZERO) {
        (true, true) => Thinning::Any,
        (true, false) => Thinning::UpTo(meets()?),
        (false, true) if each > Decimal::ZERO => Thinning::From(meets()?),
        (false, _) => Thinning::Never,
    })
}
