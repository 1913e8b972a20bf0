//! The cup lifted in the middle of a mix and put back: the same weight goes on, another waits for a word.

use super::rig::{CUP, DWELL, Rig, g, moving};
use crate::mix::{Event, How, Phase};
use crate::tui::bench::{Answer, Bench, Place, Question};

/// Enough readings to see that the cup is off.
pub(super) const OFF: usize = 5;
/// A weight stands so long before it is asked about, and has been looked at when a key comes.
pub(super) const ASKED: usize = DWELL + 7;

/// The first toner is in and booked, and nothing of the second.
pub(super) fn one_in() -> Rig {
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop(), DWELL);
    assert_eq!((rig.kinds().len(), rig.session().holds()), (2, g("75.2")));
    rig
}

/// The same with thirty grams of the second poured, steady and not booked.
pub(super) fn half_poured() -> Rig {
    let mut rig = one_in();
    rig.stand("127.0", DWELL);
    assert_eq!(rig.kinds().len(), 2, "short: nothing is taken");
    rig
}

pub(super) fn lifted(mut rig: Rig) -> Rig {
    rig.stand("0.0", OFF);
    rig.says("the cup is off the scale");
    rig
}

pub(super) fn place(rig: &Rig) -> Place {
    rig.app.bench().unwrap().cup_place()
}

pub(super) fn question(rig: &Rig) -> Option<Question> {
    rig.app.bench().and_then(Bench::question)
}

/// Nothing else in the book than before.
#[track_caller]
pub(super) fn nothing_booked(rig: &Rig, before: usize) {
    assert_eq!(rig.sent.len(), before, "{:?}\n{}", rig.kinds(), rig.screen());
    rig.agrees_with_book();
}

#[test]
fn the_same_weight_goes_on_by_itself() {
    for rig in [one_in(), half_poured()] {
        let written = rig.sent.len();
        let gross = rig.gross(rig.app.bench().unwrap().held());
        let mut rig = lifted(rig);
        rig.says_not("g to go");
        rig.stand("0.0", 3 * DWELL);
        rig.frame(moving("61.0"));
        rig.says("the cup is compared");
        rig.stand(&gross, 2);
        assert_eq!(place(&rig), Place::On);
        rig.says("the cup is back with the same weight: go on");
        rig.says("g to go");
        nothing_booked(&rig, written);
        // And it does go on; a jump that no movement announced wants one reading more.
        rig.stand_net(rig.stop(), DWELL + 1);
        assert_eq!(rig.sent.len(), written + 1);
        rig.agrees_with_book();
    }
}

#[test]
fn a_division_of_jitter_is_the_same_weight_and_no_pour() {
    for gross in ["96.9", "97.1"] {
        let mut rig = lifted(one_in());
        rig.stand(gross, 2);
        assert_eq!(place(&rig), Place::On, "{gross}");
        rig.stand(gross, 3 * DWELL);
        nothing_booked(&rig, 2);
    }
    // One that flickers between two divisions is asked about all the same, and with the weight it shows.
    let mut rig = lifted(one_in());
    for _ in 0..ASKED {
        rig.stand("92.7", 1);
        rig.stand("92.8", 1);
    }
    assert!(question(&rig).is_some(), "{}", rig.screen());
}

#[test]
fn rounding_is_not_taken_for_the_smallest_pour() {
    // Of so little R20 a tenth of a gram is all there is to pour.
    let mut rig = Rig::new();
    rig.type_text("gannet");
    rig.key("Right");
    rig.key("Enter");
    rig.key("Ctrl-U");
    rig.type_text("70 mL");
    rig.key("Enter");
    // It is not the cup on file for so little, so a key takes it.
    rig.stand(CUP, DWELL);
    rig.key("Enter");
    rig.stand_net(rig.stop(), DWELL);
    rig.answer("j", "R20");
    let (holds, written) = (rig.session().holds(), rig.sent.len());
    assert_eq!((rig.toner().as_str(), rig.stop()), ("R20", holds + g("0.1")));
    let mut rig = lifted(rig);
    for off in ["0.1", "-0.1", "0.1"] {
        rig.stand_net(holds + g(off), 2 * DWELL);
        assert_eq!(place(&rig), Place::On);
        nothing_booked(&rig, written);
        rig.stand("0.0", OFF);
    }
    // A tenth that is poured is taken.
    rig.stand_net(holds, 2);
    rig.stand_net(holds + g("0.1"), DWELL);
    assert_eq!(rig.sent.len(), written + 1);
}

#[test]
fn less_waits_for_a_word_and_taken_out_keeps_the_proportions() {
    let mut rig = lifted(one_in());
    rig.stand("92.7", DWELL - 1);
    nothing_booked(&rig, 2);
    assert!(question(&rig).is_none());
    let bells = rig.bells;
    rig.stand("92.7", 3 * DWELL);
    nothing_booked(&rig, 2);
    assert!(rig.bells > bells, "it can be heard");
    rig.says("4.3 g are gone since the cup was lifted: which way?");
    rig.says("g gone");
    rig.says_not("g to go");
    rig.says("▸ 1  out of the cup: on the stick, spilt, taken  (booked as taken out)");
    rig.says("  2  the scale's zero has moved  (no gram is booked)");
    rig.says("or wipe the pan and the cup and put it back: at 75.2 g it goes on by itself");
    rig.says("Enter take the marked one");
    rig.says("1-2 choose");
    rig.key("Enter");
    let Event::DrawnOff(drawn) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!((drawn.before, drawn.after, drawn.how), (g("75.2"), g("70.9"), How::Scale));
    assert_eq!((rig.sent.len(), place(&rig)), (3, Place::On));
    rig.agrees_with_book();
    rig.stand("92.7", 2 * DWELL);
    nothing_booked(&rig, 3);
}

#[test]
fn what_was_poured_before_the_lift_is_booked_before_what_is_gone() {
    let mut rig = lifted(half_poured());
    rig.says("it held 105.2 g, 75.2 g of it booked");
    rig.stand("122.7", ASKED);
    rig.says("4.3 g are gone");
    rig.says("30.0 g were poured before that and are booked first");
    rig.key("1");
    let [.., Event::Poured(poured), Event::DrawnOff(drawn)] = &rig.events()[..] else {
        panic!("{:?}", rig.kinds())
    };
    assert_eq!((poured.toner.as_str(), poured.before, poured.after), ("W10", g("75.2"), g("105.2")));
    assert_eq!((drawn.before, drawn.after), (g("105.2"), g("100.9")));
    // Of what is gone a part was the toner before, which is due again.
    assert_eq!((rig.phase(), rig.toner().as_str()), (Phase::Weighing, "M80"));
    rig.agrees_with_book();
}

#[test]
fn wiped_and_put_back_it_goes_on_without_a_key() {
    let mut rig = lifted(one_in());
    rig.stand("92.7", ASKED);
    rig.says("4.3 g are gone");
    rig.stand("0.0", OFF);
    rig.says("the cup is off the scale");
    rig.says_not("g gone");
    rig.stand("97.0", 2);
    rig.says("the cup is back with the same weight");
    nothing_booked(&rig, 2);
}

#[test]
fn another_weight_again_is_another_question() {
    let mut rig = lifted(one_in());
    rig.stand("92.7", ASKED);
    rig.stand("95.0", 1);
    rig.says_not("g gone");
    rig.key("Enter");
    nothing_booked(&rig, 2);
    rig.stand("95.0", ASKED);
    rig.says("2.0 g are gone");
    rig.key("Enter");
    let Event::DrawnOff(drawn) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!(drawn.after, g("73.2"));
}

#[test]
fn a_key_on_its_way_is_no_answer() {
    let mut rig = lifted(one_in());
    rig.stand("92.7", DWELL);
    assert!(question(&rig).is_some());
    for key in ["Enter", "1", "2"] {
        rig.key(key);
        nothing_booked(&rig, 2);
    }
    rig.stand("92.7", 7);
    rig.key("1");
    assert_eq!(rig.sent.len(), 3);
}

#[test]
fn the_zero_that_moved_books_nothing() {
    let mut rig = lifted(one_in());
    rig.stand("94.0", ASKED);
    rig.key("Down");
    rig.key("Enter");
    assert_eq!(rig.last(), Event::TakenUp { tare: g("18.8") });
    assert_eq!(rig.session().holds(), g("75.2"));
    rig.stand_net(rig.stop(), DWELL);
    let Event::Poured(poured) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!(poured.before, g("75.2"));
    rig.agrees_with_book();
}

/// As much less as the cup itself weighs is no zero that moved where the pan was just seen at nothing: the empty pan would
/// pass for the cup from then on, and nobody could see it lifted.
#[test]
fn a_zero_that_would_hide_the_cup_is_not_offered() {
    let mut rig = lifted(one_in());
    rig.stand("75.6", ASKED);
    assert_eq!(question(&rig).unwrap().answers, [Answer::TakenOut], "{}", rig.screen());
    rig.stand("0.0", OFF);
    rig.stand("77.6", ASKED);
    assert_eq!(question(&rig).unwrap().answers, [Answer::TakenOut, Answer::ZeroMoved], "{}", rig.screen());
    nothing_booked(&rig, 2);
}

#[test]
fn more_is_the_toner_that_is_due() {
    let mut rig = lifted(half_poured());
    rig.stand("140.0", 3 * DWELL);
    nothing_booked(&rig, 2);
    rig.says("13.0 g more than when the cup was lifted: from where?");
    rig.says("▸ 1  poured meanwhile: more of this toner  (booked as W10)");
    rig.says("  2  poured meanwhile: another toner  (asks which)");
    rig.says("  3  the scale's zero has moved  (no gram is booked)");
    rig.key("1");
    let Event::Poured(poured) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!((poured.toner.as_str(), poured.before, poured.after), ("W10", g("75.2"), g("118.2")));
    assert_eq!((rig.sent.len(), place(&rig)), (3, Place::On));
    rig.agrees_with_book();
}

#[test]
fn more_is_another_toner() {
    let mut rig = lifted(half_poured());
    rig.stand("129.0", ASKED);
    rig.says("2.0 g more");
    rig.answer("2", "nonsense");
    rig.says("no toner has the code 'nonsense'");
    rig.stand("129.0", 2);
    rig.key("Ctrl-U");
    rig.type_text("G62");
    rig.key("Enter");
    let [.., Event::Poured(before), Event::Poured(wrong)] = &rig.events()[..] else {
        panic!("{:?}", rig.kinds())
    };
    assert_eq!((before.toner.as_str(), before.after), ("W10", g("105.2")));
    assert_eq!((wrong.toner.as_str(), wrong.before, wrong.after), ("G62", g("105.2"), g("107.2")));
    assert_eq!((rig.phase(), place(&rig)), (Phase::Fouled, Place::On));
    rig.agrees_with_book();
}

#[test]
fn what_lies_on_the_pan_is_taken_off_without_a_key() {
    let mut rig = lifted(one_in());
    rig.stand("112.0", ASKED);
    rig.says("15.0 g more");
    rig.says("or take off what lies or hangs there: at 75.2 g it goes on by itself");
    rig.stand("97.0", 2);
    assert_eq!(place(&rig), Place::On);
    nothing_booked(&rig, 2);
}

#[test]
fn far_less_is_something_else_on_the_pan() {
    let mut rig = lifted(one_in());
    rig.stand("45.0", ASKED);
    rig.says("52.0 g are gone");
    rig.says("▸ 1  something else stands on the pan  (take it off)");
    rig.key("Enter");
    nothing_booked(&rig, 2);
    rig.stand("45.0", 3 * DWELL);
    assert!(question(&rig).is_none(), "it is not asked again");
    rig.says("the cup is off the scale");
    rig.key("Enter");
    nothing_booked(&rig, 2);
    rig.stand("0.0", OFF);
    rig.stand("97.0", 2);
    assert_eq!(place(&rig), Place::On);
    // If most of it really is gone, the second answer says so.
    let mut rig = lifted(one_in());
    rig.stand("45.0", ASKED);
    rig.key("2");
    let Event::DrawnOff(drawn) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!(drawn.after, g("23.2"));
}

#[test]
fn an_empty_pan_that_reads_something_is_said_and_offered() {
    let mut rig = lifted(one_in());
    rig.says_not("the empty pan");
    rig.stand("0.4", 2);
    rig.says("the empty pan is off by +0.4 g");
    // Wiped, it is not said any more.
    rig.stand("0.1", 2);
    rig.says_not("the empty pan");
    rig.stand("0.4", 2);
    rig.stand("97.4", ASKED);
    rig.says("0.4 g more than when the cup was lifted: from where?");
    rig.says("▸ 1  the scale's zero has moved  (as the empty pan showed; no gram is booked)");
    rig.key("Enter");
    assert_eq!(rig.last(), Event::TakenUp { tare: g("22.2") });
    // Pours are differences: what the zero moved by is in none of them.
    rig.stand_net(rig.stop(), DWELL);
    let Event::Poured(poured) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!(poured.before, g("75.2"));
    // From then on the pan is as it should be at what it reads now, lifted once more.
    rig.stand("0.4", OFF);
    rig.says("the cup is off the scale");
    rig.says_not("the empty pan");
    rig.agrees_with_book();
}

#[test]
fn a_drop_on_the_pan_is_not_hidden_by_the_pan() {
    // Four tenths dripped from the cup: with the drop still there all is as it was, wiped off it is gone.
    let mut rig = lifted(one_in());
    rig.stand("0.4", 2);
    rig.stand("97.0", 2);
    assert_eq!(place(&rig), Place::On);
    rig.stand("0.0", OFF);
    rig.stand("96.6", ASKED);
    rig.says("0.4 g are gone");
    rig.key("1");
    let Event::DrawnOff(drawn) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!(drawn.before - drawn.after, g("0.4"));
}

#[test]
fn hands_free_takes_nothing_without_the_cup_and_goes_on_with_it() {
    // Lifted while the right pour was about to be taken by itself.
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop(), DWELL - 2);
    let mut rig = lifted(rig);
    rig.stand("0.0", 3 * DWELL);
    nothing_booked(&rig, 1);
    rig.stand("97.0", DWELL - 1);
    nothing_booked(&rig, 1);
    rig.stand("97.0", 1);
    assert!(matches!(rig.last(), Event::Poured(_)), "{}", rig.screen());
    rig.agrees_with_book();
    // And one that would be right by what it is now is not taken where it was another weight before.
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop() - g("5.0"), DWELL);
    let mut rig = lifted(rig);
    rig.stand("97.0", 4 * DWELL);
    nothing_booked(&rig, 1);
    rig.says("5.0 g more");
}
