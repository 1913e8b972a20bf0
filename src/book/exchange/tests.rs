use super::line::{Book, Line, opened, sealed};
use super::*;
use crate::book::check::check;
use crate::book::testing::{envelopes, muddle, whole};
use crate::book::{Account, Envelope, Ids, Posting, SqliteStore, Store as _, open_to_look};
use crate::catalogue::TonerCode;
use crate::units::Stamp;
use proptest::prelude::*;
use std::io::Cursor;
use std::path::{Path, PathBuf};

const NOW: Stamp = Stamp(1_790_839_800_000_000);

fn go_on(_: u64) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

fn to_write(path: &Path) -> SqliteStore {
    SqliteStore::open(path, Stamp(1)).unwrap().into_parts().0
}

fn lines(envelopes: &[Envelope]) -> Vec<u8> {
    let mut writer = Writer::begin(Vec::new(), LAYOUT, NOW).unwrap();
    for envelope in envelopes {
        writer.event(envelope).unwrap();
    }
    writer.end().unwrap().1
}

fn exported(store: &SqliteStore) -> Vec<u8> {
    export(store, Vec::new(), NOW, &mut go_on).unwrap().1
}

fn import_of(bytes: &[u8], book: &Path) -> Result<Totals, ExchangeError> {
    import(Cursor::new(bytes), book, Stamp(1), &mut go_on)
}

/// The layout that books have now.
const LAYOUT: u32 = 12;

/// A folder that is there, and a book in a folder that is not.
fn nowhere() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book");
    (folder, book)
}

fn nothing_is_left(folder: &tempfile::TempDir) {
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
}

/// The first few events of a mix: small enough to damage every byte of it.
fn few() -> Vec<Envelope> {
    envelopes(&mut Ids::counted(1), &whole()).1.into_iter().take(3).collect()
}

#[test]
fn the_lines_are_as_they_are_described() {
    let text = String::from_utf8(lines(&few())).unwrap();
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let [first, second, third, _, last] = lines[..] else { panic!("{text}") };
    assert!(
        first.starts_with(
            "{\"line\":1,\"book\":{\"format\":\"pourbook book\",\"version\":1,\"layout\":12,\
             \"exported\":\"2026-10-01T07:30:00Z\"},\"check\":\""
        ),
        "{first}"
    );
    assert!(second.contains("\"kind\":\"mix/started\",\"body\":\"{\\\"kind\\\":"), "{second}");
    assert!(third.contains("\"toner\":\"A\",\"micrograms\":\"-"), "{third}");
    assert!(last.starts_with("{\"line\":5,\"end\":{\"events\":3,\"postings\":4,\"sha256\":\""), "{last}");
    for line in lines {
        let value: serde_json::Value = serde_json::from_str(line).unwrap();
        assert_eq!(value["check"].as_str().unwrap().len(), 16);
    }
}

/// FIPS 180-4's own example, as NIST publishes it ("SHA256.pdf", one-block message): the digits are the standard's.
#[test]
fn the_digits_are_those_of_sha_256() {
    use sha2::Digest as _;
    let digest = super::line::hex(&sha2::Sha256::digest(b"abc"));
    assert_eq!(digest, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Whatever was weighed, one mix after another or at the same time: out, in and out again is the same text, and
    /// the book in between is a whole one.
    #[test]
    fn out_and_in_and_out_again_is_the_same_to_the_byte(
        seeds in prop::collection::vec(prop::collection::vec((any::<u8>(), 0_u16..400), 0..20), 0..4),
        turns in prop::collection::vec(any::<usize>(), 80),
    ) {
        let mut ids = Ids::counted(1);
        let mut mixes: Vec<_> =
            seeds.iter().map(|seed| envelopes(&mut ids, &muddle(seed)).1.into_iter()).collect();
        let (_folder, book) = nowhere();
        let mut store = to_write(&book);
        for turn in turns {
            if mixes.is_empty() {
                break;
            }
            let which = turn % mixes.len();
            match mixes[which].next() {
                Some(envelope) => drop(store.append(&envelope).unwrap()),
                None => drop(mixes.swap_remove(which)),
            }
        }
        let first = exported(&store);
        let (_elsewhere, copy) = nowhere();
        let totals = import_of(&first, &copy).unwrap();
        let copied = open_to_look(&copy).unwrap();
        prop_assert_eq!(totals.events, store.count().unwrap());
        prop_assert_eq!(copied.balances().unwrap(), store.balances().unwrap());
        prop_assert_eq!(copied.mixes().unwrap(), store.mixes().unwrap());
        prop_assert_eq!(check(&copied).unwrap().faults, Vec::<String>::new());
        prop_assert!(exported(&copied) == first);
    }

    /// What an event says comes through whatever it is: any amount, any text a label may have, a body's own blanks.
    #[test]
    fn nothing_of_an_event_is_changed(
        micrograms in prop_oneof![Just(i64::MAX), Just(i64::MIN + 1), any::<i64>()],
        at in any::<i64>(),
        text in "[^\\p{C}\\p{Zl}\\p{Zp}]{1,12}",
        blanks in "[ \\n\\t]{0,4}",
    ) {
        prop_assume!(micrograms != 0 && micrograms != i64::MIN);
        let mut envelope = few().remove(0);
        let toner = TonerCode::new(text.clone());
        let posting = |account: &str, micrograms| Posting {
            account: Account::parse(account),
            toner: toner.clone(),
            micrograms,
        };
        envelope.at = Stamp(at);
        envelope.operator.clone_from(&text);
        envelope.body = format!("{blanks}{{\"a\":{blanks}1.10}}");
        envelope.postings = vec![posting(&text, micrograms), posting("tin:\u{e9}\"\\", -micrograms)];
        prop_assert_eq!(envelope.flaw(), None);
        let written = lines(std::slice::from_ref(&envelope));
        let mut reader = Reader::begin(&written[..]).unwrap();
        prop_assert_eq!(reader.next_event().unwrap(), Some(envelope));
        prop_assert_eq!(reader.next_event().unwrap(), None);
    }

    /// A byte of a longer file, changed to any other.
    #[test]
    fn a_damaged_byte_is_refused_and_nothing_is_left_behind(place in any::<prop::sample::Index>(), change in 1_u8..) {
        let mut bytes = lines(&envelopes(&mut Ids::counted(1), &whole()).1);
        *place.get_mut(&mut bytes) ^= change;
        let (folder, book) = nowhere();
        prop_assert!(import_of(&bytes, &book).is_err());
        nothing_is_left(&folder);
    }
}

#[test]
fn every_byte_counts() {
    let good = lines(&few());
    assert_eq!(verify(&good[..], &mut go_on).unwrap().events, 3);
    for place in 0..good.len() {
        // The smallest damage there is, to each bit in turn, and the one that looks the same: a letter's capital.
        for change in [1 << (place % 8), 0x20] {
            let mut bad = good.clone();
            bad[place] ^= change;
            assert!(verify(&bad[..], &mut go_on).is_err(), "byte {place} with {change:#x}");
        }
    }
}

#[test]
fn a_file_that_is_cut_off_anywhere_is_refused_and_says_so() {
    let good = lines(&few());
    for length in 0..good.len() {
        let error = verify(&good[..length], &mut go_on).unwrap_err();
        let line = good[..length].split(|byte| *byte == b'\n').count() as u64;
        let expected = matches!(error, ExchangeError::CutOff { line: told } if told == line)
            || line == 1 && length < 14 && matches!(error, ExchangeError::NotOne);
        assert!(expected, "{length}: {error}");
    }
    let (folder, book) = nowhere();
    import_of(&good[..good.len() / 2], &book).unwrap_err();
    nothing_is_left(&folder);
    let error = verify(&[&good[..], b"\n"].concat()[..], &mut go_on).unwrap_err();
    assert!(error.to_string().contains("more after the end"), "{error}");
}

#[test]
fn a_line_that_is_damaged_missing_doubled_or_elsewhere_is_named_by_its_number() {
    let good = String::from_utf8(lines(&few())).unwrap();
    let lines: Vec<&str> = good.split_inclusive('\n').collect();
    let said = |lines: &[&str]| verify(lines.concat().as_bytes(), &mut go_on).unwrap_err();
    let damaged = lines[2].replace("\"Robin\"", "\"Robyn\"");
    let number = |error: ExchangeError| match error {
        ExchangeError::Damaged { line, .. } => line,
        other => panic!("{other}"),
    };
    assert_eq!(number(said(&[lines[0], lines[1], &damaged, lines[3], lines[4]])), 3);
    assert_eq!(number(said(&[lines[0], lines[1], lines[3], lines[4]])), 3);
    assert_eq!(number(said(&[lines[0], lines[1], lines[1], lines[2], lines[3], lines[4]])), 3);
    assert_eq!(number(said(&[lines[0], lines[2], lines[1], lines[3], lines[4]])), 2);
    let error = said(&[lines[0], lines[1], &damaged, lines[3], lines[4]]).to_string();
    assert_eq!(
        error,
        "line 3 is damaged: it is not what was written. Get the file once more from where it came"
    );
    // Every line right in itself, and the wrong lines before the end.
    let other = String::from_utf8(super::tests::lines(&few()[..2])).unwrap();
    let end = other.lines().last().unwrap().replace("\"line\":4", "\"line\":5");
    let mut forged: Line =
        serde_json::from_str(&format!("{}}}", end.split(",\"check\"").next().unwrap())).unwrap();
    let told = forged.end.as_mut().unwrap();
    (told.events, told.postings) = (3, 4);
    let forged = sealed(&forged).unwrap();
    assert_eq!(number(said(&[lines[0], lines[1], lines[2], lines[3], &forged])), 5);
}

#[test]
fn what_is_no_export_and_what_is_from_a_newer_program_is_said_so() {
    for other in ["", "\n", "Dear Sir or Madam\n", "{}\n", "SQLite format 3\0\n"] {
        assert!(matches!(verify(other.as_bytes(), &mut go_on), Err(ExchangeError::NotOne)), "{other}");
    }
    let header = |format: &str, version| {
        let book = Book { format: format.to_owned(), version, layout: 2, exported: String::new() };
        sealed(&Line { number: 1, book: Some(book), ..Line::default() }).unwrap()
    };
    assert!(matches!(verify(header("recipes", 1).as_bytes(), &mut go_on), Err(ExchangeError::NotOne)));
    // A newer one may say more of itself.
    let newer = header(FORMAT, 2);
    let said = newer.split(",\"check\"").next().unwrap().replace("\"layout\"", "\"shops\":[1],\"layout\"");
    let mut line = sealed(&Line { number: 1, ..Line::default() }).unwrap();
    line.replace_range(.., &resealed(&said));
    let error = verify(line.as_bytes(), &mut go_on).unwrap_err();
    assert!(matches!(error, ExchangeError::Newer { found: 2 }), "{error}");
    assert!(error.to_string().contains("newer Pourbook"), "{error}");
}

/// A line that says this, with the check that belongs to it.
fn resealed(said: &str) -> String {
    use sha2::Digest as _;
    let digits = super::line::hex(&sha2::Sha256::digest(said.as_bytes())[..8]);
    let line = format!("{said},\"check\":\"{digits}\"}}\n");
    opened(line.as_bytes(), 1).unwrap();
    line
}

#[test]
fn a_line_without_an_end_is_not_taken_into_memory() {
    let mut reader = Reader::begin(std::io::BufReader::new(std::io::Read::chain(
        Cursor::new(lines(&[]).split_inclusive(|byte| *byte == b'\n').next().unwrap().to_vec()),
        std::io::repeat(b'x'),
    )))
    .unwrap();
    let error = reader.next_event().unwrap_err();
    assert!(matches!(error, ExchangeError::Damaged { line: 2, .. }), "{error}");
}

#[test]
fn a_book_with_something_in_it_is_left_as_it_is() {
    let (_folder, book) = nowhere();
    let (_, mine) = envelopes(&mut Ids::counted(9), &whole());
    let mut store = to_write(&book);
    store.append(&mine[0]).unwrap();
    // While somebody else has it open, too.
    let error = import_of(&lines(&few()), &book).unwrap_err();
    assert!(matches!(error, ExchangeError::Store(StoreError::LookOnly { .. })), "{error}");
    drop(store);
    let error = import_of(&lines(&few()), &book).unwrap_err();
    assert!(matches!(error, ExchangeError::Store(StoreError::NotEmpty { events: 1, .. })), "{error}");
    assert_eq!(open_to_look(&book).unwrap().events(mine[0].subject).unwrap(), mine[..1]);
    // One that was opened and never written in is a place like none.
    let (_elsewhere, empty) = nowhere();
    drop(to_write(&empty));
    assert_eq!(import_of(&lines(&few()), &empty).unwrap().events, 3);
    assert!(exported(&open_to_look(&empty).unwrap()) == lines(&few()));
}

/// A file whose every check is right and whose events do not belong together.
#[test]
fn events_that_do_not_fit_are_refused_by_their_line_and_nothing_is_left_behind() {
    let good = few();
    let mut flawed = good[1].clone();
    flawed.postings[0].micrograms += 1;
    let mut other = good[0].clone();
    other.operator.push('y');
    for (events, line) in [
        (vec![good[0].clone(), good[0].clone()], 3),
        (vec![good[0].clone(), other], 3),
        (vec![good[0].clone(), good[2].clone()], 3),
        (vec![good[1].clone()], 2),
        (vec![good[0].clone(), flawed], 3),
    ] {
        let (folder, book) = nowhere();
        let error = import_of(&lines(&events), &book).unwrap_err();
        assert!(matches!(error, ExchangeError::Refused { line: told, .. } if told == line), "{error}");
        nothing_is_left(&folder);
        // A place that was there stays, and stays empty.
        drop(to_write(&book));
        import_of(&lines(&events), &book).unwrap_err();
        assert_eq!(to_write(&book).count().unwrap(), 0);
    }
}

#[test]
fn one_who_stops_it_keeps_nothing_of_it() {
    let mut ids = Ids::counted(1);
    let many: Vec<_> = (0..60).flat_map(|_| envelopes(&mut ids, &whole()).1).collect();
    let bytes = lines(&many);
    assert!(many.len() > 256);
    // During the first reading, and during the second.
    for stops_at in [1, 2] {
        let (folder, book) = nowhere();
        let mut asked = 0;
        let mut stop = |_| {
            asked += 1;
            if asked == stops_at { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        };
        let error = import(Cursor::new(&bytes), &book, Stamp(1), &mut stop).unwrap_err();
        assert!(matches!(error, ExchangeError::Stopped), "{error}");
        nothing_is_left(&folder);
    }
}

/// What is weighed while the book is handed on is not in it by halves: it is the book of the moment it began.
#[test]
fn the_bench_goes_on_weighing_meanwhile() {
    let (_folder, book) = nowhere();
    let mut ids = Ids::counted(1);
    let many: Vec<_> = (0..60).flat_map(|_| envelopes(&mut ids, &whole()).1).collect();
    import_of(&lines(&many), &book).unwrap();
    let (_, mut more) = envelopes(&mut ids, &whole());
    let mut bench = to_write(&book);
    let onlooker = open_to_look(&book).unwrap();
    let mut weigh = |_| {
        if !more.is_empty() {
            bench.append(&more.remove(0)).unwrap();
        }
        ControlFlow::Continue(())
    };
    let (totals, bytes) = export(&onlooker, Vec::new(), NOW, &mut weigh).unwrap();
    assert_eq!(totals.events, many.len() as u64);
    assert!(bytes == lines(&many));
    assert_eq!(onlooker.count().unwrap(), many.len() as u64 + 1);
}
