//! The figures in a few words, as a person reads them.

use super::{Order, TonerShelf, grams};
use crate::units::{Division, Notation};

/// What is used a day, as a number; `none` where nothing was, empty where the days are too few to say.
pub fn a_day(toner: &TonerShelf, notation: Notation) -> String {
    if toner.used.total.is_zero() {
        return "none".to_owned();
    }
    let mean = |mean| notation.weight(grams(mean), Division::TENTH);
    toner.used.a_day.map_or_else(String::new, |demand| mean(demand.mean))
}

/// The same with how much it differs from day to day.
pub fn a_day_and_spread(toner: &TonerShelf, notation: Notation) -> String {
    let mean = a_day(toner, notation);
    match toner.used.a_day.filter(|_| !toner.used.total.is_zero()) {
        Some(demand) => format!("{mean} +- {}", notation.weight(grams(demand.deviation), Division::TENTH)),
        None => mean,
    }
}

/// For how long it lasts; empty where nobody knows or nothing is used.
pub fn lasts(toner: &TonerShelf) -> String {
    toner.cover.map_or_else(String::new, |days| match days.floor() {
        1.0 => "1 day".to_owned(),
        days if days > 999.0 => "years".to_owned(),
        days => format!("{days:.0} days"),
    })
}

/// How little may be left before it is time to order, as a number; empty where nobody knows or nothing is used.
pub fn order_at(toner: &TonerShelf, notation: Notation) -> String {
    let point = toner.point.filter(|_| !toner.used.total.is_zero());
    point.map_or_else(String::new, |point| notation.weight(grams(point.point), Division::TENTH))
}

/// What to order in whole tins of the size that came last, in words: `2 tins of 1 L (1000 g)`, `2 tins of 1000 g` where its
/// receipt gives no size; or how much where no tin of it was ever received.
pub fn ordered_in_full(order: &Order, notation: Notation) -> String {
    let (Some(packs), Some(pack)) = (order.packs, order.pack) else {
        return notation.mass(order.mass, Division::TENTH);
    };
    let tins = if packs == 1 { "1 tin".to_owned() } else { format!("{packs} tins") };
    match &order.size {
        Some(size) => format!("{tins} of {size} ({})", notation.given_mass(pack)),
        None => format!("{tins} of {}", notation.given_mass(pack)),
    }
}

/// The same as short as a column wants it: `2 x 1 L`, `2 x 1000 g`; or how much where no tin of it was ever received.
pub fn ordered(order: &Order, notation: Notation) -> String {
    match (order.packs, &order.size, order.pack) {
        // A size is typed by people: one that is a sentence would push the other columns off the page.
        (Some(packs), Some(size), Some(_)) if size.chars().count() <= SHORT => format!("{packs} x {size}"),
        (Some(packs), _, Some(pack)) => format!("{packs} x {}", notation.given_mass(pack)),
        _ => notation.mass(order.mass, Division::TENTH),
    }
}

/// So many letters of a size go into a column.
const SHORT: usize = 8;
