//! The heart: pure arithmetic and one state machine. No clock, no I/O, no floats in a weight.
//!
//! A [`Recipe`] is a layer of a colour as it stood when the mix began, alone or made ready to spray by a product's ratio. [`Targets`] scale it to a volume;
//! [`weighable`] says whether the scale can resolve them; [`Correction`] finds what can still be right after
//! a pour went over; [`options`] puts the ways out side by side; [`order`] finds the order that risks least;
//! the [`Session`] is the mix itself, a fold of its [`Event`]s.

// Tests hold exact results against floats and loop over small numbers; the code itself never does.
#![cfg_attr(not(test), deny(clippy::float_arithmetic, clippy::arithmetic_side_effects))]

mod correction;
mod event;
mod landing;
mod leftover;
pub mod options;
pub mod order;
mod readied;
mod recipe;
mod session;
mod targets;
pub mod weighable;

pub use correction::{Correction, Item, Worst};
pub use event::{Drawn, Event, How, Limits, Pour, Rebooked, Start, Steer, TinMarks, Vessel};
pub use landing::{Advice, Approach, Lag, Lesson, Seen, flow, landing};
pub use leftover::{Emptied, LeftoverAdded, Thinned, split};
pub use options::{Choice, Way};
pub use readied::{Additions, HardenerWatch, LinePart, Readied, activated_at};
pub use recipe::{Line, Recipe, RecipeError};
pub use session::{BookedPour, Ending, Fate, Goal, Judgement, Phase, Refusal, Row, RowState, Session};
pub use targets::{Target, Targets};
