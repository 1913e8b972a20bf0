//! The shop's own record of a layer, out of the book: what was estimated, mixed and used for the car, job after job.

use super::{Job, Past, Usual, Wanted, wanted};
use crate::book::{JobId, JobMix, Ledger, StoreError};
use crate::catalogue::{Catalogue, Role};
use crate::units::{Grams, Millilitres};
use std::collections::BTreeMap;

/// So many mixes of a layer are looked at, the latest: what the shop did years ago says little of what it does now
/// (common practice, no source).
pub const MOST_PAST: u32 = 50;

/// What was mixed of a mix and what was used of it, ready to spray, by its recipe's densities; none where it was weighed as
/// colour alone, since nobody knows what was added to it, or where its cup was not emptied.
fn volumes(mix: &JobMix) -> Option<(Millilitres, Millilitres)> {
    let recipe = mix.recipe.as_ref().filter(|recipe| recipe.readied.is_some())?;
    mix.totals.head.emptied?;
    let flows = mix.totals.flows;
    let whole = flows.poured + flows.reused - flows.drawn_off;
    let used = whole - flows.kept - flows.thrown;
    let volume = |mass: Grams| recipe.volume_at(mass.max(Grams::ZERO));
    Some((volume(whole), volume(used)))
}

fn product(mix: &JobMix) -> Option<&str> {
    Some(mix.recipe.as_ref()?.readied.as_ref()?.product.as_str())
}

fn is_given_up(mix: &JobMix) -> bool {
    mix.totals.head.ended.as_ref().is_some_and(|(_, kind)| kind == "mix/abandoned")
}

/// One job's mixes of a layer, the latest first, as one: what was estimated before the first of them, and what all of them
/// came to. None while one of them is under way, or where one of them says nothing.
fn of_job(mixes: &[&JobMix]) -> Option<Past> {
    let mut past: Option<Past> = None;
    for mix in mixes.iter().rev().filter(|mix| !is_given_up(mix)) {
        let (mixed, used) = volumes(mix)?;
        past = Some(match past {
            None => Past { estimated: mix.estimate?, mixed, used },
            Some(past) => Past { mixed: past.mixed + mixed, used: past.used + used, ..past },
        });
    }
    past
}

/// What the record has of a layer from the mixes of other jobs, the latest first as the book gives them: jobs in which it was
/// made with that product, or, where there is none, with any. The latest comes last, as `advice` takes it.
pub fn past(mixes: &[JobMix], product_code: Option<&str>, but: Option<JobId>) -> Vec<Past> {
    let mut order: Vec<JobId> = Vec::new();
    let mut jobs: BTreeMap<JobId, Vec<&JobMix>> = BTreeMap::new();
    for mix in mixes.iter().filter(|mix| Some(mix.job) != but) {
        jobs.entry(mix.job).or_insert_with(|| {
            order.push(mix.job);
            Vec::new()
        });
        jobs.entry(mix.job).or_default().push(mix);
    }
    let same = |mixes: &[&JobMix]| {
        product_code.is_some() && mixes.iter().all(|mix| is_given_up(mix) || product(mix) == product_code)
    };
    let of = |only_same: bool| -> Vec<Past> {
        let jobs = order.iter().rev().filter_map(|job| jobs.get(job));
        jobs.filter(|mixes| !only_same || same(mixes)).filter_map(|mixes| of_job(mixes)).collect()
    };
    let own = of(true);
    if own.is_empty() { of(false) } else { own }
}

/// How much a layer of a job wants, with the shop's record out of the book; none if it is not planned.
///
/// # Errors
/// The book cannot be asked.
pub fn wanted_by(
    book: &impl Ledger,
    (id, job): (JobId, &Job),
    layer: Role,
    catalogue: &Catalogue,
    usual: &Usual,
    smallest: Option<Grams>,
) -> Result<Option<Wanted>, StoreError> {
    let Some(plan) = job.plan().iter().find(|plan| plan.role == layer) else { return Ok(None) };
    let mixes = book.job_mixes(layer, MOST_PAST)?;
    let product = super::product_of(job, plan, catalogue).ok();
    let past = past(&mixes, product.map(|product| product.code.as_str()), Some(id));
    Ok(wanted(job, layer, catalogue, &past, usual, smallest))
}
