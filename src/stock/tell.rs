//! What can be said of the stock: each answers with the event that says it, or why not.

use super::{Count, Leftover, LeftoverThrown, Receipt, StockEvent, StockRefusal, Tin, TinName};
use crate::barcode::Day;
use crate::book::figures::TinRow;
use crate::catalogue::TonerCode;
use crate::mix::split;
use crate::units::{Grams, Money, clean};

fn tidy(text: &str) -> String {
    clean(text).trim().to_owned()
}

fn said(text: Option<&str>) -> Option<String> {
    text.map(tidy).filter(|text| !text.is_empty())
}

/// A tin by its label and toner.
pub fn name(label: &str, toner: &str) -> Result<TinName, StockRefusal> {
    let (label, toner) = (tidy(label), tidy(toner));
    if label.is_empty() {
        return Err(StockRefusal::NoLabel);
    }
    if toner.is_empty() {
        return Err(StockRefusal::NoToner(label));
    }
    Ok(TinName { label, toner: TonerCode::new(toner) })
}

/// A tin came. `known` is what the book says of a tin with that label already.
pub fn receive(receipt: &Receipt, known: Option<&TinRow>) -> Result<StockEvent, StockRefusal> {
    let tin = name(&receipt.tin.label, receipt.tin.toner.as_str())?;
    let label = || tin.label.clone();
    if known.is_some_and(|known| known.received.is_some()) {
        return Err(StockRefusal::LabelUsed(label()));
    }
    let net = receipt.net.to_book();
    if !net.is_positive() {
        return Err(StockRefusal::NothingInIt { label: label(), mass: receipt.net });
    }
    let empty = receipt.empty.map(Grams::to_book);
    if let Some(mass) = empty.filter(|empty| !empty.is_positive()) {
        return Err(StockRefusal::NoEmptyTin { label: label(), mass });
    }
    if receipt.price.is_some_and(Money::is_negative) {
        return Err(StockRefusal::BadPrice(label()));
    }
    let expires = said(receipt.expires.as_deref());
    if let Some(text) = expires.as_ref().filter(|text| Day::parse(text).is_none()) {
        return Err(StockRefusal::BadDay { label: label(), text: text.clone() });
    }
    Ok(StockEvent::Received(Receipt {
        net,
        empty,
        size: said(receipt.size.as_deref()),
        lot: said(receipt.lot.as_deref()),
        expires,
        price: receipt.price,
        item: said(receipt.item.as_deref()),
        supplier: said(receipt.supplier.as_deref()),
        tin,
    }))
}

fn on_shelf(tin: &Tin) -> Result<TinName, StockRefusal> {
    if tin.discarded.is_some() {
        return Err(StockRefusal::IsGone(tin.label.clone()));
    }
    Ok(TinName { label: tin.label.clone(), toner: tin.toner.clone() })
}

/// How much of what a tin lacks was poured without a tin's name; none where nothing was.
fn of_unnamed(lacks: Grams, unnamed: Grams) -> Option<Grams> {
    Some(lacks.min(unnamed)).filter(|mass| mass.is_positive())
}

/// A tin was counted: weighed with its lid, or, where `gross` is none, judged to hold `found`. What it lacks is first what
/// of its toner was poured without a tin's name and not found yet, `unnamed`.
pub fn count(
    tin: &Tin,
    gross: Option<Grams>,
    empty: Option<Grams>,
    found: Grams,
    why: Option<&str>,
    unnamed: Grams,
) -> Result<StockEvent, StockRefusal> {
    let of = on_shelf(tin)?;
    let gross = gross.map(Grams::to_book);
    let empty = gross.and(empty.map(Grams::to_book).or(tin.empty));
    let found = match (gross, empty) {
        (Some(gross), Some(empty)) if gross < empty => {
            return Err(StockRefusal::LighterThanEmpty { label: of.label, gross, empty });
        }
        (Some(gross), Some(empty)) => gross - empty,
        (Some(_), None) => return Err(StockRefusal::EmptyUnknown(of.label)),
        (None, _) if found.is_negative() => {
            return Err(StockRefusal::NothingInIt { label: of.label, mass: found });
        }
        (None, _) => found.to_book(),
    };
    let (booked, why) = (tin.holds, said(why));
    let unnamed = of_unnamed(booked - found, unnamed);
    Ok(StockEvent::Counted(Count { tin: of, gross, empty, found, booked, unnamed, why }))
}

/// A tin is empty. What the book still has in it is first what of its toner was poured without a tin's name and not found
/// yet, `unnamed`.
pub fn empty(tin: &Tin, unnamed: Grams) -> Result<StockEvent, StockRefusal> {
    let booked = tin.holds;
    Ok(StockEvent::Emptied { tin: on_shelf(tin)?, booked, unnamed: of_unnamed(booked, unnamed) })
}

/// A tin is thrown away with what is in it. Nobody has looked how much that is: it lacks what was poured without a tin's name
/// and can have come from no other, `unnamed`.
pub fn discard(tin: &Tin, reason: &str, unnamed: Grams) -> Result<StockEvent, StockRefusal> {
    let reason = said(Some(reason)).ok_or(StockRefusal::NoReason)?;
    let booked = tin.holds;
    Ok(StockEvent::Discarded { tin: on_shelf(tin)?, booked, unnamed: of_unnamed(booked, unnamed), reason })
}

/// A lot is called back.
pub fn recall(lot: &str, toner: Option<&TonerCode>, why: &str) -> Result<StockEvent, StockRefusal> {
    let lot = said(Some(lot)).ok_or(StockRefusal::NoLot)?;
    let why = said(Some(why)).ok_or(StockRefusal::NoReason)?;
    Ok(StockEvent::Recalled { lot, toner: toner.cloned(), why })
}

/// A leftover is thrown away, or so much of it.
pub fn throw_leftover(
    leftover: &Leftover,
    mass: Option<Grams>,
    reason: &str,
) -> Result<StockEvent, StockRefusal> {
    let reason = said(Some(reason)).ok_or(StockRefusal::NoReason)?;
    let parts = match mass.map(Grams::to_book) {
        None => leftover.made_of.clone(),
        Some(mass) if !mass.is_positive() => return Err(StockRefusal::Nothing),
        Some(mass) if mass > leftover.holds() => {
            return Err(StockRefusal::MoreThanLeft(leftover.holds()));
        }
        Some(mass) => {
            split(&leftover.made_of, mass).into_iter().filter(|(_, mass)| !mass.is_zero()).collect()
        }
    };
    Ok(StockEvent::LeftoverThrown(LeftoverThrown { mix: leftover.of.mix.to_string(), parts, reason }))
}
