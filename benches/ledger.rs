//! What a large book costs: made, opened, asked for its figures, written in once more, its figures made anew; beside the
//! same sums by plain SQL over the same file, in the same run.
//!
//! `cargo bench --bench ledger -- --postings 10000000`: so many postings, spread over five years; a million unless said.
//! `--in FOLDER`: where its books are made; they are taken away again. `--keep FILE`: the large one is made there and stays, and
//! is not made anew where it is there already. `--reports`: only what is asked of it, nothing that is made anew or added.
//! `--only WORDS`: only what has these words in its name.

#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::unwrap_used,
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::too_many_lines,
    reason = "a benchmark that cannot be set up stops, and its figures are its output"
)]

#[path = "../tests/year/mod.rs"]
mod year;

use jiff::tz::TimeZone;
use pourbook::book::{
    By as Who, Envelope, Ids, JobsOf, Journal, Ledger as _, MixesOf, Opened, SqliteStore, Store, StoreError,
    TinsOf,
};
use pourbook::catalogue::{Role, Word as _};
use pourbook::report::use_of::used;
use pourbook::report::waste::{By, behind, overview, totals, waste};
use pourbook::report::{Bucket, Period};
use pourbook::stock;
use pourbook::units::Stamp;
use rusqlite::Connection;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};
use year::Year;

/// The generator's first day, and five years in microseconds.
const BEGUN: i64 = 1_736_146_800_000_000;
const DAY: i64 = 86_400_000_000;
const FIVE_YEARS: i64 = 5 * 365 * DAY;
/// Postings the generator makes on a day that is worked, about.
const A_DAY: u64 = 360;
/// Few enough that the empty book stays small; three times a number, so that the books stand in their order again.
const POURS: usize = 300;

fn main() {
    let said = |name: &str| std::env::args().skip_while(|argument| argument != name).nth(1);
    let wanted: u64 = said("--postings").map_or(1_000_000, |number| number.parse().expect("a number"));
    let place = said("--in").unwrap_or_else(|| env!("CARGO_TARGET_TMPDIR").to_owned());
    let folder = tempfile::tempdir_in(place).expect("a folder");
    let small = folder.path().join("small");
    let large = said("--keep").map_or_else(|| folder.path().join("large"), PathBuf::from);
    if !large.exists() {
        let begun = Instant::now();
        let written = fill(&large, &mut Events::of(wanted));
        println!("{written} events written in {:.0} s", begun.elapsed().as_secs_f64());
    }
    let given_up = give_up(&mut to_write(&large));
    let connection = Connection::open(&large).expect("the book");
    let count = |sql: &str| connection.query_row(sql, [], |row| row.get::<_, i64>(0)).expect("a number");
    let (events, postings) = (count("SELECT count(*) FROM events"), count("SELECT count(*) FROM postings"));
    let mixes = count("SELECT count(*) FROM mix_heads");
    let bytes = std::fs::metadata(&large).expect("it is there").len();
    println!("{events} events, {postings} postings, {mixes} mixes in five years");
    println!(
        "{} mixes have not ended; {given_up} more were given up that had waited for longer than two weeks",
        count("SELECT count(*) FROM mix_heads WHERE outcome IS NULL")
    );
    let last = connection
        .query_row("SELECT max(id) FROM events", [], |row| row.get::<_, String>(0))
        .expect("an identity");
    println!("on disk {:.0} MB, {:.0} bytes a posting", bytes as f64 / 1e6, bytes as f64 / postings as f64);

    let at = Stamp(BEGUN + FIVE_YEARS);
    let only = said("--only");
    let time = |what: &str, times: usize, mut run: Box<dyn FnMut() + '_>| {
        if only.as_ref().is_some_and(|only| !what.contains(only.as_str())) {
            return;
        }
        let mut took: Vec<Duration> = (0..times)
            .map(|_| {
                let begun = Instant::now();
                run();
                begun.elapsed()
            })
            .collect();
        took.sort_unstable();
        let ms = |time: Duration| time.as_secs_f64() * 1_000.0;
        println!(
            "{what:<52} median {:10.2} ms   worst {:10.2} ms",
            ms(took[took.len() / 2]),
            ms(took[took.len() - 1])
        );
    };
    time("opened to write", 5, Box::new(|| drop(std::hint::black_box(to_write(&large)))));
    time(
        "opened, and what the program asks before its first screen",
        5,
        Box::new(|| at_start(&large, at).unwrap()),
    );

    let store = to_write(&large);
    for (what, ask) in FIRST {
        time(&format!("  of that: {what}"), 3, Box::new(|| ask(&store, at).unwrap()));
    }
    let period = |days: i64| {
        let text = format!("{days}d");
        Period::new(None, None, Some(text.parse().unwrap()), at, TimeZone::UTC).unwrap()
    };
    for (name, days) in [("30 days", 30), ("a year", 365), ("five years", 1_825)] {
        let period = period(days);
        time(
            &format!("use by month, {name}"),
            3,
            Box::new(|| {
                used(&store, &period, Some(By::Time(Bucket::Month)), None).unwrap();
            }),
        );
        time(
            &format!("every mix of {name}, in a list"),
            3,
            Box::new(|| {
                let of = MixesOf::Begun { from: period.from(), before: period.before() };
                std::hint::black_box(store.totals(of).unwrap());
            }),
        );
    }
    let berlin = TimeZone::posix("CET-1CEST,M3.5.0,M10.5.0/3").expect("a zone");
    for (name, days) in [("30 days", 30), ("a year", 365), ("five years", 1_825)] {
        let here = period(days);
        let text = format!("{days}d");
        let there = Period::new(None, None, Some(text.parse().unwrap()), at, berlin.clone()).unwrap();
        for by in
            [By::Layer, By::Colour, By::Painter, By::Reason, By::Time(Bucket::Month), By::Time(Bucket::Week)]
        {
            time(
                &format!("waste by {}, {name}", by.word()),
                3,
                Box::new(|| drop(std::hint::black_box(totals(&store, &here, by).unwrap()))),
            );
        }
        for by in [By::Layer, By::Time(Bucket::Week), By::Time(Bucket::Day)] {
            time(
                &format!("waste by {}, {name}, an hour from UTC", by.word()),
                3,
                Box::new(|| drop(std::hint::black_box(totals(&store, &there, by).unwrap()))),
            );
        }
        for (zone, period) in [("", &here), (", an hour from UTC", &there)] {
            time(
                &format!("the waste screen, told apart every way, {name}{zone}"),
                3,
                Box::new(|| drop(std::hint::black_box(overview(&store, period, Bucket::Week).unwrap()))),
            );
        }
        let told = overview(&store, &there, Bucket::Week).unwrap();
        for by in [By::Time(Bucket::Week), By::Layer, By::Reason, By::Painter, By::Colour] {
            // The one with the fewest mixes has to be looked for longest.
            let rows = told.rows_by(by).iter().filter(|row| row.mixes > 0);
            let (fewest, most) = (rows.clone().min_by_key(|row| row.mixes), rows.max_by_key(|row| row.mixes));
            for row in [fewest, most].into_iter().flatten() {
                let of = told.behind(by, &row.key).expect("its mixes");
                time(
                    &format!("  100 of {} mixes behind a row by {}, {name}", row.mixes, by.word()),
                    3,
                    Box::new(|| drop(std::hint::black_box(behind(&store, &there, &of, None, 100).unwrap()))),
                );
            }
        }
        time(
            &format!("waste by layer and each mix by itself, {name}"),
            1,
            Box::new(|| drop(std::hint::black_box(waste(&store, &here, By::Layer, &mut |_, _| {}).unwrap()))),
        );
        for by in [None, Some(By::Time(Bucket::Week)), Some(By::Time(Bucket::Day)), Some(By::Painter)] {
            let word = by.map_or("toner", By::word);
            time(
                &format!("use by {word}, {name}"),
                3,
                Box::new(|| drop(std::hint::black_box(used(&store, &here, by, None).unwrap()))),
            );
        }
    }
    let ever = Period::new(None, None, "99y".parse().ok(), at, berlin).unwrap();
    time(
        "the waste screen, all mixes by month, an hour from UTC",
        3,
        Box::new(|| drop(std::hint::black_box(overview(&store, &ever, Bucket::Month).unwrap()))),
    );
    println!("no report, but the whole state of the book, as `pourbook check` and an export read it:");
    let accounts = store.balances().unwrap().len();
    time(&format!("what each of {accounts} accounts holds"), 3, Box::new(|| drop(store.balances().unwrap())));
    time("the shelf", 3, Box::new(|| drop((store.tins(TinsOf::All).unwrap(), store.held("tin").unwrap()))));
    time("leftovers", 3, Box::new(|| drop(stock::leftovers(&store).unwrap())));
    drop(store);

    println!("beside, by plain SQL over the postings of the same file:");
    for (what, sql) in [
        ("what every account holds", "SELECT count(*) FROM (SELECT account, toner, sum(micrograms) FROM postings GROUP BY account, toner)"),
        ("poured by month, five years", "SELECT count(*) FROM (SELECT strftime('%Y-%m', e.at / 1000000, 'unixepoch') AS month, sum(p.micrograms)
            FROM postings AS p JOIN events AS e ON e.position = p.event WHERE p.account GLOB 'tin*' GROUP BY month)"),
    ] {
        time(what, 1, Box::new(|| {
            std::hint::black_box(count(sql));
        }));
    }
    drop(connection);
    if std::env::args().any(|argument| argument == "--reports") {
        return;
    }

    // Another year than any before, so that its events are new where the book was kept; and later ones. An identity begins
    // with its time: a shop's next events come at the end of all that is sorted by them, and so do these.
    let again = 98 + u64::try_from(events).expect("a count");
    // The same events for all three books, so that nothing but their size is compared.
    let later = || Events::later(day_after(&last), again, at);
    pours([&small, &folder.path().join("other"), &large], [later(), later(), later()]);

    let mut store = to_write(&large);
    time("all figures made anew from the journal", 1, Box::new(|| store.rebuild().unwrap()));
}

/// Events of the generator, their time changed.
struct Events {
    year: Year,
    squeeze: Box<dyn Fn(i64) -> i64>,
}

impl Events {
    /// About so many postings in five years.
    fn of(postings: u64) -> Self {
        let days = i64::try_from(postings / A_DAY * 7 / 5).expect("a number of days").max(5);
        let length = i128::from(days) * i128::from(DAY);
        let squeeze = move |at: i64| {
            let since = i128::from(at - BEGUN) * i128::from(FIVE_YEARS) / length;
            BEGUN + i64::try_from(since).expect("within five years")
        };
        Self { year: Year::of(days, 1), squeeze: Box::new(squeeze) }
    }

    /// Those of forty days from that one of the generator's on, the first of them at that moment.
    fn later(day: i64, seed: u64, at: Stamp) -> Self {
        let begun = BEGUN + day * DAY;
        Self { year: Year::of(40, seed).after(day), squeeze: Box::new(move |old| old - begun + at.0) }
    }

    fn next(&mut self) -> Option<Envelope> {
        let mut event = self.year.next()?;
        event.at = Stamp((self.squeeze)(event.at.0));
        Some(event)
    }
}

/// The generator's first Monday after the time that identity begins with.
fn day_after(identity: &str) -> i64 {
    let milliseconds =
        identity.replace('-', "").get(..12).map(|time| i64::from_str_radix(time, 16).expect("a time"));
    let days = (milliseconds.expect("an identity") * 1_000 - BEGUN) / DAY;
    (days / 7 + 1) * 7
}

fn to_write(path: &Path) -> SqliteStore {
    match SqliteStore::open(path, Stamp(BEGUN)).expect("a book") {
        Opened::ToWrite(store) => store,
        Opened::ToLook { why, .. } => panic!("{why}"),
    }
}

fn fill(path: &Path, events: &mut Events) -> u64 {
    to_write(path).fill(|| Ok::<_, StoreError>(events.next())).expect("it can be filled")
}

/// The generator leaves two mixes in a thousand standing for good, and asks for them no more. A shop does not: those that
/// have waited for two weeks are given up, and the few that were begun since still wait.
fn give_up(book: &mut SqliteStore) -> usize {
    let at = Stamp(BEGUN + FIVE_YEARS);
    let (mut ids, by) = (Ids::counted(7), Who { bench: "bench 1".into(), operator: "Robin".into() });
    let late: Vec<_> =
        book.unfinished().unwrap().into_iter().filter(|mix| mix.begun.0 < at.0 - 14 * DAY).collect();
    for summary in &late {
        let mut journal = Journal::fold(summary.mix, &book.events(summary.mix).unwrap()).unwrap();
        let event = journal.session().abandon("left standing").unwrap();
        book.append(&journal.record(&event, ids.event(at), at, &by).unwrap()).unwrap();
    }
    late.len()
}

/// What is asked of a book before the first screen, part by part.
type Ask = fn(&SqliteStore, Stamp) -> Result<(), StoreError>;
const FIRST: &[(&str, Ask)] = &[
    ("all the mixes that wait", |book, _| {
        for summary in book.unfinished()? {
            drop(std::hint::black_box(Journal::fold(summary.mix, &book.events(summary.mix)?)));
        }
        Ok(())
    }),
    ("the cups", |book, at| {
        let from = Stamp(at.0 - 30 * 86_400_000_000);
        for mix in book.totals(MixesOf::InCups { from, most: 50 })? {
            drop(std::hint::black_box(Journal::fold(mix.mix, &book.events(mix.mix)?)));
        }
        Ok(())
    }),
    ("the leftovers", |book, _| stock::leftovers(book).map(drop)),
    ("the jobs", |book, _| {
        drop(std::hint::black_box(book.jobs(JobsOf::Open)?));
        Role::ALL.iter().try_for_each(|role| book.job_mixes(*role, 50).map(drop))
    }),
    ("the next number and the colours mixed last", |book, _| {
        std::hint::black_box(book.next_number()?);
        book.totals(MixesOf::Latest(500)).map(drop)
    }),
    ("the tins", |book, _| stock::shelf(book).map(drop)),
    ("the lots called back", |book, _| stock::recalls(book).map(drop)),
];

fn at_start(path: &Path, at: Stamp) -> Result<(), StoreError> {
    let store = to_write(path);
    FIRST.iter().try_for_each(|(_, ask)| ask(&store, at))
}

/// One more pour, each synced, in an empty book, in another empty one and in a large one by turns, each of them first every
/// third time, so that whatever the disk does meanwhile it does to all. How far the two empty ones differ says what can be
/// told from the large one.
fn pours(paths: [&Path; 3], events: [Events; 3]) {
    let mut events = events.into_iter();
    let mut books = paths.map(|path| Book {
        store: to_write(path),
        events: events.next().expect("as many"),
        took: Vec::new(),
        work: [0; 3],
    });
    while books.iter().any(|book| book.took.len() < POURS) {
        // The disk may still be busy with what came just before.
        books.rotate_left(1);
        books.iter_mut().for_each(Book::pour);
    }
    let [empty, other, large] = books.map(|mut book| {
        book.took.sort_unstable();
        let many = book.took.len();
        let median = book.took[many / 2].as_secs_f64() * 1e3;
        let [busy, read, written] = book.work.map(|sum| sum as f64 / many as f64 / 1e6);
        [median, busy, read * 1e3, written * 1e3]
    });
    for (what, unit, place) in [
        ("median with its sync", "ms", 0),
        ("mean time on the processor", "ms", 1),
        ("mean read from files", "kB", 2),
        ("mean written to files", "kB", 3),
    ] {
        let [empty, other, large] = [empty, other, large].map(|book| book[place]);
        println!(
            "one more pour, {what}: empty book {empty:.3} {unit}, another {other:.3} {unit} (ratio {:.2}), this one {large:.3} {unit} (ratio {:.2})",
            other / empty,
            large / empty
        );
    }
}

/// A book that is poured into.
struct Book {
    store: SqliteStore,
    events: Events,
    took: Vec<Duration>,
    /// As [`spent`] has it, of all pours together.
    work: [u64; 3],
}

impl Book {
    /// One more pour; what comes before it belongs to the book too.
    fn pour(&mut self) {
        while let Some(event) = self.events.next() {
            let (begun, before) = (Instant::now(), spent());
            self.store.append(&event).expect("written");
            if event.kind == "mix/poured" {
                self.took.push(begun.elapsed());
                for ((sum, before), after) in self.work.iter_mut().zip(before).zip(spent()) {
                    *sum += after - before;
                }
                return;
            }
        }
        panic!("the generator has no more pours");
    }
}

/// How long this thread was on a processor, in nanoseconds, and how many bytes it read from files and wrote to them, where
/// the system says it; else nothing.
fn spent() -> [u64; 3] {
    let told = |file: &str| std::fs::read_to_string(file).unwrap_or_default();
    let (times, bytes) = (told("/proc/thread-self/schedstat"), told("/proc/thread-self/io"));
    let number = |text: Option<&str>| text.and_then(|number| number.parse().ok()).unwrap_or(0);
    let of = |name: &str| number(bytes.lines().find_map(|line| line.strip_prefix(name)).map(str::trim));
    [number(times.split_whitespace().next()), of("rchar:"), of("wchar:")]
}
