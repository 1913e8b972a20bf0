//! Every capture of every format over a real line: a pseudo terminal with the capture's bytes at the far end, in odd
//! portions, and the link at the near one. What it reports is what `.expected` says, to the last byte of noise.

#![expect(clippy::unwrap_used, clippy::panic, reason = "what helps a test fails as a test does")]

#[expect(dead_code, reason = "the decoders are tried elsewhere, without a line")]
#[path = "shapes/captures.rs"]
mod captures;

use captures::{CAPTURES, Capture, told};
use pourbook::scale::shape::{ALL, Decoded};
use pourbook::scale::{Clock, Link, LinkEvent, LinkState, Listening};
use serialport::{SerialPort, TTYPort};
use std::io::{Read, Write};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

/// How long anything may take before a test gives up; a loaded machine is slow, not wrong.
const PATIENCE: Duration = Duration::from_secs(30);
/// How many bytes are written at once, again and again from the first.
const PORTIONS: [usize; 9] = [1, 7, 2, 23, 3, 5, 1, 64, 11];

/// What a link said, as a decoder would have said it.
#[derive(Default)]
struct Report {
    decoded: Vec<Decoded>,
    bytes: Vec<u8>,
    noise: u64,
    /// What had arrived when each frame or answer was told.
    arrived: Vec<usize>,
}

impl Report {
    fn take_in(&mut self, event: LinkEvent) {
        let item = match event {
            LinkEvent::Bytes(bytes) => return self.bytes.extend(bytes),
            LinkEvent::Evidence(evidence) => {
                self.noise = evidence.noise;
                return;
            }
            LinkEvent::Reading(reading) => Decoded::Frame(reading.frame),
            LinkEvent::Answer { to: None, answer } => Decoded::Answer(answer),
            LinkEvent::State { .. } => return,
            other => panic!("the link said {other:?}"),
        };
        self.decoded.push(item);
        self.arrived.push(self.bytes.len());
    }
}

fn next(inbox: &Receiver<LinkEvent>, what: &str) -> LinkEvent {
    inbox.recv_timeout(PATIENCE).unwrap_or_else(|_| panic!("waited in vain for {what}"))
}

/// Sends a capture down a line and gives back all that the link made of it.
fn replay(capture: &Capture) -> Report {
    let (mut master, slave) = TTYPort::pair().unwrap();
    master.set_timeout(Duration::from_millis(1)).unwrap();
    // No questions: what a capture holds is all there is.
    let address = format!("serial:{}?shape={}&poll=none", slave.name().unwrap(), capture.shape.name());
    // The link opens the near end for itself alone.
    drop(slave);
    let (outbox, inbox) = channel();
    let sink = move |event| {
        let _ = outbox.send(event);
    };
    let listening = Listening { bytes: true };
    let link = Link::open(address.parse().unwrap(), Clock::running(), listening, sink).unwrap();
    // Before it is open the terminal would make its own of a line's end.
    while !matches!(next(&inbox, "an open line"), LinkEvent::State { state: LinkState::Listening, .. }) {}
    let bytes = capture.bytes();
    let mut report = Report::default();
    let mut sent = 0;
    for size in PORTIONS.iter().cycle() {
        let portion = &bytes[sent..bytes.len().min(sent + size)];
        if portion.is_empty() {
            break;
        }
        master.write_all(portion).unwrap();
        sent += portion.len();
        // Each portion arrives before the next is sent, so that it is read on its own.
        let deadline = Instant::now() + PATIENCE;
        while report.bytes.len() < sent {
            assert!(Instant::now() < deadline, "{}: stuck at {sent}", capture.path.display());
            report.take_in(next(&inbox, "the bytes sent"));
        }
    }
    drop(link);
    for event in inbox {
        match event {
            LinkEvent::Ended { fault, .. } => assert!(!fault, "{}", capture.path.display()),
            event => report.take_in(event),
        }
    }
    assert_eq!(report.bytes, bytes, "{}: the line changed the bytes", capture.path.display());
    let answered = master.read(&mut [0; 16]).unwrap_or(0);
    assert_eq!(answered, 0, "{}: the link sent something", capture.path.display());
    report
}

#[test]
fn every_capture_over_a_real_line_is_read_as_expected() {
    let mut frames = 0;
    for capture in CAPTURES.iter() {
        let report = replay(capture);
        let expected = std::fs::read_to_string(capture.path.with_extension("expected")).unwrap();
        let (noise, said): (Vec<&str>, Vec<&str>) =
            expected.lines().partition(|line| line.starts_with("noise "));
        let heard = told(&report.decoded);
        assert_eq!(heard.lines().collect::<Vec<_>>(), said, "{}", capture.path.display());
        let noise: u64 =
            noise.iter().map(|line| line.trim_start_matches("noise").trim().parse::<u64>().unwrap()).sum();
        assert_eq!(report.noise, noise, "{}: noise", capture.path.display());
        // They were told as they came, not all at the end.
        let whole = capture.pieces.len() > 2 && report.decoded.len() > 2;
        assert!(!whole || report.arrived[0] < report.bytes.len(), "{}", capture.path.display());
        frames += report.decoded.len();
    }
    let formats = CAPTURES.iter().filter(|capture| capture.name() == "damaged").count();
    assert_eq!(formats, ALL.len(), "a format has no damaged lines");
    assert!(frames > 150, "{frames}");
}
