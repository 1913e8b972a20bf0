//! The same figures from the journal alone, for tests: every mix read from its own events, every price from its receipt,
//! nothing that is kept beside the journal but which mixes there are.

use super::*;
use crate::book::reading::{MixReader, TinPrice};
use crate::book::{Account, Envelope, MixId, MixesOf, SqliteStore, Store};
use std::convert::Infallible;

fn everything(book: &SqliteStore) -> Vec<Envelope> {
    let mut all = Vec::new();
    book.each(&mut |event| all.push(event.clone())).unwrap();
    all
}

/// What a tin cost, by the first event that brought it.
fn price_of(all: &[Envelope], label: &str) -> Option<TinPrice> {
    let tin = Account::Tin(label.to_owned());
    let came = all.iter().find(|event| {
        event.kind == "tin/received"
            && event.postings.iter().any(|posting| posting.account == tin && posting.micrograms > 0)
    });
    TinPrice::of_receipt(&came?.body)
}

fn of_kept(all: &[Envelope], mix: MixId) -> OfKept {
    let mut of_kept = OfKept::default();
    for event in all {
        for posting in event.postings.iter().filter(|posting| posting.account == Account::Leftover(mix)) {
            let mass = Grams::from_micrograms(posting.micrograms);
            of_kept.still_there += mass;
            if event.subject == mix {
                continue;
            }
            *(if event.kind.starts_with("mix/") { &mut of_kept.used_again } else { &mut of_kept.thrown }) -=
                mass;
        }
    }
    of_kept
}

/// All the figures of the period.
pub(in crate::report) fn waste(book: &SqliteStore, period: &Period, by: By) -> Waste {
    let all = everything(book);
    let mut adding = Adding::new(period, &[by]);
    let mut jobs = BTreeMap::<String, JobCost>::new();
    for totals in book.totals(MixesOf::Begun { from: period.from(), before: period.before() }).unwrap() {
        let mut reader = MixReader::default();
        all.iter().filter(|event| event.subject == totals.mix).for_each(|event| reader.take(event));
        let mut read = reader.read(&mut |label| Ok::<_, Infallible>(price_of(&all, label))).unwrap();
        read.of_kept = of_kept(&all, totals.mix);
        adding.take_mix(&totals, &read, true);
        adding.waste.mixes.push(MixCost::told(period, &totals, &read));
        if let Some(job) = totals.head.job.as_deref().filter(|job| !job.is_empty()) {
            jobs.entry(job.to_owned()).or_default().add(job, &read);
        }
    }
    let mut waste = adding.done();
    waste.jobs = jobs.into_values().collect();
    waste
}
