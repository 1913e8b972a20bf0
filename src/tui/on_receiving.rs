//! Receiving a tin at the bench: the form's lines one after another, by hand or by scanner.

use super::app::App;
use super::on_scan::NO_TIN;
use super::prompt::Asks;
use super::receiving::{Field, Receiving};
use super::scanned::{Scanned, ScannedTin};
use crate::barcode::Day;
use crate::book::figures::TinRow;
use crate::catalogue::TonerCode;
use crate::stock::{StockEvent, Tin, receive};
use tui_input::Input;

impl App {
    /// Begins with a tin that came, or goes on with the one that was begun.
    pub(super) fn receive(&mut self, toner: Option<&str>) {
        if self.refuse_to_write() {
            return;
        }
        let notation = self.notation();
        let begun = Receiving::of(toner.unwrap_or_default());
        let receiving = self.stores.receiving.get_or_insert(begun);
        receiving.like_the_last(&self.tins, notation);
        let field = receiving.first_open();
        self.ask_field(field, None);
    }

    /// A tin that was scanned and is not in the book can be received with what its code says.
    pub(super) fn offer_to_receive(&mut self, tin: &ScannedTin) {
        let Some(label) = tin.label.as_ref().filter(|label| tin.lot.as_ref() != Some(*label)) else { return };
        let came = |known: &Tin| known.label == *label && known.received.is_some();
        if self.tins.iter().any(came) || self.look_only.is_some() {
            return;
        }
        if self.stores.receiving.as_ref().is_none_or(Receiving::is_blank) {
            let mut receiving = Receiving::default();
            receiving.scanned(tin);
            self.stores.receiving = Some(receiving);
        }
        self.say(format!("tin {label} was not received yet: receive it with what its code says"));
    }

    fn ask_field(&mut self, field: Field, error: Option<String>) {
        self.ask(Asks::Receive(field));
        let typed = self.stores.receiving.as_ref().map_or("", |receiving| receiving.get(field)).to_owned();
        if let Some(prompt) = &mut self.prompt {
            prompt.input = Input::new(typed);
            prompt.error = error;
            prompt.selected = Field::ALL.iter().position(|one| *one == field).unwrap_or(0);
        }
    }

    /// The form's lines, as they are: a word, and what is typed there.
    pub(super) fn form_rows(&self) -> Vec<[String; 4]> {
        let Some(receiving) = &self.stores.receiving else { return Vec::new() };
        let row = |field: Field| {
            let line = self.prompt.as_ref().filter(|prompt| prompt.asks == Asks::Receive(field));
            let typed = line.map_or(receiving.get(field), |prompt| prompt.input.value());
            let name = self.catalogue.toner(typed).filter(|_| field == Field::Toner);
            let name = name.map_or_else(String::new, |toner| format!("  {}", toner.name));
            [String::new(), field.word().to_owned(), String::new(), format!("{typed}{name}")]
        };
        Field::ALL.into_iter().map(row).collect()
    }

    /// Keeps what stands in the line.
    fn keep_field(&mut self, field: Field) {
        let Some(prompt) = &self.prompt else { return };
        let typed = crate::units::clean(prompt.input.value()).trim().to_owned();
        if let Some(receiving) = &mut self.stores.receiving {
            receiving.set(field, &typed);
        }
    }

    /// Another line of the form.
    pub(super) fn step_field(&mut self, field: Field, down: bool) {
        self.keep_field(field);
        if let Some(next) = field.beside(down) {
            self.ask_field(next, None);
        }
    }

    /// Leaves the form; what was typed waits for the next time.
    pub(super) fn leave_form(&mut self, field: Field) {
        self.keep_field(field);
        self.prompt = None;
        if self.stores.receiving.as_ref().is_some_and(Receiving::is_blank) {
            self.stores.receiving = None;
        } else {
            self.say("nothing is received yet; what was typed is kept for the next time");
        }
    }

    /// A line was answered: the next one, or the tin is received.
    pub(super) fn answer_field(&mut self, field: Field, typed: &str) -> Result<(), String> {
        let notation = self.notation();
        let Some(receiving) = &mut self.stores.receiving else { return Ok(()) };
        receiving.set(field, typed);
        receiving.check(field, &self.catalogue, notation)?;
        if field == Field::Toner {
            if let Some(toner) = self.catalogue.toner(typed) {
                receiving.set(field, toner.code.as_str());
            }
            receiving.like_the_last(&self.tins, notation);
        }
        match field.beside(true) {
            Some(next) => self.ask_field(next, None),
            None => self.take_in(),
        }
        Ok(())
    }

    /// Receives it, or says at the line that is wrong why not.
    fn take_in(&mut self) {
        let Some(receiving) = &self.stores.receiving else { return };
        let receipt = match receiving.receipt(&self.catalogue, self.notation()) {
            Ok(receipt) => receipt,
            Err((field, why)) => return self.ask_field(field, Some(why)),
        };
        let known = self.tins.iter().find(|tin| tin.label == receipt.tin.label.trim());
        let known = known.map(|tin| TinRow {
            received: tin.received,
            ..TinRow::unsaid(tin.label.clone(), TonerCode::new(tin.toner.as_str()))
        });
        let event = match receive(&receipt, known.as_ref()) {
            Ok(event) => event,
            Err(refusal) => return self.ask_field(Field::of(&refusal), Some(self.refusal(&refusal))),
        };
        let StockEvent::Received(came) = &event else { return };
        let mut words =
            format!("tin {}, {} of {} received", came.tin.label, self.stock_mass(came.net), came.tin.toner);
        let today = Day::parse(&self.today());
        let until = came.expires.as_deref().and_then(Day::parse);
        if let Some(until) = until.filter(|until| today.is_some_and(|today| *until < today)) {
            words = format!("{words}; it was to be used until {until}");
        }
        match self.tell_stock(std::slice::from_ref(&event), words) {
            Ok(()) => self.stores.receiving = None,
            Err(why) => self.ask_field(Field::Empty, Some(why)),
        }
    }

    /// A scan while a line is asked for; false if a scanner types there as well as a hand.
    pub(super) fn scan_into_form(&mut self, field: Field, scanned: &Scanned, text: &str) -> bool {
        let typed = self.without_scan(text);
        let Some(prompt) = &mut self.prompt else { return false };
        match scanned {
            Scanned::Tin(tin) => {
                let (tin, notation) = (tin.clone(), self.notation());
                let Some(receiving) = &mut self.stores.receiving else { return true };
                receiving.set(field, &typed);
                receiving.scanned(&tin);
                receiving.like_the_last(&self.tins, notation);
                let next = receiving.first_open();
                self.ask_field(next, None);
                true
            }
            Scanned::Mix(_) => {
                prompt.input = Input::new(typed);
                prompt.error = Some(NO_TIN.to_owned());
                true
            }
            Scanned::Wrong(why) => {
                prompt.input = Input::new(typed);
                prompt.error = Some(why.clone());
                true
            }
            Scanned::Unknown(code) if field == Field::Toner => {
                prompt.input = Input::new(typed);
                prompt.error = Some(format!(
                    "no toner has the code {code}: add it as codes = [\"{code}\"] to its toner in toners.toml"
                ));
                true
            }
            Scanned::Unknown(_) | Scanned::Colour(_)
                if matches!(field, Field::Net | Field::Price | Field::Empty) =>
            {
                self.doubt_scan();
                true
            }
            Scanned::Unknown(_) | Scanned::Colour(_) => false,
        }
    }

    /// What stands in the line without what a scanner has just typed into it.
    fn without_scan(&self, text: &str) -> String {
        let typed = self.prompt.as_ref().map_or("", |prompt| prompt.input.value());
        let kept = typed.chars().count().saturating_sub(text.chars().count());
        typed.chars().take(kept).collect()
    }

    /// A code is no number: digits of a barcode are not booked as grams before somebody has looked at them. A hand's may
    /// come as fast over a slow line, so they stay.
    pub(super) fn doubt_scan(&mut self) {
        if let Some(prompt) = &mut self.prompt {
            prompt.error = Some("that came as fast as a barcode: Enter if it is the number".to_owned());
        }
    }
}
