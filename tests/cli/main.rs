//! The commands as a user meets them: the real program, its output, its errors and how it ends.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::indexing_slicing,
    reason = "a test that cannot go on says so and stops"
)]

mod book;
mod figures;
mod formulas;
mod job_mixes;
mod job_reasons;
mod job_sheet;
mod jobs;
mod label;
mod program;
mod scale;
mod settings;
mod shelf;
mod shop;
mod stores;
mod ten_weighings;
mod tins;
mod voc;
mod voc_month;
mod weighed;

use program::*;
use std::fs;

#[test]
fn errors_say_what_to_do_and_end_with_their_code() {
    let cases: &[(&[&str], i32, &str)] = &[
        (&["targets", "PB-3140", "--layer", "ground", "--volume", "350"], 2, "has no unit"),
        (&["targets", "PB-3140", "--layer", "top", "--volume", "350 mL"], 2, "one of undercoat, ground"),
        (&["targets", "PB-3140", "--volume", "350 mL"], 2, "--layer"),
        (
            &["targets", "PB-3140", "--layer", "ground", "--volume", "350 mL", "--division", "0"],
            2,
            "more than nothing",
        ),
        (
            &["targets", "PB-3140", "--layer", "base", "--volume", "350 mL"],
            1,
            "undercoat, ground, pearl, blender",
        ),
        (&["targets", "Ganet Wite", "--layer", "ground", "--volume", "1 L"], 1, "PB-3140  Gannet White"),
        (&["targets", "PB-31", "--layer", "ground", "--volume", "1 L"], 1, "Name one by its code"),
        (&["correct", "PB-3140", "--layer", "ground", "--volume", "1 L"], 2, "--poured"),
        (
            &["correct", "PB-3140", "--layer", "ground", "--volume", "1 L", "--poured", "W10"],
            2,
            "as W10=201.3",
        ),
        (
            &[
                "correct", "PB-3140", "--layer", "ground", "--volume", "1 L", "--poured", "W10=1", "--cup",
                "9",
            ],
            1,
            "The cups are: 175, 350",
        ),
        (&["listen"], 2, "no scale was named"),
        (&["listen", "usb:0"], 2, "begin with serial:"),
        (&["listen", "tape:no-such.tape"], 1, "the tape cannot be played"),
        (&["stand-in", "--at", "tcp:0", "--shape", "sna"], 2, "did you mean sma?"),
        (&["stand-in", "--at", "here", "--shape", "sma"], 2, "pty:PATH, tcp:PORT or rfc2217:PORT"),
        (&["pour"], 2, "unrecognized subcommand"),
    ];
    for (args, ends_with, says) in cases {
        let output = in_demo_shop(args);
        assert_eq!(code(&output), *ends_with, "{args:?}: {}", err(&output));
        assert!(err(&output).contains(says), "{args:?}: {}", err(&output));
        assert_eq!(out(&output), "", "{args:?}");
    }
}

#[test]
fn without_a_shop_it_says_how_to_get_one() {
    let home = tempfile::tempdir().unwrap();
    let at_home = |args: &[&str]| {
        program().env("HOME", home.path()).env_remove("XDG_CONFIG_HOME").args(args).output().unwrap()
    };
    let args = ["targets", "PB-3140", "--layer", "ground", "--volume", "350 mL"];
    let output = at_home(&args);
    assert_eq!(code(&output), 1);
    assert!(
        err(&output).contains("--shop DIR") && err(&output).contains("pourbook demo"),
        "{}",
        err(&output)
    );
    assert_eq!(code(&at_home(&[&args[..], &["--demo-shop"]].concat())), 0);
    // The environment stands for the option, and the option goes before it.
    let mut command = program();
    command.env("HOME", home.path()).env("POURBOOK_SHOP", demo_shop()).args(args);
    assert_eq!(code(&command.output().unwrap()), 0);
    command.args(["--shop", "no-such-shop"]);
    let output = command.output().unwrap();
    assert_eq!(code(&output), 1);
    assert!(err(&output).contains("no-such-shop"), "{}", err(&output));
}

#[test]
fn the_log_is_only_for_its_owner_and_only_when_asked_for() {
    use std::os::unix::fs::PermissionsExt;
    let home = tempfile::tempdir().unwrap();
    let args = ["targets", "none", "--layer", "ground", "--volume", "1 L", "--demo-shop"];
    let mut command = program();
    command.env("HOME", home.path()).env_remove("XDG_STATE_HOME").args(args);
    command.output().unwrap();
    let log = home.path().join(".local/state/pourbook/pourbook.log");
    assert!(!log.exists());
    command.env("POURBOOK_LOG", "debug").output().unwrap();
    assert!(fs::read_to_string(&log).unwrap().contains("no colour 'none'"));
    assert_eq!(fs::metadata(&log).unwrap().permissions().mode() & 0o777, 0o600);
}

#[test]
fn every_command_has_a_help_text() {
    let help = out(&run(&["--help"]));
    for command in
        ["demo", "targets", "correct", "ports", "listen", "tape", "stand-in", "book", "shelf", "check"]
    {
        assert!(help.contains(&format!("  {command} ")), "{command} is not in {help}");
        let output = run(&[command, "--help"]);
        assert_eq!(code(&output), 0);
        let text = out(&output);
        assert!(text.contains("Usage: pourbook") && text.contains("--shop <DIR>"), "{text}");
    }
    assert!(help.contains("serial:/dev/ttyUSB0"));
    assert_eq!(code(&run(&["--version"])), 0);
}
