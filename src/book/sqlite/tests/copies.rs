//! Backups and putting them back.

use super::*;
use std::ops::ControlFlow;

fn go_on(_: u64, _: u64) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

fn names(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).unwrap();
    let mut names: Vec<String> =
        entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// A book of several hundred pages.
fn thick() -> (tempfile::TempDir, PathBuf, SqliteStore, Vec<Envelope>) {
    let (folder, path, mut store) = fresh();
    let mut ids = Ids::counted(1);
    let written: Vec<_> = (0..120).flat_map(|_| envelopes(&mut ids, &whole()).1).collect();
    let mut rest = written.iter().cloned();
    assert_eq!(store.fill(|| Ok::<_, StoreError>(rest.next())).unwrap(), written.len() as u64);
    (folder, path, store, written)
}

fn all(store: &SqliteStore) -> Vec<Envelope> {
    let mut all = Vec::new();
    let taken: Result<(), StoreError> = store.each_event(|envelope| {
        all.push(envelope);
        Ok(())
    });
    taken.unwrap();
    all
}

#[test]
fn a_backup_is_one_private_file_and_is_the_book() {
    let (folder, _path, store, mix, written) = filled();
    let kept = folder.path().join("kept");
    std::fs::create_dir(&kept).unwrap();
    let to = kept.join("backup");
    assert_eq!(store.back_up(&to, &mut go_on).unwrap(), written.len() as u64);
    assert_eq!(names(&kept), ["backup"]);
    #[cfg(unix)]
    assert_eq!(mode(&to), 0o600);
    // Its header says that it needs no journal beside it (sqlite.org/fileformat2.html, 1.3.3: 1 for legacy, 2 for WAL).
    assert_eq!(std::fs::read(&to).unwrap()[18..20], [1, 1]);
    let copy = open_to_look(&to).unwrap();
    assert_eq!((copy.events(mix).unwrap(), copy.balances().unwrap()), (written, store.balances().unwrap()));
    no_faults(&copy);
    // Never over what is there.
    let before = std::fs::read(&to).unwrap();
    let error = store.back_up(&to, &mut go_on).unwrap_err();
    assert!(matches!(error, CopyError::There(_)), "{error}");
    assert_eq!(std::fs::read(&to).unwrap(), before);
    let error = store.back_up(&folder.path().join("no/such/folder"), &mut go_on).unwrap_err();
    assert!(matches!(error, CopyError::Unwritable { .. }), "{error}");
}

/// The bench writes while pages are copied: nothing of it is in the copy, and it does not have to wait.
#[test]
fn a_backup_is_the_book_of_one_moment_while_the_bench_writes() {
    let (folder, path, mut bench, written) = thick();
    let (_, more) = envelopes(&mut Ids::counted(7), &whole());
    let mut rest = more.iter();
    let to = folder.path().join("backup");
    let mut weigh = |done: u64, total: u64| {
        assert!(done < total);
        if let Some(envelope) = rest.next() {
            assert_eq!(bench.append(envelope).unwrap(), Appended::New);
        }
        ControlFlow::Continue(())
    };
    let onlooker = open_to_look(&path).unwrap();
    assert_eq!(onlooker.back_up(&to, &mut weigh).unwrap(), written.len() as u64);
    assert!(rest.len() < more.len(), "nothing was written meanwhile");
    let copy = open_to_look(&to).unwrap();
    assert!(all(&copy) == written);
    no_faults(&copy);
    no_faults(&bench);
}

#[test]
fn one_who_stops_a_copy_keeps_nothing_of_it() {
    let (folder, _path, store, _) = thick();
    let kept = folder.path().join("kept");
    std::fs::create_dir(&kept).unwrap();
    let mut stop = |_, _| ControlFlow::Break(());
    assert!(matches!(store.back_up(&kept.join("backup"), &mut stop), Err(CopyError::Stopped)));
    assert_eq!(names(&kept), [""; 0]);
    let to = kept.join("backup");
    store.back_up(&to, &mut go_on).unwrap();
    let place = kept.join("book");
    let stopped = SqliteStore::restore(&to, &place, Stamp(1), &mut stop);
    assert!(matches!(stopped, Err(CopyError::Stopped)));
    assert_eq!(names(&kept), ["backup"]);
    // An empty book that was there is there still, and empty.
    drop(to_write(&place));
    assert!(SqliteStore::restore(&to, &place, Stamp(1), &mut stop).is_err());
    assert_eq!(to_write(&place).count().unwrap(), 0);
}

#[test]
fn a_backup_is_put_back_where_no_book_is_or_an_empty_one() {
    let (folder, path, store, written) = thick();
    let to = folder.path().join("backup");
    store.back_up(&to, &mut go_on).unwrap();
    let error = SqliteStore::restore(&to, &path, Stamp(1), &mut go_on).unwrap_err();
    assert!(matches!(error, CopyError::Store(StoreError::LookOnly { .. })), "{error}");
    drop(store);
    let error = SqliteStore::restore(&to, &path, Stamp(1), &mut go_on).unwrap_err();
    assert!(matches!(error, CopyError::Store(StoreError::NotEmpty { .. })), "{error}");
    for place in ["new/folder/book", "empty"].map(|name| folder.path().join(name)) {
        if place.ends_with("empty") {
            drop(to_write(&place));
        }
        let count = SqliteStore::restore(&to, &place, Stamp(1), &mut go_on).unwrap();
        assert_eq!(count, written.len() as u64);
        let mut store = to_write(&place);
        assert!(all(&store) == written);
        no_faults(&store);
        // It is a book like any other: it goes on, and its settings are those of one.
        let (_, more) = envelopes(&mut Ids::counted(7), &whole());
        assert_eq!(store.append(&more[0]).unwrap(), Appended::New);
        let mode: String =
            store.connection.pragma_query_value(None, "journal_mode", |row| row.get(0)).unwrap();
        assert_eq!(mode, "wal");
        #[cfg(unix)]
        assert_eq!(super::mode(&place), 0o600);
    }
}

#[test]
fn a_backup_that_is_damaged_newer_or_none_is_refused_and_nothing_is_left_behind() {
    let (folder, _path, store, _) = thick();
    let good = folder.path().join("backup");
    store.back_up(&good, &mut go_on).unwrap();
    let bytes = std::fs::read(&good).unwrap();
    let kept = folder.path().join("kept");
    std::fs::create_dir(&kept).unwrap();
    let from = kept.join("backup");
    let refused = |bytes: &[u8]| {
        std::fs::write(&from, bytes).unwrap();
        let error = SqliteStore::restore(&from, &kept.join("book"), Stamp(1), &mut go_on).unwrap_err();
        assert_eq!(names(&kept), ["backup"], "{error}");
        assert_eq!(std::fs::read(&from).unwrap(), bytes);
        error
    };
    refused(b"");
    refused(b"Dear Sir or Madam");
    refused(&bytes[..bytes.len() / 2]);
    // A page in the middle that says it holds more cells than it can.
    let mut torn = bytes.clone();
    let page = 4096 * 20;
    torn[page + 3..page + 5].copy_from_slice(&[0xff, 0xff]);
    let error = refused(&torn);
    assert!(
        matches!(error, CopyError::Damaged { .. } | CopyError::Store(StoreError::Damaged { .. })),
        "{error}"
    );
    Connection::open(&good).unwrap().pragma_update(None, "user_version", 99).unwrap();
    let error = refused(&std::fs::read(&good).unwrap());
    assert!(matches!(error, CopyError::Store(StoreError::Newer { found: 99, .. })), "{error}");
}

/// What was kept years ago: it comes back up to date, and the old copy stays as it is.
#[test]
fn a_backup_of_each_older_layout_is_put_back_and_brought_up_to_date() {
    let folder = tempfile::tempdir().unwrap();
    for (version, held) in HELD {
        let old = folder.path().join(format!("old-{version}"));
        let mut connection = Connection::open(&old).unwrap();
        migrations::migrate_to(&mut connection, *version, Stamp(1)).unwrap();
        for held in *held {
            connection.execute_batch(held).unwrap();
        }
        drop(connection);
        let before = std::fs::read(&old).unwrap();
        let place = folder.path().join(format!("book-{version}"));
        SqliteStore::restore(&old, &place, Stamp(2), &mut go_on).unwrap();
        assert_eq!(std::fs::read(&old).unwrap(), before);
        let store = to_write(&place);
        assert_eq!(store.layout().unwrap(), migrations::latest());
        assert_eq!(all(&store), all(&open_to_look(&old).unwrap()));
        no_faults(&store);
        // And as text: an older layout can be handed on as it is.
        let none = |_| ControlFlow::Continue(());
        let text = |store: &SqliteStore| {
            let (_, bytes) =
                crate::book::exchange::export(store, Vec::new(), Stamp(1), &mut { none }).unwrap();
            String::from_utf8(bytes).unwrap().lines().skip(1).map(str::to_owned).collect::<Vec<_>>()
        };
        let (from_old, from_new) = (text(&open_to_look(&old).unwrap()), text(&store));
        assert_eq!(from_old[..from_old.len() - 1], from_new[..from_new.len() - 1]);
        assert!(from_old.len() > 2);
    }
}
