//! Keys on the stores manager's shelf, and what the book says of it.

use super::app::{App, Screen};
use super::keys::Action;
use super::message::Effect;
use super::prompt::Asks;
use super::scanned::ScannedTin;
use super::shelf::{Opened, ShelfPage};
use crate::catalogue::TonerCode;
use crate::report::shelf::{Move, Shelf};
use tui_input::InputRequest;

impl App {
    /// Opens the shelf; its figures are read anew.
    pub(super) fn open_shelf(&mut self) {
        self.screen = Screen::Shelf(Box::default());
        self.read_shelf();
    }

    /// The figures were read, or why they could not be.
    pub(super) fn on_shelf_read(&mut self, read: Result<Shelf, String>) {
        let marked = self.marked_toner();
        let tin = self.marked_tin().map(|tin| tin.label.clone());
        if let Err(why) = &read {
            self.messages.keep(&crate::units::clean(why), true, self.now.stamp);
        }
        let is_current = self.is_shelf_current();
        if let Ok(shelf) = &read
            && is_current
        {
            self.know_tins(shelf);
        }
        self.shelf = Some(read);
        self.stay_on_tin(tin.as_deref());
        // Rows may have come or gone: the mark stays with its toner.
        if let (Some(toner), Screen::Shelf(page), Some(Ok(shelf))) = (marked, &mut self.screen, &self.shelf) {
            let at = |at: &usize| shelf.toners.get(*at).is_some_and(|one| one.toner == toner);
            page.selected = page.rows(shelf).iter().position(at).unwrap_or(0);
        }
    }

    /// What came and went of a toner was read.
    pub(super) fn on_moves_read(&mut self, toner: &TonerCode, read: Result<Vec<Move>, String>) {
        if let Screen::Shelf(page) = &mut self.screen
            && let Some(opened) = page.opened.as_mut().filter(|opened| opened.toner == *toner)
        {
            opened.moves = Some(read);
        }
    }

    /// How many rows there are to go through on the shelf.
    pub(super) fn shelf_rows(&self, page: &ShelfPage) -> usize {
        match (&page.opened, &self.shelf) {
            (Some(Opened { moves: Some(Ok(moves)), .. }), _) => match self.only_of_tin() {
                Some(label) => moves.iter().filter(|one| one.tin.as_deref() == Some(label)).count(),
                None => moves.len(),
            },
            (None, Some(Ok(shelf))) => page.rows(shelf).len(),
            _ => 0,
        }
    }

    fn marked_toner(&self) -> Option<TonerCode> {
        let (Screen::Shelf(page), Some(Ok(shelf))) = (&self.screen, &self.shelf) else { return None };
        let at = *page.rows(shelf).get(page.selected)?;
        Some(shelf.toners.get(at)?.toner.clone())
    }

    /// Opens the tins of a toner.
    pub(super) fn open_toner(&mut self, toner: TonerCode) {
        let Screen::Shelf(page) = &mut self.screen else { return };
        page.opened = Some(Opened { toner: toner.clone(), moves: None, scroll: 0, tin: 0, of_tin: false });
        self.effects.push(Effect::ReadMoves(toner));
    }

    /// Opens the tins of a toner of which one was scanned, that one marked; what another program wrote of it is read too.
    pub(super) fn open_scanned(&mut self, tin: &ScannedTin) {
        self.open_toner(TonerCode::new(&tin.toner));
        self.stay_on_tin(tin.label.as_deref());
        self.read_shelf();
        self.offer_to_receive(tin);
    }

    pub(super) fn act_on_shelf(&mut self, action: Action) {
        if matches!(&self.screen, Screen::Shelf(page) if page.opened.is_some()) {
            return self.act_on_tins(action);
        }
        let marked = self.marked_toner();
        let Screen::Shelf(page) = &self.screen else { return };
        let last = self.shelf_rows(page).saturating_sub(1);
        let Screen::Shelf(page) = &mut self.screen else { return };
        let row = &mut page.selected;
        match action {
            Action::Up => *row = row.saturating_sub(1),
            Action::Down => *row = row.saturating_add(1).min(last),
            Action::PageUp => *row = row.saturating_sub(10),
            Action::PageDown => *row = row.saturating_add(10).min(last),
            Action::Back if !page.query.value().is_empty() => page.edit(InputRequest::DeleteLine),
            Action::Back => self.open_colours(),
            Action::Sort => page.sort_on(),
            Action::Receive => self.receive(None),
            Action::Delivery => self.ask(Asks::Delivery),
            Action::Stocktake => self.open_stocktake(None),
            Action::StirRack => self.stir_rack(),
            Action::Leftovers => self.open_leftovers(),
            Action::EraseBack => page.edit(InputRequest::DeletePrevChar),
            Action::EraseAll => page.edit(InputRequest::DeleteLine),
            Action::Accept => {
                if let Some(toner) = marked {
                    self.open_toner(toner);
                }
            }
            _ => {}
        }
    }
}

impl ShelfPage {
    /// Changes what is typed; nothing while a toner is opened.
    pub(super) fn edit(&mut self, request: InputRequest) {
        if self.opened.is_none() && self.query.handle(request).is_some_and(|change| change.value) {
            self.selected = 0;
        }
    }
}
