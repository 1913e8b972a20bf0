//! `pourbook targets` beside a book in which the scale's ten weighings are: they say what can be weighed.

use crate::program::program;
use pourbook::book::{By, Envelope, Ids, Opened, SqliteStore, Store};
use pourbook::metrology::{Repeatability, ScaleEvent};
use pourbook::units::{Division, Grams, Stamp};
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::Output;

/// What the invented shop's scale.toml calls it.
const SCALE: &str = "virtual bench";

fn targets(book: &Path, more: &[&str]) -> Output {
    let output = program()
        .args(["--demo-shop", "--book"])
        .arg(book)
        .args(["targets", "PB-3140", "--layer", "ground", "--volume", "350 mL"])
        .args(more)
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    output
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

fn weighed_into(book: &Path, scale: &str) {
    let at = Stamp(1_700_000_000_000_000);
    let Opened::ToWrite(mut store) = SqliteStore::open(book, at).unwrap() else { panic!("it is free") };
    let g = |text: &str| Grams::parse(text).unwrap();
    let readings = [g("500.0"), g("500.2")].repeat(5);
    let measured = Repeatability::measure(scale, Division::TENTH, readings).unwrap();
    let by = By { bench: "bench 1".into(), operator: "Robin".into() };
    let event = ScaleEvent::Repeatability(measured);
    store.append(&Envelope::of_scale(&event, Ids::fresh().event(at), at, &by).unwrap()).unwrap();
}

/// Which toners of the ground coat cannot be weighed, by the JSON; and its keys.
fn too_small(book: &Path, more: &[&str]) -> (Vec<String>, Vec<String>) {
    let output = targets(book, &[more, &["--json"]].concat());
    let json: Value = serde_json::from_slice(&output.stdout).unwrap();
    let pours = json["pours"].as_array().unwrap();
    let small = pours.iter().filter(|pour| pour["weighable"] == false);
    let small = small.map(|pour| pour["toner"].as_str().unwrap().to_owned()).collect();
    (small, json.as_object().unwrap().keys().cloned().collect())
}

#[test]
fn without_a_book_none_is_made_and_the_division_decides() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book.sqlite");
    let said = text(&targets(&book, &[]).stdout);
    // 2 · 0.41 · 0.1 g / 1 % (USP 41's form).
    assert!(said.contains("Less than 8.2 g cannot be weighed to 1 % at this division."), "{said}");
    assert!(!said.contains("weighings"), "{said}");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0, "looking makes nothing");
}

/// Worked by hand from USP 41's form: five times 500.0 and five times 500.2 have s = √(10 · 0.1² / 9) = 0.1054 g,
/// and 2 · s / 1 % are 21.08 g.
#[test]
fn with_ten_weighings_in_the_book_they_decide_and_that_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book.sqlite");
    let (before, keys) = too_small(&book, &[]);
    assert_eq!(before, ["K05", "B15", "R20"]);
    weighed_into(&book, SCALE);
    let output = targets(&book, &[]);
    let said = text(&output.stdout);
    let line = "By 10 weighings in the book (s = 0.1054 g) 'virtual bench' weighs from 21.082 g up, to 1 %";
    assert!(said.lines().any(|said| said == line), "{said}");
    assert!(said.contains("Less than 21.1 g cannot be weighed to 1 % on this scale."), "{said}");
    assert_eq!(text(&output.stderr), "");
    // 10.34 g of Y41 are not enough for this scale; what the JSON is made of is as before.
    assert_eq!(too_small(&book, &[]), (["K05", "Y41", "B15", "R20"].map(str::to_owned).to_vec(), keys));
    // Another division is another scale.
    let said = text(&targets(&book, &["--division", "0.01"]).stdout);
    assert!(!said.contains("weighings"), "{said}");
}

#[test]
fn another_scale_and_a_book_that_is_none_change_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book.sqlite");
    weighed_into(&book, "the other bench");
    let said = text(&targets(&book, &[]).stdout);
    assert!(said.contains("Less than 8.2 g") && !said.contains("weighings"), "{said}");
    let no_book = folder.path().join("no-book");
    fs::write(&no_book, "it is a letter").unwrap();
    let output = targets(&no_book, &[]);
    assert!(text(&output.stdout).contains("Less than 8.2 g"));
    let told = text(&output.stderr);
    assert!(told.contains("without the scale's ten weighings from the book"), "{told}");
    assert_eq!(fs::read_to_string(&no_book).unwrap(), "it is a letter");
}
