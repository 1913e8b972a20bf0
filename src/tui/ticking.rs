//! The times of all open jobs: which run, in a few words for every screen; which have ended, said once and heard; and the
//! pot lives that are over, which stay on the screen until somebody says that they were seen.

use super::app::{App, Screen};
use super::message::Effect;
use super::sound::Sound;
use super::text;
use super::wall::when;
use crate::book::{JobId, MixId};
use crate::catalogue::Role;
use crate::job::{Clock, Countdown, Job, JobJournal, Standing, Timer};
use crate::units::Stamp;
use std::collections::HashSet;

/// What runs out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Ticks {
    /// The pot life of a mix of that layer.
    PotLife(MixId, Role),
    /// A flash-off, a bake, the clearance.
    Time(Timer),
}

/// A time of a job.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ticking<'a> {
    /// Whose.
    pub(super) of: &'a JobJournal,
    /// What.
    pub(super) what: Ticks,
    /// How long.
    pub(super) countdown: Countdown,
}

/// What was heard of.
#[derive(Debug, Default)]
pub(super) struct Heeded {
    /// The times whose end was said, or was over before the program was opened.
    ended: HashSet<(JobId, Ticks, Stamp)>,
    /// Whether the times were looked at once.
    looked: bool,
    /// The pot lives that are over and that nobody has seen yet.
    unseen: Vec<(JobId, MixId)>,
}

/// From so many seconds on whole minutes are shown.
const SECONDS_BELOW: u64 = 600;
/// What ended longer ago than a day, in microseconds, is no news at the start (common practice, no source).
const NEWS: i64 = 86_400_000_000;
/// So long after its end, in microseconds, the time of a closed job is still said to be over.
const JUST_NOW: u64 = 60_000_000;
/// The most of a job's name in a line of times.
const NAME: u16 = 16;

impl Ticks {
    /// In two words: `flash-off pearl`.
    pub(super) fn words(self) -> String {
        match self {
            Self::PotLife(_, layer) => format!("pot life {layer}"),
            Self::Time(Timer::FlashOff { layer }) => format!("flash-off {layer}"),
            Self::Time(Timer::BeforeNext { layer }) => format!("next layer on {layer}"),
            Self::Time(Timer::Bake { layer }) => format!("bake {layer}"),
            Self::Time(Timer::Clearance) => "clearance".to_owned(),
        }
    }

    /// In a sentence: `the flash-off of the pearl coat`.
    fn name(self) -> String {
        match self {
            Self::PotLife(_, layer) => format!("the pot life of the {}", layer.name()),
            Self::Time(timer) => timer.name(),
        }
    }
}

/// How much is left: `2:10`, `41 min`, `over`. What is left counts as a second or a minute as long as any of it is.
pub(super) fn left(time: Countdown, now: Stamp) -> String {
    let Clock::Left(left) = time.at(now) else { return "over".to_owned() };
    let seconds = left.div_ceil(1_000_000);
    if seconds < SECONDS_BELOW {
        return format!("{}:{:02}", seconds / 60, seconds % 60);
    }
    let minutes = left.div_ceil(60_000_000);
    if minutes < 120 { format!("{minutes} min") } else { format!("{} h {} min", minutes / 60, minutes % 60) }
}

/// Whether the end of a time may be news: what ended long ago in a job that was closed, and is only looked at now, is none.
fn is_news(one: &Ticking<'_>, now: Stamp) -> bool {
    let is_pot_life = matches!(one.what, Ticks::PotLife(..));
    let ago = match one.countdown.at(now) {
        Clock::Left(_) => 0,
        Clock::Over(ago) => ago,
    };
    is_pot_life || one.of.job().closed.is_none() || ago < JUST_NOW
}

/// The times of one job that count: the last of each kind unless it was ended by hand, of each layer that is not done the
/// pot life that began last, and that of each mix in a cup that is not emptied yet.
fn of_job(job: &Job, is_in_cup: impl Fn(MixId) -> bool) -> Vec<(Ticks, Countdown)> {
    // While another coat of it follows, nobody waits for the next layer.
    let before_next = |layer| {
        let is_last = job.standing(layer).is_some_and(|standing| standing.is_covered() != Some(false));
        is_last.then_some(Timer::BeforeNext { layer })
    };
    let layers = job.plan().iter().map(|plan| plan.role);
    let timers = layers
        .flat_map(|layer| [Some(Timer::FlashOff { layer }), Some(Timer::Bake { layer }), before_next(layer)])
        .flatten()
        .chain([Timer::Clearance])
        .filter_map(|timer| Some((timer, job.time(timer)?)))
        .filter(|(_, run)| run.ended.is_none())
        .map(|(timer, run)| (Ticks::Time(timer), run.countdown));
    let is_open = |layer: &Standing<'_>| job.closed.is_none() && layer.finished.is_none();
    let last = |layer: Role| {
        let own = job.mixes().filter(|joined| joined.layer == layer);
        let times = own.filter_map(|joined| Some((joined.mix, job.pot_life(joined.mix)?)));
        times.max_by_key(|(_, time)| time.from).map(|(mix, _)| mix)
    };
    let open: Vec<MixId> =
        job.standings().filter(is_open).filter_map(|layer| last(layer.plan.role)).collect();
    let pot_lives = job.mixes().filter_map(|joined| {
        let time = job.pot_life(joined.mix)?;
        let counts = open.contains(&joined.mix) || is_in_cup(joined.mix);
        counts.then_some((Ticks::PotLife(joined.mix, joined.layer), time))
    });
    timers.chain(pot_lives).collect()
}

impl App {
    /// The times of every job; a bake that runs does not end with the job it is of.
    fn ticking(&self) -> impl Iterator<Item = Ticking<'_>> {
        self.jobs.iter().flat_map(|of| {
            let times = of_job(of.job(), |mix| self.cup_at(mix).is_some()).into_iter();
            times.map(move |(what, countdown)| Ticking { of, what, countdown })
        })
    }

    /// What runs of a job, in a few words each: `bake clear 8:20`.
    pub(super) fn runs_of(&self, job: JobId) -> impl Iterator<Item = String> {
        let now = self.now.stamp;
        let running = self.ticking().filter(move |one| one.of.id() == job && one.countdown.is_running(now));
        running.map(move |one| format!("{} {}", one.what.words(), left(one.countdown, now)))
    }

    /// Whether a time runs, so that the clock has to be looked at.
    pub(super) fn is_ticking(&self) -> bool {
        self.ticking().any(|one| one.countdown.is_running(self.now.stamp))
    }

    /// The times that run, the most urgent first, each in a few words; with the job's name where several have one. The pot
    /// life of the mix at the bench stands there already.
    pub(super) fn ticking_words(&self, now: Stamp) -> Vec<String> {
        let at_bench =
            self.bench().filter(|_| matches!(self.screen, Screen::Bench(_))).map(|b| b.journal().mix());
        let shown = |one: &Ticking<'_>| match one.what {
            Ticks::PotLife(mix, _) => Some(mix) != at_bench,
            Ticks::Time(_) => true,
        };
        let mut running: Vec<Ticking<'_>> =
            self.ticking().filter(|one| one.countdown.is_running(now) && shown(one)).collect();
        running.sort_by_key(|one| one.countdown.until());
        let several = running.iter().any(|one| Some(one.of.id()) != running.first().map(|one| one.of.id()));
        running
            .iter()
            .map(|one| {
                let words = format!("{} {}", one.what.words(), left(one.countdown, now));
                if several { format!("{}: {words}", text::fit(&one.of.job().name, NAME, ".")) } else { words }
            })
            .collect()
    }

    /// Says once of each time that it has ended. What had ended before the program was opened is news where nobody has gone
    /// on with the job since; all of it together is one line and one sound.
    pub(super) fn heed_times(&mut self) {
        let now = self.now.stamp;
        let at_bench = self.bench().map(|bench| bench.journal().mix());
        let over: Vec<(JobId, Ticks, Stamp, String, Stamp)> = self
            .ticking()
            .filter(|one| !one.countdown.is_running(now) && is_news(one, now))
            .map(|one| {
                let job = one.of.job();
                (one.of.id(), one.what, one.countdown.until(), job.name.clone(), job.last)
            })
            .collect();
        let is_first = !std::mem::replace(&mut self.jobs_at_work.heeded.looked, true);
        let mut missed = Vec::new();
        for (job, what, until, name, last) in over {
            if !self.jobs_at_work.heeded.ended.insert((job, what, until)) {
                continue;
            }
            let words = format!("{name}: {} is over", what.name());
            match what {
                // The banner says so, and at the bench what stands above it: a line that goes by would hide another.
                Ticks::PotLife(mix, _) => {
                    self.jobs_at_work.heeded.unseen.push((job, mix));
                    if !is_first && at_bench != Some(mix) {
                        self.messages.keep(&words, true, self.now.stamp);
                        self.effects.push(Effect::Sound(Sound::Timer));
                    }
                }
                Ticks::Time(_) if is_first => {
                    if until > last && now.0.saturating_sub(until.0) < NEWS {
                        missed.push((until, words));
                    }
                }
                Ticks::Time(_) => {
                    self.effects.push(Effect::Sound(Sound::Timer));
                    self.say(words);
                }
            }
        }
        self.say_missed(missed);
    }

    /// What ended while the program was closed, the latest of it on the screen, all of it among the messages.
    fn say_missed(&mut self, mut missed: Vec<(Stamp, String)>) {
        missed.sort();
        let Some((until, latest)) = missed.pop() else { return };
        for (_, words) in &missed {
            self.messages.keep(words, false, self.now.stamp);
        }
        let at = when(until, self.settings.seconds_east);
        let at = at.split_once(' ').map_or(at.as_str(), |(_, time)| time);
        let more = match missed.len() {
            0 => String::new(),
            1 => "; one more ended before".to_owned(),
            many => format!("; {many} more ended before"),
        };
        self.effects.push(Effect::Sound(Sound::Timer));
        self.say(format!("{latest} since {at}{more}"));
    }

    /// The pot lives that are over and not seen, in a sentence; none if there are none.
    pub(super) fn unseen_pot_lives(&self) -> Option<String> {
        let unseen = &self.jobs_at_work.heeded.unseen;
        let over = self.ticking().filter(|one| match one.what {
            Ticks::PotLife(mix, _) => unseen.contains(&(one.of.id(), mix)),
            Ticks::Time(_) => false,
        });
        let in_short = |one: Ticking<'_>| {
            let name = text::fit(&one.of.job().name, NAME, ".");
            let what = one.what.name();
            format!("{name}: {}", what.strip_prefix("the ").unwrap_or(&what))
        };
        let over: Vec<String> = over.map(in_short).collect();
        let first = over.first()?;
        let more = match over.len() {
            0 | 1 => String::new(),
            many => format!(" and {} more", many.saturating_sub(1)),
        };
        Some(format!("{first} over{more}: do not spray it"))
    }

    /// They were seen.
    pub(super) fn see_pot_lives(&mut self) {
        self.jobs_at_work.heeded.unseen.clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_left_in_a_few_signs() {
        let time = Countdown::new(Stamp(0), 200);
        let at = |seconds: i64| left(time, Stamp(seconds * 1_000_000));
        assert_eq!(at(0), "3 h 20 min");
        assert_eq!(at(200 * 60 - 119 * 60), "119 min");
        assert_eq!(at(200 * 60 - 600), "10 min");
        assert_eq!(at(200 * 60 - 599), "9:59");
        assert_eq!(at(200 * 60 - 130), "2:10");
        assert_eq!(left(time, Stamp(200 * 60_000_000 - 1)), "0:01");
        assert_eq!(at(200 * 60), "over");
    }
}
