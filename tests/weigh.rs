//! The whole thing: the real program in a real terminal, a scale at the far end of a real serial line, and what
//! the book says afterwards held against what the scale really had on it.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test that cannot go on says so and stops"
)]

mod common;

use common::{PATIENCE, Terminal, demo_shop};
use pourbook::scale::{Control, Hand, Manner, Spec, StandIn, shape};
use pourbook::units::{Decimal, Division, Grams};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// The empty cup, in grams: what [`Spec::default`] has on its pan.
const CUP: &str = "21.4";

struct Bench {
    folder: tempfile::TempDir,
    scale: StandIn,
}

impl Bench {
    fn new() -> Self {
        Self::speaking("sma")
    }

    fn speaking(name: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let manner =
            Manner { shape: shape::by_name(name).unwrap(), spec: Spec::default(), seed: 5, streams: true };
        let scale = StandIn::on_pty(&folder.path().join("scale"), manner).unwrap();
        Self { folder, scale }
    }

    fn book(&self) -> PathBuf {
        self.folder.path().join("book.sqlite")
    }

    fn open(&self, size: (u16, u16), env: &[(&str, &str)]) -> Terminal {
        let shop = demo_shop(self.folder.path());
        let book = self.book().display().to_string();
        let scale = format!("serial:{}?shape=sma&division=0.1&capacity=7500", self.scale.place());
        Terminal::start(&["--shop", &shop, "--book", &book, "--scale", &scale], size, env)
    }

    /// Puts exactly so much more on the pan.
    fn load(&self, gross: Grams) {
        self.scale.hand(Hand::Load(gross));
    }
}

fn grams(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

/// Picks a colour and begins a mix of it, the empty cup already on the scale.
fn begin(terminal: &mut Terminal, colour: &str, layer_steps: usize, volume: &str) {
    terminal.wait_for("Gannet White");
    terminal.send(colour);
    terminal.wait_for("1 found");
    for _ in 0..layer_steps {
        terminal.send("\x1b[C");
    }
    terminal.send("\r");
    terminal.wait_for("how much");
    for _ in 0..12 {
        terminal.send("\x7f");
    }
    terminal.send(volume);
    terminal.wait_for(volume);
    terminal.send("\r");
    terminal.wait_for("stop at");
}

/// The number behind a word on the screen.
fn number_after(screen: &str, word: &str) -> Option<Grams> {
    let rest = screen.split(word).nth(1)?;
    let text: String =
        rest.trim_start().chars().take_while(|c| c.is_ascii_digit() || matches!(c, '.' | '-')).collect();
    Grams::parse(&text).ok()
}

/// The reading to stop at, once it is not the one before any more.
fn next_stop(terminal: &Terminal, before: Option<Grams>) -> Grams {
    let screen = terminal.wait("the next stop", |screen| {
        number_after(screen, "stop at").is_some_and(|stop| Some(stop) != before)
    });
    number_after(&screen, "stop at").unwrap()
}

/// What the book says that the last mix's cup holds, and how many of its events there are.
fn in_book(book: &Path) -> (Grams, Vec<String>) {
    use pourbook::book::{Journal, Store, open_to_look};
    let store = open_to_look(book).unwrap();
    let mixes = store.mixes().unwrap();
    let mix = mixes.last().unwrap().mix;
    let envelopes = store.events(mix).unwrap();
    let journal = Journal::fold(mix, &envelopes).unwrap();
    (journal.session().holds(), envelopes.into_iter().map(|envelope| envelope.kind).collect())
}

/// What the book says was taken out of cups and thrown away, all toners together.
fn wasted(book: &Path) -> Grams {
    use pourbook::book::{Account, Store, open_to_look};
    let balances = open_to_look(book).unwrap().balances().unwrap();
    let drawn = balances.into_iter().filter(|balance| balance.account == Account::DrawnOff);
    drawn.map(|balance| Grams::from_micrograms(balance.micrograms)).sum()
}

/// What the scale really holds, rounded to its division.
fn on_scale(bench: &Bench) -> Grams {
    let truth = bench.scale.truth().unwrap().in_cup;
    let tenth = Division::parse("0.1").unwrap();
    tenth.round(Grams::parse(&format!("{truth:.6}")).unwrap())
}

/// Weighs toner after toner to the stop on the screen until the mix is complete.
fn weigh_to_the_end(terminal: &Terminal, bench: &Bench, mut before: Option<Grams>) {
    loop {
        let screen = terminal.wait("the next stop or the end", |screen| {
            screen.contains("everything is in")
                || number_after(screen, "stop at").is_some_and(|stop| Some(stop) != before)
        });
        if screen.contains("everything is in") {
            return;
        }
        let stop = number_after(&screen, "stop at").unwrap();
        bench.load(grams(CUP) + stop);
        before = Some(stop);
    }
}

/// Gives an answer to a question until it is taken: a key that comes too soon after it is not.
fn answer(terminal: &mut Terminal, key: &str, question: &str) {
    let deadline = Instant::now() + PATIENCE;
    terminal.send(key);
    let mut sent = Instant::now();
    while terminal.text().contains(question) {
        if sent.elapsed() > Duration::from_millis(700) {
            terminal.send(key);
            sent = Instant::now();
        }
        std::thread::sleep(Duration::from_millis(10));
        assert!(Instant::now() < deadline, "the answer is not taken:\n{}", terminal.text());
    }
}

/// Says that the mix is done, and leaves.
fn finish(terminal: &mut Terminal) {
    terminal.send("\r");
    terminal.wait_for("in the book");
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);
}

#[test]
fn six_toners_weighed_to_the_end() {
    let bench = Bench::new();
    let mut terminal = bench.open((80, 24), &[]);
    begin(&mut terminal, "Gannet White", 1, "350 mL");
    weigh_to_the_end(&terminal, &bench, None);
    finish(&mut terminal);
    assert_eq!(terminal.modes(), (false, false), "the terminal is as it was");
    let (holds, kinds) = in_book(&bench.book());
    assert_eq!(holds, on_scale(&bench));
    let pours = kinds.iter().filter(|kind| *kind == "mix/poured").count();
    assert_eq!((pours, kinds.last().map(String::as_str)), (6, Some("mix/finished")));
    // The formula it was weighed from is kept, and its history knows the mix.
    let shop = bench.folder.path().join("shop");
    let kept: Vec<_> = std::fs::read_dir(shop.join("versions/gannet-white")).unwrap().collect();
    let [Ok(kept)] = kept.as_slice() else { panic!("{kept:?}") };
    let file = std::fs::read(shop.join("colours/gannet-white.toml")).unwrap();
    assert_eq!(std::fs::read(kept.path()).unwrap(), file);
    let told = std::process::Command::new(env!("CARGO_BIN_EXE_pourbook"))
        .arg("--shop")
        .arg(&shop)
        .arg("--book")
        .arg(bench.book())
        .args(["formula", "history", "PB-3140", "--json"])
        .output()
        .unwrap();
    let told: serde_json::Value = serde_json::from_slice(&told.stdout).unwrap();
    assert_eq!(told["versions"].as_array().unwrap().len(), 1);
    assert_eq!(told["versions"][0]["mixes"], 1);
}

#[test]
fn an_overpour_put_right_by_drawing_off() {
    let bench = Bench::new();
    let mut terminal = bench.open((120, 36), &[]);
    begin(&mut terminal, "Gannet White", 1, "350 mL");
    let first = next_stop(&terminal, None);
    bench.load(grams(CUP) + first);
    let second = next_stop(&terminal, Some(first));
    // A good deal too much of the second toner.
    let over = second + grams("4.1");
    bench.load(grams(CUP) + over);
    let screen = terminal.wait_for("draw off");
    let draw = number_after(&screen, "draw off").unwrap();
    assert!(draw.is_positive(), "{screen}");
    terminal.send("1");
    terminal.wait_for("to take out");
    bench.load(grams(CUP) + over - draw);
    weigh_to_the_end(&terminal, &bench, Some(second));
    finish(&mut terminal);
    let (holds, kinds) = in_book(&bench.book());
    assert_eq!(holds, on_scale(&bench));
    for kind in ["mix/steered", "mix/drawn-off", "mix/finished"] {
        assert!(kinds.iter().any(|one| one == kind), "no {kind} in {kinds:?}");
    }
}

#[test]
fn killed_in_the_middle_of_a_pour_and_taken_up_again() {
    let bench = Bench::new();
    let mut terminal = bench.open((80, 24), &[]);
    begin(&mut terminal, "Gannet White", 1, "350 mL");
    let first = next_stop(&terminal, None);
    bench.load(grams(CUP) + first);
    let second = next_stop(&terminal, Some(first));
    terminal.wait_for("saved");
    // Half of the second toner is in when the power goes.
    let half = first + (second - first).times(Decimal::new(5, 1));
    let half = Division::parse("0.1").unwrap().round(half);
    bench.load(grams(CUP) + half);
    terminal.wait_for(&half.with_decimals(1));
    terminal.signal("KILL");
    terminal.wait_end();

    let mut terminal = bench.open((80, 24), &[]);
    terminal.wait_for("Gannet White");
    terminal.send("\r");
    terminal.wait_for("more than the book says");
    terminal.send("\r");
    let again = next_stop(&terminal, None);
    assert_eq!(again, second, "the same stop as before the crash");
    weigh_to_the_end(&terminal, &bench, None);
    finish(&mut terminal);
    let (holds, kinds) = in_book(&bench.book());
    assert_eq!(holds, on_scale(&bench));
    assert_eq!(kinds.iter().filter(|kind| *kind == "mix/poured").count(), 6, "{kinds:?}");
}

#[test]
fn unplugged_and_plugged_in_again_in_the_middle_of_a_pour() {
    let bench = Bench::new();
    let mut terminal = bench.open((80, 24), &[]);
    begin(&mut terminal, "Gannet White", 1, "350 mL");
    let first = next_stop(&terminal, None);
    let half = Division::parse("0.1").unwrap().round(first.times(Decimal::new(5, 1)));
    bench.load(grams(CUP) + half);
    terminal.wait_for(&half.with_decimals(1));
    bench.scale.control(Control::Unplug);
    let screen = terminal.wait_for("SCALE LOST");
    // A number that cannot be trusted any more is not on the screen.
    assert!(!screen.contains(&format!("holds {}", half.with_decimals(1))), "{screen}");
    bench.load(grams(CUP) + first);
    bench.scale.control(Control::Replug);
    // Nobody saw the rest being poured: it is asked about before it is taken.
    terminal.wait_for("more than when the scale was last heard");
    answer(&mut terminal, "1", "more than when the scale");
    weigh_to_the_end(&terminal, &bench, None);
    finish(&mut terminal);
    let (holds, _) = in_book(&bench.book());
    assert_eq!(holds, on_scale(&bench));
}

#[test]
fn lifted_and_put_back_with_five_grams_less() {
    let bench = Bench::new();
    let mut terminal = bench.open((80, 24), &[]);
    begin(&mut terminal, "Gannet White", 1, "350 mL");
    let first = next_stop(&terminal, None);
    bench.load(grams(CUP) + first);
    next_stop(&terminal, Some(first));
    // Some of the second toner is in when the cup is lifted to be stirred.
    let before = Division::parse("0.1").unwrap().round(first + grams("40"));
    bench.load(grams(CUP) + before);
    let holds = format!("cup holds {}", before.with_decimals(1));
    terminal.wait("a steady part", |screen| screen.contains("scale  steady") && screen.contains(&holds));
    // The key takes what is in so far as one of several goes.
    terminal.send("\r");
    terminal.wait("the part in the book", |screen| screen.matches("saved").count() == 2);
    bench.scale.hand(Hand::LiftCup);
    let screen = terminal.wait_for("z cup is on it");
    assert!(screen.contains("the cup is off the scale"), "{screen}");
    assert!(screen.contains(&format!("by the book it holds {} g", before.with_decimals(1))), "{screen}");
    assert!(!screen.contains("g to go"), "{screen}");
    // The same cup goes on by itself.
    bench.scale.hand(Hand::PutCup);
    terminal.wait_for("the cup is back with the same weight");
    terminal.wait_for("g to go");
    bench.scale.hand(Hand::LiftCup);
    terminal.wait_for("z cup is on it");
    bench.load(grams(CUP) + before - grams("5"));
    terminal.wait_for("5.0 g are gone since the cup was lifted: which way?");
    answer(&mut terminal, "1", "g are gone");
    terminal.wait_for("g to go");
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);

    // The book has the pour as it was, and the five grams as taken out of what was mixed then.
    let (holds, kinds) = in_book(&bench.book());
    assert_eq!(kinds, ["mix/started", "mix/poured", "mix/poured", "mix/drawn-off"]);
    assert_eq!((holds, before - holds), (on_scale(&bench), grams("5")));
    assert_eq!(wasted(&bench.book()), grams("5"));
}

/// A pour is said to have come from another tin and to be another toner; killed, and taken up again, it is so.
#[test]
fn put_right_killed_and_taken_up_again() {
    let bench = Bench::new();
    let mut terminal = bench.open((80, 24), &[]);
    begin(&mut terminal, "Gannet White", 1, "350 mL");
    let first = next_stop(&terminal, None);
    bench.load(grams(CUP) + first);
    next_stop(&terminal, Some(first));
    terminal.wait_for("saved");
    terminal.send("b");
    terminal.wait_for("what was it?");
    terminal.send("B15 24-007");
    terminal.wait_for("then B15 is");
    terminal.send("\r");
    terminal.wait_for("g over (right is within");
    terminal.send("b");
    terminal.wait_for("what was it?");
    terminal.send("M80 24-008\r");
    terminal.wait("the bench again", |screen| screen.contains("stop at") && screen.contains("24-008"));
    terminal.wait_for("saved");
    terminal.signal("KILL");
    terminal.wait_end();

    let mut terminal = bench.open((80, 24), &[]);
    terminal.wait_for("Gannet White");
    terminal.send("\r");
    terminal.wait_for("n next tin");
    weigh_to_the_end(&terminal, &bench, None);
    finish(&mut terminal);
    let (holds, kinds) = in_book(&bench.book());
    assert_eq!(holds, on_scale(&bench));
    assert_eq!(kinds.iter().filter(|kind| *kind == "mix/rebooked").count(), 2, "{kinds:?}");
    let given = {
        use pourbook::book::{Account, Store, open_to_look};
        let balances = open_to_look(&bench.book()).unwrap().balances().unwrap();
        let tins =
            balances.into_iter().filter(|balance| balance.account == Account::Tin("24-008".to_owned()));
        tins.map(|balance| Grams::from_micrograms(-balance.micrograms)).sum::<Grams>()
    };
    assert_eq!(given, first, "all of the first pour came from that tin, and nothing else did");
}
