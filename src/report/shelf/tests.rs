use super::*;
use crate::book::figures::TinRow;
use crate::book::testing::{by, envelopes, whole};
use crate::book::{Ids, SqliteStore, Store as _};
use crate::catalogue::Catalogue;
use crate::stock::{self, Receipt, TinName, receive};
use crate::units::Notation;

const NOW: Stamp = Stamp(1_790_839_800_000_000);

fn g(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

fn today() -> Today {
    // NOW is 2026-10-01T07:30:00Z.
    let row =
        TinRow { expires: Some("2026-10-01".into()), ..TinRow::unsaid("x".into(), TonerCode::new("x")) };
    Today { day: Tin::new(row, Grams::ZERO).expires.unwrap(), began: Stamp(day_of(NOW) * DAY) }
}

fn tin(label: &str, toner: &str, net: &str, holds: &str, days_ago: i64) -> Tin {
    let row = TinRow {
        net: Some(net.into()),
        received: Some(Stamp(NOW.0 - days_ago * DAY)),
        ..TinRow::unsaid(label.into(), TonerCode::new(toner))
    };
    Tin::new(row, g(holds))
}

fn poured_on(days_ago: i64, toner: &str, mass: &str) -> Daily {
    Daily {
        day: day_of(NOW) - days_ago,
        what: "poured".into(),
        why: String::new(),
        toner: TonerCode::new(toner),
        mass: g(mass),
    }
}

fn of(tins: &[Tin], daily: &[Daily], needed: &[(TonerCode, Grams)], terms: Terms) -> Shelf {
    Shelf::of(
        Rows { toners: &[], tins, recalls: &[], daily, needed, for_jobs: &[], unnamed: &BTreeMap::new() },
        today(),
        NOW,
        terms,
    )
}

fn terms(days: u16) -> Terms {
    Terms { days, ..Terms::default() }
}

/// By hand: 20 g on one day and 0 g on the next, twenty days long, are 10 g a day; the squares are 20 · 100, so the
/// sample's deviation is √(2000/19) = 10.2598. z of 95 % is 1.6449 (NIST/SEMATECH e-Handbook 1.3.6.7.1, from memory), so in
/// seven days 70 + 1.6449 · 10.2598 · √7 = 114.65 g. Of 100 g at hand nothing is free to wait: up to 14 days' 140 +
/// 1.6449 · 10.2598 · √14 = 203.14 g, so 103.2 g are missing.
#[test]
fn use_cover_point_and_order_by_hand() {
    let daily: Vec<Daily> = (1..=20).step_by(2).map(|day| poured_on(day, "A", "20")).collect();
    let tins = [tin("1", "A", "1000", "100", 200)];
    let shelf = of(&tins, &daily, &[], terms(20));
    let a = shelf.toner("a").unwrap();
    let demand = a.used.a_day.unwrap();
    assert_eq!((a.used.total, a.used.days), (g("200"), 20));
    assert!((demand.mean - 10.0).abs() < 1e-9 && (demand.deviation - 10.2598).abs() < 1e-4, "{demand:?}");
    assert!((a.cover.unwrap() - 10.0).abs() < 1e-9);
    assert!((a.point.unwrap().point - 114.65).abs() < 0.01, "{:?}", a.point);
    let order = a.order.as_ref().unwrap();
    assert_eq!((order.mass, order.packs, order.pack), (g("103.2"), Some(1), Some(g("1000"))));
    assert_eq!(a.level.unwrap(), Share::from_percent(Decimal::TEN));
    // With more than the point nothing is ordered, unless mixes that are not done need it.
    let tins = [tin("1", "A", "1000", "114.7", 200)];
    assert_eq!(of(&tins, &daily, &[], terms(20)).toners[0].order, None);
    let needed = [(TonerCode::new("A"), g("0.1"))];
    assert!(of(&tins, &daily, &needed, terms(20)).toners[0].order.is_some());
}

/// Today is not over, and what was before the days that count does not count.
#[test]
fn only_whole_days_before_today_count() {
    let tins = [tin("1", "A", "1000", "100", 200)];
    let rows = [(0, "500"), (1, "7"), (10, "3"), (11, "900")].map(|(day, mass)| poured_on(day, "A", mass));
    let shelf = of(&tins, &rows, &[], terms(10));
    assert_eq!((shelf.toners[0].used.total, shelf.toners[0].used.days), (g("10"), 10));
}

/// A toner that came a week ago was not left unused for the weeks before; one of which no receipt tells may have been.
#[test]
fn use_is_counted_from_when_the_toner_is_known() {
    let tins = [tin("1", "A", "1000", "930", 10), tin("2", "B", "1000", "1000", 60)];
    let rows = [poured_on(2, "A", "70"), poured_on(5, "C", "30")];
    let shelf = of(&tins, &rows, &[], terms(90));
    let used = |code: &str| shelf.toner(code).map(|one| (one.used.total, one.used.days)).unwrap();
    assert_eq!(used("A"), (g("70"), 10));
    assert_eq!(used("B"), (g("0"), 60));
    assert_eq!(used("C"), (g("30"), 60));
    // Of four days nobody can say what a day uses.
    let young = of(&[tin("1", "A", "1000", "930", 4)], &rows[..1], &[], terms(90));
    let a = &young.toners[0];
    assert_eq!((a.used.days, a.used.a_day, a.cover, a.point, &a.order), (4, None, None, None, &None));
}

#[test]
fn tins_that_may_not_be_used_do_not_count() {
    let mut old = tin("old", "A", "500", "500", 90);
    let day = |text: &str| {
        Tin::new(
            TinRow { expires: Some(text.into()), ..TinRow::unsaid("x".into(), TonerCode::new("x")) },
            Grams::ZERO,
        )
        .expires
    };
    old.expires = day("2026-09-30");
    let mut bad = tin("bad", "A", "500", "400", 80);
    bad.lot = Some("L1".into());
    let mut gone = tin("gone", "A", "500", "0", 80);
    gone.emptied = Some(NOW);
    let mut good = tin("good", "A", "500", "500", 70);
    good.expires = day("2026-10-01");
    let below = tin("below", "A", "500", "-20", 60);
    let tins = [old, bad, gone, good, below];
    let recall = Recall { lot: "L1".into(), toner: None, why: "specks".into(), at: NOW };
    let rows = Rows {
        toners: &[],
        tins: &tins,
        recalls: &[recall],
        daily: &[],
        needed: &[],
        for_jobs: &[],
        unnamed: &BTreeMap::new(),
    };
    let shelf = Shelf::of(rows, today(), NOW, Terms::default());
    let a = &shelf.toners[0];
    let states: Vec<_> = a.tins.iter().map(|tin| (tin.tin.label.as_str(), tin.state)).collect();
    assert_eq!(
        states,
        [
            ("good", TinState::Unopened),
            ("below", TinState::Empty),
            ("old", TinState::Expired),
            ("bad", TinState::Recalled),
        ]
    );
    assert_eq!((a.holds, a.level), (g("500"), Some(Share::from_percent(Decimal::from(50)))));
    assert_eq!(a.expires().as_deref(), Some("2026-10-01"));
    assert_eq!(a.tins[1].level(), Some(Share::ZERO));
}

/// The size is that of the tin that came last, as the item's number is. By hand: 2000.01 g are three tins of 1000 g, 3000 g;
/// 103.2 g one.
#[test]
fn an_order_is_in_whole_tins_of_the_size_that_came_last() {
    let sizes = |nets: &[&str]| -> Option<Grams> {
        let tins: Vec<Tin> = nets.iter().zip(0..).map(|(net, at)| tin("t", "A", net, "0", 90 - at)).collect();
        order(&TonerCode::new("A"), &tins, 2500.0).pack
    };
    assert_eq!(sizes(&["1000", "500", "1000"]), Some(g("1000")));
    assert_eq!(sizes(&["1000", "1000", "500"]), Some(g("500")));
    assert_eq!(sizes(&[]), None);
    let needed = [(TonerCode::new("A"), g("2000.01"))];
    let shelf = of(&[tin("1", "A", "1000", "0", 90)], &[], &needed, Terms::default());
    let order = shelf.toners[0].order.clone().unwrap();
    assert_eq!((order.mass, order.packs, order.whole()), (g("2000.1"), Some(3), g("3000")));
    assert_eq!(words::ordered_in_full(&order, Notation::METRIC), "3 tins of 1000 g");
    assert_eq!(words::ordered(&order, Notation::METRIC), "3 x 1000 g");
    let sized = |size: &str| Order { size: Some(size.to_owned()), ..order.clone() };
    assert_eq!(words::ordered_in_full(&sized("1 L"), Notation::METRIC), "3 tins of 1 L (1000 g)");
    assert_eq!(words::ordered(&sized("1 L"), Notation::METRIC), "3 x 1 L");
    assert_eq!(words::ordered(&sized("1 L in a box"), Notation::METRIC), "3 x 1000 g");
    let one = Order { mass: g("103.2"), packs: Some(1), ..order.clone() };
    assert_eq!(
        (one.whole(), words::ordered_in_full(&one, Notation::METRIC)),
        (g("1000"), "1 tin of 1000 g".to_owned())
    );
    let unknown = Order { packs: None, pack: None, ..one };
    assert_eq!(
        (unknown.whole(), words::ordered_in_full(&unknown, Notation::METRIC)),
        (g("103.2"), "103.2 g".to_owned())
    );
}

/// Every toner of the shop is there, also one that nobody ever had.
#[test]
fn an_empty_book_orders_nothing() {
    let shop = Catalogue::demo();
    let rows = Rows {
        toners: &shop.toners,
        tins: &[],
        recalls: &[],
        daily: &[],
        needed: &[],
        for_jobs: &[],
        unnamed: &BTreeMap::new(),
    };
    let shelf = Shelf::of(rows, today(), NOW, Terms::default());
    assert_eq!(shelf.toners.len(), shop.toners.len());
    assert_eq!(shelf.orders().count(), 0);
    assert!(
        shelf.toners.iter().all(|one| one.level.is_none() && one.cover.is_none() && !one.name.is_empty())
    );
}

/// What is behind a figure: the latest first, also what came from a tin whose label was not said.
#[test]
fn the_moves_of_a_toner_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = SqliteStore::open(&folder.path().join("book"), Stamp(1)).unwrap().into_parts().0;
    let mut ids = Ids::counted(1);
    let receipt = Receipt {
        tin: TinName { label: "24-1".into(), toner: TonerCode::new("A") },
        net: g("1000"),
        empty: None,
        size: None,
        lot: None,
        expires: None,
        price: None,
        item: None,
        supplier: Some("North".into()),
    };
    let at = Stamp(1_700_000_000_000_000);
    let came = receive(&receipt, None).unwrap().envelope(ids.event(at), at, &by()).unwrap();
    let (_, mix) = envelopes(&mut ids, &whole());
    let white = mix.last().unwrap().at;
    for envelope in [came].iter().chain(&mix) {
        store.append(envelope).unwrap();
    }
    let tin = stock::tin(&store, "24-1").unwrap().unwrap();
    let at = Stamp(white.0 + DAY);
    let count = stock::count(&tin, None, None, g("990"), None).unwrap();
    store.append(&count.envelope(ids.event(at), at, &by()).unwrap()).unwrap();
    let told: Vec<_> = moves(&store, &TonerCode::new("A"))
        .unwrap()
        .into_iter()
        .map(|one| (one.tin, one.what, one.mass.is_negative()))
        .collect();
    let tin = || Some("24-1".to_owned());
    assert_eq!(
        told,
        [
            (tin(), "counted".to_owned(), true),
            (None, "mix 0001 PB-0000 ground".to_owned(), true),
            (tin(), "received from North".to_owned(), false),
        ]
    );
    assert_eq!(moves(&store, &TonerCode::new("Z")).unwrap(), []);
    // The same mix not done needs what it has not got yet.
    let (_, begun) = envelopes(&mut ids, &whole()[..2]);
    for envelope in &begun {
        store.append(envelope).unwrap();
    }
    let needed = needed(&store).unwrap();
    let of = |code: &str| needed.iter().find(|(toner, _)| toner.as_str() == code).map(|(_, mass)| *mass);
    assert_eq!(of("A"), None);
    let session = crate::mix::Session::fold(&whole()[..2]).unwrap();
    assert_eq!(of("B"), Some(session.target(1)));
}

/// What a job that is open needs counts as what a mix under way does: of 1000 g with 300 for mixes and 900 for jobs, 200 are
/// missing.
#[test]
fn what_open_jobs_need_is_taken_off_and_ordered() {
    let (tins, code) = ([tin("1", "A", "1000", "1000", 90)], TonerCode::new("A"));
    let (needed, for_jobs) =
        ([(code.clone(), g("300"))], [(code.clone(), g("400")), (code.clone(), g("500"))]);
    let rows = Rows {
        toners: &[],
        tins: &tins,
        recalls: &[],
        daily: &[],
        needed: &needed,
        for_jobs: &for_jobs,
        unnamed: &BTreeMap::new(),
    };
    let shelf = Shelf::of(rows, today(), NOW, Terms::default());
    let a = shelf.toner("A").unwrap();
    assert_eq!((a.needed, a.for_jobs, a.free()), (g("300"), g("900"), g("-200")));
    let order = a.order.clone().unwrap();
    assert_eq!((order.mass, order.packs), (g("200"), Some(1)));
}

/// By hand: 100 g in two tins, 37 g of them poured without a name: 63 g are there. 10 g a day last 6.3 days; the order is 37 g
/// higher than without (103.2 + 37).
#[test]
fn what_was_poured_without_a_name_is_taken_off_the_stock_the_cover_and_the_order() {
    let daily: Vec<Daily> = (1..=20).step_by(2).map(|day| poured_on(day, "A", "20")).collect();
    let tins = [tin("1", "A", "1000", "60", 200), tin("2", "A", "1000", "40", 200)];
    let of = |unnamed: &str| {
        let unnamed = [(TonerCode::new("A"), g(unnamed))].into();
        let rows = Rows {
            toners: &[],
            tins: &tins,
            recalls: &[],
            daily: &daily,
            needed: &[],
            for_jobs: &[],
            unnamed: &unnamed,
        };
        Shelf::of(rows, today(), NOW, terms(20)).toner("A").unwrap().clone()
    };
    let (all, a) = (of("0"), of("37"));
    assert_eq!((all.holds, a.holds, a.unnamed, a.free()), (g("100"), g("63"), g("37"), g("63")));
    assert!((a.cover.unwrap() - 6.3).abs() < 1e-9);
    assert_eq!((all.order.unwrap().mass, a.order.unwrap().mass), (g("103.2"), g("140.2")));
    assert_eq!(a.level, g("63").share_of(g("2000")));
    // More than the tins hold by the book cannot be missing in them.
    let none = of("500");
    assert_eq!((none.holds, none.unnamed), (Grams::ZERO, g("100")));
}
