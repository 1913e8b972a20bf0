//! Time as the core sees it: a number that came in with the message. Nothing here reads a clock.

use serde::{Deserialize, Serialize};

/// Milliseconds on a clock that only runs forward, counted from when the program was opened.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment(pub u64);

impl Moment {
    /// Milliseconds from `earlier` to this; nothing if it is not earlier.
    pub const fn since(self, earlier: Self) -> u64 {
        self.0.saturating_sub(earlier.0)
    }

    /// This moment and so many milliseconds more.
    #[must_use]
    pub const fn plus(self, milliseconds: u64) -> Self {
        Self(self.0.saturating_add(milliseconds))
    }
}

/// Wall-clock time: microseconds since 1970-01-01T00:00:00Z.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Stamp(pub i64);
