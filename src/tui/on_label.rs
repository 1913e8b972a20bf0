//! Labels at the bench: one that is scanned brings its mix up again, and one is printed with a key.

use super::app::{App, Screen, Waiting};
use super::keys::Context;
use super::label_printer::{Printing, UNSET};
use super::message::Effect;
use super::mix_finder::FoundMix;
use super::wall::when;
use crate::book::MixId;
use crate::mix::Phase;
use crate::units::Division;

impl App {
    /// A label was scanned: its mix comes up, if nothing is under way that would be left by it.
    pub(super) fn bring_up(&mut self, mix: MixId) {
        if let Some(why) = self.cannot_leave(mix) {
            return self.say(why);
        }
        let is = |waits: &Waiting| waits.journal.as_ref().is_ok_and(|journal| journal.mix() == mix);
        if let Some(at) = self.waiting.iter().position(is) {
            self.clear_for_label();
            // What was left just now stands before the others.
            let at = self.waiting.iter().position(is).unwrap_or(at);
            return self.take_up(at);
        }
        if self.bench().is_some_and(|bench| bench.mix() == mix) || self.cups.iter().any(is) {
            self.clear_for_label();
            if let Some(at) = self.cups.iter().position(is) {
                return self.take_cup(at);
            }
        }
        self.effects.push(Effect::FindMix(mix));
    }

    /// Why what is on the screen is not left for another mix, in a sentence; none if it can be.
    fn cannot_leave(&self, mix: MixId) -> Option<String> {
        let here = match &self.screen {
            Screen::Bench(bench) => Some(bench.as_ref()),
            Screen::Emptying(emptying) => Some(&emptying.bench),
            _ => None,
        };
        let is_here = here.is_some_and(|bench| bench.mix() == mix);
        let is_over = |phase| matches!(phase, Phase::Finished | Phase::Abandoned | Phase::Aside);
        match self.context() {
            Context::Emptying if is_here => Some("that is the label of this cup".to_owned()),
            Context::TakingUp | Context::Look if is_here => Some("that is the label of this mix".to_owned()),
            Context::Colours
            | Context::Unfinished
            | Context::Cups
            | Context::Emptying
            | Context::TakingUp
            | Context::Look
            | Context::Shelf
            | Context::Tins
            | Context::Waste
            | Context::Leftovers => None,
            Context::Complete if here.is_some_and(|bench| is_over(bench.session().phase())) => None,
            _ if is_here => Some("that is the label of this mix".to_owned()),
            _ => Some("that is a mix's label: end what is under way, then scan it again".to_owned()),
        }
    }

    /// Leaves what is on the screen as its own key would.
    fn clear_for_label(&mut self) {
        if matches!(self.screen, Screen::Bench(_)) {
            self.leave_bench();
        }
    }

    /// The book has answered.
    pub(super) fn on_mix_found(&mut self, found: Result<Option<Box<FoundMix>>, String>) {
        let found = match found {
            Ok(Some(found)) => *found,
            Ok(None) => return self.complain("there is no mix with that label in this book"),
            Err(why) => return self.complain(format!("the mix of that label cannot be read: {why}")),
        };
        let FoundMix { journal, head } = found;
        let session = journal.session();
        let recipe = session.recipe();
        let number = head.number;
        let what = format!("mix {number:04} {}, {}", recipe.name, recipe.role.name());
        let east = self.settings.seconds_east;
        let ended = head.ended.as_ref().map(|(at, _)| when(*at, east));
        let ended = ended.unwrap_or_else(|| "at a time that is not known".to_owned());
        if let Some(emptied) = session.emptied() {
            let at = head.emptied.map_or_else(|| ended.clone(), |at| when(at, east));
            let on = head.job.as_ref().map_or_else(String::new, |job| format!(" on {job}"));
            let kept = if emptied.kept.is_positive() {
                let until = emptied.use_by.as_ref().map_or_else(String::new, |day| format!(", use by {day}"));
                let division: Division = session.limits().division;
                format!("; {} kept{until}", self.notation().mass(emptied.kept, division))
            } else {
                String::new()
            };
            return self.say(format!("that was {what}: sprayed{on}, its cup emptied {at}{kept}"));
        }
        match session.phase() {
            Phase::Abandoned => self.say(format!("that was {what}: given up {ended}")),
            // Longer ago than the cups that are asked for.
            Phase::Finished if self.cannot_leave(journal.mix()).is_none() => {
                let mix = journal.mix();
                self.clear_for_label();
                let is = |cup: &Waiting| cup.journal.as_ref().is_ok_and(|journal| journal.mix() == mix);
                if !self.cups.iter().any(is) {
                    self.cups.push(Waiting { journal: Ok(journal), number, when: ended });
                }
                if let Some(at) = self.cups.iter().position(is) {
                    self.take_cup(at);
                }
            }
            Phase::Finished => self.say(format!("its cup waits: {what}, mixed {ended}")),
            _ => {
                self.complain(format!("{what} is under way elsewhere: open the book again to go on with it"));
            }
        }
    }

    /// The label of the mix on the screen is to be printed.
    pub(super) fn print_label(&mut self) {
        let marked = |waiting: &[Waiting], at: usize| -> Option<Result<MixId, String>> {
            Some(waiting.get(at)?.journal.as_ref().map(crate::book::Journal::mix).map_err(Clone::clone))
        };
        let mix = match &self.screen {
            Screen::Bench(bench) => Some(Ok(bench.mix())),
            Screen::Emptying(emptying) => Some(Ok(emptying.bench.mix())),
            Screen::Cups { selected } => marked(&self.cups, *selected),
            Screen::Unfinished { selected } => marked(&self.waiting, *selected),
            _ => None,
        };
        let mix = match mix {
            Some(Ok(mix)) => mix,
            Some(Err(why)) => return self.complain(why),
            None => return,
        };
        let Some(command) = self.settings.preferences.label_print.clone() else {
            return self.complain(UNSET);
        };
        if !self.saving.all_saved() {
            return self.complain("not everything is saved yet: print the label once it is");
        }
        let catalogue = Box::new(self.catalogue.clone());
        let seconds_east = self.settings.seconds_east;
        self.effects.push(Effect::PrintLabel(Printing { mix, command, catalogue, seconds_east }));
        self.say("the label is being printed");
    }

    /// What came of it: the mix's number and how many letters could not be shown.
    pub(super) fn on_label_printed(&mut self, printed: Result<(u32, usize), String>) {
        match printed {
            Ok((number, 0)) => self.say(format!("the label of mix {number:04} is printed")),
            Ok((number, _)) => self.say(format!(
                "the label of mix {number:04} is printed; question marks stand for letters that a PDF's own fonts lack"
            )),
            Err(why) => self.complain(why),
        }
    }
}
