//! Is the scale right: accuracy classes, check weights, the daily check and repeatability. Pure arithmetic; the
//! tables stand as their sources have them.
//!
//! A [`BenchScale`] is the scale as its plate and the shop describe it. [`choose`] takes the [`CheckWeight`] that
//! is good enough for it; a [`Check`] is one weighing of that weight, and says itself whether the scale passed.
//! A [`CheckPlan`] says how a scale stands by its last check. A [`Repeatability`] is ten weighings of the same
//! weight. [`ScaleEvent`] is either, as the book keeps it.

// Tests loop over small numbers; the code itself never does bare arithmetic.
#![cfg_attr(not(test), deny(clippy::float_arithmetic, clippy::arithmetic_side_effects))]

mod bench_scale;
mod check;
mod check_weight;
mod choice;
mod class;
mod due;
mod event;
mod repeatability;
#[cfg(test)]
mod testing;
mod weight_class;

pub use bench_scale::{BenchScale, Misfit};
pub use check::{Check, Verdict};
pub use check_weight::CheckWeight;
pub use choice::{NoneFits, Unfit, choose, coarsest_class, limit_if_fit};
pub use class::{AccuracyClass, Band, ClassRow, Rules};
pub use due::{CheckPlan, Day, Every, Standing, WhenOverdue};
pub use event::ScaleEvent;
pub use repeatability::{FEWEST_WEIGHINGS, Repeatability, RepeatabilityError, floor, standard_deviation};
pub use weight_class::{NOMINALS, WeightClass};
