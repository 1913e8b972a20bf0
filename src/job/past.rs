//! The shop's own record of a layer, out of the book: what was estimated, mixed and used for the car, job after job.

use super::{Job, Past, Usual, Wanted, wanted};
use crate::book::{JobId, JobMix, Ledger, MixTotals, StoreError};
use crate::catalogue::{Catalogue, Role};
use crate::mix::Recipe;
use crate::units::{Grams, Millilitres};
use std::collections::BTreeMap;

/// So many mixes of a layer are looked at, the latest: what the shop did years ago says little of what it does now
/// (common practice, no source).
pub const MOST_PAST: u32 = 50;

/// A mass, and the volume it takes ready to spray.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Amount {
    /// The mass.
    pub mass: Grams,
    /// The volume by the densities of its recipe; none where it was weighed as colour alone, since nobody knows what was added
    /// to it.
    pub volume: Option<Millilitres>,
}

impl Amount {
    fn of(mass: Grams, recipe: Option<&Recipe>) -> Self {
        let readied = recipe.filter(|recipe| recipe.readied.is_some());
        Self { mass, volume: readied.map(|recipe| recipe.volume_at(mass.max(Grams::ZERO))) }
    }

    /// Both together.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        let volume = self.volume.zip(other.volume).map(|(one, other)| one + other);
        Self { mass: self.mass + other.mass, volume }
    }
}

/// What there was of a mix, without what was drawn off, and what of it was used; none while its cup is not emptied.
pub fn went(recipe: Option<&Recipe>, totals: &MixTotals) -> (Amount, Option<Amount>) {
    let flows = totals.flows;
    let whole = flows.poured + flows.reused - flows.drawn_off;
    let used = whole - flows.kept - flows.thrown;
    let used = totals.head.emptied.map(|_| Amount::of(used, recipe));
    (Amount::of(whole, recipe), used)
}

/// What was mixed of a mix and what was used of it, ready to spray.
fn volumes(mix: &JobMix) -> Option<(Millilitres, Millilitres)> {
    let (whole, used) = went(mix.recipe.as_ref(), &mix.totals);
    Some((whole.volume?, used?.volume?))
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::figures::MixHead;
    use crate::book::{Flows, Ids};
    use crate::mix::Additions;
    use crate::units::{Money, Stamp};

    fn ml(text: &str) -> Millilitres {
        Millilitres::parse(text).unwrap()
    }

    fn recipe(product: &str) -> Recipe {
        let shop = Catalogue::demo();
        let colour = shop.colour("PB-3140").unwrap();
        let recipe = Recipe::of_layer(&shop, colour, colour.layer(Role::Ground).unwrap()).unwrap();
        let mut sheet = shop.product("GC-2").unwrap().clone();
        sheet.code = crate::catalogue::ProductCode::new(product);
        recipe.activated(&shop, &sheet, Additions::default()).unwrap()
    }

    /// A mix of so many millilitres of which so many were kept.
    fn mix(job: u64, estimate: Option<&str>, mixed: &str, kept: &str, product: &str) -> JobMix {
        let recipe = recipe(product);
        let mass = |volume: &str| recipe.mass_for(ml(volume));
        let head = MixHead {
            ended: Some((Stamp(2), "mix/finished".into())),
            emptied: Some(Stamp(3)),
            ..MixHead::default()
        };
        JobMix {
            job: Ids::counted(job).job(Stamp(0)),
            estimate: estimate.map(ml),
            totals: MixTotals {
                mix: Ids::counted(job + 100).mix(Stamp(0)),
                head,
                // Ten grams more were poured than are in the mix, and drawn off again; half of what was left was thrown.
                flows: Flows {
                    poured: mass(mixed) + Grams::parse("10").unwrap(),
                    drawn_off: Grams::parse("10").unwrap(),
                    kept: mass(kept).times("0.5".parse().unwrap()),
                    thrown: mass(kept).times("0.5".parse().unwrap()),
                    ..Flows::default()
                },
                cost: Money::ZERO,
                unpriced: Grams::ZERO,
            },
            recipe: Some(recipe),
        }
    }

    fn shown(past: &[Past]) -> Vec<[String; 3]> {
        let row = |past: &Past| [past.estimated, past.mixed, past.used].map(|volume| volume.with_decimals(3));
        past.iter().map(row).collect()
    }

    #[test]
    fn what_was_mixed_less_what_was_left_the_latest_last() {
        let mixes = [mix(2, Some("300"), "400", "100", "GC-2"), mix(1, Some("200"), "250", "0", "GC-2")];
        let found = past(&mixes, Some("GC-2"), None);
        assert_eq!(shown(&found), [["200.000", "250.000", "250.000"], ["300.000", "400.000", "300.000"]]);
        let but = past(&mixes, Some("GC-2"), Some(mixes[0].job));
        assert_eq!(shown(&but), [["200.000", "250.000", "250.000"]]);
    }

    /// It ran short: 250 and 60 of which 20 was left, against what was estimated before the first.
    #[test]
    fn two_mixes_of_a_layer_of_a_job_are_one() {
        let mixes = [mix(1, Some("240"), "60", "20", "GC-2"), mix(1, Some("230"), "250", "0", "GC-2")];
        assert_eq!(shown(&past(&mixes, None, None)), [["230.000", "310.000", "290.000"]]);
    }

    #[test]
    fn the_same_product_goes_before_others() {
        let mixes = [mix(2, Some("300"), "400", "0", "GC-9"), mix(1, Some("200"), "250", "0", "GC-2")];
        assert_eq!(shown(&past(&mixes, Some("GC-2"), None)), [["200.000", "250.000", "250.000"]]);
        assert_eq!(past(&mixes, Some("GC-7"), None).len(), 2);
        assert_eq!(past(&mixes, None, None).len(), 2);
    }

    #[test]
    fn what_says_nothing_is_passed_over() {
        let whole = mix(1, Some("200"), "250", "50", "GC-2");
        let under_way = JobMix {
            totals: MixTotals { head: MixHead::default(), ..whole.totals.clone() },
            ..whole.clone()
        };
        let mut given_up = under_way.clone();
        given_up.totals.head.ended = Some((Stamp(2), "mix/abandoned".into()));
        let mut unready = whole.clone();
        unready.recipe.as_mut().unwrap().readied = None;
        let unestimated = JobMix { estimate: None, ..whole.clone() };
        for nothing in [under_way.clone(), unready, unestimated, JobMix { recipe: None, ..whole.clone() }] {
            assert_eq!(past(&[nothing], None, None), []);
        }
        // Nor does a job say anything of a layer of which a second mix is under way; one given up is none.
        assert_eq!(past(&[under_way, whole.clone()], None, None), []);
        assert_eq!(past(&[given_up, whole.clone()], None, None), past(&[whole], None, None));
    }
}
