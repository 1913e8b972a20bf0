//! What a barcode scanner sends: a burst of keys that ends in Enter, and what is written in the code. Pure.

mod burst;
mod date;
mod element;
mod gtin;
mod identifier;

pub use burst::{Burst, Heard, Held};
pub use date::Day;
pub use element::{ElementError, Elements, parse};
pub use gtin::{Gtin, check_digit};
