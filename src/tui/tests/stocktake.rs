//! The stocktake: tins weighed on the bench's scale, and what is found booked.

use super::rig::{DWELL, Rig, g, settings};
use super::stores::{answer, bars, json, stocktake, tins};
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
