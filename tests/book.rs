//! A book whose writer is killed without warning: what was acknowledged is there, and nothing is torn.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test that cannot go on says so and stops"
)]

use pourbook::book::{By, Ids, Journal, MixId, Opened, SqliteStore, Store, check, open_to_look};
use pourbook::catalogue::{Catalogue, Role};
use pourbook::mix::{Event, How, Limits, Recipe, Start, Vessel, order};
use pourbook::units::{Division, Grams, Millilitres, Stamp};
use std::collections::BTreeMap;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};

/// What tells the test binary that it is the writer to be killed.
const WRITER: &str = "POURBOOK_TEST_WRITER";

fn start() -> Start {
    let shop = Catalogue::demo();
    let colour = shop.colour("PB-3140").expect("the demo shop has it");
    let recipe =
        Recipe::of_layer(&shop, colour, colour.layer(Role::Ground).expect("a ground coat")).expect("whole");
    Start {
        order: order::formula_order(&recipe),
        version: None,
        job: None,
        recipe,
        volume: Millilitres::parse("350").expect("a number"),
        vessel: Vessel {
            name: "600".into(),
            brim: Millilitres::parse("600").expect("a number"),
            tare: Grams::parse("21.4").expect("a number"),
        },
        limits: Limits { division: Division::TENTH, capacity: None },
    }
}

/// Weighs mix after mix, and says each event's mix and place once the book has it.
fn write_without_end(book: &Path) {
    let Ok(Opened::ToWrite(mut store)) = SqliteStore::open(book, Stamp(1)) else {
        panic!("the book is free")
    };
    let by = By { bench: "bench 1".into(), operator: "Robin".into() };
    let mut ids = Ids::fresh();
    let mut at = Stamp(1_750_000_000_000_000);
    loop {
        let mix = ids.mix(at);
        let begun = Event::Started(start());
        let (mut journal, first) = Journal::begin(mix, &begun, ids.event(at), at, &by).expect("it begins");
        let mut next = Some(first);
        while let Some(envelope) = next {
            store.append(&envelope).expect("it is written");
            println!("saved {mix} {}", envelope.sequence);
            at.0 += 1;
            let session = journal.session();
            let event = match session.shown_stop() {
                Some(stop) => session.take(stop, How::Scale),
                None => session.finish(),
            };
            next = event
                .ok()
                .map(|event| journal.record(&event, ids.event(at), at, &by).expect("it follows on"));
        }
    }
}

/// A second program is told who writes, sees what is there, and cannot write.
fn look_while_another_writes(book: &Path, writer: u32, mix: MixId) {
    let Ok(Opened::ToLook { mut store, why }) = SqliteStore::open(book, Stamp(1)) else {
        panic!("the other program has it")
    };
    assert!(why.contains(&format!("another Pourbook (process {writer}, since ")), "{why}");
    let events = store.events(mix).expect("they are read");
    Journal::fold(mix, &events).expect("the mix folds");
    let refused = store.append(&events[0]).expect_err("it can only look");
    assert!(refused.to_string().contains("you can look, but not write"), "{refused}");
}

#[test]
fn what_was_acknowledged_survives_a_kill() {
    if let Some(book) = std::env::var_os(WRITER) {
        write_without_end(Path::new(&book));
    }
    let folder = tempfile::tempdir().expect("a folder");
    let book = folder.path().join("book.sqlite");
    for round in 1..=5 {
        let mut child = Command::new(std::env::current_exe().expect("this binary"))
            .args(["what_was_acknowledged_survives_a_kill", "--exact", "--nocapture"])
            .env(WRITER, &book)
            .stdout(Stdio::piped())
            .spawn()
            .expect("it starts");
        let lines = BufReader::new(child.stdout.take().expect("piped")).lines();
        let mut saved: BTreeMap<MixId, u32> = BTreeMap::new();
        let mut heard = 0;
        for line in lines.map_while(Result::ok) {
            // The harness prints a line of its own around ours.
            let mut words = line.split_whitespace().skip_while(|word| *word != "saved").skip(1);
            let Some((mix, place)) = words.next().and_then(MixId::parse).zip(words.next()) else { continue };
            saved.insert(mix, place.parse().expect("a number"));
            heard += 1;
            if heard == 3 * round {
                look_while_another_writes(&book, child.id(), mix);
            }
            if heard == 7 * round {
                child.kill().expect("it is killed");
            }
        }
        child.wait().expect("it has ended");
        assert!(heard >= 7 * round, "only {heard} events in round {round}");
        let store = open_to_look(&book).expect("it opens");
        for (mix, place) in saved {
            let events = store.events(mix).expect("they are read");
            assert!(
                events.len() > place as usize,
                "event {place} of {mix} was acknowledged and is not there"
            );
            Journal::fold(mix, &events).expect("the mix folds");
        }
        assert_eq!(check::check(&store).expect("it is looked through").faults, Vec::<String>::new());
    }
}
