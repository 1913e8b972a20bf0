//! Formats described in TOML: they read what the built-in ones read, what damage gets past them, and the real
//! program with a description from a file. The descriptions are in `tests/described/`.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test that cannot go on says so and stops"
)]

use pourbook::scale::shape::{Decoded, Described, Shape, by_name};
use pourbook::scale::tape::{Chunk, Tape};
use pourbook::scale::{Address, Frame, Manner, Mode, Reading, Rules, Settle, Spec, Stability, StandIn};
use pourbook::units::{Decimal, Grams, MassUnit, Moment};
use rstest::rstest;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

fn file(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/described").join(format!("{name}.toml"))
}

fn described(name: &str) -> &'static Described {
    Described::load(&file(name)).unwrap_or_else(|error| panic!("{error}"))
}

fn frames(shape: &dyn Shape, bytes: &[u8]) -> Vec<Frame> {
    let mut out = Vec::new();
    shape.decoder().push(bytes, &mut out);
    let frame = |decoded| if let Decoded::Frame(frame) = decoded { Some(frame) } else { None };
    out.into_iter().filter_map(frame).collect()
}

// ---- beside the built-in formats

/// The lines of a capture, as bytes.
fn capture(shape: &str, name: &str) -> Vec<Vec<u8>> {
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/captures").join(shape).join(format!("{name}.hex"));
    let text = fs::read_to_string(path).unwrap();
    let lines =
        text.lines().filter(|line| !line.starts_with('#')).map(|line| line.split('|').next().unwrap());
    let bytes =
        |line: &str| line.split_whitespace().map(|byte| u8::from_str_radix(byte, 16).unwrap()).collect();
    lines.map(bytes).collect()
}

/// The frames of the capture as the built-in format reads them and as its description does, without the lines
/// that the description leaves to the built-in one. Decoders are kept from line to line, as units are.
fn compare(name: &str, built_in: &str, captures: &[&str], leave_out: impl Fn(&[u8]) -> bool) -> usize {
    let (described, built_in) = (described(name), by_name(built_in).unwrap());
    let mut compared = 0;
    for capture_name in captures {
        let (mut ours, mut theirs) = (described.decoder(), built_in.decoder());
        for line in capture(built_in.name(), capture_name).iter().filter(|line| !leave_out(line)) {
            let read = |decoder: &mut Box<dyn pourbook::scale::shape::Decoder>| {
                let mut out = Vec::new();
                decoder.push(line, &mut out);
                out.retain(|decoded| matches!(decoded, Decoded::Frame(_)));
                out
            };
            let (ours, theirs) = (read(&mut ours), read(&mut theirs));
            let decimals = |read: &[Decoded]| format!("{read:?}");
            assert_eq!(decimals(&ours), decimals(&theirs), "{}", String::from_utf8_lossy(line));
            compared += theirs.len();
        }
    }
    compared
}

/// Left to the built-in one: the longer layouts, ends with half a mark, and the number under an overload (the
/// description does not look at it, and takes a digit too many in it for an overload all the same).
#[test]
fn header_comma_17_is_read_as_the_built_in_format_reads_it() {
    let long =
        |line: &[u8]| line.len() > 17 || !line.ends_with(b"\r\n") || line.starts_with(b"OL,+99999999E");
    let compared = compare("header-comma-17", "header-comma", &["samples", "layouts", "damaged"], long);
    assert!(compared >= 18, "{compared}");
}

/// Left to the built-in one: the longer layout, digits in brackets, faults as texts. A description does not look
/// at the column between the sign and the number.
#[test]
fn sign_digits_unit_16_is_read_as_the_built_in_format_reads_it() {
    let extra = |line: &[u8]| {
        line.len() == 22
            || line.contains(&b'[')
            || line.windows(3).any(|part| part == b"Err" || part == b"OFF")
    };
    let compared =
        compare("sign-digits-unit-16", "sign-digits-unit", &["samples", "layouts", "words"], extra);
    assert!(compared >= 16, "{compared}");
    for line in capture("sign-digits-unit", "damaged") {
        let (ours, theirs) = (
            frames(described("sign-digits-unit-16"), &line),
            frames(by_name("sign-digits-unit").unwrap(), &line),
        );
        // Two signs, and no blank before the unit: what stands at columns nobody described may be anything.
        let loose = line.starts_with(b"++") || line.windows(4).any(|part| part == b".56g");
        assert!(loose || ours == theirs, "{ours:?} {}", String::from_utf8_lossy(&line));
    }
}

/// Left to the built-in one: answers that are no weight, the scale's own tare, last digits blank while it moves, and
/// that under an overload no number may stand.
#[test]
fn command_reply_is_read_as_the_built_in_format_reads_it() {
    let extra = |line: &[u8]| {
        !line.starts_with(b"S") || line.starts_with(b"S D     123.5  g") || line.starts_with(b"S +  ")
    };
    let compared = compare("command-reply", "command-reply", &["samples", "layouts", "damaged"], extra);
    assert!(compared >= 14, "{compared}");
}

/// Lines of that layout, constructed by hand.
#[test]
fn a_trailing_question_mark_means_moving() {
    let shape = described("trailing-question-mark");
    let said = |line: &str| {
        frames(shape, format!("{line}\r\n").as_bytes())
            .first()
            .map(|frame| format!("{} {} {:?}", frame.value.unwrap(), frame.unit_text, frame.stability))
    };
    assert_eq!(said("    123.56 g       ").as_deref(), Some("123.56 g Stable"));
    assert_eq!(said("    123.56 g     ? ").as_deref(), Some("123.56 g Moving"));
    assert_eq!(said("     -0.40 kg      N").as_deref(), Some("-0.40 kg Stable"));
    assert_eq!(said("    123.56 g     ! "), None);
    assert_eq!(said("    123.56 g      "), None);
    assert_eq!(said("  Overload         "), None);
}

// ---- the notes

fn notes() -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("hardware-notes.md")).unwrap()
}

/// The worked example in hardware-notes.md is a description that can be used, and reads what the example shows.
#[test]
fn the_worked_example_in_the_notes_works() {
    let notes = notes();
    let section = notes.split("\n## A scale whose format is not here").nth(1).unwrap();
    let block = section.split("```toml\n").nth(1).unwrap().split("```").next().unwrap();
    let shape = Described::parse("notes.toml", block).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(shape.remarks(), [""; 0]);
    let shown: Vec<u8> = notes
        .lines()
        .filter_map(|line| line.split_once("ends with <ETX>: "))
        .flat_map(|(_, bytes)| bytes.split(' ').map(|byte| u8::from_str_radix(byte, 16).unwrap()))
        .collect();
    let read: Vec<String> = frames(shape, &shown)
        .iter()
        .map(|frame| format!("{} {} {:?}", frame.value.unwrap(), frame.unit_text, frame.stability))
        .collect();
    assert_eq!(read, ["1234.5 g Stable", "-0.4 g Moving"]);
    for frame in [weight(2901, Stability::Stable), weight(-4, Stability::Moving)] {
        assert!(!shape.encode(&frame).is_empty());
    }
}

#[test]
fn every_key_is_in_the_notes() {
    let error = Described::parse("x.toml", "zzz = 1").unwrap_err().to_string();
    let keys = error.split("Expected one of ").nth(1).unwrap().split('.').next().unwrap();
    assert!(keys.split(", ").count() > 15, "{error}");
    let error = Described::parse("x.toml", "commands = { zzz = 1 }").unwrap_err().to_string();
    let commands = error.split("Expected one of ").find(|rest| rest.starts_with("poll")).unwrap();
    let commands = commands.split('.').next().unwrap();
    let notes = notes();
    let table = notes.split("### The keys").nth(1).unwrap().split("\n## ").next().unwrap();
    for key in keys.split(", ").chain(commands.split(", ")) {
        assert!(table.contains(&format!("`{key}`")), "{key} is not in the table");
    }
}

// ---- damage

fn weight(tenths: i64, stability: Stability) -> Frame {
    Frame::weight(Decimal::new(tenths, 1), MassUnit::Gram, stability, Mode::Unknown)
}

/// The described formats that have a fixed length or constants at both sides of their number.
const STRICT: [&str; 3] = ["header-comma-17", "sign-digits-unit-16", "command-reply"];

#[test]
fn a_lost_or_doubled_digit_is_never_a_weight() {
    for name in STRICT {
        let shape = described(name);
        for tenths in [5, 1234, 77_777, 102_030] {
            let bytes = shape.encode(&weight(tenths, Stability::Stable));
            assert!(!bytes.is_empty(), "{name} cannot say {tenths}");
            for at in (0..bytes.len()).filter(|at| bytes[*at].is_ascii_digit()) {
                let (mut lost, mut doubled) = (bytes.clone(), bytes.clone());
                lost.remove(at);
                doubled.insert(at, bytes[at]);
                for damaged in [lost, doubled] {
                    assert!(
                        frames(shape, &damaged).is_empty(),
                        "{name}: {}",
                        String::from_utf8_lossy(&damaged)
                    );
                }
            }
        }
    }
}

/// Six times the same line, the third of them damaged: the weights that settle.
fn weigh_with_one_damaged(shape: &dyn Shape, bytes: &[u8], damaged: &[u8]) -> Vec<Grams> {
    let mut decoder = shape.decoder();
    let mut settle = Settle::new(Rules::default());
    let mut weights = Vec::new();
    for (number, piece) in [bytes, bytes, damaged, bytes, bytes, bytes].into_iter().enumerate() {
        let mut out = Vec::new();
        decoder.push(piece, &mut out);
        for decoded in out {
            if let Decoded::Frame(frame) = decoded {
                let at = Moment(100 * (number as u64 + 1));
                weights.extend(settle.feed(&Reading::new(frame, at)).weight.map(|weight| weight.grams()));
            }
        }
    }
    weights
}

#[test]
fn one_flipped_bit_or_lost_byte_is_never_a_wrong_weight() {
    for name in STRICT.into_iter().chain(["trailing-question-mark"]) {
        let shape = described(name);
        for tenths in [1234, 102_030] {
            let frame = weight(tenths, Stability::Stable);
            let bytes = shape.encode(&frame);
            let mut misread = 0;
            let mut check = |damaged: &[u8]| {
                misread += frames(shape, damaged).iter().filter(|read| read.value != frame.value).count();
                let weights = weigh_with_one_damaged(shape, &bytes, damaged);
                assert!(!weights.is_empty(), "{name}");
                let wrong = weights.iter().find(|weight| Some(**weight) != frame.grams());
                assert_eq!(wrong, None, "{name}: {}", String::from_utf8_lossy(damaged));
            };
            for bit in 0..bytes.len() * 8 {
                let mut damaged = bytes.clone();
                damaged[bit / 8] ^= 1 << (bit % 8);
                check(&damaged);
            }
            for at in 0..bytes.len() {
                let mut damaged = bytes.clone();
                damaged.remove(at);
                check(&damaged);
            }
            // Within one line a flipped digit cannot be told: that is why settle exists.
            assert!(misread > 5, "{name}: {misread}");
        }
    }
}

/// What the loose description costs: a line cut at its beginning and a lost digit are numbers all the same, wrong
/// ones, and only settle stands between them and the book. With a length they are refused.
#[test]
fn a_loose_description_reads_a_lost_digit_as_another_number() {
    let shape = described("loose");
    let values = |bytes: &[u8]| -> Vec<String> {
        frames(shape, bytes).iter().map(|frame| frame.value.unwrap().to_string()).collect()
    };
    assert_eq!(values(b"  1234.5 g\r\n"), ["1234.5"]);
    assert_eq!(values(b"34.5 g\r\n"), ["34.5"]);
    assert_eq!(values(b"  124.5 g\r\n"), ["124.5"]);
    assert_eq!(values(b"  12334.5 g\r\n"), ["12334.5"]);
    let strict = fs::read_to_string(file("loose")).unwrap() + "length = 10\n";
    let strict = Described::parse("strict.toml", &strict).unwrap();
    assert_eq!(frames(strict, b"  1234.5 g\r\n").len(), 1);
    for line in [b"34.5 g\r\n".as_slice(), b"  124.5 g\r\n", b"  12334.5 g\r\n"] {
        assert!(frames(strict, line).is_empty());
    }
}

// ---- tapes

#[test]
fn a_tape_carries_the_description_to_another_machine() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bench.toml");
    fs::copy(file("header-comma-17"), &path).unwrap();
    let shape = Described::load(&path).unwrap();
    let bytes = shape.encode(&weight(1234, Stability::Stable));
    let tape = Tape { shape: Some(shape), chunks: vec![Chunk { at_ms: 5, bytes: bytes.clone() }] };
    let text = tape.text();
    fs::remove_file(&path).unwrap();

    let played = Tape::parse(&text).unwrap();
    let read = played.shape.unwrap();
    assert_eq!((read.name(), played.chunks.len()), ("described-header-comma", 1));
    assert_eq!(frames(read, &bytes), frames(shape, &bytes));
    assert_eq!(
        Tape::parse(&text.replace('\n', "\r\n")).unwrap().shape.unwrap().name(),
        "described-header-comma"
    );
    // Played and written again it is the same tape.
    assert_eq!(played.text(), text);

    let damaged = Tape::parse(&text.replace("#| end", "#| edn")).unwrap_err().to_string();
    assert!(
        damaged.contains("'edn' is no key here") && damaged.contains("tape's own description:5:1"),
        "{damaged}"
    );
}

// ---- the real program

/// The program with nothing from the environment that could lead it to a real shop or scale.
fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_pourbook"));
    for name in ["POURBOOK_SHOP", "POURBOOK_BOOK", "POURBOOK_SCALE", "POURBOOK_LOG"] {
        command.env_remove(name);
    }
    command.stdin(Stdio::null());
    command
}

fn run(args: &[&str]) -> Output {
    program().args(args).output().unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// A stand-in of the real program, ended with the test.
struct Served(std::process::Child, String);

impl Served {
    /// Starts it and waits for the address that it names.
    fn start(args: &[&str]) -> Self {
        use std::io::BufRead;
        let mut child = program()
            .arg("stand-in")
            .args(args)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        std::io::BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let address = line.split('\'').nth(1).unwrap_or_else(|| panic!("{line}")).to_owned();
        Self(child, address)
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// From the file to weighing: a scale that speaks it on a line, heard by the address that the stand-in names.
#[rstest]
#[case::streaming(&[])]
#[case::asked(&["--polled"])]
fn a_described_scale_is_heard_over_a_line(#[case] more: &[&str]) {
    let folder = tempfile::tempdir().unwrap();
    let description = folder.path().join("bench.toml");
    fs::copy(file("header-comma-17"), &description).unwrap();
    let line = folder.path().join("line");
    let at = format!("pty:{}", line.display());
    let description = description.to_str().unwrap();
    let served = Served::start(&[&["--at", &at, "--shape", description], more].concat());
    assert!(served.1.contains(&format!("serial:{}?shape={description}&", line.display())), "{}", served.1);

    let heard = run(&["listen", &served.1, "--show-bytes", "--count", "3"]);
    assert_eq!(heard.status.code(), Some(0), "{}", err(&heard));
    let said = out(&heard);
    assert_eq!(said.lines().filter(|line| line.contains("21.4 g   steady")).count(), 3, "{said}");
    assert!(said.contains("53 54 2c 2b"), "{said}");

    let tape = folder.path().join("bench.tape");
    let tape = tape.to_str().unwrap();
    let recorded = run(&["tape", &served.1, tape, "--seconds", "2"]);
    assert_eq!(recorded.status.code(), Some(0), "{}", err(&recorded));
    drop(served);
    fs::remove_file(description).unwrap();
    let played = run(&["listen", &format!("tape:{tape}?speed=full"), "--count", "3"]);
    assert_eq!(played.status.code(), Some(0), "{}", err(&played));
    assert!(out(&played).contains("21.4 g   steady"), "{}", out(&played));
}

#[test]
fn a_wrong_file_is_refused_with_every_mistake() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("wrong.toml");
    fs::write(
        &path,
        "name = \"wrong\"\nend = \"CRLF\"\nvalue = \"10-3\"\nunit = \"g\"\nstabel = { at = 1, is = \"S\" }\n",
    )
    .unwrap();
    let path = path.to_str().unwrap();
    let address = format!("serial:/dev/none?shape={path}");
    for args in [
        &["listen", &address][..],
        &["check", "--scale", &address],
        &["tape", &address, "x.tape"],
        &["stand-in", "--at", "tcp:0", "--shape", path],
    ] {
        let refused = run(args);
        assert_eq!(refused.status.code(), Some(2), "{args:?}");
        let said = err(&refused);
        for part in [
            "has 3 mistakes",
            "wrong.toml:2:7: error\n  end = \"CRLF\"\n        ^\n",
            "wrong.toml:3:9: error",
            "wrong.toml:5:1: error",
            "Did you mean 'stable'?",
        ] {
            assert!(said.contains(part), "{args:?}: {part} is not in\n{said}");
        }
    }
    let absent = run(&["listen", "serial:/dev/none?shape=no-such.toml"]);
    assert_eq!(absent.status.code(), Some(2));
    assert!(err(&absent).contains("no-such.toml: No such file"), "{}", err(&absent));
}

#[test]
fn a_format_without_a_mark_of_steadiness_is_warned_of_where_it_is_used() {
    let folder = tempfile::tempdir().unwrap();
    let line = folder.path().join("line");
    let manner = Manner { shape: described("loose"), spec: Spec::default(), seed: 1, streams: true };
    let _bench = StandIn::on_pty(&line, manner).unwrap();
    let address = format!("serial:{}?shape={}", line.display(), file("loose").display());
    let heard = run(&["listen", &address, "--count", "1"]);
    assert_eq!(heard.status.code(), Some(0), "{}", err(&heard));
    assert!(err(&heard).contains("Nothing says whether the scale stands still"), "{}", err(&heard));
    assert!(out(&heard).contains("21.4 g"), "{}", out(&heard));
    let checked = run(&["--demo-shop", "check", "--scale", &address]);
    assert!(out(&checked).contains("a second of equal readings"), "{}", out(&checked));
    assert!(out(&checked).contains("stands at 21.4 g"), "{}", out(&checked));
}

/// Before there is a description: the bytes alone, in lines under a ruler, and nothing sent.
#[test]
fn bytes_can_be_looked_at_without_a_format() {
    let folder = tempfile::tempdir().unwrap();
    let line = folder.path().join("line");
    let manner =
        Manner { shape: by_name("header-comma").unwrap(), spec: Spec::default(), seed: 1, streams: true };
    let bench = StandIn::on_pty(&line, manner).unwrap();
    let address = format!("serial:{}?shape=none", line.display());
    assert_eq!(address.parse::<Address>().unwrap().to_string(), address);
    let heard = run(&["listen", &address, "--seconds", "2"]);
    assert_eq!(heard.status.code(), Some(0), "{}", err(&heard));
    let said = out(&heard);
    assert!(said.contains("12345678901234567890"), "{said}");
    assert!(said.contains("ST,GS    21.4"), "{said}");
    assert!(said.contains("16 characters, ends with <CR><LF>: 53 54 2c"), "{said}");
    assert_eq!(bench.truth().unwrap().received, b"", "something was sent");

    let refused = run(&["listen", &address, "--json"]);
    assert_eq!(refused.status.code(), Some(2), "{}", err(&refused));

    // A tape of it names no format, and is played with the one that was found.
    let tape = folder.path().join("raw.tape");
    let tape = tape.to_str().unwrap();
    assert_eq!(run(&["tape", &address, tape, "--seconds", "1"]).status.code(), Some(0));
    assert!(!fs::read_to_string(tape).unwrap().contains("shape"));
    let played = run(&["listen", &format!("tape:{tape}?speed=full&shape=header-comma"), "--count", "2"]);
    assert_eq!(played.status.code(), Some(0), "{}", err(&played));
}
