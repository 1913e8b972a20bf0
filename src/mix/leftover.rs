//! What the cup still holds after spraying, and how a mass of stirred paint splits over the toners in it.

use super::How;
use crate::catalogue::TonerCode;
use crate::units::Grams;
use serde::{Deserialize, Serialize};

/// The cup was emptied once its mix was done: sprayed, and what was left kept or thrown away.
///
/// All masses but those of [`Thinned`] are of the mix as the book has it: its toners, without thinner and hardener.
/// What was sprayed is `before` less `left`; what was thrown away is `left` less `kept`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Emptied {
    /// What the cup held before.
    pub before: Grams,
    /// What was left in it after spraying.
    pub left: Grams,
    /// How the weight of that was come by.
    pub how: How,
    /// How much of what was left was kept.
    pub kept: Grams,
    /// Until when what was kept may be used, as `2026-12-31`, if that was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub use_by: Option<String>,
    /// Why the rest was thrown away, if there was any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
    /// What it was sprayed on: the repair's own number or name, if that was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
    /// The two weighings, if thinner or hardener had been added in between.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thinned: Option<Thinned>,
}

/// What the cup held, thinner and hardener included, its own weight taken off.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Thinned {
    /// Ready to spray.
    pub ready: Grams,
    /// After spraying.
    pub left: Grams,
}

/// A leftover, or a part of it, was poured into the cup. Readings are what the cup held, its own weight taken off.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LeftoverAdded {
    /// Which leftover, by the identity of the mix it is of.
    pub from: String,
    /// How much of each toner came with it; together what was poured.
    pub parts: Vec<(TonerCode, Grams)>,
    /// What the cup held before.
    pub before: Grams,
    /// What the cup held after.
    pub after: Grams,
    /// How the weight was come by.
    pub how: How,
}

/// How a mass taken out of stirred paint splits over what is in it, in whole micrograms that add up to what was taken.
/// No part is above what there is of that toner, nor below nothing, as long as no more is taken than there is.
pub fn split(contents: &[(TonerCode, Grams)], taken: Grams) -> Vec<(TonerCode, Grams)> {
    let all: Grams = contents.iter().map(|(_, mass)| *mass).sum();
    let (mut cumulative, mut given) = (Grams::ZERO, Grams::ZERO);
    contents
        .iter()
        .map(|(toner, mass)| {
            // Cumulative amounts are rounded and differences taken, as for targets: nothing is lost.
            cumulative += *mass;
            let upto = taken.times(cumulative.ratio_to(all).unwrap_or_default()).to_book();
            let part = upto - given;
            given = upto;
            (toner.clone(), part)
        })
        .collect()
}

/// What is left of the contents once those parts of them are taken out; both in the same order.
pub(super) fn less(contents: &[(TonerCode, Grams)], parts: &[(TonerCode, Grams)]) -> Vec<(TonerCode, Grams)> {
    let rest = contents.iter().zip(parts).map(|((toner, mass), (_, part))| (toner.clone(), *mass - *part));
    rest.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_split_adds_up_and_leaves_nothing_below_nothing(
            masses in prop::collection::vec(0_i64..5_000_000, 1..8),
            part in 0_i64..=1_000,
        ) {
            let contents: Vec<_> =
                masses.iter().map(|mass| (TonerCode::new("A"), Grams::from_micrograms(*mass))).collect();
            let all: i64 = masses.iter().sum();
            let taken = Grams::from_micrograms(all * part / 1_000);
            let parts = split(&contents, taken);
            prop_assert_eq!(parts.iter().map(|(_, mass)| *mass).sum::<Grams>(), taken);
            prop_assert!(parts.iter().all(|(_, mass)| !mass.is_negative() && *mass == mass.to_book()));
            prop_assert!(less(&contents, &parts).iter().all(|(_, mass)| !mass.is_negative()));
        }
    }
}
