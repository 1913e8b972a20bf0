//! Figures for the stores manager and the owner: what is on the shelf, when to order and how much.
//!
//! Pure: the day it is comes in, and so do the totals. Forecasts are floats; no weight that was recorded ever is.

pub mod reorder;
pub mod shelf;
