//! The owner's and the stores manager's figures: waste, use, and what to order. Figures first, as plain structs,
//! reckoned from the book; then what shows them. Forecasts are floats; no weight that was recorded ever is.

pub mod bars;
pub mod chart;
pub mod json;
pub mod overs;
pub mod page;
pub mod pages;
pub mod periods;
pub mod reading;
pub mod reorder;
pub mod shelf;
mod shown;
#[cfg(test)]
mod sums_tests;
pub mod table;
pub mod tables;
#[cfg(test)]
mod testing;
#[cfg(test)]
mod tests;
pub mod traced;
pub mod use_of;
pub mod waste;

pub use periods::{Bucket, Last, Period, PeriodError};
pub use shown::Shown;
