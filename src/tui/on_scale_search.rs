//! Finding the scale from its own screen: what begins the search, what it says, and what is done with what it found.

use super::app::App;
use super::message::Effect;
use super::scale_watch::ScaleWatch;
use super::screens::Note;
use super::search::{Proposal, Searching, Where};
use super::sound::Sound;
use super::theme::Meaning;
use crate::scale::{Address, LinkEvent, LinkState, Place, Rules};
use crate::units::clean;

/// A search on the scale's screen.
#[derive(Clone, Debug)]
pub(super) enum Search {
    /// It goes on; what it does now, in words.
    Running(String),
    /// It found something that waits to be taken.
    Found(Proposal),
}

impl App {
    /// Begins to search: on the scale's own port, or on all if there is no scale.
    pub(super) fn begin_search(&mut self) {
        let place = match self.settings.scale.as_ref().map(|scale| &scale.place) {
            Some(Place::Serial { path, .. }) => Where::Port(path.clone()),
            Some(_) => {
                return self
                    .tell("only a serial port is searched: this scale is on another way", Meaning::Doubt);
            }
            None => Where::AllPorts,
        };
        let Some(page) = &mut self.scale_page else { return };
        page.told = None;
        page.task = None;
        page.search = Some(Search::Running("searching".to_owned()));
        let why = "the line is being searched for what speaks on it".to_owned();
        let lost = LinkEvent::State { state: LinkState::Lost, why };
        if self.settings.scale.is_some() {
            self.scale.take_in(&lost);
            self.scale_log.take_in(&lost, None, self.now.moment);
        }
        self.effects.push(Effect::Search(place));
    }

    /// What a search has to say.
    pub(super) fn on_searching(&mut self, said: Searching) {
        let Some(page) = &mut self.scale_page else { return };
        if page.search.is_none() {
            return;
        }
        match said {
            Searching::Step(text) => page.search = Some(Search::Running(clean(&text))),
            Searching::Found(mut proposal) => {
                if let Some(before) = &self.settings.scale {
                    keep_plate(&mut proposal.address, before);
                }
                page.search = Some(Search::Found(proposal));
                self.effects.push(Effect::Sound(Sound::Attention));
                let why = "the search has found something: Enter takes it, Esc keeps the scale as it was"
                    .to_owned();
                if self.settings.scale.is_some() {
                    self.scale.take_in(&LinkEvent::State { state: LinkState::Lost, why });
                }
            }
            Searching::Nothing(why) => {
                page.search = None;
                page.told = Some(Note { text: clean(&why), meaning: Meaning::Doubt });
                self.effects.push(Effect::Sound(Sound::Attention));
                self.reopen();
            }
        }
    }

    /// Ends the search, and goes back to the scale there was; false if there is none.
    pub(super) fn give_up_search(&mut self) -> bool {
        let Some(page) = &mut self.scale_page else { return false };
        if page.search.take().is_none() {
            return false;
        }
        self.tell("the search was given up; the scale is as it was", Meaning::Plain);
        self.reopen();
        true
    }

    /// Takes what was found; false if nothing waits to be taken.
    pub(super) fn take_found(&mut self) -> bool {
        let Some(page) = &mut self.scale_page else { return false };
        let Some(Search::Found(proposal)) = &page.search else { return false };
        let found = proposal.address.clone();
        page.search = None;
        self.settings.division = found.division.or(self.settings.division);
        self.settings.capacity = found.capacity.or(self.settings.capacity);
        self.settings.scale = Some(found);
        self.reopen();
        let place = self.settings.place();
        let keep = format!("in use from now on; to begin with it next time: pourbook --scale '{place}'");
        self.tell(&keep, Meaning::Right);
        true
    }

    /// Opens the scale anew, with nothing of what was heard before.
    fn reopen(&mut self) {
        let (division, capacity) = (self.settings.division, self.settings.capacity);
        let rules = Rules { capacity, division, ..Rules::default() };
        self.scale = ScaleWatch::new(rules, self.settings.scale.is_some())
            .with(&self.settings.preferences, self.lags.of(&self.settings.place()));
        self.effects.push(Effect::Open(self.settings.scale.clone().map(Box::new)));
    }

    pub(super) fn is_searching(&self) -> bool {
        self.scale_page.as_ref().is_some_and(|page| page.search.is_some())
    }

    pub(super) fn has_found(&self) -> bool {
        self.scale_page.as_ref().is_some_and(|page| matches!(page.search, Some(Search::Found(_))))
    }
}

/// Gives the address that was found what the one before said of the scale and no search can find out.
fn keep_plate(found: &mut Address, before: &Address) {
    found.division = found.division.or(before.division);
    found.capacity = found.capacity.or(before.capacity);
    found.unit = found.unit.or(before.unit);
    let lines = |place: &Place| match place {
        Place::Serial { flow, dtr, rts, .. } => Some((*flow, *dtr, *rts)),
        _ => None,
    };
    if let (Some(before), Place::Serial { flow, dtr, rts, .. }) = (lines(&before.place), &mut found.place) {
        (*flow, *dtr, *rts) = before;
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
                    note(&address.to_string(), Meaning::Value),
                    note(why, Meaning::Plain),
                ];
                notes.extend(others.iter().map(|other| note(other, Meaning::Muted)));
                notes
            }
        }
    }
}
