//! The clock that only runs forward. It lives in the shell and is handed to whoever needs the time.

use crate::units::Moment;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

/// A clock counting milliseconds from when it was made. Clones share it.
#[derive(Clone, Debug)]
pub struct Clock(Source);

#[derive(Clone, Debug)]
enum Source {
    Running(Instant),
    Set(Arc<AtomicU64>),
}

impl Clock {
    /// A clock that runs.
    pub fn running() -> Self {
        Self(Source::Running(Instant::now()))
    }

    /// A clock that stands until it is moved, for tests.
    pub fn standing() -> Self {
        Self(Source::Set(Arc::default()))
    }

    /// What it shows.
    pub fn now(&self) -> Moment {
        Moment(match &self.0 {
            Source::Running(begun) => u64::try_from(begun.elapsed().as_millis()).unwrap_or(u64::MAX),
            Source::Set(now) => now.load(Ordering::SeqCst),
        })
    }

    /// Moves a standing clock; a running one runs on.
    pub fn advance(&self, milliseconds: u64) {
        if let Source::Set(now) = &self.0 {
            now.fetch_add(milliseconds, Ordering::SeqCst);
        }
    }
}
