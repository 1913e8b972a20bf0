//! The one place where readings become weights.
//!
//! A weight is a reading that is stable, fresh, in range, in a known unit, and confirmed by the next one.
//! Nothing here reads a clock: time comes in with the reading.

mod creep;
mod doubt;
mod pace;
mod run;

pub use doubt::Doubt;

use super::{Condition, Frame, Mode, Reading, Stability};
use crate::units::{Decimal, Division, Grams, MassUnit, Moment};
use creep::Creep;
use pace::Pace;
use run::{Abrupt, Run, Said};

/// What is asked of readings before they count.
///
/// Two of these are the shop's, because only the shop knows its scale: `capacity` and `division`, given with the
/// scale's address. The others are the house's, and right for every scale as they are; a shop that would loosen one
/// gives away what it stands for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rules {
    /// The most the scale can weigh (Max), either way from zero; none if not known.
    pub capacity: Option<Grams>,
    /// The scale's division; without one it is taken from the decimals the scale sends.
    pub division: Option<Division>,
    /// From this age in milliseconds on, a reading counts for nothing.
    pub stale_after_ms: u64,
    /// Without a stability flag, the number must have stood still for that many milliseconds.
    pub unknown_window_ms: u64,
    /// Without a stability flag, at least that many readings must agree.
    pub unknown_count: u32,
    /// How many readings have to say the very same. One more is wanted on a line that showed damage, and one more
    /// after a change that came without the scale having moved. Four is the most that is ever asked.
    pub same_count: u32,
    /// For how many readings a sign of damage on the line is remembered.
    pub wary_count: u32,
    /// Readings closer together than that, in milliseconds, are one piece of evidence: a scale says no more by
    /// saying it faster, and what was held up on its way comes in a burst.
    pub apart_ms: u64,
    /// Steps the same way that are no further apart than that, in milliseconds, are creep.
    pub creep_ms: u64,
}

impl Default for Rules {
    fn default() -> Self {
        Self {
            capacity: None,
            division: None,
            stale_after_ms: 1000,
            unknown_window_ms: 1000,
            unknown_count: 4,
            same_count: 2,
            wary_count: 600,
            apart_ms: 40,
            creep_ms: 10_000,
        }
    }
}

/// A weight that may go into the book. Only [`Settle`] makes one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Weight {
    grams: Grams,
    at: Moment,
    division: Division,
    mode: Mode,
}

impl Weight {
    /// What the scale says is on the pan.
    pub const fn grams(&self) -> Grams {
        self.grams
    }

    /// When the reading that settled it arrived.
    pub const fn at(&self) -> Moment {
        self.at
    }

    /// The step it was weighed in: the scale's own, or that of the decimals sent if that is coarser.
    pub const fn division(&self) -> Division {
        self.division
    }

    /// How many decimals of a gram it is good for.
    pub fn decimals(&self) -> u32 {
        self.division.decimals()
    }

    /// Whether the scale showed gross or net. Two weights of different modes cannot be subtracted.
    pub const fn mode(&self) -> Mode {
        self.mode
    }

    /// Whether it is so near zero that a scale which tracks its zero may be swallowing what flows in slowly: half a
    /// division a second (OIML R 76, 4.5.7, from memory). Nothing should be poured onto such a weight if it can be
    /// helped, and the bench says so; that it happens cannot be seen from here.
    pub fn may_be_tracked(&self) -> bool {
        let twice = self.grams.abs() + self.grams.abs();
        twice <= self.division.grams()
    }
}

/// What can be said of the scale after a reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verdict {
    /// What may be drawn, moving or not; none when a number would mislead.
    pub live: Option<Grams>,
    /// The weight, if this reading settled one.
    pub weight: Option<Weight>,
    /// Why there is no weight. Always there when there is none.
    pub doubt: Option<Doubt>,
    /// Whether the scale shows gross or net, as it last said. Net is no error, but a screen should say so.
    pub mode: Mode,
    /// Whether the weight went the same way step by step while the scale stood still, as under a tin that drips: a
    /// person may take it, nothing takes it by itself. [`Doubt::Creeps`] says so in words.
    pub creeps: bool,
}

/// Turns one scale's readings into weights.
///
/// | what happens | what is said | when it counts again |
/// |---|---|---|
/// | the scale moves | [`Doubt::Moving`] | two equal readings at rest |
/// | a format without a flag | [`Doubt::NotSteady`] | four readings and a second, within a division, the last said twice |
/// | one reading at rest | [`Doubt::NotConfirmed`] | the same again, next or next but one |
/// | noise, a wrong parity, a number that jumped and came back | [`Doubt::Damaged`] | for 600 readings one equal reading more |
/// | a jump, or other decimals, without a movement, at a scale that says when it moves | [`Doubt::Jump`], [`Doubt::ResolutionChanged`] | three equal readings; four on a damaged line |
/// | another unit, gross for net, another resolution | [`Doubt::UnitChanged`], [`Doubt::ModeChanged`], [`Doubt::ResolutionChanged`] | the same |
/// | a burst after a gap, a frame repeated faster than the scale sends | what was said before | with the next reading at the usual pace |
/// | a second of silence, a link that was lost | [`Doubt::Stale`], [`Doubt::Silent`] | two equal readings from after it |
/// | a moment before the last one's | [`Doubt::OutOfOrder`] | two equal readings after it |
/// | over, under, a fault, no unit, an unknown one, beyond the capacity, the scale's own tare | its own word | two equal readings after it |
/// | one step after another the same way, at rest | a weight, and [`Doubt::Creeps`] | half as long again without a step as the last took |
///
/// What cannot be told from here: a number damaged the same way in every one of the readings asked for; an old frame
/// repeated at the scale's own pace; a scale that is pressed on so steadily that it says it stands still; what a scale
/// swallows by tracking its zero ([`Weight::may_be_tracked`]).
#[derive(Clone, Debug)]
pub struct Settle {
    rules: Rules,
    last: Option<Reading>,
    /// The latest time seen. A reading that is not after it is no evidence.
    latest: Option<Moment>,
    pace: Pace,
    manner: Option<Manner>,
    run: Option<Run>,
    /// What was said before a change that came without a movement.
    left: Option<Said>,
    /// Whether this scale says when it moves: then a change without a movement is suspicious.
    tells_motion: bool,
    /// For how many more readings the line is not trusted.
    wary: u32,
    creep: Creep,
    verdict: Verdict,
}

/// How the scale tells its weights. It has to stay the same while readings confirm each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Manner {
    unit: MassUnit,
    mode: Mode,
    high_resolution: bool,
}

impl Settle {
    /// With nothing heard yet.
    pub const fn new(rules: Rules) -> Self {
        let verdict = Verdict {
            live: None,
            weight: None,
            doubt: Some(Doubt::Silent),
            mode: Mode::Unknown,
            creeps: false,
        };
        Self {
            rules,
            last: None,
            latest: None,
            pace: Pace { counted: None, usual_ms: 0 },
            manner: None,
            run: None,
            left: None,
            tells_motion: false,
            wary: 0,
            creep: Creep { stands: None },
            verdict,
        }
    }

    /// The rules it goes by.
    pub const fn rules(&self) -> &Rules {
        &self.rules
    }

    /// Takes the next reading.
    pub fn feed(&mut self, reading: &Reading) -> Verdict {
        if self.latest.is_some_and(|latest| latest.since(reading.at) > 0) {
            self.run = None;
            self.creep.forget();
            self.verdict = Verdict { mode: self.verdict.mode, ..Verdict::doubtful(Doubt::OutOfOrder) };
            return self.verdict.clone();
        }
        // Listening begins in the middle of a frame: what comes before the first whole one is no sign of damage.
        if reading.noise_before > 0 && self.latest.is_some() {
            self.wary = self.rules.wary_count;
        }
        let hurries = self.pace.hurries(reading.at, self.rules.apart_ms);
        let continues =
            self.latest.is_some_and(|latest| reading.at.since(latest) < self.rules.stale_after_ms);
        self.latest = Some(reading.at);
        if hurries && self.says_nothing_new(reading) {
            self.widen(reading);
            return self.verdict.clone();
        }
        if hurries || !continues {
            self.run = None;
        }
        if !continues {
            self.creep.forget();
        }
        self.pace.count(reading.at, self.rules.apart_ms, self.rules.stale_after_ms);
        self.last = Some(reading.clone());
        let mut verdict = self.judge(reading);
        verdict.creeps = self.creep.take(verdict.weight.as_ref(), reading.at, &self.rules);
        self.wary = self.wary.saturating_sub(1);
        self.verdict = verdict;
        self.verdict.clone()
    }

    /// Whether a reading that comes too soon only repeats what is known, give or take a division.
    fn says_nothing_new(&self, reading: &Reading) -> bool {
        let frame = &reading.frame;
        let Some(last) = &self.last else { return false };
        // Equal numbers may differ in their decimals, and those are another manner of saying it.
        let decimals = |frame: &Frame| frame.value.map(|value| value.scale());
        if last.frame == *frame && decimals(&last.frame) == decimals(frame) {
            return true;
        }
        let (Some(run), Some(value), Some(unit)) = (&self.run, frame.value, frame.unit) else { return false };
        let Some(division) = self.division(value.scale(), unit) else { return false };
        frame.condition == Condition::Ok && run.admits(Said::of(reading, value, unit), division)
    }

    /// One that comes too soon confirms nothing, but what it said has to fit with what follows: a load that swings over
    /// more than a division is not at rest because some of its readings came in a burst.
    fn widen(&mut self, reading: &Reading) {
        let (Some(value), Some(unit)) = (reading.frame.value, reading.frame.unit) else { return };
        if let Some(run) = &mut self.run {
            run.widen(Said::of(reading, value, unit));
        }
    }

    /// What can be said now, if nothing came since.
    pub fn look(&self, now: Moment) -> Verdict {
        match self.latest {
            Some(latest) if now.since(latest) >= self.rules.stale_after_ms => {
                Verdict { mode: self.verdict.mode, ..Verdict::doubtful(Doubt::Stale) }
            }
            _ => self.verdict.clone(),
        }
    }

    /// The link was lost: nothing said before counts after. That the line showed damage is remembered.
    pub fn reset(&mut self) {
        *self = Self { wary: self.wary, ..Self::new(self.rules.clone()) };
    }

    fn judge(&mut self, reading: &Reading) -> Verdict {
        let frame = &reading.frame;
        let before = self.run.take();
        let mode = self.verdict.mode;
        let doubtful = |doubt| Verdict { mode, ..Verdict::doubtful(doubt) };
        if let Some(doubt) = Option::<Doubt>::from(&frame.condition) {
            return doubtful(doubt);
        }
        if frame.mode == Mode::Tare {
            return doubtful(Doubt::ShowsTare);
        }
        let Some(value) = frame.value else { return doubtful(Doubt::NotReady) };
        let Some(unit) = frame.unit else {
            return doubtful(match (frame.unit_text.as_str(), frame.stability) {
                ("", Stability::Moving) => Doubt::Moving,
                ("", _) => Doubt::NoUnit,
                (unit, _) => Doubt::UnknownUnit(unit.to_owned()),
            });
        };
        let said = Said::of(reading, value, unit);
        if let Some(capacity) = self.rules.capacity.filter(|capacity| said.grams.abs() > *capacity) {
            return doubtful(Doubt::OutOfRange(capacity));
        }
        let Some(division) = self.division(value.scale(), unit) else { return doubtful(Doubt::NotReady) };
        let changed = self.manner.replace(said.manner).and_then(|before| said.manner.changed_from(before));
        if frame.stability == Stability::Moving {
            (self.tells_motion, self.left) = (true, None);
            return said.but(changed.unwrap_or(Doubt::Moving));
        }
        let run = match before.as_ref().and_then(|run| run.with(said, division)) {
            Some(run) => run,
            None => Run::new(said, reading.at, self.abrupt(before.as_ref(), said, changed, division)),
        };
        self.run = Some(run.clone());
        self.at_rest(&run, reading.at, division)
    }

    /// What changed where a run begins, if the scale did not say that it moved. What jumps and comes back was damaged
    /// on its way.
    fn abrupt(
        &mut self,
        before: Option<&Run>,
        said: Said,
        changed: Option<Doubt>,
        division: Division,
    ) -> Option<Abrupt> {
        let came_back = before.is_some_and(|run| run.count == 1)
            && self.left.is_some_and(|left| said.is_near(left, division));
        if came_back {
            self.wary = self.rules.wary_count;
        }
        self.left = before.filter(|_| !came_back).map(Run::newest);
        // What is back where it was is as likely as ever; that the line is not is remembered.
        if let Some(doubt) = changed {
            return Some(Abrupt { doubt, suspicious: !came_back });
        }
        let before = before.filter(|_| !came_back)?.newest();
        let suspicious = self.tells_motion && said.stability == before.stability;
        if said.decimals != before.decimals && suspicious {
            return Some(Abrupt { doubt: Doubt::ResolutionChanged, suspicious });
        }
        let is_far = (said.grams - before.grams).abs() > division.grams();
        is_far.then_some(Abrupt { doubt: Doubt::Jump, suspicious })
    }

    /// What the readings at rest amount to.
    fn at_rest(&self, run: &Run, at: Moment, division: Division) -> Verdict {
        let said = run.newest();
        let needed = self.rules.same_count.saturating_add(u32::from(self.wary > 0));
        let suspicious = run.abrupt.as_ref().is_some_and(|abrupt| abrupt.suspicious);
        let asked = needed.saturating_add(u32::from(suspicious));
        let long =
            at.since(run.since) >= self.rules.unknown_window_ms && run.count >= self.rules.unknown_count;
        if run.is_said(asked) {
            if said.stability == Stability::Unknown && !long {
                return said.but(Doubt::NotSteady);
            }
            let weight = Weight { grams: said.grams, at, division, mode: said.manner.mode };
            return Verdict { weight: Some(weight), doubt: None, ..said.but(Doubt::NotConfirmed) };
        }
        said.but(match &run.abrupt {
            Some(abrupt) => abrupt.doubt.clone(),
            None if said.stability == Stability::Unknown && !long => Doubt::NotSteady,
            None if run.is_said(self.rules.same_count) => Doubt::Damaged,
            None => Doubt::NotConfirmed,
        })
    }

    /// The scale's division, or one of the last decimal sent where that is coarser or nothing is known.
    fn division(&self, decimals: u32, unit: MassUnit) -> Option<Division> {
        let sent = Division::new(Grams::from_unit(Decimal::new(1, decimals), unit).decimal())?;
        Some(self.rules.division.map_or(sent, |known| known.max(sent)))
    }
}

impl Said {
    fn of(reading: &Reading, value: Decimal, unit: MassUnit) -> Self {
        let frame = &reading.frame;
        let manner = Manner { unit, mode: frame.mode, high_resolution: frame.high_resolution };
        let grams = Grams::from_unit(value, unit);
        Self { grams, decimals: value.scale(), manner, stability: frame.stability }
    }

    /// It may be drawn, but is no weight. A number in another unit or of another kind would mislead.
    fn but(self, doubt: Doubt) -> Verdict {
        let misleads = matches!(doubt, Doubt::UnitChanged(_) | Doubt::ModeChanged(_));
        let live = (!misleads).then_some(self.grams);
        Verdict { live, weight: None, doubt: Some(doubt), mode: self.manner.mode, creeps: false }
    }
}

impl Manner {
    fn changed_from(self, before: Self) -> Option<Doubt> {
        if self.unit != before.unit {
            Some(Doubt::UnitChanged(self.unit))
        } else if self.mode != before.mode {
            Some(Doubt::ModeChanged(self.mode))
        } else if self.high_resolution != before.high_resolution {
            Some(Doubt::ResolutionChanged)
        } else {
            None
        }
    }
}

impl Verdict {
    const fn doubtful(doubt: Doubt) -> Self {
        Self { live: None, weight: None, doubt: Some(doubt), mode: Mode::Unknown, creeps: false }
    }
}

#[cfg(test)]
mod tests;
