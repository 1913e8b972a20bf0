//! What the book says of a tin is said before a pour, whether its label was typed or scanned.

use super::rig::{DWELL, Rig, g, settings};
use crate::book::figures::TinRow;
use crate::catalogue::TonerCode;
use crate::mix::Event;
use crate::stock::{Recall, Tin};
use crate::tui::app::FromBook;
use crate::tui::message::Message;
use crate::tui::screens::shelf_tests::shelf;
use crate::tui::sound::Sound;
use crate::units::Stamp;

/// The rig's clock: 2023-11-14.
const NOW: Stamp = Stamp(1_700_000_000_000_000);

fn tin(label: &str, toner: &str, holds: &str, expires: &str) -> Tin {
    let row = TinRow {
        expires: Some(expires.into()),
        lot: Some(format!("lot-{label}")),
        net: Some("1000".into()),
        received: Some(Stamp(NOW.0 - 90 * 86_400_000_000)),
        stirred: Some(NOW),
        ..TinRow::unsaid(label.into(), TonerCode::new(toner))
    };
    Tin::new(row, g(holds))
}

/// At the bench, the binder due first, with these tins in the book.
fn begun(tins: Vec<Tin>) -> Rig {
    let recall = Recall { lot: "lot-bad".into(), toner: None, why: "specks".into(), at: NOW };
    let book = FromBook { next_number: 412, tins, recalls: vec![recall], ..FromBook::default() };
    let mut rig = Rig::opened(settings(), book);
    rig.live();
    rig.pick();
    rig.stand(super::rig::CUP, DWELL);
    assert_eq!(rig.toner(), "M80");
    rig
}

fn tins() -> Vec<Tin> {
    let mut empty = tin("empty", "M80", "0", "2024-12-31");
    empty.emptied = Some(NOW);
    let mut thrown = tin("thrown", "M80", "0", "2024-12-31");
    thrown.discarded = Some(NOW);
    vec![
        tin("late", "M80", "900", "2024-12-31"),
        tin("soon", "M80", "900", "2023-12-31"),
        tin("old", "M80", "900", "2023-11-13"),
        tin("bad", "M80", "900", "2023-12-01"),
        tin("blue", "B15", "900", "2024-12-31"),
        tin("pearl", "P51", "900", "2024-12-31"),
        tin("little", "M80", "12.5", "2024-12-31"),
        empty,
        thrown,
    ]
}

#[test]
fn the_tin_that_expires_first_is_proposed_until_one_is_said() {
    let mut rig = begun(tins());
    rig.says("take tin soon");
    rig.answer("n", "late");
    rig.says_not("take tin");
    rig.says("tin late");
    // Without tins in the book nothing is proposed.
    begun(Vec::new()).says_not("take tin");
}

#[test]
fn what_speaks_against_a_tin_is_said_and_nothing_is_taken_before_that() {
    for (label, says) in [
        ("old", "2023-11-13"),
        ("bad", "lot lot-bad was called back (specks): do not use it"),
        ("empty", "this tin was said to be empty"),
        ("thrown", "by the book this tin was thrown away"),
    ] {
        for scanned in [false, true] {
            let mut rig = begun(tins());
            if scanned {
                rig.scan(&format!("M80 {label}"));
            } else {
                rig.answer("n", label);
            }
            rig.says("WRONG TIN");
            rig.says(says);
            assert_eq!(rig.heard.last(), Some(&Sound::WrongTin), "{label}");
            // However right the weight: it is not taken while that is not answered.
            rig.stand_net(rig.stop(), 2 * DWELL);
            assert_eq!(rig.kinds(), ["mix/started"], "{label}");
        }
        // Poured all the same, knowing it.
        let mut rig = begun(tins());
        rig.answer("n", label);
        rig.key("Enter");
        assert_eq!(rig.session().tin(0), Some(label));
        rig.says_not("WRONG TIN");
        rig.agrees_with_book();
    }
}

/// A label says more than a hand: what is in the tin by the book counts.
#[test]
fn a_tin_of_another_toner_is_known_by_its_label() {
    let mut rig = begun(tins());
    rig.answer("n", "blue");
    rig.says("that is B15 blue; M80 colour binder is due");
    rig.key("j");
    assert_eq!((rig.toner().as_str(), rig.kinds().last()), ("B15", Some(&"mix/tin-taken")));
    let mut rig = begun(tins());
    rig.answer("n", "pearl");
    rig.says("which is not in this formula");
    rig.key("Enter");
    assert_eq!(rig.kinds(), ["mix/started"]);
    // Scanned with the due toner's code: the book knows better.
    rig.scan("M80 blue");
    rig.says("this tin holds B15, not M80");
}

#[test]
fn what_is_only_to_be_heeded_is_said_and_the_tin_is_taken() {
    let mut stirred_yesterday = tins();
    stirred_yesterday[0].stirred = Some(Stamp(NOW.0 - 86_400_000_000));
    let mut rig = begun(stirred_yesterday);
    rig.answer("n", "little");
    rig.says("by the book it holds no more than 12.5 g: have the next one");
    assert_eq!(rig.session().tin(0), Some("little"));
    rig.scan("M80 late");
    rig.says("not stirred today: stir it first");
    assert_eq!(rig.session().tin(0), Some("late"));
    // Once a day is enough.
    rig.answer("n", "soon");
    rig.answer("n", "late");
    rig.says_not("not stirred");
    // One that the book does not know is taken as ever.
    rig.answer("n", "new");
    let Event::TinTaken { tin, .. } = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!(tin, "new");
}

/// What was poured since the program was opened is no more in the tin.
#[test]
fn a_tin_that_is_poured_from_holds_less() {
    let mut rig = begun(vec![tin("only", "M80", "100", "2024-12-31")]);
    rig.answer("n", "only");
    let holds = |rig: &Rig| rig.app.tins[0].holds;
    assert_eq!(holds(&rig), g("100"));
    rig.stand_net(g("60.0"), DWELL);
    rig.key("Enter");
    assert_eq!(holds(&rig), g("40"), "{}", rig.screen());
    // The shelf, read anew, brings tins that came meanwhile.
    rig.send(Message::ShelfRead(Ok(Box::new(shelf()))));
    assert!(rig.app.tins.iter().any(|tin| tin.label == "26-144"));
}

/// What a tin that nobody has named yet is to be minded for stands on the bench, and is not said to have been told.
#[test]
fn what_is_to_be_minded_of_the_proposed_tin_stands_there() {
    let mut unstirred = tin("only", "M80", "12.5", "2024-12-31");
    unstirred.stirred = None;
    let mut rig = begun(vec![unstirred]);
    let to_go = rig.session().goal().unwrap().missing.with_decimals(1);
    rig.says(&format!("tin only: holds about 12.5 g, {to_go} g are to go; not stirred today:"));
    rig.says("tin only is to be used up first: p if it is that one");
    assert!(rig.app.told_to_stir.is_empty());
    rig.key("p");
    assert_eq!(rig.session().tin(0), Some("only"));
    rig.says("tin only is taken; by the book it holds no more than 12.5 g");
    assert_eq!(rig.app.told_to_stir.len(), 1);
    rig.says_not("are to go");
    // A full one that was stirred is nothing to mind.
    begun(vec![tin("full", "M80", "900", "2024-12-31")]).says_not("tin full:");
}

#[test]
fn where_no_tin_may_be_poured_the_bench_says_so() {
    for (tins, says) in [
        (vec![tin("bad", "M80", "900", "2024-12-01")], "no tin of M80 may be poured: bad was called back"),
        (
            vec![tin("old", "M80", "900", "2023-11-13"), tin("used", "M80", "0", "2024-12-31")],
            "no tin of M80 may be poured: old was to be used until 2023-11-13",
        ),
        (vec![tin("used", "M80", "0", "2024-12-31")], "by the book no tin of M80 holds anything"),
    ] {
        let mut rig = begun(tins);
        rig.says(says);
        rig.says_not("take tin");
        let sent = rig.sent.len();
        rig.key("p");
        assert_eq!(rig.sent.len(), sent, "nothing is proposed");
        rig.answer("n", "new");
        rig.says_not("may be poured");
        rig.says_not("holds anything");
    }
    begun(vec![tin("blue", "B15", "900", "2024-12-31")]).says_not("no tin of M80");
}

/// The key names the tin for what is in the cup of it already and not booked: a tin that nobody named loses nothing.
#[test]
fn the_tin_that_is_proposed_is_named_with_one_key_also_in_the_middle_of_the_pour() {
    let mut rig = begun(tins());
    rig.stand_net(g("40.0"), 4);
    rig.key("3");
    assert!(matches!(rig.last(), Event::TinTaken { .. }), "{:?}", rig.kinds());
    rig.stand_net(rig.stop(), DWELL);
    let Event::Poured(pour) = rig.last() else { panic!("{:?}", rig.kinds()) };
    assert_eq!((pour.tin.as_deref(), pour.before), (Some("soon"), g("0")));
    let holds = rig.app.tins.iter().find(|tin| tin.label == "soon").unwrap().holds;
    assert_eq!(holds, g("900") - pour.after);
    rig.agrees_with_book();
}
