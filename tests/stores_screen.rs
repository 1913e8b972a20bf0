//! The stores manager at the bench in a real terminal, with a scale on a real line: a tin is received, weighed for the
//! stocktake, and the book says the difference.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on says so and stops"
)]

mod common;

use common::{PATIENCE, Terminal, demo_shop};
use pourbook::book::{Account, By, Ids, Journal, SqliteStore, Store as _, open_to_look};
use pourbook::catalogue::{Catalogue, Role};
use pourbook::mix::{Ending, Event, How, Limits, Recipe, Start, Vessel, order};
use pourbook::scale::{Hand, Manner, Spec, StandIn, shape};
use pourbook::stock::StockEvent;
use pourbook::units::{Decimal, Division, Grams, Millilitres, Stamp};
use std::path::Path;
use std::time::{Duration, Instant};

const F7: &str = "\x1b[18~";
const CTRL_R: &str = "\x12";
const CTRL_T: &str = "\x14";

fn grams(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

/// Types a line of the form and takes it; the next one is asked then.
fn line(terminal: &mut Terminal, question: &str, typed: &str) {
    terminal.wait_for(question);
    terminal.send(typed);
    // The End key: what came as fast as this is no scan then.
    terminal.send("\x1b[F");
    terminal.send("\r");
}

/// What the book was told of the stock.
fn told(book: &Path) -> Vec<StockEvent> {
    let mut told = Vec::new();
    open_to_look(book).unwrap().each(&mut |event| told.extend(StockEvent::read(event).unwrap())).unwrap();
    told
}

#[test]
fn a_tin_is_received_and_weighed_and_the_book_says_the_difference() {
    let folder = tempfile::tempdir().unwrap();
    let manner =
        Manner { shape: shape::by_name("sma").unwrap(), spec: Spec::default(), seed: 5, streams: true };
    let scale = StandIn::on_pty(&folder.path().join("scale"), manner).unwrap();
    let (shop, book) = (demo_shop(folder.path()), folder.path().join("book.sqlite"));
    let (book_text, address) = (
        book.display().to_string(),
        format!("serial:{}?shape=sma&division=0.1&capacity=7500", scale.place()),
    );
    let args = ["--shop", &shop, "--book", &book_text, "--scale", &address];
    let mut terminal = Terminal::start(&args, (80, 24), &[("NO_COLOR", "1")]);
    terminal.wait_for("Gannet White");
    terminal.send(F7);
    terminal.wait_for("no tin is on the shelf yet");
    terminal.send(CTRL_R);
    line(&mut terminal, "which toner?", "w10");
    line(&mut terminal, "its label?", "26-145");
    line(&mut terminal, "how much is in it?", "1 L");
    line(&mut terminal, "its lot?", "A7");
    line(&mut terminal, "to be used until when?", "2999-12-31");
    line(&mut terminal, "what did it cost?", "38.50");
    line(&mut terminal, "what does it weigh empty?", "110.5");
    terminal.wait_for("saved: tin 26-145, 1482.0 g of W10 received");
    terminal.wait_for("titanium white");
    terminal.send("\r");
    terminal.wait_for("2999-12-31");
    terminal.send("k");
    terminal.wait_for("0 of 1 tins counted");
    // What is in it and the tin itself, 12.4 g less than the book says.
    scale.hand(Hand::Load(grams("1580.1")));
    terminal.wait_for("12.4 g missing");
    terminal.wait_for("scale  steady");
    terminal.send("\r");
    // Little enough not to be asked about: 1 % of what came.
    terminal.wait_for("saved: tin 26-145: 1469.6 g found, 12.4 g missing");
    terminal.wait_for("1 of 1 tins counted");
    // The next time it is much, and asked about.
    scale.hand(Hand::Load(grams("0")));
    terminal.wait_for("Put tin 26-145 on the scale");
    scale.hand(Hand::Load(grams("1310.5")));
    terminal.wait_for("269.6 g missing");
    terminal.wait_for("scale  steady");
    terminal.send("\r");
    line(&mut terminal, "tin 26-145: 1200.0 g found, 269.6 g missing. Why?", "spilt");
    terminal.wait_for("saved: tin 26-145: 1200.0 g found");
    terminal.send("\x1b");
    terminal.wait_for("1 open tin was not stirred today: Ctrl-T");
    terminal.send(CTRL_T);
    terminal.wait_for("saved: the rack is stirred: 1 open tin");
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);

    let told = told(&book);
    let counts: Vec<_> = told
        .iter()
        .filter_map(|event| match event {
            StockEvent::Counted(count) => Some((count.found, count.booked, count.why.as_deref())),
            _ => None,
        })
        .collect();
    assert_eq!(
        counts,
        [(grams("1469.6"), grams("1482"), None), (grams("1200"), grams("1469.6"), Some("spilt")),]
    );
    assert!(matches!(told.last(), Some(StockEvent::Stirred(tin)) if tin.label == "26-145"), "{told:?}");
    let held: Vec<_> = open_to_look(&book)
        .unwrap()
        .balances()
        .unwrap()
        .iter()
        .map(|balance| format!("{} {} {}", balance.account, balance.toner, balance.micrograms))
        .collect();
    assert_eq!(
        held,
        [
            "difference: W10 12400000",
            "difference:spilt W10 269600000",
            "supplier: W10 -1482000000",
            "tin:26-145 W10 1200000000",
        ]
    );
}

/// A delivery comes in from its file while the bench has the book: with a mistake in it nothing, put right all of it.
#[test]
fn a_delivery_from_a_file_is_received_as_a_whole_while_the_bench_has_the_book() {
    let folder = tempfile::tempdir().unwrap();
    let (shop, book) = (demo_shop(folder.path()), folder.path().join("book.sqlite"));
    let book_text = book.display().to_string();
    let table = folder.path().join("came today.csv");
    std::fs::write(&table, "label;toner;net\n26-1;w10;1,25 kg\n26-2;K05;much\n").unwrap();
    let home = folder.path().to_str().unwrap();
    let args = ["--shop", &shop, "--book", &book_text, "--scale", "virtual:"];
    let mut terminal = Terminal::start(&args, (80, 24), &[("NO_COLOR", "1"), ("HOME", home)]);
    terminal.wait_for("Gannet White");
    terminal.send(F7);
    terminal.wait_for("no tin is on the shelf yet");
    terminal.send("\x04");
    line(&mut terminal, "which file is the delivery in?", "~/cane today.csv");
    terminal.wait_for("cannot be read");
    terminal.send("\x15");
    line(&mut terminal, "which file is the delivery in?", "~/came today.csv");
    terminal.wait_for("line 3: net: 'much' is no weight");
    assert!(told(&book).is_empty());
    std::fs::write(&table, "label;toner;net\n26-1;w10;1,25 kg\n26-2;K05;500\n").unwrap();
    terminal.send("r");
    let text = terminal.wait_for("2 tins of 2 toners would come in, 1750.0 g together");
    assert!(text.contains("W10 titanium white") && text.contains("1250.0 g"), "{text}");
    assert!(told(&book).is_empty());
    // A key that comes at once is not heeded, so it is pressed until it is.
    let deadline = Instant::now() + PATIENCE;
    while terminal.text().contains("would come in") {
        assert!(Instant::now() < deadline, "it is not received:\n{}", terminal.text());
        terminal.send("\r");
        std::thread::sleep(Duration::from_millis(100));
    }
    terminal.wait_until("both tins in the book", |_| told(&book).len() == 2);
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);
    let told = told(&book);
    let labels: Vec<_> = told
        .iter()
        .map(|event| match event {
            StockEvent::Received(receipt) => (receipt.tin.label.as_str(), receipt.net),
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(labels, [("26-1", grams("1250")), ("26-2", grams("500"))]);
}

/// A book in which half of a mix of Gannet White's ground coat is kept.
fn with_leftover(book: &Path) -> Grams {
    let now = jiff::Timestamp::now().as_microsecond();
    let mut at = Stamp(now - 3_600_000_000);
    let mut store = SqliteStore::open(book, at).unwrap().into_parts().0;
    let by = By { bench: "bench 1".into(), operator: "Robin".into() };
    let mut ids = Ids::counted(1);
    let shop = Catalogue::demo();
    let colour = shop.colours.iter().find(|colour| colour.code.as_str() == "PB-3140").unwrap();
    let recipe = Recipe::of_layer(&shop, colour, colour.layer(Role::Ground).unwrap()).unwrap();
    let start = Start {
        job: None,
        order: order::formula_order(&recipe),
        version: None,
        recipe,
        volume: Millilitres::parse("100").unwrap(),
        vessel: Vessel { name: "600".into(), brim: Millilitres::parse("600").unwrap(), tare: grams("21.8") },
        limits: Limits { division: Division::TENTH, capacity: None },
    };
    let mix = ids.mix(at);
    let (mut journal, first) = Journal::begin(mix, &Event::Started(start), ids.event(at), at, &by).unwrap();
    store.append(&first).unwrap();
    while journal.session().emptied().is_none() {
        at.0 += 1_000_000;
        let session = journal.session();
        let half = session.holds().times(Decimal::new(5, 1)).to_book();
        let event = match session.shown_stop() {
            Some(stop) => session.take(stop, How::Scale),
            None => session.finish().or_else(|_| {
                session.empty(Ending { left: half, keep: true, ..Ending::default() }, How::Scale)
            }),
        };
        store.append(&journal.record(&event.unwrap(), ids.event(at), at, &by).unwrap()).unwrap();
    }
    journal.session().holds().times(Decimal::new(5, 1)).to_book()
}

/// The power fails while a leftover goes in: what is in the cup is booked as that leftover after it, and as no toner.
#[test]
fn a_leftover_that_was_going_in_when_the_power_failed_is_no_toner_after_it() {
    let folder = tempfile::tempdir().unwrap();
    let manner =
        Manner { shape: shape::by_name("sma").unwrap(), spec: Spec::default(), seed: 5, streams: true };
    let scale = StandIn::on_pty(&folder.path().join("scale"), manner).unwrap();
    let (shop, book) = (demo_shop(folder.path()), folder.path().join("book.sqlite"));
    let kept = with_leftover(&book);
    assert!(kept > grams("40"), "{kept}");
    let (book_text, address) = (
        book.display().to_string(),
        format!("serial:{}?shape=sma&division=0.1&capacity=7500", scale.place()),
    );
    let args = ["--shop", &shop, "--book", &book_text, "--scale", &address];
    let mut terminal = Terminal::start(&args, (80, 24), &[]);
    terminal.wait_for("Gannet White");
    terminal.send("gannet");
    terminal.wait_for("1 found");
    terminal.send("\x1b[C\r");
    terminal.wait_for("no leftover");
    // F8: with it.
    terminal.send("\x1b[19~");
    terminal.wait_for("of mix 0001");
    terminal.send("\r");
    terminal.wait_for("a leftover first");
    // The empty cup of the virtual bench weighs 21.4 g.
    scale.hand(Hand::Load(grams("51.4")));
    terminal.wait_for("30.0");
    terminal.signal("KILL");
    terminal.wait_end();

    let mut terminal = Terminal::start(&args, (80, 24), &[]);
    terminal.wait_for("Mixes to go on with");
    terminal.send("\r");
    terminal.wait_for("30.0 g in the cup count as the leftover of mix 0001");
    terminal.send("\r");
    terminal.wait_for("a leftover first");
    terminal.wait_for("scale  steady");
    terminal.send("\r");
    terminal.wait_for("stop at");
    terminal.send("\x03");
    assert_eq!(terminal.wait_end(), 0);

    let store = open_to_look(&book).unwrap();
    let mixes = store.mixes().unwrap();
    let (first, second) = (mixes[0].mix, mixes[1].mix);
    let kinds: Vec<String> = store.events(second).unwrap().into_iter().map(|event| event.kind).collect();
    assert_eq!(kinds, ["mix/started", "mix/leftover-due", "mix/leftover-added"]);
    let held = |account: &Account| -> Grams {
        let all = store.balances().unwrap();
        let own = all.into_iter().filter(|balance| balance.account == *account);
        own.map(|balance| Grams::from_micrograms(balance.micrograms)).sum()
    };
    assert_eq!(held(&Account::Cup(second)), grams("30"));
    assert_eq!(held(&Account::Leftover(first)), kept - grams("30"));
}
