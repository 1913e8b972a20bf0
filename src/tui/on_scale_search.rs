//! Finding the scale from its own screen: what begins the search, what it says, and what is done with what it found.

use super::app::{App, Screen};
use super::message::Effect;
use super::scale_watch::ScaleWatch;
use super::screens::Note;
use super::search::{Proposal, Searching, Where};
use super::theme::Meaning;
use crate::scale::{Address, LinkEvent, LinkState, Place, Rules};
use crate::units::clean;

/// A search on the scale's screen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Search {
    /// It goes on; what it does now, in words.
    Running(String),
    /// It found something that waits to be taken.
    Found(Proposal),
}

impl App {
    /// Begins to search: on the scale's own port, or on all if there is no scale.
    pub(super) fn begin_search(&mut self) {
        let place = match self.settings.place.parse::<Address>().map(|address| address.place) {
            Ok(Place::Serial { path, .. }) => Where::Port(path),
            Ok(_) => {
                return self
                    .tell("only a serial port is searched: this scale is on another way", Meaning::Doubt);
            }
            Err(_) if self.settings.has_scale => {
                return self.tell("this scale's address cannot be searched", Meaning::Doubt);
            }
            Err(_) => Where::AllPorts,
        };
        let Screen::Scale(page) = &mut self.screen else { return };
        page.told = None;
        page.task = None;
        page.search = Some(Search::Running("searching".to_owned()));
        let why = "the line is being searched for what speaks on it".to_owned();
        let lost = LinkEvent::State { state: LinkState::Lost, why };
        if self.settings.has_scale {
            self.scale.take_in(&lost);
            self.scale_log.take_in(&lost, None, self.now.moment);
        }
        self.effects.push(Effect::Search(place));
    }

    /// What a search has to say.
    pub(super) fn on_searching(&mut self, said: Searching) {
        let before = self.settings.place.parse::<Address>().ok();
        let Screen::Scale(page) = &mut self.screen else { return };
        if page.search.is_none() {
            return;
        }
        match said {
            Searching::Step(text) => page.search = Some(Search::Running(clean(&text))),
            Searching::Found(mut proposal) => {
                if let Some(before) = before {
                    proposal.address = with_plate(&proposal.address, &before);
                }
                page.search = Some(Search::Found(proposal));
                self.effects.push(Effect::Bell);
                let why = "the search has found something: Enter takes it, Esc keeps the scale as it was"
                    .to_owned();
                if self.settings.has_scale {
                    self.scale.take_in(&LinkEvent::State { state: LinkState::Lost, why });
                }
            }
            Searching::Nothing(why) => {
                page.search = None;
                page.told = Some(Note { text: clean(&why), meaning: Meaning::Doubt });
                self.effects.push(Effect::Bell);
                self.reopen();
            }
        }
    }

    /// Ends the search, and goes back to the scale there was; false if there is none.
    pub(super) fn give_up_search(&mut self) -> bool {
        let Screen::Scale(page) = &mut self.screen else { return false };
        if page.search.take().is_none() {
            return false;
        }
        self.tell("the search was given up; the scale is as it was", Meaning::Plain);
        self.reopen();
        true
    }

    /// Takes what was found; false if nothing waits to be taken.
    pub(super) fn take_found(&mut self) -> bool {
        let Screen::Scale(page) = &mut self.screen else { return false };
        let Some(Search::Found(proposal)) = &page.search else { return false };
        let address = proposal.address.clone();
        match address.parse::<Address>() {
            Ok(found) => {
                page.search = None;
                self.settings.division = found.division.or(self.settings.division);
                self.settings.capacity = found.capacity.or(self.settings.capacity);
                self.settings.remarks = found.shape().remarks().to_vec();
                self.settings.has_scale = true;
                self.settings.virtual_bench = false;
                self.settings.place = clean(&address);
                self.reopen();
                let keep =
                    format!("in use from now on; to begin with it next time: pourbook --scale '{address}'");
                self.tell(&keep, Meaning::Right);
            }
            Err(error) => self.tell(&error.to_string(), Meaning::Error),
        }
        true
    }

    /// Opens the scale anew, with nothing of what was heard before.
    fn reopen(&mut self) {
        let super::app::Settings { division, capacity, has_scale, .. } = self.settings;
        let rules = Rules { capacity, division, ..Rules::default() };
        self.scale = ScaleWatch::new(rules, has_scale);
        self.effects.push(Effect::Open(has_scale.then(|| self.settings.place.clone())));
    }

    pub(super) fn is_searching(&self) -> bool {
        matches!(&self.screen, Screen::Scale(page) if page.search.is_some())
    }

    pub(super) fn has_found(&self) -> bool {
        matches!(&self.screen, Screen::Scale(page) if matches!(page.search, Some(Search::Found(_))))
    }
}

/// The address that was found, with what the one before said of the scale and no search can find out.
fn with_plate(found: &str, before: &Address) -> String {
    match found.parse::<Address>() {
        Ok(found) => Address {
            division: found.division.or(before.division),
            capacity: found.capacity.or(before.capacity),
            unit: found.unit.or(before.unit),
            ..found
        }
        .to_string(),
        Err(_) => found.to_owned(),
    }
}

impl Search {
    /// What is said of it on the screen.
    pub(super) fn notes(&self) -> Vec<Note> {
        let note = |text: &str, meaning| Note { text: clean(text), meaning };
        match self {
            Self::Running(step) => vec![note(step, Meaning::Moving)],
            Self::Found(Proposal { address, sure, why, others }) => {
                let meaning = if sure == "certain" { Meaning::Right } else { Meaning::Doubt };
                let mut notes = vec![
                    note(&format!("found, {sure}:"), meaning),
                    note(address, Meaning::Value),
                    note(why, Meaning::Plain),
                ];
                notes.extend(others.iter().map(|other| note(other, Meaning::Muted)));
                notes
            }
        }
    }
}
