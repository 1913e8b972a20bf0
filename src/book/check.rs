//! Is the book well: does it add up, does it follow on, does every mix hold what the book says?

use super::{Account, Journal, MixId, Store, StoreError};
use crate::catalogue::TonerCode;
use crate::units::Grams;
use std::collections::BTreeMap;

/// What looking through a book came to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Report {
    /// How many mixes were looked at.
    pub mixes: usize,
    /// How many events.
    pub events: usize,
    /// What is wrong, a sentence each.
    pub faults: Vec<String>,
}

/// Looks through a whole book.
pub fn check(store: &dyn Store) -> Result<Report, StoreError> {
    let mut report = Report { faults: store.faults()?, ..Report::default() };
    let mut held: BTreeMap<MixId, BTreeMap<TonerCode, Grams>> = BTreeMap::new();
    for balance in store.balances()? {
        if let Account::Cup(mix) = balance.account {
            held.entry(mix).or_default().insert(balance.toner, Grams::from_micrograms(balance.micrograms));
        }
    }
    for summary in store.mixes()? {
        report.mixes = report.mixes.saturating_add(1);
        let number = summary.number;
        let events = store.events(summary.mix)?;
        report.events = report.events.saturating_add(events.len());
        let flaws = events.iter().filter_map(|event| Some((event.id, event.flaw()?)));
        report.faults.extend(flaws.map(|(id, flaw)| format!("mix {number}, event {id}: {flaw}")));
        match Journal::fold(summary.mix, &events) {
            Err(error) => report.faults.push(format!("mix {number}: {error}")),
            Ok(journal) => {
                let booked = held.remove(&summary.mix).unwrap_or_default();
                let in_cup = journal.in_cup();
                if booked != in_cup {
                    let sum = |held: &BTreeMap<TonerCode, Grams>| held.values().copied().sum::<Grams>();
                    report.faults.push(format!(
                        "mix {number}: its cup holds {} g by the book and {} g by its events",
                        sum(&booked),
                        sum(&in_cup)
                    ));
                }
            }
        }
    }
    report
        .faults
        .extend(held.keys().map(|mix| format!("a cup {mix} holds paint, and no mix is known for it")));
    Ok(report)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::testing::{envelopes, muddle};
    use crate::book::{Appended, Balance, Envelope, Ids, MixSummary, Opened, SqliteStore};
    use crate::units::Stamp;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(40))]

        /// Whatever a painter does: every event's postings sum to zero, and the cup's balance is what it holds.
        #[test]
        fn the_book_and_the_mix_agree(seed in prop::collection::vec((any::<u8>(), 0_u16..400), 0..40)) {
            let folder = tempfile::tempdir().unwrap();
            let Opened::ToWrite(mut store) = SqliteStore::open(&folder.path().join("book"), Stamp(1)).unwrap() else {
                panic!("nobody else has it")
            };
            let (_, written) = envelopes(&mut Ids::counted(1), &muddle(&seed));
            for envelope in &written {
                prop_assert_eq!(envelope.flaw(), None);
                store.append(envelope).unwrap();
            }
            let report = check(&store).unwrap();
            prop_assert_eq!(&report.faults, &Vec::<String>::new());
            prop_assert_eq!((report.mixes, report.events), (1, written.len()));
        }
    }

    /// A store that hands out what it is given.
    struct Told {
        events: Vec<Envelope>,
        mixes: Vec<MixSummary>,
        balances: Vec<Balance>,
    }

    impl Store for Told {
        fn append(&mut self, _: &Envelope) -> Result<Appended, StoreError> {
            Err(StoreError::LookOnly)
        }
        fn events(&self, _: MixId) -> Result<Vec<Envelope>, StoreError> {
            Ok(self.events.clone())
        }
        fn mixes(&self) -> Result<Vec<MixSummary>, StoreError> {
            Ok(self.mixes.clone())
        }
        fn balances(&self) -> Result<Vec<Balance>, StoreError> {
            Ok(self.balances.clone())
        }
        fn faults(&self) -> Result<Vec<String>, StoreError> {
            Ok(Vec::new())
        }
    }

    #[test]
    fn what_does_not_add_up_is_found() {
        let folder = tempfile::tempdir().unwrap();
        let Opened::ToWrite(mut store) = SqliteStore::open(&folder.path().join("book"), Stamp(1)).unwrap()
        else {
            panic!("nobody else has it")
        };
        let (mix, written) = envelopes(&mut Ids::counted(1), &crate::book::testing::whole());
        for envelope in &written {
            store.append(envelope).unwrap();
        }
        let told = || Told {
            events: store.events(mix).unwrap(),
            mixes: store.mixes().unwrap(),
            balances: store.balances().unwrap(),
        };
        assert_eq!(check(&told()).unwrap().faults, Vec::<String>::new());
        let fault = |spoil: fn(&mut Told)| {
            let mut told = told();
            spoil(&mut told);
            check(&told).unwrap().faults.join("; ")
        };
        assert!(fault(|told| told.balances.clear()).contains("by the book"));
        assert!(fault(|told| drop(told.events.remove(1))).contains("events are missing"));
        assert!(fault(|told| told.mixes.clear()).contains("no mix is known"));
        assert!(
            fault(|told| {
                let poured = told.events.iter_mut().find(|event| !event.postings.is_empty()).unwrap();
                poured.postings[0].micrograms += 1;
            })
            .contains("instead of zero")
        );
    }
}
