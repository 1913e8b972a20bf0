//! The vessel on the scale.

use crate::units::{Grams, Millilitres};

/// A kind of cup the shop keeps.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cup {
    /// What people call it; no other cup's name differs from it by capitals only.
    pub name: String,
    /// What it weighs empty, if the shop has weighed it; more than nothing.
    pub tare: Option<Grams>,
    /// What it holds when full to the brim; more than nothing.
    pub brim: Millilitres,
}
