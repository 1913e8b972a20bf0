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

/// What to order in whole tins of the size that came last, in words: `2 tins of 1000 g`; or how much where no tin of it was
/// ever received.
pub fn ordered_in_full(order: &Order, notation: Notation) -> String {
    match (order.packs, order.pack) {
        (Some(1), Some(pack)) => format!("1 tin of {}", notation.given_mass(pack)),
        (Some(packs), Some(pack)) => format!("{packs} tins of {}", notation.given_mass(pack)),
        _ => notation.mass(order.mass, Division::TENTH),
    }
}

/// The same as short as a column wants it: `2 x 1000 g`; or how much where no tin of it was ever received.
pub fn ordered(order: &Order, notation: Notation) -> String {
    match (order.packs, order.pack) {
        (Some(packs), Some(pack)) => format!("{packs} x {}", notation.given_mass(pack)),
        _ => notation.mass(order.mass, Division::TENTH),
    }
}
