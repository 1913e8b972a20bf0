use super::*;
use crate::scale::shape;
use proptest::prelude::*;

mod trouble;

fn bench() -> VirtualBench {
    VirtualBench::new(Spec::default(), 7)
}

fn grams(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

fn at_rest(bench: &mut VirtualBench) -> Grams {
    for _ in 0..100 {
        bench.advance(100);
        let frame = bench.frame();
        if frame.stability == Stability::Stable && bench.tipped() == 0 {
            bench.advance(3_000);
            return bench.frame().grams().unwrap();
        }
    }
    panic!("never came to rest")
}

#[test]
fn tipped_further_it_pours_faster() {
    let mut before = 0.0;
    for step in 1..=STEPS {
        let mut bench = bench();
        for _ in 0..step {
            bench.hand(Hand::TipMore);
        }
        bench.advance(3_000);
        assert!(bench.in_cup() > before * 1.2 + 0.1, "step {step}: {}", bench.in_cup());
        before = bench.in_cup();
    }
}

#[test]
fn set_upright_it_drips_and_comes_to_rest() {
    let mut bench = bench();
    for _ in 0..6 {
        bench.hand(Hand::TipMore);
    }
    bench.advance(2_000);
    assert_eq!(bench.frame().stability, Stability::Moving);
    bench.hand(Hand::Upright);
    bench.advance(600);
    let just_after = bench.in_cup();
    let reading = at_rest(&mut bench);
    assert!(bench.in_cup() > just_after, "no drop fell");
    assert!((float(reading) - bench.load()).abs() <= 0.056, "{reading} for {}", bench.load());
    assert_eq!(bench.frame().stability, Stability::Stable);
}

#[test]
fn the_same_seed_gives_the_same_readings() {
    let run = |seed| {
        let mut bench = VirtualBench::new(Spec::default(), seed);
        bench.hand(Hand::TipMore);
        (0..100)
            .map(|_| {
                bench.advance(37);
                bench.frame()
            })
            .collect::<Vec<_>>()
    };
    assert_eq!(run(3), run(3));
    assert_ne!(run(3), run(4));
}

#[test]
fn more_than_it_can_weigh_is_said_and_not_shown() {
    let mut bench = bench();
    bench.hand(Hand::Load(grams("7500")));
    assert_eq!(bench.frame().condition, Condition::Ok);
    bench.hand(Hand::Load(grams("7501")));
    assert_eq!((bench.frame().condition, bench.frame().value), (Condition::Over, None));
}

#[test]
fn a_lifted_cup_comes_back_as_it_was() {
    let mut bench = bench();
    bench.hand(Hand::PourTo(grams("121.4")));
    bench.advance(20_000);
    let full = at_rest(&mut bench);
    bench.hand(Hand::LiftCup);
    assert_eq!(at_rest(&mut bench), Grams::ZERO);
    bench.hand(Hand::PutCup);
    assert_eq!(at_rest(&mut bench), full);
}

#[test]
fn an_empty_tin_pours_no_more() {
    let mut bench = VirtualBench::new(Spec { tin: 20.0, ..Spec::default() }, 1);
    for _ in 0..STEPS {
        bench.hand(Hand::TipMore);
    }
    bench.advance(10_000);
    assert!((bench.in_cup() - 20.0).abs() < 1e-6, "{}", bench.in_cup());
    bench.hand(Hand::Upright);
    bench.hand(Hand::NextTin);
    bench.hand(Hand::TipMore);
    bench.advance(3_000);
    assert!(bench.in_cup() > 20.1);
}

#[test]
fn its_own_hand_lands_above_and_whenever_it_was_asked() {
    let pours = |gap: u64| {
        let mut bench = bench();
        let mut target = 21.4;
        (0..40)
            .map(|_| {
                target = float(at_rest(&mut bench)) + 20.0;
                bench.advance(gap);
                bench.hand(Hand::PourTo(Grams::new(Decimal::from_f64(target).unwrap())));
                bench.advance(30_000);
                (bench.load() - target) * 1e6
            })
            .map(f64::round)
            .collect::<Vec<_>>()
    };
    let landed = pours(0);
    assert!(landed.iter().all(|above| *above >= 0.0));
    let far = landed.iter().filter(|above| **above > 1e6).count();
    assert!((2..16).contains(&far), "{far} of 40 by more than a gram");
    assert_eq!(landed, pours(777));
}

#[test]
fn drawing_off_takes_what_it_says() {
    let mut bench = bench();
    bench.hand(Hand::Load(grams("121.4")));
    bench.hand(Hand::DrawOff(grams("12.6")));
    bench.advance(5_000);
    assert!((bench.in_cup() - 87.4).abs() < 1e-6, "{}", bench.in_cup());
}

#[test]
fn leaning_on_the_bench_is_seen() {
    let mut bench = bench();
    bench.advance(2_000);
    assert_eq!(bench.frame().stability, Stability::Stable);
    bench.hand(Hand::Bump);
    bench.advance(100);
    assert_eq!(bench.frame().stability, Stability::Moving);
}

#[test]
fn once_stable_it_stays_within_a_division() {
    // OIML R 76, 4.4.2 (from memory): a value called stable is no more than a division from the final one.
    for step in 1..=STEPS {
        let mut bench = bench();
        for _ in 0..step {
            bench.hand(Hand::TipMore);
        }
        bench.advance(2_000);
        bench.hand(Hand::Upright);
        let readings: Vec<Frame> = (0..100)
            .map(|_| {
                bench.advance(100);
                bench.frame()
            })
            .collect();
        let first = readings.iter().position(|frame| frame.stability == Stability::Stable).unwrap();
        assert!(first < 50, "step {step}: at rest only after {first} tenths of a second");
        let last = readings.last().unwrap().grams().unwrap();
        for frame in readings.iter().filter(|frame| frame.stability == Stability::Stable) {
            let off = (float(frame.grams().unwrap()) - float(last)).abs();
            assert!(off < 0.1001, "step {step}: {off}");
        }
        assert!(readings.iter().skip(50).all(|frame| frame.stability == Stability::Stable));
    }
}

#[test]
fn paint_in_the_air_lands_after_the_tin_is_taken_away() {
    let mut bench = bench();
    for _ in 0..STEPS {
        bench.hand(Hand::TipMore);
    }
    bench.advance(2_000);
    let before = bench.in_cup();
    bench.hand(Hand::NextTin);
    bench.advance(150);
    let landed = bench.in_cup() - before;
    assert!((4.0..8.0).contains(&landed), "0.15 s of some 40 g/s, not {landed}");
    bench.advance(1_000);
    assert!((bench.in_cup() - before - landed).abs() < 1e-9);
}

#[test]
fn less_than_it_can_weigh_is_said_and_not_shown() {
    let mut bench = bench();
    bench.hand(Hand::Load(grams("-2")));
    assert_eq!((bench.frame().condition, bench.frame().grams()), (Condition::Ok, Some(grams("-2"))));
    bench.hand(Hand::Load(grams("-2.1")));
    assert_eq!((bench.frame().condition, bench.frame().value), (Condition::Under, None));
    assert!(bench.in_cup().abs() < f64::EPSILON, "a cup never holds less than nothing");
}

#[test]
fn over_is_what_the_pan_weighs_not_what_is_to_come() {
    let mut bench = VirtualBench::new(Spec { capacity: grams("100"), ..Spec::default() }, 7);
    bench.hand(Hand::PourTo(grams("130")));
    bench.advance(20_000);
    assert_eq!(bench.frame().condition, Condition::Over);
    bench.hand(Hand::LiftCup);
    assert_eq!(bench.frame().condition, Condition::Over, "not yet");
    assert_eq!(at_rest(&mut bench), Grams::ZERO);
}

#[test]
fn tared_it_shows_net_and_less_than_nothing_once_the_cup_is_lifted() {
    let mut bench = bench();
    bench.advance(2_000);
    bench.hand(Hand::Tare);
    assert_eq!((bench.frame().mode, at_rest(&mut bench)), (Mode::Net, Grams::ZERO));
    assert_eq!(bench.frame().centre_of_zero, Some(false), "the pan is not empty");
    bench.hand(Hand::LiftCup);
    assert_eq!(at_rest(&mut bench), grams("-21.4"));
    assert_eq!((bench.frame().condition, bench.frame().centre_of_zero), (Condition::Ok, Some(true)));
    bench.hand(Hand::Zero);
    assert_eq!((bench.frame().mode, bench.frame().grams()), (Mode::Gross, Some(Grams::ZERO)));
}

#[test]
fn nothing_is_shown_without_a_sign() {
    let mut bench = bench();
    for hundredths in -4..=4 {
        bench.hand(Hand::Load(Grams::new(Decimal::new(hundredths, 2))));
        assert_eq!(bench.frame().value.unwrap().to_string(), "0.0", "{hundredths}");
    }
}

#[test]
fn while_the_cup_is_lifted_its_own_hand_waits() {
    let mut bench = bench();
    bench.hand(Hand::PourTo(grams("221.4")));
    bench.advance(1_000);
    bench.hand(Hand::LiftCup);
    let lifted = bench.in_cup();
    bench.advance(5_000);
    assert!((bench.in_cup() - lifted).abs() < f64::EPSILON);
    bench.hand(Hand::PutCup);
    bench.advance(30_000);
    assert!(bench.load() >= 221.4 && bench.load() < 228.0, "{}", bench.load());
}

#[test]
fn there_already_its_own_hand_pours_nothing() {
    let mut bench = bench();
    bench.hand(Hand::Load(grams("121.4")));
    bench.hand(Hand::PourTo(grams("100")));
    bench.advance(5_000);
    assert!((bench.in_cup() - 100.0).abs() < 1e-9);
}

#[test]
fn drawing_off_again_begins_anew_and_stops_at_an_empty_cup() {
    let mut bench = bench();
    bench.hand(Hand::Load(grams("521.4")));
    bench.hand(Hand::DrawOff(grams("200")));
    bench.advance(500);
    let taken = 500.0 - bench.in_cup();
    assert!((taken - 50.0).abs() < 1e-6, "a quarter of two seconds' worth, not {taken}");
    bench.hand(Hand::DrawOff(grams("49.93")));
    bench.advance(10_000);
    assert!((bench.in_cup() - 400.0).abs() < 1e-6, "{}", bench.in_cup());
    bench.hand(Hand::DrawOff(grams("999")));
    bench.advance(3_000);
    assert!(bench.in_cup().abs() < 1e-6);
    bench.hand(Hand::PourTo(grams("71.4")));
    bench.advance(30_000);
    assert!(bench.in_cup() >= 50.0, "what was asked beyond what there was is forgotten: {}", bench.in_cup());
}

#[test]
fn every_shape_can_send_a_weight() {
    let mut bench = bench();
    for load in ["-2", "0", "21.4", "7500", "7501", "-3"] {
        bench.hand(Hand::Load(grams(load)));
        let frame = bench.frame();
        for shape in shape::ALL {
            let mut heard = Vec::new();
            shape.decoder().push(&bench.bytes(*shape), &mut heard);
            let [shape::Decoded::Frame(back)] = heard.as_slice() else {
                panic!("{} at {load} g: {heard:?}", shape.name())
            };
            // A format that has no word for it can still say that there is no weight.
            let told = back.condition == frame.condition || back.condition == Condition::NotReady;
            assert!(
                told && (back.condition == Condition::Ok) == (frame.condition == Condition::Ok),
                "{back:?}"
            );
            if frame.condition == Condition::Ok {
                assert_eq!(back.grams(), frame.grams(), "{} at {load} g", shape.name());
            }
        }
    }
}

#[derive(Clone, Debug)]
enum Step {
    Do(Hand),
    Wait(u64),
}

fn steps() -> impl Strategy<Value = Vec<Step>> {
    let step = prop_oneof![
        3 => Just(Step::Do(Hand::TipMore)),
        1 => Just(Step::Do(Hand::TipLess)),
        1 => Just(Step::Do(Hand::Upright)),
        4 => (1_u64..1_500).prop_map(Step::Wait),
    ];
    proptest::collection::vec(step, 1..30)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn what_leaves_the_tin_is_in_the_cup_or_in_the_air(steps in steps(), tin in 5.0..500.0_f64) {
        let mut bench = VirtualBench::new(Spec { tin, ..Spec::default() }, 1);
        for step in steps {
            match step {
                Step::Do(hand) => bench.hand(hand),
                Step::Wait(milliseconds) => bench.advance(milliseconds),
            }
            let all = bench.in_tin() + bench.in_cup() + bench.air.iter().sum::<f64>();
            prop_assert!((all - tin).abs() < 1e-6, "{all} of {tin}");
            prop_assert!(bench.in_tin() >= 0.0 && bench.in_cup() >= 0.0);
        }
    }

    #[test]
    fn how_the_time_is_cut_up_changes_nothing(steps in steps(), cut in 1_u64..97) {
        let (mut whole, mut cut_up) = (bench(), bench());
        for step in steps {
            match step {
                Step::Do(hand) => {
                    whole.hand(hand);
                    cut_up.hand(hand);
                }
                Step::Wait(milliseconds) => {
                    whole.advance(milliseconds);
                    for _ in 0..milliseconds / cut {
                        cut_up.advance(cut);
                    }
                    cut_up.advance(milliseconds % cut);
                }
            }
            prop_assert_eq!(whole.frame(), cut_up.frame());
        }
    }

    #[test]
    fn at_rest_it_shows_the_load_within_half_a_division(hundredths in -200_i64..750_000, seed: u64) {
        let mut bench = VirtualBench::new(Spec::default(), seed);
        bench.hand(Hand::Load(Grams::new(Decimal::new(hundredths, 2))));
        bench.advance(1_000);
        let frame = bench.frame();
        prop_assert_eq!(frame.stability, Stability::Stable);
        // Half a division, and what little it trembles.
        prop_assert!((float(frame.grams().unwrap()) - bench.load()).abs() <= 0.056);
        prop_assert!(Division::TENTH.divides(frame.grams().unwrap()));
    }
}
