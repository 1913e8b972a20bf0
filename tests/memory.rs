//! One scale for an hour at fifty readings a second, on a clock of its own: the virtual bench, its wire, the decoder,
//! the link's worker, and the program's own state that takes the readings in. After the first tenth nothing may grow.
//! One test in a program of its own, because what is looked at is the memory of the whole program.

#![cfg(target_os = "linux")]
#![expect(clippy::unwrap_used, reason = "what helps a test fails as a test does")]

use pourbook::book::{By, Ids};
use pourbook::catalogue::Catalogue;
use pourbook::scale::shape::ALL;
use pourbook::scale::{Address, Clock, Hand, Link, LinkEvent, Listening};
use pourbook::tui::{App, FromBook, Message, Now, Preferences, Settings};
use pourbook::units::{Division, Grams, Stamp};
use std::sync::mpsc::channel;
use std::time::Duration;

/// An hour at fifty a second.
const READINGS: u64 = 180_000;
const EVERY_MS: u64 = 20;
/// By so much may the program grow after its first tenth: a single byte kept of each reading would be 162,000, and
/// an allocation kept of each is five million at least.
const MOST: u64 = 1 << 20;

/// What the program has in memory, in bytes.
fn resident() -> u64 {
    let statm = std::fs::read_to_string("/proc/self/statm").unwrap();
    let pages: u64 = statm.split_whitespace().nth(1).unwrap().parse().unwrap();
    pages * 4_096
}

fn app() -> App {
    let settings = Settings {
        by: By { bench: "bench 1".to_owned(), operator: "operator".to_owned() },
        scale: "virtual:".parse().ok(),
        seconds_east: 0,
        preferences: Preferences::default(),
        remarks: Vec::new(),
        has_shop_folder: true,
        division: Some(Division::TENTH),
        capacity: Some(Grams::parse("7500").unwrap()),
        rehearsal: false,
        seed: 1,
    };
    App::new(Catalogue::demo(), settings, FromBook { next_number: 1, ..FromBook::default() }, Ids::counted(1))
}

/// An hour of that format; how much the program grew after the first tenth of it, and how many readings there were.
fn hour(shape: &str, readings: u64) -> (u64, u64) {
    let clock = Clock::standing();
    let (sender, inbox) = channel();
    let mut app = app();
    let mut count = 0;
    let mut steady = 0;
    let moves = clock.clone();
    let sink = move |event: LinkEvent| {
        // Nothing sleeps: time goes on with each reading, and when the link comes up.
        let is_reading = matches!(event, LinkEvent::Reading(_));
        moves.advance(if is_reading || matches!(event, LinkEvent::State { .. }) { EVERY_MS } else { 0 });
        let moment = moves.now();
        let stamp = Stamp(1_700_000_000_000_000 + i64::try_from(moment.0).unwrap() * 1_000);
        drop(app.update(Message::Scale(event), Now { moment, stamp }));
        count += u64::from(is_reading);
        if is_reading && count == readings / 10 {
            steady = resident();
        }
        if is_reading && count == readings {
            sender.send((resident().saturating_sub(steady), count)).unwrap();
        }
    };
    let address: Address = format!("virtual:?rate=50&shape={shape}").parse().unwrap();
    let link = Link::open(address, clock.clone(), Listening { bytes: true }, sink).unwrap();
    // A pour now and then, so that what moves and what rests is both there.
    let mut target = 100;
    loop {
        if let Ok(grown) = inbox.recv_timeout(Duration::from_millis(50)) {
            break grown;
        }
        target = if target > 3_000 { 100 } else { target + 40 };
        link.hand(if target == 100 { Hand::FreshCup } else { Hand::PourTo(Grams::new(target.into())) });
    }
}

#[test]
fn an_hour_of_readings_leaves_nothing_behind() {
    let (grown, count) = hour("sma", READINGS);
    assert_eq!(count, READINGS);
    println!("grown by {grown} bytes over {count} readings");
    assert!(grown < MOST, "sma: {grown} bytes more after {count} readings");
    // The other formats have decoders of their own: six minutes each.
    for shape in ALL {
        let (grown, count) = hour(shape.name(), READINGS / 10);
        assert!(grown < MOST / 4, "{}: {grown} bytes more after {count} readings", shape.name());
    }
}
