//! One pour at the virtual bench by a painter with hands: one who heeds what he is told, or one who watches the number.
//! Both have the same reactions and the same unsteady hand, drawn from the same seed.

use pourbook::mix::{Advice, Approach, Goal, Lag, Lesson, Seen, flow};
use pourbook::scale::{Chance, Frame, Hand, STEPS, Spec, Stability, VirtualBench};
use pourbook::units::{Decimal, Division, Grams, Moment};

/// How long it takes from the eye to the hand, in milliseconds: the mean and the spread, and what it is at the least
/// and the most (common practice, no source; two-choice reactions take 370 to 450 ms in tests, read second-hand, and a
/// painter waits for the word).
const REACTION_MS: (f64, f64, f64, f64) = (380.0, 80.0, 220.0, 800.0);
/// How long the hand takes for each step that it tips the tin, in milliseconds (common practice, no source).
const STEP_MS: u64 = 60;
/// How often the hand comes to a step beside the one it means (common practice, no source).
const MISSES: f64 = 0.2;
/// For how long a weight stands before it is taken, in milliseconds.
const DWELL_MS: u64 = 1_200;
/// How many goes a pour has, and how long, before it is called off.
const GOES: u32 = 12;
const LONGEST_MS: u64 = 240_000;

/// What is to be poured, and at what bench.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Task {
    pub(crate) target: f64,
    /// The scale's filter, in seconds.
    pub(crate) follow_s: f64,
    pub(crate) thickness: f64,
    pub(crate) seed: u64,
}

/// How the painter knows when to stop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Painter {
    /// By what he is told.
    Heeds,
    /// By the number alone: he eases off when at this flow the stop would be there in the first so many seconds, and
    /// sets the tin upright when it would be in the second.
    Watches(f64, f64),
}

/// What came of it.
#[derive(Clone, Debug)]
pub(crate) struct Poured {
    pub(crate) over: bool,
    /// Into how many goes it was poured.
    pub(crate) goes: u32,
    /// What is above the most that is right, as a part of the target.
    pub(crate) excess: f64,
    /// How far from the stop, as a part of the target.
    pub(crate) off: f64,
    pub(crate) seconds: f64,
    pub(crate) lessons: Vec<Lesson>,
}

/// Right is within one percent, or a division.
fn goal(target: f64, division: f64) -> Goal {
    let grams = |value: f64| Grams::new(Decimal::try_from((value * 1e3).round() / 1e3).unwrap_or_default());
    let room = (target * 0.01).max(division);
    Goal {
        line: 0,
        missing: grams(target),
        stop: grams(target),
        low: grams(target - room),
        high: grams(target + room),
    }
}

/// Where the hand is and where it is going.
struct Arm {
    chance: Chance,
    step: u8,
    /// Where it goes, and when it makes its next step.
    goes_to: u8,
    moves_at: u64,
    /// What was decided, and when it comes to the hand.
    decided: Option<(u64, u8)>,
    /// A touch: when the tin is to be upright again, decided before it is tipped.
    touch: Option<u64>,
    /// When it last came to where it was going.
    rests_since: u64,
}

impl Arm {
    fn decide(&mut self, step: u8, now: u64) {
        let going = self.decided.map_or(self.goes_to, |(_, step)| step);
        // A hand on its way is stopped by a second thought only where that is the end.
        if step == going || (self.decided.is_some() && step != 0) {
            return;
        }
        let (mean, spread, least, most) = REACTION_MS;
        let reaction = (mean + spread * self.chance.normal()).clamp(least, most);
        self.decided = Some((now + reaction as u64, step));
    }

    /// A touch of a few drops, as long as it takes by what the hand knows of its tin, and less rather than more.
    fn touch(&mut self, to_go: f64, thickness: f64, now: u64) {
        self.decide(1, now);
        let seconds = (0.6 * to_go / flow_of(1, thickness) * (1.0 + 0.2 * self.chance.normal())).max(0.1);
        self.touch = self.decided.map(|(at, _)| at + (seconds * 1e3) as u64);
    }

    fn is_busy(&self) -> bool {
        self.decided.is_some() || self.touch.is_some() || self.step != self.goes_to
    }

    fn pass(&mut self, now: u64, bench: &mut VirtualBench) {
        if let Some((at, step)) = self.decided.filter(|(at, _)| *at <= now) {
            self.decided = None;
            self.goes_to = step;
            if step > 0 && self.touch.is_none() && self.chance.part() < MISSES {
                self.goes_to = if self.chance.part() < 0.5 { step - 1 } else { step + 1 }.clamp(1, STEPS);
            }
            self.moves_at = at;
        }
        if self.touch.is_some_and(|at| at <= now) && self.decided.is_none() {
            (self.touch, self.goes_to, self.moves_at) = (None, 0, now);
        }
        while self.step != self.goes_to && self.moves_at <= now {
            self.moves_at += STEP_MS;
            let more = self.step < self.goes_to;
            self.step = if more { self.step + 1 } else { self.step - 1 };
            bench.hand(if more { Hand::TipMore } else { Hand::TipLess });
            self.rests_since = now;
        }
    }
}

/// With which step to begin for so much: what pours it in about four seconds, as the hand knows its tin.
fn first_step(to_go: f64, thickness: f64) -> u8 {
    (1..=9).rev().find(|step| flow_of(*step, thickness) * 4.0 <= to_go).unwrap_or(1)
}

fn flow_of(step: u8, thickness: f64) -> f64 {
    0.2 * (f64::from(step) * 0.53).exp() / thickness
}

/// So little is poured by a touch, by both, in grams.
const TOUCH: f64 = 1.0;

/// Pours once. `lag` is how far the reading is taken to lie behind, for each flow in grams a second.
pub(crate) fn pour(task: &Task, painter: Painter, lag: &dyn Fn(Grams) -> Lag) -> Poured {
    let spec = Spec { follow_s: task.follow_s, thickness: task.thickness, ..Spec::default() };
    let mut bench = VirtualBench::new(spec, task.seed);
    let division = Division::TENTH.grams();
    let goal = goal(task.target, 0.1);
    let mut arm = Arm {
        chance: Chance::new(task.seed ^ 0x5EED),
        step: 0,
        goes_to: 0,
        moves_at: 0,
        decided: None,
        touch: None,
        rests_since: 0,
    };
    let tare = bench.frame().value.map(Grams::new).unwrap_or_default();
    let mut approach = Approach::default();
    let mut readings: Vec<(Moment, Grams)> = Vec::new();
    let (mut stands, mut since, mut now) = (Grams::ZERO, 0, 0);
    let (mut goes, mut begun, mut lessons) = (0, false, Vec::new());
    let mut ended = false;
    let finished = loop {
        for _ in 0..10 {
            now += 10;
            bench.advance(10);
            arm.pass(now, &mut bench);
        }
        let Frame { value, stability, .. } = bench.frame();
        let Some(reading) = value.map(|value| Grams::new(value) - tare) else { continue };
        readings.push((Moment(now), reading));
        let recent = readings.get(readings.len().saturating_sub(16)..).unwrap_or(&readings);
        let flows = flow(recent, division);
        if stability != Stability::Stable || reading != stands {
            (stands, since) = (reading, now);
        }
        let stood = if stability == Stability::Stable { now - since } else { 0 };
        let seen = Seen { at: Moment(now), reading, flow: flows, rests: stood >= 500 };
        approach.follow(&seen, &goal, division, &lag(flows.unwrap_or_default()));
        lessons.extend(approach.take_lesson());

        let to_go = float(goal.stop - reading);
        // Nobody tips a tin that is to be set upright, or one whose cup has not come to rest yet.
        if !begun || (ended && stood >= DWELL_MS && !arm.is_busy()) {
            if begun && (reading >= goal.low || goes >= GOES) {
                break reading;
            }
            (begun, ended, goes) = (true, false, goes + 1);
            let drops = painter == Painter::Heeds && approach.advice() == Some(Advice::Drops);
            if to_go <= TOUCH {
                arm.touch(to_go, task.thickness, now);
                ended = true;
            } else {
                arm.decide(if drops { 1 } else { first_step(to_go, task.thickness) }, now);
            }
        } else if !ended {
            // What he sees of the flow he sees in the number: both see the same.
            let flowing = flows.map_or(0.0, float);
            let in_time = |seconds: f64| flowing > 0.0 && to_go <= flowing * seconds;
            let (stop, ease) = match painter {
                Painter::Heeds => {
                    let advice = approach.advice();
                    (advice == Some(Advice::Upright), advice == Some(Advice::EaseOff))
                }
                Painter::Watches(ease, stop) => (in_time(stop), in_time(ease) && arm.step > 1),
            };
            let settled = !arm.is_busy() && now - arm.rests_since >= 400;
            if stop || reading >= goal.stop {
                arm.decide(0, now);
                ended = true;
            } else if ease && settled {
                arm.decide(arm.step.saturating_sub(2).max(1), now);
            } else if settled && !in_time(8.0) && now - arm.rests_since >= 1_000 && arm.step < 9 {
                arm.decide(arm.step + 1, now);
            }
        }
        if now > LONGEST_MS {
            break reading;
        }
    };
    let most = float(goal.high);
    Poured {
        over: finished > goal.high,
        goes,
        excess: (float(finished) - most).max(0.0) / task.target,
        off: (float(finished) - task.target).abs() / task.target,
        #[expect(clippy::cast_precision_loss, reason = "minutes in milliseconds")]
        seconds: now as f64 / 1_000.0,
        lessons,
    }
}

fn float(mass: Grams) -> f64 {
    mass.decimal().to_string().parse().unwrap_or(0.0)
}

/// The filters of the scales that are poured at, in seconds: quick ones to those that take a second.
pub(crate) const SCALES_S: [f64; 6] = [0.1, 0.18, 0.35, 0.5, 0.75, 1.0];

/// So many pours at one scale: targets from 2 g to 400 g, evenly by their logarithm, and thin to thick paint.
pub(crate) fn tasks(follow_s: f64, pours: u64, seed: u64) -> Vec<Task> {
    let mut chance = Chance::new(seed ^ (follow_s * 1e3) as u64);
    let mut task = |_| Task {
        target: ((2.0_f64 * 200.0_f64.powf(chance.part())) * 10.0).round() / 10.0,
        follow_s,
        thickness: 0.6 * 4.0_f64.powf(chance.part()),
        seed: chance.next(),
    };
    (0..pours).map(&mut task).collect()
}

/// What is known of the lag while one pours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Learns {
    /// What is taken for it before anything is learned.
    Nothing,
    /// One lag for the scale.
    One,
    /// One for a dribble and one for a stream.
    Two,
}

/// What counts as a dribble, in tenths of a gram a second.
const DRIBBLE: i64 = 10;

/// All pours at all scales, one after another at each.
pub(crate) fn all(pours: u64, seed: u64, painter: Painter, learns: Learns) -> Vec<(Task, Poured)> {
    let at_scale = |follow_s: f64| {
        let mut lags = [Lag::default(), Lag::default()];
        let which =
            |flow: Grams| usize::from(learns == Learns::Two && flow < Grams::new(Decimal::new(DRIBBLE, 1)));
        let mut came = Vec::new();
        for task in tasks(follow_s, pours, seed) {
            let known = lags.clone();
            let poured = pour(&task, painter, &|flow| known[which(flow)].clone());
            for lesson in poured.lessons.iter().filter(|_| learns != Learns::Nothing) {
                lags[which(lesson.flow)].learn(lesson);
            }
            came.push((task, poured));
        }
        came
    };
    SCALES_S.into_iter().flat_map(at_scale).collect()
}
