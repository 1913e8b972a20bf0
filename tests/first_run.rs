//! The first run in a real terminal: a folder that is looked into, a scale on a real line that is found, and the bench on
//! what was answered, in the same terminal.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on says so and stops"
)]

mod common;

use common::{Terminal, demo_shop};
use pourbook::scale::shape;
use pourbook::scale::{Manner, Spec, StandIn};
use std::fs;
use std::path::{Path, PathBuf};

const DOWN: &str = "\x1b[B";

/// The program in a terminal of 80 by 24, with a home of its own.
fn open(home: &Path) -> Terminal {
    let at = |name: &str| home.join(name).display().to_string();
    let (config, data, state) = (at("config"), at("data"), at("state"));
    let home = home.display().to_string();
    let env = [
        ("HOME", home.as_str()),
        ("XDG_CONFIG_HOME", &config),
        ("XDG_DATA_HOME", &data),
        ("XDG_STATE_HOME", &state),
        ("NO_COLOR", "1"),
        ("POURBOOK_SHOP", ""),
        ("POURBOOK_BOOK", ""),
        ("POURBOOK_SETTINGS", ""),
    ];
    Terminal::start(&[], (80, 24), &env)
}

fn begin(home: &Path) -> Terminal {
    let terminal = open(home);
    terminal.wait_for("question 1 of 4");
    terminal
}

fn settings(home: &Path) -> PathBuf {
    home.join("config/pourbook/settings.toml")
}

#[test]
fn the_four_questions_are_answered_and_the_bench_opens_on_them() {
    let folder = tempfile::tempdir().unwrap();
    let manner = Manner {
        shape: shape::by_name("header-comma").unwrap(),
        spec: Spec::default(),
        seed: 5,
        streams: true,
    };
    let scale = StandIn::on_pty(&folder.path().join("scale"), manner).unwrap();
    let mut terminal = begin(folder.path());
    // A folder that is not there is said, and can be typed anew.
    terminal.send("~/nowhere\r");
    terminal.wait_for("this folder is not there");
    terminal.send("\x15");
    let shop = demo_shop(folder.path());
    terminal.send(&shop);
    terminal.send("\r");
    terminal.wait_for("no mistakes");
    terminal.send("\r");
    terminal.wait_for("question 2 of 4");
    // The port is searched, and nothing is said of a format.
    terminal.send(scale.place());
    terminal.send("\r");
    terminal.wait_for("found, ");
    terminal.wait_for("shape=header-comma");
    terminal.send("\r");
    terminal.wait_for("question 3 of 4");
    terminal.send("Robin\r");
    terminal.wait_for("question 4 of 4");
    terminal.send("germ");
    terminal.wait_for("decimal comma, millilitres");
    terminal.send("\r");
    terminal.wait_for("Enter writes into");
    let answers = settings(folder.path());
    assert!(!answers.exists(), "nothing is written before it was shown");
    terminal.send("\r");
    // The scale's port is free again, and keys are heard.
    terminal.wait_for("scale  steady");
    terminal.send("gannet");
    terminal.wait("the colour", |screen| screen.contains("Gannet White") && screen.contains("gannet"));
    let written = fs::read_to_string(&answers).unwrap();
    let written: Vec<&str> = written.lines().collect();
    assert_eq!(written.len(), 4, "{written:?}");
    assert_eq!(written[0], format!("shop = {shop:?}"));
    let address = format!("scale = \"serial:{}?", scale.place());
    assert!(written[1].starts_with(&address) && written[1].contains("shape=header-comma"), "{written:?}");
    assert_eq!(written[2..], ["painter = \"Robin\"", "country = \"de\""]);
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);
    // The next time nothing is asked, and the scale is there.
    let mut again = open(folder.path());
    again.wait_for("16 colours");
    again.wait_for("scale  steady");
    again.send("\x03");
    assert_eq!(again.wait_end(), 0);
    // One that sends by itself is only listened to.
    assert_eq!(scale.truth().unwrap().received, b"");
}

#[test]
fn all_left_open_writes_nothing_and_the_invented_shop_opens() {
    let folder = tempfile::tempdir().unwrap();
    let mut terminal = begin(folder.path());
    for question in ["question 2 of 4", "question 3 of 4", "question 4 of 4", "nothing is written"] {
        terminal.send("\t");
        terminal.wait_for(question);
    }
    terminal.send("\r");
    terminal.wait_for("Gannet White");
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);
    assert!(!settings(folder.path()).exists());
}

#[test]
fn leaving_in_the_middle_writes_nothing_and_puts_the_terminal_back() {
    let folder = tempfile::tempdir().unwrap();
    let mut terminal = begin(folder.path());
    terminal.send(DOWN);
    terminal.send("\r");
    terminal.wait_for("question 2 of 4");
    terminal.wait_for("the invented shop");
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);
    assert_eq!(terminal.modes(), (false, false), "the first screen, with its cursor");
    assert!(!settings(folder.path()).exists());
}
