//! A bench that is not there: a tin in a hand, a cup on a pan, a scale that lags and settles. Good enough to
//! train on, pure, and the same every time for the same seed. Floats are used freely; what it sends is a decimal
//! in whole divisions, like any scale's.

mod chance;
mod pan;
mod tin;

pub use chance::Chance;
pub use tin::STEPS;

use super::{Condition, Frame, Mode, Stability};
use crate::units::{Decimal, Division, Grams, MassUnit};
use pan::Pan;
use rust_decimal::prelude::{FromPrimitive, ToPrimitive};
use std::collections::VecDeque;
use tin::Tin;

/// The bench's make.
#[derive(Clone, Debug)]
pub struct Spec {
    /// The scale's division.
    pub division: Division,
    /// The most it weighs.
    pub capacity: Grams,
    /// What the empty cup weighs, in grams.
    pub cup: f64,
    /// What a full tin holds, in grams.
    pub tin: f64,
    /// Readings a second.
    pub rate_hz: u32,
}

impl Default for Spec {
    fn default() -> Self {
        Self {
            division: Division::TENTH,
            capacity: Grams::new(Decimal::from_parts(7_500, 0, 0, false, 0)),
            cup: 21.4,
            tin: 1_000.0,
            rate_hz: 10,
        }
    }
}

/// Something a hand does at the bench.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Hand {
    /// Tip the tin one step further.
    TipMore,
    /// Tip it one step back.
    TipLess,
    /// Set it upright.
    Upright,
    /// Take the cup off the scale.
    LiftCup,
    /// Put it back.
    PutCup,
    /// Take the cup away and put an empty one on.
    FreshCup,
    /// Take a full tin.
    NextTin,
    /// Stir, and take that much out of the cup.
    DrawOff(Grams),
    /// The bench's own hand: pour, in one go, until the scale would show about so much, and land a little above
    /// as hands do.
    PourTo(Grams),
    /// The load is exactly that, at once. For tests.
    Load(Grams),
    /// Lean on the bench.
    Bump,
    /// The scale's zero key.
    Zero,
    /// The scale's tare key.
    Tare,
}

/// The model's inner step, in milliseconds.
const INNER_MS: u64 = 10;
const INNER_S: f64 = 0.01;
/// How long paint is in the air, in inner steps.
const FALL_STEPS: usize = 15;
/// How much is taken out in a second when drawing off, in grams.
const DRAW_RATE: f64 = 12.0;

/// The bench.
#[derive(Clone, Debug)]
pub struct VirtualBench {
    spec: Spec,
    division: f64,
    tin: Tin,
    /// What fell in each of the last inner steps.
    air: VecDeque<f64>,
    in_cup: f64,
    cup_on: bool,
    /// What is still to be taken out.
    to_draw: f64,
    /// Down to where the bench's own hand pours what is in the cup.
    pour_to: Option<f64>,
    pan: Pan,
    tremble: Chance,
    /// The hand's own chance: drawn once a pour, so that what is poured does not hang on when it was asked for.
    landing: Chance,
    left_over_ms: u64,
}

impl VirtualBench {
    /// A bench with an empty cup on its pan, zeroed without the cup.
    pub fn new(spec: Spec, seed: u64) -> Self {
        let division = spec.division.grams().decimal().to_f64().unwrap_or(0.1);
        let mut pan = Pan::new(division);
        pan.jump(spec.cup);
        Self {
            division,
            tin: Tin::full(spec.tin),
            air: VecDeque::from(vec![0.0; FALL_STEPS]),
            in_cup: 0.0,
            cup_on: true,
            to_draw: 0.0,
            pour_to: None,
            pan,
            tremble: Chance::new(seed),
            landing: Chance::new(seed ^ 0xD1B5_4A32_D192_ED03),
            left_over_ms: 0,
            spec,
        }
    }

    /// What is in the cup, in grams: the truth.
    pub fn in_cup(&self) -> f64 {
        self.in_cup
    }

    /// How far the tin is tipped, from 0 to [`STEPS`].
    pub fn tipped(&self) -> u8 {
        self.tin.step()
    }

    /// What the tin holds, in grams.
    pub fn in_tin(&self) -> f64 {
        self.tin.holds
    }

    /// What is on the pan, in grams.
    pub fn load(&self) -> f64 {
        if self.cup_on { self.in_cup + self.spec.cup } else { 0.0 }
    }

    /// Moves the hand.
    pub fn hand(&mut self, hand: Hand) {
        match hand {
            Hand::TipMore => self.tin.tip(self.tin.step().saturating_add(1)),
            Hand::TipLess => self.tin.tip(self.tin.step().saturating_sub(1)),
            Hand::Upright => self.tin.tip(0),
            Hand::LiftCup => self.cup_on = false,
            Hand::PutCup => self.cup_on = true,
            Hand::FreshCup => {
                self.in_cup = 0.0;
                self.cup_on = true;
                self.to_draw = 0.0;
                self.pour_to = None;
                self.tin = Tin::full(self.spec.tin);
            }
            Hand::NextTin => self.tin = Tin::full(self.spec.tin),
            Hand::DrawOff(mass) => self.to_draw = float(mass).max(0.0),
            Hand::PourTo(gross) => self.aim_at(float(gross)),
            Hand::Load(mass) => {
                self.in_cup = float(mass) - self.spec.cup;
                self.cup_on = true;
                self.pan.jump(self.load());
            }
            Hand::Bump => self.pan.bump(),
            Hand::Zero => self.pan.set_zero(),
            Hand::Tare => self.pan.set_tare(),
        }
    }

    /// A hand lands above, by a few tenths of a gram as a rule, and by grams one time in six.
    fn aim_at(&mut self, gross: f64) {
        let slip = self.landing.part();
        let size = self.landing.part();
        let above = if slip < 1.0 / 6.0 { 1.5 + 4.5 * size } else { 0.25 * size * size };
        // On a whole division, so that what is shown does not hang on how the pan trembles.
        let target = ((gross + above) / self.division).round() * self.division - self.spec.cup;
        self.pour_to = (target > self.in_cup).then_some(target);
    }

    /// Lets time pass.
    pub fn advance(&mut self, milliseconds: u64) {
        self.left_over_ms = self.left_over_ms.saturating_add(milliseconds);
        while self.left_over_ms >= INNER_MS {
            self.left_over_ms -= INNER_MS;
            self.step();
        }
    }

    fn step(&mut self) {
        self.air.push_back(self.tin.pour(INNER_S));
        let landed = self.air.pop_front().unwrap_or(0.0);
        // What misses a cup that is not there is on the floor, and on nobody's scale.
        if self.cup_on {
            self.in_cup += landed;
            self.own_hand();
            if self.to_draw > 0.0 {
                let taken = (DRAW_RATE * INNER_S).min(self.to_draw).min(self.in_cup);
                self.in_cup -= taken;
                self.to_draw = if self.in_cup > 0.0 { self.to_draw - taken } else { 0.0 };
            }
        }
        self.pan.sample(self.load(), INNER_S, &mut self.tremble);
    }

    /// The bench's own hand pours fast while there is far to go and eases off near the end.
    fn own_hand(&mut self) {
        let Some(target) = self.pour_to else { return };
        let missing = target - self.in_cup;
        let flow = (missing * 1.8).clamp(0.6, 30.0) * INNER_S;
        if missing <= flow {
            self.in_cup = target;
            self.pour_to = None;
        } else {
            self.in_cup += flow;
        }
    }

    /// What the scale sends now.
    pub fn frame(&self) -> Frame {
        let shown = self.pan.shown();
        let steps = (shown / self.division).round();
        let value = Decimal::from_f64(steps)
            .and_then(|steps| steps.checked_mul(self.spec.division.grams().decimal()))
            .unwrap_or_default();
        let stability = if self.pan.is_still() { Stability::Stable } else { Stability::Moving };
        let over = self.load() > float(self.spec.capacity) + 9.0 * self.division;
        let mut value = value.normalize();
        value.rescale(self.spec.division.decimals());
        Frame {
            value: (!over).then_some(value),
            unit: Some(MassUnit::Gram),
            unit_text: "g".to_owned(),
            stability,
            mode: if self.pan.is_tared() { Mode::Net } else { Mode::Gross },
            centre_of_zero: Some(value.is_zero() && !over),
            condition: if over { Condition::Over } else { Condition::Ok },
            high_resolution: false,
        }
    }
}

fn float(mass: Grams) -> f64 {
    mass.decimal().to_f64().unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
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
}
