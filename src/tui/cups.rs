//! The cups that came from the bench and are not empty yet: what was sprayed of them, what is kept, what is thrown away.

use super::app::{App, Screen, Waiting};
use super::bench::{Bench, Tools};
use super::keys::Action;
use super::message::Effect;
use super::on_unfinished::step;
use super::prompt::Asks;
use super::sound::Sound;
use crate::barcode::Day;
use crate::book::figures::MixHead;
use crate::book::{Account, Envelope, Flows, JobId, Journal, MixId, MixTotals};
use crate::catalogue::Word as _;
use crate::job::{Clock, Job, pot_life};
use crate::mix::{Emptied, Ending, How, Session};
use crate::stock::{FromTin, Leftover, Tin};
use crate::units::{Grams, Money, Stamp};
use std::collections::{BTreeMap, HashMap};

/// A mix that is done, and what is said of its end so far.
#[derive(Debug)]
pub(super) struct Emptying {
    /// The mix.
    pub(super) bench: Bench,
    /// When it was last worked on, as a text.
    pub(super) when: String,
    /// What the cup weighed ready to spray, its own weight taken off, with how that was come by; none if neither thinner
    /// nor hardener was added.
    pub(super) ready: Option<Grams>,
    /// What is left in it by hand, where there is no scale.
    pub(super) typed: Option<Grams>,
    /// What was taken for what is left, with how it was come by, once a key has said what becomes of it.
    pub(super) taken: Option<(Grams, How)>,
    /// What it was sprayed on.
    pub(super) job: Option<String>,
    /// The job from whose page it was taken up: it is gone back to.
    pub(super) from: Option<JobId>,
}

/// As many are gone through; older ones are for the book alone.
pub const MOST: usize = 50;

impl App {
    /// A mix that was done at the bench waits to be emptied.
    pub(super) fn keep_cup(&mut self, bench: Bench) {
        let number = bench.number();
        self.cups
            .insert(0, Waiting { journal: Ok(bench.into_journal()), number, when: "just now".to_owned() });
        self.cups.truncate(MOST);
    }

    pub(super) fn act_on_cups(&mut self, action: Action) {
        let Screen::Cups { selected } = &mut self.screen else { return };
        if step(selected, action, self.cups.len()) {
            return;
        }
        match action {
            Action::Accept => {
                let at = *selected;
                self.take_cup(at);
            }
            Action::Back | Action::Colours => self.open_colours(),
            _ => {}
        }
    }

    /// The cup with that place is on the bench.
    pub(super) fn take_cup(&mut self, at: usize) {
        let Some(entry) = self.cups.get(at) else { return };
        match &entry.journal {
            Ok(journal) => {
                let bench = Bench::resume(journal.clone(), entry.number);
                let (when, ready) = (entry.when.clone(), self.ready.get(&entry.number).copied());
                let job = bench.session().start().job.clone();
                let from = self.opened_job().map(|(job, _)| job);
                let emptying = Emptying { bench, when, ready, typed: None, taken: None, job, from };
                self.screen = Screen::Emptying(Box::new(emptying));
            }
            Err(why) => {
                let why = why.clone();
                self.complain(why);
            }
        }
    }

    /// The places of the cups of that job.
    pub(super) fn cups_of(&self, job: &Job) -> Vec<usize> {
        let of = |cup: &Waiting| cup.journal.as_ref().ok().map(Journal::mix);
        let joined = |mix| job.mixes().any(|joined| joined.mix == mix);
        (0..).zip(&self.cups).filter(|(_, cup)| of(cup).is_some_and(joined)).map(|(at, _)| at).collect()
    }

    /// The place of the cup of that mix, if it waits to be emptied.
    pub(super) fn cup_at(&self, mix: MixId) -> Option<usize> {
        self.cups.iter().position(|cup| cup.journal.as_ref().is_ok_and(|journal| journal.mix() == mix))
    }

    /// From a job to its cups: the only one at once, or the list where there are more.
    pub(super) fn take_cups_of(&mut self, job: JobId) {
        let Some(of) = self.job_of(job).map(|job| self.cups_of(job)) else { return };
        match of[..] {
            [] => self.say("no cup of this job waits to be emptied"),
            [one] => self.take_cup(one),
            [first, ..] => self.screen = Screen::Cups { selected: first },
        }
    }

    pub(super) fn act_on_emptying(&mut self, action: Action) {
        let Screen::Emptying(emptying) = &self.screen else { return };
        match action {
            Action::Back if emptying.from.is_some() => {
                if let Some(job) = emptying.from {
                    self.open_job_page(job);
                }
            }
            Action::Back => {
                let number = emptying.bench.number();
                let at = self.cups.iter().position(|cup| cup.number == number).unwrap_or(0);
                self.screen = Screen::Cups { selected: at };
            }
            Action::TypeWeight => self.ask(Asks::LeftWeight),
            Action::ForJob => self.ask(Asks::Job),
            Action::AllSprayed => {
                let emptied = self.end_cup(Ending { left: Grams::ZERO, ..Ending::default() }, How::Typed);
                self.said(emptied);
            }
            // What was weighed with the mix is in the book; it is not asked for twice.
            Action::Ready if emptying.bench.session().recipe().readied.is_some() => {
                self.say("thinner and hardener were weighed with it: nothing to note");
            }
            Action::Ready => match self.weighed() {
                Ok((ready, _)) => {
                    let Screen::Emptying(emptying) = &mut self.screen else { return };
                    emptying.ready = Some(ready);
                    self.ready.insert(emptying.bench.number(), ready);
                    let shown = self.notation().mass(ready, self.limits().division);
                    self.say(format!("{shown} ready to spray: noted until the program ends. Now spray it"));
                }
                Err(why) => self.complain(why),
            },
            Action::Accept if self.has_set() => {
                self.complain("past its pot life what is left can only be thrown away");
            }
            Action::Accept | Action::ThrowAway => match self.weighed() {
                Ok(taken) => {
                    if let Screen::Emptying(emptying) = &mut self.screen {
                        // Typing takes longer than the cup may stand there.
                        emptying.taken = Some(taken);
                    }
                    self.ask(if action == Action::Accept { Asks::UseBy } else { Asks::WhyThrown });
                }
                Err(why) => self.complain(why),
            },
            _ => {}
        }
    }

    /// Whether what is left in the cup on the screen has hardener in it and is past its pot life: it is never kept.
    pub(super) fn has_set(&self) -> bool {
        let Screen::Emptying(emptying) = &self.screen else { return false };
        let left = pot_life(emptying.bench.journal()).map(|time| time.at(self.now.stamp));
        matches!(left, Some(Clock::Over(_)))
    }

    fn said(&mut self, done: Result<(), String>) {
        if let Err(why) = done {
            self.complain(why);
        }
    }

    /// What is left in the cup, typed or by the scale.
    fn weighed(&self) -> Result<(Grams, How), String> {
        let Screen::Emptying(emptying) = &self.screen else { return Err(String::new()) };
        match emptying.typed {
            Some(typed) => Ok((typed, How::Typed)),
            None => emptying
                .bench
                .left(&self.scale)
                .map(|left| (left, How::Scale))
                .map_err(|why| why.sentence(self.notation())),
        }
    }

    /// What was left when the key was pressed.
    fn taken(&self) -> Result<(Grams, How), String> {
        let Screen::Emptying(emptying) = &self.screen else { return Err(String::new()) };
        emptying.taken.map_or_else(|| self.weighed(), Ok)
    }

    pub(super) fn answer_left_weight(&mut self, typed: &str) -> Result<(), String> {
        let left = self.mass(typed)?;
        if let Screen::Emptying(emptying) = &mut self.screen {
            emptying.typed = Some(left);
        }
        Ok(())
    }

    pub(super) fn answer_job(&mut self, typed: &str) {
        if let Screen::Emptying(emptying) = &mut self.screen {
            emptying.job = Some(typed.to_owned()).filter(|job| !job.is_empty());
        }
    }

    /// What is left is kept, until that day if one was said.
    pub(super) fn answer_use_by(&mut self, typed: &str) -> Result<(), String> {
        let use_by = if typed.is_empty() { None } else { Some(self.day_of(typed)?) };
        let (left, how) = self.taken()?;
        self.end_cup(Ending { left, keep: true, use_by, ..Ending::default() }, how)
    }

    /// What is left is thrown away.
    pub(super) fn answer_why_thrown(&mut self, typed: &str) -> Result<(), String> {
        let (left, how) = self.taken()?;
        let reason = Some(typed.to_owned()).filter(|reason| !reason.is_empty());
        self.end_cup(Ending { left, reason, ..Ending::default() }, how)
    }

    /// What an event takes out of a leftover is not offered again.
    pub(super) fn use_leftover(&mut self, event: &Envelope) {
        for posting in event.postings.iter().filter(|posting| posting.micrograms < 0) {
            let Account::Leftover(of) = &posting.account else { continue };
            if let Some(leftover) = self.leftovers.iter().find(|leftover| leftover.of.mix == *of) {
                self.reused.entry(*of).or_insert_with(|| leftover.tins.clone());
            }
            for leftover in self.leftovers.iter_mut().filter(|leftover| leftover.of.mix == *of) {
                for (_, mass) in leftover.made_of.iter_mut().filter(|(toner, _)| *toner == posting.toner) {
                    *mass += Grams::from_micrograms(posting.micrograms);
                }
            }
        }
        self.leftovers.retain(|leftover| leftover.holds().is_positive());
    }

    /// A day as it is written, or so many days from now.
    fn day_of(&self, typed: &str) -> Result<String, String> {
        let days = typed.split_whitespace().next().and_then(|number| number.parse::<i32>().ok());
        if let Some(days) = days.filter(|days| (1..=999).contains(days)) {
            let today: jiff::civil::Date =
                self.today().parse().map_err(|_unreadable| "the clock is not set".to_owned())?;
            let day = today.saturating_add(jiff::Span::new().days(days));
            return Ok(day.to_string());
        }
        Day::parse(typed)
            .map(|day| day.to_string())
            .ok_or_else(|| format!("'{typed}' is no day: type how many days, as 14, or a day as 2026-12-31"))
    }

    /// Books it. The cup is off the list then.
    fn end_cup(&mut self, ending: Ending, how: How) -> Result<(), String> {
        if let Some(why) = &self.look_only {
            return Err(format!("nothing can be written: {why}"));
        }
        let division = self.limits().division;
        let Screen::Emptying(emptying) = &mut self.screen else { return Ok(()) };
        let mut tools =
            Tools { ids: &mut self.ids, by: &self.settings.by, now: self.now, written: Vec::new() };
        let ending = Ending { ready: emptying.ready, job: emptying.job.clone(), ..ending };
        let done = emptying.bench.empty(ending, how, &mut tools);
        let written = tools.written;
        let number = emptying.bench.number();
        let emptied = emptying.bench.session().emptied().cloned();
        let pot_life = pot_life(emptying.bench.journal());
        let from = emptying.from;
        let session = emptying.bench.session();
        let tins = poured_from(session, &self.tins, &self.reused);
        let kept = emptied
            .as_ref()
            .and_then(|emptied| leftover_of(&emptying.bench, emptied, tins, written.last()?, self.now.stamp));
        self.write(written);
        done.map_err(|error| error.sentence(self.notation()))?;
        self.cups.retain(|cup| cup.number != number);
        self.ready.remove(&number);
        if let (Some(leftover), Some(time)) = (&kept, pot_life) {
            self.pot_lives.insert(leftover.of.mix, time);
        }
        self.leftovers.extend(kept);
        self.effects.push(Effect::Sound(Sound::Right));
        self.screen = if self.cups.is_empty() {
            Screen::Colours(super::colours::Colours::all(&mut self.known))
        } else {
            Screen::Cups { selected: 0 }
        };
        if let Some(job) = from {
            self.open_job_page(job);
        }
        if let Some(emptied) = emptied {
            let shown = |mass| self.notation().mass(mass, division);
            let sprayed = shown(emptied.before - emptied.left);
            let thrown = emptied.left - emptied.kept;
            let rest = match (emptied.kept.is_positive(), thrown.is_positive()) {
                (true, _) => format!(", {} kept", shown(emptied.kept)),
                (_, true) => format!(", {} thrown away", shown(thrown)),
                _ => ", nothing left".to_owned(),
            };
            self.say(format!("mix {number:04}: {sprayed} sprayed{rest}"));
        }
        Ok(())
    }
}

/// The tins that a mix was poured from, also by way of the leftovers that it began with, as the book will tell them.
fn poured_from(session: &Session, known: &[Tin], reused: &HashMap<MixId, Vec<FromTin>>) -> Vec<FromTin> {
    let mut from = BTreeMap::<String, FromTin>::new();
    for pour in session.pours() {
        let Some(label) = &pour.tin else { continue };
        let tin = known.iter().find(|tin| tin.label == *label);
        let toner = tin.map_or(&pour.toner, |tin| &tin.toner).clone();
        let lot = tin.and_then(|tin| tin.lot.clone());
        from.insert(label.clone(), FromTin { label: label.clone(), toner, lot });
    }
    for old in session.reused().iter().filter_map(|old| reused.get(&MixId::parse(old)?)).flatten() {
        from.entry(old.label.clone()).or_insert_with(|| old.clone());
    }
    from.into_values().collect()
}

/// What was kept of a mix, as the book will tell it.
fn leftover_of(
    bench: &Bench,
    emptied: &Emptied,
    tins: Vec<FromTin>,
    event: &Envelope,
    at: Stamp,
) -> Option<Leftover> {
    let session = bench.session();
    let recipe = session.recipe();
    if !emptied.kept.is_positive() {
        return None;
    }
    let text = |text: &str| Some(text.to_owned());
    let head = MixHead {
        number: bench.number(),
        subject: [text(recipe.colour.as_str()), text(&recipe.variant), text(recipe.role.word())],
        emptied: Some(at),
        use_by: emptied.use_by.clone(),
        job: emptied.job.clone(),
        ..MixHead::default()
    };
    let kept = event.postings.iter().filter(|posting| matches!(posting.account, Account::Leftover(_)));
    let made_of = kept.map(|one| (one.toner.clone(), Grams::from_micrograms(one.micrograms))).collect();
    let of = MixTotals {
        mix: event.subject,
        head,
        flows: Flows::default(),
        cost: Money::ZERO,
        unpriced: Grams::ZERO,
    };
    Some(Leftover {
        of,
        made_of,
        tins,
        kept: Some(at),
        use_by: emptied.use_by.as_deref().and_then(Day::parse),
        is_thinned: emptied.thinned.is_some(),
    })
}
