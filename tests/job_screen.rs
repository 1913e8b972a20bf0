//! A repair in a real terminal: opened, its cards made and chosen, a coat counted, the program killed in the middle and come
//! back with everything and the time still running.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test that cannot go on says so and stops"
)]

mod common;

use common::{Terminal, demo_shop};
use pourbook::book::{JobsOf, Ledger as _, Store as _, open_to_look};
use pourbook::catalogue::Role;
use pourbook::job::JobJournal;
use std::path::Path;

const F9: &str = "\x1b[20~";
const CTRL_N: &str = "\x0e";

fn start(shop: &str, book: &str) -> Terminal {
    Terminal::start(&["--shop", shop, "--book", book], (80, 24), &[])
}

/// Types a line and takes it.
fn answer(terminal: &mut Terminal, asked: &str, typed: &str) {
    terminal.wait_for(asked);
    terminal.send(typed);
    if !typed.is_empty() {
        terminal.wait_for(&format!("{asked}  {typed}"));
    }
    terminal.send("\r");
}

fn journal(book: &Path) -> JobJournal {
    let book = open_to_look(book).unwrap();
    let row = book.jobs(JobsOf::Name("26-118 tailgate")).unwrap().pop().unwrap();
    JobJournal::fold(row.job, &book.events(row.job.subject()).unwrap()).unwrap()
}

#[test]
fn a_repair_survives_the_power_failing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book.sqlite");
    let (shop, book) = (demo_shop(folder.path()), path.display().to_string());
    let mut terminal = start(&shop, &book);
    terminal.wait_for("Gannet White");
    terminal.send(F9);
    terminal.wait_for("no job is open");
    terminal.send(CTRL_N);
    answer(&mut terminal, "what is it called?", "26-118 tailgate");
    answer(&mut terminal, "which vehicle?", "grey estate");
    answer(&mut terminal, "which colour?", "gannet");
    answer(&mut terminal, "which panels?", "tailgate");
    answer(&mut terminal, "which layers cover less or more", "");
    answer(&mut terminal, "built up how?", "");
    terminal.wait_for("saved: job 26-118 tailgate is opened");
    terminal.wait_for("next: make spray-out cards");
    for coats in ["1", "2"] {
        terminal.send("c");
        terminal.wait_for(&format!("with how many coats?  {coats}"));
        terminal.send("\r");
        terminal.wait_for("over what?");
        terminal.send("\r");
        terminal.wait_for("with which gun set-up?");
        terminal.send("\r");
        terminal.wait_for(&format!("saved: card {coats}"));
    }
    terminal.send("\r");
    terminal.wait_for("which card matches the car?  2");
    terminal.send("\r");
    terminal.wait_for("saved: card 2 is chosen: the car gets 2 coats");
    terminal.send("t");
    answer(&mut terminal, "until the booth is clear?", "45");
    terminal.wait_for("saved: the booth is clear in 45 min");
    terminal.wait_for("clearance 45 min");
    terminal.signal("KILL");
    terminal.wait_end();

    let killed = journal(&path);
    assert_eq!(killed.job().cards().count(), 2);
    assert_eq!(killed.job().standing(Role::Pearl).unwrap().wanted, Some(2));

    // A coat is counted from the command line; then the screen again.
    let mut terminal = start(&shop, &book);
    terminal.wait_for("clearance 4");
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);
    let coat = std::process::Command::new(env!("CARGO_BIN_EXE_pourbook"))
        .args(["--shop", &shop, "--book", &book, "job", "coat", "26-118 tailgate", "undercoat", "--ago", "1"])
        .output()
        .unwrap();
    assert!(coat.status.success(), "{}", String::from_utf8_lossy(&coat.stderr));
    let mut terminal = start(&shop, &book);
    // Eight minutes by the invented shop's product sheet.
    terminal.wait_for("flash-off undercoat 6:");
    terminal.send(F9);
    terminal.wait_for("wait for the flash-off");
    terminal.send("\r");
    terminal.wait_for("1 of 2");
    terminal.send("o");
    answer(&mut terminal, "why is it not waited for?", "hot air");
    terminal.wait_for("next: spray coat 2 of 2 of the undercoat");
    terminal.send("\r");
    terminal.wait_for("saved: coat 2 of 2 of the undercoat is on");
    terminal.signal("KILL");
    terminal.wait_end();
    let mut terminal = start(&shop, &book);
    terminal.wait_for("flash-off undercoat 7:");
    // It ticks without a key.
    let before = terminal.text();
    terminal
        .wait("the time to go on", |screen| screen.contains("flash-off undercoat 7:") && screen != before);
    assert_eq!(journal(&path).job().standing(Role::Undercoat).unwrap().sprayed(), 2);
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);

    // The booth is not clear because the job is closed.
    let closed = std::process::Command::new(env!("CARGO_BIN_EXE_pourbook"))
        .args(["--shop", &shop, "--book", &book, "job", "close", "26-118 tailgate"])
        .output()
        .unwrap();
    assert!(closed.status.success(), "{}", String::from_utf8_lossy(&closed.stderr));
    let mut terminal = start(&shop, &book);
    terminal.wait_for("next layer on undercoat 1");
    // The third time, the booth's, has no room on the line.
    terminal.wait_for(" +1 ");
    terminal.send(F9);
    terminal.wait_for("no job is open");
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);
}

/// The sheet that a key writes is the command's, as a page and as text, in a file of its own each time.
#[test]
fn the_sheet_is_written_as_the_command_writes_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book.sqlite");
    let (shop, book) = (demo_shop(folder.path()), path.display().to_string());
    let told = |args: &[&str]| {
        let output = std::process::Command::new(env!("CARGO_BIN_EXE_pourbook"))
            .args(["--shop", &shop, "--book", &book, "job"])
            .args(args)
            .output()
            .unwrap();
        assert!(output.status.success(), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8_lossy(&output.stdout).into_owned()
    };
    let name = "26-118 tail/gate";
    told(&["open", name, "--colour", "PB-3140", "--panel", "tailgate"]);
    told(&["coat", name, "undercoat", "--ago", "1"]);
    // It says when it was made: the minute may turn in between.
    let sheets = |place: &str| {
        let page = folder.path().join(place);
        told(&["sheet", name, "--html", &page.display().to_string()]);
        (std::fs::read_to_string(page).unwrap(), told(&["sheet", name]))
    };
    let before = sheets("before.html");
    let mut terminal = start(&shop, &book);
    terminal.wait_for("Gannet White");
    terminal.send(F9);
    terminal.wait_for(name);
    terminal.send("\r");
    terminal.wait_for("next:");
    let mut written = |count: usize| {
        terminal.send("s");
        let files = || -> Vec<std::path::PathBuf> {
            let Ok(read) = std::fs::read_dir(folder.path().join("sheets")) else { return Vec::new() };
            let mut files: Vec<_> = read.map(|entry| entry.unwrap().path()).collect();
            files.sort();
            files
        };
        terminal.wait_until("the files", |_| files().len() == count);
        terminal.wait_for("sheet, and the same as .txt: ");
        files()
    };
    let first = written(2);
    let second = written(4);
    let after = sheets("after.html");
    for file in &second {
        let text = std::fs::read_to_string(file).unwrap();
        let is_page = file.extension().is_some_and(|end| end == "html");
        let of = |(page, text): &(String, String)| if is_page { page.clone() } else { text.clone() };
        assert!(text == of(&before) || text == of(&after), "{}:\n{text}\n{}", file.display(), of(&before));
        assert!(file.file_name().unwrap().to_str().unwrap().starts_with("26-118 tail-gate 20"));
    }
    assert!(first.iter().all(|file| second.contains(file)));
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);
}
