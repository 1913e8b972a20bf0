//! Mixes that were weighed without a fault, event by event as the bench writes them.

use pourbook::book::{By, Envelope, Ids, Journal, Opened, SqliteStore, Store as _};
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

/// Puts them into that book, which nobody else has open.
pub(crate) fn put(book: &Path, envelopes: &[Envelope]) {
    // A program that another test is just starting holds, for a moment, every lock of this process.
    let mut store = (0..500)
        .find_map(|_| {
            if let Opened::ToWrite(store) = SqliteStore::open(book, Stamp(1)).unwrap() {
                return Some(store);
            }
            std::thread::sleep(std::time::Duration::from_millis(10));
            None
        })
        .unwrap();
    for envelope in envelopes {
        store.append(envelope).unwrap();
    }
}
