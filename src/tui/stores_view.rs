//! From the stores manager's state to what is drawn of it: the stocktake, and what is kept of earlier mixes.

use super::app::App;
use super::leftovers::LeftoversPage;
use super::on_delivery::DeliveryPage;
use super::screens::{
    ArrivingTin, Chrome, CountRow, DeliveryView, Found, LeftoverPart, LeftoverRow, LeftoversView,
    StocktakeView,
};
use super::stocktake::{NotTaken, Stocktake};
use super::view::input;
use crate::catalogue::TonerCode;
use crate::scale::Mode;
use crate::stock::{Count, Leftover};
use crate::units::{Grams, Share};

/// A day has so many microseconds.
const DAY: i64 = 86_400_000_000;

fn found(count: &Count) -> Found {
    Found { found: count.found, booked: count.booked, unnamed: count.unnamed.unwrap_or(Grams::ZERO) }
}

/// Hands on the view of a stocktake.
pub(super) fn with_stocktake(
    app: &App,
    stocktake: &Stocktake,
    chrome: Chrome<'_>,
    see: impl FnOnce(StocktakeView<'_>),
) {
    let toners: Vec<String> =
        stocktake.rows.iter().map(|row| app.toner_words(row.tin.toner.as_str())).collect();
    let rows: Vec<CountRow<'_>> = stocktake
        .rows
        .iter()
        .zip(&toners)
        .map(|(row, toner)| CountRow {
            label: &row.tin.label,
            toner,
            booked: row.tin.holds,
            done: row.done.as_ref().map(found),
        })
        .collect();
    let advice = advice(app, stocktake);
    let live = stocktake.live(&app.scale).filter(|found| !found.is_negative());
    see(StocktakeView {
        rows: &rows,
        selected: stocktake.selected,
        gross: app.scale.live().filter(|_| app.scale.mode() != Some(Mode::Net)),
        steady: app.scale.weight().is_some() && !stocktake.is_still_on(),
        empty: stocktake.marked().and_then(super::stocktake::ToCount::empty),
        found: live,
        unnamed: app.unnamed_of_marked(),
        advice: &advice,
        division: app.limits().division,
        link_words: app.scale.word(),
        chrome,
    });
}

/// Hands on the view of a delivery before it is received.
pub(super) fn with_delivery(
    app: &App,
    page: &DeliveryPage,
    chrome: Chrome<'_>,
    see: impl FnOnce(DeliveryView<'_>),
) {
    let delivery = &page.delivery;
    let toners: Vec<String> =
        delivery.receipts().map(|receipt| app.toner_words(receipt.tin.toner.as_str())).collect();
    let tins: Vec<ArrivingTin<'_>> = delivery
        .receipts()
        .zip(&toners)
        .map(|(receipt, toner)| ArrivingTin {
            label: &receipt.tin.label,
            toner,
            net: receipt.net,
            lot: receipt.lot.as_deref().unwrap_or_default(),
            expires: receipt.expires.as_deref().unwrap_or_default(),
            price: receipt.price,
            supplier: receipt.supplier.as_deref().unwrap_or_default(),
        })
        .collect();
    see(DeliveryView { from: &page.from, tins: &tins, wrong: &delivery.wrong, scroll: page.scroll, chrome });
}

/// What is to be done next, in a sentence.
fn advice(app: &App, stocktake: &Stocktake) -> String {
    let Some(row) = stocktake.marked() else { return String::new() };
    let label = &row.tin.label;
    if !app.scale.is_present() {
        return format!("There is no scale: type what is in tin {label}.");
    }
    if stocktake.is_still_on() {
        return format!("Take the tin off the scale and put tin {label} on it.");
    }
    if row.empty().is_none() {
        return format!("What tin {label} weighs empty is not known: type that, or what is in it.");
    }
    match stocktake.weigh(&app.scale, app.unnamed_of_marked()) {
        Ok(_) | Err(NotTaken::NoTin | NotTaken::NoScale) => String::new(),
        Err(NotTaken::NoWeight(_)) if app.scale.live().is_some_and(|live| !live.is_positive()) => {
            format!("Put tin {label} on the scale with its lid, or scan another.")
        }
        Err(NotTaken::NoWeight(why)) => {
            let mut letters = why.chars();
            let first = letters.next().map(|letter| letter.to_uppercase().to_string()).unwrap_or_default();
            format!("{first}{}", letters.as_str())
        }
        Err(NotTaken::Refused(refusal)) => app.refusal(&refusal),
    }
}

/// Hands on the view of the leftovers.
pub(super) fn with_leftovers(
    app: &App,
    page: &LeftoversPage,
    chrome: Chrome<'_>,
    see: impl FnOnce(LeftoversView<'_>),
) {
    let shown: Vec<&Leftover> = app.shown_leftovers(page).collect();
    let texts: Vec<[String; 3]> = shown.iter().map(|leftover| app.leftover_words(leftover)).collect();
    let age = |leftover: &Leftover| {
        let age = app.now.stamp.0.saturating_sub(leftover.kept?.0);
        Some(age.max(0).div_euclid(DAY))
    };
    let rows: Vec<LeftoverRow<'_>> = shown
        .iter()
        .zip(&texts)
        .map(|(leftover, [of, use_by, unfit])| LeftoverRow {
            number: leftover.of.head.number,
            of,
            holds: leftover.holds(),
            days: age(leftover),
            use_by,
            unfit,
        })
        .collect();
    let marked = shown.get(page.selected).copied();
    let shares: Vec<(String, Grams, Share)> = marked.map_or_else(Vec::new, |leftover| {
        let whole = leftover.holds();
        let part = |(toner, mass): &(TonerCode, Grams)| {
            (app.toner_words(toner.as_str()), *mass, mass.share_of(whole).unwrap_or_default())
        };
        leftover.made_of.iter().map(part).collect()
    });
    let parts: Vec<LeftoverPart<'_>> = shares
        .iter()
        .map(|(toner, mass, share)| LeftoverPart { toner, mass: *mass, share: *share })
        .collect();
    let said = marked.and_then(|leftover| app.unfit(leftover)).map(|unfit| unfit.to_string());
    let opened = page.opened.as_ref().map(|opened| {
        let of = shown.iter().find(|leftover| leftover.of.head.number == opened.number);
        opened.view(of.map(|leftover| leftover.holds()))
    });
    see(LeftoversView {
        rows: &rows,
        all: app.leftovers.len(),
        query: input(&page.query),
        sort: page.sort.words(),
        selected: page.selected,
        parts: &parts,
        said: said.as_deref().unwrap_or_default(),
        opened,
        seconds_east: app.settings.seconds_east,
        link_words: app.scale.word(),
        chrome,
    });
}
