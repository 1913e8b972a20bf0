//! The stocktake: tins weighed on the bench's scale, and what is found booked.

use super::rig::{DWELL, Rig, g, settings};
use super::stores::{answer, bars, json, stocktake, tins, white};
use crate::book::{Account, Envelope, Posting};
use crate::catalogue::TonerCode;
use crate::mix::{Event, TinMarks};
use crate::scale::{Frame, Mode};
use crate::tui::app::FromBook;
use crate::tui::sound::Sound;

#[test]
fn a_tin_is_weighed_and_the_difference_is_booked() {
    let mut rig = stocktake();
    rig.says("0 of 4 tins counted");
    rig.says("23-101");
    // Nothing is taken from a pan that is empty or moves.
    rig.stand("0", 5);
    rig.says("Put tin 23-101 on the scale");
    rig.key("Enter");
    rig.says("nothing stands on the scale");
    rig.frame(super::rig::moving("700"));
    rig.key("Enter");
    rig.says("there is no weight to take");
    assert!(rig.sent.is_empty());
    // 704.6 g with a tin of 110.5 g are 594.1 g; the book says 600.
    rig.stand("704.6", 5);
    rig.says("594.1 g");
    rig.says("5.9 g missing");
    rig.key("Enter");
    let expected = r#"{"kind":"tin/counted","label":"23-101","toner":"W10","gross":"704.6","empty":"110.5","found":"594.1","booked":"600"}"#;
    assert_eq!(json(&rig), expected);
    rig.says("saved: tin 23-101: 594.1 g found, 5.9 g missing");
    rig.says("1 of 4 tins counted");
    // The next tin at once, but not with the weight of this one.
    rig.says("Take the tin off the scale and put tin 23-102 on it");
    rig.key("Enter");
    rig.says("the tin before is still on the scale");
    assert_eq!(rig.sent.len(), 1);
    rig.stand("0", 5);
    rig.stand("1592.5", 5);
    rig.key("Enter");
    rig.says("1482.0 g found, as booked");
    assert_eq!(rig.app.tins[0].holds, g("594.1"));
    assert_eq!(rig.told().len(), 2);
}

#[test]
fn a_great_difference_is_asked_about_before_it_is_booked() {
    let mut rig = stocktake();
    rig.stand("610.5", 5);
    rig.key("Enter");
    rig.says("tin 23-101: 500.0 g found, 100.0 g missing. Why?");
    assert!(rig.sent.is_empty());
    assert_eq!(rig.heard.last(), Some(&Sound::Over));
    // The tin may be off the scale by now: what was taken counts.
    rig.stand("0", 5);
    rig.key("Esc");
    rig.says("not booked");
    assert!(rig.sent.is_empty());
    rig.stand("610.5", 5);
    rig.key("Enter");
    rig.stand("0", 5);
    answer(&mut rig, "spilt");
    assert!(json(&rig).contains(r#""found":"500.0","booked":"600","why":"spilt""#), "{}", json(&rig));
    assert_eq!(rig.sent[0].operator, "operator");
    // Nobody knows: that does too.
    rig.key("Up");
    rig.stand("560.5", 5);
    rig.key("Enter");
    rig.key("Enter");
    assert!(json(&rig).ends_with(r#""booked":"500.000000"}"#), "{}", json(&rig));
}

/// A stocktake of the white in a shop where so much of it was poured from a tin that nobody named.
fn stocktake_after(unnamed: &str) -> Rig {
    let mut rig = white();
    let at = crate::units::Stamp(1_699_990_000_000_000);
    let micrograms = g(unnamed).micrograms().unwrap();
    let toner = TonerCode::new("W10");
    let posting = |account, micrograms| Posting { account, toner: toner.clone(), micrograms };
    let mix = crate::book::Ids::counted(77).mix(at);
    let postings = vec![
        posting(Account::UnknownTin(toner.clone()), -micrograms),
        posting(Account::Cup(mix), micrograms),
    ];
    let by = crate::book::testing::by();
    let id = crate::book::Ids::counted(78).event(at);
    let mut poured = Envelope::alone("mix/poured", "{}".to_owned(), postings, id, at, &by);
    poured.subject = mix;
    rig.app.unnamed.follow(&poured);
    rig.key("k");
    rig
}

/// Of what a tin lacks so much was poured without its name: that needs no reason, and the next tin does not lack it again.
#[test]
fn what_was_poured_without_a_name_is_found_first() {
    let mut rig = stocktake_after("8");
    // 702.2 g with a tin of 110.5 g are 591.7 g; the book says 600.
    rig.stand("702.2", 5);
    rig.says("591.7 g");
    rig.says("8.0 g poured unnamed, 0.3 g missing");
    rig.key("Enter");
    rig.says("saved: tin 23-101: 591.7 g found, 8.0 g poured unnamed, 0.3 g missing");
    assert!(
        json(&rig).ends_with(r#""found":"591.7","booked":"600","unnamed":"8.000000"}"#),
        "{}",
        json(&rig)
    );
    let postings = &rig.sent.last().unwrap().postings;
    let moved: Vec<_> = postings.iter().map(|one| format!("{} {}", one.account, one.micrograms)).collect();
    assert_eq!(
        moved,
        ["tin:23-101 -8000000", "tin?:W10 8000000", "tin:23-101 -300000", "difference: 300000"]
    );
    rig.says("counted: 0.3 g missing");
    assert_eq!(rig.app.tins[0].holds, g("591.7"));
    assert_eq!(rig.app.unnamed.of(&rig.app.tins, &TonerCode::new("W10")), g("0"));
    // The next is weighed at once: what it lacks is missing.
    rig.stand("0", 5);
    rig.stand("1591.5", 5);
    rig.key("Enter");
    rig.says("1481.0 g found, 1.0 g missing");
    assert!(json(&rig).ends_with(r#""found":"1481.0","booked":"1482"}"#), "{}", json(&rig));
}

#[test]
fn only_what_nobody_poured_is_asked_about() {
    // All of it was poured: nothing is asked, however much it is.
    let mut rig = stocktake_after("100");
    rig.answer("m", "500");
    rig.says("saved: tin 23-101: 500.0 g found, 100.0 g poured unnamed");
    assert!(json(&rig).contains(r#""unnamed":"100"#), "{}", json(&rig));
    // Of the rest it is asked, and the answer is of the rest alone.
    let mut rig = stocktake_after("8");
    rig.answer("m", "571.7");
    rig.says("tin 23-101: 571.7 g found, 20.3 g missing. Why?");
    rig.says("of 28.3 g, 8.0 g were poured without a tin's name. Enter alone if nobody knows");
    assert!(rig.sent.is_empty());
    answer(&mut rig, "spilt");
    rig.says("saved: tin 23-101: 571.7 g found, 8.0 g poured unnamed, 20.3 g missing");
    let postings = &rig.sent.last().unwrap().postings;
    let spilt: i64 = postings
        .iter()
        .filter(|one| one.account.to_string() == "difference:spilt")
        .map(|one| one.micrograms)
        .sum();
    assert_eq!(spilt, 20_300_000);
    // More than booked is no pour.
    let mut rig = stocktake_after("8");
    rig.answer("m", "605");
    rig.says("605.0 g found, 5.0 g more than booked");
    rig.says_not("poured unnamed");
}

/// A tin that is said to be empty has given what was poured without its name; one that is thrown away what no other can have.
#[test]
fn an_empty_tin_and_one_thrown_away_gave_what_was_poured_without_a_name() {
    let after = |unnamed: &str| {
        let mut rig = stocktake_after(unnamed);
        rig.key("Esc");
        rig.type_text("w10");
        rig.key("Enter");
        super::stores::reread(&mut rig);
        rig
    };
    let mut rig = after("50");
    rig.key("e");
    rig.says("is tin 23-101 empty? the book says that it holds 600.0 g");
    rig.says("50.0 g were poured unnamed, 550.0 g are a difference; nothing brings it back");
    rig.tick(700);
    rig.key("y");
    assert!(json(&rig).ends_with(r#""booked":"600","unnamed":"50.000000"}"#), "{}", json(&rig));
    let mut rig = after("700");
    rig.key("e");
    rig.says("all of it was poured without a tin's name; nothing brings it back");
    // Another tin of it is there: nobody knows from which of them it was.
    let mut rig = after("50");
    rig.key("x");
    answer(&mut rig, "dried up");
    rig.says("throw tin 23-101 away with 600.0 g of W10?");
    let mut rig = after("50");
    rig.app.tins[1].counted = Some(crate::units::Stamp(1_699_999_000_000_000));
    rig.key("x");
    answer(&mut rig, "dried up");
    rig.says("throw tin 23-101 away with 550.0 g of W10?");
    rig.says("50.0 g more were poured of it unnamed");
    rig.tick(700);
    rig.key("y");
    assert!(
        json(&rig).contains(r#""booked":"600","unnamed":"50.000000","reason":"dried up""#),
        "{}",
        json(&rig)
    );
}

#[test]
fn what_a_tin_weighs_empty_is_asked_where_it_is_not_known() {
    let mut rig = stocktake();
    rig.answer("n", "23-301");
    rig.says("What tin 23-301 weighs empty is not known");
    rig.stand("595.1", 5);
    rig.key("Enter");
    rig.says("what does it weigh empty?");
    answer(&mut rig, "98");
    rig.says("497.1 g");
    rig.key("Enter");
    assert!(json(&rig).contains(r#""gross":"595.1","empty":"98","found":"497.1""#), "{}", json(&rig));
    assert_eq!(rig.app.tins[3].empty, Some(g("98")));
    // Lighter than empty is a slip.
    rig.stand("0", 5);
    rig.answer("n", "23-201");
    rig.stand("100", 5);
    rig.key("Enter");
    rig.says("tin 23-201 weighs 100 g, and empty it weighs 110.5 g");
    // By hand, nothing too.
    rig.answer("m", "0");
    rig.says("0.0 g found, 41.3 g missing. Why?");
    answer(&mut rig, "used up");
    assert!(json(&rig).contains(r#""found":"0","booked":"41.3","why":"used up""#), "{}", json(&rig));
}

#[test]
fn a_tin_is_scanned_onto_the_scale_and_a_scale_that_shows_net_is_not_believed() {
    let mut rig = stocktake();
    rig.scan("K05 23-201");
    rig.says("K05 carbon black, tin 23-201");
    rig.stand("151.8", 5);
    rig.says("as booked");
    for _ in 0..5 {
        rig.frame(Frame { mode: Mode::Net, ..super::rig::stable("151.8") });
    }
    rig.key("Enter");
    rig.says("the scale shows net");
    assert!(rig.sent.is_empty());
    // One that the book never heard of is counted all the same.
    rig.scan("B15 99-1");
    rig.says("99-1");
    rig.stand("0", 5);
    rig.answer("m", "120");
    rig.says("120.0 g found, 120.0 g more than booked");
    rig.key("Enter");
    assert!(
        json(&rig).contains(r#""label":"99-1","toner":"B15","found":"120","booked":"0""#),
        "{}",
        json(&rig)
    );
    // By its label it is another toner.
    rig.scan("B15 23-201");
    rig.says("by the book tin 23-201 holds K05, not B15");
}

/// The digits of a barcode are never booked as grams.
#[test]
fn a_code_scanned_where_a_number_is_asked_is_looked_at_first() {
    let mut rig = stocktake();
    for key in ["m", "e"] {
        rig.key(key);
        rig.scan("24031");
        rig.says("that came as fast as a barcode: Enter if it is the number");
        rig.says("24031");
        rig.key("Esc");
    }
    rig.key("Esc");
    rig.key("Ctrl-R");
    answer(&mut rig, "b15");
    answer(&mut rig, "24-5");
    rig.scan("24031");
    rig.says("that came as fast as a barcode");
    rig.says("how much is in it?");
    assert!(rig.sent.is_empty());
    rig.key("Enter");
    rig.says("its lot?");
}

#[test]
fn without_a_scale_what_is_in_it_is_typed() {
    let book = FromBook { next_number: 412, tins: tins(), ..FromBook::default() };
    let mut rig = Rig::opened(crate::tui::app::Settings { scale: None, ..settings() }, book);
    rig.key("F7");
    rig.key("Ctrl-K");
    rig.says("There is no scale");
    rig.key("Enter");
    answer(&mut rig, "41.3");
    assert!(json(&rig).contains(r#""label":"23-201","toner":"K05","found":"41.3""#), "{}", json(&rig));
}

/// A tin that is taken at the bench is known at once with what its barcode says.
#[test]
fn a_tin_scanned_at_the_bench_is_known_to_the_stocktake() {
    let mut rig = Rig::begun();
    rig.scan(&bars("M80", "(10)A7(17)261231(21)24-031"));
    let Event::TinTaken { marks: Some(TinMarks { lot: Some(lot), .. }), .. } = rig.last() else {
        panic!("{:?}", rig.last())
    };
    let known = rig.app.tins.iter().find(|tin| tin.label == "24-031").unwrap();
    assert_eq!(known.lot.as_deref(), Some(lot.as_str()));
    rig.stand_net(rig.stop(), DWELL);
    let known = rig.app.tins.iter().find(|tin| tin.label == "24-031").unwrap();
    assert!(known.holds.is_negative());
}
