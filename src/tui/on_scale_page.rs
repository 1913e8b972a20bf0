//! Keys on the scale's own screen. Zero, tare and unit are sent here and nowhere else, on a person's key, and
//! never while a mix is in the cup: they would change what the cup reads.

use super::app::{App, Screen};
use super::keys::Action;
use super::message::Effect;
use super::scale_page::ScalePage;
use super::screens::Note;
use super::theme::Meaning;
use crate::scale::shape::{Answer, Ask};
use crate::scale::{LinkEvent, Place};
use crate::units::clean;

/// A port's name that is longer than that leaves no room for what is said of it.
const LONG_NAME: usize = 16;
/// How many characters of why the scale is lost fit into one line of the smallest screen.
const ONE_LINE: usize = 65;

impl App {
    /// Shows the scale, in front of whatever is there.
    pub(super) fn open_scale_page(&mut self) {
        if matches!(self.screen, Screen::Scale(_)) {
            return self.leave_scale_page();
        }
        let before = std::mem::replace(&mut self.screen, Screen::Unfinished { selected: 0 });
        self.screen = Screen::Scale(Box::new(ScalePage::new(before)));
        self.effects.push(Effect::WantBytes(true));
    }

    /// Goes back to what was there before.
    pub(super) fn leave_scale_page(&mut self) {
        self.give_up_search();
        if let Screen::Scale(_) = &self.screen {
            let page = std::mem::replace(&mut self.screen, Screen::Unfinished { selected: 0 });
            if let Screen::Scale(page) = page {
                self.screen = page.before;
            }
            // The cup may have been anywhere meanwhile.
            if let Screen::Bench(bench) = &mut self.screen {
                bench.out_of_sight();
            }
            self.effects.push(Effect::WantBytes(false));
        }
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
        let Screen::Scale(page) = &self.screen else { return };
        let mixing = match &page.before {
            Screen::Bench(bench) => bench.session().is_unfinished(),
            _ => false,
        };
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
        if let Screen::Scale(page) = &mut self.screen {
            page.told = None;
        }
    }

    /// Why no reading comes in, in full; none while they do, or where nobody knows.
    fn lost(&self) -> Option<String> {
        let lost = self.scale.is_present() && !self.scale.is_live();
        lost.then(|| self.scale.doubt()).flatten().filter(|why| !why.is_empty())
    }

    /// The same for one line of a small screen: the name of a port can be as long as the line, and what to do
    /// stands behind it.
    pub(super) fn lost_in_short(&self) -> Option<String> {
        let why = self.lost()?;
        let place = self.settings.scale.as_ref().map(|scale| &scale.place);
        Some(match place {
            Some(Place::Serial { path, .. }) if path.len() > LONG_NAME => why.replace(path, "the port"),
            _ => why,
        })
    }

    /// The whole of it, where the one line cannot have said it.
    pub(super) fn lost_at_length(&self) -> Option<String> {
        let short = self.lost_in_short()?;
        self.lost().filter(|why| *why != short || short.chars().count() > ONE_LINE)
    }

    /// Says what became of a question to the scale: where there is room for it, or in a line.
    pub(super) fn on_scale_answer(&mut self, event: &LinkEvent) {
        let sent = match &mut self.screen {
            Screen::Scale(page) => {
                if let LinkEvent::Asked(what) = event {
                    page.asked = Some(*what);
                }
                page.asked
            }
            _ => None,
        };
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
        match &mut self.screen {
            Screen::Scale(page) => page.told = Some(Note { text: clean(&text), meaning }),
            _ if meaning == Meaning::Error => self.complain(text),
            _ => self.say(text),
        }
    }
}
