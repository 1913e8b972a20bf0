//! From bytes on a wire to a weight that can be trusted.
//!
//! Bytes go through a [`shape`] (one file a wire format) and come out as a [`Frame`]; the link's worker
//! stamps it as a [`Reading`]; only `settle` turns readings into a weight. Knows `units` and nothing else.

#![deny(clippy::indexing_slicing)]

mod frame;
mod settle;
pub mod shape;

pub use frame::{Condition, Frame, Mode, Reading, Stability};
pub use settle::{Doubt, Rules, Settle, Verdict, Weight};
