//! The shelf's rows out of the book.

use super::{Rows, Shelf, Terms, Window};
use crate::book::{Journal, Ledger, Store, StoreError};
use crate::catalogue::{Toner, TonerCode};
use crate::stock::{Today, poured_unnamed, recalls, shelf};
use crate::units::{Grams, Stamp};

/// Reads what the shelf is reckoned from, and reckons it. `for_jobs` is what the jobs that are open still need.
pub fn read<B: Ledger + Store>(
    book: &B,
    toners: &[Toner],
    for_jobs: &[(TonerCode, Grams)],
    (today, now): (Today, Stamp),
    terms: Terms,
) -> Result<Shelf, StoreError> {
    let window = Window::of(now, terms.days);
    let (tins, recalls) = (shelf(book)?, recalls(book)?);
    let (daily, needed) = (book.daily(window.first, window.last)?, needed(book)?);
    let unnamed = &poured_unnamed(book, &tins)?;
    let rows =
        Rows { toners, tins: &tins, recalls: &recalls, daily: &daily, needed: &needed, for_jobs, unnamed };
    let mut shelf = Shelf::of(rows, today, now, terms);
    for order in shelf.toners.iter_mut().filter_map(|toner| toner.order.as_mut()) {
        if let Some(label) = &order.like {
            order.size = book.size_of(label)?;
        }
    }
    Ok(shelf)
}

/// What the mixes that are not done still need of each toner. One that cannot be read needs nothing.
pub fn needed<B: Store>(book: &B) -> Result<Vec<(TonerCode, Grams)>, StoreError> {
    let mut needed = Vec::new();
    for summary in book.unfinished()? {
        let Ok(journal) = Journal::fold(summary.mix, &book.events(summary.mix)?) else { continue };
        let session = journal.session();
        for (line, of) in session.recipe().lines().iter().enumerate() {
            let missing = session.aim(line) - session.poured(line);
            // What the scale does not show nobody pours.
            if session.limits().division.round(missing).is_positive() {
                needed.push((of.toner.clone(), missing));
            }
        }
    }
    Ok(needed)
}
