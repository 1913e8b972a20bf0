mod copies;

use super::*;
use crate::book::check::check;
use crate::book::testing::{envelopes, muddle, whole};
use crate::book::{Ids, Outcome};
use crate::units::Stamp;

fn to_write(path: &Path) -> SqliteStore {
    match SqliteStore::open(path, Stamp(1)).unwrap() {
        Opened::ToWrite(store) => store,
        Opened::ToLook { why, .. } => panic!("{why}"),
    }
}

fn fresh() -> (tempfile::TempDir, PathBuf, SqliteStore) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a/book");
    let store = to_write(&path);
    (folder, path, store)
}

fn filled() -> (tempfile::TempDir, PathBuf, SqliteStore, MixId, Vec<Envelope>) {
    let (folder, path, mut store) = fresh();
    let (mix, written) = envelopes(&mut Ids::counted(1), &whole());
    for envelope in &written {
        assert_eq!(store.append(envelope).unwrap(), Appended::New);
    }
    (folder, path, store, mix, written)
}

fn no_faults(store: &SqliteStore) {
    assert_eq!(check(store).unwrap().faults, Vec::<String>::new());
}

#[test]
fn what_is_written_is_read_back() {
    let (_folder, path, store, mix, written) = filled();
    assert_eq!(store.events(mix).unwrap(), written);
    assert_eq!(store.next_number().unwrap(), 2);
    assert_eq!(store.count().unwrap(), written.len() as u64);
    let mixes = store.mixes().unwrap();
    let [only] = mixes.as_slice() else { panic!("{mixes:?}") };
    assert_eq!((only.mix, only.number, only.outcome), (mix, 1, Outcome::Finished));
    assert_eq!(only.events as usize, written.len());
    assert_eq!((only.begun, only.last), (written[0].at, written.last().unwrap().at));
    assert_eq!((only.operator.as_str(), only.last_kind.as_str()), ("Robin", "mix/finished"));
    let about = only.about.as_ref().unwrap();
    assert_eq!((about.colour.as_str(), about.name.as_str()), ("PB-0000", "Test Grey"));
    assert_eq!(store.balances().unwrap().iter().map(|balance| balance.micrograms).sum::<i64>(), 0);
    let cup = store.balances_of(&Account::Cup(mix)).unwrap();
    assert_eq!(cup.len(), 4);
    assert!(cup.iter().all(|held| held.micrograms > 0));
    no_faults(&store);
    // And once more from another opening.
    drop(store);
    assert_eq!(to_write(&path).events(mix).unwrap(), written);
}

#[test]
fn mixes_are_numbered_as_they_were_begun_and_the_open_ones_are_found() {
    let (_folder, _path, mut store) = fresh();
    let mut ids = Ids::counted(1);
    let (done, one) = envelopes(&mut ids, &whole());
    let (open, two) = envelopes(&mut ids, &muddle(&[(7, 0)]));
    let (aside, three) = envelopes(&mut ids, &muddle(&[(7, 0), (0, 0)]));
    let (given_up, four) = envelopes(&mut ids, &muddle(&[(7, 0), (14, 1)]));
    // The second begins before the first goes on.
    for envelope in [&one[..1], &two, &three, &four, &one[1..]].concat() {
        store.append(&envelope).unwrap();
    }
    let told: Vec<_> =
        store.mixes().unwrap().into_iter().map(|mix| (mix.mix, mix.number, mix.outcome)).collect();
    assert_eq!(
        told,
        [
            (done, 1, Outcome::Finished),
            (open, 2, Outcome::Unfinished),
            (aside, 3, Outcome::Unfinished),
            (given_up, 4, Outcome::Abandoned)
        ]
    );
    let waiting: Vec<_> =
        store.unfinished().unwrap().into_iter().map(|mix| (mix.mix, mix.number, mix.last_kind)).collect();
    assert_eq!(waiting, [(open, 2, "mix/poured".to_owned()), (aside, 3, "mix/set-aside".to_owned())]);
    assert_eq!(store.next_number().unwrap(), 5);
    no_faults(&store);
}

#[test]
fn a_mix_whose_first_event_cannot_be_read_is_listed_and_named_and_hides_no_other() {
    let (_folder, _path, mut store) = fresh();
    let mut ids = Ids::counted(1);
    let (_, mut bad) = envelopes(&mut ids, &whole());
    bad[0].body = "{\"kind\":\"started\"}".into();
    let (good, fine) = envelopes(&mut ids, &whole());
    for envelope in bad[..1].iter().chain(&fine) {
        store.append(envelope).unwrap();
    }
    let mixes = store.mixes().unwrap();
    assert_eq!((mixes[0].about.as_ref(), mixes[1].mix), (None, good));
    let report = check(&store).unwrap();
    assert_eq!((report.mixes, report.faults.len()), (2, 1));
    assert!(report.faults[0].contains(&bad[0].id.to_string()), "{:?}", report.faults);
}

#[test]
fn the_same_again_is_success_and_anything_else_is_not() {
    let (_folder, _path, mut store) = fresh();
    let (_, written) = envelopes(&mut Ids::counted(1), &whole());
    store.append(&written[0]).unwrap();
    assert_eq!(store.append(&written[0]).unwrap(), Appended::Already);
    let other = Envelope { operator: "somebody else".into(), ..written[0].clone() };
    assert!(matches!(store.append(&other), Err(StoreError::Different { .. })));
    assert!(matches!(store.append(&written[2]), Err(StoreError::OutOfPlace { expected: 1, found: 2, .. })));
    let mut flawed = written[1].clone();
    flawed.body = "no JSON".into();
    assert!(matches!(store.append(&flawed), Err(StoreError::Flawed { .. })));
    assert_eq!(store.append(&written[1]).unwrap(), Appended::New);
    assert_eq!(store.append(&written[1]).unwrap(), Appended::Already);
    let mut posted = written[1].clone();
    posted.postings.iter_mut().for_each(|posting| posting.micrograms *= 2);
    assert!(matches!(store.append(&posted), Err(StoreError::Different { .. })), "postings count as content");
}

/// From another tool too, which has neither foreign keys nor recursive triggers on.
#[test]
fn nothing_is_changed_or_deleted_even_by_hand() {
    let (_folder, path, mut store) = fresh();
    // It ends with a pour, so that the last event has postings.
    let (mix, written) = envelopes(&mut Ids::counted(1), &muddle(&[(7, 0), (7, 0)]));
    assert!(written.iter().all(|envelope| store.append(envelope).is_ok()));
    assert!(!written.last().unwrap().postings.is_empty());
    let by_hand = Connection::open(&path).unwrap();
    by_hand.pragma_update(None, "foreign_keys", "OFF").unwrap();
    by_hand.pragma_update(None, "recursive_triggers", "OFF").unwrap();
    let columns = "(position, id, at, bench, operator, subject, sequence, kind, body)";
    let (some, none) = (written[0].id, "01890000-0000-7000-8000-000000000000");
    for (sql, said) in [
        ("UPDATE events SET operator = 'x'".to_owned(), "never changed"),
        ("DELETE FROM events".to_owned(), "never deleted"),
        ("UPDATE postings SET micrograms = 1".to_owned(), "never changed"),
        ("DELETE FROM postings".to_owned(), "never deleted"),
        ("INSERT OR REPLACE INTO events SELECT * FROM events LIMIT 1".to_owned(), "is in it"),
        (
            format!(
                "INSERT OR REPLACE INTO events {columns} VALUES (1, '{none}', 1, '', '', '{none}', 0, 'k', '{{}}')"
            ),
            "is in it",
        ),
        (
            format!(
                "INSERT OR REPLACE INTO events {columns} VALUES (99, '{some}', 1, '', '', '{none}', 0, 'k', '{{}}')"
            ),
            "is in it",
        ),
        (
            format!(
                "INSERT INTO events {columns} VALUES (99, '{none}', 1, '', '', '{none}', 5, 'k', '{{}}')"
            ),
            "next place",
        ),
        (
            format!("INSERT INTO events {columns} VALUES (99, '{none}', 1, '', '', '{none}', 0, 'k', 'no')"),
            "json_valid",
        ),
        ("INSERT OR REPLACE INTO postings SELECT * FROM postings LIMIT 1".to_owned(), "is in it"),
        (
            "INSERT OR REPLACE INTO postings SELECT * FROM postings WHERE event = (SELECT max(position) FROM events)"
                .to_owned(),
            "is in it",
        ),
        ("INSERT INTO postings VALUES (1, 9, 'a', 'b', 1)".to_owned(), "with their event"),
        ("INSERT INTO postings VALUES (999, 0, 'a', 'b', 1)".to_owned(), "with their event"),
        ("INSERT INTO postings SELECT max(position), 9, 'a', 'b', 0 FROM events".to_owned(), "micrograms"),
        ("INSERT INTO postings SELECT max(position), 9, 'a', 'b', '12.3' FROM events".to_owned(), "INTEGER"),
    ] {
        for connection in [&by_hand, &store.connection] {
            let error = connection.execute(&sql, []).expect_err(&sql).to_string();
            assert!(error.contains(said), "{sql}: {error}");
        }
    }
    assert_eq!(store.events(mix).unwrap(), written);
    no_faults(&store);
}

#[cfg(unix)]
fn mode(path: &Path) -> u32 {
    use std::os::unix::fs::PermissionsExt;
    std::fs::metadata(path).unwrap().permissions().mode() & 0o777
}

#[cfg(unix)]
#[test]
fn only_its_owner_can_read_it() {
    use std::os::unix::fs::PermissionsExt;
    let (_folder, path, store, _, _) = filled();
    let folder = path.parent().unwrap();
    assert_eq!(mode(folder), 0o700);
    let files = || std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    // The book, its journal, its index and its lock.
    assert_eq!(files().count(), 4);
    files().for_each(|file| assert_eq!(mode(&file), 0o600, "{}", file.display()));
    // A copy that was put back open to all is closed again.
    drop(store);
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o644)).unwrap();
    let _store = to_write(&path);
    files().for_each(|file| assert_eq!(mode(&file), 0o600, "{}", file.display()));
}

#[test]
fn the_settings_that_keep_it_safe_are_on() {
    let (_folder, _path, store, _, _) = filled();
    let text = |name| store.connection.pragma_query_value(None, name, |row| row.get::<_, String>(0)).unwrap();
    let number = |name| store.connection.pragma_query_value(None, name, |row| row.get::<_, i64>(0)).unwrap();
    assert_eq!(text("journal_mode"), "wal");
    for (name, value) in [
        ("synchronous", 2),
        ("foreign_keys", 1),
        ("recursive_triggers", 1),
        ("temp_store", 2),
        ("trusted_schema", 0),
        ("busy_timeout", 5000),
        ("application_id", i64::from(migrations::APPLICATION)),
        ("user_version", i64::from(migrations::latest())),
    ] {
        assert_eq!(number(name), value, "{name}");
    }
}

#[test]
fn a_second_one_is_told_and_can_look_while_the_first_writes() {
    let (_folder, path, mut first) = fresh();
    let (mix, written) = envelopes(&mut Ids::counted(1), &whole());
    first.append(&written[0]).unwrap();
    let Opened::ToLook { mut store, why } = SqliteStore::open(&path, Stamp(2)).unwrap() else {
        panic!("two writers")
    };
    assert!(why.contains(&format!("another Pourbook (process {}, since 1", std::process::id())), "{why}");
    assert!(why.ends_with("you can look, but not write"), "{why}");
    assert_eq!(store.look_only(), Some(why.as_str()));
    assert_eq!(store.events(mix).unwrap().len(), 1);
    first.append(&written[1]).unwrap();
    assert_eq!(store.events(mix).unwrap().len(), 2);
    let refused = store.append(&written[2]).unwrap_err();
    assert!(matches!(&refused, StoreError::LookOnly { why: told } if *told == why), "{refused}");
    // Not even by going round it.
    assert!(store.connection.execute("CREATE TABLE t (x)", []).is_err());
    no_faults(&store);
    drop(first);
    assert_eq!(to_write(&path).events(mix).unwrap().len(), 2);
}

#[test]
fn what_is_no_book_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let text = folder.path().join("letter.txt");
    let letter = "Dear Sir or Madam, this is not a database at all, and it is long enough. ".repeat(30);
    std::fs::write(&text, &letter).unwrap();
    let said = SqliteStore::open(&text, Stamp(1)).unwrap_err();
    assert!(matches!(&said, StoreError::NotABook { path } if *path == text), "{said}");
    assert_eq!(std::fs::read_to_string(&text).unwrap(), letter);

    let other = folder.path().join("other.sqlite");
    Connection::open(&other).unwrap().execute_batch("CREATE TABLE t (x); PRAGMA user_version = 1").unwrap();
    let before = std::fs::read(&other).unwrap();
    assert!(matches!(SqliteStore::open(&other, Stamp(1)), Err(StoreError::Foreign { .. })));
    assert_eq!(std::fs::read(&other).unwrap(), before);

    let newer = folder.path().join("newer.sqlite");
    drop(to_write(&newer));
    Connection::open(&newer).unwrap().pragma_update(None, "user_version", 99).unwrap();
    let said = SqliteStore::open(&newer, Stamp(1)).unwrap_err();
    assert!(matches!(said, StoreError::Newer { found: 99, .. }), "{said}");
    assert!(said.to_string().contains("newer Pourbook"), "{said}");
    assert!(matches!(open_to_look(&newer), Err(StoreError::Newer { .. })));

    let edited = folder.path().join("edited.sqlite");
    drop(to_write(&edited));
    Connection::open(&edited).unwrap().execute("UPDATE schema SET checksum = 'x'", []).unwrap();
    assert!(matches!(SqliteStore::open(&edited, Stamp(1)), Err(StoreError::OtherSchema { version: 1, .. })));

    let missing = folder.path().join("missing.sqlite");
    assert!(matches!(open_to_look(&missing), Err(StoreError::Open { .. })));
    assert!(!missing.exists());
    let blank = folder.path().join("blank.sqlite");
    std::fs::write(&blank, "").unwrap();
    assert!(matches!(open_to_look(&blank), Err(StoreError::Older { found: 0, .. })));
    drop(to_write(&blank));
}

/// A name that SQLite could take for something else is still a file.
#[test]
fn a_file_is_a_file_whatever_it_is_called() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("file:book?mode=memory");
    drop(to_write(&path));
    assert!(path.exists());
}

#[test]
fn figures_that_find_no_room_to_be_made_anew_stay_as_they_were() {
    let (_folder, path, mut store) = fresh();
    let mut ids = Ids::counted(1);
    for envelope in (0..20).flat_map(|_| envelopes(&mut ids, &whole()).1) {
        store.append(&envelope).unwrap();
    }
    let before = store.figures().unwrap();
    // Packed so that no page has room left, it needs more of them for what comes in another order.
    store.connection.execute_batch("VACUUM").unwrap();
    let pages: i64 = store.connection.pragma_query_value(None, "page_count", |row| row.get(0)).unwrap();
    let limit = |store: &SqliteStore, pages: i64| {
        store.connection.query_row(&format!("PRAGMA max_page_count = {pages}"), [], |_| Ok(())).unwrap();
    };
    limit(&store, pages);
    let error = store.rebuild().unwrap_err();
    assert!(matches!(error, StoreError::NoRoomToRebuild { megabytes: 1.., .. }), "{error}");
    assert!(error.to_string().contains("make room, then run pourbook check --rebuild again"), "{error}");
    assert_eq!(store.figures().unwrap(), before);
    no_faults(&store);
    limit(&store, 100_000);
    store.rebuild().unwrap();
    assert_eq!(store.figures().unwrap(), before);
    no_faults(&store);
    assert_eq!(std::fs::metadata(super::open::with_suffix(&path, "-wal")).unwrap().len(), 0);
}

#[test]
fn a_full_disk_is_said_and_a_retry_with_the_same_identity_works() {
    let (_folder, _path, mut store) = fresh();
    let mut ids = Ids::counted(1);
    let written: Vec<_> = (0..50).flat_map(|_| envelopes(&mut ids, &whole()).1).collect();
    let pages: i64 = store.connection.pragma_query_value(None, "page_count", |row| row.get(0)).unwrap();
    let limit = |store: &SqliteStore, pages: i64| {
        store.connection.query_row(&format!("PRAGMA max_page_count = {pages}"), [], |_| Ok(())).unwrap();
    };
    limit(&store, pages + 2);
    let full = written
        .iter()
        .position(|envelope| match store.append(envelope) {
            Ok(_) => false,
            Err(error) => {
                assert!(matches!(error, StoreError::DiskFull { .. }), "{error}");
                assert!(error.to_string().contains("make room, then try again"), "{error}");
                true
            }
        })
        .expect("the book never filled up");
    // All that was acknowledged is there, and nothing of what was not.
    assert_eq!(store.count().unwrap(), full as u64);
    assert!(matches!(store.append(&written[full]), Err(StoreError::DiskFull { .. })));
    no_faults(&store);
    limit(&store, 100_000);
    for envelope in &written[full..] {
        assert_eq!(store.append(envelope).unwrap(), Appended::New);
    }
    no_faults(&store);
}

/// The system lets a program write into a file that was deleted, and loses it: that is not saved.
#[cfg(unix)]
#[test]
fn a_book_that_was_moved_away_or_replaced_takes_nothing_more() {
    for spoil in [
        (|path: &Path| std::fs::remove_file(path).unwrap()) as fn(&Path),
        |path| std::fs::rename(path, path.with_extension("away")).unwrap(),
        |path| {
            std::fs::copy(path, path.with_extension("copy")).unwrap();
            std::fs::rename(path.with_extension("copy"), path).unwrap();
        },
        |path| std::fs::remove_file(open::with_suffix(path, "-wal")).unwrap(),
    ] {
        let (_folder, path, mut store) = fresh();
        let (_, written) = envelopes(&mut Ids::counted(1), &whole());
        store.append(&written[0]).unwrap();
        spoil(&path);
        let said = store.append(&written[1]).unwrap_err();
        assert!(matches!(said, StoreError::Gone { .. }), "{said}");
    }
}

#[test]
fn another_program_that_holds_the_book_is_named_as_the_reason() {
    let (_folder, path, mut store) = fresh();
    let (_, written) = envelopes(&mut Ids::counted(1), &whole());
    store.connection.busy_timeout(std::time::Duration::from_millis(10)).unwrap();
    let other = Connection::open(&path).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    assert!(matches!(store.append(&written[0]), Err(StoreError::Busy { .. })));
    other.execute_batch("ROLLBACK").unwrap();
    assert_eq!(store.append(&written[0]).unwrap(), Appended::New);
}

/// The journal torn at any point, as a power cut leaves it: what is read back is a beginning of what was
/// written, whole events only, and the book goes on from there.
#[test]
fn a_torn_journal_leaves_whole_events() {
    let (folder, path, store, mix, written) = filled();
    let journal = std::fs::read(open::with_suffix(&path, "-wal")).unwrap();
    let main = std::fs::read(&path).unwrap();
    let mut lengths = std::collections::BTreeSet::new();
    for step in 0..=24 {
        let torn = folder.path().join(format!("torn-{step}"));
        std::fs::write(&torn, &main).unwrap();
        let kept = journal.len() * step / 24;
        std::fs::write(open::with_suffix(&torn, "-wal"), &journal[..kept]).unwrap();
        let mut store = to_write(&torn);
        let read = store.events(mix).unwrap();
        assert_eq!(read, written[..read.len()]);
        lengths.insert(read.len());
        if !read.is_empty() {
            no_faults(&store);
        }
        for envelope in &written {
            store.append(envelope).unwrap();
        }
        assert_eq!(store.events(mix).unwrap(), written);
    }
    assert!(lengths.len() > 3 && lengths.contains(&0) && lengths.contains(&written.len()), "{lengths:?}");
    drop(store);
}

/// What a book of each version holds, as the program of its day wrote it: a mix of one pour, and from version 2 a
/// check of a scale, from version 3 what the mix costs, from version 7 what it tells.
const HELD: &[(u32, &[&str])] = &[
    (1, &[ONE_POUR]),
    (2, &[ONE_POUR, ONE_CHECK]),
    (3, &[ONE_POUR, ONE_COST, ONE_CHECK]),
    (4, &[ONE_POUR, ONE_COST, ONE_CHECK]),
    (5, &[ONE_POUR, ONE_COST, ONE_CHECK]),
    (6, &[ONE_POUR, ONE_COST, ONE_CHECK]),
    (7, &[ONE_POUR, ONE_COST, ONE_READ, ONE_CHECK]),
    (8, &[ONE_POUR, ONE_COST, ONE_READ, ONE_CHECK]),
    (9, &[ONE_POUR, ONE_COST, ONE_READ, ONE_CHECK]),
    (10, &[ONE_POUR, ONE_COST, ONE_READ, ONE_CHECK]),
    (11, &[ONE_POUR, ONE_COST, ONE_READ, ONE_CHECK]),
    (12, &[ONE_POUR, ONE_COST, ONE_READ, ONE_CHECK]),
];

const ONE_POUR: &str = r#"INSERT INTO events VALUES (1, '0197725b-bc00-7000-8000-000000000001', 1750000000000000, 'b', 'Robin',
        '0197725b-bc00-7000-8000-000000000002', 0, 'mix/started', '{"kind":"started","recipe":{"colour":"PB-1",
        "name":"Grey","variant":"standard","role":"ground","lines":[{"toner":"A","name":"a","parts":"1",
        "density":"1.2","tolerance":"0.01","price":null,"place":null,"swatch":null}]},"volume":"100",
        "vessel":{"name":"600","brim":"600","tare":"21.4"},"limits":{"division":"0.1","capacity":null},
        "order":[0]}');
       INSERT INTO events VALUES (2, '0197725b-bc00-7000-8000-000000000003', 1750000001000000, 'b', 'Robin',
        '0197725b-bc00-7000-8000-000000000002', 1, 'mix/poured', '{"kind":"poured","toner":"A","tin":"24-1",
        "before":"0","after":"50.1","how":"scale"}');
       INSERT INTO postings VALUES (2, 0, 'tin:24-1', 'A', -50100000);
       INSERT INTO postings VALUES (2, 1, 'cup:0197725b-bc00-7000-8000-000000000002', 'A', 50100000);"#;

const ONE_COST: &str =
    "INSERT INTO mix_costs VALUES ('0197725b-bc00-7000-8000-000000000002', 0, 50100000, 2);";

const ONE_READ: &str = r#"
    INSERT INTO mix_reads VALUES ('0197725b-bc00-7000-8000-000000000002', 50100000, 0, 0, 0, 0, 0, 0,
        '{"fates":[["in_cup","",{"mass":"50.1","cost":"0"}]],"poured":"50.1","reused":"0","priced":{"by_tin":"0",
        "by_formula":"0","unpriced":"50.1"},"from_tins":"0","uses":[["A","50.1","0"]],"pours":[{"toner":"A","name":"a","pours":1,"over":0,
        "by":"0","worst":"0"}]}', 0, 2);"#;

const ONE_CHECK: &str = r#"
    INSERT INTO events VALUES (3, '0197725b-bc00-7000-8000-000000000004', 1750000002000000, 'b', 'Robin',
     '0197725b-bc00-7000-8000-000000000004', 0, 'scale/checked', '{"kind":"checked","scale":"bench",
     "weight":{"id":"500","nominal":"500","class":"M1","value":null},"limit":"0.1","zero_limit":"0.05",
     "zero":"0.0","reading":"500.1"}');"#;

#[test]
fn a_book_of_each_version_opens_with_all_that_was_in_it() {
    let folder = tempfile::tempdir().unwrap();
    let versions: Vec<_> = HELD.iter().map(|(version, _)| *version).collect();
    assert_eq!(versions, (1..=migrations::latest()).collect::<Vec<_>>(), "each version has its book here");
    for (version, held) in HELD {
        let path = folder.path().join(format!("book-{version}"));
        let mut old = Connection::open(&path).unwrap();
        migrations::migrate_to(&mut old, *version, Stamp(1)).unwrap();
        for held in *held {
            old.execute_batch(held).unwrap();
        }
        drop(old);
        // One who only looks changes nothing, and is not put off by an older layout.
        let looked = open_to_look(&path).unwrap();
        assert_eq!(migrations::version(&looked.connection).unwrap(), *version);
        assert_eq!(looked.mixes().unwrap().len(), 1);
        no_faults(&looked);
        drop(looked);
        let mut store = to_write(&path);
        assert_eq!(migrations::version(&store.connection).unwrap(), migrations::latest());
        no_faults(&store);
        let checks = crate::book::ScaleRecord::read(&store, "bench", 9).unwrap().recent;
        let checked = held.iter().filter(|held| **held == ONE_CHECK).count();
        assert_eq!(checks.iter().filter(|check| check.check.passed()).count(), checked);
        let [waiting] = &store.unfinished().unwrap()[..] else { panic!("one mix") };
        let events = store.events(waiting.mix).unwrap();
        let mut journal = crate::book::Journal::fold(waiting.mix, &events).unwrap();
        assert_eq!(journal.session().holds().to_string(), "50.1");
        // And it goes on.
        let given_up = journal.session().abandon("too old").unwrap();
        let (id, at) = (Ids::fresh().event(Stamp(2)), Stamp(1_760_000_000_000_000));
        let envelope = journal.record(&given_up, id, at, &crate::book::testing::by()).unwrap();
        store.append(&envelope).unwrap();
        assert_eq!(store.balances_of(&Account::Cup(waiting.mix)).unwrap(), []);
        no_faults(&store);
    }
}

/// Several are written together, and the one that cannot be written takes the others with it.
#[test]
fn several_events_are_written_all_or_none() {
    let (_folder, _path, mut store, mix, written) = filled();
    let before = (store.count().unwrap(), store.figures().unwrap());
    let mut ids = Ids::counted(70);
    let tin = |ids: &mut Ids, label: &str| {
        let body = format!("{{\"label\":\"{label}\",\"toner\":\"A\",\"net\":\"1000\",\"price\":\"20\"}}");
        let (own, from) = (format!("tin:{label}"), "supplier:north");
        let postings = [(from, "A", -1_000_000_000), (own.as_str(), "A", 1_000_000_000)];
        crate::book::testing::alone(ids, Stamp(1), "tin/received", &body, &postings)
    };
    let mut events = vec![tin(&mut ids, "N-1"), tin(&mut ids, "N-2"), tin(&mut ids, "N-1")];
    let error = store.append_all(&events).unwrap_err().to_string();
    assert!(error.contains("a label is used once"), "{error}");
    assert_eq!((store.count().unwrap(), store.figures().unwrap()), before);
    events.pop();
    let flawed = Envelope { kind: String::new(), ..written.last().unwrap().clone() };
    let error = store.append_all(&[events.clone(), vec![flawed]].concat()).unwrap_err();
    assert!(matches!(error, StoreError::Flawed { .. }), "{error}");
    assert_eq!(store.count().unwrap(), before.0);
    store.append_all(&events).unwrap();
    assert_eq!(store.count().unwrap(), before.0 + 2);
    // Once more is the same as once, as for one.
    store.append_all(&events).unwrap();
    assert_eq!(store.count().unwrap(), before.0 + 2);
    assert_eq!(store.events(mix).unwrap(), written);
    no_faults(&store);
}

#[test]
fn a_scales_last_check_is_found_by_its_index() {
    let (_folder, _path, store, _, _) = filled();
    let sql = format!("EXPLAIN QUERY PLAN SELECT id FROM events {}", read::OF_SCALE);
    let mut query = store.connection.prepare(&sql).unwrap();
    let plan: Vec<String> = query
        .query_map(("scale/checked", "bench", 1), |row| row.get(3))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    let [only] = plan.as_slice() else { panic!("it sorts: {plan:?}") };
    assert!(only.contains("scale_events (kind=? AND <expr>=?)"), "{only}");
}
