//! Finding out by itself what speaks on a serial port: at which speed, with which line, in which format.
//!
//! [`run`] searches one port. It listens first, at one setting after the other, and every format's decoder hears the
//! same bytes at once; then, if its [`Plan`] says so, it asks. Only questions are sent that no format takes for
//! something that changes the scale. What it says is what the evidence comes to: how sure, why, and what else it
//! could be.
//!
//! Pure: a port is whatever is a [`Probe`], and time is what that says. [`PortProbe`] is a real one, [`fake::FakePort`]
//! one with a speed and a parity on a clock of its own. Nothing else may have the port open while it is searched.
//!
//! A search takes from half a second to some two minutes. Run it in a thread of its own:
//!
//! ```no_run
//! use pourbook::scale::detect::{self, Plan, PortProbe};
//! let stop = std::sync::atomic::AtomicBool::new(false);
//! let mut probe = PortProbe::new("/dev/ttyUSB0");
//! let mut progress = |step: detect::Progress| eprintln!("{step}");
//! let stop = || stop.load(std::sync::atomic::Ordering::Relaxed);
//! let finding = detect::run(&mut probe, &Plan::asking(), &mut progress, &stop);
//! if let Some(found) = finding.found() {
//!     eprintln!("{}: {} ({})", found.sure, found.address("/dev/ttyUSB0"), found.why);
//! }
//! ```

mod engine;
mod evidence;
pub mod fake;
mod line;
mod marks;
mod plan;
mod port;
mod probe;
mod uart;
mod verdict;

pub use evidence::Evidence;
pub use line::{FRAMINGS, LIKELY, SPEEDS, as_heard_at, hears_as, told, usual};
pub use plan::{Plan, is_harmless, is_harmless_however_heard, is_harmless_to, question};
pub use port::PortProbe;
pub use probe::{Byte, Probe, Refusal};
pub use verdict::{Finding, Found, Other, Outcome, Sure};

use super::shape::{Shape, UsualLine};
use std::fmt;

/// How a search goes on.
#[derive(Clone, Copy, Debug)]
pub enum Progress {
    /// It listens at a setting.
    Listening {
        /// The setting.
        line: UsualLine,
        /// How many settings are left in this round.
        left: usize,
    },
    /// It asks at a setting.
    Asking {
        /// The setting.
        line: UsualLine,
        /// How many settings are left in this round.
        left: usize,
    },
    /// Something came.
    Heard {
        /// The setting.
        line: UsualLine,
        /// Bytes so far at this setting.
        bytes: u64,
        /// The format that understands most of it, and how many readings that are.
        best: Option<(&'static dyn Shape, u64)>,
    },
    /// It asks what it found about unit, capacity and division.
    Nameplate {
        /// The format.
        shape: &'static dyn Shape,
    },
}

impl fmt::Display for Progress {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Listening { line, .. } => write!(f, "listening at {}", told(*line)),
            Self::Asking { line, .. } => write!(f, "asking at {}", told(*line)),
            Self::Heard { line, best: Some((shape, readings)), .. } => {
                write!(f, "{readings} readings at {} as {}", told(*line), shape.name())
            }
            Self::Heard { line, bytes, best: None } => {
                write!(f, "{bytes} bytes at {}, not understood yet", told(*line))
            }
            Self::Nameplate { shape } => write!(f, "asking the scale about itself ({})", shape.name()),
        }
    }
}

/// Searches one port, as the plan says. `progress` hears of every step, `stop` is asked several times a
/// second. The port is left at the setting that was tried last.
pub fn run(
    probe: &mut dyn Probe,
    plan: &Plan,
    progress: &mut dyn FnMut(Progress),
    stop: &dyn Fn() -> bool,
) -> Finding {
    engine::Search::new(probe, plan, progress, stop).run()
}

#[cfg(test)]
mod tests;
