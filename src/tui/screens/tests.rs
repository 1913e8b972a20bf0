//! Whole screens.
