//! A lot is called back, and something of it is in a leftover.

use super::cups::{bring_back, kept};
use super::rig::{DWELL, Rig, g};
use crate::book::{Account, Ids};
use crate::mix::{Event, Phase};
use crate::stock::{FromTin, Recall, StockEvent};
use crate::units::Stamp;

/// The rig's clock: 2023-11-14.
const NOW: Stamp = Stamp(1_700_000_000_000_000);

/// A mix of which something is kept, its binder from a tin of a lot.
fn of_a_lot() -> Rig {
    let mut rig = Rig::begun();
    rig.scan("M80 24-7");
    while rig.phase() == Phase::Weighing {
        rig.stand_net(rig.stop(), DWELL);
    }
    rig.key("Enter");
    rig.key("Enter");
    rig.stand("0", 3);
    bring_back(&mut rig, "92.4");
    rig.key("Enter");
    rig.key("Enter");
    rig.stand("0", 3);
    assert_eq!(rig.app.leftovers.len(), 1, "{}", rig.screen());
    rig
}

fn call_back(rig: &mut Rig) {
    let recall = Recall { lot: "lot-7".into(), toner: None, why: "specks".into(), at: NOW };
    rig.app.recalls.push(recall);
}

/// The tin comes into the book after it was poured from: its lot is in what is left of the mix all the same.
fn receive(rig: &mut Rig) {
    let came = crate::stock::Receipt {
        tin: crate::stock::TinName { label: "24-7".into(), toner: crate::catalogue::TonerCode::new("M80") },
        net: g("958"),
        empty: None,
        size: None,
        lot: Some("lot-7".into()),
        expires: None,
        price: None,
        item: None,
        supplier: None,
    };
    rig.app.tell_stock(&[StockEvent::Received(came)], "tin 24-7".to_owned()).unwrap();
}

#[test]
fn a_leftover_of_a_lot_that_was_called_back_is_not_offered_and_that_is_said() {
    let mut rig = of_a_lot();
    rig.pick_with("F8");
    rig.says("92.4 g of mix 0412");
    rig.key("Esc");
    rig.key("Esc");
    receive(&mut rig);
    call_back(&mut rig);
    rig.type_text("gannet");
    rig.key("Right");
    rig.key("Enter");
    rig.says("92.4 g are left of mix 0412, and lot lot-7 of M80 in it was called back:");
    rig.key("F8");
    rig.key("Enter");
    rig.stand(super::rig::CUP, DWELL);
    assert!(rig.app.bench().unwrap().pour_in().is_none(), "{}", rig.screen());
    // Another lot says nothing of it.
    let mut rig = of_a_lot();
    receive(&mut rig);
    rig.app.recalls.push(Recall { lot: "lot-8".into(), toner: None, why: "specks".into(), at: NOW });
    rig.pick_with("F8");
    rig.says("92.4 g of mix 0412");
    rig.says_not("called back");
}

#[test]
fn it_is_marked_among_the_leftovers_and_goes_with_those_past_their_day() {
    let mut rig = of_a_lot();
    receive(&mut rig);
    rig.key("F7");
    rig.key("Ctrl-L");
    rig.says_not("recalled");
    rig.key("Ctrl-E");
    rig.says("none of them is past its day or was called back");
    call_back(&mut rig);
    // Another that is good.
    let mut good = rig.app.leftovers[0].clone();
    (good.tins, good.of.head.number) = (Vec::new(), 399);
    good.of.mix = Ids::counted(99).mix(NOW);
    rig.app.leftovers.push(good);
    rig.tick(9_000);
    rig.says("recalled");
    rig.key("Down");
    rig.says("lot lot-7 of M80, which is in this leftover, was called back (specks): do");
    rig.key("Ctrl-E");
    rig.says("throw this leftover away, 92.4 g?");
    rig.tick(700);
    rig.key("y");
    let told = rig.told();
    let Some(StockEvent::LeftoverThrown(thrown)) = told.last() else { panic!("{told:?}") };
    assert_eq!(thrown.reason, "recalled: lot lot-7");
    let left: Vec<u32> = rig.app.leftovers.iter().map(|leftover| leftover.of.head.number).collect();
    assert_eq!(left, [399]);
}

/// The first leftover is used up by a second mix, and something is kept of that: the first's lot is in it, also where the
/// program was ended in between.
#[test]
fn the_lots_of_a_leftover_that_was_used_up_are_in_what_is_kept_of_the_next_mix() {
    let mut rig = of_a_lot();
    receive(&mut rig);
    let first = rig.app.leftovers[0].of.mix;
    rig.pick_with("F8");
    rig.stand(super::rig::CUP, DWELL);
    rig.stand_net(g("92.4"), DWELL);
    rig.key("Enter");
    assert!(matches!(rig.last(), Event::LeftoverAdded(_)), "{}", rig.screen());
    assert!(rig.app.leftovers.is_empty());
    assert_eq!(rig.session().reused(), [first.to_string()]);
    while rig.phase() == Phase::Weighing {
        rig.stand_net(rig.stop(), DWELL);
    }
    rig.key("Enter");
    rig.key("Enter");
    rig.stand("0", 3);
    bring_back(&mut rig, "40.0");
    rig.key("Enter");
    rig.key("Enter");
    let [left] = &rig.app.leftovers[..] else { panic!("{}", rig.screen()) };
    assert!(
        rig.sent.last().unwrap().postings.iter().any(|one| one.account == Account::Leftover(left.of.mix))
    );
    let tin = FromTin {
        label: "24-7".into(),
        toner: crate::catalogue::TonerCode::new("M80"),
        lot: Some("lot-7".into()),
    };
    assert_eq!(left.tins, [tin]);
    call_back(&mut rig);
    rig.key("F7");
    rig.key("Ctrl-L");
    rig.says("recalled");
}

/// One that was due in a mix that waits is not poured in once its lot was called back.
#[test]
fn one_that_was_due_is_not_poured_in_either() {
    let mut rig = kept();
    rig.pick_with("F8");
    rig.stand(super::rig::CUP, DWELL);
    rig.says("a leftover first");
    let mut rig = rig.reopened(None);
    rig.app.leftovers[0].tins.push(FromTin {
        label: "24-7".into(),
        toner: crate::catalogue::TonerCode::new("M80"),
        lot: Some("lot-7".into()),
    });
    call_back(&mut rig);
    rig.key("Enter");
    rig.says("was called back");
    assert!(rig.app.bench().unwrap().pour_in().is_none());
}
