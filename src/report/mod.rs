//! The owner's figures: waste and use. Figures first, as plain structs, reckoned from the book; then what shows them.

pub mod overs;
pub mod periods;
mod prices;
pub mod reading;
#[cfg(test)]
mod testing;
#[cfg(test)]
mod tests;
pub mod use_of;
pub mod waste;

pub use periods::{Bucket, Last, Period, PeriodError};
