//! What a person can set about the way the bench behaves. How it looks is in the theme.

use super::app::App;
use super::keys::{Bindings, Key};
use super::sound::Sounds;
use crate::job::Usual;
use crate::settings::FileCommand;
use crate::units::{Notation, Share};

/// For how long a weight must stand still before it is taken without a key, in milliseconds, unless set: long enough
/// for the last drip, short enough not to be waited for (common practice, no source).
pub(super) const DWELL_MS: u64 = 1_200;
/// What it can be set to: below, a hand that pauses would be taken for one that is done; above, nobody waits
/// (common practice, no source).
const DWELLS_MS: (u64, u64) = (300, 10_000);

/// What makes a weight one to take without a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Taking {
    /// For how long it must have stood still, in milliseconds.
    pub(super) dwell_ms: u64,
    /// Within which part of its tolerance.
    pub(super) within: Share,
}

impl Default for Taking {
    fn default() -> Self {
        Self { dwell_ms: DWELL_MS, within: Share::ONE }
    }
}

impl Preferences {
    /// What makes a weight one to take without a key, whatever was set kept within what makes sense.
    pub(super) fn taking(&self) -> Taking {
        let (least, most) = DWELLS_MS;
        Taking {
            dwell_ms: self.dwell_ms.clamp(least, most),
            within: self.take_within.clamp(Share::ZERO, Share::ONE),
        }
    }
}

impl App {
    /// How numbers are written in what is said, and what a bare number means that is typed.
    pub(super) const fn notation(&self) -> Notation {
        self.settings.preferences.notation
    }
}

/// How the bench behaves.
#[derive(Clone, Debug)]
pub struct Preferences {
    /// Whether a steady right pour is taken without a key when the bench opens.
    pub hands_free: bool,
    /// For how long a weight must stand still before it is taken without a key, in milliseconds.
    pub dwell_ms: u64,
    /// How far from its target a pour may be and still be right, for toners of which their file says nothing; none for
    /// the usual.
    pub tolerance: Option<Share>,
    /// Within which part of its tolerance a pour is taken without a key: all of it, unless set.
    pub take_within: Share,
    /// What the shop sets for all its jobs.
    pub job: Usual,
    /// Whether nothing is to be heard.
    pub quiet: bool,
    /// How each sound is made.
    pub sounds: Sounds,
    /// Whether the mouse is heeded; while it is, the terminal's own way of copying needs a key held.
    pub mouse: bool,
    /// How numbers are written in what is said, and what a bare number means that is typed; as in the theme.
    pub notation: Notation,
    /// Which key does what.
    pub bindings: Bindings,
    /// The program that prints labels; none where none is set.
    pub label_print: Option<FileCommand>,
    /// A key that does the first thing on the bottom line, everywhere.
    pub foot_switch: Option<Key>,
}

impl Default for Preferences {
    fn default() -> Self {
        Self {
            hands_free: true,
            dwell_ms: DWELL_MS,
            tolerance: None,
            take_within: Share::ONE,
            job: Usual::default(),
            quiet: false,
            sounds: Sounds::default(),
            mouse: false,
            notation: Notation::METRIC,
            bindings: Bindings::default(),
            label_print: None,
            foot_switch: None,
        }
    }
}
