//! What is set, as a user meets it: printed, changed, wrong; the keys, the manual page, the completions.

use super::program::*;
use std::fs;
use std::process::{Command, Output};

/// The program with settings in a folder of their own.
fn with(folder: &tempfile::TempDir, args: &[&str]) -> Output {
    program().arg("--settings").arg(folder.path().join("settings.toml")).args(args).output().unwrap()
}

#[test]
fn what_holds_and_where_it_came_from() {
    let folder = tempfile::tempdir().unwrap();
    let output = with(&folder, &["settings"]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    let text = out(&output);
    assert!(text.contains("hands-free.dwell") && text.contains("(not there yet)"), "{text}");
    for (name, value) in [("painter", "Robin"), ("country", "us"), ("hands-free.dwell", "1500")] {
        let output = with(&folder, &["settings", "set", name, value]);
        assert_eq!(code(&output), 0, "{}", err(&output));
    }
    let file = fs::read_to_string(folder.path().join("settings.toml")).unwrap();
    assert_eq!(file, "painter = \"Robin\"\ncountry = \"us\"\n\n[hands-free]\ndwell = 1500\n");
    let value = json(&with(&folder, &["settings", "--json", "--scale", "virtual:"]));
    let row = |name: &str| {
        let rows = value["settings"].as_array().unwrap();
        rows.iter().find(|row| row["name"] == name).unwrap_or_else(|| panic!("no {name}")).clone()
    };
    assert_eq!(
        (row("painter")["value"].as_str(), row("painter")["from"].as_str()),
        (Some("Robin"), Some("settings.toml line 1"))
    );
    assert_eq!(row("volume")["from"], "usual in United States");
    let scale = row("scale");
    assert!(
        scale["value"].as_str().unwrap().starts_with("virtual:") && scale["from"] == "--scale",
        "{scale}"
    );
    assert_eq!(row("book")["value"], serde_json::Value::Null);
    assert_eq!(code(&with(&folder, &["settings", "unset", "painter"])), 0);
    let output = with(&folder, &["settings", "show", "painter"]);
    assert!(out(&output).contains("holds:  nothing (default)"), "{}", out(&output));
}

#[test]
fn what_is_wrong_is_named_with_the_nearest_right_word() {
    let folder = tempfile::tempdir().unwrap();
    let output = with(&folder, &["settings", "set", "hands-free.dwel", "1"]);
    assert_eq!(code(&output), 2);
    assert!(err(&output).contains("Did you mean 'hands-free.dwell'?"), "{}", err(&output));
    let output = with(&folder, &["settings", "set", "hands-free.dwell", "1"]);
    assert_eq!(code(&output), 2);
    assert!(err(&output).contains("milliseconds from 300 to 10000"), "{}", err(&output));
    let text = "theem = \"dark\"\n[keys.bench]\ntake = \"w\"\n";
    fs::write(folder.path().join("settings.toml"), text).unwrap();
    let output = with(&folder, &["settings"]);
    assert_eq!(code(&output), 1);
    let said = err(&output);
    assert!(said.contains("settings.toml:1:9: there is no setting 'theem'. Did you mean 'theme'?"), "{said}");
    assert!(said.contains("'take'") && said.contains("'wrong-toner' there by default"), "{said}");
    // The check says it too, and the other commands go on.
    let output = with(&folder, &["check", "--demo-shop", "--book", "no-such-book"]);
    assert!(out(&output).contains("there is no setting 'theem'"), "{}", out(&output));
    assert_eq!(code(&with(&folder, &["keys"])), 1);
}

#[test]
fn the_shop_and_the_scale_are_those_of_the_file() {
    let folder = tempfile::tempdir().unwrap();
    let text = format!("shop = {:?}\nscale = \"tape:no-such.tape\"\n", demo_shop());
    fs::write(folder.path().join("settings.toml"), text).unwrap();
    let output = with(&folder, &["targets", "gannet", "--layer", "ground", "--volume", "350 mL"]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    let output = with(&folder, &["listen"]);
    assert!(err(&output).contains("the tape cannot be played"), "{}", err(&output));
}

#[test]
fn every_key_with_what_is_changed() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("settings.toml"), "[keys.bench]\nnext-tin = [\"F7\"]\n").unwrap();
    let value = json(&with(&folder, &["keys", "--json"]));
    let rows = value.as_array().unwrap();
    let changed: Vec<_> = rows.iter().filter(|row| row["changed"] == true).collect();
    assert_eq!(changed.len(), 1);
    assert_eq!(
        (changed[0]["action"].as_str(), changed[0]["keys"][0].as_str()),
        (Some("next-tin"), Some("F7"))
    );
    let text = out(&with(&folder, &["keys"]));
    assert!(text.contains("Weighing (bench)") && text.contains(" * F7"), "{text}");
}

/// A shell that is there reads its completions without a complaint; groff the manual page.
#[test]
fn the_completions_and_the_manual_page_are_read_by_their_readers() {
    let folder = tempfile::tempdir().unwrap();
    let file = |args: &[&str], name: &str| {
        let output = run(args);
        assert_eq!(code(&output), 0, "{}", err(&output));
        let path = folder.path().join(name);
        fs::write(&path, &output.stdout).unwrap();
        path
    };
    let mut read = Vec::new();
    for (shell, check) in [("bash", "-n"), ("zsh", "-n"), ("fish", "--no-execute")] {
        let path = file(&["completions", shell], shell);
        if let Ok(output) = Command::new(shell).arg(check).arg(&path).output() {
            assert!(output.status.success(), "{shell}: {}", err(&output));
            read.push(shell);
        }
    }
    let page = file(&["man"], "pourbook.1");
    if let Ok(output) = Command::new("groff").args(["-man", "-Tutf8", "-ww"]).arg(&page).output() {
        assert_eq!(err(&output), "", "groff has something to say");
        // Lines are filled: where they break and how wide a gap is does not matter.
        let text = out(&output).split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains("(take) Takes what the cup holds"), "{text}");
        read.push("groff");
    }
    println!("read by: {read:?}");
    assert!(out(&run(&["man"])).starts_with(".ie"), "no manual page");
}

/// What a person reads is as it is set; what another program reads is not.
#[test]
fn numbers_are_written_as_they_are_set_and_json_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let text = format!(
        "shop = {:?}\ndecimal = \"comma\"\nmass = \"ounces\"\nvolume = \"us\"\n",
        small_shop_kept(&folder)
    );
    fs::write(folder.path().join("settings.toml"), text).unwrap();
    let targets = ["targets", "T-1", "--layer", "base", "--volume", "100 mL"];
    let output = with(&folder, &targets);
    assert_eq!(code(&output), 0, "{}", err(&output));
    // 100 mL of 1 g/mL: 100 g are 3.527 oz at 28.349523125 g, 100 mL are 3.38 US fl oz at 29.5735295625 mL (NIST
    // Handbook 44, appendix C).
    let said = out(&output);
    assert!(said.contains("3,38 US fl oz is 3,527 oz"), "{said}");
    assert!(said.contains("division 0,0035 oz"), "{said}");
    assert!(said.contains("exact oz") && said.contains("1,76370    1,764      1,764"), "{said}");
    assert!(said.contains("1,76370    1,763      3,527"), "the pours add up: {said}");
    let correct = ["correct", "T-1", "--layer", "base", "--volume", "100 mL", "--poured", "A=60"];
    let said = out(&with(&folder, &correct));
    assert!(said.contains("3,527 oz was asked for, 2,116 oz is in the cup"), "{said}");
    assert!(said.contains("A is 0,3527 oz over (right is within 0,0176 oz)."), "{said}");
    assert!(said.contains("then pour, oz:"), "{said}");
    for line in said.lines() {
        let letters: Vec<char> = line.chars().collect();
        let point =
            |three: &[char]| three[0].is_ascii_digit() && three[1] == '.' && three[2].is_ascii_digit();
        assert!(!letters.windows(3).any(point) && !line.contains(" g "), "{line}");
    }
    // The same words without those settings.
    let metric = tempfile::tempdir().unwrap();
    fs::write(metric.path().join("settings.toml"), format!("shop = {:?}\n", small_shop_kept(&metric)))
        .unwrap();
    for command in [&targets[..], &correct[..]] {
        let all: Vec<&str> = command.iter().copied().chain(["--json"]).collect();
        assert_eq!(json(&with(&folder, &all)), json(&with(&metric, &all)));
        assert!(out(&with(&metric, command)).contains(" g"));
    }
    // A volume of which nobody can know how much it is.
    let output = with(&folder, &["targets", "T-1", "--layer", "base", "--volume", "1,234 mL"]);
    assert_eq!(code(&output), 2);
    assert!(err(&output).contains("can be read in two ways: write 1234, or 1.234"), "{}", err(&output));
}

/// The small shop in a folder that lives as long as the settings beside it.
fn small_shop_kept(folder: &tempfile::TempDir) -> std::path::PathBuf {
    let shop = folder.path().join("shop");
    fs::rename(small_shop().keep(), &shop).unwrap();
    shop
}
