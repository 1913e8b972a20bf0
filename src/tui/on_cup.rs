//! Keys while the cup is off the scale in the middle of a mix, and when it came back with another weight.

use super::app::{App, Screen};
use super::bench::{Answer, Bench};
use super::keys::{Action, Context};
use super::prompt::Asks;
use super::theme::Symbols;

/// What has to be said twice counts once if it was said longer ago than that, in milliseconds.
const AGAIN_MS: u64 = 8_000;

impl App {
    /// Does what a key means about the cup; false if it is not about that.
    pub(super) fn act_on_cup(&mut self, action: Action) -> bool {
        let said = self.said_cup_is_on.take();
        let again = said.is_some_and(|said| self.now.moment.since(said) < AGAIN_MS);
        match self.context() {
            Context::CupOff if action == Action::NewZero => self.cup_is_on(again),
            Context::CupBack => match action {
                Action::Up | Action::Down => {
                    if let Screen::Bench(bench) = &mut self.screen {
                        bench.mark(action == Action::Down);
                    }
                }
                Action::Accept => self.answer_for_cup(None),
                other if other.choice().is_some() => self.answer_for_cup(other.choice()),
                _ => return false,
            },
            _ => return false,
        }
        true
    }

    fn answer_for_cup(&mut self, which: Option<usize>) {
        let Some(question) = self.bench().and_then(Bench::question) else { return };
        if !question.was_seen(self.now.moment) {
            return self.say("read it first: then press the key once more");
        }
        match question.answers.get(which.unwrap_or(question.marked)).copied() {
            Some(Answer::OtherToner) => self.ask(Asks::WrongToner),
            Some(answer) => self.at_bench(|bench, scale, tools| bench.answer(answer, scale, tools)),
            None => {}
        }
    }

    /// The scale seems to be empty and the cup is said to stand on it: it was zeroed, or switched off and on. Said
    /// by mistake it would make the whole cup a pour, so it has to be said twice.
    fn cup_is_on(&mut self, again: bool) {
        if self.refuse_to_write() {
            return;
        }
        let Some(weight) = self.scale.weight() else { return self.no_weight() };
        if again {
            self.at_bench(|bench, _, tools| bench.zero_moved(weight, tools));
        } else {
            self.said_cup_is_on = Some(self.now.moment);
            let key = self.bindings.shown(Context::CupOff, Action::NewZero, Symbols::ASCII);
            let key = key.unwrap_or_default();
            self.complain(format!("{key} once more if the cup really stands on the scale: its zero moved"));
        }
    }
}
