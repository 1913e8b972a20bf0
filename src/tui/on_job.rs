//! Keys on one job: Enter does what comes next, whatever that is.

use super::app::{App, Screen, Waiting};
use super::job_asks::{JobAsks, coats_words, last_coat};
use super::jobs::{carded, last_done, under_way};
use super::keys::Action;
use super::prompt::Asks;
use super::put_right::Sure;
use crate::book::{JobId, MixId};
use crate::catalogue::Role;
use crate::job::{Coat, Job, JobEvent, JobJournal, MixStands, Step, Timer};
use crate::units::Stamp;

/// Two coats closer than that in microseconds are one whose key was pressed twice (common practice, no source).
const TWICE: i64 = 10_000_000;

impl App {
    pub(super) fn act_on_job(&mut self, action: Action) {
        let Some((id, job)) = self.opened_job() else { return self.open_jobs() };
        let cards = job.cards().count();
        match action {
            Action::Accept => self.do_next_step(id),
            Action::Back => self.open_jobs(),
            Action::Previous | Action::Next => {
                if let Screen::Job(page) = &mut self.screen {
                    let last = cards.saturating_sub(1);
                    let card = page.card.min(last);
                    page.card = match action {
                        Action::Next => card.saturating_add(1).min(last),
                        _ => card.saturating_sub(1),
                    };
                }
            }
            Action::JobSheet => {
                let name = job.name.clone();
                self.write_sheet(name);
            }
            Action::ReopenJob if job.closed.is_some() => {
                self.tell_or_say(id, JobEvent::Reopened, "open again");
            }
            Action::NoteOnJob => self.ask_of_job(JobAsks::Note, String::new()),
            _ if job.closed.is_some() => self.say("this job is closed: open it again first"),
            Action::AnotherCard => self.ask_card(),
            Action::CompareCard | Action::ChooseCard if cards == 0 => self.say("no card was made yet"),
            Action::CompareCard => self.ask_of_job(JobAsks::Seen, String::new()),
            Action::ChooseCard => self.ask_choice(None),
            Action::CoatsWithoutCard if carded(job).is_none() => {
                self.say("no layer of this job is matched by spray-out cards");
            }
            Action::CoatsWithoutCard => self.ask_of_job(JobAsks::Coats, String::new()),
            Action::AmendJob => self.ask_amendment(),
            Action::MixLayer => self.mix_layer(id),
            Action::Cups => self.take_cups_of(id),
            Action::NotWaited => match job.next(self.now.stamp) {
                Step::Wait { .. } => self.ask_of_job(JobAsks::WhyNotWaited, String::new()),
                _ => self.say("nothing has to be waited for"),
            },
            Action::Clearance => self.turn_clearance(id),
            Action::LayerDone => match under_way(job) {
                Some(layer) => self.layer_done(id, layer),
                None => self.say("every layer is done"),
            },
            Action::WrongCoat | Action::TakeBackCoat if last_coat(job).is_none() => {
                self.say("no coat was sprayed yet");
            }
            Action::WrongCoat => self.ask_of_job(JobAsks::WrongCoat, String::new()),
            Action::TakeBackCoat => self.ask_of_job(JobAsks::WhyTakenBack, String::new()),
            Action::OpenLayer => match last_done(job) {
                Some(layer) => {
                    let words = format!("the {} is not done after all", layer.name());
                    self.tell_or_say(id, JobEvent::LayerReopened { layer }, &words);
                }
                None => self.say("no layer was said to be done"),
            },
            Action::CloseJob => self.ask(Asks::Sure(Sure::CloseJob)),
            _ => {}
        }
    }

    /// What comes next is done, or it is said what to wait for.
    fn do_next_step(&mut self, id: JobId) {
        let Some(job) = self.job_of(id) else { return };
        let now = self.now.stamp;
        match self.next_of(job, now) {
            Step::MakeCards { .. } => self.ask_card(),
            Step::ChooseCard { layer } => {
                self.mark_nearest(layer);
                self.ask_choice(self.reckoned_between(layer));
            }
            Step::Mix { layer, .. } => self.mix_for_job(id, layer, false),
            Step::GoOn { mix, .. } => {
                if let Some(index) = self.waiting_at(mix) {
                    self.take_up(index);
                }
            }
            Step::Wait { timer, countdown } => {
                self.say(format!("{}: {}", timer.name(), countdown.at(now).words()));
            }
            Step::Spray { layer, coat, .. } => self.count_coat(id, layer, coat),
            Step::Bake { layer, minutes } => {
                let event = JobEvent::TimerStarted { timer: Timer::Bake { layer }, from: now, minutes };
                self.tell_or_say(
                    id,
                    event,
                    &format!("the bake of the {} began, {minutes} min", layer.name()),
                );
            }
            Step::Finish { layer } => self.layer_done(id, layer),
            Step::WeighBack { mix, .. } => {
                if let Some(at) = self.cup_at(mix) {
                    self.take_cup(at);
                }
            }
            // What runs goes on after the close: that is asked about.
            Step::Close if self.runs_of(id).next().is_some() => self.ask(Asks::Sure(Sure::CloseJob)),
            Step::Close => self.tell_or_say(id, JobEvent::Closed, "closed"),
            Step::Closed => self.say("this job is closed: open it again to go on with it"),
        }
    }

    /// What comes next in a job; what was put aside is not mixed yet.
    pub(super) fn next_of(&self, job: &Job, now: Stamp) -> Step {
        job.next_beside(now, |mix| {
            if self.waiting_at(mix).is_some() {
                MixStands::UnderWay
            } else if self.cup_at(mix).is_some() {
                MixStands::InCup
            } else {
                MixStands::Unknown
            }
        })
    }

    /// The place of that mix among those that wait.
    fn waiting_at(&self, mix: MixId) -> Option<usize> {
        let is_it = |waits: &Waiting| waits.journal.as_ref().is_ok_and(|journal| journal.mix() == mix);
        self.waiting.iter().position(is_it)
    }

    /// One more coat is on the car.
    fn count_coat(&mut self, id: JobId, layer: Role, coat: u32) {
        let Some(standing) = self.job_of(id).and_then(|job| job.standing(layer)) else { return };
        let now = self.now.stamp;
        let before = standing.coats.last().map_or(i64::MIN, |(_, at)| at.0);
        if now.0.saturating_sub(before) < TWICE {
            return self.say(format!("coat {} was counted just now", coat.saturating_sub(1)));
        }
        let (flash_off, of) = (standing.plan.flash_off, standing.wanted);
        let of = of.map(|of| format!(" of {of}")).unwrap_or_default();
        let event = JobEvent::CoatSprayed(Coat { layer, coat, at: now, flash_off });
        self.tell_or_say(id, event, &format!("coat {coat}{of} of the {} is on", layer.name()));
    }

    /// Marks the card of that layer that comes nearest to the car, where it is one alone: Enter and Enter again, as from a
    /// foot switch, is not to choose the card that happened to be made last.
    fn mark_nearest(&mut self, layer: Role) {
        let Some((_, job)) = self.opened_job() else { return };
        let comparisons = job.comparisons();
        let nearest = comparisons.iter().find(|(of, _)| *of == layer).and_then(|(_, all)| all.nearest());
        let place = nearest.and_then(|nearest| job.cards().position(|card| card.made.card == nearest));
        if let (Some(place), Screen::Job(page)) = (place, &mut self.screen) {
            page.card = place;
        }
    }

    /// How many coats the car would get by what is reckoned from two cards, where neither has as many.
    fn reckoned_between(&self, layer: Role) -> Option<u32> {
        let (_, job) = self.opened_job()?;
        let comparisons = job.comparisons();
        let (_, comparison) = comparisons.iter().find(|(of, _)| *of == layer)?;
        comparison.count.as_ref().ok()?.coats_between()
    }

    /// Asks which card matches; a count between two cards stands there, or else the marked card.
    fn ask_choice(&mut self, between: Option<u32>) {
        let marked = || self.marked_card().map(|card| card.to_string()).unwrap_or_default();
        let typed = between.map_or_else(marked, coats_words);
        self.ask_of_job(JobAsks::Choose, typed);
    }

    fn mix_layer(&mut self, id: JobId) {
        let Some(job) = self.job_of(id) else { return };
        let now = self.now.stamp;
        let (layer, for_cards) = match job.next(now) {
            Step::MakeCards { layer } | Step::ChooseCard { layer } => (Some(layer), true),
            step => (step.layer().or(under_way(job)), false),
        };
        match layer {
            Some(layer) => self.mix_for_job(id, layer, for_cards),
            None => self.say("every layer is done: there is nothing to mix"),
        }
    }

    fn turn_clearance(&mut self, id: JobId) {
        let Some(job) = self.job_of(id) else { return };
        let run = job.time(Timer::Clearance);
        if run.is_some_and(|run| run.is_running(self.now.stamp)) {
            let event = JobEvent::TimerStopped { timer: Timer::Clearance };
            return self.tell_or_say(id, event, "the clearance of the booth is stopped");
        }
        let last = run.or_else(|| self.jobs.iter().find_map(|other| other.job().time(Timer::Clearance)));
        let typed = last.map(|run| run.countdown.minutes.to_string()).unwrap_or_default();
        self.ask_of_job(JobAsks::Clearance, typed);
    }

    fn layer_done(&mut self, id: JobId, layer: Role) {
        let done = format!("the {} is done", layer.name());
        self.tell_or_ask(id, JobEvent::LayerFinished { layer }, &done);
    }

    /// It was answered with yes.
    pub(super) fn close_job(&mut self) {
        if let Some((id, _)) = self.opened_job() {
            self.tell_or_say(id, JobEvent::Closed, "closed");
        }
    }

    /// Whether to close the job, and what is not done.
    pub(super) fn close_question(&self) -> Option<(String, String)> {
        let (id, job) = self.opened_job()?;
        let open: Vec<&str> = job
            .standings()
            .filter(|layer| layer.finished.is_none())
            .map(|layer| layer.plan.role.name())
            .collect();
        let what = format!("close job {}?", job.name);
        let open = if open.is_empty() {
            "every layer is done".to_owned()
        } else {
            format!("not done: {}", open.join(", "))
        };
        let runs: Vec<String> = self.runs_of(id).collect();
        let runs = if runs.is_empty() { String::new() } else { format!("still runs: {}; ", runs.join(", ")) };
        Some((what, format!("{runs}{open}; it can be opened again")))
    }

    pub(super) fn tell_or_say(&mut self, id: JobId, event: JobEvent, done: &str) {
        if let Err(why) = self.tell_of_job(id, event, done) {
            self.complain(why);
        }
    }

    /// Whether that action does something to the job on the screen.
    pub(super) fn is_of_use_on_job(&self, action: Action) -> bool {
        let Some((_, job)) = self.opened_job() else { return action == Action::Back };
        let (is_open, now) = (job.closed.is_none(), self.now.stamp);
        match action {
            Action::AnotherCard | Action::CoatsWithoutCard => is_open && can_choose(job),
            Action::CompareCard => is_open && job.cards().next().is_some(),
            Action::ChooseCard => is_open && can_choose(job) && job.cards().next().is_some(),
            Action::Previous | Action::Next => job.cards().nth(1).is_some(),
            Action::MixLayer | Action::LayerDone => is_open && under_way(job).is_some(),
            Action::NotWaited => is_open && matches!(job.next(now), Step::Wait { .. }),
            Action::OpenLayer => is_open && last_done(job).is_some(),
            Action::WrongCoat | Action::TakeBackCoat => is_open && last_coat(job).is_some(),
            Action::Cups => is_open && !self.cups_of(job).is_empty(),
            Action::Clearance | Action::CloseJob | Action::AmendJob => is_open,
            Action::ReopenJob => !is_open,
            _ => true,
        }
    }

    /// Back to the job of that name, if it is there: where a mix was for one, it goes on there.
    pub(super) fn back_to_job(&mut self, name: Option<&str>) {
        if let Some(job) = name.and_then(|name| self.job_called(name)) {
            self.open_job_page(job);
        }
    }

    /// The open job that the mix at the bench is for, if it is for one.
    pub(super) fn at_the_bench_for(&self) -> Option<JobId> {
        self.job_called(self.bench()?.session().start().job.as_deref()?)
    }

    fn job_called(&self, name: &str) -> Option<JobId> {
        self.jobs.iter().find(|known| known.job().name == name).map(JobJournal::id)
    }
}

/// Whether its layer that is matched by cards is not done yet.
fn can_choose(job: &Job) -> bool {
    let layer = carded(job).and_then(|layer| job.standing(layer));
    layer.is_some_and(|layer| layer.finished.is_none())
}

/// `2 of 3`, `2`.
pub(super) fn coats_of(sprayed: u32, wanted: Option<u32>) -> String {
    wanted.map_or_else(|| coats_words(sprayed), |wanted| format!("{sprayed} of {wanted}"))
}

/// A time of a layer as it stands, for its column; a dash where there is none.
pub(super) fn time_words(time: Option<crate::job::Countdown>, now: Stamp) -> String {
    time.map_or_else(|| "-".to_owned(), |time| super::ticking::left(time, now))
}
