//! A ground coat weighed ready to spray, hardener and thinner behind the colour: the real program in a real terminal, a scale
//! at the far end of a real serial line, the power cut with hardener in the cup.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test that cannot go on says so and stops"
)]

mod common;

use common::{Terminal, ready_shop};
use pourbook::book::{Envelope, Journal, Store, open_to_look};
use pourbook::catalogue::Catalogue;
use pourbook::job::pot_life;
use pourbook::mix::{Event, LinePart};
use pourbook::scale::{Hand, Manner, Spec, StandIn, shape};
use pourbook::units::{Division, Grams, Millilitres};
use std::path::Path;

/// The empty cup, in grams: what [`Spec::default`] has on its pan.
const CUP: &str = "21.4";

fn grams(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

/// The number behind a word on the screen.
fn number_after(screen: &str, word: &str) -> Option<Grams> {
    let rest = screen.split(word).nth(1)?;
    let text: String =
        rest.trim_start().chars().take_while(|c| c.is_ascii_digit() || matches!(c, '.' | '-')).collect();
    Grams::parse(&text).ok()
}

/// The time behind a word on the screen.
fn time_after(screen: &str, word: &str) -> String {
    screen.split(word).nth(1).unwrap().trim_start().chars().take(5).collect()
}

/// Weighs to the stop on the screen, again and again, until the screen says that.
fn weigh_until(terminal: &Terminal, scale: &StandIn, said: &str, mut before: Option<Grams>) -> String {
    loop {
        let screen = terminal.wait("the next stop or the end", |screen| {
            screen.contains(said) || number_after(screen, "stop at").is_some_and(|stop| Some(stop) != before)
        });
        if screen.contains(said) {
            return screen;
        }
        let stop = number_after(&screen, "stop at").unwrap();
        scale.hand(Hand::Load(grams(CUP) + stop));
        before = Some(stop);
    }
}

/// The mix in the book, and its events.
fn in_book(book: &Path) -> (Journal, Vec<Envelope>) {
    let store = open_to_look(book).unwrap();
    let mix = store.mixes().unwrap().last().unwrap().mix;
    let envelopes = store.events(mix).unwrap();
    (Journal::fold(mix, &envelopes).unwrap(), envelopes)
}

#[test]
fn hardener_and_thinner_behind_the_colour_and_the_pot_life_outlives_a_power_cut() {
    let folder = tempfile::tempdir().unwrap();
    let manner =
        Manner { shape: shape::by_name("sma").unwrap(), spec: Spec::default(), seed: 5, streams: true };
    let scale = StandIn::on_pty(&folder.path().join("scale"), manner).unwrap();
    let (shop, book) = (ready_shop(folder.path()), folder.path().join("book.sqlite"));
    let book_name = book.display().to_string();
    let address = format!("serial:{}?shape=sma&division=0.1&capacity=7500", scale.place());
    let open =
        || Terminal::start(&["--shop", &shop, "--book", &book_name, "--scale", &address], (80, 24), &[]);

    let mut terminal = open();
    terminal.wait_for("Gannet White");
    terminal.send("Gannet White");
    terminal.wait_for("1 found");
    terminal.send("\x1b[C\r");
    terminal.wait_for("GC-2: H60, T70");
    for _ in 0..12 {
        terminal.send("\x7f");
    }
    terminal.send("310 mL");
    let screen = terminal.wait_for("310 mL ready to spray: 221 mL colour");
    assert!(screen.contains("120 min from"), "{screen}");
    terminal.send("\r");
    let screen = terminal.wait_for("stop at");
    assert!(!screen.contains("isocyanates"), "{screen}");
    let screen = weigh_until(&terminal, &scale, "isocyanates: air-fed", None);
    assert!(screen.contains("H60"), "{screen}");
    let colour = number_after(&screen, "cup holds").unwrap();
    let screen = weigh_until(&terminal, &scale, "sprayable until", Some(colour));
    assert!(!screen.contains("isocyanates") && screen.contains("T70"), "{screen}");
    let until = time_after(&screen, "sprayable until");
    terminal.wait_for("saved");
    terminal.signal("KILL");
    terminal.wait_end();
    let (journal, envelopes) = in_book(&book);
    let hardener = envelopes.iter().rfind(|envelope| envelope.kind == "mix/poured").unwrap();
    assert_eq!(journal.activated(), Some(hardener.at));

    let mut terminal = open();
    terminal.wait_for("Gannet White");
    terminal.send("\r");
    let screen = terminal.wait_for("sprayable until");
    assert_eq!(time_after(&screen, "sprayable until"), until, "{screen}");
    // The cup on the scale is compared with the book first.
    terminal.wait_for("Enter take it");
    weigh_until(&terminal, &scale, "everything is in", None);
    terminal.send("\r");
    terminal.wait_for("in the book");
    terminal.send("\r");
    terminal.wait_for("a code, a name");
    terminal.send("\x1b[17~");
    let screen = terminal.wait_for("Cups after spraying");
    assert!(screen.contains("min left"), "{screen}");
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);

    // What is in the book is what was on the scale, in the shares that the ratio asks for: 10 : 1 : 3 of 310 mL.
    let (journal, envelopes) = in_book(&book);
    let session = journal.session();
    let truth = format!("{:.6}", scale.truth().unwrap().in_cup);
    assert_eq!(session.holds(), Division::parse("0.1").unwrap().round(grams(&truth)));
    assert_eq!(journal.activated(), Some(hardener.at));
    assert_eq!(pot_life(&journal).unwrap().minutes, 120);
    let pours = envelopes.iter().filter(|envelope| envelope.kind == "mix/poured").count();
    assert_eq!(pours, 8);
    let demo = Catalogue::demo();
    for (part, volume) in [(LinePart::Hardener, "22.142857"), (LinePart::Thinner, "66.428571")] {
        let line = session.recipe().lines().iter().position(|line| line.part == part).unwrap();
        let toner = demo.toner(session.recipe().lines()[line].toner.as_str()).unwrap();
        let asked = toner.density.mass_of(Millilitres::parse(volume).unwrap());
        let off = (session.poured(line) - asked).abs();
        assert!(off <= grams("0.3"), "{part:?}: {} for {asked}", session.poured(line));
    }
    let started = envelopes.iter().find(|envelope| envelope.kind == "mix/started").unwrap();
    let Event::Started(start) = serde_json::from_str(&started.body).unwrap() else { panic!("started") };
    assert_eq!(start.recipe.readied.unwrap().product.as_str(), "GC-2");
}
