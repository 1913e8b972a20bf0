//! A year of a shop's postings, read by a plain-text accounting program that is not ours: every balance the same to
//! the last digit.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::indexing_slicing,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a test that cannot go on says so and stops"
)]

mod year;

use pourbook::book::exchange::{export, import};
use pourbook::book::{
    Account, Ledger as _, SqliteStore, Store as _, StoreError, check, open_to_look, plain_text,
};
use pourbook::stock;
use pourbook::units::Stamp;
use std::collections::BTreeMap;
use std::io::Cursor;
use std::ops::ControlFlow;
use std::path::Path;
use std::process::Command;

/// The program, as its own site (hledger.org) and Debian's package call it.
const PROGRAM: &str = "hledger";

/// A book with a year of an invented shop in it.
fn year(book: &Path) -> SqliteStore {
    let mut store = SqliteStore::open(book, Stamp(1)).unwrap().into_parts().0;
    let mut events = year::Year::of(365, 2025);
    store.fill(|| Ok::<_, StoreError>(events.next())).unwrap();
    store
}

/// Micrograms from grams as the program writes them.
fn micrograms(text: &str) -> i64 {
    let (sign, digits) = text.strip_prefix('-').map_or((1, text), |digits| (-1, digits));
    let (whole, rest) = digits.split_once('.').unwrap_or((digits, ""));
    assert!(rest.len() <= 6, "{text}");
    sign * (whole.parse::<i64>().unwrap() * 1_000_000 + format!("{rest:0<6}").parse::<i64>().unwrap())
}

/// A line of the program's CSV, of which every cell is quoted.
fn cells(line: &str) -> Vec<String> {
    let inside = line.strip_prefix('"').and_then(|line| line.strip_suffix('"')).unwrap();
    inside.split("\",\"").map(|cell| cell.replace("\"\"", "\"")).collect()
}

/// Where paint is in the course of the year: every kind of account, and every reason there is for waste or a difference.
const PLACES: &[&str] = &[
    "supplier",
    "tin",
    "tin?",
    "cup",
    "car",
    "leftover",
    "difference:",
    "difference:poured unweighed; \"never\" again",
    "difference:said to be empty",
    "difference:spilt",
    "waste:abandoned:job cancelled",
    "waste:abandoned:spilt; floor",
    "waste:abandoned:started again",
    "waste:abandoned:wrong colour",
    "waste:drawn-off",
    "waste:left:hardened; lid \"off\"",
    "waste:left:lid off; \"hard\"",
    "waste:left:more mixed than the job took",
    "waste:left:past its day",
    "waste:left:thinner in it",
    "waste:left:wrong variant",
    "waste:tin:called back",
    "waste:tin:lid rusted; \"dirt\"",
    "waste:tin:past its day",
    "waste:tin:skinned over",
];

/// An account without what it is of; with its reason, where it has one.
fn place(account: &Account) -> String {
    let text = account.to_string();
    let (kind, _) = text.split_once(':').unwrap();
    if matches!(kind, "waste" | "difference") { text } else { kind.to_owned() }
}

#[test]
fn the_year_is_a_year_of_everything() {
    let folder = tempfile::tempdir().unwrap();
    let store = year(&folder.path().join("book"));
    assert_eq!(check::check(&store).unwrap().faults, Vec::<String>::new());
    let (mut kinds, mut places) = (BTreeMap::<String, u32>::new(), BTreeMap::<String, u32>::new());
    let (mut postings, mut put_right_late) = (0, 0);
    let counted: Result<(), StoreError> = store.each_event(|envelope| {
        let moved_on = envelope.postings.iter().any(|posting| matches!(posting.account, Account::Car(_)));
        put_right_late += u32::from(envelope.kind == "mix/rebooked" && moved_on);
        for posting in &envelope.postings {
            *places.entry(place(&posting.account)).or_default() += 1;
            postings += 1;
        }
        *kinds.entry(envelope.kind).or_default() += 1;
        Ok(())
    });
    counted.unwrap();
    println!(
        "{kinds:?}\n{postings} postings: {places:#?}\n{put_right_late} put right after the cup was emptied"
    );
    for (kind, least) in [
        ("mix/started", 2_000),
        ("mix/poured", 10_000),
        ("mix/steered", 500),
        ("mix/drawn-off", 100),
        ("mix/abandoned", 100),
        ("mix/rebooked", 100),
        ("mix/finished", 1_000),
        ("mix/emptied", 1_000),
        ("mix/leftover-due", 100),
        ("mix/leftover-added", 100),
        ("leftover/thrown", 100),
        ("tin/received", 300),
        ("tin/opened", 300),
        ("tin/stirred", 300),
        ("tin/counted", 300),
        ("tin/emptied", 100),
        ("tin/discarded", 20),
        ("lot/recalled", 3),
    ] {
        assert!(kinds.get(kind).is_some_and(|count| *count >= least), "{kind}: {kinds:?}");
    }
    for name in PLACES {
        assert!(places.get(*name).is_some_and(|count| *count >= 2), "{name}: {places:?}");
    }
    assert_eq!(places.len(), PLACES.len(), "{places:?}");
    assert!(put_right_late >= 10, "{put_right_late}");
    assert_eq!(stock::faults(&store).unwrap(), Vec::<String>::new());
    // What the generator believed of its shelf is what the book has: a tin that is gone holds nothing.
    let shelf = stock::shelf(&store).unwrap();
    let gone: Vec<_> = shelf.iter().filter(|tin| tin.is_gone() && tin.received.is_some()).collect();
    assert!(gone.len() >= 100 && gone.iter().all(|tin| tin.holds.is_zero()), "{gone:?}");
    every_gram_once(&store);
    // The whole year through the lines and back is the same year.
    let go_on = |_| ControlFlow::Continue(());
    let (totals, lines) = export(&store, Vec::new(), Stamp(1), &mut { go_on }).unwrap();
    let copy = folder.path().join("copy");
    assert_eq!(import(Cursor::new(&lines), &copy, Stamp(1), &mut { go_on }).unwrap(), totals);
    let copy = open_to_look(&copy).unwrap();
    assert_eq!(copy.balances().unwrap(), store.balances().unwrap());
    assert!(export(&copy, Vec::new(), Stamp(1), &mut { go_on }).unwrap().1 == lines);
}

/// What left the tins was poured, is missing or was thrown away: also what was poured without a tin's name and found by a count
/// since. Nothing of that is counted twice, and no count took more for it than was poured.
fn every_gram_once(store: &SqliteStore) {
    let (mut flows, mut held) = (BTreeMap::<String, i64>::new(), 0);
    for row in store.daily(i64::MIN, i64::MAX).unwrap() {
        *flows.entry(row.what).or_default() += row.mass.micrograms().unwrap();
    }
    for (kind, balance) in ["tin", "tin?"]
        .into_iter()
        .flat_map(|kind| store.held(kind).unwrap().into_iter().map(move |balance| (kind, balance)))
    {
        held += balance.micrograms;
        assert!(kind == "tin" || balance.micrograms <= 0, "{balance:?}");
    }
    assert_eq!(flows["received"] - held, flows["poured"] + flows["missing"] + flows["discarded"]);
    let mut found = BTreeMap::<String, (u32, i64)>::new();
    let counted: Result<(), StoreError> = store.each_event(|envelope| {
        for posting in envelope.postings.iter().filter(|_| envelope.kind.starts_with("tin/")) {
            if matches!(posting.account, Account::UnknownTin(_)) {
                let (often, all) = found.entry(envelope.kind.clone()).or_default();
                (*often, *all) = (*often + 1, *all + posting.micrograms);
            }
        }
        Ok(())
    });
    counted.unwrap();
    println!("{flows:?}, in tins {held}, found {found:?}");
    for kind in ["tin/counted", "tin/emptied"] {
        assert!(found.get(kind).is_some_and(|(often, _)| *often >= 5), "{kind}: {found:?}");
    }
}

/// What came out of tins into mixes, month after month that begin at odd moments, is all that was poured by the days: also
/// what was put right after its mix was done, in the month in which that was.
#[test]
fn the_months_are_the_year() {
    const MONTH: i64 = 30 * 86_400_000_000 + 12_345_678_901;
    let folder = tempfile::tempdir().unwrap();
    let store = year(&folder.path().join("book"));
    let (mut first, mut last) = (i64::MAX, i64::MIN);
    let (mut done, mut late) = (BTreeMap::new(), Vec::new());
    let read: Result<(), StoreError> = store.each_event(|envelope| {
        (first, last) = (first.min(envelope.at.0), last.max(envelope.at.0));
        let is_tin = |account: &Account| matches!(account, Account::Tin(_) | Account::UnknownTin(_));
        let moves = envelope.postings.iter().any(|posting| is_tin(&posting.account));
        if envelope.kind == "mix/finished" {
            done.insert(envelope.subject, envelope.at);
        } else if envelope.kind == "mix/rebooked" && moves {
            late.extend(done.get(&envelope.subject).map(|done| (envelope.subject, *done, envelope.at)));
        }
        Ok(())
    });
    read.unwrap();
    // A time that begins when a pour of a mix is put right, which was done before that.
    late.retain(|(_, done, at)| done < at);
    assert!(late.len() >= 10, "{late:?}");
    for (mix, done, at) in late.into_iter().take(10) {
        let moved = store.poured(at, Stamp(at.0 + 1)).unwrap();
        assert!(moved.iter().any(|moved| moved.subject == mix), "{mix}, done {done:?}, put right {at:?}");
    }
    let (mut by_month, mut by_day) = (BTreeMap::<String, i64>::new(), BTreeMap::<String, i64>::new());
    let (mut months, mut from) = (0, first);
    while from <= last {
        for moved in store.poured(Stamp(from), Stamp(from + MONTH)).unwrap() {
            *by_month.entry(moved.toner.to_string()).or_default() -= micrograms(&moved.mass.to_string());
        }
        (months, from) = (months + 1, from + MONTH);
    }
    for daily in store.daily(i64::MIN, i64::MAX).unwrap() {
        if daily.what == "poured" {
            *by_day.entry(daily.toner.to_string()).or_default() += micrograms(&daily.mass.to_string());
        }
    }
    assert!(months >= 12 && by_day.len() > 20, "{months} {by_day:?}");
    assert_eq!(by_month, by_day);
}

#[test]
fn another_program_finds_every_balance_the_same_to_the_last_digit() {
    if Command::new(PROGRAM).arg("--version").output().is_err() {
        // Where `.ci/run` has found or installed it, it must be there; elsewhere nobody has to install it.
        let must_run = std::env::var("POURBOOK_MUST_RUN").is_ok_and(|names| names.contains(PROGRAM));
        assert!(!must_run, "{PROGRAM} is not installed, and was said to be");
        println!("NOT RUN: {PROGRAM} is not installed, so no other program read the journal");
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book");
    let store = year(&book);
    let file = folder.path().join("year.journal");
    let wrote = Command::new(env!("CARGO_BIN_EXE_pourbook"))
        .env("POURBOOK_SETTINGS", "no-such-settings.toml")
        .arg("--book")
        .args([&book, Path::new("book"), Path::new("journal"), &file])
        .output()
        .unwrap();
    assert!(wrote.status.success(), "{}", String::from_utf8_lossy(&wrote.stderr));
    let balances = Command::new(PROGRAM)
        .args([
            "--file",
            file.to_str().unwrap(),
            "balance",
            "--flat",
            "--no-total",
            "--layout=bare",
            "-O",
            "csv",
        ])
        .env("LC_ALL", "C.UTF-8")
        .env_remove("LEDGER_FILE")
        .output()
        .unwrap();
    let (said, complaint) =
        (String::from_utf8(balances.stdout).unwrap(), String::from_utf8_lossy(&balances.stderr));
    assert!(balances.status.success(), "{complaint}");
    let mut lines = said.lines();
    assert_eq!(lines.next(), Some("\"account\",\"commodity\",\"balance\""));
    let mut theirs = BTreeMap::new();
    for line in lines {
        let [account, commodity, balance] = &cells(line)[..] else { panic!("{line}") };
        // An account in which a toner came out even has a line of nothing.
        if micrograms(balance) != 0 {
            theirs.insert((account.clone(), commodity.clone()), micrograms(balance));
        }
    }
    let ours: BTreeMap<_, _> = store
        .balances()
        .unwrap()
        .into_iter()
        .map(|held| {
            let toner = plain_text::commodity(held.toner.as_str());
            let account = plain_text::account(&held.account.to_string());
            ((account, toner.trim_matches('"').to_owned()), held.micrograms)
        })
        .collect();
    println!("{} balances of {} accounts and toners", theirs.len(), ours.len());
    assert!(ours.len() > 5_000, "{}", ours.len());
    assert!(ours.keys().any(|(account, _)| account.contains("%3B")), "no awkward label was tried");
    assert_eq!(theirs, ours);
}
