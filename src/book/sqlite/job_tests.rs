//! What is kept of jobs is what their events say, whatever they say.

use super::*;
use crate::book::check::check;
use crate::book::figures::{JobRow, Reckoning};
use crate::book::testing::{alone, envelopes, whole};
use crate::book::{EventId, Ids, JobId, JobsOf, Ledger as _, MixesOf, Opened};
use crate::mix::Event;
use crate::units::Stamp;
use proptest::prelude::*;

fn fresh() -> (tempfile::TempDir, SqliteStore) {
    let folder = tempfile::tempdir().unwrap();
    let Opened::ToWrite(store) = SqliteStore::open(&folder.path().join("book"), Stamp(1)).unwrap() else {
        panic!("nobody else has it")
    };
    (folder, store)
}

/// Writes events of jobs, each at the next place of its job.
struct Writer {
    store: SqliteStore,
    ids: Ids,
    reckoned: Reckoning,
}

impl Writer {
    fn new(store: SqliteStore) -> Self {
        Self { store, ids: Ids::counted(1), reckoned: Reckoning::default() }
    }

    fn job(&mut self) -> JobId {
        self.ids.job(Stamp(1))
    }

    fn write(&mut self, job: JobId, at: i64, kind: &str, body: &str) -> Result<EventId, StoreError> {
        let mut envelope = alone(&mut self.ids, Stamp(at), kind, body, &[]);
        envelope.subject = job.subject();
        envelope.sequence = u32::try_from(self.store.events(job.subject())?.len()).unwrap();
        self.append(&envelope).map(|()| envelope.id)
    }

    fn append(&mut self, envelope: &Envelope) -> Result<(), StoreError> {
        self.store.append(envelope)?;
        self.reckoned.take(envelope);
        Ok(())
    }

    /// A finished mix that was begun for that job, and its identity.
    fn mix_for(&mut self, job: &str) -> MixId {
        let mut events = whole();
        let Event::Started(start) = &mut events[0] else { panic!("a mix begins with its start") };
        start.job = Some(job.to_owned());
        let (mix, written) = envelopes(&mut self.ids, &events);
        for envelope in &written {
            self.append(envelope).unwrap();
        }
        mix
    }
}

const OPENED: &str = r#"{"kind":"job/opened","name":"26-118","colour":"PB-1","variant":"standard"}"#;

#[test]
fn a_job_is_found_by_its_name_and_while_it_is_open() {
    let (_folder, store) = fresh();
    let mut book = Writer::new(store);
    let (first, second) = (book.job(), book.job());
    book.write(first, 10, "job/opened", OPENED).unwrap();
    book.write(second, 20, "job/opened", &OPENED.replace("26-118", "26-119")).unwrap();
    book.write(first, 30, "job/amended", r#"{"vehicle":"van, white"}"#).unwrap();
    book.write(first, 40, "job/noted", r#"{"text":"a run","vehicle":"none of it"}"#).unwrap();
    let row = |found: Vec<JobRow>| found.into_iter().map(|row| row.name).collect::<Vec<_>>();
    let named = book.store.jobs(JobsOf::Name("26-118")).unwrap().pop().unwrap();
    assert_eq!(
        named,
        JobRow {
            job: first,
            number: 1,
            name: "26-118".into(),
            vehicle: Some("van, white".into()),
            colour: Some("PB-1".into()),
            variant: Some("standard".into()),
            operator: "Robin".into(),
            opened: Stamp(10),
            last: Stamp(40),
            closed: None,
        }
    );
    assert_eq!(row(book.store.jobs(JobsOf::Open).unwrap()), ["26-118", "26-119"]);
    book.write(first, 50, "job/closed", "{}").unwrap();
    assert_eq!(row(book.store.jobs(JobsOf::Open).unwrap()), ["26-119"]);
    assert_eq!(book.store.jobs(JobsOf::Job(first)).unwrap()[0].closed, Some(Stamp(50)));
    for (since, found) in [(49, 1), (50, 1), (51, 0)] {
        let rows = book.store.jobs(JobsOf::ClosedSince(Stamp(since))).unwrap();
        assert_eq!(row(rows).len(), found, "{since}");
    }
    assert_eq!(row(book.store.jobs(JobsOf::All).unwrap()), ["26-118", "26-119"]);
    assert_eq!(book.store.jobs(JobsOf::Name("26-120")).unwrap(), []);
    // A name is used once, also by one that is closed; nothing of a job that is refused is in the book.
    let third = book.job();
    let events = book.store.count().unwrap();
    let twice = book.write(third, 60, "job/opened", OPENED).unwrap_err().to_string();
    assert!(twice.contains("a name is used once"), "{twice}");
    assert_eq!(book.store.count().unwrap(), events);
    book.write(first, 70, "job/reopened", "{}").unwrap();
    assert_eq!(row(book.store.jobs(JobsOf::Open).unwrap()), ["26-118", "26-119"]);
    assert_eq!(check(&book.store).unwrap().faults, Vec::<String>::new());
    assert_eq!(book.store.events(first.subject()).unwrap().len(), 5);
}

#[test]
fn a_mix_is_found_by_the_job_it_was_begun_for_and_by_the_one_it_was_sprayed_on() {
    let (_folder, store) = fresh();
    let mut book = Writer::new(store);
    let mix = book.mix_for("26-118");
    let (other, plain) = envelopes(&mut book.ids, &whole());
    for envelope in &plain {
        book.append(envelope).unwrap();
    }
    assert_eq!(book.store.begun_for(mix).unwrap().as_deref(), Some("26-118"));
    assert_eq!(book.store.begun_for(other).unwrap(), None);
    let mixes = |store: &SqliteStore, of| -> Vec<MixId> {
        store.totals(of).unwrap().into_iter().map(|totals| totals.mix).collect()
    };
    assert_eq!(mixes(&book.store, MixesOf::For("26-118")), [mix]);
    assert_eq!(mixes(&book.store, MixesOf::Job("26-118")), []);
    // The other one was sprayed on it, though it was begun for none.
    let next = u32::try_from(plain.len()).unwrap();
    let mut emptied =
        alone(&mut book.ids, Stamp(5), "mix/emptied", r#"{"kind":"emptied","job":"26-118"}"#, &[]);
    (emptied.subject, emptied.sequence) = (other, next);
    book.append(&emptied).unwrap();
    assert_eq!(mixes(&book.store, MixesOf::For("26-118")), [mix, other]);
    assert_eq!(mixes(&book.store, MixesOf::Job("26-118")), [other]);
}

#[test]
fn nothing_of_it_can_be_written_by_hand() {
    let (_folder, store) = fresh();
    let mut book = Writer::new(store);
    let job = book.job();
    let mix = book.mix_for("26-118");
    book.write(job, 10, "job/opened", OPENED).unwrap();
    book.write(job, 20, "job/noted", r#"{"text":"a run"}"#).unwrap();
    let before = book.store.figures().unwrap();
    let last = "(SELECT max(position) FROM events)";
    let other = book.job();
    for sql in [
        "UPDATE jobs SET closed = 5".to_owned(),
        format!("UPDATE jobs SET closed = 5, event = {last}"),
        format!("UPDATE jobs SET name = 'x', event = {last} + 1"),
        format!(
            "INSERT INTO jobs (job, number, name, operator, opened, last, event) VALUES ('{other}', 2, 'x', '', 1, 1, {last})"
        ),
        "INSERT OR REPLACE INTO jobs SELECT * FROM jobs".to_owned(),
        "DELETE FROM jobs".to_owned(),
        "UPDATE mix_jobs SET job = 'x'".to_owned(),
        format!("UPDATE mix_jobs SET job = 'x', event = {last}"),
        format!("INSERT INTO mix_jobs VALUES ('{other}', '26-118', {last})"),
        format!("INSERT OR REPLACE INTO mix_jobs VALUES ('{mix}', 'x', {last})"),
        "DELETE FROM mix_jobs".to_owned(),
    ] {
        let error = book.store.connection.execute(&sql, []).expect_err(&sql).to_string();
        assert!(error.contains("follow from the journal"), "{sql}: {error}");
    }
    assert_eq!(book.store.figures().unwrap(), before);
    // Spoilt all the same, it is found and made anew.
    for (table, column) in [("jobs", "vehicle = 'x'"), ("mix_jobs", "job = 'x'")] {
        let spoil = format!("DROP TRIGGER {table}_change; UPDATE {table} SET {column}");
        book.store.connection.execute_batch(&spoil).unwrap();
        let faults = check(&book.store).unwrap().faults.join("; ");
        assert!(faults.contains("kept is") && faults.contains("pourbook check --rebuild"), "{faults}");
        book.store.rebuild().unwrap();
        assert_eq!(book.store.figures().unwrap(), before);
        assert_eq!(check(&book.store).unwrap().faults, Vec::<String>::new());
    }
}

/// A book of the layout before knows no jobs, says so, and is well; brought up to this layout it knows those that are in
/// its journal.
#[test]
fn an_older_book_comes_by_its_jobs_when_it_is_opened_to_write() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book");
    let mut old = rusqlite::Connection::open(&path).unwrap();
    old.pragma_update(None, "journal_mode", "WAL").unwrap();
    migrations::migrate_to(&mut old, migrations::JOBS_KEPT - 1, Stamp(1)).unwrap();
    let job = Ids::counted(3).job(Stamp(1));
    let id = "0190163d-8694-739b-aea5-966c26f8ad91";
    old.execute(
        "INSERT INTO events (id, at, bench, operator, subject, sequence, kind, body)
         VALUES (?1, 10, 'b', 'Robin', ?2, 0, 'job/opened', ?3)",
        (id, job.to_string(), OPENED),
    )
    .unwrap();
    drop(old);
    let looked = open_to_look(&path).unwrap();
    assert!(matches!(looked.jobs(JobsOf::Open), Err(StoreError::Older { .. })));
    assert!(matches!(looked.totals(MixesOf::For("26-118")), Err(StoreError::Older { .. })));
    assert!(looked.figures().unwrap().unwrap().jobs.is_empty());
    drop(looked);
    let Opened::ToWrite(store) = SqliteStore::open(&path, Stamp(2)).unwrap() else {
        panic!("nobody else has it")
    };
    assert_eq!(store.jobs(JobsOf::Name("26-118")).unwrap()[0].job, job);
    assert_eq!(check(&store).unwrap().faults, Vec::<String>::new());
}

/// What an event says of a job: sensible, or nothing of the kind.
fn said() -> impl Strategy<Value = (&'static str, String)> {
    let opened = (0_u8..3).prop_map(|name| {
        let name = match name {
            0 => r#""name":"26-118","vehicle":"van""#,
            1 => r#""name":"26-119","vehicle":7"#,
            _ => r#""called":"26-120""#,
        };
        ("job/opened", format!(r#"{{{name},"colour":"PB-1"}}"#))
    });
    prop_oneof![
        opened,
        Just(("job/amended", r#"{"vehicle":"car, red"}"#.to_owned())),
        Just(("job/amended", r#"{"name":"26-121"}"#.to_owned())),
        Just(("job/closed", "{}".to_owned())),
        Just(("job/reopened", "{}".to_owned())),
        Just(("job/noted", "[1]".to_owned())),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// Whatever is said of whichever job, mixes in between: what is kept is what the journal comes to, and made anew it is
    /// the same. What the book refuses has changed nothing.
    #[test]
    fn what_is_kept_of_jobs_is_what_the_journal_comes_to(
        all in prop::collection::vec((0_usize..3, 0_i64..50, said(), prop::option::of(0_u8..2)), 0..20),
    ) {
        let (_folder, store) = fresh();
        let mut book = Writer::new(store);
        let jobs = [book.job(), book.job(), book.job()];
        let mut mixes = 0;
        for (job, at, (kind, body), mix) in all {
            let refused = book.write(jobs[job], at, kind, &body);
            if let Err(error) = refused {
                prop_assert!(error.to_string().contains("a name is used once"), "{}", error);
            }
            if let Some(mix) = mix.filter(|_| mixes < 2) {
                mixes += 1;
                book.mix_for(["26-118", "26-119"][usize::from(mix)]);
            }
            let kept = book.store.figures().unwrap().unwrap();
            prop_assert_eq!(book.reckoned.figures().differences(&kept, 9), Vec::<String>::new());
        }
        let report = check(&book.store).unwrap();
        prop_assert_eq!(report.faults, Vec::<String>::new());
        let kept = book.store.figures().unwrap().unwrap();
        prop_assert_eq!(kept.begun_for.len(), mixes);
        book.store.rebuild().unwrap();
        prop_assert_eq!(book.store.figures().unwrap().unwrap(), kept);
    }
}

/// Of the mixes joined to jobs come those of that layer of the car that were not parted again, each once, the latest job's
/// first, with what was estimated however fine it was written.
#[test]
fn the_mixes_of_a_layer_come_with_what_was_estimated() {
    let (_folder, store) = fresh();
    let mut writer = Writer::new(store);
    let mixes: Vec<MixId> = (0..6).map(|_| writer.mix_for("x")).collect();
    let jobs = [writer.job(), writer.job()];
    for (at, job) in (1..).zip(jobs) {
        writer.write(job, at, "job/opened", &format!("{{\"name\":\"job {at}\"}}")).unwrap();
    }
    let mut join = |job: usize, mix: usize, rest: &str| {
        let body = format!("{{\"mix\":\"{}\",\"layer\":{rest}}}", mixes[mix]);
        writer.write(jobs[job], 10, "job/mix-joined", &body).unwrap();
    };
    join(0, 0, "\"ground\",\"estimate\":\"225.714285714285714285714\"");
    join(0, 1, "\"ground\",\"for_cards\":true,\"estimate\":\"30\"");
    join(0, 2, "\"pearl\",\"estimate\":\"30\"");
    join(0, 3, "\"ground\",\"estimate\":\"30\"");
    join(1, 4, "\"ground\"");
    join(1, 5, "\"ground\",\"estimate\":\"40\"");
    join(1, 5, "\"ground\",\"estimate\":\"50\"");
    let parted = format!("{{\"mix\":\"{}\",\"reason\":\"another car\"}}", mixes[3]);
    writer.write(jobs[0], 11, "job/mix-parted", &parted).unwrap();
    let found = |most| {
        let rows = writer.store.job_mixes(crate::catalogue::Role::Ground, most).unwrap();
        rows.into_iter()
            .map(|row| {
                assert!(row.recipe.is_some() && row.totals.flows.poured.is_positive());
                let place = mixes.iter().position(|mix| *mix == row.totals.mix).unwrap();
                (row.job == jobs[1], place, row.estimate.map(|estimate| estimate.with_decimals(3)))
            })
            .collect::<Vec<_>>()
    };
    let all = [(true, 5, Some("50.000".to_owned())), (true, 4, None), (false, 0, Some("225.714".to_owned()))];
    assert_eq!(found(50), all);
    assert_eq!(found(2), all[..2]);
}
