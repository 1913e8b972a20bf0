//! The mixes of a job with what is known of the solvent in them, and which of them are not judged.

use super::mix::{Of, Shop, of_totals};
use crate::book::{JobsOf, Ledger as _, MixId, MixTotals, SqliteStore};
use crate::catalogue::Role;
use crate::cli::CliError;
use crate::cli::job;
use crate::job::{Job, Planned, Stage};

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
) -> Result<(Vec<Of<'a>>, Vec<Planned>), CliError> {
    let row = job::find(shop.1, name)?;
    let journal = job::read(shop.1, &row)?;
    let all = of_job(shop, journal.job(), category)?;
    if all.is_empty() {
        return Err(CliError::failed(format!("nothing was mixed for job {} yet", row.name)));
    }
    Ok((all, planned(journal.job())))
}

/// The layers that are to be on the car.
pub(super) fn planned(job: &Job) -> Vec<Planned> {
    let of = |role: Role| Planned { layer: role.name().to_owned(), stage: Stage::of(role) };
    job.plan().iter().map(|plan| of(plan.role)).collect()
}

/// The job that a mix was begun for, if it was begun for one.
pub(super) fn begun_for(book: &SqliteStore, mix: MixId) -> Result<Option<Job>, CliError> {
    let Some(name) = book.begun_for(mix).map_err(CliError::failed)? else { return Ok(None) };
    let row = book.jobs(JobsOf::Name(&name)).map_err(CliError::failed)?.pop();
    row.map(|row| Ok(job::read(book, &row)?.job().clone())).transpose()
}

/// The product that the job's plan names for that mix: for the layer it was joined as, else its own.
pub(super) fn product_named(job: &Job, mix: MixId, role: Role) -> Option<&str> {
    let role = job.mixes().find(|joined| joined.mix == mix).map_or(role, |joined| joined.layer);
    job.plan().iter().find(|plan| plan.role == role)?.product.as_deref()
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
        let mut of = of_totals(shop, totals, Some(job), category)?;
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
