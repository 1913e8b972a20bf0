//! The full screen: state, update, view.

pub mod keys;
pub mod screens;
pub mod terminal;
pub mod text;
pub mod theme;
pub mod widgets;
