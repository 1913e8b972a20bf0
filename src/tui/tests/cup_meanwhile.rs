//! The cup lifted while something else is going on: an overpour, a draw-off, a lost link, a key of the scale's own.

use super::cup::{ASKED, OFF, half_poured, lifted, nothing_booked, one_in, place, question};
use super::rig::{CUP, DWELL, Rig, g, moving, stable, virtual_settings};
use crate::mix::{Event, How, Phase, Way};
use crate::scale::{Condition, Frame, Hand, LinkState, Mode};
use crate::tui::app::FromBook;
use crate::tui::bench::Place;

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

pub(super) fn choose(rig: &mut Rig, way: Way) {
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
    // The hand leans on the cup or begins to lift it, said more than once by the scale as at rest.
    for hand in [&["101.0"][..], &["60.0"], &["60.0", "101.0"]] {
        let mut rig = one_in();
        for gross in hand {
            rig.stand(gross, 4);
        }
        let mut rig = lifted(rig);
        rig.stand("97.0", 2);
        assert_eq!(place(&rig), Place::On, "{}", rig.screen());
        nothing_booked(&rig, 2);
    }
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
fn the_virtual_cup_has_its_key_all_the_while() {
    let settings = virtual_settings();
    let mut rig = Rig::opened(settings, FromBook { next_number: 1, ..FromBook::default() });
    rig.live();
    rig.pick();
    rig.stand(CUP, DWELL);
    rig.says("c lift cup");
    rig.key("c");
    rig.stand("0.0", OFF);
    rig.says("c move cup");
    rig.says_not("Enter take it");
    rig.stand("18.0", ASKED);
    rig.says("18.0 g of something else lie on the pan");
    rig.stand("32.0", ASKED);
    rig.says("Enter take the marked one   1-3 choose");
    rig.says("c lift cup");
    rig.stand("0.0", OFF);
    rig.key("c");
    assert_eq!(rig.hands[rig.hands.len() - 2..], [Hand::LiftCup, Hand::PutCup]);
}
