//! The cup lifted in the middle of a mix and put back: the same weight goes on, another waits for a word, and no
//! gram is booked that nobody answered for.

use super::rig::{CUP, DWELL, Rig, g, moving, settings, stable};
use crate::mix::{Event, How, Phase, Way};
use crate::scale::{Condition, Frame, LinkState, Mode};
use crate::tui::app::{FromBook, Settings};
use crate::tui::bench::{Answer, Bench, Place, Question};
use crate::units::{Decimal, Division, Grams};
use proptest::prelude::*;

/// Enough readings to see that the cup is off.
const OFF: usize = 5;
/// A weight stands so long before it is asked about, and has been looked at when a key comes.
const ASKED: usize = DWELL + 7;

/// The first toner is in and booked, and nothing of the second.
fn one_in() -> Rig {
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop(), DWELL);
    assert_eq!((rig.kinds().len(), rig.session().holds()), (2, g("75.2")));
    rig
}

/// The same with thirty grams of the second poured, steady and not booked.
fn half_poured() -> Rig {
    let mut rig = one_in();
    rig.stand("127.0", DWELL);
    assert_eq!(rig.kinds().len(), 2, "short: nothing is taken");
    rig
}

fn lifted(mut rig: Rig) -> Rig {
    rig.stand("0.0", OFF);
    rig.says("the cup is off the scale");
    rig
}

fn place(rig: &Rig) -> Place {
    rig.app.bench().unwrap().cup_place()
}

fn question(rig: &Rig) -> Option<Question> {
    rig.app.bench().and_then(Bench::question)
}

/// Nothing else in the book than before.
#[track_caller]
fn nothing_booked(rig: &Rig, before: usize) {
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
        // And it does go on.
        rig.stand_net(rig.stop(), DWELL);
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
    // The last toner of this mix is right from six tenths of a gram on; a tenth too much on the way is none of it.
    let mut rig = Rig::begun();
    for _ in 0..5 {
        rig.stand_net(rig.stop(), DWELL);
    }
    let (holds, written) = (rig.session().holds(), rig.sent.len());
    let mut rig = lifted(rig);
    for off in ["0.1", "-0.1", "0.1"] {
        rig.stand_net(holds + g(off), 2 * DWELL);
        nothing_booked(&rig, written);
        rig.stand("0.0", OFF);
    }
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

#[test]
fn lifted_while_the_pour_is_over() {
    // Over, steady, and lifted before it was taken; some is spooned out off the scale.
    let mut rig = one_in();
    let over = rig.stop() + g("10.0");
    rig.stand_net(over, DWELL - 2);
    let mut rig = lifted(rig);
    rig.stand_net(over - g("8.0"), ASKED);
    rig.says("8.0 g are gone");
    rig.key("1");
    let [.., Event::Poured(poured), Event::DrawnOff(drawn)] = &rig.events()[..] else {
        panic!("{:?}", rig.kinds())
    };
    assert_eq!((poured.after, drawn.after), (over, over - g("8.0")), "it was mixed, and then taken out");
    rig.agrees_with_book();
}

/// The second toner is over by ten grams and a way out must be chosen.
fn over() -> Rig {
    let mut rig = one_in();
    rig.stand_net(rig.stop() + g("10.0"), DWELL);
    assert!(matches!(rig.phase(), Phase::Over(_)), "{}", rig.screen());
    rig
}

fn choose(rig: &mut Rig, way: Way) {
    let at = rig.app.bench().unwrap().ways().iter().position(|choice| choice.way == way).unwrap();
    rig.key(&(at + 1).to_string());
}

#[test]
fn lifted_while_a_way_out_is_looked_for() {
    let mut rig = over();
    let holds = rig.session().holds();
    rig.stand("0.0", OFF);
    rig.says("the cup is off the scale");
    rig.says("what to do");
    rig.stand_net(holds - g("8.0"), ASKED);
    rig.says("8.0 g are gone since the cup was lifted: which way?");
    let written = rig.sent.len();
    rig.key("1");
    assert!(matches!(rig.last(), Event::DrawnOff(_)));
    assert_eq!(rig.sent.len(), written + 1);
    rig.agrees_with_book();
    // More cannot be answered for before a way is chosen, and is asked about then.
    let mut rig = over();
    rig.stand("0.0", OFF);
    rig.stand_net(holds + g("5.0"), ASKED);
    rig.says("the cup is 5.0 g heavier: choose here first, then it is asked why");
    choose(&mut rig, Way::Smallest);
    rig.stand_net(holds + g("5.0"), 7);
    rig.says("5.0 g more than when the cup was lifted");
    rig.key("1");
    assert!(matches!(rig.last(), Event::Poured(_)));
    rig.agrees_with_book();
}

#[test]
fn lifted_to_draw_off() {
    let mut rig = over();
    choose(&mut rig, Way::DrawOff);
    let mark = rig.session().draw_to().unwrap();
    let written = rig.sent.len();
    let mut rig = lifted(rig);
    rig.stand("0.0", 3 * DWELL);
    nothing_booked(&rig, written);
    // Not enough yet: that it is less was asked for, and the rest is still to come.
    rig.stand_net(mark + g("3.0"), 3 * DWELL);
    rig.says("g to take out");
    nothing_booked(&rig, written);
    rig.stand("0.0", OFF);
    rig.stand_net(mark, DWELL + 1);
    assert!(matches!(rig.last(), Event::DrawnOff(_)), "{}", rig.screen());
    assert_eq!(rig.sent.len(), written + 1);
    rig.agrees_with_book();
    // More than before is no drawing off.
    let mut rig = over();
    choose(&mut rig, Way::DrawOff);
    let holds = rig.session().holds();
    let mut rig = lifted(rig);
    rig.stand_net(holds + g("5.0"), 3 * DWELL);
    rig.says("▸ 1  the scale's zero has moved");
    nothing_booked(&rig, written);
}

#[test]
fn lifted_when_everything_is_in() {
    let complete = || {
        let mut rig = Rig::begun();
        while rig.phase() == Phase::Weighing {
            rig.stand_net(rig.stop(), DWELL);
        }
        rig.stand("0.0", OFF);
        rig
    };
    // Off the scale it can be ended.
    let mut rig = complete();
    rig.key("Enter");
    assert_eq!(rig.last(), Event::Finished);
    // Back with less, or another cup in its place: what leaves a mix that is complete is being used.
    for gross in [CUP, "300.0", "510.0"] {
        let mut rig = complete();
        let written = rig.sent.len();
        rig.stand(gross, 3 * DWELL);
        assert!(question(&rig).is_none());
        nothing_booked(&rig, written);
        rig.key("Enter");
        assert_eq!(rig.last(), Event::Finished);
        rig.agrees_with_book();
    }
}

#[test]
fn the_scale_s_own_tare_key_while_the_cup_is_off() {
    // A scale that says so: its net is no weight here until the tare is cleared, and then it is compared.
    let net = |shown: &str| Frame { mode: Mode::Net, ..stable(shown) };
    for (back, same) in [("127.0", true), ("120.0", false)] {
        let mut rig = lifted(half_poured());
        for _ in 0..OFF {
            rig.frame(net("0.0"));
        }
        for _ in 0..2 * DWELL {
            rig.frame(net(back));
        }
        rig.says("The scale shows net and the cup was weighed");
        nothing_booked(&rig, 2);
        rig.stand(back, ASKED);
        assert_eq!(place(&rig) == Place::On, same, "{}", rig.screen());
        assert_eq!(question(&rig).is_some(), !same);
        nothing_booked(&rig, 2);
    }
}

#[test]
fn a_scale_zeroed_under_the_cup_seems_empty_and_a_word_said_twice_puts_it_right() {
    // Switched off and on, it begins at nothing with the cup on it.
    let mut rig = lifted(half_poured());
    rig.key("z");
    nothing_booked(&rig, 2);
    rig.says("z once more if the cup really stands on the scale: its zero moved");
    rig.tick(8_000);
    rig.stand("0.0", 2);
    rig.key("z");
    nothing_booked(&rig, 2);
    rig.key("m");
    rig.key("Esc");
    rig.key("z");
    rig.key("h");
    rig.key("z");
    nothing_booked(&rig, 2);
    rig.key("z");
    let [.., Event::Poured(poured), Event::SetAside, Event::TakenUp { tare }] = &rig.events()[..] else {
        panic!("{:?}", rig.kinds())
    };
    assert_eq!((poured.after, *tare), (g("105.2"), g("-105.2")));
    rig.agrees_with_book();
    rig.key("h");
    // Lifted now, the empty pan reads less than nothing.
    rig.stand("-127.0", OFF);
    rig.says("the cup is off the scale");
    rig.says_not("the empty pan");
    rig.stand("0.0", 2);
    assert_eq!(place(&rig), Place::On);
    rig.stand_net(rig.stop(), DWELL);
    assert!(matches!(rig.last(), Event::Poured(_)), "{}", rig.screen());
    rig.agrees_with_book();
}

#[test]
fn a_scale_that_shows_less_than_it_can_has_no_cup_on_it() {
    let mut rig = one_in();
    let under = Frame { value: None, condition: Condition::Under, ..stable("0") };
    for _ in 0..OFF {
        rig.frame(under.clone());
    }
    rig.says("the cup is off the scale");
    rig.stand("92.7", ASKED);
    rig.says("4.3 g are gone");
}

#[test]
fn a_bump_and_a_lost_digit_are_no_lift() {
    let mut rig = half_poured();
    rig.frame(moving("-9.0"));
    rig.frame(moving("12.0"));
    rig.frame(moving("140.0"));
    rig.stand("7.0", 1);
    assert_eq!(place(&rig), Place::On);
    rig.stand_net(rig.stop(), DWELL);
    assert!(matches!(rig.last(), Event::Poured(_)), "{}", rig.screen());
}

#[test]
fn a_hand_on_its_way_to_the_cup_is_not_what_it_is_compared_with() {
    // The hand leans on the cup and then lifts it: each said twice by the scale, as at rest.
    let mut rig = one_in();
    rig.stand("101.0", 3);
    rig.stand("60.0", 3);
    let mut rig = lifted(rig);
    rig.stand("97.0", 2);
    assert_eq!(place(&rig), Place::On, "{}", rig.screen());
    nothing_booked(&rig, 2);
}

#[test]
fn a_link_that_comes_back_is_compared_before_anything_is_taken() {
    let lost = |mut rig: Rig| {
        rig.state(LinkState::Lost, "the cable is out; trying again");
        rig.says("SCALE LOST");
        rig.says_not("the cup is off");
        rig.live();
        rig
    };
    let mut rig = lost(one_in());
    rig.stand("97.0", 2);
    assert_eq!(place(&rig), Place::On);
    rig.stand_net(rig.stop(), DWELL);
    assert_eq!(rig.sent.len(), 3, "the same weight goes on");

    // Right by what it is now, but nobody saw it being poured.
    let mut rig = one_in();
    let stop = rig.stop();
    rig = lost(rig);
    rig.stand_net(stop, 3 * DWELL);
    nothing_booked(&rig, 2);
    rig.says("g more than when the scale was last heard: from where?");
    rig.key("Enter");
    assert!(matches!(rig.last(), Event::Poured(_)));
    rig.agrees_with_book();

    let mut rig = lost(half_poured());
    rig.stand("120.0", 3 * DWELL);
    rig.says("7.0 g are gone since the scale was last heard: which way?");
    nothing_booked(&rig, 2);

    // Lifted, and the link lost meanwhile.
    let mut rig = lost(lifted(half_poured()));
    rig.stand("0.0", OFF);
    rig.says("the cup is off the scale");
    rig.stand("120.0", 3 * DWELL);
    rig.says("7.0 g are gone since the cup was lifted: which way?");
    nothing_booked(&rig, 2);
}

#[test]
fn nothing_that_needs_the_weight_is_done_without_the_cup() {
    let mut rig = lifted(half_poured());
    for key in ["Enter", "d", "w", "j", "o"] {
        rig.key(key);
        nothing_booked(&rig, 2);
    }
    rig.key("Enter");
    rig.says("the cup is off the scale: put it back first");
    // What came from the old tin could not be booked to it; what was typed is still there.
    rig.answer("n", "24-002");
    rig.says("which tin now?  24-002");
    rig.says("what was poured is not booked yet: put the cup back on the scale first");
    nothing_booked(&rig, 2);
    rig.stand("127.0", 2);
    rig.key("Enter");
    assert!(matches!(rig.last(), Event::TinTaken { .. }), "{}", rig.screen());
    assert_eq!(rig.kinds()[2], "mix/poured");
    rig.agrees_with_book();
    // With nothing poured since the book a tin can be taken while the cup is being stirred.
    let mut rig = lifted(one_in());
    rig.answer("n", "24-002");
    assert_eq!(rig.sent.len(), 3);
    assert!(matches!(rig.last(), Event::TinTaken { .. }));
}

#[test]
fn a_weight_typed_while_the_cup_is_off_is_in_the_book_when_it_is_back() {
    let mut rig = lifted(one_in());
    rig.answer("m", "12,5");
    let Event::Poured(poured) = rig.last() else { panic!("{}", rig.screen()) };
    assert_eq!((poured.after, poured.how), (g("87.7"), How::Typed));
    rig.stand("109.5", 2);
    assert_eq!(place(&rig), Place::On);
    nothing_booked(&rig, 3);
}

#[test]
fn a_prompt_that_is_open_keeps_its_text_while_the_cup_comes_back() {
    let mut rig = one_in();
    rig.key("m");
    rig.type_text("12,");
    rig.stand("0.0", OFF);
    rig.stand("92.7", 3 * DWELL);
    rig.says("how many grams?  12,");
    rig.key("Esc");
    rig.says("4.3 g are gone");
    nothing_booked(&rig, 2);
}

#[test]
fn put_aside_as_ever_and_found_again() {
    for back in [None, Some("92.7")] {
        let mut rig = lifted(one_in());
        if let Some(back) = back {
            rig.stand(back, ASKED);
        }
        rig.key("Esc");
        assert_eq!(rig.last(), Event::SetAside, "{back:?}");
        rig.agrees_with_book();
        rig.key("Ctrl-O");
        rig.key("Enter");
        rig.stand("92.7", 2 * DWELL);
        rig.says("4.3 g less than the book says");
    }
    // Given up from there too.
    let mut rig = lifted(one_in());
    rig.stand("92.7", ASKED);
    rig.answer("x", "fell down");
    assert!(matches!(rig.last(), Event::Abandoned { .. }));
    rig.agrees_with_book();
}

#[test]
fn killed_while_the_cup_is_off_it_is_compared_with_the_book() {
    let mut rig = lifted(one_in()).reopened(None);
    rig.key("Enter");
    rig.stand("92.7", 3 * DWELL);
    rig.says("4.3 g less than the book says");
    nothing_booked(&rig, 2);
}

#[test]
fn the_virtual_cup_says_which_way_it_goes() {
    let settings = Settings { virtual_bench: true, ..settings() };
    let mut rig = Rig::opened(settings, FromBook { next_number: 1, ..FromBook::default() });
    rig.live();
    rig.pick();
    rig.stand(CUP, DWELL);
    rig.says("c lift cup");
    rig.key("c");
    rig.stand("0.0", OFF);
    rig.says("c put it back");
    rig.says_not("Enter take it");
    rig.key("c");
    use crate::scale::Hand;
    assert_eq!(rig.hands[rig.hands.len() - 2..], [Hand::LiftCup, Hand::PutCup]);
}

/// What a hand does with the cup, in tenths of a gram.
#[derive(Clone, Debug)]
enum Does {
    /// Pours with the cup on the scale, and lets it stand.
    Pours(i64),
    /// Lifts the cup and changes what is in it by so much before it is back; the pan keeps so much.
    Lifts(i64, i64),
    /// The cable is out while what is in the cup changes by so much.
    Unplugs(i64),
    /// Answers, if it is asked: with that answer if there is one.
    Answers(usize),
    /// Presses a key that is no answer.
    Key(&'static str),
}

fn does() -> impl Strategy<Value = Does> {
    let changes = || prop_oneof![2 => Just(0_i64), 2 => -1_i64..=1, 3 => -60_i64..60];
    prop_oneof![
        3 => (1_i64..400).prop_map(Does::Pours),
        3 => (changes(), prop_oneof![3 => Just(0_i64), 1 => -5_i64..8]).prop_map(|(by, pan)| Does::Lifts(by, pan)),
        1 => changes().prop_map(Does::Unplugs),
        3 => (0_usize..4).prop_map(Does::Answers),
        2 => prop_oneof![Just("d"), Just("n"), Just("z"), Just("Up"), Just("h"), Just("o"), Just("7")]
            .prop_map(Does::Key),
    ]
}

/// The bench as it is: what is in the cup, and what the empty pan reads.
#[derive(Debug)]
struct Truth {
    in_cup: Grams,
    pan: Grams,
}

impl Truth {
    fn gross(&self) -> String {
        (g(CUP) + self.in_cup + self.pan).shown(Division::TENTH)
    }

    /// What leaves the cup leaves no more than is in it.
    fn change(&mut self, tenths: i64) {
        self.in_cup = (self.in_cup + Grams::new(Decimal::new(tenths, 1))).max(Grams::ZERO);
    }
}

/// The events that may have come of one deed.
#[track_caller]
fn only(rig: &Rig, from: usize, allowed: &[&str]) {
    for kind in &rig.kinds()[from..] {
        assert!(allowed.contains(kind), "{kind} was not said\n{}", rig.screen());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    /// Without an answer nothing is booked but a pour that was seen on the scale; with one the book and the scale
    /// agree, and the book has changed by just what was answered for.
    #[test]
    fn no_gram_is_booked_that_nobody_answered_for(all in prop::collection::vec(does(), 1..40)) {
        let mut rig = Rig::begun();
        let mut truth = Truth { in_cup: Grams::ZERO, pan: Grams::ZERO };
        for does in &all {
            let written = rig.sent.len();
            let held = rig.app.bench().unwrap().held();
            if rig.phase() == Phase::Complete {
                break;
            }
            match does {
                Does::Pours(tenths) if place(&rig) == Place::On => {
                    truth.change(*tenths);
                    rig.stand(&truth.gross(), 2 * DWELL);
                    only(&rig, written, &["mix/poured"]);
                    // What is booked is what the scale showed, within the rounding of a lift before.
                    let off = rig.gross(rig.app.bench().unwrap().held()) != truth.gross();
                    prop_assert!(!off || !matches!(rig.phase(), Phase::Weighing), "{}", rig.screen());
                }
                Does::Pours(_) => {}
                Does::Lifts(by, pan) => {
                    let pan = Grams::new(Decimal::new(*pan, 1));
                    rig.stand(&pan.shown(Division::TENTH), 2 * OFF);
                    truth.pan = pan;
                    truth.change(*by);
                    rig.stand(&truth.gross(), ASKED);
                    let off = (g(CUP) + truth.in_cup + truth.pan) - (rig.session().tare() + held);
                    let same = off.abs() <= g("0.1");
                    let drawn = off.is_negative() && rig.phase() == Phase::Drawing;
                    if !same && !drawn {
                        nothing_booked(&rig, written);
                        prop_assert!(place(&rig) != Place::On, "{}", rig.screen());
                    }
                    // The same goes on, and a pour that was about to be taken is taken then.
                    only(&rig, written, &["mix/poured", "mix/drawn-off"]);
                    prop_assert!(rig.session().holds() <= held + g("0.1"), "{}", rig.screen());
                }
                Does::Unplugs(by) => {
                    rig.state(LinkState::Lost, "the cable is out");
                    truth.change(*by);
                    rig.live();
                    rig.stand(&truth.gross(), ASKED);
                    only(&rig, written, &["mix/poured", "mix/drawn-off"]);
                    prop_assert!(rig.session().holds() <= held + g("0.1"), "{}", rig.screen());
                }
                Does::Answers(which) => {
                    let Some(asked) = question(&rig) else { continue };
                    let Some(answer) = asked.answers.get(*which).copied() else { continue };
                    let shows = g(&truth.gross());
                    rig.key(&(which + 1).to_string());
                    if answer == Answer::OtherToner {
                        rig.type_text("K05");
                        rig.key("Enter");
                        // Refused since the pour before it went over: that comes first.
                        if rig.app.prompt.is_some() {
                            break;
                        }
                    }
                    if answer == Answer::NotTheCup {
                        nothing_booked(&rig, written);
                        continue;
                    }
                    let session = rig.session();
                    prop_assert_eq!(session.tare() + session.holds(), shows, "{:?}\n{}", answer, rig.screen());
                    match answer {
                        Answer::ZeroMoved => prop_assert_eq!(session.holds(), held),
                        _ => prop_assert_eq!(session.holds(), held + asked.off),
                    }
                }
                Does::Key(key) => {
                    rig.key(key);
                    if rig.app.prompt.is_some() {
                        rig.key("Esc");
                    }
                    prop_assert!(rig.session().holds() <= held);
                }
            }
            rig.agrees_with_book();
            if matches!(rig.phase(), Phase::Over(_)) && question(&rig).is_none() {
                choose(&mut rig, Way::Leave);
            }
        }
    }
}
