//! The screens of the stores manager's work.

use super::fixture::g;
use super::states::Shop;
use super::waste_tests::happened;
use super::{CountRow, EventsView, Found, LeftoverPart, LeftoverRow, LeftoversView, StocktakeView, View};
use crate::tui::keys::{Action, Context};
use crate::tui::widgets::list::{ListCell, ListRow};
use crate::tui::widgets::prompt::{Input, Prompt};
use crate::units::{Decimal, Division, Share};

pub(super) fn stores_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    stocktake_views(shop, see);
    leftover_views(shop, see);
}

fn stocktake_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let counted = Found { found: g("40.1"), booked: g("41.3"), unnamed: g("0") };
    let row = |label, toner, booked| CountRow { label, toner, booked: g(booked), done: None };
    let rows = [
        CountRow { done: Some(counted), ..row("26-077", "K05 carbon black", "40.1") },
        row("26-101", "W10 titanium white", "1102.4"),
        row("26-144", "W10 titanium white", "1482"),
        row("26-078", "Y41 yellow oxide", "-6.2"),
    ];
    let keys = [
        Action::Accept,
        Action::FindTin,
        Action::TypeWeight,
        Action::TypeEmpty,
        Action::Up,
        Action::Down,
        Action::Back,
    ];
    let view = StocktakeView {
        rows: &rows,
        selected: 1,
        gross: Some(g("1104.6")),
        steady: true,
        empty: Some(g("112.6")),
        found: Some(g("992.0")),
        unnamed: g("0"),
        advice: "",
        division: Division::TENTH,
        link_words: "steady",
        chrome: shop.chrome(Context::Stocktake, &keys),
    };
    see("stocktake", &View::Stocktake(view));
    let unknown = StocktakeView {
        selected: 3,
        empty: None,
        found: None,
        advice: "What tin 26-078 weighs empty is not known: type that, or what is in it.",
        ..view
    };
    see("stocktake-empty-not-known", &View::Stocktake(unknown));
    let waits = StocktakeView {
        selected: 0,
        gross: None,
        steady: false,
        found: None,
        advice: "Take the tin off the scale and put tin 26-077 on it.",
        link_words: "moving",
        ..view
    };
    see("stocktake-next-tin", &View::Stocktake(waits));
    let unnamed = StocktakeView { unnamed: g("8"), ..view };
    see("stocktake-poured-unnamed", &View::Stocktake(unnamed));
    let none = StocktakeView {
        rows: &[],
        selected: 0,
        found: None,
        empty: None,
        chrome: shop.chrome(Context::Stocktake, &[Action::FindTin, Action::Back]),
        ..view
    };
    see("stocktake-no-tin", &View::Stocktake(none));
    let why = Prompt {
        label: "why does it differ?",
        input: Some(Input { text: "spilt", cursor: 5 }),
        hint: "a word or two; Enter alone if nobody knows. Esc does not book it",
        error: None,
        choices: &[],
        selected: 0,
    };
    let mut chrome = shop.chrome(Context::Prompt, &[Action::Accept, Action::Back]);
    chrome.prompt = Some(why);
    see("stocktake-asks-why", &View::Stocktake(StocktakeView { chrome, ..view }));
    receiving_view(shop, &view, see);
}

fn receiving_view(shop: &Shop, view: &StocktakeView<'_>, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let form = [
        ("toner", "W10  titanium white"),
        ("label", "26-145"),
        ("holds", "1 L"),
        ("lot", "A7"),
        ("expires", "2026-13-31"),
        ("price", ""),
        ("empty tin", "110"),
    ]
    .map(|(word, typed)| ListRow {
        swatch: None,
        cells: vec![
            ListCell::number(""),
            ListCell::words(word),
            ListCell::number(""),
            ListCell::words(typed),
        ],
    });
    let form = Prompt {
        label: "to be used until when?",
        input: Some(Input { text: "2026-13-31", cursor: 10 }),
        hint: "a day, as 2026-12-31; Enter alone if none stands on it",
        error: Some("'2026-13-31' is no day: type it as 2026-12-31"),
        choices: &form,
        selected: 4,
    };
    let actions = [Action::Accept, Action::Back, Action::Up, Action::Down];
    let mut chrome = shop.chrome(Context::Prompt, &actions);
    chrome.prompt = Some(form);
    see("receiving", &View::Stocktake(StocktakeView { chrome, ..*view }));
}

fn leftover_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let row = LeftoverRow {
        number: 398,
        of: "PB-3140 ground",
        holds: g("92.4"),
        days: Some(31),
        use_by: "until 2026-09-30",
        unfit: "expired",
    };
    let thinned = LeftoverRow { use_by: "no day said", unfit: "thinned", ..row };
    let rows = [
        row,
        LeftoverRow {
            number: 405,
            of: "PB-2207 coarser pearl",
            days: Some(0),
            use_by: "until 2026-10-14",
            unfit: "",
            ..row
        },
        LeftoverRow { number: 402, holds: g("12.1"), days: Some(1), ..thinned },
    ];
    let share = |hundredths: i64| Share::new(Decimal::new(hundredths, 4));
    let parts = [
        LeftoverPart { toner: "W10 titanium white", mass: g("89.7"), share: share(9708) },
        LeftoverPart { toner: "K05 carbon black", mass: g("2.7"), share: share(292) },
    ];
    let keys = [
        Action::Accept,
        Action::Sort,
        Action::ThrowLeftover,
        Action::Up,
        Action::Down,
        Action::Back,
        Action::ThrowExpired,
    ];
    let view = LeftoversView {
        rows: &rows,
        all: rows.len(),
        query: Input { text: "", cursor: 0 },
        sort: "to be used up first",
        selected: 0,
        parts: &parts,
        said: "this leftover was to be used until 2026-09-30: throw it away",
        opened: None,
        seconds_east: 0,
        link_words: "steady",
        chrome: shop.chrome(Context::Leftovers, &keys),
    };
    see("leftovers", &View::Leftovers(view));
    let query = Input { text: "black expired", cursor: 13 };
    let found = LeftoversView { rows: &rows[..1], query, sort: "oldest first", ..view };
    see("leftovers-found", &View::Leftovers(found));
    let chrome = shop.chrome(Context::Leftovers, &[Action::Back]);
    let query = Input { text: "qq", cursor: 2 };
    let nothing = LeftoversView { rows: &[], query, parts: &[], said: "", chrome, ..view };
    see("leftovers-nothing-found", &View::Leftovers(nothing));
    let of = happened();
    let events = EventsView { number: 398, kept: Some(g("92.4")), events: Some(Ok(&of)), first: 0 };
    see("leftovers-opened", &View::Leftovers(LeftoversView { opened: Some(events), chrome, ..found }));
    let query = Input { text: "", cursor: 0 };
    see("leftovers-none", &View::Leftovers(LeftoversView { all: 0, query, ..nothing }));
}
