//! Spray-out cards: how one was sprayed (`gun`), what was seen (`sight`) or measured (`measured`, many at once in a
//! `table`) when it was held against the car, and which comes nearest (`comparison`).
//!
//! What is said of a card is said of the card against the car: `lighter` is a card that is lighter than the car.

mod comparison;
mod gun;
mod measured;
mod reading;
mod sight;
mod table;
#[cfg(test)]
mod tests;
mod words;

pub use comparison::{ByEye, ByMeasure, Compared, Comparison, Count, Difference, NoCount, comparison};
pub use gun::Gun;
pub use measured::{AtAngle, MOST_ANGLE, Measured};
pub use reading::Reading;
pub use sight::{How, Light, Seen, Sight, SightWord, View};
pub use table::{CardReadings, Table, TableError, read_table};
