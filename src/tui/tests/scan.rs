//! Tins by scanner: the right one is taken, the wrong one is said before it is poured.

use super::rig::{DWELL, Rig, g};
use crate::catalogue::Catalogue;
use crate::mix::Event;
use crate::tui::sound::Sound;

/// What stands below the bars of a tin of that toner.
fn bars(toner: &str, rest: &str) -> String {
    let item = Catalogue::demo().toner(toner).unwrap().codes[0].clone();
    format!("(01){item}{rest}")
}

#[test]
fn the_tin_of_the_toner_that_is_due_is_taken() {
    let mut rig = Rig::begun();
    rig.scan(&bars("M80", "(10)A7(17)261231(21)24-031"));
    let Event::TinTaken { toner, tin, marks } = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!((toner.as_str(), tin.as_str()), ("M80", "24-031"));
    let marks = marks.unwrap();
    assert_eq!((marks.lot.as_deref(), marks.expires.as_deref()), (Some("A7"), Some("2026-12-31")));
    rig.says("M80 colour binder, tin 24-031, lot A7");
    rig.agrees_with_book();
    // Nothing of the code was taken for a key: hands-free is still on, and no question is open.
    assert!(rig.app.hands_free && rig.app.prompt.is_none());
    // The same once more changes nothing.
    rig.scan(&bars("M80", "(10)A7(17)261231(21)24-031"));
    assert_eq!(rig.kinds(), ["mix/started", "mix/tin-taken"]);
    // As it is sent, with the separator that a terminal gives on as Ctrl-5; the shop's own label does too.
    let item = Catalogue::demo().toner("M80").unwrap().codes[0].clone();
    rig.scan(&format!("01{item}10A8\u{1d}2124-032"));
    assert_eq!(rig.session().tin(0), Some("24-032"));
    rig.scan("M80 24-033");
    assert_eq!(rig.session().tin(0), Some("24-033"));
    let heard = rig.heard.iter().filter(|sound| **sound == Sound::Right).count();
    assert!(heard >= 3, "{:?}", rig.heard);
}

#[test]
fn the_wrong_tin_is_said_before_it_is_poured_and_nothing_is_taken() {
    let mut rig = Rig::begun();
    rig.scan(&bars("B15", "(21)24-007"));
    rig.says("WRONG TIN");
    rig.says("that is B15 blue; M80 colour binder is due");
    assert_eq!(rig.heard.last(), Some(&Sound::WrongTin));
    // Poured all the same it is not taken by itself, and it is asked what it was.
    rig.stand_net(rig.stop(), 3 * DWELL);
    assert_eq!(rig.kinds(), ["mix/started"]);
    rig.says("something is poured already: w if it was this");
    rig.key("w");
    rig.says("which toner went in?");
    rig.says("B15");
    rig.key("Enter");
    let Event::Poured(pour) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!((pour.toner.as_str(), pour.after), ("B15", g("75.2")));
    rig.agrees_with_book();
}

#[test]
fn the_right_tin_or_a_word_ends_it() {
    let mut rig = Rig::begun();
    rig.scan("B15 24-007");
    rig.says("WRONG TIN");
    rig.scan("M80 24-001");
    rig.says_not("WRONG TIN");
    assert_eq!(rig.session().tin(0), Some("24-001"));
    // I know.
    rig.scan("B15 24-007");
    rig.key("Enter");
    rig.says_not("WRONG TIN");
    assert_eq!(rig.toner(), "M80");
    // Turn to it: the tin goes with it.
    rig.scan("B15 24-007");
    rig.key("j");
    assert_eq!(rig.toner(), "B15");
    let line = rig.session().current().unwrap();
    assert_eq!(rig.session().tin(line), Some("24-007"));
    // One that is in no layer of it can only be put back.
    rig.scan("P51 24-100");
    rig.says("which is not in this formula");
    rig.says_not("j turn");
    rig.key("Esc");
    rig.says_not("WRONG TIN");
}

#[test]
fn a_tin_that_is_too_old_is_said_and_can_be_poured_knowingly() {
    let mut rig = Rig::begun();
    rig.scan(&bars("M80", "(17)230101(21)22-001"));
    rig.says("was to be used until 2023-01-01");
    assert_eq!(rig.kinds(), ["mix/started"]);
    rig.key("Enter");
    assert_eq!(rig.session().tin(0), Some("22-001"));
    rig.says_not("WRONG TIN");
}

#[test]
fn a_scan_answers_what_asks_for_a_tin_or_a_toner() {
    let mut rig = Rig::begun();
    rig.key("n");
    rig.scan(&bars("M80", "(21)24-031"));
    assert_eq!(rig.session().tin(0), Some("24-031"));
    rig.stand_net(rig.stop(), DWELL);
    rig.key("b");
    rig.scan("B15 24-007");
    let Event::Rebooked(was) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!((was.toner.as_str(), was.tin.as_deref()), ("B15", Some("24-007")));
}

#[test]
fn what_is_not_known_and_what_was_misread_are_said() {
    let mut rig = Rig::begun();
    rig.scan("(01)09506000134352(10)A");
    rig.says("no toner and no colour has the code 09506000134352");
    rig.says("toners.toml");
    rig.scan("(01)09506000134353");
    rig.says("the item's number 09506000134353 was misread");
    assert_eq!(rig.kinds(), ["mix/started"]);
}

#[test]
fn among_the_colours_a_scan_finds_one_and_says_what_a_tin_is() {
    let mut rig = Rig::new();
    rig.type_text("shale");
    rig.scan(&bars("B15", "(21)24-007"));
    rig.says("that is B15 blue, tin 24-007");
    rig.says("find  shale");
    rig.key("Ctrl-u");
    rig.scan("PB-3140");
    rig.says("how much");
    rig.says("Gannet White");
}

/// However fast somebody types, nothing is lost: keys in one go are keys.
#[test]
fn keys_of_a_quick_hand_are_keys() {
    let mut rig = Rig::begun();
    let hands_free = rig.app.hands_free;
    // Three in one go and Enter: too short for a code.
    rig.scan("hhh");
    assert_eq!(rig.app.hands_free, !hands_free);
}
