//! The screens of the shelf.

use super::fixture::g;
use super::states::Shop;
use super::{OpenedView, ShelfView, View};
use crate::book::Daily;
use crate::book::figures::TinRow;
use crate::catalogue::{Catalogue, TonerCode};
use crate::report::shelf::{Move, Rows, Shelf, Terms};
use crate::stock::{Recall, Tin};
use crate::tui::keys::{Action, Context};
use crate::tui::on_scan::today;
use crate::tui::widgets::prompt::Input;
use crate::units::Stamp;

const DAY: i64 = 86_400_000_000;
/// 2026-10-01T07:30:00Z.
const NOW: Stamp = Stamp(1_790_839_800_000_000);

fn tin(label: &str, toner: &str, [net, holds]: [&str; 2], days_ago: i64, expires: &str) -> Tin {
    let row = TinRow {
        net: Some(net.into()),
        lot: Some(format!("L{days_ago}")),
        expires: Some(expires.into()),
        received: Some(Stamp(NOW.0 - days_ago * DAY)),
        opened: (net != holds).then_some(Stamp(NOW.0 - 20 * DAY)),
        ..TinRow::unsaid(label.into(), TonerCode::new(toner))
    };
    Tin::new(row, g(holds))
}

/// An invented shelf: enough, soon too little, too little, expired, and called back.
pub(crate) fn shelf() -> Shelf {
    let shop = Catalogue::demo();
    let tins = [
        tin("26-101", "W10", ["1482", "1102.4"], 80, "2027-06-30"),
        tin("26-144", "W10", ["1482", "1482"], 9, "2027-11-30"),
        tin("26-077", "K05", ["510", "41.3"], 90, "2026-12-31"),
        tin("26-078", "Y41", ["802", "-6.2"], 70, "2026-11-30"),
        tin("25-310", "B15", ["560", "320.8"], 200, "2026-08-31"),
        tin("26-120", "M80", ["958", "640"], 60, "2027-01-31"),
        tin("26-121", "M80", ["958", "958"], 60, "2027-01-31"),
    ];
    let recall =
        Recall { lot: "L60".into(), toner: Some(TonerCode::new("M80")), why: "specks".into(), at: NOW };
    let use_of = [("W10", "61.2"), ("K05", "4.1"), ("Y41", "7.7"), ("B15", "2.3"), ("M80", "18.4")];
    let daily: Vec<Daily> = (1..=90)
        .filter(|day| day % 7 < 5)
        .flat_map(|day| {
            use_of.map(|(toner, mass)| Daily {
                day: NOW.0 / DAY - day,
                what: "poured".into(),
                why: String::new(),
                toner: TonerCode::new(toner),
                mass: g(mass),
            })
        })
        .collect();
    let needed = [(TonerCode::new("W10"), g("257.4"))];
    let rows = Rows {
        toners: &shop.toners,
        tins: &tins,
        recalls: &[recall],
        daily: &daily,
        needed: &needed,
        for_jobs: &[],
        unnamed: &[(TonerCode::new("W10"), g("37"))].into(),
    };
    Shelf::of(rows, today(NOW, 0).unwrap(), NOW, Terms::default())
}

/// What came and went of the white, as many days back as there are moves.
pub(crate) fn moves(count: i64) -> Vec<Move> {
    let poured = |days: i64| Move {
        at: Stamp(NOW.0 - days * DAY),
        tin: (days % 5 != 0).then(|| "26-101".to_owned()),
        what: format!("mix {:04} PB-3140 ground", 412 - days),
        mass: g(if days % 2 == 0 { "-84.2" } else { "-38.2" }),
    };
    let counted = Move { at: NOW, tin: Some("26-101".into()), what: "counted".into(), mass: g("-12.4") };
    let came = Move {
        at: Stamp(NOW.0 - 80 * DAY),
        tin: Some("26-101".into()),
        what: "received from Northgate Coatings (invented)".into(),
        mass: g("1482"),
    };
    [counted].into_iter().chain((1..=count).map(poured)).chain([came]).collect()
}

pub(super) fn shelf_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let shelf = shelf();
    let rows: Vec<usize> = shelf
        .toners
        .iter()
        .enumerate()
        .filter(|(_, toner)| toner.is_of_interest())
        .map(|(at, _)| at)
        .collect();
    let keys = [
        Action::Accept,
        Action::Sort,
        Action::Receive,
        Action::Stocktake,
        Action::StirRack,
        Action::Delivery,
        Action::Up,
        Action::Down,
        Action::Leftovers,
        Action::Back,
    ];
    let list = ShelfView {
        shelf: Some(Ok(&shelf)),
        rows: &rows,
        query: Input { text: "", cursor: 0 },
        sort: "by code",
        selected: 1,
        opened: None,
        seconds_east: 0,
        link_words: "steady",
        chrome: shop.chrome(Context::Shelf, &keys),
    };
    see("shelf", &View::Shelf(list));
    let mut for_jobs = shelf.clone();
    for_jobs.not_counted = vec![
        "not counted in, ground coat of '26-118 tailgate': the product GC-9 is not in products.toml: add its sheet \
         there, or name another for this layer"
            .to_owned(),
        "not counted in, clear coat of '26-121': no product is for a layer like clear coat".to_owned(),
    ];
    see("shelf-not-counted", &View::Shelf(ShelfView { shelf: Some(Ok(&for_jobs)), ..list }));
    let only_back = shop.chrome(Context::Shelf, &[Action::Back]);
    let none = ShelfView { rows: &[], query: Input { text: "qq", cursor: 2 }, chrome: only_back, ..list };
    see("shelf-nothing-found", &View::Shelf(none));
    let reading = ShelfView { shelf: None, query: list.query, ..none };
    see("shelf-being-read", &View::Shelf(reading));
    let why =
        "the book is from an older program and has no figures yet: open the bench once, then they are there";
    see("shelf-not-read", &View::Shelf(ShelfView { shelf: Some(Err(why)), ..reading }));
    let moves = moves(30);
    let keys = [
        Action::Up,
        Action::Down,
        Action::Stocktake,
        Action::Receive,
        Action::TinOpened,
        Action::TinStirred,
        Action::TinEmptied,
        Action::DiscardTin,
        Action::RecallLot,
        Action::StirRack,
        Action::OfTin,
        Action::Back,
        Action::PageUp,
        Action::PageDown,
    ];
    let opened =
        OpenedView { toner: shelf.toner("W10"), moves: Some(Ok(&moves)), scroll: 0, tin: 0, of_tin: None };
    let opened = ShelfView { opened: Some(opened), chrome: shop.chrome(Context::Tins, &keys), ..list };
    see("shelf-toner", &View::Shelf(opened));
    let of_tin = opened.opened.map(|opened| OpenedView { of_tin: Some("26-101"), ..opened });
    see("shelf-toner-of-tin", &View::Shelf(ShelfView { opened: of_tin, ..opened }));
    let recalled =
        OpenedView { toner: shelf.toner("M80"), moves: Some(Ok(&[])), scroll: 0, tin: 0, of_tin: None };
    see("shelf-toner-called-back", &View::Shelf(ShelfView { opened: Some(recalled), ..opened }));
    let weigh = OpenedView { toner: shelf.toner("Y41"), moves: None, scroll: 0, tin: 0, of_tin: None };
    see("shelf-toner-to-weigh", &View::Shelf(ShelfView { opened: Some(weigh), ..opened }));
}
