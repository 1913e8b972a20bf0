//! Books of older layouts, brought up when they are opened to write in.

use super::*;
use crate::book::exchange::{self, ExchangeError};
use crate::book::far::Up;
use std::io::Cursor;
use std::ops::ControlFlow;

/// A book of an older layout with so many mixes, as the program of its time wrote it.
fn old(path: &Path, layout: u32, mixes: usize) -> Connection {
    let mut book = Connection::open(path).unwrap();
    book.pragma_update(None, "journal_mode", "WAL").unwrap();
    migrations::migrate_to(&mut book, layout, Stamp(1)).unwrap();
    let mut ids = Ids::counted(1);
    for envelope in (0..mixes).flat_map(|_| envelopes(&mut ids, &whole()).1) {
        let sql = "
            INSERT INTO events (id, at, bench, operator, subject, sequence, kind, body)
            VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)";
        let Envelope { id, at, bench, operator, subject, sequence, kind, body, .. } = &envelope;
        book.execute(sql, (id, at.0, bench, operator, subject, sequence, kind, body)).unwrap();
        let position = book.last_insert_rowid();
        let sql =
            "INSERT INTO postings (event, place, account, toner, micrograms) VALUES (?1, ?2, ?3, ?4, ?5)";
        for (place, posting) in (0_i64..).zip(&envelope.postings) {
            let account = posting.account.to_string();
            book.execute(sql, (position, place, account, posting.toner.as_str(), posting.micrograms))
                .unwrap();
        }
        if layout >= migrations::FIGURES {
            kept::cost(&book, position, &envelope).unwrap();
        }
    }
    book
}

fn layout(path: &Path) -> u32 {
    migrations::version(&Connection::open(path).unwrap()).unwrap()
}

#[test]
fn a_book_that_is_brought_up_says_how_far_it_is() {
    let folder = tempfile::tempdir().unwrap();
    for from in [2, 3] {
        let path = folder.path().join(format!("book-{from}"));
        drop(old(&path, from, 5));
        let mut said = Vec::new();
        let opened = SqliteStore::open_telling(&path, Stamp(2), &mut |far| said.push(far)).unwrap();
        let store = opened.into_parts().0;
        let up = Some(Up { from, to: migrations::latest() });
        assert!(said.iter().all(|far| far.up == up), "{said:?}");
        // Each layout is begun once, and of what is counted each mix is said, to the last.
        let begun = said.iter().filter(|far| far.at == "tables and indexes are made").count();
        assert_eq!(begun, (migrations::latest() - from) as usize);
        let counted = |at: &str| -> Vec<(u64, u64)> {
            said.iter().filter(|far| far.at == at).map(|far| (far.done, far.all)).collect()
        };
        let all = (0..=5).map(|done| (done, 5)).collect::<Vec<_>>();
        assert_eq!(counted("mixes read anew"), all);
        assert_eq!(counted("mixes marked"), all);
        assert_eq!(counted("mixes priced"), if from < migrations::FIGURES { all } else { Vec::new() });
        assert_eq!(said.last(), Some(&Far { up, ..Far::begun("the log is taken into it") }));
        assert_eq!(std::fs::metadata(open::with_suffix(&path, "-wal")).unwrap().len(), 0);
        no_faults(&store);
        // Opened once more, or new, it has nothing to say.
        drop(store);
        for path in [path, folder.path().join("new")] {
            let opened = SqliteStore::open_telling(&path, Stamp(2), &mut |far| panic!("{far:?}"));
            assert!(matches!(opened, Ok(Opened::ToWrite(_))));
        }
        std::fs::remove_file(folder.path().join("new")).unwrap();
    }
}

/// What is on the disk in the middle of a step is what a program that is ended there leaves behind.
#[test]
fn a_book_whose_bringing_up_is_cut_off_is_at_the_layout_before_and_goes_on_from_there() {
    let folder = tempfile::tempdir().unwrap();
    let (path, left) = (folder.path().join("book"), folder.path().join("left"));
    let mut book = old(&path, 3, 40);
    let log = open::with_suffix(&path, "-wal");
    // So little is kept in memory that a step is on the disk in part before it is done.
    book.pragma_update(None, "cache_size", 10).unwrap();
    // The log begins anew, so that it grows with what is written.
    book.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).unwrap();
    let mut lengths = Vec::new();
    open::brought_up(&mut book, &path, Stamp(2), &mut |far| {
        if far.at == "mixes read anew" {
            lengths.push(std::fs::metadata(&log).unwrap().len());
            if far.done == 39 {
                std::fs::copy(&path, &left).unwrap();
                std::fs::copy(&log, open::with_suffix(&left, "-wal")).unwrap();
            }
        }
    })
    .unwrap();
    assert!(lengths[39] > lengths[0], "nothing of the step was on the disk: {lengths:?}");
    drop(book);
    assert_eq!(layout(&left), migrations::SUMS - 1);
    let mut first = None;
    let opened = SqliteStore::open_telling(&left, Stamp(2), &mut |far| {
        first.get_or_insert(far);
    });
    let store = opened.unwrap().into_parts().0;
    assert_eq!(first.unwrap().up, Some(Up { from: migrations::SUMS - 1, to: migrations::latest() }));
    no_faults(&store);
    assert_eq!(store.figures().unwrap(), to_write(&path).figures().unwrap());
}

#[test]
fn a_book_that_finds_no_room_to_be_brought_up_says_so_and_stays_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book");
    let mut book = old(&path, 3, 20);
    book.execute_batch("VACUUM").unwrap();
    let pages: i64 = book.pragma_query_value(None, "page_count", |row| row.get(0)).unwrap();
    let limit = |book: &Connection, pages: i64| {
        book.query_row(&format!("PRAGMA max_page_count = {pages}"), [], |_| Ok(())).unwrap();
    };
    let held = |book: &Connection| -> Vec<String> {
        let sql = "SELECT name || ' ' || coalesce(sql, '') FROM sqlite_schema ORDER BY 1";
        let mut query = book.prepare(sql).unwrap();
        query.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect()
    };
    // The steps to 5 find room, that to 6 does not.
    migrations::migrate_to(&mut book, 5, Stamp(2)).unwrap();
    let (before, full) =
        (held(&book), book.pragma_query_value(None, "page_count", |row| row.get(0)).unwrap());
    assert!(full > pages);
    limit(&book, full);
    let error = open::brought_up(&mut book, &path, Stamp(2), &mut |_| ()).unwrap_err();
    let known = migrations::latest();
    assert!(matches!(error, StoreError::NoRoomToBringUp { found: 5, megabytes: 1.., .. }), "{error}");
    let said = format!("was not brought up from layout 5 to {known}, and is as it was: its disk is full");
    assert!(error.to_string().contains(&said), "{error}");
    assert_eq!(held(&book), before);
    assert_eq!(migrations::version(&book).unwrap(), 5);
    limit(&book, 100_000);
    open::brought_up(&mut book, &path, Stamp(2), &mut |_| ()).unwrap();
    drop(book);
    no_faults(&to_write(&path));
}

/// Only an empty book takes a whole one: an old one that is not is left at its layout, and nobody waits for it.
#[test]
fn an_old_book_that_is_not_empty_is_refused_before_it_is_brought_up() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book");
    drop(old(&path, 3, 1));
    let (_folder, _, store, _, written) = filled();
    let (_, lines) =
        exchange::export(&store, Vec::new(), Stamp(1), &mut |_| ControlFlow::Continue(())).unwrap();
    let taken = exchange::import(Cursor::new(lines), &path, Stamp(2), &mut |_| ControlFlow::Continue(()))
        .unwrap_err();
    assert!(matches!(taken, ExchangeError::Store(StoreError::NotEmpty { .. })), "{taken}");
    let copy = folder.path().join("copy");
    store.back_up(&copy, &mut |_, _| ControlFlow::Continue(())).unwrap();
    let put_back =
        SqliteStore::restore(&copy, &path, Stamp(2), &mut |_, _| ControlFlow::Continue(())).unwrap_err();
    assert!(matches!(put_back, CopyError::Store(StoreError::NotEmpty { .. })), "{put_back}");
    assert_eq!(layout(&path), 3);
    // An old one that is empty is brought up, and takes it.
    let empty = folder.path().join("empty");
    drop(old(&empty, 3, 0));
    let count = SqliteStore::restore(&copy, &empty, Stamp(2), &mut |_, _| ControlFlow::Continue(())).unwrap();
    assert_eq!((count, layout(&empty)), (written.len() as u64, migrations::latest()));
}
