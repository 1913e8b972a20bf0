//! The book's side of the waste: reads its figures over a second connection that only looks, on a thread of its own, so
//! that neither the loop nor the worker that writes ever waits.

use super::message::Message;
use super::run::worker;
use super::waste::Span;
use crate::book::open_to_look;
use crate::report::Period;
use crate::report::waste::{By, waste};
use std::io;
use std::path::PathBuf;
use std::sync::mpsc::SyncSender;
use std::time::{Duration, Instant};

/// So often it is said how far it is.
const SAYS: Duration = Duration::from_millis(200);

/// Reads the figures of that time; what came of it is a message, and how far it is every now and then.
pub(super) fn read(
    path: PathBuf,
    span: Span,
    period: Period,
    sender: &SyncSender<Message>,
) -> io::Result<()> {
    worker("waste", sender, move |sender| {
        let mut said = Instant::now();
        let mut progress = |read, of| {
            if said.elapsed() >= SAYS {
                said = Instant::now();
                drop(sender.send(Message::WasteReading { span, read, of }));
            }
        };
        // How it is told apart is chosen on the screen, from the mixes.
        let read = open_to_look(&path).and_then(|book| waste(&book, &period, By::Reason, &mut progress));
        let read = read.map(Box::new).map_err(|error| error.to_string());
        drop(sender.send(Message::WasteRead { span, period, read }));
    })
}
