//! What a line, a server or a hand may do to make a wrong number look right.

use super::*;
use crate::scale::shape::{ALL, Decoded};
use crate::scale::{Hand, Spec, VirtualBench};

/// A scale that said once that it moves, and stands settled at 12.3 g.
fn honest() -> Bench {
    let mut bench = bench();
    bench.says(moving("11.0"));
    bench.says(frame("12.3"));
    assert!(bench.says(frame("12.3")).weight.is_some());
    bench
}

/// How many readings it takes until that one is a weight; none if twenty do not do it.
fn needed(bench: &mut Bench, reading: &Frame) -> Option<usize> {
    (1..=20).find(|_| bench.says(reading.clone()).weight.is_some())
}

fn noisy(bench: &mut Bench, frame: Frame) -> Verdict {
    bench.now += 100;
    bench.settle.feed(&Reading { noise_before: 3, ..Reading::new(frame, Moment(bench.now)) })
}

#[test]
fn on_a_clean_line_two_readings_are_enough() {
    let mut bench = honest();
    for value in ["112.3", "112.4", "5.0"] {
        bench.says(moving("60.0"));
        assert_eq!(needed(&mut bench, &frame(value)), Some(2), "{value}");
    }
}

#[test]
fn after_noise_one_more_equal_reading_is_wanted_for_a_minute_at_ten_a_second() {
    let mut bench = honest();
    assert!(noisy(&mut bench, moving("20.0")).weight.is_none());
    assert_eq!(bench.says(frame("30.0")).doubt, Some(Doubt::NotConfirmed));
    assert_eq!(bench.says(frame("30.0")).doubt, Some(Doubt::Damaged));
    assert!(bench.says(frame("30.0")).weight.is_some());
    for _ in 0..500 {
        bench.says(moving("31.0"));
    }
    assert_eq!(needed(&mut bench, &frame("40.0")), Some(3));
    for _ in 0..100 {
        bench.says(moving("41.0"));
    }
    assert_eq!(needed(&mut bench, &frame("50.0")), Some(2), "and then it is forgotten");
    // Not by opening the line again.
    noisy(&mut bench, moving("51.0"));
    bench.settle.reset();
    assert_eq!(needed(&mut bench, &frame("60.0")), Some(3));
}

#[test]
fn the_frame_in_whose_middle_listening_began_is_no_damage() {
    let mut bench = bench();
    noisy(&mut bench, frame("12.3"));
    assert!(bench.says(frame("12.3")).weight.is_some());
}

#[rstest]
#[case::a_digit_lost("2.3")]
#[case::a_digit_doubled("122.3")]
#[case::a_digit_changed("92.3")]
#[case::the_sign("-12.3")]
#[case::the_point_lost("123")]
#[case::the_point_moved("1.23")]
#[case::ten_times("123.0")]
fn a_number_that_jumps_without_a_movement_is_asked_for_thrice(#[case] wrong: &str) {
    let mut bench = honest();
    // Once, and twice in a row: never a weight.
    for times in [1, 2] {
        for _ in 0..times {
            let verdict = bench.says(frame(wrong));
            assert!(verdict.weight.is_none());
            assert!(matches!(verdict.doubt, Some(Doubt::Jump | Doubt::ResolutionChanged)), "{verdict:?}");
        }
        for _ in 0..8 {
            let verdict = bench.says(frame("12.3"));
            assert!(verdict.weight.is_none_or(|weight| weight.grams() == grams("12.3")));
        }
        assert!(bench.says(frame("12.3")).weight.is_some());
    }
    // A scale that goes on saying it is believed in the end: it may have been too slow to see the movement.
    assert!(needed(&mut bench, &frame(wrong)).is_some_and(|count| (3..=4).contains(&count)));
}

#[test]
fn a_scale_that_never_says_that_it_moves_is_not_suspected_for_it() {
    let mut bench = settled();
    assert_eq!(bench.says(frame("112.3")).doubt, Some(Doubt::Jump));
    assert!(bench.says(frame("112.3")).weight.is_some());
}

#[test]
fn unit_mode_and_resolution_that_change_for_two_readings_are_never_a_weight() {
    let kilograms = Frame { unit: Some(MassUnit::Kilogram), unit_text: "kg".into(), ..frame("12.3") };
    let net = Frame { mode: Mode::Net, ..frame("12.3") };
    let fine = Frame { high_resolution: true, ..frame("12.30") };
    for other in [kilograms, net, fine] {
        for prelude in [None, Some(moving("12.3"))] {
            let mut bench = honest();
            if let Some(moving) = prelude {
                bench.says(moving);
            }
            for _ in 0..2 {
                let verdict = bench.says(other.clone());
                assert!(verdict.weight.is_none() && verdict.doubt.is_some());
            }
            // Back again is a change too.
            assert!(bench.says(frame("12.3")).weight.is_none());
            assert!(bench.says(frame("12.3")).weight.is_none());
            assert!(needed(&mut bench, &frame("12.3")).is_some_and(|more| more <= 2));
        }
    }
}

#[test]
fn a_burst_after_a_gap_is_one_piece_of_evidence() {
    for gap in [300, 900, 3_000, 60_000] {
        for between in [0, 1, 5, 12] {
            let mut bench = honest();
            for _ in 0..20 {
                bench.says(frame("12.3"));
            }
            // Meanwhile 30 g were poured, and the cup then lifted: all that was held up comes at once.
            bench.says_after(gap, moving("20.0"));
            for value in ["42.3"; 3].into_iter().chain(["0.0"; 3]) {
                let verdict = bench.says_after(between, frame(value));
                assert_eq!(verdict.weight, None, "{value} after {gap} and {between} ms");
            }
            // The next at the usual pace is confirmed by the newest of what was held up, and by nothing older.
            assert!(bench.weight(frame("42.3")).is_none());
            assert!(needed(&mut bench, &frame("0.0")).is_some_and(|count| count <= 4));
        }
    }
}

#[test]
fn what_is_repeated_faster_than_the_scale_weighs_confirms_nothing() {
    let mut bench = honest();
    for _ in 0..20 {
        bench.says(moving("20.0"));
    }
    bench.says(frame("30.0"));
    for _ in 0..30 {
        assert_eq!(bench.says_after(1, frame("30.0")).doubt, Some(Doubt::NotConfirmed));
    }
    assert!(bench.says_after(70, frame("30.0")).weight.is_some());
    // Nor does it take away what is settled, or make it look as if it had stood for longer.
    let settled = bench.says_after(1, frame("30.0")).weight.unwrap();
    assert_eq!(settled.at(), Moment(bench.now - 1));
}

#[test]
fn nothing_from_before_the_cup_was_lifted_confirms_what_is_said_after() {
    let mut bench = honest();
    for between in [moving("5.0"), frame("0.0"), Frame { condition: Condition::Under, ..frame("0") }] {
        bench.says(between);
        assert!(bench.says(frame("12.3")).weight.is_none());
        assert!(needed(&mut bench, &frame("12.3")).is_some_and(|more| more <= 2));
    }
}

#[test]
fn a_frozen_number_that_is_called_moving_is_never_a_weight() {
    let mut bench = honest();
    for turn in 0..100 {
        let frozen = if turn % 2 == 0 { moving("12.3") } else { frame("12.3") };
        assert!(bench.says(frozen).weight.is_none());
    }
}

/// Readings of one value a tenth of a second apart; whether any of them crept, and whether the last does.
fn stand(bench: &mut Bench, value: &str, readings: usize) -> (bool, bool) {
    let crept: Vec<bool> = (0..readings).map(|_| bench.says(frame(value)).creeps).collect();
    (crept.iter().any(|creeps| *creeps), crept.last().copied().unwrap_or_default())
}

#[test]
fn a_drip_creeps_until_the_next_drop_stays_away() {
    let mut bench = honest();
    assert_eq!(stand(&mut bench, "12.3", 30), (false, false));
    assert_eq!(stand(&mut bench, "12.4", 30), (false, false), "one step is no creep yet");
    assert_eq!(stand(&mut bench, "12.5", 30), (true, true));
    assert_eq!(stand(&mut bench, "12.6", 30), (true, true));
    // It is a weight all the same: a person may take it.
    assert!(bench.says(frame("12.6")).weight.is_some());
    // Three seconds a step: four and a half without one, and it has stopped.
    assert_eq!(stand(&mut bench, "12.6", 16), (true, false));
}

#[test]
fn what_flickers_drifts_slowly_or_is_poured_does_not_creep() {
    let mut bench = honest();
    for turn in 0..60 {
        let value = if turn % 7 < 3 { "12.4" } else { "12.3" };
        assert!(!bench.says(frame(value)).creeps);
    }
    // A solvent that evaporates: a division in eleven seconds.
    for value in ["12.3", "12.2", "12.1", "12.0"] {
        assert_eq!(stand(&mut bench, value, 110), (false, false));
    }
    // Poured: a movement of two seconds between.
    for value in ["12.2", "12.4", "12.6"] {
        for _ in 0..20 {
            bench.says(moving(value));
        }
        assert_eq!(stand(&mut bench, value, 20), (false, false));
    }
    // A drop on a fine scale: a short movement between, three divisions each.
    let mut bench = super::bench();
    for value in ["5.00", "5.03", "5.06"] {
        for _ in 0..6 {
            bench.says(moving(value));
        }
        let (any, _) = stand(&mut bench, value, 20);
        assert_eq!(any, value == "5.06");
    }
}

/// The whole way, from the pan through the bytes of each format to a weight.
#[test]
fn every_format_gives_the_truth_and_nothing_else_over_a_drip_a_lean_and_a_lifted_cup() {
    for shape in ALL {
        let mut bench = VirtualBench::new(Spec::default(), 11);
        let mut decoder = shape.decoder();
        let mut settle = Settle::new(Rules::default());
        let mut out = Vec::new();
        let mut weights = 0;
        for turn in 0_u64..600 {
            match turn {
                40 => bench.hand(Hand::PourTo(grams("121.4"))),
                200 => bench.hand(Hand::Drip(grams("0.03"))),
                400 => bench.hand(Hand::Drip(Grams::ZERO)),
                430 => bench.hand(Hand::LiftCup),
                460 => bench.hand(Hand::PutCup),
                500 => bench.hand(Hand::Bump),
                _ => {}
            }
            bench.advance(100);
            decoder.push(&bench.bytes(*shape), &mut out);
            for item in out.drain(..) {
                let Decoded::Frame(frame) = item else { continue };
                let verdict = settle.feed(&Reading::new(frame, Moment(turn * 100)));
                let Some(weight) = verdict.weight else { continue };
                weights += 1;
                let off = weight.grams() - Grams::parse(&format!("{:.6}", bench.load())).unwrap();
                assert!(off.abs() <= grams("0.15"), "{}: {weight:?} at {turn}, off {off}", shape.name());
            }
        }
        assert!(weights > 200, "{}: {weights}", shape.name());
    }
}

/// 12.3 and 12.30 are equal numbers, and two manners of saying them: no weight comes of the one for the other, and be
/// it in a burst.
#[test]
fn other_decimals_in_a_burst_are_not_the_same_again() {
    let mut bench = honest();
    let verdict = bench.says_after(20, frame("12.30"));
    assert_eq!((verdict.weight, verdict.doubt), (None, Some(Doubt::NotConfirmed)));
}
