//! How long a scale is away after its line is back: from plugging in again to the first reading, on a serial line, at a
//! raw TCP server and at an RFC 2217 server. Beside it stands the first opening of the same line in the same run; the
//! ratio tells more than either, as the machine differs.

#![allow(
    clippy::expect_used,
    clippy::print_stdout,
    clippy::panic,
    reason = "a benchmark that cannot be set up stops, and its figures are its output"
)]

use pourbook::scale::{Clock, Control, Link, LinkEvent, LinkState, Listening, Manner, Spec, StandIn, shape};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

const TIMES: usize = 8;
/// For how long the line is away at least; at most twice as long, so that no pause of the link's falls on it each time.
const AWAY: [Duration; 2] = [Duration::from_millis(500), Duration::from_secs(5)];
const PATIENCE: Duration = Duration::from_mins(1);

fn main() {
    let folder = tempfile::tempdir().expect("a folder");
    println!("from the line to a reading, a scale that sends ten times a second; {TIMES} times each, in ms");
    let link = folder.path().join("scale");
    measure("serial", &StandIn::on_pty(&link, manner()).expect("a pseudo terminal"));
    measure("tcp", &StandIn::on_tcp(0, manner()).expect("a port"));
    measure("rfc2217", &StandIn::on_rfc2217(0, Vec::new(), manner()).expect("a port"));
}

fn manner() -> Manner {
    Manner { shape: &shape::Sma, spec: Spec::default(), seed: 1, streams: true }
}

fn measure(scheme: &str, stand_in: &StandIn) {
    let address = format!("{scheme}:{}?shape=sma", stand_in.place());
    let open = || {
        let (outbox, inbox) = channel();
        let sink = move |event| drop(outbox.send(event));
        let address = address.parse().expect("an address");
        let link = Link::open(address, Clock::running(), Listening::default(), sink).expect("a thread");
        (link, inbox)
    };
    let first: Vec<Duration> = (0..TIMES)
        .map(|_| {
            let begun = Instant::now();
            let (_link, inbox) = open();
            wait(&inbox, |event| matches!(event, LinkEvent::Reading(_)));
            begun.elapsed()
        })
        .collect();
    let first = told(scheme, "opened for the first time", first, None);
    for away in AWAY {
        let (_link, inbox) = open();
        let again = (0_u32..)
            .take(TIMES)
            .map(|number| {
                let away = away + away * number / 8;
                wait(&inbox, |event| matches!(event, LinkEvent::Reading(_)));
                let unplugged = Instant::now();
                stand_in.control(Control::Unplug);
                wait(&inbox, |event| matches!(event, LinkEvent::State { state: LinkState::Lost, .. }));
                std::thread::sleep(away.saturating_sub(unplugged.elapsed()));
                let plugged = Instant::now();
                stand_in.control(Control::Replug);
                wait(&inbox, |event| matches!(event, LinkEvent::Reading(_)));
                plugged.elapsed()
            })
            .collect();
        told(
            scheme,
            &format!("back after {}–{} ms", away.as_millis(), 2 * away.as_millis()),
            again,
            Some(first),
        );
    }
}

fn wait(inbox: &Receiver<LinkEvent>, is_it: impl Fn(&LinkEvent) -> bool) {
    loop {
        match inbox.recv_timeout(PATIENCE) {
            Ok(event) if is_it(&event) => return,
            Ok(_) => {}
            Err(error) => panic!("waited in vain: {error}"),
        }
    }
}

fn told(scheme: &str, what: &str, mut times: Vec<Duration>, beside: Option<f64>) -> f64 {
    times.sort();
    let ms = |time: Option<&Duration>| time.map_or(0.0, Duration::as_secs_f64) * 1_000.0;
    let (middle, worst) = (ms(times.get(times.len() / 2)), ms(times.last()));
    let ratio = beside.map(|first| format!("   {:.1} times the first opening", middle / first));
    let ratio = ratio.unwrap_or_default();
    println!("{scheme:8} {what:27} median {middle:7.1}   worst {worst:7.1}{ratio}");
    middle
}
