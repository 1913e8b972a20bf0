//! The one place where readings become weights.
//!
//! A weight is a reading that is stable, fresh, in range, in a known unit, and confirmed by the next one.
//! Nothing here reads a clock: time comes in with the reading.

mod doubt;

pub use doubt::Doubt;

use super::{Mode, Reading, Stability};
use crate::units::{Decimal, Division, Grams, MassUnit, Moment};

/// What is asked of readings before they count.
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
}

impl Default for Rules {
    fn default() -> Self {
        Self {
            capacity: None,
            division: None,
            stale_after_ms: 1000,
            unknown_window_ms: 1000,
            unknown_count: 4,
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
}

/// Turns one scale's readings into weights.
#[derive(Clone, Debug)]
pub struct Settle {
    rules: Rules,
    last: Option<Reading>,
    /// The latest time seen. A reading that is not after it is no evidence.
    latest: Option<Moment>,
    manner: Option<Manner>,
    run: Option<Run>,
    verdict: Verdict,
}

/// How the scale tells its weights. It has to stay the same while readings confirm each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Manner {
    unit: MassUnit,
    mode: Mode,
    high_resolution: bool,
}

/// Readings without a break, all at rest and within one division.
#[derive(Clone, Copy, Debug)]
struct Run {
    stability: Stability,
    decimals: u32,
    since: Moment,
    least: Grams,
    most: Grams,
    /// The last three values, the newest first.
    recent: [Option<Grams>; 3],
    count: u32,
}

impl Run {
    const fn new(value: Grams, decimals: u32, stability: Stability, at: Moment) -> Self {
        Self {
            stability,
            decimals,
            since: at,
            least: value,
            most: value,
            recent: [Some(value), None, None],
            count: 1,
        }
    }

    /// The run with one more value; `None` if the value breaks it.
    fn with(mut self, value: Grams, decimals: u32, stability: Stability, division: Division) -> Option<Self> {
        self.least = self.least.min(value);
        self.most = self.most.max(value);
        if (self.stability, self.decimals) != (stability, decimals)
            || self.most - self.least > division.grams()
        {
            return None;
        }
        let [newest, before, _] = self.recent;
        self.recent = [Some(value), newest, before];
        self.count = self.count.saturating_add(1);
        Some(self)
    }

    /// Whether the value is more than a division away from the newest one here.
    fn is_far_from(&self, value: Grams, division: Division) -> bool {
        let [newest, ..] = self.recent;
        newest.is_some_and(|newest| (value - newest).abs() > division.grams())
    }

    /// Whether the newest value was said by one of the two readings before it as well.
    ///
    /// The very same value, not one a division off: a digit damaged on the wire would confirm itself
    /// otherwise. Two readings back, not one: a load between two divisions flickers, and is at rest.
    fn is_confirmed(&self) -> bool {
        let [newest, before, earlier] = self.recent;
        newest == before || newest == earlier
    }
}

impl Settle {
    /// With nothing heard yet.
    pub const fn new(rules: Rules) -> Self {
        let verdict = Verdict { live: None, weight: None, doubt: Some(Doubt::Silent), mode: Mode::Unknown };
        Self { rules, last: None, latest: None, manner: None, run: None, verdict }
    }

    /// The rules it goes by.
    pub const fn rules(&self) -> &Rules {
        &self.rules
    }

    /// Takes the next reading.
    pub fn feed(&mut self, reading: &Reading) -> Verdict {
        if self.latest == Some(reading.at) && self.last.as_ref() == Some(reading) {
            return self.verdict.clone();
        }
        if self.latest.is_some_and(|latest| latest.since(reading.at) > 0) {
            self.run = None;
            self.verdict = Verdict { mode: self.verdict.mode, ..Verdict::doubtful(Doubt::OutOfOrder) };
            return self.verdict.clone();
        }
        let continues = self.latest.is_some_and(|latest| {
            latest < reading.at && reading.at.since(latest) < self.rules.stale_after_ms
        });
        if !continues {
            self.run = None;
        }
        self.latest = Some(reading.at);
        self.last = Some(reading.clone());
        self.verdict = self.judge(reading);
        self.verdict.clone()
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

    /// The link was lost: nothing said before counts after.
    pub fn reset(&mut self) {
        *self = Self::new(self.rules.clone());
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
        let grams = Grams::from_unit(value, unit);
        if let Some(capacity) = self.rules.capacity.filter(|capacity| grams.abs() > *capacity) {
            return doubtful(Doubt::OutOfRange(capacity));
        }
        let manner = Manner { unit, mode: frame.mode, high_resolution: frame.high_resolution };
        let changed = self.manner.replace(manner).and_then(|before| manner.changed_from(before));
        if changed.is_none()
            && let Some(division) = self.division(value.scale(), unit)
        {
            return self.at_rest_or_moving(before, reading, grams, value.scale(), division);
        }
        if frame.stability != Stability::Moving {
            self.run = Some(Run::new(grams, value.scale(), frame.stability, reading.at));
        }
        let live = (changed == Some(Doubt::ResolutionChanged)).then_some(grams);
        Verdict { live, weight: None, doubt: changed.or(Some(Doubt::NotReady)), mode: frame.mode }
    }

    fn at_rest_or_moving(
        &mut self,
        before: Option<Run>,
        reading: &Reading,
        grams: Grams,
        decimals: u32,
        division: Division,
    ) -> Verdict {
        let Reading { frame, at } = reading;
        let but = |doubt| Verdict { live: Some(grams), weight: None, doubt: Some(doubt), mode: frame.mode };
        if frame.stability == Stability::Moving {
            return but(Doubt::Moving);
        }
        let grown = before.and_then(|run| run.with(grams, decimals, frame.stability, division));
        let run = grown.unwrap_or(Run::new(grams, decimals, frame.stability, *at));
        self.run = Some(run);
        if frame.stability == Stability::Unknown
            && (at.since(run.since) < self.rules.unknown_window_ms || run.count < self.rules.unknown_count)
        {
            return but(Doubt::NotSteady);
        }
        if !run.is_confirmed() {
            let jumped = before.is_some_and(|run| run.is_far_from(grams, division));
            return but(if jumped { Doubt::Jump } else { Doubt::NotConfirmed });
        }
        let weight = Weight { grams, at: *at, division, mode: frame.mode };
        Verdict { live: Some(grams), weight: Some(weight), doubt: None, mode: frame.mode }
    }

    /// The scale's division, or one of the last decimal sent where that is coarser or nothing is known.
    fn division(&self, decimals: u32, unit: MassUnit) -> Option<Division> {
        let sent = Division::new(Grams::from_unit(Decimal::new(1, decimals), unit).decimal())?;
        Some(self.rules.division.map_or(sent, |known| known.max(sent)))
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
        Self { live: None, weight: None, doubt: Some(doubt), mode: Mode::Unknown }
    }
}

#[cfg(test)]
mod tests;
