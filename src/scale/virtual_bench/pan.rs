//! A scale's pan: it lags, settles, trembles a little, and says when it stands still.

use super::chance::Chance;
use std::collections::VecDeque;

/// How quickly the reading follows the load unless it is made otherwise, in seconds.
pub(super) const FOLLOW_S: f64 = 0.18;
/// Over how many samples the pan must have stood still, at [`super::INNER_MS`] each: half a second.
const STILL: usize = 50;

/// The weighing part.
#[derive(Clone, Debug)]
pub(super) struct Pan {
    reading: f64,
    division: f64,
    follow_s: f64,
    capacity: f64,
    recent: VecDeque<f64>,
    /// What somebody leaning on the bench adds, dying away.
    bump: f64,
    zero: f64,
    tare: f64,
    tracks_zero: bool,
}

impl Pan {
    pub(super) fn new(division: f64, capacity: f64) -> Self {
        Self {
            reading: 0.0,
            division,
            follow_s: FOLLOW_S,
            capacity,
            recent: VecDeque::with_capacity(STILL),
            bump: 0.0,
            zero: 0.0,
            tare: 0.0,
            tracks_zero: false,
        }
    }

    /// One whose filter follows the load within so many seconds.
    pub(super) fn following(self, seconds: f64) -> Self {
        Self { follow_s: seconds.max(0.01), ..self }
    }

    /// Takes one sample with that load on the pan, and what a disturbance adds to it.
    pub(super) fn sample(&mut self, (load, pushed): (f64, f64), seconds: f64, chance: &mut Chance) {
        self.reading += (load - self.reading) * (seconds / self.follow_s).min(1.0);
        if (load - self.reading).abs() < self.division / 200.0 {
            self.reading = load;
        }
        let moving = (load - self.reading).abs().min(1.0);
        let tremble = self.division * (0.02 + 0.3 * moving) * chance.normal();
        self.bump *= 1.0 - seconds * 4.0;
        let sway = self.bump * chance.normal();
        if self.recent.len() == STILL {
            self.recent.pop_front();
        }
        self.recent.push_back(self.reading + tremble + sway + pushed);
        if self.tracks_zero {
            self.follow_zero(seconds);
        }
    }

    pub(super) fn track_zero(&mut self, tracks: bool) {
        self.tracks_zero = tracks;
    }

    /// Sets what stands near zero to zero, by no more than half a division a second, while it stands still; after a
    /// tare the same at net zero, all within the range of zero (OIML R 76, 4.5.7 and 4.5.1, from memory).
    fn follow_zero(&mut self, seconds: f64) {
        let half = self.division / 2.0;
        let near = [self.shown(), self.gross()].into_iter().find(|off| off.abs() <= half);
        let Some(off) = near.filter(|_| self.is_still()) else { return };
        let zero = self.zero + off.clamp(-half * seconds, half * seconds);
        if zero.abs() <= self.capacity * 0.02 {
            self.zero = zero;
        }
    }

    /// The load is that at once: nothing to wait for.
    pub(super) fn jump(&mut self, load: f64) {
        self.reading = load;
        self.recent.clear();
        self.recent.extend(std::iter::repeat_n(load, STILL));
    }

    pub(super) fn bump(&mut self) {
        self.bump = self.division * 20.0;
    }

    /// Sets zero to what stands there, if it stands still and within the range: 4 % of the capacity in all
    /// (OIML R 76, 4.5.1), taken as 2 % either way of where it was adjusted. Says whether it did.
    pub(super) fn set_zero(&mut self) -> bool {
        let can = self.is_still() && self.reading.abs() <= self.capacity * 0.02;
        if can {
            self.zero = self.reading;
            self.tare = 0.0;
        }
        can
    }

    /// Takes what stands there for the tare, if it stands still (OIML R 76, 4.6, from memory). Says whether it
    /// did.
    pub(super) fn set_tare(&mut self) -> bool {
        let can = self.is_still();
        if can {
            self.tare = self.reading - self.zero;
        }
        can
    }

    pub(super) fn clear_tare(&mut self) {
        self.tare = 0.0;
    }

    pub(super) fn is_tared(&self) -> bool {
        self.tare != 0.0
    }

    /// What the display would show before rounding.
    pub(super) fn shown(&self) -> f64 {
        self.gross() - self.tare
    }

    /// What it weighs, tare or no tare: the mean of the last tenth of a second.
    pub(super) fn gross(&self) -> f64 {
        let last = self.recent.iter().rev().take(10);
        let (sum, count) = last.fold((0.0, 0.0), |(sum, count), sample| (sum + sample, count + 1.0));
        if count > 0.0 { sum / count - self.zero } else { 0.0 }
    }

    /// Whether it stands still: the last half second within one division.
    pub(super) fn is_still(&self) -> bool {
        let (low, high) =
            self.recent.iter().fold((f64::MAX, f64::MIN), |(low, high), &x| (low.min(x), high.max(x)));
        self.recent.len() == STILL && high - low <= self.division
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn weigh(pan: &mut Pan, load: f64, samples: u32, chance: &mut Chance) {
        for _ in 0..samples {
            pan.sample((load, 0.0), 0.01, chance);
        }
    }

    #[test]
    fn it_lags_a_load_and_reaches_it() {
        let (mut pan, mut chance) = (Pan::new(0.1, 7_500.0), Chance::new(1));
        weigh(&mut pan, 100.0, 25, &mut chance);
        // About a time constant in: most of it, and not all.
        assert!((50.0..90.0).contains(&pan.shown()), "{}", pan.shown());
        assert!(!pan.is_still());
        weigh(&mut pan, 100.0, 300, &mut chance);
        assert!((pan.shown() - 100.0).abs() < 0.01, "{}", pan.shown());
        assert!(pan.is_still());
    }

    #[test]
    fn it_does_not_stand_still_before_it_has_for_half_a_second() {
        let (mut pan, mut chance) = (Pan::new(0.1, 7_500.0), Chance::new(1));
        weigh(&mut pan, 0.0, 49, &mut chance);
        assert!(!pan.is_still());
        weigh(&mut pan, 0.0, 1, &mut chance);
        assert!(pan.is_still());
    }

    #[test]
    fn a_thread_of_paint_is_movement() {
        // A third of a gram a second is one step of tilt.
        let (mut pan, mut chance) = (Pan::new(0.1, 7_500.0), Chance::new(1));
        let mut load = 0.0;
        for _ in 0..500 {
            load += 0.0034;
            pan.sample((load, 0.0), 0.01, &mut chance);
        }
        assert!(!pan.is_still());
    }

    #[test]
    fn zero_and_tare_wait_for_rest_and_zero_keeps_its_range() {
        let (mut pan, mut chance) = (Pan::new(0.1, 7_500.0), Chance::new(1));
        weigh(&mut pan, 100.0, 25, &mut chance);
        let moving = pan.shown();
        pan.set_zero();
        pan.set_tare();
        assert!((pan.shown() - moving).abs() < f64::EPSILON && !pan.is_tared());
        // 2 % of 7500 g is 150 g.
        pan.jump(151.0);
        pan.set_zero();
        assert!((pan.gross() - 151.0).abs() < 1e-9);
        pan.jump(149.0);
        pan.set_zero();
        assert!(pan.gross().abs() < 1e-9);
        pan.jump(249.0);
        pan.set_tare();
        assert!(pan.is_tared() && pan.shown().abs() < 1e-9 && (pan.gross() - 100.0).abs() < 1e-9);
    }
}
