//! The book's side of a scanned label: looks a mix up over a second connection that only looks, on a thread of its own.

use super::message::Message;
use super::run::worker;
use crate::book::figures::MixHead;
use crate::book::{Journal, Ledger as _, MixId, MixesOf, Store as _, open_to_look};
use std::io;
use std::path::PathBuf;
use std::sync::mpsc::SyncSender;

/// A mix as the book has it.
#[derive(Clone, Debug)]
pub struct FoundMix {
    /// The mix.
    pub journal: Journal,
    /// What the book says of it beside its own events.
    pub head: MixHead,
}

/// Looks it up; what came of it is a message.
pub(super) fn find(path: PathBuf, mix: MixId, sender: &SyncSender<Message>) -> io::Result<()> {
    worker("mix", sender, move |sender| {
        let found = open_to_look(&path).map_err(|error| error.to_string()).and_then(|book| {
            let Some(of) = book.totals(MixesOf::Mix(mix)).map_err(|error| error.to_string())?.pop() else {
                return Ok(None);
            };
            let events = book.events(mix).map_err(|error| error.to_string())?;
            let journal = Journal::fold(mix, &events).map_err(|error| error.to_string())?;
            Ok(Some(Box::new(FoundMix { journal, head: of.head })))
        });
        drop(sender.send(Message::MixFound(found)));
    })
}
