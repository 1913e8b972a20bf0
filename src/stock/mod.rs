//! The shelf: what tins there are, which one to take, what to say of it first, what is left of earlier mixes, and where
//! the paint of a lot has gone. Pure but for the book it asks; the time comes in.
//!
//! A [`StockEvent`] is what happens to a tin, a lot or a leftover; [`StockEvent::envelope`] makes it the book's. A [`Tin`]
//! is what the book says of one; [`in_turn`] and [`cautions`] are what the bench asks. A [`Leftover`] can be the start of
//! a mix. [`Trace`] follows paint from lot to repair and back.

// Tests loop over small numbers; the code itself never does bare arithmetic.
#![cfg_attr(not(test), deny(clippy::float_arithmetic, clippy::arithmetic_side_effects))]

mod caution;
mod delivery;
mod event;
mod follow;
mod leftover;
mod proposal;
mod refusal;
mod shelf;
mod stocktake;
mod tell;
#[cfg(test)]
mod tests;
mod tin;
mod trace;
mod unnamed;

pub use caution::{Caution, Recall, Today, cautions};
pub use delivery::{COLUMNS, Delivery, delivery, known_toner};
pub use event::{Count, LeftoverThrown, Receipt, StockEvent, TinName};
pub use follow::follow;
pub use leftover::{FromTin, Leftover, Unfit, know_lots};
pub use proposal::{Proposal, proposal};
pub use refusal::StockRefusal;
pub use shelf::{faults, in_turn, leftovers, leftovers_of, poured_from, recalls, shelf, tin};
pub use stocktake::{is_small, stirring};
pub use tell::{count, discard, empty, name, recall, receive, throw_leftover};
pub use tin::Tin;
pub use trace::{Trace, TraceError, Use, trace_job, trace_lot, trace_mix};
pub use unnamed::{Unnamed, poured_unnamed};
