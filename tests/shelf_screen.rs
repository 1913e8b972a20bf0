//! The shelf in a real terminal: its figures come from the book while the bench has it open.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on says so and stops"
)]

mod common;

use common::{Terminal, demo_shop};
use pourbook::book::{By, Ids, SqliteStore, Store as _};
use pourbook::catalogue::TonerCode;
use pourbook::stock::{Receipt, TinName, receive};
use pourbook::units::{Grams, Stamp};

const F7: &str = "\x1b[18~";

#[test]
fn the_shelf_is_read_while_the_bench_has_the_book() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book.sqlite");
    let now = jiff::Timestamp::now().as_microsecond();
    let mut store = SqliteStore::open(&book, Stamp(now)).unwrap().into_parts().0;
    let receipt = Receipt {
        tin: TinName { label: "24-031".into(), toner: TonerCode::new("W10") },
        net: Grams::parse("1482").unwrap(),
        empty: None,
        size: None,
        lot: Some("L7".into()),
        expires: Some("2999-12-31".into()),
        price: None,
        item: None,
        supplier: None,
    };
    let by = By { bench: "bench 1".into(), operator: "Robin".into() };
    let came = receive(&receipt, None).unwrap();
    store.append(&came.envelope(Ids::counted(1).event(Stamp(now)), Stamp(now), &by).unwrap()).unwrap();
    drop(store);
    let (shop, book) = (demo_shop(folder.path()), book.display().to_string());
    let mut terminal = Terminal::start(&["--shop", &shop, "--book", &book], (80, 24), &[]);
    terminal.wait_for("Gannet White");
    terminal.send(F7);
    terminal.wait_for("titanium white");
    terminal.send("\r");
    let text = terminal.wait_for("received");
    assert!(text.contains("24-031") && text.contains("2999-12-31") && text.contains("+1482.0"), "{text}");
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);
}
