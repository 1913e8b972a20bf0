//! Every way out of the program leaves the terminal as it was, and nothing lives on behind it.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on says so and stops"
)]

mod common;

use common::Terminal;
use rstest::rstest;
use std::path::Path;

fn demo(folder: &Path, size: (u16, u16), env: &[(&str, &str)]) -> Terminal {
    let book = folder.join("book.sqlite").display().to_string();
    Terminal::start(&["demo", "--book", &book], size, env)
}

/// The terminal is as it was: the other screen left, the cursor shown, pastes unmarked, raw mode off.
fn assert_clean(terminal: &Terminal) {
    assert_eq!(terminal.modes(), (false, false), "alternate screen, hidden cursor");
    assert!(!terminal.bracketed_paste(), "bracketed paste");
    assert!(terminal.is_cooked(), "raw mode");
}

/// Opens the demo up to the colours, where the terminal is ours.
fn opened(folder: &Path, env: &[(&str, &str)]) -> Terminal {
    let terminal = demo(folder, (80, 24), env);
    terminal.wait_for("Gannet White");
    assert_eq!(terminal.modes(), (true, true));
    assert!(!terminal.is_cooked());
    terminal
}

#[rstest]
#[case("\x03")]
#[case("\x11")]
fn by_key(#[case] key: &str) {
    let folder = tempfile::tempdir().unwrap();
    let mut terminal = opened(folder.path(), &[]);
    terminal.send(key);
    assert_eq!(terminal.wait_end(), 0);
    assert_clean(&terminal);
}

#[rstest]
#[case("INT")]
#[case("TERM")]
#[case("HUP")]
fn by_signal(#[case] signal: &str) {
    let folder = tempfile::tempdir().unwrap();
    let mut terminal = opened(folder.path(), &[]);
    terminal.signal(signal);
    assert_eq!(terminal.wait_end(), 0);
    assert_clean(&terminal);
}

#[rstest]
#[case("main", 101)]
#[case("scale", 1)]
fn by_a_fault_of_a_part(#[case] part: &str, #[case] code: u32) {
    let folder = tempfile::tempdir().unwrap();
    let mut terminal = demo(folder.path(), (80, 24), &[("POURBOOK_FAULT", part)]);
    assert_eq!(terminal.wait_end(), code);
    assert_clean(&terminal);
    let said = String::from_utf8_lossy(&terminal.raw()).into_owned();
    assert!(said.contains("a fault that a test asked for"), "{said}");
}

/// A book whose worker fails ends the program; what it had written is there.
#[test]
fn by_a_fault_of_the_book() {
    let folder = tempfile::tempdir().unwrap();
    let mut terminal = opened(folder.path(), &[("POURBOOK_FAULT", "book")]);
    terminal.send("gannet");
    terminal.wait_for("1 found");
    terminal.send("\r");
    terminal.wait_for("how much");
    terminal.send("\r");
    assert_eq!(terminal.wait_end(), 1);
    assert_clean(&terminal);
    let terminal = demo(folder.path(), (80, 24), &[]);
    terminal.wait_for("cut off");
}

#[test]
fn stopped_and_continued() {
    let folder = tempfile::tempdir().unwrap();
    let mut terminal = opened(folder.path(), &[]);
    terminal.send("\x1a");
    terminal.wait_until("the terminal given back", |terminal| terminal.modes() == (false, false));
    assert!(terminal.is_cooked());
    terminal.signal("CONT");
    terminal.wait_until("the terminal taken again", |terminal| terminal.modes() == (true, true));
    terminal.wait_for("Gannet White");
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);
    assert_clean(&terminal);
}

/// The window is closed, or the connection drops: the program ends by itself, and without a fault.
#[test]
fn by_closing_the_window() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book.sqlite").display().to_string();
    assert_eq!(common::close_under(&["demo", "--book", &book], "PB-3140"), 0);
}

#[test]
fn without_a_terminal_it_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book.sqlite");
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_pourbook"))
        .args(["demo", "--book", &book.display().to_string()])
        .stdin(std::process::Stdio::null())
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(said.contains("is not a terminal"), "{said}");
    assert!(output.stdout.is_empty());
}

/// `NO_COLOR`: not one colour is sent, and emphasis still is.
#[test]
fn without_colour() {
    let folder = tempfile::tempdir().unwrap();
    let mut terminal = opened(folder.path(), &[("NO_COLOR", "1")]);
    terminal.send("gannet");
    terminal.wait_for("1 found");
    terminal.send("\r");
    terminal.wait_for("how much");
    terminal.send("\x03");
    terminal.wait_end();
    let raw = String::from_utf8_lossy(&terminal.raw()).into_owned();
    let codes: Vec<&str> = raw
        .split("\x1b[")
        .skip(1)
        .filter_map(|rest| rest.split_once('m'))
        .map(|(code, _)| code)
        .filter(|code| !code.is_empty() && code.bytes().all(|b| b.is_ascii_digit() || b == b';'))
        .collect();
    let colour = |code: &&&str| {
        code.split(';').any(|n| matches!(n.parse(), Ok(30..=38 | 40..=48 | 90..=97 | 100..=107)))
    };
    assert_eq!(codes.iter().filter(colour).count(), 0, "{codes:?}");
    assert!(
        codes.iter().any(|code| code.split(';').any(|n| n == "1" || n == "7")),
        "no emphasis at all: {codes:?}"
    );
}

/// A second program on the same book is told so, can look, and cannot write.
#[test]
fn a_second_one_can_only_look() {
    let folder = tempfile::tempdir().unwrap();
    let mut first = opened(folder.path(), &[]);
    first.send("gannet");
    first.wait_for("1 found");
    first.send("\r");
    first.wait_for("how much");
    first.send("\r");
    first.wait_for("stop at");
    let mut second = demo(folder.path(), (100, 30), &[]);
    second.wait_for("LOOK ONLY");
    second.wait_for("Gannet White");
    second.send("\r");
    second.wait_for("LOOK ONLY");
    second.send("x\r\r");
    second.send("\x03");
    assert_eq!(second.wait_end(), 0);
    first.send("\x03");
    assert_eq!(first.wait_end(), 0);
    let book = pourbook::book::open_to_look(&folder.path().join("book.sqlite")).unwrap();
    let report = pourbook::book::check::check(&book).unwrap();
    assert_eq!((report.mixes, report.events, report.faults), (1, 1, vec![]));
}

/// Nonsense typed at every screen, and every size on the way, end nothing.
#[test]
fn nonsense_and_any_size() {
    let folder = tempfile::tempdir().unwrap();
    let mut terminal = opened(folder.path(), &[]);
    for (columns, rows) in [(1, 1), (20, 5), (79, 24), (80, 23), (200, 60), (80, 24)] {
        terminal.resize(columns, rows);
        terminal.send("\x1b[A\x1b[B§ü中\t\x7f\x1b[5~\x1b[200~paste\x07me\x1b[201~\x15");
    }
    terminal.wait_for("Gannet White");
    terminal.send("gannet");
    terminal.wait_for("1 found");
    terminal.send("\r");
    terminal.wait_for("how much");
    terminal.send("\x15banana\r");
    terminal.wait_for("banana");
    terminal.send("\x15350 mL\r");
    terminal.wait_for("stop at");
    terminal.send("w");
    terminal.wait_for("which toner went in?");
    terminal.send("nonsense\r");
    terminal.wait_for("no toner has the code");
    // Escape and a letter at once would be a letter with Alt.
    terminal.send("\x1b");
    terminal.wait("the question gone", |screen| !screen.contains("which toner went in?"));
    terminal.send("m");
    terminal.wait_for("how many grams?");
    terminal.send("-5\r");
    terminal.wait_for("-5");
    terminal.send("\x1b");
    terminal.wait("the question gone", |screen| !screen.contains("how many grams?"));
    terminal.send("x");
    terminal.wait_for("why is it given up?");
    terminal.send("spilt\r");
    terminal.wait_for("booked as waste");
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);
    assert_clean(&terminal);
}

/// The mouse is the terminal's own, so that text can be copied, until it is asked for; and it is given back.
#[test]
fn the_mouse_is_heeded_only_when_it_is_switched_on() {
    let says = |terminal: &Terminal, code: &[u8]| terminal.raw().windows(code.len()).any(|seen| seen == code);
    let mut terminal = Terminal::start(&["demo"], (80, 24), &[]);
    terminal.wait_for("Gannet White");
    assert!(!says(&terminal, b"\x1b[?1000h"));
    terminal.send("\x1bOS");
    terminal.wait_for("the mouse is heeded");
    assert!(says(&terminal, b"\x1b[?1000h") && says(&terminal, b"\x1b[?1006h"));
    // A click on the second colour's row marks it.
    terminal.send("\x1b[<0;20;6M\x1b[<0;20;6m");
    terminal
        .wait("another row marked", |screen| screen.lines().nth(5).is_some_and(|line| line.contains('▸')));
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);
    assert!(says(&terminal, b"\x1b[?1000l"), "it is given back");
    let mut terminal = Terminal::start(&["demo"], (80, 24), &[]);
    terminal.wait_for("Gannet White");
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);
    assert!(!says(&terminal, b"\x1b[?1000"), "nothing of it where it was never asked for");
}
