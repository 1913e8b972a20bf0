//! Listening to a scale from a command: what its link has to say, one thing after the other, until enough.

use super::CliError;
use super::stop::Stop;
use crate::scale::{Address, Clock, Link, LinkEvent, Listening};
use crate::units::Moment;
use jiff::{SignedDuration, Timestamp};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::Duration;

/// For how long a wait goes on before the signals are looked at, in milliseconds.
const LOOK_MS: u64 = 50;

/// An ear at a scale.
#[derive(Debug)]
pub(super) struct Ear {
    events: Receiver<(Moment, LinkEvent)>,
    clock: Clock,
    begun: Timestamp,
    until: Option<Moment>,
    /// Held for its thread, which ends with it.
    _link: Link,
}

impl Ear {
    /// Opens the way to the scale; listens for so many milliseconds, or until told to stop.
    pub(super) fn open(
        address: Address,
        listening: Listening,
        for_ms: Option<u64>,
    ) -> Result<Self, CliError> {
        let clock = Clock::running();
        let begun = Timestamp::now();
        let (sink, events) = channel();
        let at = clock.clone();
        let link = Link::open(address, clock.clone(), listening, move |event| {
            // A command that has heard enough does not listen any more.
            let _ = sink.send((at.now(), event));
        })?;
        let until = for_ms.map(|ms| clock.now().plus(ms));
        Ok(Self { events, clock, begun, until, _link: link })
    }

    /// The next thing that the link has to say and when it said it; none once the time is over, the end was
    /// asked for, or the link has ended.
    pub(super) fn next(&self, stop: Option<&Stop>) -> Option<(Moment, LinkEvent)> {
        loop {
            let now = self.clock.now();
            let left = self.until.map_or(LOOK_MS, |until| until.since(now).min(LOOK_MS));
            if left == 0 || stop.is_some_and(Stop::asked) {
                return None;
            }
            match self.events.recv_timeout(Duration::from_millis(left)) {
                Ok(event) => return Some(event),
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => return None,
            }
        }
    }

    /// The wall-clock time of a moment.
    pub(super) fn stamp(&self, at: Moment) -> Timestamp {
        let since = SignedDuration::from_millis(i64::try_from(at.0).unwrap_or(i64::MAX));
        self.begun.checked_add(since).unwrap_or(self.begun)
    }
}
