//! What a person can set about the way the bench behaves. How it looks is in the theme.

use super::bench::DWELL_MS;
use super::keys::{Bindings, Key};
use crate::units::Share;

/// How the bench behaves.
#[derive(Clone, Debug)]
pub struct Preferences {
    /// Whether a steady right pour is taken without a key when the bench opens.
    pub hands_free: bool,
    /// For how long a weight must stand still before it is taken without a key, in milliseconds.
    pub dwell_ms: u64,
    /// Within which part of its tolerance a pour is taken without a key: all of it, unless set.
    pub take_within: Share,
    /// Whether nothing is to be heard.
    pub quiet: bool,
    /// Whether the mouse is heeded; while it is, the terminal's own way of copying needs a key held.
    pub mouse: bool,
    /// Which key does what.
    pub bindings: Bindings,
    /// A key that does the first thing on the bottom line, everywhere.
    pub foot_switch: Option<Key>,
}

impl Default for Preferences {
    fn default() -> Self {
        Self {
            hands_free: true,
            dwell_ms: DWELL_MS,
            take_within: Share::ONE,
            quiet: false,
            mouse: false,
            bindings: Bindings::default(),
            foot_switch: None,
        }
    }
}
