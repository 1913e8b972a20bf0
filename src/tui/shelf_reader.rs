//! The book's side of the shelf: reads its figures over a second connection that only looks, on a thread of its own, so
//! that neither the loop nor the worker that writes ever waits.

use super::message::Message;
use super::run::worker;
use crate::book::{SqliteStore, StoreError, open_to_look};
use crate::catalogue::{Toner, TonerCode};
use crate::report::shelf::{self, Terms};
use crate::stock::Today;
use crate::units::Stamp;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::mpsc::SyncSender;

/// Where the shelf's figures come from.
#[derive(Clone, Debug)]
pub struct ShelfBook {
    /// The book.
    pub path: PathBuf,
    /// By what it is ordered.
    pub terms: Terms,
}

impl ShelfBook {
    /// Reads the figures; what came of it is a message.
    pub(super) fn read(
        &self,
        toners: Vec<Toner>,
        (today, now): (Today, Stamp),
        sender: &SyncSender<Message>,
    ) -> io::Result<()> {
        let Self { path, terms } = self.clone();
        worker("shelf", sender, move |sender| {
            let read = ask(&path, |book| shelf::read(book, &toners, &[], (today, now), terms));
            drop(sender.send(Message::ShelfRead(read.map(Box::new))));
        })
    }

    /// Reads what came and went of a toner; what came of it is a message.
    pub(super) fn read_moves(&self, toner: TonerCode, sender: &SyncSender<Message>) -> io::Result<()> {
        let path = self.path.clone();
        worker("shelf", sender, move |sender| {
            let read = ask(&path, |book| shelf::moves(book, &toner));
            drop(sender.send(Message::MovesRead { toner, read }));
        })
    }
}

fn ask<T>(path: &Path, question: impl FnOnce(&SqliteStore) -> Result<T, StoreError>) -> Result<T, String> {
    open_to_look(path).and_then(|book| question(&book)).map_err(|error| error.to_string())
}
