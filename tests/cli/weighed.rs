//! Mixes that were weighed without a fault, event by event as the bench writes them.

use pourbook::book::{By, Envelope, Ids, Journal, SqliteStore, Store as _};
use pourbook::catalogue::{Catalogue, Role};
use pourbook::mix::{Ending, Event, How, Limits, Recipe, Session, Start, Vessel, order};
use pourbook::units::{Decimal, Division, Grams, Millilitres, Stamp};
use std::path::Path;

pub(crate) fn robin() -> By {
    By { bench: "bench 1".into(), operator: "Robin".into() }
}

/// The demo's three-stage white.
pub(crate) const WHITE: &str = "PB-3140";

/// A layer of that colour, colour alone.
pub(crate) fn recipe(shop: &Catalogue, colour: &str, layer: Role) -> Recipe {
    let colour = shop.colour(colour).unwrap();
    Recipe::of_layer(shop, colour, colour.layer(layer).unwrap()).unwrap()
}

/// So much of it, in a cup of that weight.
pub(crate) fn start(recipe: Recipe, volume: &str, tare: &str) -> Start {
    Start {
        job: None,
        order: order::formula_order(&recipe),
        version: None,
        recipe,
        volume: Millilitres::parse(volume).unwrap(),
        vessel: Vessel {
            name: "600".into(),
            brim: Millilitres::parse("600").unwrap(),
            tare: Grams::parse(tare).unwrap(),
        },
        limits: Limits { division: Division::TENTH, capacity: None },
    }
}

/// All its events, from that time on and so many microseconds apart: each toner as the scale shows it, and the end.
/// `beside` says what happens between, where anything does.
pub(crate) fn weighed(
    start: Start,
    (mut at, apart): (Stamp, i64),
    ids: &mut Ids,
    by: &By,
    beside: impl Fn(&Session) -> Option<Event>,
) -> Vec<Envelope> {
    let (mix, id) = (ids.mix(at), ids.event(at));
    let (mut journal, first) = Journal::begin(mix, &Event::Started(start), id, at, by).unwrap();
    let mut all = vec![first];
    loop {
        at.0 += apart;
        let session = journal.session();
        let event = match (beside(session), session.shown_stop()) {
            (Some(event), _) => Ok(event),
            (None, Some(stop)) => session.take(stop, How::Scale),
            (None, None) => session.finish(),
        };
        let Ok(event) = event else { return all };
        all.push(journal.record(&event, ids.event(at), at, by).unwrap());
    }
}

/// The toner that is due comes from the tin that `label` says.
pub(crate) fn from_tin(session: &Session, label: impl Fn(&str) -> String) -> Option<Event> {
    let goal = session.goal()?;
    let toner = session.recipe().lines()[goal.line].toner.clone();
    let tin = label(toner.as_str());
    (session.tin(goal.line) != Some(tin.as_str())).then_some(Event::TinTaken { toner, tin, marks: None })
}

/// Once it is done it is sprayed on that job, and a tenth of it is kept.
pub(crate) fn sprayed_on(session: &Session, job: Option<&str>) -> Option<Event> {
    if session.goal().is_some() || session.is_unfinished() || session.emptied().is_some() {
        return None;
    }
    let left = session.holds().times(Decimal::new(1, 1));
    let ending = Ending { left, keep: true, job: job.map(str::to_owned), ..Ending::default() };
    Some(session.empty(ending, How::Scale).unwrap())
}

/// Puts them into that book, which nobody else has open; afterwards nobody has its lock.
pub(crate) fn put(book: &Path, envelopes: &[Envelope]) {
    let mut store = SqliteStore::open(book, Stamp(1)).unwrap().into_parts().0;
    for envelope in envelopes {
        store.append(envelope).unwrap();
    }
    drop(store);
    // A program that another test is just starting has, for a moment, every open file of this process, and with it the
    // lock: the program that is run next would find the book taken.
    for _ in 0..500 {
        if !is_locked(book) {
            return;
        }
        std::thread::sleep(std::time::Duration::from_millis(10));
    }
    panic!("{} stays locked", book.display());
}

/// Whether anybody has the lock beside that book, as the system tells (`proc_locks(5)`); asked without taking it.
fn is_locked(book: &Path) -> bool {
    let lock = book.with_file_name(format!("{}.lock", book.file_name().unwrap().display()));
    let Ok(inode) = std::fs::metadata(lock).map(|data| std::os::unix::fs::MetadataExt::ino(&data)) else {
        return false;
    };
    let locks = std::fs::read_to_string("/proc/locks").unwrap_or_default();
    locks.lines().any(|line| line.contains(&format!(":{inode} ")))
}
