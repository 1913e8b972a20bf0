//! What is on the shelf by the book, and which tin is to be taken first.

use super::{FromTin, Leftover, Recall, StockEvent, Tin, TraceError, trace_mix};
use crate::barcode::Day;
use crate::book::figures::TinRow;
use crate::book::{Account, Balance, Ledger, MixId, MixTotals, MixesOf, Store, StoreError, TinsOf};
use crate::catalogue::{ColourCode, Role, TonerCode};
use crate::mix::Event;
use crate::units::Grams;
use std::collections::BTreeMap;

/// Every tin there ever was, by its label: received, seen at the bench, or only poured from.
pub fn shelf(book: &dyn Ledger) -> Result<Vec<Tin>, StoreError> {
    let rows = book.tins(TinsOf::All)?;
    let mut tins: Vec<Tin> = rows.into_iter().map(|row| Tin::new(row, Grams::ZERO)).collect();
    tins.sort_by(|a, b| a.label.cmp(&b.label));
    // Those of which nothing was said but that they were poured from.
    let mut unsaid = Vec::<Tin>::new();
    // Both come in the order of their labels, so that each is mostly the next one. There are tens of thousands after some
    // years.
    let mut next = 0_usize;
    for Balance { account, toner, micrograms } in book.held("tin")? {
        let Account::Tin(label) = account else { continue };
        while tins.get(next).is_some_and(|tin| tin.label < label) {
            next = next.saturating_add(1);
        }
        let tin = if tins.get(next).is_some_and(|tin| tin.label == label) {
            tins.get_mut(next)
        } else if let Ok(place) = tins.binary_search_by(|tin| tin.label.cmp(&label)) {
            tins.get_mut(place)
        } else {
            if unsaid.last().is_none_or(|last| last.label != label) {
                unsaid.push(Tin::new(TinRow::unsaid(label, toner.clone()), Grams::ZERO));
            }
            unsaid.last_mut()
        };
        if let Some(tin) = tin.filter(|tin| tin.toner == toner) {
            tin.holds = Grams::from_micrograms(micrograms);
        }
    }
    if !unsaid.is_empty() {
        tins.append(&mut unsaid);
        tins.sort_by(|a, b| a.label.cmp(&b.label));
    }
    Ok(tins)
}

/// The tin with that label; none if the book knows nothing of it.
pub fn tin<B: Ledger + Store>(book: &B, label: &str) -> Result<Option<Tin>, StoreError> {
    let balances = book.balances_of(&Account::Tin(label.to_owned()))?;
    let row = book.tins(TinsOf::Label(label))?.pop();
    let row = row.or_else(|| Some(TinRow::unsaid(label.to_owned(), balances.first()?.toner.clone())));
    Ok(row.map(|row| {
        let held = balances.iter().find(|balance| balance.toner == row.toner);
        let holds = held.map_or(Grams::ZERO, |balance| Grams::from_micrograms(balance.micrograms));
        Tin::new(row, holds)
    }))
}

/// The tins of a toner that are on the shelf, in the order in which they are to be used up: the first to expire first,
/// at the same day an open one before one that is not, then the one that came first. Tins that may not be used, and
/// those that hold nothing by the book, come last.
pub fn in_turn<'a>(tins: &'a [Tin], toner: &TonerCode, recalls: &[Recall], today: Day) -> Vec<&'a Tin> {
    let mut own: Vec<&Tin> = tins.iter().filter(|tin| tin.toner == *toner && !tin.is_gone()).collect();
    own.sort_by_key(|tin| {
        let barred = tin.is_expired(today) || recalls.iter().any(|recall| recall.means(tin));
        (
            barred,
            !tin.holds.is_positive(),
            tin.expires.is_none(),
            tin.expires,
            tin.opened.is_none(),
            tin.received.is_none(),
            tin.received,
            tin.label.clone(),
        )
    });
    own
}

/// The lots that were called back.
pub fn recalls(book: &dyn Ledger) -> Result<Vec<Recall>, StoreError> {
    Ok(book.recalls()?.iter().filter_map(Recall::read).collect())
}

/// What is wrong with the stock's events in a book, a sentence each.
pub fn faults(book: &dyn Store) -> Result<Vec<String>, StoreError> {
    let mut found = Vec::new();
    book.each(&mut |event| found.extend(StockEvent::read(event).err()))?;
    Ok(found)
}

/// Every leftover on the shelf, in the order their mixes were begun.
pub fn leftovers<B: Ledger + Store>(book: &B) -> Result<Vec<Leftover>, StoreError> {
    let mut held: BTreeMap<MixId, Vec<(TonerCode, Grams)>> = BTreeMap::new();
    for balance in book.held("leftover")? {
        if let Account::Leftover(mix) = balance.account {
            let mass = Grams::from_micrograms(balance.micrograms);
            held.entry(mix).or_default().push((balance.toner, mass));
        }
    }
    let mut found = Vec::new();
    for (mix, made_of) in held {
        for of in book.totals(MixesOf::Mix(mix))? {
            found.push(leftover(book, of, made_of.clone())?);
        }
    }
    found.sort_by_key(|leftover| leftover.of.head.number);
    Ok(found)
}

/// What is left of mixes of that layer of a colour, the first to be used up first.
pub fn leftovers_of<B: Ledger + Store>(
    book: &B,
    colour: &ColourCode,
    variant: &str,
    layer: Role,
) -> Result<Vec<Leftover>, StoreError> {
    let mut found = Vec::new();
    for of in book.totals(MixesOf::Emptied { colour, variant, layer })? {
        let held = book.balances_of(&Account::Leftover(of.mix))?;
        if !held.is_empty() {
            let held = held.into_iter().map(|b| (b.toner, Grams::from_micrograms(b.micrograms))).collect();
            found.push(leftover(book, of, held)?);
        }
    }
    found.sort_by_key(|leftover| (leftover.use_by.is_none(), leftover.use_by, leftover.of.head.number));
    Ok(found)
}

/// The tins that a mix was poured from, by their labels, each once, also by way of leftovers that it began with. Of what
/// became of it nothing is read, so that this takes no longer in a long book.
pub fn poured_from(book: &dyn Ledger, mix: MixId) -> Result<Vec<FromTin>, StoreError> {
    match trace_mix(book, mix) {
        Ok(trace) => {
            let mut tins = BTreeMap::new();
            for used in trace.uses {
                let Account::Tin(label) = used.from else { continue };
                tins.insert(label.clone(), FromTin { label, toner: used.toner, lot: None });
            }
            // What was said of a tin counts for more than as what it was poured.
            for TinRow { label, toner, lot, .. } in trace.tins {
                tins.insert(label.clone(), FromTin { label, toner, lot });
            }
            Ok(tins.into_values().collect())
        }
        Err(TraceError::Unknown(_)) => Ok(Vec::new()),
        Err(TraceError::Store(error)) => Err(error),
    }
}

fn leftover<B: Ledger + Store>(
    book: &B,
    of: MixTotals,
    made_of: Vec<(TonerCode, Grams)>,
) -> Result<Leftover, StoreError> {
    let events = book.events(of.mix)?;
    let emptied = events.iter().find(|event| event.kind == "mix/emptied");
    let is_thinned = emptied.is_some_and(|event| {
        matches!(serde_json::from_str(&event.body), Ok(Event::Emptied(emptied)) if emptied.thinned.is_some())
    });
    let use_by = of.head.use_by.as_deref().and_then(Day::parse);
    let tins = poured_from(book, of.mix)?;
    Ok(Leftover { kept: of.head.emptied, of, made_of, tins, use_by, is_thinned })
}
