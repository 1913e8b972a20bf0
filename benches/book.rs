//! What a pour's commit costs, beside a bare write of the same size that is synced to the disk, in the same run
//! and on the same disk. The ratio is printed first; what the disk itself takes differs from machine to machine.

#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a benchmark that cannot be set up stops, and its figures are its output"
)]

use divan::Bencher;
use pourbook::book::{By, Envelope, Ids, Journal, Opened, SqliteStore, Store};
use pourbook::catalogue::{Catalogue, Role};
use pourbook::mix::{Event, How, Limits, Recipe, Start, Vessel, order};
use pourbook::units::{Division, Grams, Millilitres, Stamp};
use std::fs::File;
use std::io::Write;
use std::time::{Duration, Instant};

fn main() {
    compare();
    divan::main();
}

/// Where the book of the bench is: on the disk with the build, not in memory.
fn folder() -> tempfile::TempDir {
    tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder")
}

fn start() -> Start {
    let shop = Catalogue::demo();
    let colour = shop.colour("PB-3140").expect("the demo shop has it");
    let layer = colour.layer(Role::Ground).expect("a ground coat");
    let recipe = Recipe::of_layer(&shop, colour, layer).expect("whole");
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

/// One mix after another, of which only the pours are handed out; what is between is written at once.
struct Pours {
    store: SqliteStore,
    ids: Ids,
    at: Stamp,
    by: By,
    journal: Option<Journal>,
    _folder: tempfile::TempDir,
}

impl Pours {
    fn new() -> Self {
        let folder = folder();
        let Ok(Opened::ToWrite(store)) = SqliteStore::open(&folder.path().join("book"), Stamp(1)) else {
            panic!("a new book is free")
        };
        let by = By { bench: "bench 1".into(), operator: "Robin".into() };
        let at = Stamp(1_750_000_000_000_000);
        Self { store, ids: Ids::fresh(), at, by, journal: None, _folder: folder }
    }

    fn next(&mut self) -> Envelope {
        loop {
            self.at.0 += 1_000_000;
            let id = self.ids.event(self.at);
            let Some(journal) = &mut self.journal else {
                let begun = Event::Started(start());
                let mix = self.ids.mix(self.at);
                let (journal, first) = Journal::begin(mix, &begun, id, self.at, &self.by).expect("it begins");
                self.store.append(&first).expect("it is written");
                self.journal = Some(journal);
                continue;
            };
            let session = journal.session();
            if let Some(event) = session.shown_stop().and_then(|stop| session.take(stop, How::Scale).ok()) {
                return journal.record(&event, id, self.at, &self.by).expect("it follows on");
            }
            self.journal = None;
        }
    }
}

/// What an envelope comes to as bare bytes.
fn bytes(envelope: &Envelope) -> Vec<u8> {
    format!("{envelope:?}\n").into_bytes()
}

fn plain_file() -> (tempfile::TempDir, File) {
    let folder = folder();
    let file = File::create(folder.path().join("plain")).expect("a file");
    (folder, file)
}

fn write_plain(file: &mut File, bytes: &[u8]) {
    file.write_all(bytes).expect("it is written");
    file.sync_data().expect("it is on disk");
}

/// The median of both, taken turn about so that whatever else the disk does hits both alike.
fn compare() {
    const ROUNDS: usize = 200;
    let mut pours = Pours::new();
    let (_folder, mut file) = plain_file();
    let (mut commits, mut plains) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        let envelope = pours.next();
        let bytes = bytes(&envelope);
        let begun = Instant::now();
        pours.store.append(&envelope).expect("it is written");
        commits.push(begun.elapsed());
        let begun = Instant::now();
        write_plain(&mut file, &bytes);
        plains.push(begun.elapsed());
    }
    let median = |times: &mut Vec<Duration>| {
        times.sort_unstable();
        times[times.len() / 2]
    };
    let (commit, plain) = (median(&mut commits), median(&mut plains));
    let ratio = commit.as_secs_f64() / plain.as_secs_f64();
    println!("{ROUNDS} pours, medians: commit {commit:.1?}, bare synced write {plain:.1?}, ratio {ratio:.2}");
}

#[divan::bench(sample_count = 50, sample_size = 1)]
fn a_pours_commit(bencher: Bencher<'_, '_>) {
    let pours = std::cell::RefCell::new(Pours::new());
    bencher
        .with_inputs(|| pours.borrow_mut().next())
        .bench_local_values(|envelope| pours.borrow_mut().store.append(&envelope).expect("it is written"));
}

#[divan::bench(sample_count = 50, sample_size = 1)]
fn a_bare_synced_write(bencher: Bencher<'_, '_>) {
    let bytes = bytes(&Pours::new().next());
    let (_folder, mut file) = plain_file();
    bencher.bench_local(|| write_plain(&mut file, &bytes));
}

/// The figures of a book of so many pours, made anew from its journal.
#[divan::bench(args = [100, 1_000], sample_count = 5, sample_size = 1)]
fn figures_made_anew(bencher: Bencher<'_, '_>, pours: usize) {
    let mut written = Pours::new();
    for _ in 0..pours {
        let envelope = written.next();
        written.store.append(&envelope).expect("it is written");
    }
    bencher
        .counter(divan::counter::ItemsCount::new(pours))
        .bench_local(|| written.store.rebuild().expect("it is made"));
}
