//! From bytes on a wire to a weight that can be trusted.
//!
//! An [`Address`] says where the scale is; a [`Link`]'s worker keeps the way open. Bytes go through a [`shape`]
//! (one file a wire format) and come out as a [`Frame`]; the worker stamps it as a [`Reading`]; only [`Settle`]
//! turns readings into a [`Weight`]. Knows `units` and nothing else.

#![deny(clippy::indexing_slicing)]

pub mod address;
mod clock;
pub mod detect;
mod frame;
mod link;
pub mod ports;
mod said;
mod settle;
pub mod shape;
mod stand_in;
pub mod tape;
mod transport;
mod unit_text;
mod virtual_bench;

pub use address::{Address, AddressError, Flow, Place, Poll};
pub use clock::Clock;
pub use frame::{Condition, Frame, Mode, Reading, Stability};
pub use link::{Evidence, Link, LinkEvent, LinkState, Listening};
pub use settle::{Doubt, Rules, Settle, Verdict, Weight};
pub use stand_in::{Control, Manner, ServerFault, StandIn, Truth};
pub use unit_text::UnitText;
pub use virtual_bench::{Chance, Hand, STEPS, Spec, VirtualBench, encode_nearest};
