//! The scale's own screen in a real terminal: what comes in on a real line, its keys, the daily check with its record
//! in the book, and a scale that is found though the address was wrong.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on says so and stops"
)]

mod common;

use common::{Terminal, demo_shop};
use pourbook::book::{ScaleRecord, open_to_look};
use pourbook::scale::shape::{self, Ask, Shape};
use pourbook::scale::{Control, Hand, Manner, Spec, StandIn};
use pourbook::units::Grams;
use std::path::PathBuf;

const F2: &str = "\x1bOQ";
const ESC: &str = "\x1b";

struct Bench {
    folder: tempfile::TempDir,
    scale: StandIn,
}

impl Bench {
    fn speaking(name: &str, streams: bool) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let manner = Manner { shape: shape::by_name(name).unwrap(), spec: Spec::default(), seed: 5, streams };
        let scale = StandIn::on_pty(&folder.path().join("scale"), manner).unwrap();
        Self { folder, scale }
    }

    fn book(&self) -> PathBuf {
        self.folder.path().join("book.sqlite")
    }

    /// The program on that scale, its own screen open.
    fn open(&self, shape: &str, size: (u16, u16), env: &[(&str, &str)]) -> Terminal {
        let book = self.book().display().to_string();
        let shop = demo_shop(self.folder.path());
        let scale = format!("serial:{}?shape={shape}&division=0.1&capacity=7500", self.scale.place());
        let mut terminal = Terminal::start(&["--shop", &shop, "--book", &book, "--scale", &scale], size, env);
        terminal.wait_for("Gannet White");
        terminal.send(F2);
        terminal.wait_for("what came in");
        terminal
    }

    fn received(&self) -> Vec<u8> {
        self.scale.truth().unwrap().received
    }
}

fn load(bench: &Bench, mass: &str) {
    bench.scale.hand(Hand::Load(Grams::parse(mass).unwrap()));
}

#[test]
fn the_line_is_seen_and_only_a_key_sends_anything() {
    let bench = Bench::speaking("sma", true);
    let mut terminal = bench.open("sma", (80, 24), &[("NO_COLOR", "1")]);
    // The empty cup of the virtual bench.
    terminal.wait_for("<0a>·1G········21.4g··<0d>");
    terminal.wait_for("21.4 g   steady");
    terminal.wait_for("0 bytes left over");
    assert_eq!(bench.received(), b"");
    terminal.send("z");
    terminal.wait_for("asked the scale to set zero: done");
    terminal.wait_for("<0a>Z1G·········0.0g··<0d>");
    assert_eq!(bench.received(), shape::Sma.ask(Ask::Zero).unwrap());
    // Beyond its range it refuses, and says why.
    load(&bench, "900.0");
    terminal.wait_for("878.6 g");
    terminal.wait_for("scale  steady");
    terminal.send("z");
    terminal.wait_for("refused: the load moves, or is too far from");
    terminal.send("u");
    terminal.wait_for("0.8786 kg");
    terminal.send("u");
    // Noise is counted, and the line goes on.
    bench.scale.control(Control::Raw(b"noise\n".to_vec()));
    terminal.wait("bytes left over", |screen| !screen.contains(" 0 bytes left over"));
    bench.scale.control(Control::Unplug);
    terminal.wait_for("SCALE LOST");
    terminal.wait_for("no weight");
    bench.scale.control(Control::Replug);
    terminal.wait_for("878.6 g");
    terminal.wait_for("opened 2 times");
    terminal.send(ESC);
    terminal.wait_for("Gannet White");
}

#[test]
fn a_check_is_in_the_book_and_the_bench_knows_it_the_next_day_it_is_opened() {
    let bench = Bench::speaking("command-reply", true);
    let mut terminal = bench.open("command-reply", (80, 24), &[]);
    terminal.wait_for("the book has no check of this scale");
    terminal.send("k");
    terminal.wait_for("take everything off the pan");
    load(&bench, "0");
    terminal.wait_for("now put 'invented 500 g'");
    // Not the weight that was asked for: nothing is taken.
    load(&bench, "200.0");
    terminal.wait_for("200.0 g");
    load(&bench, "500.3");
    terminal.wait_for("it was not right when checked today");
    terminal.send(ESC);
    terminal.wait_for("CHECK SCALE");
    terminal.send(F2);
    terminal.send("k");
    load(&bench, "0");
    terminal.wait_for("now put 'invented 500 g'");
    load(&bench, "500.0");
    terminal.wait_for("checked today, and right");
    terminal.send("\x03");
    terminal.wait_end();
    let record = || {
        let store = open_to_look(&bench.book()).unwrap();
        ScaleRecord::read(&store, "virtual bench", 9).unwrap()
    };
    let results: Vec<bool> = record().recent.iter().map(|check| check.check.passed()).collect();
    assert_eq!(results, [true, false], "the newest first");
    // Opened again, it is known.
    let terminal = bench.open("command-reply", (120, 36), &[]);
    terminal.wait_for("checked today, and right");
}

#[test]
fn a_scale_in_another_format_than_said_is_found() {
    let bench = Bench::speaking("header-comma", true);
    let mut terminal = bench.open("sma", (80, 24), &[]);
    terminal.wait_for("something comes in");
    terminal.send("f");
    terminal.wait_for("found, ");
    terminal.wait_for("shape=header-comma");
    terminal.send("\r");
    terminal.wait_for("in use from now on");
    terminal.wait_for("21.4 g   steady");
    // The link may have asked the format it was told; the search asks nothing of one that speaks by itself.
    let received = bench.received();
    assert!(received.chunks(3).all(|sent| sent == b"\nW\r"), "{received:?}");
    // And it is weighed with from now on.
    terminal.send(ESC);
    terminal.wait_for("scale  steady");
}

#[test]
fn a_search_that_is_given_up_leaves_the_scale_as_it_was() {
    let bench = Bench::speaking("sma", true);
    let mut terminal = bench.open("sma", (80, 24), &[]);
    terminal.wait_for("21.4 g   steady");
    bench.scale.control(Control::Silent(true));
    terminal.send("f");
    terminal.wait_for("the line is being searched");
    terminal.send(ESC);
    terminal.wait_for("the search was given up");
    bench.scale.control(Control::Silent(false));
    terminal.wait_for("scale  steady");
    let changing = [Ask::Zero, Ask::Tare, Ask::NextUnit, Ask::ClearTare];
    let received = bench.received();
    for ask in changing {
        let bytes = shape::Sma.ask(ask).unwrap();
        assert!(!received.windows(bytes.len()).any(|sent| sent == bytes), "{ask:?} in {received:?}");
    }
}
