//! The stores manager's work at the bench's own screen: tins stirred, called back, thrown away; leftovers; the shelf read anew.

use super::cups;
use super::rig::{Book, DWELL, Rig, g, settings};
use crate::book::figures::TinRow;
use crate::catalogue::{Catalogue, TonerCode};
use crate::report::shelf::{Rows, Shelf, Terms};
use crate::stock::{Recall, StockEvent, Tin};
use crate::tui::app::{FromBook, Screen};
use crate::tui::message::Message;
use crate::tui::on_scan::today;
use crate::units::Stamp;
use std::collections::BTreeMap;

/// The rig's clock: 2023-11-14.
const NOW: Stamp = Stamp(1_700_000_000_000_000);
const DAY: i64 = 86_400_000_000;

fn tin(label: &str, toner: &str, [net, holds]: [&str; 2]) -> Tin {
    let row = TinRow {
        net: Some(net.into()),
        empty: Some("110.5".into()),
        lot: Some(format!("lot-{toner}")),
        expires: Some("2024-12-31".into()),
        received: Some(Stamp(NOW.0 - 30 * DAY)),
        opened: (net != holds).then_some(Stamp(NOW.0 - 20 * DAY)),
        stirred: (net != holds).then_some(Stamp(NOW.0 - DAY)),
        ..TinRow::unsaid(label.into(), TonerCode::new(toner))
    };
    Tin::new(row, g(holds))
}

pub(super) fn tins() -> Vec<Tin> {
    vec![
        tin("23-101", "W10", ["1482", "600"]),
        tin("23-102", "W10", ["1482", "1482"]),
        tin("23-201", "K05", ["510", "41.3"]),
        Tin { empty: None, ..tin("23-301", "M80", ["958", "500"]) },
    ]
}

fn shelf_of(tins: &[Tin], recalls: &[Recall]) -> Shelf {
    let shop = Catalogue::demo();
    let rows = Rows {
        toners: &shop.toners,
        tins,
        recalls,
        daily: &[],
        needed: &[],
        for_jobs: &[],
        unnamed: &BTreeMap::new(),
    };
    Shelf::of(rows, today(NOW, 0).unwrap(), NOW, Terms::default())
}

/// The shelf as the book would give it now.
pub(super) fn reread(rig: &mut Rig) {
    let shelf = shelf_of(&rig.app.tins, &rig.app.recalls);
    rig.send(Message::ShelfRead(Ok(Box::new(shelf))));
}

/// The shelf on the screen, its figures read.
pub(super) fn stocked() -> Rig {
    let book = FromBook { next_number: 412, tins: tins(), ..FromBook::default() };
    let mut rig = Rig::opened(settings(), book);
    rig.live();
    rig.key("F7");
    reread(&mut rig);
    rig
}

/// The tins of the white.
pub(super) fn white() -> Rig {
    let mut rig = stocked();
    rig.type_text("w10");
    rig.key("Enter");
    rig.says("23-101");
    rig
}

/// A stocktake, the first white tin marked.
pub(super) fn stocktake() -> Rig {
    let mut rig = white();
    rig.key("k");
    rig
}

/// The leftovers of a mix on the screen.
pub(super) fn leftovers() -> Rig {
    let mut rig = cups::kept();
    rig.key("F7");
    rig.key("Ctrl-L");
    rig
}

pub(super) fn answer(rig: &mut Rig, text: &str) {
    rig.type_text(text);
    rig.key("Enter");
}

pub(super) fn json(rig: &Rig) -> String {
    rig.sent.last().map_or_else(String::new, |envelope| envelope.body.clone())
}

pub(super) fn bars(toner: &str, rest: &str) -> String {
    format!("(01){}{rest}", Catalogue::demo().toner(toner).unwrap().codes[0])
}

#[test]
fn nothing_is_said_to_be_saved_before_it_is_on_disk() {
    let mut rig = white();
    rig.book = Book::Withholds;
    rig.key("s");
    rig.says_not("saved");
    let id = rig.sent.last().unwrap().id;
    rig.saved(id);
    rig.says("saved: tin 23-101 is stirred");
    let mut rig = white();
    rig.book = Book::Fails;
    rig.key("s");
    rig.says_not("saved: tin");
    rig.says("the disk is full");
    rig.book = Book::Saves;
    rig.key("Ctrl-S");
    rig.says("saved: tin 23-101 is stirred");
}

#[test]
fn what_happens_to_a_tin_is_told_and_what_nothing_brings_back_is_asked() {
    let mut rig = white();
    rig.key("Down");
    rig.key("o");
    rig.says("saved: tin 23-102 is open");
    reread(&mut rig);
    rig.key("e");
    rig.says("is tin 23-102 empty? the book says that it holds 1482.0 g");
    rig.key("Enter");
    rig.says("nothing was done");
    assert_eq!(rig.sent.len(), 1);
    rig.key("e");
    rig.key("y");
    rig.says("read it first");
    rig.tick(700);
    rig.key("y");
    assert_eq!(json(&rig), r#"{"kind":"tin/emptied","label":"23-102","toner":"W10","booked":"1482"}"#);
    reread(&mut rig);
    rig.says_not("23-102  ");
    rig.key("x");
    rig.key("Enter");
    rig.says("say why, in a word or two");
    answer(&mut rig, "dried up");
    rig.says("throw tin 23-101 away with 600.0 g of W10?");
    rig.tick(700);
    rig.key("y");
    assert_eq!(
        json(&rig),
        r#"{"kind":"tin/discarded","label":"23-101","toner":"W10","booked":"600","reason":"dried up"}"#
    );
    reread(&mut rig);
    rig.says("no tin of it is on the shelf");
    assert!(rig.app.tins[0].discarded.is_some() && rig.app.tins[0].holds.is_zero());
}

/// What is called back at the shelf is barred at the bench at once.
#[test]
fn a_lot_that_is_called_back_is_barred_at_once() {
    let mut rig = stocked();
    rig.type_text("m80");
    rig.key("Enter");
    rig.key("b");
    answer(&mut rig, "specks");
    rig.says("call lot lot-M80 of M80 back? 1 tin of it is on the shelf");
    rig.tick(700);
    rig.key("1");
    assert_eq!(json(&rig), r#"{"kind":"lot/recalled","lot":"lot-M80","toner":"M80","why":"specks"}"#);
    for _ in 0..3 {
        rig.key("Esc");
    }
    rig.pick();
    rig.stand(super::rig::CUP, DWELL);
    rig.answer("n", "23-301");
    rig.says("lot lot-M80 was called back (specks)");
}

/// The caution that a tin was not stirred follows without a restart.
#[test]
fn the_rack_is_stirred_with_one_key_and_the_bench_knows_it() {
    let at_bench = |stirs: bool| {
        let mut rig = stocked();
        rig.says("3 open tins were not stirred today: Ctrl-T");
        if stirs {
            rig.key("Ctrl-T");
            rig.says("saved: the rack is stirred: 3 open tins");
            let labels: Vec<String> = rig
                .told()
                .into_iter()
                .map(|event| match event {
                    StockEvent::Stirred(name) => name.label,
                    other => panic!("{other:?}"),
                })
                .collect();
            assert_eq!(labels, ["23-101", "23-201", "23-301"]);
            rig.tick(9_000);
            rig.says_not("not stirred");
        }
        rig.key("Esc");
        rig.pick();
        rig.stand(super::rig::CUP, DWELL);
        rig.answer("n", "23-301");
        rig
    };
    at_bench(false).says("not stirred today: stir it first");
    let rig = at_bench(true);
    rig.says_not("not stirred");
    assert_eq!(rig.session().tin(0), Some("23-301"));
}

#[test]
fn leftovers_are_looked_through_and_thrown_away() {
    let mut rig = leftovers();
    rig.says("1 leftover");
    rig.says("92.4 g");
    rig.says("of today");
    rig.says("what is left of mix 0412");
    rig.key("Ctrl-X");
    rig.key("Enter");
    rig.says("say why");
    answer(&mut rig, "skin on it");
    rig.says("throw this leftover away, 92.4 g?");
    rig.key("n");
    assert_eq!(rig.app.leftovers.len(), 1);
    rig.key("Ctrl-X");
    answer(&mut rig, "skin on it");
    rig.tick(700);
    rig.key("y");
    let [.., StockEvent::LeftoverThrown(thrown)] = &rig.told()[..] else { panic!("{:?}", rig.kinds()) };
    assert_eq!(thrown.reason, "skin on it");
    let all: crate::units::Grams = thrown.parts.iter().map(|(_, mass)| *mass).sum();
    assert_eq!(all, g("92.4"));
    rig.says("nothing is kept of earlier mixes");
    assert!(rig.app.leftovers.is_empty());
}

#[test]
fn those_past_their_day_go_in_one() {
    let mut rig = leftovers();
    // Another that may still be used, and one past its day.
    let mut good = rig.app.leftovers[0].clone();
    good.use_by = crate::barcode::Day::parse("2023-11-14");
    good.of.head.number = 413;
    let mut old = good.clone();
    old.use_by = crate::barcode::Day::parse("2023-11-13");
    old.of.mix = crate::book::Ids::counted(99).mix(NOW);
    old.of.head.number = 398;
    rig.app.leftovers.extend([good, old]);
    rig.says("expired");
    rig.key("Ctrl-E");
    rig.says("throw this leftover away, 92.4 g?");
    rig.tick(700);
    rig.key("y");
    let numbers: Vec<u32> = rig.app.leftovers.iter().map(|leftover| leftover.of.head.number).collect();
    assert_eq!(numbers, [412, 413]);
    let before = rig.sent.len();
    rig.key("Ctrl-E");
    assert_eq!((rig.sent.len(), rig.app.prompt.is_none()), (before, true));
}

/// Another program had the book and this one only looks: nothing is written, and nothing seems to be.
#[test]
fn who_only_looks_writes_nothing_of_the_stock() {
    let why = Some("another program has it open".to_owned());
    let book = FromBook { look_only: why, next_number: 412, tins: tins(), ..FromBook::default() };
    for keys in [&["Ctrl-R"][..], &["Ctrl-K"], &["Ctrl-T"], &["Enter", "s"], &["Enter", "x"], &["Enter", "e"]]
    {
        let book = FromBook {
            look_only: book.look_only.clone(),
            tins: book.tins.clone(),
            ..FromBook { next_number: 412, ..FromBook::default() }
        };
        let mut rig = Rig::opened(settings(), book);
        rig.live();
        rig.key("F7");
        reread(&mut rig);
        for key in keys {
            rig.key(key);
        }
        rig.says("nothing can be written: another program has it open");
        assert!(rig.sent.is_empty() && rig.app.prompt.is_none(), "{keys:?}");
        assert!(matches!(rig.app.screen, Screen::Shelf(_)));
    }
}

/// Figures that were being read while something was written lack it: they are shown, not believed, and read again.
#[test]
fn figures_that_were_read_before_are_not_believed() {
    let mut rig = white();
    let before = shelf_of(&rig.app.tins, &rig.app.recalls);
    let reads = rig.shelf_reads;
    rig.key("s");
    assert_eq!(rig.shelf_reads, reads + 1);
    rig.key("o");
    // The reading that began before the second event comes now.
    rig.send(Message::ShelfRead(Ok(Box::new(before))));
    assert!(rig.app.tins[0].stirred.unwrap() > NOW && rig.app.tins[0].opened.unwrap() > NOW);
    assert_eq!(rig.shelf_reads, reads + 2);
}

/// What another program wrote is known once the shelf was opened: tins gone, and lots called back.
#[test]
fn what_another_program_wrote_is_known_once_the_shelf_was_read() {
    let mut rig = stocked();
    let mut tins = tins();
    tins[0].emptied = Some(NOW);
    tins.push(tin("23-900", "R20", ["600", "600"]));
    let recall = Recall { lot: "lot-K05".into(), toner: None, why: "specks".into(), at: NOW };
    rig.key("Esc");
    rig.key("F7");
    rig.send(Message::ShelfRead(Ok(Box::new(shelf_of(&tins, &[recall])))));
    assert!(rig.app.tins[0].is_gone());
    assert!(rig.app.tins.iter().any(|tin| tin.label == "23-900"));
    assert_eq!(rig.app.recalls.len(), 1);
}
