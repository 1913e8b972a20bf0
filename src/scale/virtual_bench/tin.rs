//! A tin in a hand: tipped more it pours faster, set upright it drips, and it can run empty.

/// How far a tin can be tipped, in steps.
pub const STEPS: u8 = 10;

/// How fast paint leaves a full tin at each step, in g/s, from a thread to a gush. Chosen so that a step is felt
/// (common practice, no source).
fn flow_at(step: f64) -> f64 {
    if step <= 0.0 { 0.0 } else { 0.2 * (step * 0.53).exp() }
}

/// How quickly the flow follows the hand, in seconds.
const FOLLOW_S: f64 = 0.25;
/// A drop, in grams.
const DROP_G: f64 = 0.03;

/// A tin and how it is held.
#[derive(Clone, Debug)]
pub(super) struct Tin {
    /// What is in it, in grams.
    pub holds: f64,
    size: f64,
    step: u8,
    flow: f64,
    /// Drops still on the lip.
    drops: u8,
    drop_in: f64,
}

impl Tin {
    /// A full tin of that many grams, upright.
    pub(super) const fn full(size: f64) -> Self {
        Self { holds: size, size, step: 0, flow: 0.0, drops: 0, drop_in: 0.0 }
    }

    /// How far it is tipped, in steps.
    pub(super) const fn step(&self) -> u8 {
        self.step
    }

    /// Tips it to that step.
    pub(super) fn tip(&mut self, step: u8) {
        let step = step.min(STEPS);
        if step == 0 && self.step > 0 && self.holds > 0.0 {
            self.drops = 4;
            self.drop_in = 0.4;
        }
        self.step = step;
    }

    /// What leaves it within `seconds`, in grams.
    pub(super) fn pour(&mut self, seconds: f64) -> f64 {
        let head = (self.holds / self.size).clamp(0.0, 1.0).sqrt();
        let goal = flow_at(f64::from(self.step)) * (0.4 + 0.6 * head);
        self.flow += (goal - self.flow) * (seconds / FOLLOW_S).min(1.0);
        if self.step == 0 && self.flow < 0.01 {
            self.flow = 0.0;
        }
        let mut leaves = self.flow * seconds;
        if self.step == 0 && self.drops > 0 {
            self.drop_in -= seconds;
            if self.drop_in <= 0.0 {
                self.drops -= 1;
                leaves += DROP_G * f64::from(self.drops) / 3.0;
                self.drop_in = 0.35 * f64::from(5 - self.drops);
            }
        }
        let leaves = leaves.min(self.holds);
        self.holds -= leaves;
        leaves
    }
}
