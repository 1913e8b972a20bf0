//! What the reports say of a mix that was read from its own events: its words are the book's.

pub use crate::book::reading::{Amount, Fate, Priced};
