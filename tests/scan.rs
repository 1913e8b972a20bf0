//! A barcode scanner at the real program: the right tin, the wrong one, in one go and in pieces.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test that cannot go on says so and stops"
)]

mod common;

use common::{Terminal, demo_shop};
use pourbook::book::{MixId, Store, open_to_look};
use pourbook::job::label::Payload;
use pourbook::scale::{Manner, Spec, StandIn, shape};
use std::path::Path;
use std::time::Duration;

#[test]
fn the_right_tin_is_taken_and_the_wrong_one_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let manner =
        Manner { shape: shape::by_name("sma").unwrap(), spec: Spec::default(), seed: 5, streams: true };
    let scale = StandIn::on_pty(&folder.path().join("scale"), manner).unwrap();
    let shop = demo_shop(folder.path());
    let book = folder.path().join("book.sqlite").display().to_string();
    let address = format!("serial:{}?shape=sma&division=0.1&capacity=7500", scale.place());
    let mut terminal =
        Terminal::start(&["--shop", &shop, "--book", &book, "--scale", &address], (80, 24), &[]);
    terminal.wait_for("scale  steady");
    // A colour's own code, scanned from its card, opens it.
    terminal.send("PB-3140\r");
    terminal.wait_for("how much");
    terminal.send("\r");
    terminal.wait_for("stop at");
    // The whole code of the tin in one go, as a scanner's keys arrive; the separator is one byte.
    let item = |code: &str| pourbook::catalogue::Catalogue::demo().toner(code).unwrap().codes[0].clone();
    terminal.send(&format!("01{}10A7\x1d2124-085\r", item("M85")));
    terminal.wait_for("tin 24-085");
    // Another toner's tin, in pieces as a slower scanner sends them.
    for piece in format!("(01){}(21)24-018\r", item("W18")).as_bytes().chunks(5) {
        terminal.send(std::str::from_utf8(piece).unwrap());
        std::thread::sleep(Duration::from_millis(4));
    }
    let screen = terminal.wait_for("WRONG TIN");
    assert!(screen.contains("W18") && screen.contains("is due"), "{screen}");
    // None of it was taken for keys.
    assert!(!screen.contains("hands-free is off"), "{screen}");
    terminal.send("\x1b");
    terminal.wait("the bench again", |screen| !screen.contains("WRONG TIN"));
    // The mix is put aside, and its label scanned from the cup brings it back.
    terminal.send("\x1b");
    terminal.wait_for("put aside; it waits");
    let label = Payload::Mix(mix(Path::new(&book))).to_string();
    terminal.send(&format!("{label}\r"));
    terminal.wait("the mix again", |screen| screen.contains("stop at") && !screen.contains("PB:M"));
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);
    let kinds = kinds(Path::new(&book));
    assert_eq!(kinds[..3], ["mix/started", "mix/tin-taken", "mix/set-aside"]);
}

fn mix(book: &Path) -> MixId {
    open_to_look(book).unwrap().mixes().unwrap().last().unwrap().mix
}

fn kinds(book: &Path) -> Vec<String> {
    let store = open_to_look(book).unwrap();
    let mix = mix(book);
    store.events(mix).unwrap().into_iter().map(|envelope| envelope.kind).collect()
}
