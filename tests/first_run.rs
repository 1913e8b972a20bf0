//! The first run in a real terminal: a folder that is looked into, a scale on a real line that is found, and the bench on
//! what was answered, in the same terminal.
//!
//! The screens are the library's own; who asks for them and writes the answers is this file, started a second time inside
//! the terminal.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on says so and stops"
)]

mod common;

use common::{Terminal, demo_shop};
use pourbook::book::{By, Ids};
use pourbook::catalogue::Catalogue;
use pourbook::scale::shape;
use pourbook::scale::{Manner, Spec, StandIn};
use pourbook::tui::keys::Bindings;
use pourbook::tui::theme::Theme;
use pourbook::tui::{
    Answers, CountryOffered, FirstRun, FromBook, Ground, KeepAnswers, Offered, Opening, Preferences,
    Settings, ShopAnswer, run_on,
};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

const FOLDER: &str = "FIRST_RUN_TEST_FOLDER";
const DOWN: &str = "\x1b[B";

/// The first run in a terminal of 80 by 24, its answers kept in that folder.
fn begin(folder: &Path) -> Terminal {
    let program = std::env::current_exe().unwrap();
    let args = ["--exact", "inside_the_terminal", "--ignored", "--nocapture"];
    let folder = folder.display().to_string();
    let terminal = Terminal::start_other(&program, &args, (80, 24), &[(FOLDER, &folder), ("NO_COLOR", "1")]);
    terminal.wait_for("question 1 of 4");
    terminal
}

fn lines(answers: &Answers) -> String {
    let line = |change: pourbook::tui::Change| {
        change.value.map(|value| format!("{} = {value}\n", change.key)).unwrap_or_default()
    };
    answers.changes().into_iter().map(line).collect()
}

#[test]
#[ignore = "it is the program that the other tests start in a terminal"]
fn inside_the_terminal() {
    let folder = PathBuf::from(std::env::var_os(FOLDER).expect("a folder"));
    let file = folder.join("answers");
    let country = |code: &str, name: &str, follows: &str| CountryOffered {
        code: code.to_owned(),
        name: name.to_owned(),
        follows: follows.to_owned(),
    };
    let offered = Offered {
        usual_shop: folder.join("shop"),
        file: file.clone(),
        home: Some(folder.clone()),
        here: folder,
        countries: vec![
            country("de", "Germany", "decimal comma, millilitres"),
            country("us", "United States", "decimal point, US fluid ounces"),
        ],
        bindings: Bindings::default(),
    };
    let keep: KeepAnswers =
        Arc::new(move |answers| fs::write(&file, lines(answers)).map_err(|error| error.to_string()));
    let theme = Theme::from_environment(|name| std::env::var(name).ok(), None);
    let mut ground = Ground::take().unwrap();
    let Some(answers) = ground.first_run(FirstRun::new(offered), &keep, &theme).unwrap() else { return };
    let catalogue = match &answers.shop {
        Some(ShopAnswer::Folder(folder)) => Catalogue::load(folder),
        _ => Catalogue::demo(),
    };
    let settings = Settings {
        by: By { bench: "bench 1".to_owned(), operator: answers.painter.clone().unwrap_or_default() },
        scale: answers.scale,
        division: None,
        capacity: None,
        rehearsal: false,
        seed: 1,
        seconds_east: 0,
        preferences: Preferences::default(),
    };
    let from_book = FromBook { next_number: 1, ..FromBook::default() };
    run_on(ground, Opening { catalogue, settings, from_book, keeper: None, ids: Ids::fresh(), theme })
        .unwrap();
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
    terminal.send(&demo_shop());
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
    let answers = folder.path().join("answers");
    assert!(!answers.exists(), "nothing is written before it was shown");
    terminal.send("\r");
    // The scale's port is free again, and keys are heard.
    terminal.wait_for("scale  steady");
    terminal.send("gannet");
    terminal.wait("the colour", |screen| screen.contains("Gannet White") && screen.contains("gannet"));
    let written = fs::read_to_string(&answers).unwrap();
    let written: Vec<&str> = written.lines().collect();
    assert_eq!(written.len(), 4, "{written:?}");
    assert_eq!(written[0], format!("shop = {}", demo_shop()));
    let address = format!("scale = serial:{}?", scale.place());
    assert!(written[1].starts_with(&address) && written[1].contains("shape=header-comma"), "{written:?}");
    assert_eq!(written[2..], ["painter = Robin", "country = de"]);
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);
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
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
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
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
}
