//! What the stores manager says at the bench's own screen: into the book by the keeper that has it, and said to be saved
//! once it is.

use super::app::{App, Screen};
use super::message::Effect;
use super::on_scan::today;
use super::prompt::Asks;
use super::put_right::Sure;
use super::receiving::Receiving;
use super::shelf_reader::ShelfAsked;
use super::sound::Sound;
use crate::book::{Envelope, EventId};
use crate::stock::{StockEvent, StockRefusal, Tin, stirring};
use crate::units::{Division, Grams};

/// What is under way of it.
#[derive(Debug, Default)]
pub(super) struct Stores {
    /// What is said once the event with that identity is on disk.
    told: Vec<(EventId, String)>,
    /// What is asked about before it is told.
    pub(super) pending: Vec<StockEvent>,
    /// The tin that is being received: what was typed of it stays while somebody looks elsewhere.
    pub(super) receiving: Option<Receiving>,
    /// Whether the shelf's figures are being read, and whether they will be old when they come.
    reading: bool,
    outdated: bool,
}

impl App {
    /// Sends that into the book, all of it or nothing; the words are said once it is on disk.
    pub(super) fn tell_stock(&mut self, events: &[StockEvent], words: String) -> Result<(), String> {
        if let Some(why) = &self.look_only {
            return Err(format!("nothing can be written: {why}"));
        }
        let at = self.now.stamp;
        let sealed = |event: &StockEvent| event.envelope(self.ids.event(at), at, &self.settings.by);
        let sealed: Result<Vec<Envelope>, _> = events.iter().map(sealed).collect();
        let sealed = sealed.map_err(|error| format!("it cannot be written into the book: {error}"))?;
        if let Some(last) = sealed.last() {
            self.stores.told.push((last.id, words));
        }
        self.write_together(sealed);
        Ok(())
    }

    /// The same where there is no line to keep what was typed in.
    pub(super) fn tell_or_complain(&mut self, events: &[StockEvent], words: String) {
        if let Err(why) = self.tell_stock(events, words) {
            self.complain(why);
        }
    }

    /// An event is on disk: what was to be said of it is, and the shelf is read anew where it is looked at.
    pub(super) fn stock_is_saved(&mut self, id: EventId) {
        let Some(at) = self.stores.told.iter().position(|(last, _)| *last == id) else { return };
        let (_, words) = self.stores.told.remove(at);
        self.effects.push(Effect::Sound(Sound::Right));
        self.say(format!("saved: {words}"));
        if let Screen::Shelf(page) = &self.screen {
            let opened = page.opened.as_ref().map(|opened| opened.toner.clone());
            self.effects.extend(opened.map(Effect::ReadMoves));
            self.read_shelf();
        }
    }

    /// Has the shelf's figures read, one reading at a time: a later one must not be overtaken by an earlier.
    pub(super) fn read_shelf(&mut self) {
        if self.stores.reading {
            self.stores.outdated = true;
            return;
        }
        let Some(today) = today(self.now.stamp, self.settings.seconds_east) else {
            return self.complain("the clock shows no day of this calendar: set it");
        };
        self.stores.reading = true;
        let (shop, usual) = (Box::new(self.at_hand()), self.settings.preferences.job);
        self.effects.push(Effect::ReadShelf(ShelfAsked { shop, usual, today, now: self.now.stamp }));
    }

    /// Something is on its way into the book that figures being read now may lack.
    pub(super) fn outdate_shelf(&mut self) {
        self.stores.outdated |= self.stores.reading;
    }

    /// The figures came. Whether they say how things are; if not, they are read again.
    pub(super) fn is_shelf_current(&mut self) -> bool {
        self.stores.reading = false;
        let outdated = std::mem::take(&mut self.stores.outdated);
        if outdated && self.all_saved() {
            self.read_shelf();
        }
        // What is on its way to the disk is not in the figures yet.
        !outdated && self.all_saved()
    }

    /// Why something cannot be said of the stock, with masses as the person reads them.
    pub(super) fn refusal(&self, refusal: &StockRefusal) -> String {
        let mass = |mass: Grams| self.notation().given_mass(mass);
        match refusal {
            StockRefusal::NothingInIt { label, mass: said } => {
                format!("tin {label}: {} is no amount of paint; say what is in it", mass(*said))
            }
            StockRefusal::NoEmptyTin { label, mass: said } => {
                format!("tin {label}: an empty tin cannot weigh {}", mass(*said))
            }
            StockRefusal::LighterThanEmpty { label, gross, empty } => {
                format!(
                    "tin {label} weighs {}, and empty it weighs {}: look at both",
                    mass(*gross),
                    mass(*empty)
                )
            }
            StockRefusal::MoreThanLeft(holds) => {
                format!("of this leftover there is no more than {}", mass(*holds))
            }
            other => other.to_string(),
        }
    }

    /// A mass of the stock as it is said.
    pub(super) fn stock_mass(&self, mass: Grams) -> String {
        self.notation().mass(mass, Division::TENTH)
    }

    /// The open tins on the rack, and how many of them were not stirred today.
    pub(super) fn to_stir(&self) -> (usize, usize) {
        let Some(today) = today(self.now.stamp, self.settings.seconds_east) else { return (0, 0) };
        let open = || self.tins.iter().filter(|tin| tin.is_open() && !tin.is_gone());
        let unstirred = open().filter(|tin| tin.stirred.is_none_or(|at| at < today.began));
        (open().count(), unstirred.count())
    }

    /// The rack is stirred: every open tin on it.
    pub(super) fn stir_rack(&mut self) {
        let events = stirring(&self.tins);
        let words = match events.len() {
            0 => return self.say("no open tin is on the rack: nothing to stir"),
            1 => "the rack is stirred: 1 open tin".to_owned(),
            many => format!("the rack is stirred: {many} open tins"),
        };
        self.tell_or_complain(&events, words);
    }

    /// Asks about something that nothing brings back, before it is told.
    pub(super) fn ask_about(&mut self, events: Vec<StockEvent>) {
        self.stores.pending = events;
        self.ask(Asks::Sure(Sure::Stock));
    }

    /// The question, and what it costs.
    pub(super) fn pending_question(&self) -> Option<(String, String)> {
        let mass = |mass| self.stock_mass(mass);
        let (what, cost) = match self.stores.pending.as_slice() {
            [StockEvent::Emptied { tin, booked, unnamed }] => (
                format!("is tin {} empty? the book says that it holds {}", tin.label, mass(*booked)),
                match unnamed {
                    None => "what the book still has in it is booked as a difference; nothing brings it back"
                        .to_owned(),
                    Some(unnamed) if unnamed == booked => {
                        "all of it was poured without a tin's name; nothing brings it back".to_owned()
                    }
                    Some(unnamed) => format!(
                        "{} were poured unnamed, {} are a difference; nothing brings it back",
                        mass(*unnamed),
                        mass(*booked - *unnamed)
                    ),
                },
            ),
            [StockEvent::Discarded { tin, booked, unnamed, .. }] => {
                let holds = *booked - unnamed.unwrap_or(Grams::ZERO);
                (
                    format!("throw tin {} away with {} of {}?", tin.label, mass(holds), tin.toner),
                    match unnamed {
                        None => "nothing brings it back; it goes where the local rules for paint waste say"
                            .to_owned(),
                        Some(unnamed) => format!(
                            "{} more were poured of it unnamed; it goes where the local rules say",
                            mass(*unnamed)
                        ),
                    },
                )
            }
            [StockEvent::Recalled { lot, toner, .. }] => {
                let own = |tin: &&Tin| {
                    let same = toner.as_ref().is_none_or(|toner| *toner == tin.toner);
                    same && !tin.is_gone() && tin.lot.as_ref() == Some(lot)
                };
                let tins = match self.tins.iter().filter(own).count() {
                    1 => "1 tin of it is".to_owned(),
                    many => format!("{many} tins of it are"),
                };
                let of = toner.as_ref().map(|toner| format!(" of {toner}")).unwrap_or_default();
                (
                    format!("call lot {lot}{of} back? {tins} on the shelf"),
                    "the bench says so before each pour from it; nothing takes that back".to_owned(),
                )
            }
            thrown => {
                let of = |event: &StockEvent| match event {
                    StockEvent::LeftoverThrown(thrown) => thrown.parts.iter().map(|(_, mass)| *mass).sum(),
                    _ => Grams::ZERO,
                };
                let all = mass(thrown.iter().map(of).sum());
                let what = match thrown.len() {
                    0 => return None,
                    1 => format!("throw this leftover away, {all}?"),
                    many => format!("throw {many} leftovers away, {all} together?"),
                };
                (what, "nothing brings it back; it goes where the local rules for paint waste say".to_owned())
            }
        };
        Some((what, cost))
    }

    /// It was answered with yes.
    pub(super) fn tell_pending(&mut self) {
        let events = std::mem::take(&mut self.stores.pending);
        let words = match events.as_slice() {
            [StockEvent::Emptied { tin, .. }] => format!("tin {} is empty", tin.label),
            [StockEvent::Discarded { tin, reason, .. }] => {
                format!("tin {} is thrown away: {reason}", tin.label)
            }
            [StockEvent::Recalled { lot, why, .. }] => format!("lot {lot} is called back: {why}"),
            [StockEvent::LeftoverThrown(thrown)] => format!("the leftover is thrown away: {}", thrown.reason),
            many => format!("{} leftovers are thrown away", many.len()),
        };
        self.tell_or_complain(&events, words);
        self.stay_in_leftovers();
    }
}
