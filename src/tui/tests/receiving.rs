//! Tins that are received at the bench's own screen: typed, scanned, and like those that are there.

use super::rig::g;
use super::stores::{answer, bars, json, stocked, white};
use crate::catalogue::Catalogue;
use crate::units::Millilitres;

#[test]
fn a_tin_is_received_by_hand_and_what_was_typed_is_kept() {
    let mut rig = stocked();
    rig.key("Ctrl-R");
    rig.says("a tin came: which toner?");
    answer(&mut rig, "w99");
    rig.says("toner 'w99' is not in the shop's toners");
    rig.key("Ctrl-U");
    answer(&mut rig, "w10");
    rig.says("its label?");
    rig.key("Enter");
    rig.says("say which tin it is, by its label");
    answer(&mut rig, "23-101");
    // Like the last tin of that toner, if nothing else is typed.
    rig.says("1482 g");
    rig.key("Ctrl-U");
    answer(&mut rig, "much");
    rig.says("'much'");
    rig.key("Ctrl-U");
    answer(&mut rig, "1 L");
    answer(&mut rig, "A7");
    answer(&mut rig, "31.12.26");
    rig.says("'31.12.26' is no day");
    // Away and back: the line that was wrong, and those that were right.
    rig.key("Esc");
    rig.says("what was typed is kept");
    assert!(rig.sent.is_empty() && rig.app.prompt.is_none());
    rig.key("Ctrl-R");
    rig.says("31.12.26");
    rig.says("A7");
    for _ in 0..2 {
        rig.key("Up");
    }
    rig.key("Ctrl-U");
    answer(&mut rig, "2024-12-31");
    answer(&mut rig, "38,50");
    answer(&mut rig, "");
    // The label that a tin had before is said where it is typed.
    rig.says("tin 23-101 was received before: a label is used once");
    rig.says("its label?");
    assert!(rig.sent.is_empty());
    rig.key("Ctrl-U");
    answer(&mut rig, "23-103");
    for _ in 0..5 {
        rig.key("Enter");
    }
    let litre = Catalogue::demo().toner("W10").unwrap().density.mass_of(Millilitres::parse("1000").unwrap());
    let expected = r#"{"kind":"tin/received","label":"23-103","toner":"W10","net":"1482.000","empty":"110.5","size":"1 L","lot":"A7","expires":"2024-12-31","price":"38.50"}"#;
    assert_eq!(json(&rig), expected);
    rig.says("saved: tin 23-103");
    let known = rig.app.tins.iter().find(|tin| tin.label == "23-103").unwrap();
    assert_eq!((known.holds, known.empty), (litre.to_book(), Some(g("110.5"))));
    assert!(rig.app.stores.receiving.is_none() && rig.app.prompt.is_none());
}

#[test]
fn a_scan_fills_the_form_with_item_lot_and_expiry() {
    let mut rig = stocked();
    rig.key("Ctrl-R");
    rig.scan(&bars("B15", "(10)A7(17)261231(21)24-031"));
    rig.says("how much is in it?");
    for words in ["B15", "24-031", "A7", "2026-12-31"] {
        rig.says(words);
    }
    answer(&mut rig, "560");
    for _ in 0..4 {
        rig.key("Enter");
    }
    let item = Catalogue::demo().toner("B15").unwrap().codes[0].clone();
    let expected = format!(
        r#"{{"kind":"tin/received","label":"24-031","toner":"B15","net":"560","lot":"A7","expires":"2026-12-31","item":"{item}"}}"#
    );
    assert_eq!(json(&rig), expected);
    // Without a serial number the lot is no label: the next tin of the delivery has the same.
    rig.key("Ctrl-R");
    rig.scan(&bars("B15", "(10)A7"));
    rig.says("its label?");
    // A shop's own label is typed by the scanner as by a hand, and what cannot be read is said in place.
    rig.scan("24-032");
    rig.says("how much is in it?");
    rig.key("Up");
    rig.key("Up");
    rig.scan("(01)09506000134353");
    rig.says("check digit");
    rig.says("B15");
    rig.scan("(01)09506000134352");
    rig.says("no toner has the code 09506000134352");
}

/// From the tins of a toner it is asked for the rest, what the last one weighed already there.
#[test]
fn a_tin_like_those_on_the_screen_is_received_with_a_letter() {
    let mut rig = white();
    rig.key("r");
    rig.says("its label?");
    rig.says("1482 g");
    rig.says("110.5 g");
    // What is being typed stands in its line of the form too.
    rig.type_text("23-1");
    rig.says("label        23-1");
    rig.key("Esc");
    rig.key("Ctrl-R");
    rig.says("label        23-1");
}

/// What a tin scanned on the shelf says is not typed again.
#[test]
fn a_scanned_tin_that_the_book_does_not_know_waits_to_be_received() {
    let mut rig = stocked();
    rig.scan(&bars("B15", "(10)A7(21)24-031"));
    rig.says("tin 24-031 was not received yet");
    rig.key("r");
    rig.says("how much is in it?");
    rig.says("24-031");
}
