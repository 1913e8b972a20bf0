//! Keys on the scale's own screen. Zero, tare and unit are sent here and nowhere else, on a person's key, and
//! never while a mix is in the cup: they would change what the cup reads.

use super::app::{App, Screen};
use super::keys::Action;
use super::message::Effect;
use super::scale_page::ScalePage;
use super::screens::Note;
use super::theme::Meaning;
use crate::scale::LinkEvent;
use crate::scale::shape::{Answer, Ask};
use crate::units::clean;

impl App {
    /// Shows the scale in front of whatever is there, or goes back to that.
    pub(super) fn open_scale_page(&mut self) {
        if self.scale_page.is_some() {
            return self.leave_scale_page();
        }
        self.scale_page = Some(ScalePage::default());
        self.effects.push(Effect::WantBytes(true));
    }

    fn leave_scale_page(&mut self) {
        self.give_up_search();
        self.scale_page = None;
        // The cup may have been anywhere meanwhile.
        if let Screen::Bench(bench) = &mut self.screen {
            bench.out_of_sight();
        }
        self.effects.push(Effect::WantBytes(false));
    }

    pub(super) fn act_on_scale_page(&mut self, action: Action) {
        match action {
            _ if self.is_searching() => match action {
                Action::Accept => _ = self.take_found(),
                Action::Back => _ = self.give_up_search(),
                _ => {}
            },
            Action::Back if self.give_up_scale_task() => {}
            Action::Back => self.leave_scale_page(),
            Action::FindScale => self.begin_search(),
            Action::CheckScale => self.begin_check(),
            Action::TenWeighings => self.begin_ten(),
            Action::Accept => self.take_for_scale_task(),
            Action::Up => self.turn_check_weight(false),
            Action::Down => self.turn_check_weight(true),
            Action::SetZero => self.ask_scale(Ask::Zero),
            Action::Tare => self.ask_scale(Ask::Tare),
            Action::ClearTare => self.ask_scale(Ask::ClearTare),
            Action::NextUnit => self.ask_scale(Ask::NextUnit),
            _ => {}
        }
    }

    fn ask_scale(&mut self, what: Ask) {
        let mixing = self.bench().is_some_and(|bench| bench.session().is_unfinished());
        if !self.scale.is_present() {
            self.complain("there is no scale to ask: weights are typed");
        } else if !self.scale.is_live() {
            self.complain("nothing was sent, because the scale does not answer: see to the line first");
        } else if mixing {
            self.complain("a mix is in the cup, and this would change what the cup reads: finish it or put it aside first");
        } else {
            self.effects.push(Effect::Ask(what));
            return;
        }
        if let Some(page) = &mut self.scale_page {
            page.told = None;
        }
    }

    /// Says what became of a question to the scale: where there is room for it, or in a line.
    pub(super) fn on_scale_answer(&mut self, event: &LinkEvent) {
        let sent = self.scale_page.as_mut().and_then(|page| {
            if let LinkEvent::Asked(what) = event {
                page.asked = Some(*what);
            }
            page.asked
        });
        let (text, meaning) = match event {
            LinkEvent::Asked(what) => {
                (format!("asked the scale {what}; waiting for its answer"), Meaning::Moving)
            }
            LinkEvent::Unanswered(what) => (
                format!("asked the scale {what}: it gave no answer. Look at its display before weighing on"),
                Meaning::Doubt,
            ),
            LinkEvent::Answer { to: Some(what), answer: Answer::Done } => {
                (format!("asked the scale {what}: done"), Meaning::Right)
            }
            LinkEvent::Answer { to: Some(what), answer: answer @ Answer::Accepted } => {
                (format!("asked the scale {what}: {answer}"), Meaning::Moving)
            }
            // What never went out was not refused by the scale: the reason says all there is.
            LinkEvent::Answer { to: Some(what), answer: Answer::Refused(why) } if sent != Some(*what) => {
                (why.clone(), Meaning::Error)
            }
            LinkEvent::Answer { to: Some(what), answer } => {
                (format!("asked the scale {what}: {answer}"), Meaning::Error)
            }
            LinkEvent::Answer { to: None, answer: answer @ Answer::Refused(_) } => {
                (format!("the scale says: {answer}"), Meaning::Error)
            }
            _ => return,
        };
        match &mut self.scale_page {
            Some(page) => page.told = Some(Note { text: clean(&text), meaning }),
            _ if meaning == Meaning::Error => self.complain(text),
            _ => self.say(text),
        }
    }
}
