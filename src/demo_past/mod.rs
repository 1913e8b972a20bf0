//! The invented shop's last months, so that whoever tries the program finds a shelf with tins on it, jobs that were done, and
//! paint that was wasted. Nobody did any of it: people, vehicles, lots and prices are made up.
//!
//! Pure: the same seed, catalogue and morning give the same events. What is written goes through the same sessions and
//! journals as what a painter does, so that nothing can stand here that could not have happened.

mod diary;
mod rack;
mod repair;

use crate::book::{Envelope, Ids, JournalError};
use crate::catalogue::{Catalogue, Finish};
use crate::job::JobError;
use crate::units::Stamp;
use diary::Diary;
use repair::Upto;
use thiserror::Error;

/// A day, in microseconds.
pub const DAY: i64 = 86_400_000_000;
/// A minute.
const MINUTE: i64 = 60_000_000;

/// Why no past can be made up for a catalogue.
#[derive(Debug, Error)]
pub enum PastError {
    /// A mix could not go on so, or stock could not be booked so.
    #[error(transparent)]
    Journal(#[from] JournalError),
    /// A job could not go on so.
    #[error(transparent)]
    Job(#[from] JobError),
    /// Whatever else was not as it should be.
    #[error("{0}")]
    Other(String),
}

impl PastError {
    fn other(why: impl std::fmt::Display) -> Self {
        Self::Other(why.to_string())
    }
}

/// The events of the last `days` days before `morning` (the midnight today began with), in the order they happened; the
/// last of them this morning, an hour and more before `now`.
///
/// # Errors
/// The catalogue is not one such a past can be told of: a colour without a product, say.
pub fn past(
    shop: &Catalogue,
    days: i64,
    morning: Stamp,
    now: Stamp,
    ids: Ids,
    seed: u64,
) -> Result<Vec<Envelope>, PastError> {
    let mut diary = Diary::new(shop, ids, seed);
    diary.first_delivery(Stamp(morning.0 - days * DAY))?;
    let mut number = 100_u32;
    for day in (1..days).rev() {
        let day = Stamp(morning.0 - day * DAY);
        // 1970-01-01 was a Thursday: nobody works on Saturdays and Sundays.
        if matches!((day.0 / DAY + 4).rem_euclid(7), 0 | 6) {
            continue;
        }
        diary.restock(day)?;
        for place in 0..=i64::from(diary.chance.part() < 0.4) {
            number += 1;
            let Some(colour) = diary.any_colour(|_| true) else { break };
            diary.repair(colour, number, Stamp(day.0 + (8 * 60 + place * 225) * MINUTE), Upto::TheEnd)?;
        }
        if diary.chance.part() < 0.18 {
            diary.given_up(Stamp(day.0 + 16 * 60 * MINUTE))?;
        }
    }
    // This morning: the rack is stirred, and a three-stage job has come as far as its cards. Whoever looks before the shop
    // opens finds that of the day before.
    let today = if now.0 - morning.0 > 10 * 60 * MINUTE { morning } else { Stamp(now.0 - 10 * 60 * MINUTE) };
    diary.stir(Stamp(today.0 + 7 * 60 * MINUTE))?;
    if let Some(colour) = diary.any_colour(|colour| colour.finish == Finish::ThreeStage) {
        diary.repair(colour, number + 1, Stamp(today.0 + 7 * 60 * MINUTE + 10 * MINUTE), Upto::TheCards)?;
    }
    Ok(diary.into_events())
}

#[cfg(test)]
mod tests;
