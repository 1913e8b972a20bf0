//! Readings that are no weight, and a link that goes and comes back: nothing is taken on what cannot be trusted.

use super::rig::{CUP, DWELL, Rig, g, moving, stable};
use crate::scale::shape::Answer;
use crate::scale::{Condition, Frame, LinkEvent, LinkState, Mode};
use crate::tui::message::Message;
use crate::units::{MassUnit, Moment, parse_decimal};

/// What is done to a frame that would be right.
type Spoil = Box<dyn Fn(Frame) -> Frame>;

/// Half the time that a right pour must stand.
fn half_way() -> Rig {
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop(), DWELL / 2);
    assert_eq!(rig.kinds(), ["mix/started"]);
    rig
}

#[test]
fn a_lost_link_takes_the_number_away_at_once() {
    for state in [LinkState::Lost, LinkState::Stale, LinkState::Absent, LinkState::Listening] {
        let mut rig = half_way();
        rig.says("scale  steady");
        rig.says("g ✓ right");
        rig.state(state, "the cable is out; trying again");
        rig.says("the cable is out; trying again");
        rig.says_not("g ✓ right");
        rig.says_not("scale  steady");
        rig.key("Enter");
        rig.tick(5_000);
        assert_eq!(rig.kinds(), ["mix/started"], "{state:?}");
        rig.live();
        rig.says_not("scale  steady");
        // All over again: two readings to confirm it, and the whole time to stand.
        let gross = rig.gross(rig.stop());
        rig.stand(&gross, 1);
        rig.key("Enter");
        rig.stand(&gross, DWELL - 2);
        assert_eq!(rig.kinds(), ["mix/started"], "{state:?}");
        rig.stand(&gross, 1);
        assert_eq!(rig.kinds(), ["mix/started", "mix/poured"], "{state:?}");
    }
}

#[test]
fn a_scale_that_falls_silent_says_nothing_any_more() {
    let mut rig = half_way();
    rig.tick(999);
    rig.says("scale  steady");
    rig.tick(1);
    rig.says_not("scale  steady");
    rig.says_not("g ✓ right");
    rig.key("Enter");
    assert_eq!(rig.kinds(), ["mix/started"]);
    rig.says("The scale has gone quiet");
    let gross = rig.gross(rig.stop());
    rig.stand(&gross, DWELL - 1);
    assert_eq!(rig.kinds(), ["mix/started"], "what stood before the silence does not count");
    rig.stand(&gross, 1);
    assert_eq!(rig.kinds(), ["mix/started", "mix/poured"]);
}

#[test]
fn a_key_takes_nothing_that_has_grown_old() {
    // The key comes before the tick that would have told.
    let mut rig = half_way();
    rig.now += 1_500;
    rig.key("Enter");
    assert_eq!(rig.kinds(), ["mix/started"]);
    rig.says("The scale has gone quiet");
}

#[test]
fn readings_that_come_late_have_not_stood_longer() {
    // The program was stopped for a while; what was said meanwhile comes in one go.
    let mut rig = Rig::begun();
    let gross = rig.gross(rig.stop());
    let first = rig.now;
    for place in 1..=5 {
        let at = Moment(first + place * 100);
        rig.now = first + 60_000;
        let reading = crate::scale::Reading::new(stable(&gross), at);
        rig.send(Message::Scale(LinkEvent::Reading(reading)));
    }
    assert_eq!(rig.kinds(), ["mix/started"], "half a second is not long enough");
    rig.key("Enter");
    assert_eq!(rig.kinds(), ["mix/started"], "and a minute old is too old");
}

#[test]
fn no_doubtful_frame_is_ever_taken() {
    let right = |rig: &Rig| stable(&rig.gross(rig.stop()));
    let spoilt: [(Spoil, &str); 9] = [
        (Box::new(|frame| Frame { value: None, condition: Condition::Over, ..frame }), "Too heavy"),
        (Box::new(|frame| Frame { value: None, condition: Condition::Under, ..frame }), "Too light"),
        (Box::new(|frame| Frame { condition: Condition::Over, ..frame }), "Too heavy"),
        (Box::new(|frame| Frame { condition: Condition::ZeroError, ..frame }), "cannot find its zero"),
        (Box::new(|frame| Frame { condition: Condition::NotReady, ..frame }), "busy with itself"),
        (Box::new(|frame| Frame { condition: Condition::Device("E 07".to_owned()), ..frame }), "E 07"),
        (Box::new(|frame| Frame { mode: Mode::Tare, ..frame }), "shows its tare"),
        (Box::new(|frame| Frame { unit: None, unit_text: "".into(), ..frame }), "without a unit"),
        (Box::new(|frame| Frame { unit: None, unit_text: "ct".into(), ..frame }), "'ct'"),
    ];
    for (spoil, says) in spoilt {
        let mut rig = half_way();
        let frame = spoil(right(&rig));
        for _ in 0..2 * DWELL {
            rig.frame(frame.clone());
        }
        rig.says(says);
        rig.says_not("scale  steady");
        rig.key("Enter");
        assert_eq!(rig.kinds(), ["mix/started"], "{says}");
        rig.says("there is no steady weight to take");
        // One such frame in between, and the time begins anew.
        let mut rig = half_way();
        let gross = rig.gross(rig.stop());
        let frame = spoil(right(&rig));
        rig.frame(frame);
        rig.stand(&gross, DWELL - 1);
        assert_eq!(rig.kinds(), ["mix/started"], "{says}");
        rig.stand(&gross, 2);
        assert_eq!(rig.kinds(), ["mix/started", "mix/poured"], "{says}");
    }
}

#[test]
fn more_than_the_scale_is_for_is_no_weight() {
    let mut rig = half_way();
    rig.stand("6200.1", DWELL);
    rig.says("That is beyond the 6200 g this scale is set up");
    assert_eq!(rig.kinds(), ["mix/started"]);
}

#[test]
fn another_unit_is_said_and_then_weighed_in() {
    let mut rig = half_way();
    let kilograms = |gross: &str| {
        let value = parse_decimal(gross).unwrap() / crate::units::Decimal::from(1000);
        Frame { value: Some(value), unit: Some(MassUnit::Kilogram), unit_text: "kg".into(), ..stable(gross) }
    };
    let gross = rig.gross(rig.stop());
    rig.frame(kilograms(&gross));
    rig.says("The scale changed its unit to kg");
    rig.key("Enter");
    assert_eq!(rig.kinds(), ["mix/started"]);
    for _ in 0..DWELL {
        rig.frame(kilograms(&gross));
    }
    assert_eq!(rig.kinds(), ["mix/started", "mix/poured"], "0.097 kg is 97.0 g");
    rig.agrees_with_book();
}

#[test]
fn a_weight_of_another_mode_than_the_tare_is_not_taken() {
    // The scale's own tare key was pressed: what it shows is no longer what is on the pan.
    let net = |shown: &str| Frame { mode: Mode::Net, ..stable(shown) };
    let mut rig = half_way();
    let shown = rig.gross(rig.stop());
    rig.frame(net(&shown));
    rig.says("The scale now shows net");
    for _ in 0..2 * DWELL {
        rig.frame(net(&shown));
    }
    assert_eq!(rig.kinds(), ["mix/started"], "{}", rig.screen());
    rig.says("The scale shows net and the cup was weighed");
    rig.says("clear its tare.");
    rig.says("scale  no weight");
    rig.key("Enter");
    assert_eq!(rig.kinds(), ["mix/started"]);
    rig.says("there is no steady weight to take");
    // Cleared, it goes on.
    rig.stand(&shown, DWELL + 1);
    assert_eq!(rig.kinds(), ["mix/started", "mix/poured"]);
    rig.agrees_with_book();
}

#[test]
fn a_scale_that_shows_net_from_the_first_is_well_enough() {
    let net = |shown: &str| Frame { mode: Mode::Net, ..stable(shown) };
    let mut rig = Rig::new();
    rig.pick();
    for _ in 0..=DWELL {
        rig.frame(net(CUP));
    }
    assert_eq!(rig.kinds(), ["mix/started"]);
    let gross = rig.gross(rig.stop());
    for _ in 0..DWELL {
        rig.frame(net(&gross));
    }
    assert_eq!(rig.kinds(), ["mix/started", "mix/poured"]);
}

#[test]
fn a_number_that_jumps_about_never_settles() {
    let mut rig = Rig::begun();
    let stop = rig.stop();
    for _ in 0..30 {
        rig.stand_net(stop, 1);
        rig.stand_net(stop + g("40.0"), 1);
    }
    let gross = rig.gross(stop);
    for _ in 0..DWELL {
        rig.frame(moving(&gross));
    }
    assert_eq!(rig.kinds(), ["mix/started"]);
}

#[test]
fn a_scale_that_is_gone_for_good_is_said_for_good() {
    let mut rig = half_way();
    let why = "the tape has come to its end".to_owned();
    rig.send(Message::Scale(LinkEvent::Ended { why, fault: false }));
    rig.says("the scale is gone for good: the tape has come to its end");
    rig.tick(10_000);
    rig.says("SCALE LOST  the tape has come to its end");
    rig.stand_net(rig.stop(), DWELL);
    rig.key("Enter");
    assert_eq!(rig.kinds(), ["mix/started"]);
    assert!(!rig.quit);
    // What is in the cup can still be typed.
    rig.answer("m", "75,2");
    assert_eq!(rig.kinds(), ["mix/started", "mix/poured"]);
    // A fault of the program's own ends it.
    rig.send(Message::Scale(LinkEvent::Ended { why: "the worker failed".to_owned(), fault: true }));
    assert!(rig.quit);
}

#[test]
fn a_refusal_of_the_scale_is_said() {
    let mut rig = half_way();
    let answer = Answer::Refused("zero: the load moves".to_owned());
    rig.send(Message::Scale(LinkEvent::Answer { to: None, answer }));
    rig.says("refused: zero: the load moves");
}

/// A scale that was tared, or zeroed, with the empty cup on it.
#[test]
fn a_cup_that_stands_at_zero_may_lose_drips_and_that_is_said_until_something_is_in_it() {
    const LOST: &str = "drips may be lost at zero: give up (x), zero without the cup, never tare";
    let mut rig = Rig::new();
    rig.pick();
    rig.stand("0.0", DWELL);
    rig.says_not(LOST);
    rig.key("Enter");
    assert_eq!(rig.kinds(), ["mix/started"]);
    rig.says(LOST);
    // Whatever happened just now is said first, and it stands in nobody's way.
    rig.key("h");
    rig.says("hands-free is off");
    rig.key("h");
    rig.tick(8_000);
    rig.stand("0.0", 2);
    rig.says(LOST);
    rig.frame(moving("0.3"));
    rig.says_not(LOST);
    rig.stand("0.3", 2);
    rig.says_not(LOST);
    // One reading more, as the number jumps without a movement.
    rig.stand_net(rig.stop(), DWELL + 1);
    assert_eq!(rig.kinds(), ["mix/started", "mix/poured"]);
    // Nothing is said of a scale that only once more shows its zero, the cup being off.
    rig.stand_net(g("-21.8"), 2 * DWELL);
    rig.says_not(LOST);
}

#[test]
fn a_cup_that_weighs_something_loses_no_drips() {
    let mut rig = Rig::begun();
    rig.stand(CUP, 2);
    rig.says_not("drips may be lost");
    // Half a division, as a scale with a finer number shows it, may be tracked; more is not.
    for (cup, told) in [("0.05", true), ("0.10", false)] {
        let mut rig = Rig::new();
        rig.pick();
        rig.stand(cup, DWELL);
        rig.key("Enter");
        assert_eq!(rig.kinds(), ["mix/started"], "{}", rig.screen());
        assert_eq!(rig.screen().contains("drips may be lost"), told, "{cup}");
    }
}

/// A division every 0.8 s, the scale at rest all the while.
#[test]
fn what_creeps_says_why_it_is_not_taken() {
    let mut rig = Rig::begun();
    let stop = rig.stop();
    for step in 0..4 {
        rig.stand_net(stop - g("0.3") + g("0.1").times(step.into()), 8);
    }
    assert_eq!(rig.kinds(), ["mix/started"]);
    rig.says("scale  creeping");
    rig.says("it creeps: let it drip out, or Enter takes it");
    rig.says_not("steady, taking it");
    // It is said only for as long as it creeps: half as long again as the last step took.
    rig.stand_net(stop, 4);
    rig.says("it creeps");
    rig.stand_net(stop, 2);
    rig.says_not("it creeps");
    assert_eq!(rig.kinds(), ["mix/started", "mix/poured"]);
}

#[test]
fn what_creeps_can_be_taken_with_the_key_that_is_named() {
    let mut rig = Rig::begun();
    let stop = rig.stop();
    for step in 0..4 {
        rig.stand_net(stop - g("0.3") + g("0.1").times(step.into()), 8);
    }
    rig.key("Enter");
    assert_eq!(rig.kinds(), ["mix/started", "mix/poured"]);
    // Far from the stop there is nothing to take.
    for step in 0..4 {
        rig.stand_net(stop + g("20.0") + g("0.1").times(step.into()), 8);
    }
    rig.says("it creeps: is the tin still dripping?");
    rig.says_not("takes it");
}

/// A whole sentence of the scale's is read to its end.
#[test]
fn a_refusal_with_a_long_reason_is_not_cut() {
    let mut rig = half_way();
    let gross = rig.gross(rig.stop());
    rig.frame(Frame { unit: None, unit_text: "".into(), ..stable(&gross) });
    rig.key("Enter");
    rig.says("there is no steady weight to take: The scale sends a number without a");
    rig.says("or add unit=g to its address.");
}

/// What is only being opened is not lost: nobody is to be alarmed in the first seconds.
#[test]
fn a_scale_that_is_not_there_yet_is_not_called_lost() {
    let mut rig = Rig::new();
    for state in [LinkState::Opening, LinkState::Listening] {
        rig.state(state, "the line is open; nothing has been understood yet");
        rig.says("! scale  the line is open");
        rig.says_not("SCALE LOST");
    }
    for state in [LinkState::Absent, LinkState::Lost, LinkState::Stale] {
        rig.state(state, "the cable is out");
        rig.says("SCALE LOST  the cable is out");
    }
}
