//! Formulas written, kept, taken over and handed on, by the real program.

use crate::program::*;
use std::fs;
use std::path::Path;

/// The invented shop written out, as its own message says to.
fn written_out() -> (tempfile::TempDir, std::path::PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let shop = folder.path().join("shop");
    let output = run(&["export", shop.to_str().unwrap(), "--demo-shop"]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    assert!(err(&output).contains("do not spray it"), "{}", err(&output));
    (folder, shop)
}

fn read(path: &Path) -> String {
    fs::read_to_string(path).unwrap()
}

/// What the program says in a shop whose book lies in it.
fn with_book(shop: &Path, args: &[&str]) -> std::process::Output {
    program().arg("--shop").arg(shop).arg("--book").arg(shop.join("book.sqlite")).args(args).output().unwrap()
}

#[test]
fn the_invented_shop_cannot_be_changed_and_can_be_written_out() {
    let output = run(&["formula", "retire", "PB-3171", "--demo-shop"]);
    assert_eq!(code(&output), 1);
    assert!(err(&output).contains("pourbook export DIR --demo-shop"), "{}", err(&output));
    let (_folder, shop) = written_out();
    for name in ["toners.toml", "cups.toml", "scale.toml", "colours/bluethroat.toml", "colours/waxcap.toml"] {
        assert_eq!(fs::read(shop.join(name)).unwrap(), fs::read(demo_shop().join(name)).unwrap(), "{name}");
    }
    // Once more would write over it.
    let again = run(&["export", shop.to_str().unwrap(), "--demo-shop"]);
    assert_eq!(code(&again), 1);
    assert!(err(&again).contains("is there already"), "{}", err(&again));
}

#[test]
fn a_formula_is_changed_shown_as_it_was_and_its_history_told() {
    let (_folder, shop) = written_out();
    let file = shop.join("colours/bluethroat.toml");
    let before = read(&file);
    let first = json(&with_book(&shop, &["formula", "show", "PB-3171", "--json"]));
    let output = with_book(
        &shop,
        &["formula", "change", "bluethroat", "--set", "undercoat/m85=281,50", "--remove", "pearl/P57"],
    );
    assert_eq!(code(&output), 0, "{}", err(&output));
    assert!(
        out(&output).contains("undercoat: M85 281.00 → 281.50\npearl: P57 75.80 taken out\n"),
        "{}",
        out(&output)
    );
    let expected =
        before.replace("281.00", "281.50").replace("  { toner = \"P57\", parts = \"75.80\" },\n", "");
    assert_eq!(read(&file), expected);

    let history = json(&with_book(&shop, &["formula", "history", "PB-3171", "--json"]));
    let versions = history["versions"].as_array().unwrap();
    assert_eq!(versions.len(), 2);
    assert_eq!(versions[0]["version"], first["version"]);
    assert!(versions[0]["kept"].is_string() && versions[1]["kept"].is_null());
    assert_eq!(versions[1]["changes"][0], "undercoat: M85 281.00 → 281.50");
    assert!(versions[0]["mixes"].is_null(), "there is no book");
    let id = first["version"].as_str().unwrap().get(..12).unwrap();
    let old = json(&with_book(&shop, &["formula", "show", "PB-3171", "--version", id, "--json"]));
    assert_eq!(old, first);
    let text = out(&with_book(&shop, &["formula", "history", "PB-3171"]));
    assert!(
        text.starts_with("PB-3171 Bluethroat · bluethroat.toml\n") && text.contains("holds now"),
        "{text}"
    );
    let none = with_book(&shop, &["formula", "show", "PB-3171", "--version", "0000"]);
    assert!(err(&none).contains("no version of PB-3171"), "{}", err(&none));
    // The kept version is no colour of the shop.
    let all = json(&with_book(&shop, &["import", shop.to_str().unwrap(), "--json"]));
    assert_eq!((all["same"].as_u64(), all["changed"].as_u64()), (Some(16), Some(0)));
}

#[test]
fn formulas_are_added_copied_and_retired() {
    let (_folder, shop) = written_out();
    let args = ["formula", "add", "--code", "N-1", "--name", "Föhn Sky", "--finish", "two-stage"];
    let output = with_book(&shop, &[&args[..], &["--add", "base/W10=12,5", "--add", "base/K05=3"]].concat());
    assert_eq!(code(&output), 0, "{}", err(&output));
    let text = "code = \"N-1\"\nname = \"Föhn Sky\"\nfinish = \"two-stage\"\nvariant = \"standard\"\n\n[[layer]]\nrole = \"base\"\npours = [\n  { toner = \"W10\", parts = \"12.5\" },\n  { toner = \"K05\", parts = \"3\" },\n]\n";
    assert_eq!(read(&shop.join("colours/foehn-sky.toml")), text);
    let copy = with_book(&shop, &["formula", "copy", "N-1"]);
    assert!(err(&copy).contains("there is a colour 'N-1'"), "{}", err(&copy));
    let copy = with_book(&shop, &["formula", "copy", "N-1", "--to-variant", "darker"]);
    assert_eq!(code(&copy), 0, "{}", err(&copy));
    assert_eq!(read(&shop.join("colours/foehn-sky-darker.toml")), text.replace("standard", "darker"));
    let retired =
        with_book(&shop, &["formula", "retire", "N-1", "--on", "2026-11-25", "--because", "no tins"]);
    assert_eq!(code(&retired), 0, "{}", err(&retired));
    let line = "variant = \"standard\"\n";
    let keys = format!("{line}retired = \"2026-11-25\"\nretired-because = \"no tins\"\n");
    assert_eq!(read(&shop.join("colours/foehn-sky.toml")), text.replace(line, &keys));
    let shown = out(&with_book(&shop, &["formula", "show", "N-1"]));
    assert!(shown.contains("retired since 2026-11-25: no tins"), "{shown}");
    let undone = with_book(&shop, &["formula", "retire", "N-1", "--undo"]);
    assert_eq!(code(&undone), 0, "{}", err(&undone));
    assert_eq!(read(&shop.join("colours/foehn-sky.toml")), text);
    let targets = with_book(&shop, &["targets", "N-1", "--layer", "base", "--volume", "1 L"]);
    assert_eq!((code(&targets), err(&targets)), (0, String::new()), "no file of the shop is a mistake");
}

#[test]
fn every_mistake_of_a_formula_is_said_at_once_and_nothing_written() {
    let (_folder, shop) = written_out();
    let output = with_book(
        &shop,
        &[
            "formula",
            "change",
            "PB-3171",
            "--finish",
            "three",
            "--set",
            "ground/B15=x",
            "--add",
            "pearl/W1O=1",
        ],
    );
    assert_eq!(code(&output), 1);
    for says in [
        "nothing was changed",
        "'three' is not a finish",
        "ground, row 2: the parts cannot be read",
        "pearl, row 5: there is no toner with the code 'W1O'. Did you mean 'W10'?",
    ] {
        assert!(err(&output).contains(says), "{says}: {}", err(&output));
    }
    let file = "colours/bluethroat.toml";
    assert_eq!(read(&shop.join(file)), read(&demo_shop().join(file)));
    assert!(!shop.join("versions").exists());
    let output = with_book(&shop, &["formula", "change", "PB-3171", "--set", "ground"]);
    assert_eq!(code(&output), 2);
    let output = with_book(&shop, &["formula", "change", "PB-3171", "--set", "ground/Q1=1"]);
    assert!(err(&output).contains("put in with --add"), "{}", err(&output));
}

#[test]
fn a_table_is_looked_at_before_it_is_written() {
    let (_folder, shop) = written_out();
    let table = shop.join("theirs.csv");
    fs::write(&table, "Paint code;Colour;Type;Coat;Tinter;g\nN-1;New;two-stage;base;W10;9,5\nN-1;;;base;K05;3\nN-2;Bad;two-stage;base;W1O;1\n").unwrap();
    let import = |more: &[&str]| with_book(&shop, &[&["import", table.to_str().unwrap()], more].concat());
    let is_there = || shop.join("colours/new.toml").exists();
    let bad = import(&[]);
    assert_eq!(code(&bad), 1);
    assert!(
        err(&bad).contains(
            "line 4, column 5 (Tinter): N-2: there is no toner with the code 'W1O'. Did you mean 'W10'?"
        ),
        "{}",
        err(&bad)
    );
    assert!(
        err(&bad).contains("Nothing was written")
            && out(&bad).contains("1 to add, 0 to change, 0 the same, 1 wrong"),
        "{}",
        out(&bad)
    );
    assert!(out(&bad).contains("column 6 'g': parts; 9,5 | 3 | 1"), "{}", out(&bad));
    assert!(!is_there());
    assert_eq!(code(&import(&["--write-good", "--dry-run"])), 1);
    assert!(!is_there());
    assert_eq!(code(&import(&["--write-good"])), 1);
    assert!(is_there());
    // The other way round it is another formula, and the one before is kept.
    fs::write(&table, "a,b,c,g\nN-1,W10,base,9.5\nN-1,K05,base,4\n").unwrap();
    let unclear = import(&[]);
    assert!(
        err(&unclear).contains("No column is headed like a code")
            && err(&unclear).contains("--column code=3"),
        "{}",
        err(&unclear)
    );
    let said = json(&import(&["--column", "code=1", "--column", "toner=b", "--column", "layer=3", "--json"]));
    assert_eq!((said["changed"].as_u64(), said["written"][0].as_str()), (Some(1), Some("new.toml")));
    assert_eq!(said["colours"][0]["changes"][0], "base: K05 3 → 4");
    assert_eq!(fs::read_dir(shop.join("versions/new")).unwrap().count(), 1);
}

#[test]
fn what_is_exported_comes_back_the_same() {
    let (folder, shop) = written_out();
    let table = folder.path().join("all.csv");
    assert_eq!(code(&with_book(&shop, &["export", table.to_str().unwrap()])), 0);
    let one = folder.path().join("one");
    let output = with_book(&shop, &["export", one.to_str().unwrap(), "PB-3171", "--format", "toml"]);
    assert_eq!(out(&output), format!("1 colour written to {}\n", one.display()));
    assert!(!one.join("toners.toml").exists());
    for (path, same) in [(&table, 16), (&one, 1)] {
        let said = json(&with_book(&shop, &["import", path.to_str().unwrap(), "--json"]));
        assert_eq!(
            (said["same"].as_u64(), said["added"].as_u64(), said["changed"].as_u64()),
            (Some(same), Some(0), Some(0))
        );
        assert_eq!(said["written"].as_array().unwrap().len(), 0);
    }
    // Into an empty shop with the same toners everything is new, and the files are the same.
    let empty = folder.path().join("empty");
    fs::create_dir(&empty).unwrap();
    fs::copy(shop.join("toners.toml"), empty.join("toners.toml")).unwrap();
    let said = json(&with_book(&empty, &["import", shop.to_str().unwrap(), "--json"]));
    assert_eq!(said["added"], 16);
    for entry in fs::read_dir(shop.join("colours")).unwrap() {
        let path = entry.unwrap().path();
        assert_eq!(read(&path), read(&empty.join("colours").join(path.file_name().unwrap())));
    }
}

/// The figures beside the journal are made anew when asked for, in a book of its own; without a book nothing is made.
#[test]
fn the_books_figures_are_made_anew() {
    let (_folder, shop) = written_out();
    let none = out(&with_book(&shop, &["check", "--rebuild"]));
    assert!(none.contains("nothing to make anew"), "{none}");
    let book = shop.join("book.sqlite");
    assert!(!book.exists());
    drop(pourbook::book::SqliteStore::open(&book, pourbook::units::Stamp(1)).unwrap());
    let made = out(&with_book(&shop, &["check", "--rebuild"]));
    assert!(made.contains("well   figures   made anew from the journal"), "{made}");
    assert!(made.contains("0 mixes, 0 events, every gram accounted for"), "{made}");
}
