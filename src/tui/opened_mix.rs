//! A mix whose events are looked at, from whichever list it was opened.

use super::keys::Action;
use super::on_unfinished::step;
use super::screens::EventsView;
use crate::report::waste::Happened;
use crate::units::Grams;

/// The mix, and how far its events are looked through.
#[derive(Debug)]
pub(super) struct OpenedMix {
    /// Its number.
    pub(super) number: u32,
    /// What happened to it, or why that could not be read; none while it is being read.
    pub(super) read: Option<Result<Vec<Happened>, String>>,
    /// The first that is shown.
    pub(super) first: usize,
}

impl OpenedMix {
    /// One whose events are on their way.
    pub(super) const fn new(number: u32) -> Self {
        Self { number, read: None, first: 0 }
    }

    /// How many events there are.
    pub(super) fn count(&self) -> usize {
        self.read.as_ref().and_then(|read| read.as_ref().ok()).map_or(0, Vec::len)
    }

    /// Goes through them; false if the key is not for that.
    pub(super) fn step(&mut self, action: Action) -> bool {
        let count = self.count();
        step(&mut self.first, action, count)
    }

    /// Takes in what was read; nothing if it is of another mix.
    pub(super) fn take_in(&mut self, number: u32, read: Result<Vec<Happened>, String>) {
        if self.number == number {
            self.read = Some(read);
        }
    }

    /// What is drawn of it; of a leftover with how much is kept.
    pub(super) fn view(&self, kept: Option<Grams>) -> EventsView<'_> {
        EventsView {
            number: self.number,
            kept,
            events: self.read.as_ref().map(|read| read.as_deref().map_err(String::as_str)),
            first: self.first,
        }
    }
}
