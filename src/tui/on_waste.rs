//! Keys on the owner's waste, and what the book says of it.

use super::app::{App, Screen};
use super::keys::Action;
use super::message::Effect;
use super::opened_mix::OpenedMix;
use super::waste::{Span, WasteOf, WastePage};
use super::waste_opened::{OpenedRow, WantedMixes};
use super::went_over::OversPage;
use crate::report::Period;
use crate::report::waste::{Happened, MixPage, Overview};
use tui_input::{Input, InputRequest};

impl App {
    /// Opens the waste over the time that was looked at last; its figures are read anew, what was read stands there
    /// meanwhile.
    pub(super) fn open_waste(&mut self) {
        let span = self.waste.last;
        self.waste.read.retain(|one| one.span == span);
        let mut page = WastePage { span, ..WastePage::default() };
        let _ = page.take_in(self.waste.figures(span));
        self.screen = Screen::Waste(Box::new(page));
        self.read_waste(span);
    }

    /// Has the figures of that time read, unless they are being read already.
    fn read_waste(&mut self, span: Span) {
        if self.waste.is_reading(span) {
            return;
        }
        match span.period(self.now.stamp, self.settings.seconds_east) {
            Some(period) => {
                self.waste.reading.push(span);
                self.effects.push(Effect::ReadWaste { span, period });
            }
            None => self.complain("the clock shows no day of this calendar: set it"),
        }
    }

    /// The figures were read, or why they could not be.
    pub(super) fn on_waste_read(&mut self, span: Span, period: Period, read: Result<Overview, String>) {
        let read = read.map_err(|why| crate::units::clean(&why));
        if let Err(why) = &read {
            self.messages.keep(why, true, self.now.stamp);
        }
        self.waste.reading.retain(|one| *one != span);
        self.waste.read.retain(|one| one.span != span);
        self.waste.read.push(WasteOf { span, period, read });
        if let Screen::Waste(page) = &mut self.screen
            && page.span == span
        {
            let wanted = page.take_in(self.waste.figures(span));
            self.read_mixes(wanted);
        }
    }

    fn read_mixes(&mut self, wanted: Option<WantedMixes>) {
        self.effects.extend(wanted.map(Box::new).map(Effect::ReadMixes));
    }

    /// Mixes behind a row were read, or why they could not be. What is looked at no more is let go.
    pub(super) fn on_mixes_read(&mut self, wanted: &WantedMixes, read: Result<MixPage, String>) {
        let read = read.map_err(|why| crate::units::clean(&why));
        let Screen::Waste(page) = &mut self.screen else { return };
        let Some(opened) = page.opened.as_mut() else { return };
        opened.take_in(wanted, read);
        match &opened.failed {
            // It is not tried again before a key asks for it.
            Some(why) => self.messages.keep(why, true, self.now.stamp),
            None => self.read_on(),
        }
    }

    /// What happened to a mix was read, or why it could not be.
    pub(super) fn on_events_read(&mut self, number: u32, read: Result<Vec<Happened>, String>) {
        let read = read.map_err(|why| crate::units::clean(&why));
        if let Err(why) = &read {
            self.messages.keep(why, true, self.now.stamp);
        }
        let opened = match &mut self.screen {
            Screen::Waste(page) => page.opened.as_mut().and_then(|opened| opened.mix.as_mut()),
            Screen::Leftovers(page) => page.opened.as_mut(),
            _ => None,
        };
        if let Some(mix) = opened {
            mix.take_in(number, read);
        }
    }

    /// Opens the events of the marked mix.
    fn open_events(&mut self) {
        let Screen::Waste(page) = &mut self.screen else { return };
        let Some(opened) = page.opened.as_mut() else { return };
        let Some(number) = opened.marked().map(|mix| mix.number) else { return };
        opened.mix = Some(OpenedMix::new(number));
        self.effects.push(Effect::ReadEvents(number));
    }

    /// Has the next mixes read, where those that are read are too few.
    pub(super) fn read_on(&mut self) {
        let Screen::Waste(page) = &mut self.screen else { return };
        let wanted = page.next_mixes(self.waste.figures(page.span));
        self.read_mixes(wanted);
    }

    pub(super) fn act_on_waste(&mut self, action: Action) {
        let Screen::Waste(page) = &self.screen else { return };
        let last = page.count().saturating_sub(1);
        if action == Action::Accept && page.opened.as_ref().is_some_and(|opened| opened.mix.is_none()) {
            return self.open_events();
        }
        let Screen::Waste(page) = &mut self.screen else { return };
        let figures = self.waste.figures(page.span);
        let row = match &mut page.opened {
            Some(OpenedRow { mix: Some(mix), .. }) => &mut mix.first,
            Some(opened) => &mut opened.selected,
            None => page.overs_page.as_mut().map_or(&mut page.selected, |overs| &mut overs.selected),
        };
        match action {
            Action::Up => *row = row.saturating_sub(1),
            Action::PageUp => *row = row.saturating_sub(10),
            Action::Down | Action::PageDown => {
                *row = row.saturating_add(if action == Action::Down { 1 } else { 10 }).min(last);
                self.read_on();
            }
            Action::Back if page.field().is_some_and(|typed| !typed.value().is_empty()) => {
                page.edit(InputRequest::DeleteLine);
            }
            Action::Back if page.opened.is_some() => match &mut page.opened {
                Some(opened) if opened.mix.is_some() => opened.mix = None,
                opened => *opened = None,
            },
            Action::Back if page.overs_page.is_some() => page.overs_page = None,
            Action::Back => self.open_colours(),
            Action::Sort | Action::EraseBack | Action::EraseAll => {
                match action {
                    Action::Sort => page.sort_innermost(),
                    Action::EraseBack => page.edit(InputRequest::DeletePrevChar),
                    _ => page.edit(InputRequest::DeleteLine),
                }
                self.read_on();
            }
            _ if page.opened.is_some() => {}
            Action::WentOver if page.overs_page.is_none() && page.has_overs() => {
                page.overs_page = Some(OversPage::default());
            }
            Action::Previous | Action::Next if page.overs_page.is_none() => {
                page.turn(action == Action::Next);
                let _ = page.take_in(figures);
            }
            Action::Accept => {
                let wanted = page.open(figures);
                self.read_mixes(wanted);
            }
            Action::Period => {
                page.span_on();
                let span = page.span;
                self.waste.last = span;
                let _ = page.take_in(self.waste.figures(span));
                if self.waste.figures(span).is_none() {
                    self.read_waste(span);
                }
            }
            Action::ReadAgain => {
                let span = page.span;
                self.read_waste(span);
            }
            _ => {}
        }
    }

    /// Whether that key does something on the waste.
    pub(super) fn is_of_use_on_waste(&self, action: Action) -> bool {
        let Screen::Waste(page) = &self.screen else { return true };
        let is_open = page.opened.is_some();
        match action {
            Action::Accept => match &page.opened {
                Some(opened) => opened.mix.is_none() && opened.marked().is_some(),
                None if page.overs_page.is_some() => page.marked_over().is_some(),
                None => page.marked().is_some_and(|row| row.mixes > 0),
            },
            Action::Sort if is_open => {
                page.opened.as_ref().is_some_and(|opened| opened.mix.is_none() && !opened.mixes.is_empty())
            }
            Action::Sort if page.overs_page.is_some() => !page.shown_overs().is_empty(),
            Action::WentOver => !is_open && page.overs_page.is_none() && page.has_overs(),
            Action::Previous | Action::Next if page.overs_page.is_some() => false,
            Action::Sort | Action::Previous | Action::Next => !is_open && !page.rows.is_empty(),
            Action::Period => !is_open,
            Action::ReadAgain => !is_open && !self.waste.is_reading(page.span),
            _ => true,
        }
    }
}

impl WastePage {
    /// How many rows there are to go through.
    pub(super) fn count(&self) -> usize {
        match &self.opened {
            Some(OpenedRow { mix: Some(mix), .. }) => mix.count(),
            Some(opened) => opened.shown().len(),
            None if self.overs_page.is_some() => self.shown_overs().len(),
            None => self.shown().len(),
        }
    }

    /// Changes what is typed into the list that is looked at; nothing while a mix's events are.
    pub(super) fn edit(&mut self, request: InputRequest) {
        match (&mut self.opened, &mut self.overs_page) {
            (Some(opened), _) => opened.edit(request),
            (None, Some(overs)) => overs.edit(request),
            (None, None) if self.query.handle(request).is_some_and(|change| change.value) => {
                self.selected = 0;
            }
            (None, None) => {}
        }
    }

    /// Sorts the list that is looked at by the next of what it can be.
    fn sort_innermost(&mut self) {
        match (&mut self.opened, &mut self.overs_page) {
            (Some(opened), _) if opened.mix.is_none() => opened.sort_on(),
            (Some(_), _) => {}
            (None, Some(overs)) => overs.sort_on(),
            (None, None) => self.sort_on(),
        }
    }

    /// What is being typed into.
    pub(super) fn field(&self) -> Option<&Input> {
        match (&self.opened, &self.overs_page) {
            (Some(opened), _) => opened.mix.is_none().then_some(&opened.query),
            (None, Some(overs)) => Some(&overs.query),
            (None, None) => Some(&self.query),
        }
    }
}
