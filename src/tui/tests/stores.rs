//! The stores manager's work at the bench's own screen: tins received, counted, stirred, thrown away; leftovers.

use super::cups;
use super::rig::{Book, DWELL, Rig, g, settings};
use crate::book::figures::TinRow;
use crate::catalogue::{Catalogue, TonerCode};
use crate::mix::{Event, TinMarks};
use crate::report::shelf::{Rows, Shelf, Terms};
use crate::scale::{Frame, Mode};
use crate::stock::{Recall, StockEvent, Tin};
use crate::tui::app::{FromBook, Screen};
use crate::tui::message::Message;
use crate::tui::on_scan::today;
use crate::tui::sound::Sound;
use crate::units::{Millilitres, Stamp};

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

fn tins() -> Vec<Tin> {
    vec![
        tin("23-101", "W10", ["1482", "600"]),
        tin("23-102", "W10", ["1482", "1482"]),
        tin("23-201", "K05", ["510", "41.3"]),
        Tin { empty: None, ..tin("23-301", "M80", ["958", "500"]) },
    ]
}

fn shelf_of(tins: &[Tin], recalls: &[Recall]) -> Shelf {
    let shop = Catalogue::demo();
    let rows = Rows { toners: &shop.toners, tins, recalls, daily: &[], needed: &[], for_jobs: &[] };
    Shelf::of(rows, today(NOW, 0).unwrap(), NOW, Terms::default())
}

/// The shelf as the book would give it now.
fn reread(rig: &mut Rig) {
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

fn answer(rig: &mut Rig, text: &str) {
    rig.type_text(text);
    rig.key("Enter");
}

fn json(rig: &Rig) -> String {
    rig.sent.last().map_or_else(String::new, |envelope| envelope.body.clone())
}

fn bars(toner: &str, rest: &str) -> String {
    format!("(01){}{rest}", Catalogue::demo().toner(toner).unwrap().codes[0])
}

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
    rig.key("x");
    rig.key("Enter");
    rig.says("say why");
    answer(&mut rig, "skin on it");
    rig.says("throw this leftover away, 92.4 g?");
    rig.key("n");
    assert_eq!(rig.app.leftovers.len(), 1);
    rig.key("x");
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
    rig.key("e");
    rig.says("throw this leftover away, 92.4 g?");
    rig.tick(700);
    rig.key("y");
    let numbers: Vec<u32> = rig.app.leftovers.iter().map(|leftover| leftover.of.head.number).collect();
    assert_eq!(numbers, [412, 413]);
    let before = rig.sent.len();
    rig.key("e");
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
