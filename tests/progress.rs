//! The counting lines of long commands, in a real terminal: what is said on standard error while it lasts, and that
//! nothing of it is left behind; and that nothing is said where nobody looks on.

#![cfg(unix)]
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    dead_code,
    reason = "a test that cannot go on says so and stops"
)]
#![allow(
    clippy::indexing_slicing,
    clippy::cast_possible_truncation,
    reason = "the invented year is of all tests"
)]

mod common;
mod year;

use common::Terminal;
use pourbook::book::{Opened, SqliteStore, StoreError};
use pourbook::units::Stamp;
use rusqlite::Connection;
use std::io::Read as _;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Duration;
use year::Year;

const PROGRAM: &str = env!("CARGO_BIN_EXE_pourbook");

/// A book of two invented weeks from 2025-01-06 on, and how many events are in it.
fn book(folder: &Path) -> (PathBuf, u64) {
    let path = folder.join("book.sqlite");
    let Opened::ToWrite(mut store) = SqliteStore::open(&path, Stamp(1)).unwrap() else {
        panic!("nobody has it")
    };
    let mut year = Year::of(14, 1);
    let events = store.fill(|| Ok::<_, StoreError>(year.next())).unwrap();
    (path, events)
}

/// A book of layout 2 with the same weeks in it, and how many events.
fn old_book(folder: &Path) -> (PathBuf, u64) {
    let path = folder.join("old.sqlite");
    let book = Connection::open(&path).unwrap();
    book.pragma_update(None, "journal_mode", "WAL").unwrap();
    book.execute_batch(include_str!("old-books/layout-2.sql")).unwrap();
    let mut events = 0;
    book.execute_batch("BEGIN").unwrap();
    for event in Year::of(14, 1) {
        let sql = "
            INSERT INTO events (id, at, bench, operator, subject, sequence, kind, body)
            VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)";
        let (id, subject) = (event.id.to_string(), event.subject.to_string());
        book.execute(
            sql,
            (id, event.at.0, event.bench, event.operator, subject, event.sequence, event.kind, event.body),
        )
        .unwrap();
        let position = book.last_insert_rowid();
        for (place, posting) in (0_i64..).zip(&event.postings) {
            let (account, toner) = (posting.account.to_string(), posting.toner.as_str());
            let sql =
                "INSERT INTO postings (event, place, account, toner, micrograms) VALUES (?1, ?2, ?3, ?4, ?5)";
            book.execute(sql, (position, place, account, toner, posting.micrograms)).unwrap();
        }
        events += 1;
    }
    book.execute_batch("COMMIT").unwrap();
    (path, events)
}

fn layout(book: &Path) -> u32 {
    let book = Connection::open(book).unwrap();
    book.pragma_query_value(None, "user_version", |row| row.get(0)).unwrap()
}

/// All mixes of 2025, each with its cost.
fn waste(book: &Path) -> [&str; 9] {
    let book = book.to_str().unwrap();
    ["waste", "--since", "2025-01-01", "--until", "2025-12-31", "--costs", "--csv", "--book", book]
}

fn raw(terminal: &Terminal) -> String {
    String::from_utf8(terminal.raw()).unwrap()
}

#[test]
fn how_many_mixes_are_read_is_counted_and_wiped_away() {
    let folder = tempfile::tempdir().unwrap();
    let (book, _) = book(folder.path());
    let env = [("POURBOOK_SETTINGS", "no-such-settings.toml")];
    let mut terminal = Terminal::start(&waste(&book), (120, 200), &env);
    assert_eq!(terminal.wait_end(), 0);
    let said = raw(&terminal);
    let first = said.find("\r100 of ").unwrap_or_else(|| panic!("nothing is counted: {said}"));
    let (_, rest) = said.split_at(first);
    let all: String = rest.chars().skip("\r100 of ".len()).take_while(char::is_ascii_digit).collect();
    assert!(all.parse::<u32>().unwrap() > 100, "{all}");
    let whole = format!("100 of {all} mixes read");
    // The last that is said of it is blanks over it, and the table begins where it stood.
    let wiped = said.find(&format!("\r{}\r", " ".repeat(whole.len()))).unwrap();
    assert!(said.find("mix,").unwrap() > wiped && wiped > first, "{said}");
    assert!(!terminal.text().contains("mixes read"), "{}", terminal.text());

    // Neither in a pipe: what is written there is the table alone.
    let output = Command::new(PROGRAM).args(waste(&book)).env(env[0].0, env[0].1).output().unwrap();
    assert!(output.status.success());
    assert_eq!(String::from_utf8(output.stderr).unwrap(), "");
    assert!(output.stdout.starts_with(b"mix,"), "{:?}", String::from_utf8_lossy(&output.stdout[..40]));
}

/// The book goes into a pipe that is not read from for longer than the line is written anew after: so it is due for
/// certain, however fast the machine.
#[test]
fn how_many_events_are_written_is_counted_and_wiped_away() {
    let folder = tempfile::tempdir().unwrap();
    let (book, events) = book(folder.path());
    let pipe = folder.path().join("pipe");
    assert!(Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let script = format!("{PROGRAM} book export - --book {} > {}", book.display(), pipe.display());
    let mut terminal = Terminal::start_other(Path::new("/bin/sh"), &["-c", &script], (100, 24), &[]);
    let mut source = std::fs::File::open(&pipe).unwrap();
    let mut first = [0; 1];
    source.read_exact(&mut first).unwrap();
    // It is at work now, and cannot come to an end: the pipe holds less than the book.
    std::thread::sleep(Duration::from_millis(150));
    let mut lines = Vec::from(first);
    source.read_to_end(&mut lines).unwrap();
    assert_eq!(terminal.wait_end(), 0);
    assert!(lines.len() > 500_000, "{}", lines.len());
    let digits = events.to_string();
    let (thousands, rest) = digits.split_at(digits.len() - 3);
    let all = format!("{thousands} {rest}");
    let said = raw(&terminal);
    assert!(said.contains(&format!(" of {all} events")), "{said}");
    assert!(said.ends_with(" \r"), "{said:?}");
    assert_eq!(terminal.text().trim(), "");

    let output =
        Command::new(PROGRAM).args(["book", "export", "-", "--book", book.to_str().unwrap()]).output();
    assert_eq!(String::from_utf8(output.unwrap().stderr).unwrap(), "");
}

/// What `check` is asked of that book.
fn check<'a>(book: &'a Path, more: &[&'a str]) -> Vec<&'a str> {
    let mut args = vec!["check", "--demo-shop", "--book", book.to_str().unwrap()];
    args.extend(more);
    args
}

/// Somebody else has the book for as long as the test wants: so there is time for the line, however fast the machine.
#[test]
fn how_far_a_check_is_is_said_and_wiped_away() {
    let folder = tempfile::tempdir().unwrap();
    let (book, _) = book(folder.path());
    let env = [("POURBOOK_SETTINGS", "no-such-settings.toml")];
    for (more, held, said) in [
        (&[][..], "PRAGMA locking_mode = EXCLUSIVE; BEGIN EXCLUSIVE", "the book is opened"),
        (&["--rebuild"][..], "BEGIN IMMEDIATE", "the figures are taken away"),
    ] {
        let other = Connection::open(&book).unwrap();
        other.execute_batch(held).unwrap();
        let mut terminal = Terminal::start(&check(&book, more), (160, 40), &env);
        terminal.wait_for(&format!("{said}, 0 s"));
        terminal.wait_for(&format!("{said}, 1 s"));
        other.execute_batch("ROLLBACK").unwrap();
        drop(other);
        terminal.wait_end();
        let text = terminal.text();
        assert!(text.contains("every gram accounted for"), "{text}");
        assert_eq!(text.contains("made anew from the journal"), !more.is_empty(), "{text}");
        assert!(!text.contains(&format!("{said},")), "{text}");
        let lines: Vec<_> = text.lines().map(str::trim_end).filter(|line| !line.is_empty()).collect();

        // In a pipe nothing is said of it.
        let output = Command::new(PROGRAM).args(check(&book, more)).env(env[0].0, env[0].1).output().unwrap();
        assert_eq!(String::from_utf8(output.stderr).unwrap(), "");
        let piped = String::from_utf8(output.stdout).unwrap();
        let of_book = |lines: &[&str]| lines.iter().filter(|line| line.contains("  book  ")).count();
        assert_eq!(of_book(&lines), 1, "{text}");
        assert_eq!(of_book(&piped.lines().collect::<Vec<_>>()), 1, "{piped}");
    }
}

/// A command that writes in the book, and the bench: who has an old book sees that it is being brought up. Somebody else
/// holds the book for as long as the test wants.
#[test]
fn how_far_an_old_book_is_brought_up_is_said_before_a_command_and_before_the_bench() {
    let folder = tempfile::tempdir().unwrap();
    let (old, events) = old_book(folder.path());
    let env = [("POURBOOK_SETTINGS", "no-such-settings.toml")];
    for (at, args) in [&["tin", "stirred", "--demo-shop"][..], &["demo"][..]].into_iter().enumerate() {
        let book = folder.path().join(at.to_string());
        std::fs::copy(&old, &book).unwrap();
        let args = [args, &["--book", book.to_str().unwrap()]].concat();
        let other = Connection::open(&book).unwrap();
        let (said, hold) = ("book brought up from layout 2 to ", "BEGIN IMMEDIATE");

        // Ctrl-C ends it; the book and the terminal are as they were.
        other.execute_batch(hold).unwrap();
        let mut terminal = Terminal::start(&args, (80, 24), &env);
        terminal.wait_for(said);
        assert_eq!(terminal.modes(), (false, false), "the terminal is not taken yet");
        terminal.send("\x03");
        assert_ne!(terminal.wait_end(), 0);
        other.execute_batch("ROLLBACK").unwrap();
        assert_eq!(layout(&book), 2);
        assert!(terminal.is_cooked() && terminal.modes() == (false, false));

        other.execute_batch(hold).unwrap();
        let mut terminal = Terminal::start(&args, (80, 24), &env);
        terminal.wait_for(said);
        terminal.wait_for(": tables and indexes are made, ");
        other.execute_batch("ROLLBACK").unwrap();
        drop(other);
        if at == 0 {
            assert_eq!(terminal.wait_end(), 0, "{}", terminal.text());
            let text = terminal.text();
            assert!(!text.contains("layout"), "{text}");
        } else {
            terminal.wait_until("the bench", |terminal| terminal.modes().0);
            let text = terminal.wait_for("Gannet White");
            assert!(!text.contains("layout"), "{text}");
            terminal.send("\x03");
            assert_eq!(terminal.wait_end(), 0);
        }
        let looked = pourbook::book::open_to_look(&book).unwrap();
        assert!(looked.layout().unwrap() > 2);
        let count = pourbook::book::Store::count(&looked).unwrap();
        // The command has written each open tin of the rack, the bench nothing.
        assert_eq!(count > events, at == 0, "{count} of {events}");
        assert!(count >= events);
    }

    // In a pipe nothing is said of it, and a book that is up to date has nothing to say in a terminal either.
    let args = ["tin", "stirred", "--demo-shop", "--book", old.to_str().unwrap()];
    let output = Command::new(PROGRAM).args(args).env(env[0].0, env[0].1).output().unwrap();
    assert_eq!(String::from_utf8(output.stderr).unwrap(), "");
    let mut terminal = Terminal::start(&args, (80, 24), &env);
    assert_eq!(terminal.wait_end(), 0);
    assert!(!raw(&terminal).contains("layout"), "{}", raw(&terminal));
}
