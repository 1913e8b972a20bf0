//! The book's side of the shelf: reads its figures over a second connection that only looks, on a thread of its own, so
//! that neither the loop nor the worker that writes ever waits.

use super::at_hand::AtHand;
use super::message::Message;
use super::run::worker;
use crate::book::{SqliteStore, StoreError, open_to_look};
use crate::catalogue::index::ShopIndex;
use crate::catalogue::{Catalogue, TonerCode};
use crate::job::{Usual, open_colours, still_needed};
use crate::report::shelf::{self, Shelf, Terms};
use crate::stock::Today;
use crate::units::Stamp;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::mpsc::SyncSender;

/// The shelf with what the open jobs still need, as the screen and the command show it. The catalogue has to have the
/// colours of those jobs.
///
/// # Errors
/// The book cannot be read.
pub fn read_shelf(
    book: &SqliteStore,
    shop: &Catalogue,
    usual: &Usual,
    when: (Today, Stamp),
    terms: Terms,
) -> Result<Shelf, StoreError> {
    let jobs = still_needed(book, shop, usual)?;
    let shelf = shelf::read(book, &shop.toners, &jobs.toners, when, terms)?;
    Ok(Shelf { not_counted: jobs.notes().collect(), ..shelf })
}

/// For what the figures are read.
#[derive(Clone, Debug)]
pub struct ShelfAsked {
    /// The shop.
    pub(super) shop: Box<AtHand>,
    /// What it sets for all its jobs.
    pub(super) usual: Usual,
    /// The day it is.
    pub(super) today: Today,
    /// When it is.
    pub(super) now: Stamp,
}

/// Where the shelf's figures come from.
#[derive(Clone, Debug)]
pub struct ShelfBook {
    /// The book.
    pub path: PathBuf,
    /// By what it is ordered.
    pub terms: Terms,
}

impl ShelfBook {
    /// Reads the figures; what came of it is a message. Of the colours of a folder, which `index` is of, those are read
    /// that open jobs name.
    pub(super) fn read(
        &self,
        asked: ShelfAsked,
        index: Option<ShopIndex>,
        sender: &SyncSender<Message>,
    ) -> io::Result<()> {
        let Self { path, terms } = self.clone();
        worker("shelf", sender, move |sender| {
            let ShelfAsked { shop, usual, today, now } = asked;
            let read = ask(&path, |book| {
                let shop = shop.with(index.as_ref(), &open_colours(book)?);
                read_shelf(book, &shop, &usual, (today, now), terms)
            });
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
