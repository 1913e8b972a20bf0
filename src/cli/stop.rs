//! The end that a person asks for with Ctrl-C, and a system with SIGTERM or SIGHUP.

use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Whether the end was asked for.
#[derive(Debug)]
pub(super) struct Stop(Arc<AtomicBool>);

impl Stop {
    /// From now on those signals only ask for the end.
    pub(super) fn on_signals() -> io::Result<Self> {
        let asked = Arc::new(AtomicBool::new(false));
        for signal in [SIGINT, SIGTERM, SIGHUP] {
            signal_hook::flag::register(signal, Arc::clone(&asked))?;
        }
        Ok(Self(asked))
    }

    pub(super) fn asked(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}
