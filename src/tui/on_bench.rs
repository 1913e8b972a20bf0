//! Keys at the bench, and the hand at the virtual one.

use super::app::{App, Screen};
use super::bench::Bench;
use super::keys::Action;
use super::message::Effect;
use super::prompt::Asks;
use crate::mix::Phase;
use crate::scale::{Hand, STEPS};
use crate::units::{Decimal, Grams};

impl App {
    pub(super) fn act_at_bench(&mut self, action: Action) {
        if self.look_only.is_some() {
            return self.act_while_looking(action);
        }
        if self.taking_up {
            return self.act_while_taking_up(action);
        }
        if self.act_on_cup(action) {
            return;
        }
        let Screen::Bench(bench) = &mut self.screen else { return };
        match (bench.session().phase(), action) {
            (Phase::Finished | Phase::Abandoned | Phase::Aside, Action::Finish | Action::SetAside) => {
                self.leave_bench();
            }
            (Phase::Over(_) | Phase::Fouled, Action::Up) => bench.select(false),
            (Phase::Over(_) | Phase::Fouled, Action::Down) => bench.select(true),
            (Phase::Over(_) | Phase::Fouled, Action::Accept) => self.go_way(None),
            (Phase::Weighing, Action::Ways) => bench.peek = !bench.peek,
            (_, Action::Take) if !self.scale.is_present() => self.ask(Asks::Weight),
            (_, Action::Take) => self.at_bench(Bench::take),
            (_, Action::Finish) => self.at_bench(|bench, _, tools| bench.finish(tools)),
            (_, Action::WithoutLeftover) => {
                self.at_bench(Bench::without_leftover);
                if self.bench().is_some_and(|bench| bench.pour_in().is_none()) {
                    self.say("without the leftover: it stays on the shelf");
                }
            }
            (Phase::Weighing, Action::TakeProposed) => self.take_proposed(),
            (_, Action::NextTin) => self.ask(Asks::Tin),
            (_, Action::WrongToner) => self.ask(Asks::WrongToner),
            (_, Action::TypeWeight) => self.ask(Asks::Weight),
            (_, Action::JumpToToner) => self.ask(Asks::Toner),
            (_, Action::Abandon) => self.ask(Asks::Reason),
            (_, Action::PutRight) => self.ask_which_pour(),
            (_, Action::Order) => {
                let accuracy = self.accuracy();
                self.at_bench(|bench, _, tools| bench.toggle_order(accuracy, tools));
            }
            (_, Action::TakenOut) => self.at_bench(Bench::taken_out),
            (_, Action::SetAside) => self.at_bench(Bench::set_aside),
            (_, Action::HandsFree) => {
                self.hands_free = !self.hands_free;
                let on = "hands-free is on: a steady right pour is taken by itself";
                let off = "hands-free is off: take each pour with a key";
                self.say(if self.hands_free { on } else { off });
            }
            (_, other) => {
                if let Some(which) = other.choice() {
                    self.go_way(Some(which));
                }
            }
        }
    }

    fn act_while_looking(&mut self, action: Action) {
        match action {
            Action::Colours | Action::Back => self.leave_bench(),
            Action::Unfinished => {
                self.leave_bench();
                self.screen = Screen::Unfinished { selected: 0 };
            }
            _ => {}
        }
    }

    /// Moves the hand at the virtual bench; false if the key is not for that.
    pub(super) fn move_hand(&mut self, action: Action) -> bool {
        let hand = match action {
            Action::TipMore => {
                self.hand.tipped = self.hand.tipped.saturating_add(1).min(STEPS);
                Hand::TipMore
            }
            Action::TipLess => {
                self.hand.tipped = self.hand.tipped.saturating_sub(1);
                Hand::TipLess
            }
            Action::Upright | Action::FullTin => {
                self.hand.tipped = 0;
                if action == Action::FullTin { Hand::NextTin } else { Hand::Upright }
            }
            Action::LiftCup => {
                self.hand.cup_lifted = !self.hand.cup_lifted;
                if self.hand.cup_lifted { Hand::LiftCup } else { Hand::PutCup }
            }
            Action::SpoonOut => Hand::DrawOff(self.spoonful()),
            _ => return false,
        };
        if self.settings.is_virtual_bench() {
            self.effects.push(Effect::Hand(hand));
        }
        true
    }

    /// What the virtual hand takes out at one key: what is still to be taken out, or two grams.
    fn spoonful(&self) -> Grams {
        let still = self.bench().and_then(|bench| {
            let down_to = bench.session().draw_to()?;
            Some(bench.net(&self.scale)? - down_to)
        });
        still.filter(|left| left.is_positive()).unwrap_or(Grams::new(Decimal::TWO))
    }
}
