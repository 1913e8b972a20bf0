//! The shelf in a real terminal: its figures come from the book while the bench has it open.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test that cannot go on says so and stops"
)]

mod common;

use common::{Terminal, demo_shop, ready_shop};
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

/// What the command answered: what it said on standard output, and on standard error.
fn told(args: &[&str]) -> (String, String) {
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_pourbook")).args(args).output().unwrap();
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    let (out, error) = (text(&output.stdout), text(&output.stderr));
    assert!(output.status.success(), "{args:?}: {error}");
    (out, error)
}

/// The screen orders what the command orders, what open jobs need counted in, and says of the same layers that they are not.
#[test]
fn the_screen_orders_what_the_command_orders_for_open_jobs() {
    let folder = tempfile::tempdir().unwrap();
    let (shop, book) = (ready_shop(folder.path()), folder.path().join("book.sqlite").display().to_string());
    let run = |args: &[&str]| told(&[&["--shop", &shop, "--book", &book], args].concat());
    let ground =
        ["--without", "undercoat", "--without", "pearl", "--without", "blender", "--without", "clear"];
    run(&[&["job", "open", "26-206", "--colour", "PB-3140", "--panel", "tailgate"], &ground[..]].concat());
    run(&[&["job", "open", "26-207", "--colour", "PB-3140"], &ground[..]].concat());
    let (order, noted) = run(&["shelf", "--order"]);
    // How much, the toner's code, its name, and how much of it is for jobs.
    let ordered: Vec<Vec<&str>> =
        order.lines().skip(1).map(|line| line.split("  ").map(str::trim).collect()).collect();
    let ordered: Vec<Vec<&str>> =
        ordered.into_iter().map(|row| row.into_iter().filter(|cell| !cell.is_empty()).collect()).collect();
    assert!(ordered.len() > 2 && ordered.iter().any(|row| row[1] == "H60"), "{order}");
    let note = noted.lines().find_map(|line| line.strip_prefix("note: not counted in, ")).unwrap();
    assert!(note.contains("'26-207'") && noted.matches("not counted in").count() == 1, "{noted}");

    let mut terminal = Terminal::start(&["--shop", &shop, "--book", &book], (120, 36), &[]);
    terminal.wait_for("Gannet White");
    terminal.send(F7);
    let screen = terminal.wait_for("not counted in");
    let row = |code: &str| screen.lines().find(|line| line.contains(&format!(" {code}  ")));
    for cells in &ordered {
        let row = row(cells[1]).unwrap_or_else(|| panic!("no row of {cells:?}:\n{screen}"));
        assert!(row.trim_end().ends_with(&format!(" {}", cells[0])), "{cells:?}:\n{row}");
    }
    let on_screen = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(on_screen(&screen).contains(&on_screen(note)), "{note}\n{screen}");
    // Nothing else is ordered: the list has no other toner of an empty shelf.
    assert!(screen.contains(&format!("{} toners", ordered.len())), "{screen}");
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);
}
