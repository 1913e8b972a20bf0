//! What disturbs a bench that nobody touches: a floor that shakes, a draught, warmth. Nothing, unless it is asked for.

use super::chance::Chance;
use std::f64::consts::TAU;

/// How quickly a floor shakes, in turns a second: a compressor or a lorry (common practice, no source).
const SHAKES_HZ: f64 = 7.3;
/// How long a draught remembers itself, in seconds (common practice, no source).
const WANDER_S: f64 = 1.5;

/// What it adds to what the pan feels, in grams.
#[derive(Clone, Debug)]
pub(super) struct Disturbance {
    /// How far the floor shakes it, either way.
    pub(super) shake: f64,
    /// How far a draught pushes it, as a rule.
    pub(super) draught: f64,
    /// How fast warmth carries it away, in grams a second.
    pub(super) drift: f64,
    phase: f64,
    wander: f64,
    drifted: f64,
    /// A stream of its own, so that nothing else trembles otherwise for it.
    chance: Chance,
}

impl Disturbance {
    pub(super) const fn none(seed: u64) -> Self {
        let chance = Chance::new(seed);
        Self { shake: 0.0, draught: 0.0, drift: 0.0, phase: 0.0, wander: 0.0, drifted: 0.0, chance }
    }

    /// What it adds after so many more seconds.
    pub(super) fn pass(&mut self, seconds: f64) -> f64 {
        self.drifted += self.drift * seconds;
        if self.shake == 0.0 && self.draught == 0.0 {
            self.wander = 0.0;
            return self.drifted;
        }
        self.phase = (self.phase + seconds * SHAKES_HZ) % 1.0;
        // Wanders about nothing with a spread of one, however finely the time is cut.
        let keeps = (-seconds / WANDER_S).exp();
        self.wander = self.wander * keeps + self.chance.normal() * (1.0 - keeps * keeps).sqrt();
        self.drifted + self.shake * (self.phase * TAU).sin() + self.draught * self.wander
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_unless_asked_for() {
        let mut none = Disturbance::none(1);
        assert!((0..1_000).all(|_| none.pass(0.01).abs() < f64::EPSILON));
    }

    #[test]
    fn each_does_what_it_says() {
        let of = |set: &dyn Fn(&mut Disturbance)| -> Vec<f64> {
            let mut it = Disturbance::none(1);
            set(&mut it);
            (0..60_000).map(|_| it.pass(0.01)).collect()
        };
        let most = |all: &[f64]| all.iter().copied().fold(0.0_f64, |most, x| most.max(x.abs()));
        let shake = of(&|it| it.shake = 0.5);
        assert!((0.49..=0.5).contains(&most(&shake)));
        let draught = of(&|it| it.draught = 0.4);
        let spread = (draught.iter().map(|x| x * x).sum::<f64>() / 60_000.0).sqrt();
        assert!((0.3..0.5).contains(&spread), "{spread}");
        let drift = of(&|it| it.drift = 0.001);
        assert!((drift.last().unwrap() - 0.6).abs() < 1e-9, "ten minutes");
    }
}
