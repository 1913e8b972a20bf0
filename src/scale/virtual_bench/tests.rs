use super::*;

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
    assert!((float(reading) - bench.load()).abs() <= 0.1, "{reading} for {}", bench.load());
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
