//! A delivery from a file at the bench's own screen: read, shown, and only then received, all of it or nothing.

use super::app::{App, Screen};
use super::delivery_reader::DeliveryAsked;
use super::keys::Action;
use super::message::Effect;
use super::prompt::{Asks, LOOK_MS};
use crate::stock::{Delivery, StockEvent};
use crate::units::{Grams, Moment, clean};
use std::path::Path;
use tui_input::Input;

/// A delivery on the screen, before it is received.
#[derive(Debug)]
pub(super) struct DeliveryPage {
    /// The file's path, as it was typed.
    typed: String,
    /// Its name.
    pub(super) from: String,
    /// What would come in, and what is wrong.
    pub(super) delivery: Delivery,
    /// The first of its lines on the screen.
    pub(super) scroll: usize,
    /// Since when it is shown.
    since: Moment,
}

impl DeliveryPage {
    fn new(typed: String, delivery: Delivery, since: Moment) -> Self {
        let name = Path::new(&typed)
            .file_name()
            .map_or_else(|| typed.clone(), |name| name.to_string_lossy().into_owned());
        Self { from: clean(&name), typed, delivery, scroll: 0, since }
    }

    /// How many lines there are to go through; what is wrong can take more of them on the screen.
    pub(super) const fn lines(&self) -> usize {
        self.delivery.tins.len().saturating_add(self.delivery.wrong.len())
    }
}

impl App {
    /// The path of a table was typed.
    pub(super) fn answer_delivery(&mut self, typed: &str) -> Result<(), String> {
        if typed.is_empty() {
            return Err("type the path of a CSV file, as delivery.csv".to_owned());
        }
        self.read_delivery(typed.to_owned());
        Ok(())
    }

    fn read_delivery(&mut self, typed: String) {
        let shop = Box::new(self.catalogue.clone());
        self.effects.push(Effect::ReadDelivery(DeliveryAsked { typed, shop }));
        self.say("reading it");
    }

    /// A table was read, or why it could not be.
    pub(super) fn on_delivery_read(&mut self, typed: String, read: Result<Delivery, String>) {
        // Whoever went elsewhere meanwhile is not brought back.
        let waits = matches!(&self.screen, Screen::Shelf(page) if page.opened.is_none())
            || matches!(&self.screen, Screen::Delivery(_));
        if !waits || self.prompt.is_some() {
            return self
                .say("the delivery was read; nothing of it is received: ask for it again on the shelf");
        }
        self.notice = None;
        match read {
            Ok(delivery) => {
                let page = DeliveryPage::new(typed, delivery, self.now.moment);
                self.screen = Screen::Delivery(Box::new(page));
            }
            Err(why) => {
                self.ask(Asks::Delivery);
                if let Some(prompt) = &mut self.prompt {
                    prompt.input = Input::new(typed);
                    prompt.error = Some(clean(&why));
                }
            }
        }
    }

    pub(super) fn act_on_delivery(&mut self, action: Action) {
        let Screen::Delivery(page) = &mut self.screen else { return };
        let (last, line) = (page.lines().saturating_sub(1), &mut page.scroll);
        match action {
            Action::Up => *line = line.saturating_sub(1),
            Action::Down => *line = line.saturating_add(1).min(last),
            Action::PageUp => *line = line.saturating_sub(10),
            Action::PageDown => *line = line.saturating_add(10).min(last),
            Action::Back => self.open_shelf(),
            Action::ReadFile => {
                let typed = page.typed.clone();
                self.read_delivery(typed);
            }
            // A key that comes as soon as it is there was meant for what stood there before.
            Action::Accept if self.now.moment.since(page.since) >= LOOK_MS => self.receive_delivery(),
            _ => {}
        }
    }

    /// Receives all of it, or says why nothing is.
    fn receive_delivery(&mut self) {
        let Screen::Delivery(page) = &self.screen else { return };
        let events = match page.delivery.clone().whole() {
            Ok(events) => events,
            Err(wrong) => {
                let what = match wrong.len() {
                    1 => "1 thing is".to_owned(),
                    many => format!("{many} things are"),
                };
                return self.complain(format!(
                    "nothing is received while {what} wrong: put that right in the file and read it again"
                ));
            }
        };
        // The book was asked when the table was read; what was received here since may not have been in it.
        let came = |event: &&StockEvent| {
            let StockEvent::Received(receipt) = event else { return false };
            self.tins.iter().any(|tin| tin.label == receipt.tin.label && tin.received.is_some())
        };
        if let Some(StockEvent::Received(receipt)) = events.iter().find(came) {
            let label = receipt.tin.label.clone();
            return self.complain(format!(
                "nothing is received: tin {label} was received meanwhile, and a label is used once"
            ));
        }
        let all: Grams = page.delivery.receipts().map(|receipt| receipt.net).sum();
        let words = match events.len() {
            1 => format!("1 tin received, {}", self.stock_mass(all)),
            many => format!("{many} tins received, {}", self.stock_mass(all)),
        };
        match self.tell_stock(&events, words) {
            Ok(()) => self.open_shelf(),
            Err(why) => self.complain(why),
        }
    }
}
