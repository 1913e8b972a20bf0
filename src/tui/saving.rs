//! What has been said and is not yet on disk. A pour counts as saved only once the book says so.

use crate::book::{BookEvent, Envelope, EventId};

/// The envelopes that wait for the book's word, oldest first: those that are written together in one piece.
#[derive(Debug, Default)]
pub(super) struct Saving {
    waiting: Vec<Vec<Envelope>>,
    failed: Option<String>,
}

/// Whether something is on disk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Saved {
    /// It is.
    Yes,
    /// The book has not answered yet.
    NotYet,
    /// The book said that it could not.
    Failed,
}

impl Saving {
    /// Notes envelopes that are on their way to the book together.
    pub(super) fn sent(&mut self, envelopes: Vec<Envelope>) {
        self.waiting.push(envelopes);
    }

    /// Takes in the book's word.
    pub(super) fn answer(&mut self, event: &BookEvent) {
        match event {
            BookEvent::Saved { id } => {
                for envelopes in &mut self.waiting {
                    envelopes.retain(|envelope| envelope.id != *id);
                }
                self.waiting.retain(|envelopes| !envelopes.is_empty());
                if self.waiting.is_empty() {
                    self.failed = None;
                }
            }
            BookEvent::Failed { why, .. } => {
                // The first reason is the one that matters: what follows could only fail with it.
                self.failed.get_or_insert_with(|| why.clone());
            }
            BookEvent::Ended { .. } => {}
        }
    }

    /// The envelopes to send once more, in order, with the ids they had.
    pub(super) fn again(&mut self) -> Vec<Vec<Envelope>> {
        self.failed = None;
        self.waiting.clone()
    }

    /// Whether that event is on disk.
    pub(super) fn state(&self, id: EventId) -> Saved {
        match (self.waiting.iter().flatten().any(|envelope| envelope.id == id), &self.failed) {
            (false, _) => Saved::Yes,
            (true, None) => Saved::NotYet,
            (true, Some(_)) => Saved::Failed,
        }
    }

    /// Whether all is on disk.
    pub(super) fn all_saved(&self) -> bool {
        self.waiting.is_empty()
    }

    /// What was sent last of what is not on disk.
    pub(super) fn last(&self) -> Option<EventId> {
        self.waiting.last()?.last().map(|envelope| envelope.id)
    }

    /// What went wrong, if something did and waits to be tried again.
    pub(super) fn failure(&self) -> Option<&str> {
        self.failed.as_deref()
    }
}
