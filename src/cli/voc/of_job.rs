//! The mixes of a job with what is known of the solvent in them, and which of them are not judged.

use super::mix::{Of, Shop, of_totals};
use crate::book::MixTotals;
use crate::cli::CliError;
use crate::cli::job;
use crate::job::{Job, Stage};

/// Why a mix is not judged with the others of its job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum LeftOut {
    /// It was given up.
    GivenUp,
    /// It is for spray-out cards alone.
    ForCards,
    /// Somebody said that it is not of this job after all.
    Parted,
    /// Nothing is in it.
    Empty,
}

impl LeftOut {
    /// In words.
    pub(super) const fn says(self) -> &'static str {
        match self {
            Self::GivenUp => "given up",
            Self::ForCards => "for spray-out cards alone, and not for the car",
            Self::Parted => "not of this job after all",
            Self::Empty => "nothing is in it",
        }
    }
}

/// Those of the job with that name.
///
/// # Errors
/// There is none, or nothing was mixed for it.
pub(super) fn named<'a>(
    shop: Shop<'a, '_>,
    name: &str,
    category: Option<&str>,
) -> Result<Vec<Of<'a>>, CliError> {
    let row = job::find(shop.1, name)?;
    let journal = job::read(shop.1, &row)?;
    let all = of_job(shop, journal.job(), category)?;
    if all.is_empty() {
        return Err(CliError::failed(format!("nothing was mixed for job {} yet", row.name)));
    }
    Ok(all)
}

/// Those of that job. A mix is of the layer that the job makes of it. What was given up, what is for spray-out cards alone
/// and what is not of the job after all is left out of what is judged, and so is a cup with nothing in it.
pub(super) fn of_job<'a>(
    shop: Shop<'a, '_>,
    job: &Job,
    category: Option<&str>,
) -> Result<Vec<Of<'a>>, CliError> {
    let of = |totals: MixTotals| {
        let joined = job.mixes().find(|joined| joined.mix == totals.mix);
        let is_parted = joined.is_none() && job.was_parted(totals.mix);
        let is_given_up = totals.head.ended.as_ref().is_some_and(|(_, kind)| kind == "mix/abandoned");
        let mut of = of_totals(shop, totals, category)?;
        if let Some(joined) = joined {
            joined.layer.name().clone_into(&mut of.coat.layer);
            of.coat.stage = Stage::of(joined.layer);
        }
        of.left_out = if is_given_up {
            Some(LeftOut::GivenUp)
        } else if joined.is_some_and(|joined| joined.for_cards) {
            Some(LeftOut::ForCards)
        } else if is_parted {
            Some(LeftOut::Parted)
        } else if of.ingredients.is_empty() {
            Some(LeftOut::Empty)
        } else {
            None
        };
        Ok(of)
    };
    job::mixes_of(shop.1, job)?.into_iter().map(of).collect()
}
