//! The whole book handed on, taken over, kept elsewhere and put back, as a user does it.

use crate::program::*;
use crate::weighed::{WHITE, recipe, robin, start, weighed};
use pourbook::book::{Envelope, Ids, SqliteStore, Store as _};
use pourbook::catalogue::{Catalogue, Role};
use pourbook::units::Stamp;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

/// A mix of the invented shop, weighed without a fault.
fn mix(ids: &mut Ids) -> Vec<Envelope> {
    let start = start(recipe(&Catalogue::demo(), WHITE, Role::Ground), "350", "21.4");
    weighed(start, (Stamp(1_790_839_800_000_000), 20_000_000), ids, &robin(), |_| None)
}

fn opened(book: &Path) -> SqliteStore {
    SqliteStore::open(book, Stamp(1)).unwrap().into_parts().0
}

/// A folder with a book of a few mixes, which the bench still holds open.
fn filled() -> (tempfile::TempDir, PathBuf, SqliteStore) {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book.sqlite");
    let mut store = opened(&book);
    let mut ids = Ids::counted(1);
    for envelope in (0..3).flat_map(|_| mix(&mut ids)) {
        store.append(&envelope).unwrap();
    }
    (folder, book, store)
}

fn with_book(book: &Path, args: &[&str]) -> Output {
    program().arg("--book").arg(book).arg("book").args(args).output().unwrap()
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

/// The lines that are not about when it was exported.
fn of_events(export: &str) -> Vec<&str> {
    let lines: Vec<&str> = export.lines().collect();
    lines[1..lines.len() - 1].to_vec()
}

#[test]
fn a_book_is_exported_while_the_bench_has_it_and_imported_elsewhere() {
    let (folder, book, bench) = filled();
    let piped = with_book(&book, &["export"]);
    assert_eq!(code(&piped), 0, "{}", err(&piped));
    let file = folder.path().join("book.jsonl");
    let output = with_book(&book, &["export", text(&file)]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    let count = bench.count().unwrap();
    assert!(
        out(&output).starts_with(&format!("{count} events with 36 postings written to ")),
        "{}",
        out(&output)
    );
    assert_eq!(err(&output), "", "nobody looks, so nothing is counted aloud");
    let written = fs::read_to_string(&file).unwrap();
    assert_eq!(of_events(&written), of_events(&out(&piped)));
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o600);
    }
    let again = with_book(&book, &["export", text(&file)]);
    assert_eq!(code(&again), 1);
    assert!(err(&again).contains("is there already"), "{}", err(&again));
    assert_eq!(fs::read_to_string(&file).unwrap(), written);

    let new = folder.path().join("new/book.sqlite");
    let output = with_book(&new, &["import", text(&file)]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    assert!(
        out(&output).starts_with(&format!("{count} events with 36 postings taken over")),
        "{}",
        out(&output)
    );
    let once_more = with_book(&new, &["export"]);
    assert_eq!(of_events(&out(&once_more)), of_events(&written));
    let output = with_book(&new, &["import", text(&file)]);
    assert_eq!(code(&output), 1);
    assert!(err(&output).contains(&format!("is not empty: it has {count} events")), "{}", err(&output));
    // The bench's own book is held by it.
    let output = with_book(&book, &["import", text(&file)]);
    assert_eq!(code(&output), 1);
    assert!(err(&output).contains("Close the other program first"), "{}", err(&output));
}

#[test]
fn the_journal_is_of_what_moved_and_nothing_else() {
    let (_folder, book, _bench) = filled();
    let output = with_book(&book, &["journal"]);
    assert_eq!((code(&output), err(&output).as_str()), (0, ""));
    let text = out(&output);
    assert!(text.starts_with("; Where the paint went"), "{text}");
    // Three mixes of six pours, each out of a tin and into a cup.
    assert_eq!(text.lines().filter(|line| line.starts_with("2026-10-")).count(), 18);
    let moved: Vec<&str> = text.lines().filter(|line| line.starts_with("    ")).collect();
    assert_eq!(moved.len(), 36);
    let from = moved.iter().find(|line| line.starts_with("    tin?:W10  -")).unwrap();
    assert!(from.ends_with("00000 \"W10 g\""), "{from}");
}

#[test]
fn what_is_damaged_cut_off_or_newer_is_refused_by_its_line_and_leaves_nothing_behind() {
    let (folder, book, _bench) = filled();
    let good = out(&with_book(&book, &["export"]));
    let place = folder.path().join("elsewhere");
    fs::create_dir(&place).unwrap();
    let file = folder.path().join("book.jsonl");
    let refused = |bytes: &str| {
        fs::write(&file, bytes).unwrap();
        let output = with_book(&place.join("book.sqlite"), &["import", text(&file)]);
        assert_eq!((code(&output), out(&output).as_str()), (1, ""));
        assert_eq!(names(&place), [""; 0]);
        err(&output)
    };
    let said = refused(&good.replacen("Robin", "Robyn", 3));
    assert!(said.contains("book.jsonl: line 2 is damaged"), "{said}");
    assert!(said.contains("Nothing of it was taken over"), "{said}");
    let said = refused(good.strip_suffix('\n').unwrap());
    assert!(said.contains(&format!("cut off in line {}", good.lines().count())), "{said}");
    let said = refused("Dear Sir or Madam\n");
    assert!(said.contains("is not a book that was exported"), "{said}");
    let none = with_book(&place.join("book.sqlite"), &["import", text(&place.join("none"))]);
    assert!(err(&none).contains("cannot be read"), "{}", err(&none));
    assert_eq!(names(&place), [""; 0]);
}

#[test]
fn a_backup_is_taken_from_under_the_bench_and_put_back() {
    let (folder, book, mut bench) = filled();
    let kept = folder.path().join("kept");
    fs::create_dir(&kept).unwrap();
    let file = kept.join("monday.sqlite");
    let count = bench.count().unwrap();
    // The bench weighs on all the while, in this process, as the command runs in another.
    let (begun, seen) = std::sync::mpsc::channel();
    let (stop, asked) = std::sync::mpsc::channel::<()>();
    let weighing = std::thread::Builder::new()
        .spawn(move || {
            let mut ids = Ids::counted(7);
            let mut written = 0;
            while asked.try_recv() == Err(std::sync::mpsc::TryRecvError::Empty) {
                for envelope in mix(&mut ids) {
                    bench.append(&envelope).unwrap();
                    written += 1;
                }
                begun.send(()).unwrap_or_default();
            }
            written
        })
        .unwrap();
    seen.recv().unwrap();
    let output = with_book(&book, &["backup", text(&file)]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    drop(stop);
    let written: u64 = weighing.join().unwrap();
    assert_eq!(names(&kept), ["monday.sqlite"]);
    let again = with_book(&book, &["backup", text(&file)]);
    assert_eq!(code(&again), 1);
    assert!(err(&again).contains("is there already, and was left as it is"), "{}", err(&again));

    let place = folder.path().join("restored/book.sqlite");
    let output = with_book(&place, &["restore", text(&file)]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    assert!(out(&output).contains("events put back into "), "{}", out(&output));
    let events = opened(&place).count().unwrap();
    assert!(events > count && events <= count + written, "{events} of {count} and {written}");
    // What is in it is a beginning of what is in the bench's own book.
    let (whole, part) = (out(&with_book(&book, &["export"])), out(&with_book(&place, &["export"])));
    let part = of_events(&part);
    assert_eq!(of_events(&whole)[..part.len()], part);
    let checked = with_book(&place, &["restore", text(&file)]);
    assert_eq!(code(&checked), 1);
    assert!(err(&checked).contains("is not empty"), "{}", err(&checked));
}

#[test]
fn a_backup_that_is_damaged_or_none_is_not_put_back() {
    let (folder, book, _bench) = filled();
    let file = folder.path().join("copy.sqlite");
    assert_eq!(code(&with_book(&book, &["backup", text(&file)])), 0);
    let place = folder.path().join("elsewhere");
    fs::create_dir(&place).unwrap();
    let bytes = fs::read(&file).unwrap();
    for (bytes, said) in
        [(&bytes[..bytes.len() - 4096], "is damaged"), (&b"Dear Sir or Madam"[..], "is not a book")]
    {
        fs::write(&file, bytes).unwrap();
        let output = with_book(&place.join("book.sqlite"), &["restore", text(&file)]);
        assert_eq!(code(&output), 1);
        assert!(err(&output).contains(said), "{}", err(&output));
        assert_eq!(names(&place), [""; 0]);
    }
    let output = with_book(&folder.path().join("none"), &["backup", text(&place.join("x"))]);
    assert_eq!(code(&output), 1);
    assert!(err(&output).contains("there is no book yet"), "{}", err(&output));
    assert_eq!(names(&place), [""; 0]);
}
