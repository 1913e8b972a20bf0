//! The book's side of the waste: reads its figures, and the mixes behind a row, over a second connection that only looks, on a
//! thread of its own, so that neither the loop nor the worker that writes ever waits.

use super::message::Message;
use super::run::worker;
use super::waste::Span;
use super::waste_opened::WantedMixes;
use crate::book::open_to_look;
use crate::report::Period;
use crate::report::waste::{behind, events, overview};
use std::io;
use std::path::PathBuf;
use std::sync::mpsc::SyncSender;

/// Reads the figures of that time, from the sums that the book keeps; what came of it is a message.
pub(super) fn read(
    path: PathBuf,
    span: Span,
    period: Period,
    sender: &SyncSender<Message>,
) -> io::Result<()> {
    worker("waste", sender, move |sender| {
        let read = open_to_look(&path)
            .and_then(|book| book.at_once(|book| overview(book, &period, span.bucket())))
            .map(Box::new)
            .map_err(|error| error.to_string());
        drop(sender.send(Message::WasteRead { span, period, read }));
    })
}

/// Reads mixes behind a row; what came of it is a message.
pub(super) fn read_mixes(path: PathBuf, wanted: WantedMixes, sender: &SyncSender<Message>) -> io::Result<()> {
    worker("mixes", sender, move |sender| {
        let WantedMixes { period, of, before, most, .. } = &wanted;
        let read = open_to_look(&path)
            .and_then(|book| book.at_once(|book| behind(book, period, of, *before, *most)))
            .map_err(|error| error.to_string());
        drop(sender.send(Message::MixesRead { wanted: Box::new(wanted), read }));
    })
}

/// Reads what happened to the mix with that number; what came of it is a message.
pub(super) fn read_events(path: PathBuf, number: u32, sender: &SyncSender<Message>) -> io::Result<()> {
    worker("events", sender, move |sender| {
        let read =
            open_to_look(&path).and_then(|book| events(&book, number)).map_err(|error| error.to_string());
        drop(sender.send(Message::EventsRead { number, read }));
    })
}
