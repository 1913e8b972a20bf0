//! Deliveries from a file: asked for on the shelf, shown, and received as a whole.

use super::rig::{Book, Rig, g};
use super::stores::{answer, json, stocked};
use crate::book::figures::TinRow;
use crate::catalogue::{Catalogue, TonerCode};
use crate::stock::{Delivery, StockEvent};
use crate::tui::message::Message;
use std::collections::BTreeMap;

const TABLE: &str = "label,toner,net,lot,expires,price\n\
                     23-401,w10,1482,A7,2024-12-31,38.50\n\
                     23-402,K05,510.5,,,\n\
                     23-403,W10,1482,A7,2024-12-31,38.50\n";

/// What the worker reads in such a file, held against the tins that the book of the rig has.
fn read(rig: &Rig, table: &str) -> Delivery {
    let known: BTreeMap<String, TinRow> = rig
        .app
        .tins
        .iter()
        .map(|tin| {
            let row = TinRow::unsaid(tin.label.clone(), TonerCode::new(tin.toner.as_str()));
            (tin.label.clone(), TinRow { received: tin.received, ..row })
        })
        .collect();
    Delivery::read(table.as_bytes(), &Catalogue::demo(), &known)
}

fn came(rig: &mut Rig, table: &str) {
    let read = Ok(Box::new(read(rig, table)));
    rig.send(Message::DeliveryRead { typed: "~/came today.csv".to_owned(), read });
}

/// A delivery on the screen, looked at for long enough.
fn shown(table: &str) -> Rig {
    let mut rig = stocked();
    rig.key("Ctrl-D");
    answer(&mut rig, "~/came today.csv");
    came(&mut rig, table);
    rig.tick(600);
    rig
}

#[test]
fn a_delivery_is_shown_before_it_is_received_and_then_received_as_a_whole() {
    let mut rig = stocked();
    rig.key("Ctrl-D");
    rig.says("which file is the delivery in?");
    rig.key("Enter");
    rig.says("type the path of a CSV file, as delivery.csv");
    answer(&mut rig, "~/came today.csv");
    assert_eq!(rig.delivery_reads, ["~/came today.csv"]);
    came(&mut rig, TABLE);
    for words in
        ["Delivery · came today.csv", "nothing received yet", "23-402", "K05 carbon black", "510.5 g"]
    {
        rig.says(words);
    }
    rig.says("3 tins of 2 toners would come in, 3474.5 g together");
    // A key that bounces, or was meant for the line before, takes nothing.
    rig.key("Enter");
    assert!(rig.sent.is_empty());
    rig.tick(600);
    rig.key("Enter");
    assert_eq!(rig.sent.len(), 3);
    assert_eq!(rig.together, [3], "it goes to the book in one piece");
    assert_eq!(
        json(&rig),
        r#"{"kind":"tin/received","label":"23-403","toner":"W10","net":"1482","lot":"A7","expires":"2024-12-31","price":"38.50"}"#
    );
    rig.says("saved: 3 tins received, 3474.5 g");
    rig.says("Shelf");
    let known = rig.app.tins.iter().find(|tin| tin.label == "23-402").unwrap();
    assert_eq!(known.holds, g("510.5"));
    assert!(rig.told().iter().all(|event| matches!(event, StockEvent::Received(_))));
}

#[test]
fn while_something_is_wrong_nothing_is_received_and_the_file_can_be_read_again() {
    let mut rig = shown(&format!("{TABLE}23-101,W10,1482,,,\n23-404,W99,500,,31.1.27,\n"));
    rig.says("3 things to put right");
    rig.says("line 5: tin 23-101 was received before");
    rig.says("line 6: toner 'W99' is not in the shop's toners");
    rig.says("nothing is received as it is; right in it: 3 tins");
    rig.key("Enter");
    rig.says("nothing is received while 3 things are wrong");
    assert!(rig.sent.is_empty());
    rig.key("F5");
    assert_eq!(rig.delivery_reads, ["~/came today.csv", "~/came today.csv"]);
    came(&mut rig, "colour\nred\n");
    rig.says("column 'colour' is none of label, toner, net");
    rig.says("no tin in it can be received");
    rig.key("Esc");
    rig.says("titanium white");
    assert!(rig.sent.is_empty());
}

#[test]
fn a_file_that_cannot_be_read_leaves_what_was_typed_to_be_put_right() {
    let mut rig = stocked();
    rig.key("Ctrl-D");
    answer(&mut rig, "~/cane today.csv");
    let why = "~/cane today.csv cannot be read: No such file or directory".to_owned();
    rig.send(Message::DeliveryRead { typed: "~/cane today.csv".to_owned(), read: Err(why) });
    rig.says("cannot be read");
    rig.says("~/cane today.csv");
    rig.key("Enter");
    assert_eq!(rig.delivery_reads, ["~/cane today.csv", "~/cane today.csv"]);
}

/// What the disk does not take is sent again as it was: in one piece.
#[test]
fn a_delivery_that_cannot_be_saved_is_sent_again_as_a_whole() {
    let mut rig = shown(TABLE);
    rig.book = Book::Fails;
    rig.key("Enter");
    rig.says_not("saved: 3 tins");
    rig.says("the disk is full");
    rig.book = Book::Saves;
    rig.key("Ctrl-S");
    assert_eq!(rig.together, [3, 3]);
    let ids: Vec<_> = rig.sent.iter().map(|envelope| envelope.id).collect();
    assert_eq!(ids[..3], ids[3..]);
    rig.says("saved: 3 tins received");
}

#[test]
fn a_tin_that_was_received_meanwhile_is_not_received_twice() {
    let mut rig = shown(TABLE);
    // The same delivery twice, as if it had been read before the first was in the book.
    rig.key("Enter");
    rig.says("saved: 3 tins received");
    let known = Delivery::read(TABLE.as_bytes(), &Catalogue::demo(), &BTreeMap::new());
    rig.send(Message::DeliveryRead { typed: "came.csv".to_owned(), read: Ok(Box::new(known)) });
    rig.tick(600);
    rig.key("Enter");
    rig.says("nothing is received: tin 23-401 was received meanwhile");
    assert_eq!(rig.sent.len(), 3);
}

/// It comes when it comes: somebody who is at the colours, or asked something else, is left there.
#[test]
fn a_delivery_brings_nobody_back_who_went_elsewhere() {
    for away in [&["Esc"][..], &["Ctrl-R"][..]] {
        let mut rig = stocked();
        rig.key("Ctrl-D");
        answer(&mut rig, "came.csv");
        for key in away {
            rig.key(key);
        }
        came(&mut rig, TABLE);
        rig.says_not("would come in");
        assert!(rig.sent.is_empty());
    }
}

#[test]
fn a_long_delivery_is_gone_through() {
    let rows: Vec<String> = (1..=60).map(|at| format!("23-5{at:02},W10,1482,,,")).collect();
    let mut rig = shown(&format!("label,toner,net,lot,expires,price\n{}\n", rows.join("\n")));
    rig.says("23-501");
    rig.says_not("23-560");
    for _ in 0..59 {
        rig.key("Down");
    }
    rig.says("23-560");
    for _ in 0..59 {
        rig.key("Up");
    }
    rig.says("23-501");
}

/// Who may not write is told before anything is typed.
#[test]
fn where_nothing_can_be_written_it_is_not_asked_for() {
    let mut rig = stocked();
    rig.app.look_only = Some("another Pourbook has it open".to_owned());
    rig.key("Ctrl-D");
    rig.says("nothing can be written");
    assert!(rig.app.prompt.is_none());
}
