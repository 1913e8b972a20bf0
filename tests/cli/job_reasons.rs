//! What a job refuses without a reason, and what was said by mistake and is taken back, by the real program.

use crate::figures::sheet_rows;
use crate::job_mixes::sprayed;
use crate::jobs::{opened, with_book};
use crate::program::*;
use pourbook::catalogue::Role;

/// Refuses it, says that, and writes nothing.
fn refused(folder: &std::path::Path, args: &[&str], says: &str) {
    let before = told(&with_book(folder, &["show", "26-118"]));
    let output = with_book(folder, args);
    assert_eq!((code(&output), out(&output).as_str()), (1, ""), "{args:?}");
    assert!(err(&output).contains(says), "{args:?}: {}", err(&output));
    assert_eq!(told(&with_book(folder, &["show", "26-118"])), before, "{args:?}");
}

#[test]
fn a_layer_is_done_as_planned_or_with_a_reason_and_can_be_opened_again() {
    let folder = opened();
    let run = |args: &[&str]| told(&with_book(folder.path(), args));
    let refused = |args: &[&str], says: &str| refused(folder.path(), args, says);
    run(&["choose", "26-118", "--coats", "3", "--no-card", "as last week"]);
    refused(&["finish", "26-118", "ground"], "the ground coat is not sprayed. See to that first");
    refused(&["finish", "26-118", "ground"], "say why: --overrule \"REASON\"");
    refused(&["coat", "26-118", "pearl"], "the ground coat is not sprayed");
    run(&["coat", "26-118", "ground", "--ago", "9"]);
    refused(&["finish", "26-118", "ground"], "the ground coat has 1 of 2 coats");
    let done = json(&with_book(
        folder.path(),
        &["finish", "26-118", "ground", "--overrule", "it hides, and the lamp is broken", "--json"],
    ));
    let written = done["written"].as_array().unwrap();
    let kinds: Vec<_> = written.iter().map(|event| event["kind"].as_str().unwrap()).collect();
    assert_eq!(kinds, ["job/layer-overruled", "job/layer-overruled", "job/layer-finished"]);
    assert_eq!((&written[0]["lacks"], &written[1]["lacks"]), (&"coats".into(), &"bake".into()));
    let shown = run(&["show", "26-118"]);
    assert!(shown.contains("the ground coat is left without its bake: it hides, and the lamp"), "{shown}");
    let (_, sheet) = sheet_rows(folder.path(), |file| {
        run(&["sheet", "26-118", "--html", file]);
    });
    let says = |row: &String| row.contains("the ground coat is left without its bake");
    assert!(sheet.iter().any(says), "{sheet:?}");
    run(&["finish", "26-118", "ground", "--undo"]);
    refused(&["finish", "26-118", "ground", "--undo"], "the ground coat is not said to be done");
    assert!(run(&["show", "26-118"]).ends_with("next: spray coat 2 of 2 of the ground coat\n"));
}

#[test]
fn a_coat_is_taken_back_and_the_next_layer_waits() {
    let folder = opened();
    let run = |args: &[&str]| told(&with_book(folder.path(), args));
    run(&["choose", "26-118", "--coats", "3", "--no-card", "as last week"]);
    run(&["amend", "26-118", "--layer", "ground, coats=1, before-next=15"]);
    refused(
        folder.path(),
        &["coat", "26-118", "ground", "--take-back", "x"],
        "no coat of the ground coat was counted",
    );
    run(&["coat", "26-118", "ground", "--ago", "20"]);
    run(&["coat", "26-118", "ground", "--ago", "9"]);
    let back = run(&["coat", "26-118", "ground", "--take-back", "pressed twice"]);
    assert!(back.starts_with("26-118 tailgate: coat 2 of the ground coat is taken back\n"), "{back}");
    run(&["coat", "26-118", "ground", "--ago", "9"]);
    run(&["timer", "26-118", "start", "bake", "--layer", "ground", "--minutes", "2", "--ago", "3"]);
    refused(
        folder.path(),
        &["coat", "26-118", "pearl"],
        "the time before the next layer on the ground coat is not over: 6 min left",
    );
    run(&["coat", "26-118", "pearl", "--overrule", "the panel is warm"]);
    // What runs is said of a job that is closed.
    run(&["timer", "26-118", "start", "bake", "--layer", "ground", "--minutes", "20"]);
    let closed = with_book(folder.path(), &["close", "26-118"]);
    assert_eq!(
        (code(&closed), err(&closed).as_str()),
        (0, "note: 3 layers are not done\nnote: the bake of the ground coat still runs: 20 min left\n")
    );
}

#[test]
fn a_count_has_a_card_or_two_or_a_reason() {
    let folder = opened();
    let run = |args: &[&str]| told(&with_book(folder.path(), args));
    let refused = |args: &[&str], says: &str| refused(folder.path(), args, says);
    refused(&["choose", "26-118", "--coats", "7"], "no card of the pearl coat shows 7");
    refused(&["choose", "26-118", "--coats", "7"], "--no-card \"REASON\"");
    for (card, coats, reading) in
        [("1", "2", "45: car 60 0 0 card 58 0 0"), ("2", "4", "45: car 60 0 0 card 62 0 0")]
    {
        run(&["card", "26-118", "--coats", coats]);
        run(&["compare", "26-118", card, "--measured", reading]);
    }
    let between = run(&["choose", "26-118", "--coats", "3"]);
    assert!(between.contains("the car gets 3 coats of the pearl coat (between cards 1 and 2)"), "{between}");
    refused(&["choose", "26-118", "--card", "2", "--coats", "5"], "card 2 has 4 of the pearl coat and not 5");
    assert!(
        run(&["choose", "26-118", "--card", "2"]).contains("the car gets 4 coats of the pearl coat (card 2)")
    );
    run(&["choose", "26-118", "--coats", "7", "--no-card", "the customer wants it"]);
    assert!(run(&["show", "26-118"]).contains("0 of 7 (no card: the customer wants it)"));
    let shown = json(&with_book(folder.path(), &["show", "26-118", "--json"]));
    let pearl = &shown["layers"][1];
    assert_eq!(
        (pearl["by_card"].as_bool(), pearl["counted_by"].as_str()),
        (Some(false), Some("no card: the customer wants it"))
    );
    // A stray angle is withdrawn, and is not compared any more.
    run(&["compare", "26-118", "2", "--measured", "110: car 60 0 0 card 20 0 0"]);
    let worst = || {
        let shown = json(&with_book(folder.path(), &["show", "26-118", "--json"]));
        shown["comparisons"][0]["cards"][1]["worst_angle"].as_i64()
    };
    assert_eq!(worst(), Some(110));
    refused(&["compare", "26-118", "1", "--withdraw", "110"], "card 1 has nothing from 110° to withdraw");
    run(&["compare", "26-118", "2", "--withdraw", "110"]);
    assert_eq!(worst(), Some(45));
}

#[test]
fn a_mix_that_is_not_of_the_job_needs_a_reason() {
    let folder = opened();
    let run = |args: &[&str]| told(&with_book(folder.path(), args));
    let book = folder.path().join("book.sqlite");
    sprayed(&book, Role::Ground, None);
    let other = "that mix was weighed as the ground coat, and cannot be the clear";
    refused(folder.path(), &["mix", "26-118", "1", "--layer", "clear"], other);
    refused(folder.path(), &["mix", "26-118", "1", "--layer", "clear", "--overrule", "x"], other);
    run(&["mix", "26-118", "1"]);
    run(&["open", "27-1", "--colour", "gannet"]);
    let second = with_book(folder.path(), &["mix", "27-1", "1"]);
    assert!(
        code(&second) == 1 && err(&second).contains("that mix is of job 26-118 tailgate, which is open"),
        "{}",
        err(&second)
    );
    run(&["part", "26-118", "1", "it is the other's"]);
    // Its cup was emptied before that job was there.
    let emptied = with_book(folder.path(), &["mix", "27-1", "1"]);
    assert!(err(&emptied).contains("emptied before this job was opened"), "{}", err(&emptied));
    run(&["mix", "27-1", "1", "--overrule", "it was sprayed before the job was written down"]);
    assert!(run(&["show", "27-1"]).contains("it was sprayed before the job was written down"));
}
