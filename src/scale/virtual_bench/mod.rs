//! A bench that is not there: a tin in a hand, a cup on a pan, a scale that lags and settles. Good enough to
//! train on, pure, and the same every time for the same seed. Floats are used freely; what it sends is a decimal
//! in whole divisions, like any scale's.

mod chance;
mod disturbance;
mod hand;
mod pan;
mod plate;
mod tin;

pub use chance::Chance;
pub use hand::Hand;
pub use tin::STEPS;

use super::shape::{Answer, Ask, Shape};
use super::{Condition, Frame, Mode, Stability};
use crate::units::{Decimal, Division, Grams, MassUnit};
use disturbance::Disturbance;
use pan::Pan;
use plate::Plate;
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
    /// How quickly the reading follows the load, in seconds: the scale's filter.
    pub follow_s: f64,
    /// How thick the paint is: twice as thick, it runs half as fast and takes twice as long to follow the hand.
    pub thickness: f64,
}

impl Default for Spec {
    fn default() -> Self {
        Self {
            division: Division::TENTH,
            capacity: Grams::new(Decimal::from_parts(7_500, 0, 0, false, 0)),
            cup: 21.4,
            tin: 1_000.0,
            rate_hz: 10,
            follow_s: pan::FOLLOW_S,
            thickness: 1.0,
        }
    }
}

/// The model's inner step, in milliseconds.
const INNER_MS: u64 = 10;
const INNER_S: f64 = 0.01;
/// How long paint is in the air, in inner steps.
const FALL_STEPS: usize = 15;
/// How much is taken out in a second when drawing off a little, in grams.
const DRAW_RATE: f64 = 12.0;
/// Over how long a lot is drawn off, in seconds.
const DRAW_S: f64 = 2.0;
/// How far beyond its capacity a scale still shows a number, in divisions (OIML R 76, 4.2.3, from memory).
const BEYOND: f64 = 9.0;
/// How far below zero it still does, in divisions (common practice, no source).
const BELOW: f64 = 20.0;

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
    /// What stands on the pan where no cup does.
    bare: f64,
    /// What is still to be taken out, and how fast, in grams and grams a second.
    to_draw: f64,
    draw_rate: f64,
    /// Down to where the bench's own hand pours what is in the cup.
    pour_to: Option<f64>,
    pan: Pan,
    tremble: Chance,
    disturbance: Disturbance,
    /// The hand's own chance: drawn once a pour, so that what is poured does not hang on when it was asked for.
    landing: Chance,
    left_over_ms: u64,
    /// What its unit key has chosen.
    in_kilograms: bool,
    /// What it says of itself.
    plate: Plate,
}

impl VirtualBench {
    /// A bench with an empty cup on its pan, zeroed without the cup.
    pub fn new(spec: Spec, seed: u64) -> Self {
        let division = spec.division.grams().decimal().to_f64().unwrap_or(0.1);
        let mut pan = Pan::new(division, float(spec.capacity)).following(spec.follow_s);
        pan.jump(spec.cup);
        Self {
            division,
            tin: Tin::full(spec.tin).thick(spec.thickness),
            air: VecDeque::from(vec![0.0; FALL_STEPS]),
            in_cup: 0.0,
            cup_on: true,
            bare: 0.0,
            to_draw: 0.0,
            draw_rate: DRAW_RATE,
            pour_to: None,
            pan,
            tremble: Chance::new(seed),
            disturbance: Disturbance::none(seed ^ 0x2545_F491_4F6C_DD1D),
            landing: Chance::new(seed ^ 0xD1B5_4A32_D192_ED03),
            left_over_ms: 0,
            in_kilograms: false,
            plate: Plate::default(),
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
        if self.cup_on { self.in_cup + self.spec.cup } else { self.bare }
    }

    /// Moves the hand.
    pub fn hand(&mut self, hand: Hand) {
        match hand {
            Hand::TipMore => self.tin.tip(self.tin.step().saturating_add(1)),
            Hand::TipLess => self.tin.tip(self.tin.step().saturating_sub(1)),
            Hand::Upright => self.tin.tip(0),
            Hand::LiftCup => (self.cup_on, self.bare) = (false, 0.0),
            Hand::PutCup => self.cup_on = true,
            Hand::FreshCup => {
                self.in_cup = 0.0;
                self.cup_on = true;
                self.to_draw = 0.0;
                self.pour_to = None;
                self.tin = self.tin.next(self.spec.tin);
            }
            Hand::NextTin => self.tin = self.tin.next(self.spec.tin),
            Hand::DrawOff(mass) => {
                // Whole divisions, for the same reason as in a pour; more rather than less, so that it suffices.
                self.to_draw = float(self.spec.division.round_up(mass)).max(0.0);
                self.draw_rate = (self.to_draw / DRAW_S).max(DRAW_RATE);
            }
            Hand::PourTo(gross) => self.aim_at(float(gross)),
            Hand::Load(mass) => {
                self.bare = float(mass);
                self.cup_on = self.bare >= self.spec.cup;
                self.in_cup = (self.bare - self.spec.cup).max(0.0);
                self.to_draw = 0.0;
                self.pour_to = None;
                self.pan.jump(self.load());
            }
            Hand::Bump => self.pan.bump(),
            Hand::Drip(rate) => self.tin.drip(float(rate).max(0.0)),
            Hand::Shake(mass) => self.disturbance.shake = float(mass),
            Hand::Draught(mass) => self.disturbance.draught = float(mass),
            Hand::Drift(a_minute) => self.disturbance.drift = float(a_minute) / 60.0,
            Hand::TrackZero(tracks) => self.pan.track_zero(tracks),
            // A key on the scale does nothing where it may not, and says nothing.
            Hand::Zero => _ = self.pan.set_zero(),
            Hand::Tare => _ = self.pan.set_tare(),
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
                let taken = (self.draw_rate * INNER_S).min(self.to_draw).min(self.in_cup);
                self.in_cup -= taken;
                self.to_draw = if self.in_cup > 0.0 { self.to_draw - taken } else { 0.0 };
            }
        }
        let pushed = self.disturbance.pass(INNER_S);
        self.pan.sample((self.load(), pushed), INNER_S, &mut self.tremble);
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
        let gross = self.pan.gross();
        let condition = if gross > float(self.spec.capacity) + BEYOND * self.division {
            Condition::Over
        } else if gross < -BELOW * self.division {
            Condition::Under
        } else {
            Condition::Ok
        };
        let ok = condition == Condition::Ok;
        let unit = if self.in_kilograms { MassUnit::Kilogram } else { MassUnit::Gram };
        Frame {
            value: ok.then(|| self.in_divisions(self.pan.shown())).map(|value| self.in_unit(value)),
            unit: Some(unit),
            unit_text: unit.symbol().into(),
            stability: if self.pan.is_still() { Stability::Stable } else { Stability::Moving },
            mode: if self.pan.is_tared() { Mode::Net } else { Mode::Gross },
            centre_of_zero: Some(ok && gross.abs() <= self.division / 4.0),
            condition,
            high_resolution: false,
        }
    }

    /// Rounded to whole divisions, with the division's own decimals.
    fn in_divisions(&self, mass: f64) -> Decimal {
        let steps = Decimal::from_f64((mass / self.division).round()).unwrap_or_default();
        let step = self.spec.division.grams().decimal();
        let mut value = steps.checked_mul(step).unwrap_or_default();
        value.rescale(self.spec.division.decimals());
        value
    }

    /// Grams as the chosen unit has them.
    fn in_unit(&self, grams: Decimal) -> Decimal {
        if self.in_kilograms { in_kilograms(grams) } else { grams }
    }

    /// The bytes in which a scale of that shape sends it: see [`encode_nearest`].
    pub fn bytes(&self, shape: &dyn Shape) -> Vec<u8> {
        encode_nearest(&self.frame(), shape)
    }

    /// The bytes in which a scale of that shape answers what it was asked; nothing where it answers nothing. A zero
    /// or tare that is not possible just now is refused as the shape refuses it.
    pub fn answer(&mut self, what: Ask, shape: &dyn Shape) -> Vec<u8> {
        let (done, refusal) = match what {
            Ask::Now => return self.bytes(shape),
            Ask::WhenStable => return [accepted(what, shape), self.bytes(shape)].concat(),
            Ask::Zero => (self.pan.set_zero(), Condition::ZeroError),
            Ask::Tare => (self.pan.set_tare(), Condition::TareError),
            Ask::ClearTare => {
                self.pan.clear_tare();
                (true, Condition::TareError)
            }
            Ask::NextUnit => {
                self.in_kilograms = !self.in_kilograms;
                return self.bytes(shape);
            }
            Ask::About | Ask::AboutNext | Ask::Information | Ask::InformationNext => {
                // One that tells of itself in a single line has a text of its own; nothing is known of it here.
                let in_lines = shape.ask(Ask::InformationNext).is_some();
                let answer = if in_lines { self.plate.answer(what, &self.spec) } else { Answer::Unknown };
                return shape.reply(what, &answer).unwrap_or_default();
            }
            Ask::Repeat | Ask::Stop => return Vec::new(),
        };
        let word = if done { Answer::Done } else { Answer::Refused("the load moves".to_owned()) };
        match shape.reply(what, &word) {
            Some(bytes) if done => [accepted(what, shape), bytes].concat(),
            Some(bytes) => bytes,
            // Where the answer is a weight, its status says how it went.
            None if done => self.bytes(shape),
            // Where it has no word for a refusal, nothing is said: "not ready" would be another thing.
            None => encode(&Frame { condition: refusal, value: None, ..self.frame() }, shape),
        }
    }
}

/// The first of two steps, where the shape answers in two.
fn accepted(what: Ask, shape: &dyn Shape) -> Vec<u8> {
    shape.reply(what, &Answer::Accepted).unwrap_or_default()
}

/// The bytes in which a scale of that shape sends the frame, as near as the shape can say it: without gross or net
/// where it has neither, as gross where it always tells and nothing is known, in kilograms where it has no grams,
/// and as not ready where it has no word for what is wrong. Nothing where it cannot say even that: such a scale
/// falls silent.
pub fn encode_nearest(frame: &Frame, shape: &dyn Shape) -> Vec<u8> {
    let bytes = encode(frame, shape);
    if !bytes.is_empty() {
        return bytes;
    }
    let mut frame = frame.clone();
    if frame.unit == Some(MassUnit::Gram) {
        let unit = MassUnit::Kilogram;
        (frame.unit, frame.unit_text) = (Some(unit), unit.symbol().into());
        frame.value = frame.value.map(in_kilograms);
    }
    let bytes = encode(&frame, shape);
    if bytes.is_empty() && frame.condition != Condition::Ok {
        return encode(&Frame { condition: Condition::NotReady, ..frame }, shape);
    }
    bytes
}

fn encode(frame: &Frame, shape: &dyn Shape) -> Vec<u8> {
    let other = if frame.mode == Mode::Unknown { Mode::Gross } else { Mode::Unknown };
    let bytes = shape.encode(frame);
    if bytes.is_empty() { shape.encode(&Frame { mode: other, ..frame.clone() }) } else { bytes }
}

/// Grams in kilograms, with three decimals more.
fn in_kilograms(grams: Decimal) -> Decimal {
    grams.checked_mul(Decimal::from_parts(1, 0, 0, false, 3)).unwrap_or(grams)
}

fn float(mass: Grams) -> f64 {
    mass.decimal().to_f64().unwrap_or(0.0)
}

#[cfg(test)]
mod tests;
