//! Formulas in a real terminal: found while typing, changed, and taken in from a table with mistakes.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test that cannot go on says so and stops"
)]

mod common;

use common::{Terminal, demo_shop};
use std::fs;
use std::path::Path;

const F5: &str = "\x1b[15~";
const F10: &str = "\x1b[21~";

fn open(folder: &Path) -> (String, Terminal) {
    let shop = demo_shop(folder);
    let book = folder.join("book.sqlite").display().to_string();
    let terminal = Terminal::start(&["--shop", &shop, "--book", &book], (80, 24), &[]);
    (shop, terminal)
}

#[test]
fn found_while_typing_changed_and_still_the_same_file() {
    let folder = tempfile::tempdir().unwrap();
    let (shop, mut terminal) = open(folder.path());
    terminal.wait_for("16 colours");
    // Words of code and name in any order, one letter missing.
    terminal.send("whte 3140");
    terminal.wait_for("1 found");
    terminal.wait_for("Gannet White");
    terminal.send("\x1b[C");
    terminal.send(F5);
    terminal.wait_for("change it");
    terminal.send("1");
    terminal.wait_for("nothing changed");
    terminal.send("\x1b[B");
    terminal.send("\x15810,5");
    terminal.wait_for("not saved yet");
    terminal.send(F10);
    terminal.wait_for("the version before it is kept");
    let file = Path::new(&shop).join("colours/gannet-white.toml");
    let text = fs::read_to_string(file).unwrap();
    assert!(text.starts_with("# An invented colour") && text.contains("parts = \"810.5\""), "{text}");
    // Mixed is what is in the file now.
    terminal.send("\x1b[C\r");
    terminal.wait_for("how much");
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);
}

#[test]
fn a_table_with_mistakes_says_all_of_them_and_writes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let (shop, mut terminal) = open(folder.path());
    let table = folder.path().join("old.csv");
    let rows = "code,name,finish,layer,toner,parts\nX-1,Otter,single-stage,base,M8O,100\nX-1,Otter,single-stage,base,K05,x\n";
    fs::write(&table, rows).unwrap();
    terminal.wait_for("16 colours");
    terminal.send(F5);
    terminal.wait_for("take formulas in");
    terminal.send("5");
    terminal.wait_for("from where?");
    terminal.send(&format!("{}\r", table.display()));
    let screen = terminal.wait_for("0 new, 0 changed, 0 the same, 2 wrong");
    assert!(screen.contains("line 2") && screen.contains("line 3") && screen.contains("M80"), "{screen}");
    terminal.send("\r");
    terminal.wait_for("nothing is written while 2 cannot be read");
    terminal.send("\x1b");
    terminal.wait_for("16 colours");
    // Put right in the file, it is taken in.
    fs::write(&table, rows.replace("M8O", "M80").replace(",x\n", ",3.5\n")).unwrap();
    terminal.send(F5);
    terminal.wait_for("take formulas in");
    terminal.send("5");
    terminal.wait_for("from where?");
    terminal.send(&format!("{}\r", table.display()));
    terminal.wait_for("1 new, 0 changed, 0 the same, 0 wrong");
    terminal.send("\r");
    terminal.wait_for("17 colours");
    assert_eq!(fs::read_dir(Path::new(&shop).join("colours")).unwrap().count(), 17);
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);
}
