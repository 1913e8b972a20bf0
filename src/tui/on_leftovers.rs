//! What is kept of earlier mixes, looked through at the bench: one is opened, or thrown away, or all that may be used no
//! more.

use super::app::{App, Screen};
use super::keys::Action;
use super::leftovers::LeftoversPage;
use super::message::Effect;
use super::on_unfinished::step;
use super::opened_mix::OpenedMix;
use super::prompt::Asks;
use crate::barcode::Day;
use crate::book::MixId;
use crate::stock::{Leftover, StockEvent, Unfit, throw_leftover};
use tui_input::{Input, InputRequest};

/// Why leftovers that are past their day are thrown away.
const EXPIRED: &str = "to be used no more";

impl App {
    /// The first to be used up first, as they are offered for a mix; then those of which no day was said, the oldest first.
    pub(super) fn open_leftovers(&mut self) {
        self.screen = Screen::Leftovers(Box::default());
    }

    /// Why that leftover cannot be used today; none if it can, or where the clock shows no day.
    pub(super) fn unfit(&self, leftover: &Leftover) -> Option<Unfit> {
        leftover.unfit(Day::parse(&self.today())?, &self.recalls)
    }

    /// Why nobody may use that leftover any more; none if its day is not over and nothing in it was called back.
    fn why_past(&self, leftover: &Leftover) -> Option<String> {
        if let Some((recall, _)) = leftover.called_back(&self.recalls) {
            return Some(format!("recalled: lot {}", recall.lot));
        }
        let is_past = leftover.use_by.zip(Day::parse(&self.today())).is_some_and(|(by, today)| by < today);
        is_past.then(|| EXPIRED.to_owned())
    }

    /// A toner's code and its name.
    pub(super) fn toner_words(&self, code: &str) -> String {
        let name = self.catalogue.toner(code).map_or("", |toner| toner.name.as_str());
        format!("{code} {name}").trim_end().to_owned()
    }

    /// What a leftover is of, until when it may be used, and why it cannot, as they stand on the screen.
    pub(super) fn leftover_words(&self, leftover: &Leftover) -> [String; 3] {
        let subject = leftover.of.head.subject.iter().flatten().map(String::as_str);
        // The variant is said where there is anything to tell apart.
        let subject: Vec<&str> = subject.filter(|word| *word != "standard").collect();
        let use_by = leftover.use_by.map_or_else(|| "no day said".to_owned(), |day| format!("until {day}"));
        let unfit = match self.unfit(leftover) {
            None => "",
            Some(Unfit::Recalled { .. }) => "recalled",
            Some(Unfit::Thinned) => "thinned",
            Some(Unfit::Expired(_)) => "expired",
            Some(Unfit::Doubtful) => "in doubt",
        };
        [subject.join(" "), use_by, unfit.to_owned()]
    }

    /// All by which a leftover is found: its mix, the colour and the layer, its day, why it is unfit, the toners in it, and
    /// the tins and lots that they came from.
    fn said_of_leftover(&self, leftover: &Leftover) -> String {
        let mut said = vec![format!("{:04}", leftover.of.head.number)];
        said.extend(self.leftover_words(leftover));
        said.extend(leftover.made_of.iter().map(|(toner, _)| self.toner_words(toner.as_str())));
        for tin in &leftover.tins {
            said.push(tin.label.clone());
            said.extend(tin.lot.clone());
        }
        said.join(" ")
    }

    /// The places of the leftovers to show.
    pub(super) fn leftover_rows(&self, page: &LeftoversPage) -> Vec<usize> {
        page.rows(&self.leftovers, |leftover| self.said_of_leftover(leftover))
    }

    /// The leftovers to show.
    pub(super) fn shown_leftovers<'a>(
        &'a self,
        page: &LeftoversPage,
    ) -> impl Iterator<Item = &'a Leftover> + use<'a> {
        self.leftover_rows(page).into_iter().filter_map(|at| self.leftovers.get(at))
    }

    /// The one of them that is marked.
    pub(super) fn marked_leftover(&self) -> Option<&Leftover> {
        let Screen::Leftovers(page) = &self.screen else { return None };
        self.shown_leftovers(page).nth(page.selected)
    }

    /// Those of them that may be used no more, each with why: past its day, or of a lot that was called back.
    fn past_leftovers(&self) -> Vec<(&Leftover, String)> {
        let Screen::Leftovers(page) = &self.screen else { return Vec::new() };
        self.shown_leftovers(page).filter_map(|leftover| Some((leftover, self.why_past(leftover)?))).collect()
    }

    /// How many rows there are to go through.
    pub(super) fn count_on_leftovers(&self, page: &LeftoversPage) -> usize {
        page.opened.as_ref().map_or_else(|| self.leftover_rows(page).len(), OpenedMix::count)
    }

    /// Whether that key does something there.
    pub(super) fn is_of_use_on_leftovers(&self, action: Action) -> bool {
        let Screen::Leftovers(page) = &self.screen else { return true };
        page.opened.is_none()
            && match action {
                Action::ThrowExpired => !self.past_leftovers().is_empty(),
                _ => self.marked_leftover().is_some(),
            }
    }

    pub(super) fn act_on_leftovers(&mut self, action: Action) {
        let marked = self.marked_leftover().map(|leftover| leftover.of.head.number);
        let Screen::Leftovers(page) = &self.screen else { return };
        let count = self.count_on_leftovers(page);
        let Screen::Leftovers(page) = &mut self.screen else { return };
        if let Some(opened) = &mut page.opened {
            if !opened.step(action) && action == Action::Back {
                page.opened = None;
            }
            return;
        }
        if step(&mut page.selected, action, count) {
            return;
        }
        match (action, marked) {
            (Action::Back, _) if !page.query.value().is_empty() => page.edit(InputRequest::DeleteLine),
            (Action::Back, _) => self.open_shelf(),
            (Action::Sort, _) => page.sort_on(),
            (Action::EraseBack, _) => page.edit(InputRequest::DeletePrevChar),
            (Action::EraseAll, _) => page.edit(InputRequest::DeleteLine),
            (Action::Accept, Some(number)) => {
                page.opened = Some(OpenedMix::new(number));
                self.effects.push(Effect::ReadEvents(number));
            }
            (Action::ThrowLeftover, Some(_)) => self.ask(Asks::WhyLeftoverThrown),
            (Action::ThrowExpired, _) => self.throw_expired(),
            _ => {}
        }
    }

    /// Only those that are shown: nobody throws away what they do not see.
    fn throw_expired(&mut self) {
        let past = self.past_leftovers().into_iter();
        let thrown: Result<Vec<StockEvent>, _> =
            past.map(|(leftover, why)| throw_leftover(leftover, None, &why)).collect();
        match thrown {
            Ok(events) if events.is_empty() => self.say("none of them is past its day or was called back"),
            Ok(events) => self.ask_about(events),
            Err(refusal) => self.complain(self.refusal(&refusal)),
        }
    }

    /// Why the marked one is thrown away.
    pub(super) fn answer_why_leftover_thrown(&mut self, typed: &str) -> Result<(), String> {
        let leftover = self.marked_leftover().ok_or("this leftover is not on the shelf any more")?;
        let event = throw_leftover(leftover, None, typed).map_err(|refusal| self.refusal(&refusal))?;
        self.ask_about(vec![event]);
        Ok(())
    }

    /// The mark stays within the list when it has become shorter.
    pub(super) fn stay_in_leftovers(&mut self) {
        let Screen::Leftovers(page) = &self.screen else { return };
        let last = self.leftover_rows(page).len().saturating_sub(1);
        if let Screen::Leftovers(page) = &mut self.screen {
            page.selected = page.selected.min(last);
        }
    }

    /// A mix's label was scanned: what is left of it is marked, among all of them; false if nothing is.
    pub(super) fn mark_leftover(&mut self, mix: MixId) -> bool {
        if !self.leftovers.iter().any(|leftover| leftover.of.mix == mix) {
            return false;
        }
        if let Screen::Leftovers(page) = &mut self.screen {
            (page.query, page.opened) = (Input::default(), None);
        }
        let Screen::Leftovers(page) = &self.screen else { return false };
        let at = self.shown_leftovers(page).position(|leftover| leftover.of.mix == mix);
        if let (Some(at), Screen::Leftovers(page)) = (at, &mut self.screen) {
            page.selected = at;
        }
        at.is_some()
    }
}
