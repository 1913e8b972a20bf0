//! What is kept of earlier mixes, looked through at the bench: one is thrown away, or all that may be used no more.

use super::app::{App, Screen};
use super::keys::Action;
use super::on_unfinished::step;
use super::prompt::Asks;
use crate::barcode::Day;
use crate::stock::{Leftover, StockEvent, Unfit, throw_leftover};

/// Why leftovers that are past their day are thrown away.
const EXPIRED: &str = "to be used no more";

impl App {
    /// The first to be used up first, as they are offered for a mix; then those of which no day was said, the oldest first.
    pub(super) fn open_leftovers(&mut self) {
        self.leftovers.sort_by_key(|one| (one.use_by.is_none(), one.use_by, one.of.head.number));
        self.screen = Screen::Leftovers { selected: 0 };
    }

    /// Why that leftover cannot be used today; none if it can, or where the clock shows no day.
    pub(super) fn unfit(&self, leftover: &Leftover) -> Option<Unfit> {
        leftover.unfit(Day::parse(&self.today())?, &self.recalls)
    }

    /// How many of them may be used no more: past their day, or of a lot that was called back.
    pub(super) fn expired_leftovers(&self) -> usize {
        self.leftovers.iter().filter(|leftover| self.why_past(leftover).is_some()).count()
    }

    /// Why nobody may use that leftover any more; none if its day is not over and nothing in it was called back.
    fn why_past(&self, leftover: &Leftover) -> Option<String> {
        if let Some((recall, _)) = leftover.called_back(&self.recalls) {
            return Some(format!("recalled: lot {}", recall.lot));
        }
        let is_past = leftover.use_by.zip(Day::parse(&self.today())).is_some_and(|(by, today)| by < today);
        is_past.then(|| EXPIRED.to_owned())
    }

    pub(super) fn act_on_leftovers(&mut self, action: Action) {
        let Screen::Leftovers { selected } = &mut self.screen else { return };
        if step(selected, action, self.leftovers.len()) {
            return;
        }
        match action {
            Action::Back => self.open_shelf(),
            Action::ThrowLeftover if !self.leftovers.is_empty() => self.ask(Asks::WhyLeftoverThrown),
            Action::ThrowExpired => self.throw_expired(),
            _ => {}
        }
    }

    fn throw_expired(&mut self) {
        let past = self.leftovers.iter().filter_map(|leftover| Some((leftover, self.why_past(leftover)?)));
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
        let Screen::Leftovers { selected } = &self.screen else { return Ok(()) };
        let leftover = self.leftovers.get(*selected).ok_or("this leftover is not on the shelf any more")?;
        let event = throw_leftover(leftover, None, typed).map_err(|refusal| self.refusal(&refusal))?;
        self.ask_about(vec![event]);
        Ok(())
    }

    /// The mark stays within the list when it has become shorter.
    pub(super) fn stay_in_leftovers(&mut self) {
        let last = self.leftovers.len().saturating_sub(1);
        if let Screen::Leftovers { selected } = &mut self.screen {
            *selected = (*selected).min(last);
        }
    }
}
