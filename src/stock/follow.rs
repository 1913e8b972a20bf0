//! What is known of the tins, kept up with the book while a program has it open.

use super::{Recall, Receipt, StockEvent, Tin, TinName};
use crate::barcode::Day;
use crate::book::figures::TinRow;
use crate::book::{Account, Envelope, Posting};
use crate::mix::Event;
use crate::units::{Grams, Stamp};

/// Takes an event that was written into the book into what is known of the tins and the lots called back: after it they
/// are what [`shelf`](super::shelf()) and [`recalls`](super::recalls()) would read.
///
/// A label that was said to hold two toners is known as the one that was said first, or received: what was poured from it
/// as the other one only the book knows. One of which all was put right again is known still, and holds nothing.
pub fn follow(tins: &mut Vec<Tin>, recalls: &mut Vec<Recall>, event: &Envelope) {
    recalls.extend(Recall::read(event));
    match StockEvent::read(event).ok().flatten() {
        Some(StockEvent::Received(came)) => received(tins, &came, event.at),
        Some(StockEvent::Opened(of)) => on(tins, &of, |tin| tin.opened = Some(event.at)),
        Some(StockEvent::Stirred(of)) => on(tins, &of, |tin| tin.stirred = Some(event.at)),
        Some(StockEvent::Emptied { tin: of, .. }) => on(tins, &of, |tin| tin.emptied = Some(event.at)),
        Some(StockEvent::Discarded { tin: of, .. }) => on(tins, &of, |tin| tin.discarded = Some(event.at)),
        Some(StockEvent::Counted(count)) => on(tins, &count.tin, |tin| {
            tin.counted = Some(event.at);
            tin.empty = count.empty.or(tin.empty);
        }),
        Some(StockEvent::Recalled { .. } | StockEvent::LeftoverThrown(_)) => {}
        None => seen_at_bench(tins, event),
    }
    for Posting { account, toner, micrograms } in &event.postings {
        let Account::Tin(label) = account else { continue };
        let of = TinName { label: label.clone(), toner: toner.clone() };
        on(tins, &of, |tin| tin.holds += Grams::from_micrograms(*micrograms));
    }
}

fn received(tins: &mut Vec<Tin>, came: &Receipt, at: Stamp) {
    let of = came.tin.clone();
    know(tins, &of);
    for tin in tins.iter_mut().filter(|tin| tin.label == of.label) {
        if tin.toner != of.toner {
            tin.toner = of.toner.clone();
            tin.holds = Grams::ZERO;
        }
        tin.net = tin.net.or(Some(came.net));
        tin.empty = came.empty.or(tin.empty);
        tin.lot = came.lot.clone().or(tin.lot.take());
        tin.expires = came.expires.as_deref().and_then(Day::parse).or(tin.expires);
        tin.item = came.item.clone().or(tin.item.take());
        tin.supplier = tin.supplier.take().or(came.supplier.clone());
        tin.received = Some(at);
    }
}

/// One that is not known yet is from now on.
fn know(tins: &mut Vec<Tin>, of: &TinName) {
    if !tins.iter().any(|tin| tin.label == of.label) {
        tins.push(Tin::new(TinRow::unsaid(of.label.clone(), of.toner.clone()), Grams::ZERO));
    }
}

/// Changes the tin with that label, if that toner is in it.
fn on(tins: &mut Vec<Tin>, of: &TinName, change: impl FnOnce(&mut Tin)) {
    know(tins, of);
    if let Some(tin) = tins.iter_mut().find(|tin| tin.label == of.label && tin.toner == of.toner) {
        change(tin);
    }
}

/// What a barcode said at the bench fills what no receipt has said.
fn seen_at_bench(tins: &mut Vec<Tin>, event: &Envelope) {
    if event.kind != "mix/tin-taken" {
        return;
    }
    let Ok(Event::TinTaken { toner, tin: label, marks: Some(marks) }) = serde_json::from_str(&event.body)
    else {
        return;
    };
    on(tins, &TinName { label, toner }, |tin| {
        tin.lot = tin.lot.take().or(marks.lot);
        tin.expires = tin.expires.or(marks.expires.as_deref().and_then(Day::parse));
        tin.item = tin.item.take().or(marks.item);
    });
}
