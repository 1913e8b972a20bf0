//! Figures for the stores manager and the owner: when to order and how much, and over which days something is counted.
//!
//! Pure: the day it is comes in, and so do the totals. Forecasts are floats; no weight that was recorded ever is.

pub mod periods;
pub mod reorder;
