//! What the open jobs still need of each toner: their layers that are not mixed yet, in grams by their formulas, or out
//! of the tin, made ready.

use super::wanted::{WantLack, product_of, readied, wanted};
use super::{Job, JobJournal, LayerPlan, MOST_PAST, Usual, past};
use crate::book::{JobId, JobMix, JobsOf, Ledger, Store, StoreError};
use crate::catalogue::{Catalogue, Role, TonerCode};
use crate::mix::Recipe;
use crate::units::{Grams, Millilitres};
use std::collections::{BTreeMap, BTreeSet};

/// What open jobs need.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StillNeeded {
    /// How much of each toner, hardener and thinner, by its code; each once.
    pub toners: Vec<(TonerCode, Grams)>,
    /// The layers of which that cannot be said, by the job's name, and why.
    pub unknown: Vec<(String, Role, String)>,
}

impl StillNeeded {
    /// What could not be counted in, a sentence for each layer.
    pub fn notes(&self) -> impl Iterator<Item = String> + '_ {
        let note = |(job, layer, why): &(String, Role, String)| {
            format!("not counted in, {} of '{job}': {why}", layer.name())
        };
        self.unknown.iter().map(note)
    }
}

/// The colours of the jobs that are open, code and variant, each once: what [`still_needed`] looks for in the shop's files.
/// A book of an older layout knows of no job.
///
/// # Errors
/// The book cannot be asked.
pub fn open_colours<B: Ledger>(book: &B) -> Result<BTreeSet<(String, String)>, StoreError> {
    match book.jobs(JobsOf::Open) {
        Err(StoreError::Older { .. }) => Ok(BTreeSet::new()),
        rows => Ok(rows?.into_iter().filter_map(|row| Some((row.colour?, row.variant?))).collect()),
    }
}

/// So much of a recipe as grams of each of its toners.
pub fn in_toners(recipe: &Recipe, volume: Millilitres) -> impl Iterator<Item = (TonerCode, Grams)> + use<'_> {
    let mass = recipe.mass_for(volume);
    let shares = recipe.shares();
    recipe.lines().iter().zip(shares).map(move |(line, share)| (line.toner.clone(), mass * share))
}

/// What the jobs that are open still need: for each layer that is not mixed for the car yet, as much as it wants by the
/// shop's own record, whatever the smallest volume is that can be weighed. A book of an older layout knows of none.
///
/// # Errors
/// The book cannot be asked.
pub fn still_needed<B: Ledger + Store>(
    book: &B,
    catalogue: &Catalogue,
    usual: &Usual,
) -> Result<StillNeeded, StoreError> {
    match reckoned(book, catalogue, usual) {
        Err(StoreError::Older { .. }) => Ok(StillNeeded::default()),
        needed => needed,
    }
}

fn reckoned<B: Ledger + Store>(
    book: &B,
    catalogue: &Catalogue,
    usual: &Usual,
) -> Result<StillNeeded, StoreError> {
    let mut records: BTreeMap<Role, Vec<JobMix>> = BTreeMap::new();
    let mut toners: BTreeMap<TonerCode, Grams> = BTreeMap::new();
    let mut unknown = Vec::new();
    for row in book.jobs(JobsOf::Open)? {
        // One that cannot be read needs nothing that anybody could say; `check` names it.
        let Ok(journal) = JobJournal::fold(row.job, &book.events(row.job.subject())?) else { continue };
        let job = journal.job();
        for layer in job.standings().filter(super::Standing::is_to_mix) {
            let role = layer.plan.role;
            let mixes = match records.entry(role) {
                std::collections::btree_map::Entry::Occupied(known) => known.into_mut(),
                std::collections::btree_map::Entry::Vacant(none) => {
                    none.insert(book.job_mixes(role, MOST_PAST)?)
                }
            };
            match of_layer(job, layer.plan, row.job, catalogue, mixes, usual) {
                Ok(needed) => {
                    for (toner, mass) in needed {
                        *toners.entry(toner).or_default() += mass;
                    }
                }
                Err(why) => unknown.push((job.name.clone(), role, why)),
            }
        }
    }
    Ok(StillNeeded { toners: toners.into_iter().collect(), unknown })
}

fn of_layer(
    job: &Job,
    plan: &LayerPlan,
    id: JobId,
    catalogue: &Catalogue,
    mixes: &[JobMix],
    usual: &Usual,
) -> Result<Vec<(TonerCode, Grams)>, String> {
    let said = |lack: WantLack| lack.to_string();
    let product = product_of(job, plan, catalogue).map_err(said)?;
    let past = past(mixes, Some(product.code.as_str()), Some(id));
    let wanted = wanted(job, plan.role, catalogue, &past, usual, None);
    let wanted = wanted.ok_or("it is not planned")?;
    let Some(to_mix) = wanted.to_mix else {
        return Err(wanted.lacks.map_or_else(String::new, said));
    };
    let recipe = readied(job, plan, catalogue).map_err(said)?;
    let recipe = recipe.ok_or_else(|| {
        let product = product.code.as_str();
        format!("the shop has no formula for it, and the product {product} does not say what is in its tin")
    })?;
    Ok(in_toners(&recipe, to_mix.wanted).collect())
}
