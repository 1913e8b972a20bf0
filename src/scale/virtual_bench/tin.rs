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
    pub(super) holds: f64,
    size: f64,
    step: u8,
    flow: f64,
    /// Drops still on the lip.
    drops: u8,
    drop_in: f64,
    /// What drips from it for as long as it is upright, in grams a second, and what hangs on the lip of that.
    drips: f64,
    hangs: f64,
    /// How thick what is in it is.
    thickness: f64,
}

impl Tin {
    /// A full tin of that many grams, upright.
    pub(super) const fn full(size: f64) -> Self {
        Self {
            holds: size,
            size,
            step: 0,
            flow: 0.0,
            drops: 0,
            drop_in: 0.0,
            drips: 0.0,
            hangs: 0.0,
            thickness: 1.0,
        }
    }

    /// The same of something so thick.
    pub(super) fn thick(self, thickness: f64) -> Self {
        Self { thickness: thickness.max(0.05), ..self }
    }

    /// A full one in its place, that drips as this one did.
    pub(super) const fn next(&self, size: f64) -> Self {
        Self { drips: self.drips, thickness: self.thickness, ..Self::full(size) }
    }

    /// From now on it drips so many grams a second while it is upright.
    pub(super) const fn drip(&mut self, rate: f64) {
        self.drips = rate;
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
        let goal = flow_at(f64::from(self.step)) * (0.4 + 0.6 * head) / self.thickness;
        self.flow += (goal - self.flow) * (seconds / (FOLLOW_S * self.thickness)).min(1.0);
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
        if self.step == 0 && self.drips > 0.0 {
            self.hangs += self.drips * seconds;
            if self.hangs >= DROP_G {
                self.hangs -= DROP_G;
                leaves += DROP_G;
            }
        }
        let leaves = leaves.min(self.holds);
        self.holds -= leaves;
        leaves
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn poured(tin: &mut Tin, seconds: u16) -> f64 {
        (0..seconds * 100).map(|_| tin.pour(0.01)).sum()
    }

    #[test]
    fn from_a_thread_to_a_gush() {
        let flow_of_a_full_tin = |step| {
            let mut tin = Tin::full(1e9);
            tin.tip(step);
            poured(&mut tin, 5);
            poured(&mut tin, 1)
        };
        assert!((0.2..0.5).contains(&flow_of_a_full_tin(1)));
        assert!((35.0..45.0).contains(&flow_of_a_full_tin(STEPS)));
        assert!((35.0..45.0).contains(&flow_of_a_full_tin(STEPS + 1)), "no further than the last step");
    }

    #[test]
    fn it_pours_slower_as_it_empties() {
        let mut tin = Tin::full(1_000.0);
        tin.tip(8);
        poured(&mut tin, 5);
        let full = poured(&mut tin, 1);
        poured(&mut tin, 40);
        let low = poured(&mut tin, 1);
        assert!(tin.holds > 0.0 && low < full * 0.9, "{low} of {full}, {} left", tin.holds);
    }

    #[test]
    fn the_flow_lags_the_hand() {
        let mut tin = Tin::full(1_000.0);
        tin.tip(9);
        let at_once = tin.pour(0.01);
        poured(&mut tin, 2);
        let later = tin.pour(0.01);
        assert!(at_once < later * 0.1, "{at_once} {later}");
        tin.tip(0);
        let still = tin.pour(0.01);
        assert!(still > later * 0.9, "{still} {later}");
    }

    #[test]
    fn set_upright_it_drips_a_little_and_then_no_more() {
        let mut tin = Tin::full(1_000.0);
        tin.tip(3);
        poured(&mut tin, 3);
        tin.tip(0);
        // The flow has run off within two seconds; what still comes after the first drop is drops alone.
        poured(&mut tin, 1);
        let dripped = poured(&mut tin, 4);
        assert!((0.01..0.1).contains(&dripped), "{dripped}");
        assert!(poured(&mut tin, 10).abs() < f64::EPSILON);
    }

    #[test]
    fn one_that_drips_does_so_by_the_drop_and_only_upright() {
        let mut tin = Tin::full(1_000.0);
        tin.drip(0.03);
        let dripped = poured(&mut tin, 60);
        assert!((1.76..=1.81).contains(&dripped), "{dripped}");
        assert!((poured(&mut tin.next(5.0), 60) - dripped).abs() < 0.031);
        tin.drip(0.0);
        assert!(poured(&mut tin, 10).abs() < f64::EPSILON);
    }

    #[test]
    fn what_is_thicker_runs_slower_and_longer() {
        let of = |thickness| {
            let mut tin = Tin::full(1e9).thick(thickness);
            tin.tip(5);
            poured(&mut tin, 10);
            let flows = poured(&mut tin, 1);
            tin.tip(0);
            (flows, poured(&mut tin, 10))
        };
        let ((thin, runs_off), (thick, runs_off_thick)) = (of(1.0), of(2.0));
        assert!((thin / thick - 2.0).abs() < 0.01, "{thin} {thick}");
        // Half as fast for twice as long.
        assert!((runs_off / runs_off_thick - 1.0).abs() < 0.1, "{runs_off} {runs_off_thick}");
    }

    #[test]
    fn never_tipped_it_never_drips() {
        let mut tin = Tin::full(1_000.0);
        tin.tip(0);
        assert!(poured(&mut tin, 5).abs() < f64::EPSILON);
    }
}
