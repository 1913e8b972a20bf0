//! A book opened to write in; how far it is, where it is of an older layout and is brought up first.

use super::places::Places;
use super::progress::Ticking;
use crate::book::{Opened, SqliteStore, StoreError};
use crate::units::Stamp;
use std::path::Path;

/// Opens it, and says on standard error how far it is, where that takes longer than a moment and somebody can see it.
///
/// Ctrl-C ends the program meanwhile, as anywhere: the layout it is at is not begun then.
pub(super) fn opened(path: &Path, now: Stamp) -> Result<Opened, StoreError> {
    let mut line = None;
    SqliteStore::open_telling(path, now, &mut |far| line.get_or_insert_with(Ticking::late).tell(far))
}

/// Brings up what books are there before the terminal is taken, where it is not settled yet which of them is opened on it.
/// What is in the way of it is said when that one is opened.
pub(super) fn bring_up(places: &Places, now: Stamp) {
    for book in [true, false].into_iter().filter_map(|demo| places.book(demo).ok()) {
        if book.exists() {
            drop(opened(&book, now));
        }
    }
}
