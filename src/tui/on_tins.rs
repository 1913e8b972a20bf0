//! Keys on one toner's tins: what happened to the marked one.

use super::app::{App, Screen};
use super::keys::Action;
use super::prompt::Asks;
use crate::report::shelf::ShelfTin;
use crate::stock::{StockEvent, Tin, discard, empty, name, recall};

impl App {
    /// The tins of the toner that is opened, in the order in which they are to be used up.
    pub(super) fn opened_tins(&self) -> &[ShelfTin] {
        let (Screen::Shelf(page), Some(Ok(shelf))) = (&self.screen, &self.shelf) else { return &[] };
        let toner = page.opened.as_ref().and_then(|opened| shelf.toner(opened.toner.as_str()));
        toner.map_or(&[], |toner| toner.tins.as_slice())
    }

    /// The label of the marked one, where only what came into it and went out of it is shown.
    pub(super) fn only_of_tin(&self) -> Option<&str> {
        let Screen::Shelf(page) = &self.screen else { return None };
        let opened = page.opened.as_ref().filter(|opened| opened.of_tin)?;
        Some(self.opened_tins().get(opened.tin)?.tin.label.as_str())
    }

    /// The marked one of them, as it is known now: figures on the screen may be a moment older.
    pub(super) fn marked_tin(&self) -> Option<&Tin> {
        let Screen::Shelf(page) = &self.screen else { return None };
        let marked = self.opened_tins().get(page.opened.as_ref()?.tin)?;
        Some(self.tins.iter().find(|tin| tin.label == marked.tin.label).unwrap_or(&marked.tin))
    }

    /// Figures came anew: the mark stays with its tin, or at its place where that is gone.
    pub(super) fn stay_on_tin(&mut self, label: Option<&str>) {
        let tins = self.opened_tins();
        let at = label.and_then(|label| tins.iter().position(|tin| tin.tin.label == label));
        let last = tins.len().saturating_sub(1);
        if let Screen::Shelf(page) = &mut self.screen
            && let Some(opened) = &mut page.opened
        {
            opened.tin = at.unwrap_or(opened.tin).min(last);
        }
    }

    pub(super) fn act_on_tins(&mut self, action: Action) {
        let last = self.opened_tins().len().saturating_sub(1);
        let moves = match &self.screen {
            Screen::Shelf(page) => self.shelf_rows(page).saturating_sub(1),
            _ => return,
        };
        let Screen::Shelf(page) = &mut self.screen else { return };
        let Some(opened) = &mut page.opened else { return };
        match action {
            Action::Up | Action::Down => {
                let next = opened.tin.saturating_add(1).min(last);
                opened.tin = if action == Action::Down { next } else { opened.tin.saturating_sub(1) };
                // What is shown of a tin begins at its top.
                opened.scroll = if opened.of_tin { 0 } else { opened.scroll };
            }
            Action::OfTin => (opened.of_tin, opened.scroll) = (!opened.of_tin, 0),
            Action::Back if opened.of_tin => (opened.of_tin, opened.scroll) = (false, 0),
            Action::PageUp => opened.scroll = opened.scroll.saturating_sub(10),
            Action::PageDown => opened.scroll = opened.scroll.saturating_add(10).min(moves),
            Action::Back => page.opened = None,
            Action::Receive => {
                let toner = opened.toner.as_str().to_owned();
                self.receive(Some(&toner));
            }
            Action::StirRack => self.stir_rack(),
            Action::Stocktake => {
                let label = self.marked_tin().map(|tin| tin.label.clone());
                self.open_stocktake(label.as_deref());
            }
            _ => self.act_on_tin(action),
        }
    }

    /// Whether the marked tin has a lot that was not called back yet.
    pub(super) fn can_be_recalled(&self) -> bool {
        self.marked_tin()
            .is_some_and(|tin| tin.lot.is_some() && !self.recalls.iter().any(|recall| recall.means(tin)))
    }

    /// What a key says of the marked tin.
    fn act_on_tin(&mut self, action: Action) {
        let Some(tin) = self.marked_tin().cloned() else { return };
        match action {
            Action::TinOpened | Action::TinStirred => match name(&tin.label, tin.toner.as_str()) {
                Ok(of) if action == Action::TinOpened => {
                    let words = format!("tin {} is open", of.label);
                    self.tell_or_complain(&[StockEvent::Opened(of)], words);
                }
                Ok(of) => {
                    let words = format!("tin {} is stirred", of.label);
                    self.tell_or_complain(&[StockEvent::Stirred(of)], words);
                }
                Err(refusal) => self.complain(self.refusal(&refusal)),
            },
            Action::TinEmptied => match empty(&tin, self.unnamed.of(&self.tins, &tin.toner)) {
                Ok(event) => self.ask_about(vec![event]),
                Err(refusal) => self.complain(self.refusal(&refusal)),
            },
            Action::DiscardTin => self.ask(Asks::WhyDiscarded),
            Action::RecallLot if self.can_be_recalled() => self.ask(Asks::WhyRecalled),
            _ => {}
        }
    }

    /// Why the marked tin is thrown away.
    pub(super) fn answer_why_discarded(&mut self, typed: &str) -> Result<(), String> {
        let tin = self.marked_tin().ok_or("this tin is not on the shelf any more")?;
        let unnamed = self.unnamed.only_in(tin, &self.tins);
        let event = discard(tin, typed, unnamed).map_err(|refusal| self.refusal(&refusal))?;
        self.ask_about(vec![event]);
        Ok(())
    }

    /// Why the lot of the marked tin is called back: that lot of that toner.
    pub(super) fn answer_why_recalled(&mut self, typed: &str) -> Result<(), String> {
        let tin = self.marked_tin().ok_or("this tin is not on the shelf any more")?;
        let lot = tin.lot.as_deref().unwrap_or_default();
        let event = recall(lot, Some(&tin.toner), typed).map_err(|refusal| self.refusal(&refusal))?;
        self.ask_about(vec![event]);
        Ok(())
    }
}
