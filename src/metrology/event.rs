//! What happens to a scale, as the book keeps it.

use super::{Check, Repeatability};
use serde::{Deserialize, Serialize};

/// Something that was found out about a scale.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum ScaleEvent {
    /// It was checked with a weight.
    Checked(Check),
    /// The same weight was put on it ten times or more.
    Repeatability(Repeatability),
}

impl ScaleEvent {
    /// Its kind's word, as in its JSON.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Checked(_) => "checked",
            Self::Repeatability(_) => "repeatability",
        }
    }

    /// What in it cannot be so, in a sentence without its full stop; none if all can.
    pub fn flaw(&self) -> Option<&'static str> {
        match self {
            Self::Checked(check) => check.flaw(),
            Self::Repeatability(repeatability) => repeatability.flaw(),
        }
    }

    /// The name of the scale it is about.
    pub fn scale(&self) -> &str {
        match self {
            Self::Checked(check) => &check.scale,
            Self::Repeatability(repeatability) => &repeatability.scale,
        }
    }
}
