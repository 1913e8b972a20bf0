use super::*;
use crate::book::{JobsOf, Ledger as _, MixesOf, Opened, SqliteStore, Store as _, check};
use crate::job::{Job, JobJournal, Step};
use crate::units::Grams;

/// 2026-11-26, a Thursday.
const MORNING: Stamp = Stamp(1_795_651_200_000_000);
const NOW: Stamp = Stamp(MORNING.0 + 11 * 60 * MINUTE);

fn past(morning: Stamp, now: Stamp, seed: u64) -> Vec<Envelope> {
    super::past(&Catalogue::demo(), 90, morning, now, Ids::counted(seed), seed).unwrap()
}

fn book(events: Vec<Envelope>) -> (SqliteStore, tempfile::TempDir) {
    let folder = tempfile::tempdir().unwrap();
    let Opened::ToWrite(mut store) = SqliteStore::open(&folder.path().join("book"), Stamp(1)).unwrap() else {
        panic!("nobody else has it")
    };
    let mut events = events.into_iter();
    store.fill(|| Ok::<_, crate::book::StoreError>(events.next())).unwrap();
    (store, folder)
}

#[test]
fn a_book_takes_it_and_finds_nothing_wrong_with_it() {
    let (store, _folder) = book(past(MORNING, NOW, 1));
    assert_eq!(check::check(&store).unwrap().faults, Vec::<String>::new());
    assert_eq!(crate::stock::faults(&store).unwrap(), Vec::<String>::new());
    assert_eq!(crate::job::faults(&store).unwrap(), Vec::<String>::new());
    // No tin gave more than was in it.
    let tins = crate::stock::shelf(&store).unwrap();
    assert!(tins.len() > Catalogue::demo().toners.len());
    assert!(tins.iter().all(|tin| !tin.holds.is_negative()), "{tins:?}");
}

#[test]
fn there_is_something_for_everybody_to_look_at() {
    let (store, _folder) = book(past(MORNING, NOW, 1));
    let mixes = store.totals(MixesOf::Latest(10_000)).unwrap();
    let sum = |of: fn(&crate::book::MixTotals) -> Grams| mixes.iter().map(of).sum::<Grams>();
    let thrown = sum(|mix| mix.flows.thrown);
    assert!(thrown.is_positive() && sum(|mix| mix.flows.kept).is_positive());
    assert!(sum(|mix| mix.flows.sprayed) > thrown, "more is sprayed than thrown away");
    let of_clear = mixes.iter().filter(|mix| mix.head.subject[2].as_deref() == Some("clear"));
    assert!(of_clear.count() > 20, "clear is weighed out of its tin");
    let jobs = store.jobs(JobsOf::All).unwrap();
    assert!(jobs.len() > 50, "{}", jobs.len());
    let [open] = store.jobs(JobsOf::Open).unwrap().try_into().unwrap();
    let open = JobJournal::fold(open.job, &store.events(open.job.subject()).unwrap()).unwrap();
    let job: &Job = open.job();
    assert_eq!(job.cards().count(), 3);
    assert!(matches!(job.next(NOW), Step::ChooseCard { .. }), "{:?}", job.next(NOW));
    assert!(job.opened > MORNING && job.last < NOW);
}

#[test]
fn every_day_has_a_past_and_none_of_it_is_to_come() {
    for (seed, morning) in (0..7).map(|day| (day, Stamp(MORNING.0 + i64::try_from(day).unwrap() * DAY))) {
        // Just after midnight, and late at night.
        for now in [Stamp(morning.0 + MINUTE), Stamp(morning.0 + 23 * 60 * MINUTE)] {
            let events = past(morning, now, seed);
            assert!(events.is_sorted_by_key(|event| event.at));
            assert!(events.iter().all(|event| event.at < now), "{:?}", events.last());
            assert!(events.first().unwrap().at.0 >= morning.0 - 90 * DAY);
        }
    }
}

#[test]
fn the_same_seed_is_the_same_past() {
    assert_eq!(past(MORNING, NOW, 3), past(MORNING, NOW, 3));
    assert_ne!(past(MORNING, NOW, 3), past(MORNING, NOW, 4));
}

#[test]
fn a_shop_that_lacks_what_it_needs_has_none() {
    let shop = Catalogue { products: Vec::new(), ..Catalogue::demo() };
    let why = super::past(&shop, 90, MORNING, NOW, Ids::counted(1), 1).unwrap_err();
    assert!(why.to_string().starts_with("no product for the "), "{why}");
}
