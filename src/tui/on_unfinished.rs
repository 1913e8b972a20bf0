//! Mixes that wait: after a crash, or put aside. Taking one up again compares the cup with the book first.

use super::app::{App, Screen, Waiting};
use super::bench::Bench;
use super::keys::Action;
use super::last::Last;
use super::message::Effect;
use crate::mix::Phase;
use crate::scale::Hand;
use crate::stock::Leftover;

impl App {
    pub(super) fn act_on_unfinished(&mut self, action: Action) {
        let Screen::Unfinished { selected } = &mut self.screen else { return };
        if step(selected, action, self.waiting.len()) {
            return;
        }
        match action {
            Action::Accept => {
                let index = *selected;
                self.take_up(index);
            }
            Action::Abandon => {
                let index = *selected;
                self.take_up(index);
                if matches!(self.screen, Screen::Bench(_)) {
                    self.ask(super::prompt::Asks::Reason);
                }
            }
            Action::Colours | Action::Back => self.open_colours(),
            _ => {}
        }
    }

    /// Brings a mix that waits back to the bench.
    pub(super) fn take_up(&mut self, index: usize) {
        let Some(entry) = self.waiting.get(index) else { return };
        match &entry.journal {
            Ok(journal) => {
                let mut bench = Bench::resume(journal.clone(), entry.number);
                // One that was due before it was known to have hardener in, or a lot in it was called back, is not poured in
                // either.
                let is_fit =
                    |one: &&Leftover| !self.has_hardener(one) && one.called_back(&self.recalls).is_none();
                let fit: Vec<_> = self.leftovers.iter().filter(is_fit).cloned().collect();
                let is_there = bench.find_leftover(&fit);
                if self.settings.is_virtual_bench() {
                    // The virtual bench forgets its cup when the program ends: it is put back as it was.
                    let gross = bench.session().tare() + bench.session().holds();
                    self.hand.tipped = 0;
                    self.effects.push(Effect::Hand(Hand::Upright));
                    self.effects.push(Effect::Hand(Hand::Load(gross)));
                }
                self.last = Some(Last::of(&bench, self.notation()));
                self.taking_up = true;
                self.screen = Screen::Bench(Box::new(bench));
                if !is_there {
                    self.complain(
                        "this mix was to begin with a leftover that is not on the shelf any more, was called back, or has hardener in: if some of it is in the cup, \
                         give the mix up",
                    );
                }
                if self.look_only.is_none() {
                    self.waiting.remove(index);
                    if !self.scale.is_present() {
                        self.go_on();
                    }
                }
            }
            Err(why) => {
                let why = why.clone();
                self.complain(why);
            }
        }
    }

    /// The mix goes on as the book has it.
    fn go_on(&mut self) {
        self.taking_up = false;
        self.at_bench(|bench, _, tools| bench.go_on(tools));
    }

    /// Goes on by itself once the cup stands on the scale just as the book has it.
    pub(super) fn cup_may_be_back(&mut self) {
        let Some(bench) = self.bench() else { return };
        let as_booked = self.scale.steady_for().is_some_and(|(weight, ms)| {
            let off = weight.grams() - bench.session().tare() - bench.session().holds();
            ms >= self.scale.taking().dwell_ms && off.abs() <= bench.session().limits().division.grams()
        });
        if as_booked && self.prompt.is_none() {
            self.go_on();
        }
    }

    pub(super) fn act_while_taking_up(&mut self, action: Action) {
        match action {
            Action::Accept if !self.refuse_to_write() => self.go_on(),
            Action::NewZero if !self.refuse_to_write() => match self.scale.weight() {
                Some(weight) => {
                    self.taking_up = false;
                    self.at_bench(|bench, _, tools| bench.take_up(weight, tools));
                }
                None => self.no_weight(),
            },
            Action::Abandon => self.ask(super::prompt::Asks::Reason),
            Action::Back => self.leave_bench(),
            _ => {}
        }
    }

    /// Says why there is no weight to take.
    pub(super) fn no_weight(&mut self) {
        let why = self.scale.doubt().unwrap_or_else(|| "it has not stood still yet".to_owned());
        self.complain(format!("there is no steady weight: {why}"));
    }

    /// Leaves the bench for the colours; a mix that is not ended waits.
    pub(super) fn leave_bench(&mut self) {
        let colours = Screen::Colours(super::colours::Colours::all(&mut self.known));
        let Screen::Bench(bench) = std::mem::replace(&mut self.screen, colours) else { return };
        self.taking_up = false;
        let job = bench.session().start().job.clone();
        if bench.session().is_unfinished() && self.look_only.is_none() {
            let number = bench.number();
            let journal = Ok(bench.into_journal());
            self.waiting.insert(0, Waiting { journal, number, when: "just now".to_owned() });
        } else if bench.session().phase() == Phase::Finished && self.look_only.is_none() {
            self.keep_cup(*bench);
        }
        self.back_to_job(job.as_deref());
    }
}

/// Moves the mark in a list of so many rows; false if the key is not for that.
pub(super) fn step(selected: &mut usize, action: Action, rows: usize) -> bool {
    let last = rows.saturating_sub(1);
    *selected = match action {
        Action::Up => selected.saturating_sub(1),
        Action::Down => selected.saturating_add(1),
        Action::PageUp => selected.saturating_sub(10),
        Action::PageDown => selected.saturating_add(10),
        _ => return false,
    }
    .min(last);
    true
}
