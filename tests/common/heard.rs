//! A link to a scale and everything it said. What is waited for comes as an event before a deadline, or the test
//! fails; nothing sleeps and hopes.

#![allow(unreachable_pub, dead_code, reason = "each test file uses its own part of the harness")]

use pourbook::scale::shape::Ask;
use pourbook::scale::{Clock, Evidence, Link, LinkEvent, LinkState, Listening, Reading};
use pourbook::units::Moment;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

/// How long anything may take before a test gives up; a loaded machine is slow, not wrong.
pub const PATIENCE: Duration = Duration::from_secs(30);

/// A link and everything it said, with when it said it by its own clock.
pub struct Heard {
    pub link: Option<Link>,
    pub inbox: Receiver<(Moment, LinkEvent)>,
    pub all: Vec<(Moment, LinkEvent)>,
}

impl Heard {
    pub fn open(address: &str) -> Self {
        let clock = Clock::running();
        let (outbox, inbox) = channel();
        let stamp = clock.clone();
        let sink = move |event| {
            // A test that has heard enough no longer listens.
            let _ = outbox.send((stamp.now(), event));
        };
        let link = Link::open(address.parse().unwrap(), clock, Listening::default(), sink).unwrap();
        Self { link: Some(link), inbox, all: Vec::new() }
    }

    pub fn ask(&self, what: Ask) {
        self.link.as_ref().unwrap().ask(what);
    }

    /// Waits for the next event of which something can be told.
    pub fn next<T>(&mut self, what: &str, mut tell: impl FnMut(Moment, &LinkEvent) -> Option<T>) -> T {
        let deadline = Instant::now() + PATIENCE;
        loop {
            let left = deadline.saturating_duration_since(Instant::now());
            let Ok((at, event)) = self.inbox.recv_timeout(left) else {
                let last = self.all.iter().rev().take(10).collect::<Vec<_>>();
                panic!("waited in vain for {what}; heard, the last first: {last:#?}");
            };
            let told = tell(at, &event);
            self.all.push((at, event));
            if let Some(told) = told {
                return told;
            }
        }
    }

    /// Waits until it says that it stands so; when it said so, and why.
    pub fn state(&mut self, wanted: LinkState) -> (Moment, String) {
        self.next(&format!("{wanted:?}"), |at, event| match event {
            LinkEvent::State { state, why } if *state == wanted => Some((at, why.clone())),
            _ => None,
        })
    }

    pub fn reading(&mut self) -> Reading {
        self.next("a reading", |_, event| match event {
            LinkEvent::Reading(reading) => Some(reading.clone()),
            _ => None,
        })
    }

    pub fn readings(&mut self, count: usize) -> Vec<Reading> {
        (0..count).map(|_| self.reading()).collect()
    }

    /// Waits until it says why it has ended, and that by no fault of its own.
    pub fn ended(&mut self) -> String {
        self.next("the end", |_, event| match event {
            LinkEvent::Ended { why, fault: false } => Some(why.clone()),
            _ => None,
        })
    }

    /// The states that were told, one after another.
    pub fn states(&self) -> Vec<LinkState> {
        let state = |(_, event): &(Moment, LinkEvent)| match event {
            LinkEvent::State { state, .. } => Some(*state),
            _ => None,
        };
        let mut states: Vec<_> = self.all.iter().filter_map(state).collect();
        states.dedup();
        states
    }

    /// Ends the link and hears it out.
    pub fn close(mut self) -> Evidence {
        drop(self.link.take());
        self.ended();
        let evidence = |(_, event): &(Moment, LinkEvent)| match event {
            LinkEvent::Evidence(evidence) => Some(*evidence),
            _ => None,
        };
        self.all.iter().rev().find_map(evidence).unwrap()
    }
}
