//! The daily check and the ten weighings at the scale's own screen, and what the bench makes of them.

use super::rig::{CUP, DWELL, Rig, settings, stable, virtual_settings};
use crate::book::ScaleRecord;
use crate::catalogue::Catalogue;
use crate::metrology::{ScaleEvent, WhenOverdue};
use crate::scale::shape::Ask;
use crate::scale::{Frame, LinkEvent, Mode};
use crate::tui::app::FromBook;
use crate::tui::message::Message;

/// The invented shop's own scale and weights, on a scale that is real.
fn rig(when_overdue: WhenOverdue) -> Rig {
    let mut catalogue = Catalogue::demo();
    if let Some(sheet) = &mut catalogue.scale {
        sheet.plan.when_overdue = when_overdue;
    }
    let mut rig = Rig::opened_with(catalogue, settings(), FromBook::default());
    rig.live();
    rig
}

fn checked(reading: &str) -> Rig {
    let mut rig = rig(WhenOverdue::Say);
    rig.key("F2");
    rig.key("k");
    rig.says("take everything off the pan");
    rig.stand("0.0", DWELL);
    rig.says("now put 'invented 500 g' (500 g, M1)");
    rig.stand(reading, DWELL);
    rig
}

fn event(rig: &Rig) -> ScaleEvent {
    let envelope = rig.sent.last().expect("something written");
    assert_eq!(envelope.flaw(), None);
    serde_json::from_str(&envelope.body).unwrap()
}

#[test]
fn a_right_scale_is_in_the_book_and_said() {
    let mut rig = checked("500.1");
    assert_eq!(rig.kinds(), ["scale/checked"]);
    assert!(matches!(event(&rig), ScaleEvent::Checked(check) if check.passed()));
    rig.says("checked today, and right");
    rig.says("+0.1 g with 'invented 500 g', ±0.1 g allowed, by operator");
    rig.key("Esc");
    rig.says_not("CHECK SCALE");
}

#[test]
fn a_wrong_scale_is_said_wherever_one_is() {
    let mut rig = checked("500.3");
    assert!(matches!(event(&rig), ScaleEvent::Checked(check) if !check.passed()));
    rig.says("it was not right when checked today");
    rig.key("Esc");
    rig.says("CHECK SCALE");
    rig.says("CHECK SCALE  checked today, not right: have it seen to, then F2 and k");
    rig.pick();
    rig.stand(CUP, DWELL);
    rig.says("CHECK SCALE");
    assert_eq!(rig.kinds(), ["scale/checked", "mix/started"]);
}

#[test]
fn a_shop_can_want_no_mix_on_such_a_scale() {
    let mut rig = rig(WhenOverdue::Refuse);
    rig.pick();
    rig.says("no mix is begun on a scale like that: F2, then k, checks it");
    rig.stand(CUP, DWELL * 2);
    assert_eq!(rig.sent, []);
    // Once it is checked, it goes on.
    rig.key("F2");
    rig.key("k");
    rig.stand("0.0", DWELL);
    rig.stand("500.0", DWELL);
    rig.key("Esc");
    rig.key("Enter");
    rig.stand(CUP, DWELL);
    assert_eq!(rig.kinds(), ["scale/checked", "mix/started"]);
}

/// A day later it is overdue, and the program that was open all the while says so.
#[test]
fn a_check_grows_old_while_the_program_is_open() {
    let mut rig = checked("500.0");
    rig.key("Esc");
    rig.says_not("CHECK SCALE");
    rig.tick(86_400_000);
    rig.live();
    rig.stand("0.0", 2);
    rig.says("last checked yesterday: overdue. F2, then k, checks it");
}

#[test]
fn another_weight_is_not_taken_for_the_one_asked_for() {
    let mut rig = rig(WhenOverdue::Say);
    rig.key("F2");
    rig.key("k");
    // A cup on the pan is not an empty pan, whatever else it is.
    rig.stand("121.8", DWELL * 2);
    rig.says("take everything off the pan");
    rig.stand("0.0", DWELL);
    for other in ["121.8", "2000.0", "250.0"] {
        rig.stand(other, DWELL * 2);
        rig.says("now put 'invented 500 g'");
    }
    assert_eq!(rig.sent, []);
    // Unless a person says that it is: a scale can be that wrong.
    rig.key("Enter");
    assert!(matches!(event(&rig), ScaleEvent::Checked(check) if !check.passed()));
}

#[test]
fn another_of_the_shops_weights_can_be_taken_if_it_is_good_enough() {
    let mut rig = rig(WhenOverdue::Say);
    rig.key("F2");
    rig.key("k");
    rig.key("Down");
    rig.says("check with 'invented 2 kg':");
    // The third one is too coarse: round it goes.
    rig.key("Down");
    rig.says("check with 'invented 500 g':");
    rig.key("Up");
    rig.says("check with 'invented 2 kg':");
}

/// On the smallest screen there is room for few lines: what came of the check is one of them.
#[test]
fn an_old_answer_does_not_hide_what_came_of_a_check() {
    let mut rig = rig(WhenOverdue::Say);
    rig.key("F2");
    rig.key("k");
    rig.send(Message::Scale(LinkEvent::Unanswered(Ask::Tare)));
    rig.says("it gave no answer");
    rig.stand("0.0", DWELL);
    rig.stand("500.3", DWELL);
    rig.says_not("it gave no answer");
    rig.says("off: +0.3 g with 'invented 500 g'");
}

#[test]
fn a_pan_that_is_not_at_zero_fails() {
    let mut rig = rig(WhenOverdue::Say);
    rig.key("F2");
    rig.key("k");
    rig.stand("0.3", DWELL);
    rig.stand("500.3", DWELL);
    rig.says("not at zero: the empty pan showed 0.3 g");
}

#[test]
fn ten_weighings_say_what_can_be_weighed() {
    let mut rig = rig(WhenOverdue::Say);
    rig.key("F2");
    rig.key("r");
    for number in 0..10 {
        assert_eq!(rig.sent, []);
        rig.stand("0.0", DWELL);
        // The worked example: seven readings of 200.0 and three of 200.1 have s = 0.0483 g.
        rig.stand(if number < 7 { "200.0" } else { "200.1" }, DWELL);
    }
    assert_eq!(rig.kinds(), ["scale/repeatability"]);
    rig.says("spread s 0.048 g: weighs from 9.7 g up, to 1 %");
    // And from now on that is what a small toner is held against.
    rig.key("Esc");
    let small = rig.app.accuracy().repeatability.unwrap();
    assert_eq!(small.with_decimals(4), "0.0483");
    // Not on a scale with another division, which is another scale.
    rig.app.settings.division = crate::units::Division::parse("0.01").ok();
    assert_eq!(rig.app.accuracy().repeatability, None);
}

/// The weight has to come off between two weighings, or it was only one.
#[test]
fn a_weight_that_stays_on_is_weighed_once() {
    let mut rig = rig(WhenOverdue::Say);
    rig.key("F2");
    rig.key("r");
    rig.stand("0.0", DWELL);
    rig.stand("200.0", DWELL * 5);
    rig.says("1 of 10 weighed: take the weight off");
    rig.stand("0.0", DWELL);
    rig.stand("500.0", DWELL * 2);
    rig.says("1 of 10 weighed: put the same weight on");
    rig.key("Esc");
    rig.says("given up; nothing of it is in the book");
    assert_eq!(rig.sent, []);
}

#[test]
fn net_is_no_check() {
    let mut rig = rig(WhenOverdue::Say);
    rig.key("F2");
    rig.key("k");
    for _ in 0..DWELL {
        rig.frame(Frame { mode: Mode::Net, ..stable("0.0") });
    }
    rig.frame(Frame { mode: Mode::Net, ..stable("0.0") });
    rig.says("the scale shows net: clear its tare");
    assert_eq!(rig.sent, []);
}

#[test]
fn without_a_sheet_or_a_scale_it_says_what_is_missing() {
    let mut rig = Rig::new();
    rig.key("F2");
    rig.key("k");
    rig.says("the shop has no scale.toml");
    let mut rig = Rig::without_scale();
    rig.key("F2");
    rig.key("r");
    rig.says("there is no scale to check");
}

/// The virtual bench needs no weights: no reproach on it, though it can be checked like any other.
#[test]
fn the_virtual_bench_is_not_reproached() {
    let settings = virtual_settings();
    let mut rig = Rig::opened_with(Catalogue::demo(), settings, FromBook::default());
    rig.live();
    rig.says_not("CHECK SCALE");
    rig.key("F2");
    rig.says("the book has no check of this scale");
}

#[test]
fn what_the_book_said_at_the_opening_counts() {
    let first = checked("500.0");
    let mut record = ScaleRecord::default();
    record.take(first.sent.last().unwrap(), 30).unwrap();
    let book = FromBook { scale_record: record, ..FromBook::default() };
    let mut rig = Rig::opened_with(Catalogue::demo(), settings(), book);
    rig.live();
    rig.says_not("CHECK SCALE");
    rig.key("F2");
    rig.says("checked today, and right");
}
