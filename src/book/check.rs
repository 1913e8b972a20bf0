//! Is the book well: does it add up, does it follow on, does every mix hold what the book says?

use super::far::{Far, Tell};
use super::figures::Reckoning;
use super::scale_record::{SCALE_KINDS, scale_event_of};
use super::{Account, Envelope, JOB_KINDS, Journal, MIX_KINDS, MixId, Store, StoreError};
use crate::catalogue::TonerCode;
use crate::units::Grams;
use std::collections::{BTreeMap, BTreeSet};

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

impl Report {
    /// What was found, a line each, for a person.
    pub fn lines(&self) -> Vec<String> {
        let counted = format!("{} mixes, {} events", self.mixes, self.events);
        let mut lines = vec![match self.faults.len() {
            0 => format!("the book is well: {counted}, every gram accounted for"),
            1 => format!("the book has a fault: {counted}"),
            many => format!("the book has {many} faults: {counted}"),
        }];
        lines.extend(self.faults.iter().map(|fault| format!("  {fault}")));
        lines
    }
}

/// Masses by toner.
type Held = BTreeMap<TonerCode, Grams>;

/// Looks through a whole book. An error only if it cannot be read at all: one mix that cannot be read is a
/// fault, and the others are looked at.
pub fn check(store: &dyn Store) -> Result<Report, StoreError> {
    check_telling(store, &mut |_| ())
}

/// The same; `tell` hears how far it is.
pub fn check_telling(store: &dyn Store, tell: Tell<'_>) -> Result<Report, StoreError> {
    tell(Far::begun("the book's file is looked through"));
    let mut report = Report { faults: store.faults()?, ..Report::default() };
    let mut held: BTreeMap<MixId, Held> = BTreeMap::new();
    tell(Far::begun("what each account holds is read"));
    for balance in store.balances()? {
        if let Account::Cup(mix) = balance.account {
            held.entry(mix).or_default().insert(balance.toner, Grams::from_micrograms(balance.micrograms));
        }
    }
    let mut mixes = BTreeSet::new();
    let all = store.mixes()?;
    for (place, summary) in all.iter().enumerate() {
        tell(Far::counted("mixes looked through", place, all.len()));
        mixes.insert(summary.mix);
        report.mixes = report.mixes.saturating_add(1);
        let number = summary.number;
        let booked = held.remove(&summary.mix).unwrap_or_default();
        let faults = match store.events(summary.mix) {
            Ok(events) => {
                report.events = report.events.saturating_add(events.len());
                mix_faults(summary.mix, &events, &booked)
            }
            Err(error) => vec![error.to_string()],
        };
        report.faults.extend(faults.into_iter().map(|fault| format!("mix {number}: {fault}")));
    }
    // Those that stand alone; one in a mix's journal was counted with its mix.
    for event in store.scale_events()?.iter().filter(|event| event.subject == event.id.alone()) {
        report.events = report.events.saturating_add(1);
        report.faults.extend(scale_faults(event));
    }
    take_others(store, &mixes, &mut report, tell)?;
    report
        .faults
        .extend(held.keys().map(|mix| format!("a cup {mix} holds paint, and no mix is known for it")));
    let counted = store.count()?;
    if usize::try_from(counted).ok() != Some(report.events) {
        let read = report.events;
        report
            .faults
            .push(format!("the book counts {counted} events, and {read} could be read with their mix"));
    }
    Ok(report)
}

/// How many differences are named; a book that is wrong in one place is often wrong in all.
const MOST_NAMED: usize = 5;

/// Looks at the events of jobs, at those of other wings that stand alone, and holds the figures that are kept against the
/// journal. What a job's events mean is not known here: only that none is missing and that none moves paint.
fn take_others(
    store: &dyn Store,
    mixes: &BTreeSet<MixId>,
    report: &mut Report,
    tell: Tell<'_>,
) -> Result<(), StoreError> {
    let mut reckoned = Reckoning::default();
    let mut far = Far { all: store.count()?, ..Far::begun("events added up") };
    let mut places: BTreeMap<MixId, u32> = BTreeMap::new();
    store.each(&mut |event| {
        tell(far);
        far.done = far.done.saturating_add(1);
        reckoned.take(event);
        if event.kind.starts_with(JOB_KINDS) && !mixes.contains(&event.subject) {
            report.events = report.events.saturating_add(1);
            let place = places.entry(event.subject).or_default();
            report.faults.extend(job_faults(event, *place));
            *place = event.sequence.saturating_add(1);
        } else if event.subject == event.id.alone() && !event.kind.starts_with(SCALE_KINDS) {
            report.events = report.events.saturating_add(1);
            let flaw = event.flaw().map(|flaw| format!("event {} ({}): {flaw}", event.id, event.kind));
            report.faults.extend(flaw);
        }
    })?;
    tell(Far::begun("the figures kept beside the journal are held against it"));
    let Some(kept) = store.figures()? else { return Ok(()) };
    let differences = reckoned.figures().differences(&kept, MOST_NAMED);
    if !differences.is_empty() {
        report.faults.push(
            "the figures kept beside the journal are not what the journal comes to. The journal is what counts, and \
             nothing in it was lost: have them made anew with pourbook check --rebuild"
                .to_owned(),
        );
        report.faults.extend(differences);
    }
    Ok(())
}

fn job_faults(event: &Envelope, place: u32) -> Vec<String> {
    let named = format!("event {} ({})", event.id, event.kind);
    let mut faults: Vec<_> = event.flaw().map(|flaw| format!("{named}: {flaw}")).into_iter().collect();
    if event.sequence != place {
        let found = event.sequence;
        faults.push(format!(
            "{named} stands at place {found} of its job and belongs at {place}: events are missing"
        ));
    }
    if !event.postings.is_empty() {
        faults.push(format!("{named} moves paint, and a job's event cannot"));
    }
    faults
}

fn scale_faults(envelope: &Envelope) -> Vec<String> {
    let id = envelope.id;
    let mut faults: Vec<_> = envelope.flaw().map(|flaw| format!("event {id}: {flaw}")).into_iter().collect();
    match scale_event_of(envelope) {
        Ok(event) => {
            let flaw = event.and_then(|event| event.flaw());
            faults.extend(flaw.map(|flaw| format!("event {id} ({}): {flaw}", envelope.kind)));
        }
        Err(error) => faults.push(error.to_string()),
    }
    if !envelope.postings.is_empty() {
        faults.push(format!("event {id} ({}) moves paint, and a scale's event cannot", envelope.kind));
    }
    faults
}

fn mix_faults(mix: MixId, events: &[Envelope], booked: &Held) -> Vec<String> {
    let flaws = events.iter().filter_map(|event| Some((event.id, event.flaw()?)));
    let mut faults: Vec<_> = flaws.map(|(id, flaw)| format!("event {id}: {flaw}")).collect();
    // All that was ever posted to the cup is what its balance says; what the mix's own events put into it is
    // what the mix says it holds. Other wings may have taken from it since.
    differences(&posted(mix, events), booked, "its balance", &mut faults);
    match Journal::fold(mix, events) {
        Err(error) => faults.push(error.to_string()),
        Ok(journal) => {
            let own = events.iter().filter(|event| event.kind.starts_with(MIX_KINDS));
            differences(&posted(mix, own), &journal.in_cup(), "the mix", &mut faults);
        }
    }
    faults
}

/// What those events put into the mix's cup.
fn posted<'a>(mix: MixId, events: impl IntoIterator<Item = &'a Envelope>) -> Held {
    let mut sums = Held::new();
    for posting in events.into_iter().flat_map(|event| &event.postings) {
        if posting.account == Account::Cup(mix) {
            *sums.entry(posting.toner.clone()).or_insert(Grams::ZERO) +=
                Grams::from_micrograms(posting.micrograms);
        }
    }
    sums
}

fn differences(posted: &Held, said: &Held, who: &str, faults: &mut Vec<String>) {
    let toners: BTreeSet<_> = posted.keys().chain(said.keys()).collect();
    for toner in toners {
        let of = |held: &Held| held.get(toner).copied().unwrap_or(Grams::ZERO);
        let (posted, said) = (of(posted), of(said));
        if posted != said {
            let toner = toner.as_str();
            faults
                .push(format!("of {toner}, {posted} g were posted to the cup, and by {who} it is {said} g"));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::figures::Figures;
    use crate::book::testing::{alone, envelopes, muddle};
    use crate::book::{Appended, Balance, Ids, MixSummary, Opened, SqliteStore};
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
        scale_events: Vec<Envelope>,
        mixes: Vec<MixSummary>,
        balances: Vec<Balance>,
        figures: Option<Figures>,
        count: u64,
        faults: Vec<String>,
    }

    impl Store for Told {
        fn append_all(&mut self, _: &[Envelope]) -> Result<(), StoreError> {
            unreachable!("nothing is written here")
        }
        fn append(&mut self, _: &Envelope) -> Result<Appended, StoreError> {
            Err(StoreError::LookOnly { why: "it is made up".into() })
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
        fn of_scale(&self, _: &str, _: &str, _: u32) -> Result<Vec<Envelope>, StoreError> {
            Ok(Vec::new())
        }
        fn scale_events(&self) -> Result<Vec<Envelope>, StoreError> {
            Ok(self.scale_events.clone())
        }
        fn each(&self, take: &mut dyn FnMut(&Envelope)) -> Result<(), StoreError> {
            self.events.iter().chain(&self.scale_events).for_each(take);
            Ok(())
        }
        fn figures(&self) -> Result<Option<Figures>, StoreError> {
            Ok(self.figures.clone())
        }
        fn count(&self) -> Result<u64, StoreError> {
            Ok(self.count)
        }
        fn faults(&self) -> Result<Vec<String>, StoreError> {
            Ok(self.faults.clone())
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
        assert!(written.iter().all(|envelope| store.append(envelope).is_ok()));
        let told = || Told {
            events: store.events(mix).unwrap(),
            scale_events: store.scale_events().unwrap(),
            mixes: store.mixes().unwrap(),
            balances: store.balances().unwrap(),
            figures: store.figures().unwrap(),
            count: store.count().unwrap(),
            faults: store.faults().unwrap(),
        };
        assert_eq!(check(&told()).unwrap().faults, Vec::<String>::new());
        let mut heard = Vec::new();
        check_telling(&told(), &mut |far| heard.push(far)).unwrap();
        let events = u64::try_from(written.len()).unwrap();
        let counted = (0..events).map(|done| Far { done, all: events, ..Far::begun("events added up") });
        let mut said = vec![
            Far::begun("the book's file is looked through"),
            Far::begun("what each account holds is read"),
            Far { all: 1, ..Far::begun("mixes looked through") },
        ];
        said.extend(counted);
        said.push(Far::begun("the figures kept beside the journal are held against it"));
        assert_eq!(heard, said);
        let fault = |spoil: fn(&mut Told)| {
            let mut told = told();
            spoil(&mut told);
            check(&told).unwrap().faults.join("; ")
        };
        assert!(fault(|told| told.balances.clear()).contains("by its balance"));
        assert!(fault(|told| drop(told.events.remove(1))).contains("events are missing"));
        assert!(fault(|told| told.mixes.clear()).contains("no mix is known"));
        assert!(
            fault(|told| {
                let poured = told.events.iter_mut().find(|event| !event.postings.is_empty()).unwrap();
                poured.postings[0].micrograms += 1;
            })
            .contains("instead of zero")
        );
        assert!(
            fault(|told| {
                let mut alone = told.events[0].clone();
                (alone.subject, alone.kind) = (alone.id.alone(), "scale/checked".to_owned());
                told.scale_events.push(alone);
            })
            .contains("cannot be read")
        );
        assert!(
            fault(|told| *told.figures.as_mut().unwrap().balances.values_mut().next().unwrap() += 1)
                .contains("made anew")
        );
        assert!(fault(|told| told.count += 1).contains("counts"));
        assert!(fault(|told| told.faults.push("page 3 is torn".into())).contains("page 3"));
        // More was poured by the event than was posted, and the postings still sum to zero.
        assert!(
            fault(|told| {
                let poured = told.events.iter_mut().find(|event| !event.postings.is_empty()).unwrap();
                poured.postings.iter_mut().for_each(|posting| posting.micrograms *= 2);
            })
            .contains("by the mix")
        );
        // A job's events are counted, none may be missing, and none moves paint.
        let with_job = |places: &[u32], spoil: fn(&mut Envelope)| {
            let mut told = told();
            let mut ids = Ids::counted(8);
            let job = ids.job(Stamp(1)).subject();
            for place in places {
                let mut event = alone(&mut ids, Stamp(1), "job/noted", r#"{"text":"x"}"#, &[]);
                (event.subject, event.sequence) = (job, *place);
                spoil(&mut event);
                told.scale_events.push(event);
                told.count += 1;
            }
            check(&told).unwrap().faults.join("; ")
        };
        assert_eq!(with_job(&[0, 1, 2], |_| ()), "");
        assert!(with_job(&[0, 2], |_| ()).contains("at place 2 of its job and belongs at 1"));
        assert!(with_job(&[0], |event| event.bench.push('\n')).contains("its bench"));
        let paid = |event: &mut Envelope| {
            for micrograms in [5, -5] {
                let posting = crate::book::Posting {
                    account: Account::Tin("1".into()),
                    toner: TonerCode::new("A"),
                    micrograms,
                };
                event.postings.push(posting);
            }
        };
        assert!(with_job(&[0], paid).contains("moves paint, and a job's event cannot"));
        let report = check(&told()).unwrap();
        assert_eq!(report.lines().len(), 1);
        assert!(report.lines()[0].starts_with("the book is well: 1 mixes"), "{:?}", report.lines());
    }
}
