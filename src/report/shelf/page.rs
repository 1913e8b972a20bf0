//! The shelf as a page: how much of each toner there is, and what to order; or one toner, tin by tin.

use super::words::{a_day_and_spread, lasts, ordered_in_full};
use super::{Shelf, ShelfTin, TonerShelf};
use crate::report::Shown;
use crate::report::chart::{Bar, Chart};
use crate::report::page::{Page, Section};
use crate::report::table::{Cell, Column, Table};
use crate::units::Grams;

/// What stands above it and below it, by what it was reckoned.
pub struct Said {
    /// By what days and terms.
    pub title: String,
    /// What has to be said of the figures.
    pub remarks: Vec<String>,
}

/// What is left, and what is gone of what came in the tins that are still there, as far as that is known.
fn level(label: String, holds: Grams, came: Grams, figure: String) -> Bar {
    let left = holds.max(Grams::ZERO);
    Bar { label, parts: vec![left, (came - left).max(Grams::ZERO)], figure }
}

fn levels(title: &str, bars: Vec<Bar>) -> Chart {
    Chart { title: title.to_owned(), parts: vec![("sprayed", "left"), ("cup", "gone of what came in")], bars }
}

/// What came in the tins of a toner that can be used.
fn came(toner: &TonerShelf) -> Grams {
    let usable = toner.tins.iter().filter(|tin| tin.state.is_usable());
    usable.filter_map(|tin| tin.tin.net).sum()
}

fn label(toner: &TonerShelf) -> String {
    format!("{} {}", toner.toner, toner.name).trim().to_owned()
}

/// What is to be ordered.
fn orders(shelf: &Shelf, shown: Shown) -> Section {
    let columns = vec![
        Column::new("toner", "toner"),
        Column::new("name", "name"),
        Column::new("order", "order"),
        Column::new("item", "item"),
        Column::new("supplier", "supplier"),
        Column::new("for_jobs_g", "for open jobs"),
    ];
    let rows = shelf.orders().map(|(toner, order)| {
        vec![
            Cell::text(toner.toner.as_str()),
            Cell::text(&toner.name),
            Cell::text(&ordered_in_full(order, shown.0)),
            Cell::text(order.item.as_deref().unwrap_or_default()),
            Cell::text(order.supplier.as_deref().unwrap_or_default()),
            Cell::Mass(toner.for_jobs),
        ]
    });
    let table = Table {
        title: "To order".to_owned(),
        columns,
        rows: rows.collect(),
        total: None,
        notes: vec!["What is on order already the book does not know: take it off.".to_owned()],
    };
    Section { id: "order", chart: None, table }
}

/// The page of the order alone.
pub fn order(shelf: &Shelf, said: Said, shown: Shown) -> Page {
    Page {
        title: "Order".to_owned(),
        days: said.title,
        tiles: vec![("toners", shelf.orders().count().to_string())],
        sections: vec![orders(shelf, shown)],
        notes: Vec::new(),
    }
}

/// The page of the whole shelf.
pub fn all(shelf: &Shelf, said: Said, shown: Shown) -> Page {
    let of_interest: Vec<&TonerShelf> = shelf.toners.iter().filter(|toner| toner.is_of_interest()).collect();
    let columns = vec![
        Column::new("toner", "toner"),
        Column::new("name", "name"),
        Column::new("tins", "tins"),
        Column::new("holds_g", "on the shelf"),
        Column::new("a_day_g", "a day"),
        Column::new("lasts", "lasts"),
        Column::new("expires", "expires"),
        Column::new("for_jobs_g", "for open jobs"),
        Column::new("order", "order"),
    ];
    let rows = of_interest.iter().map(|toner| {
        let order = toner.order.as_ref().map_or_else(String::new, |order| ordered_in_full(order, shown.0));
        vec![
            Cell::text(toner.toner.as_str()),
            Cell::text(&toner.name),
            Cell::Count(u32::try_from(toner.tins.len()).unwrap_or(u32::MAX)),
            Cell::Mass(toner.holds),
            Cell::text(&a_day_and_spread(toner, shown.0)),
            Cell::text(&lasts(toner)),
            Cell::text(&toner.expires().unwrap_or_default()),
            Cell::Mass(toner.for_jobs),
            Cell::text(&order),
        ]
    });
    let table = Table {
        title: "On the shelf".to_owned(),
        columns,
        rows: rows.collect(),
        total: None,
        notes: Vec::new(),
    };
    let with_unit = |mass: Grams| format!("{} {}", shown.mass(mass), shown.unit());
    let bars =
        of_interest.iter().map(|toner| level(label(toner), toner.holds, came(toner), with_unit(toner.holds)));
    let chart = levels("How much of each toner is left", bars.collect());
    let held: Grams = of_interest.iter().map(|toner| toner.holds).sum();
    Page {
        title: "Shelf".to_owned(),
        days: said.title,
        tiles: vec![
            ("toners", of_interest.len().to_string()),
            ("on the shelf", with_unit(held)),
            ("to order", shelf.orders().count().to_string()),
        ],
        sections: vec![Section { id: "toners", chart: Some(chart), table }, orders(shelf, shown)],
        notes: said.remarks.into_iter().filter(|words| !words.is_empty()).collect(),
    }
}

/// The page of one toner, tin by tin.
pub fn one(toner: &TonerShelf, said: Said, shown: Shown) -> Page {
    let columns = vec![
        Column::new("tin", "tin"),
        Column::new("holds_g", "holds"),
        Column::new("net_g", "held at first"),
        Column::new("state", "state"),
        Column::new("expires", "expires"),
        Column::new("lot", "lot"),
        Column::new("item", "item"),
    ];
    let rows = toner.tins.iter().map(|ShelfTin { tin, state }| {
        vec![
            Cell::text(&tin.label),
            Cell::Mass(tin.holds),
            tin.net.map_or_else(|| Cell::text(""), Cell::Mass),
            Cell::text(state.word()),
            Cell::text(&tin.expires.map(|day| day.to_string()).unwrap_or_default()),
            Cell::text(tin.lot.as_deref().unwrap_or_default()),
            Cell::text(tin.item.as_deref().unwrap_or_default()),
        ]
    });
    let table =
        Table { title: "Its tins".to_owned(), columns, rows: rows.collect(), total: None, notes: Vec::new() };
    let with_unit = |mass: Grams| format!("{} {}", shown.mass(mass), shown.unit());
    let bars = toner.tins.iter().map(|ShelfTin { tin, .. }| {
        level(tin.label.clone(), tin.holds, tin.net.unwrap_or_default(), with_unit(tin.holds))
    });
    let order = toner.order.as_ref().map_or_else(|| "-".to_owned(), |order| ordered_in_full(order, shown.0));
    let mut tiles = vec![("on the shelf", with_unit(toner.holds))];
    if toner.unnamed.is_positive() {
        tiles.push(("taken off, of tins not named", with_unit(toner.unnamed)));
    }
    tiles.extend([("for open jobs", with_unit(toner.for_jobs)), ("lasts", lasts(toner)), ("order", order)]);
    Page {
        title: label(toner),
        days: said.title,
        tiles,
        sections: vec![Section {
            id: "tins",
            chart: Some(levels("How much is left in each tin", bars.collect())),
            table,
        }],
        notes: Vec::new(),
    }
}
