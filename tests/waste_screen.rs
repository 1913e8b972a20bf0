//! The waste in a real terminal: a shop's own book is read while the bench has it open, and says what the report says.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a test that cannot go on says so and stops"
)]

mod common;
mod year;

use common::{Terminal, demo_shop};
use pourbook::book::{SqliteStore, StoreError, open_to_look};
use pourbook::report::waste::{By, Waste, waste};
use pourbook::report::{Period, Shown};
use pourbook::units::Stamp;
use std::path::Path;

const F8: &str = "\x1b[19~";
const ESC: &str = "\x1b";
const F9: &str = "\x1b[20~";
const RIGHT: &str = "\x1b[C";
const DAY: i64 = 86_400_000_000;

/// Six weeks of an invented shop, the last of which ended about two days ago.
fn fill(book: &Path, now: i64) {
    let mut events: Vec<_> = year::Year::of(40, 2025).collect();
    let last = events.iter().map(|event| event.at.0).max().unwrap();
    let later = (now - last) / DAY * DAY - DAY;
    for event in &mut events {
        event.at.0 += later;
    }
    let mut events = events.into_iter();
    let mut store = SqliteStore::open(book, Stamp(now)).unwrap().into_parts().0;
    store.fill(|| Ok::<_, StoreError>(events.next())).unwrap();
}

/// What the report says of all of it.
fn told(book: &Path, now: i64) -> Waste {
    let zone = jiff::tz::TimeZone::system();
    let period = Period::new(None, None, "90d".parse().ok(), Stamp(now), zone).unwrap();
    waste(&open_to_look(book).unwrap(), &period, By::Painter, &mut |_, _| ()).unwrap()
}

#[test]
fn the_waste_is_read_while_the_bench_has_the_book() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book.sqlite");
    let now = jiff::Timestamp::now().as_microsecond();
    fill(&book, now);
    let told = told(&book, now);
    let (shop, name) = (demo_shop(folder.path()), book.display().to_string());
    let mut terminal = Terminal::start(&["--shop", &shop, "--book", &name], (80, 24), &[]);
    // One of the invented mixes may have been left standing: it is offered first.
    let opened = terminal
        .wait("the first screen", |text| text.contains("Gannet White") || text.contains("Mixes to go on"));
    if opened.contains("Mixes to go on") {
        terminal.send(ESC);
    }
    terminal.wait_for("Gannet White");
    terminal.send(F8);
    terminal.wait_for("by week");
    let text = terminal.wait_for("corrections saved, against");
    let shown = Shown::default();
    let wasted = shown.percent(told.total.wasted_share().unwrap());
    for figure in [shown.mass(told.total.mixed.mass), shown.money(told.total.wasted().cost), wasted] {
        assert!(text.contains(&figure), "{figure} is not in\n{text}");
    }
    let over = &told.overs[0];
    assert!(text.contains(&format!("{} of {}", over.over, over.pours)), "{text}");
    // By painter, the one with the most wasted first, and his mixes.
    terminal.send(RIGHT);
    terminal.wait_for("by layer");
    terminal.send(RIGHT);
    terminal.wait_for("by reason");
    terminal.send(RIGHT);
    let text = terminal.wait_for("by painter");
    let first = &told.rows[0];
    assert!(first.mixes > 1 && text.contains(&format!("\u{25b8} {}", first.key)), "{text}");
    terminal.send("\r");
    terminal.wait_for(&format!("{} mixes", first.mixes));
    let latest = told.mixes.iter().rev().find(|mix| mix.painter == first.key).unwrap();
    // A picture comes in pieces: its lower part may not be there yet.
    terminal.wait_for(&format!("mix {:04}", latest.number));
    // And what happened to it: it was begun, and poured out of a tin.
    terminal.send("\r");
    terminal.wait_for(&format!("what happened to mix {:04}", latest.number));
    terminal.wait_for("started");
    terminal.wait_for(" g from ");
    terminal.send("\x1b");
    terminal.wait_for(&format!("{} mixes", first.mixes));
    terminal.send("\x1b");
    terminal.wait_for("by painter");
    terminal.send(F9);
    terminal.wait_for("the last year, by painter");
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);
}
