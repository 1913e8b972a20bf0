//! The screens of the waste.

use super::states::Shop;
use super::{Bars, EventsView, MixesOf, MixesView, OversView, View, WasteView};
use crate::book::reading::{Chosen, TonerPours, Wasted};
use crate::book::{Account, Mark};
use crate::catalogue::TonerCode;
use crate::mix::Way;
use crate::report::overs::{Against, Corrections, Over};
use crate::report::reading::{Amount, Fate, Priced};
use crate::report::waste::{By, Happened, MixCost, OfKept, Row, Waste, Went};
use crate::report::{Bucket, Period};
use crate::tui::keys::{Action, Context};
use crate::tui::waste::Span;
use crate::tui::widgets::prompt::Input;
use crate::units::{Decimal, Grams, Money, Stamp};
use std::cmp::Reverse;

const DAY: i64 = 86_400_000_000;
/// 2026-10-01T07:30:00Z.
pub(crate) const NOW: Stamp = Stamp(1_790_839_800_000_000);

fn tenths(tenths: i64) -> Grams {
    Grams::new(Decimal::new(tenths, 1))
}

/// So many tenths of a gram, at five hundredths of the currency a gram.
fn amount(mass: i64) -> Amount {
    Amount { mass: tenths(mass), cost: Money::new(Decimal::new(mass * 5, 3)) }
}

/// An invented mix of that day: sprayed, and what became of the rest, in tenths of a gram.
fn mix(number: u32, days_ago: i64, sprayed: i64, rest: &[(Fate, &str, i64)]) -> MixCost {
    let which = usize::try_from(number).unwrap();
    let rest = rest.iter().map(|(fate, why, mass)| (*fate, (*why).to_owned(), amount(*mass)));
    let mut fates: Vec<(Fate, String, Amount)> = Vec::new();
    if sprayed > 0 {
        fates.push((Fate::Sprayed, String::new(), amount(sprayed)));
    }
    fates.extend(rest);
    fates.sort_by_key(|(fate, why, _)| (*fate, why.clone()));
    let (mut mixed, mut wasted) = (Amount::default(), Amount::default());
    for (fate, _, own) in &fates {
        mixed += *own;
        if fate.is_waste() {
            wasted += *own;
        }
    }
    let begun = Stamp(NOW.0 - days_ago * DAY);
    MixCost {
        number,
        begun,
        day: jiff::Timestamp::from_microsecond(begun.0).unwrap().strftime("%F").to_string(),
        colour: ["PB-3140", "PB-2207 coarser", "PB-3141"][which % 3].to_owned(),
        layer: ["ground", "pearl", "base"][which / 2 % 3].to_owned(),
        painter: ["Robin", "Kim", "Sascha Ottenbach"][which / 3 % 3].to_owned(),
        job: if number.is_multiple_of(2) { format!("R-{}", 2_000 + number) } else { String::new() },
        mixed,
        fates,
        wasted,
        from_tins: mixed.cost,
        as_begun: mixed.cost,
        priced: Priced { by_tin: mixed.mass, ..Priced::default() },
        overs: went_over(number),
        chosen: put_right(number),
        given_up_over: (number == 384).then_some(mixed.mass),
    }
}

/// What went over in that mix: together what the figures say.
fn went_over(number: u32) -> Vec<TonerPours> {
    let over = |toner: &str, name: &str, by| TonerPours {
        toner: TonerCode::new(toner),
        name: name.to_owned(),
        pours: 1,
        over: 1,
        by: tenths(by),
        worst: tenths(by),
    };
    let (black, white) = (|by| over("K05", "carbon black", by), |by| over("W10", "titanium white", by));
    match number {
        374 => vec![black(12)],
        377 => vec![white(28)],
        384 => vec![over("M82", "pearl coat binder", 52)],
        390 => vec![black(24), white(61)],
        401 => vec![black(10)],
        405 => vec![over("Y41", "yellow oxide, transparent", 8)],
        _ => Vec::new(),
    }
}

/// How that mix was put right: together what the figures say.
fn put_right(number: u32) -> Vec<Chosen> {
    let wasted = |mass| Wasted { mass: tenths(mass), cost: Some(Money::new(Decimal::new(mass * 5, 3))) };
    let chosen = |way, own, grown, restarted| Chosen {
        way,
        wasted: wasted(own),
        grown: Some(wasted(grown)),
        restarted: Some(wasted(restarted)),
    };
    match number {
        374 => vec![chosen(Way::DrawOff, 112, 580, 4_000)],
        390 => vec![chosen(Way::DrawOff, 98, 600, 2_800)],
        401 => vec![chosen(Way::DrawOff, 54, 400, 3_120)],
        405 => vec![chosen(Way::Leave, 0, 0, 1_548)],
        _ => Vec::new(),
    }
}

/// What became of paint, added up as the report does.
fn of_mixes(mixes: Vec<MixCost>, period: &Period) -> Waste {
    let mut waste = Waste { mixes, ..Waste::default() };
    let keys: std::collections::BTreeSet<(Fate, String)> = waste
        .mixes
        .iter()
        .flat_map(|mix| mix.fates.iter().map(|(fate, why, _)| (*fate, why.clone())))
        .collect();
    waste.reasons = keys
        .into_iter()
        .map(|(fate, why)| {
            let own = |mix: &&MixCost| mix.fates.iter().any(|(own, said, _)| (*own, said) == (fate, &why));
            let mixes: Vec<MixCost> = waste.mixes.iter().filter(own).cloned().collect();
            let mut row = Row::default();
            for mix in &mixes {
                for (_, _, amount) in mix.fates.iter().filter(|(own, said, _)| (*own, said) == (fate, &why)) {
                    row.put(fate, *amount);
                }
            }
            row.mixes = u32::try_from(mixes.len()).unwrap();
            row.key = match why.as_str() {
                "" => fate.word().to_owned(),
                why => format!("{}: {why}", fate.word()),
            };
            row
        })
        .collect();
    // All together is what is told apart by something that is the same for all.
    let same: Vec<MixCost> =
        waste.mixes.iter().map(|mix| MixCost { layer: "all".to_owned(), ..mix.clone() }).collect();
    let same = Waste { mixes: same, ..Waste::default() };
    waste.total = same.rows_by(period, By::Layer).pop().unwrap_or_default();
    waste
}

pub(crate) fn period(span: Span) -> Period {
    span.period(NOW, 0).unwrap()
}

/// An invented quarter of a year: weeks with much and with little, and one in which nothing was mixed.
pub(crate) fn waste(span: Span) -> Waste {
    use Fate::{Abandoned, DrawnOff, InCup, Kept, Thrown};
    let mixes = vec![
        mix(371, 82, 3_412, &[(Thrown, "too much mixed", 214)]),
        mix(372, 81, 2_204, &[]),
        mix(374, 75, 5_120, &[(Kept, "", 830), (DrawnOff, "", 112)]),
        mix(376, 68, 1_480, &[(Thrown, "too much mixed", 96)]),
        mix(377, 67, 4_006, &[(Kept, "", 410)]),
        mix(380, 61, 6_230, &[(Thrown, "gone hard in the pot", 1_204)]),
        mix(383, 54, 2_210, &[]),
        mix(384, 53, 0, &[(Abandoned, "wrong toner", 1_862)]),
        mix(386, 46, 3_871, &[(Thrown, "too much mixed", 145)]),
        mix(390, 38, 2_960, &[(DrawnOff, "", 98)]),
        mix(393, 31, 4_410, &[(Kept, "", 220)]),
        mix(394, 25, 3_005, &[(Thrown, "", 77)]),
        mix(397, 17, 2_812, &[(Kept, "", 506), (Thrown, "too much mixed", 41)]),
        mix(401, 3, 3_120, &[(DrawnOff, "", 54)]),
        mix(402, 3, 2_118, &[(Thrown, "too much mixed", 133)]),
        mix(405, 1, 1_906, &[]),
        mix(411, 0, 0, &[(InCup, "", 2_573)]),
    ];
    let period = period(span);
    let mixes = mixes.into_iter().filter(|mix| mix.begun >= period.from()).collect();
    let over = |toner: &str, name: &str, pours, over, by, worst| Over {
        toner: TonerCode::new(toner),
        name: name.to_owned(),
        pours,
        over,
        by: tenths(by),
        worst: tenths(worst),
    };
    let against = |saved: i64, cost| Against {
        count: 4,
        waste: tenths(saved + 264),
        saved: tenths(saved),
        saved_cost: Money::new(Decimal::new(cost, 2)),
        unpriced: 0,
    };
    Waste {
        of_kept: OfKept { used_again: tenths(1_240), thrown: tenths(220), still_there: tenths(506) },
        overs: vec![
            over("K05", "carbon black", 14, 3, 46, 24),
            over("W10", "titanium white", 16, 2, 89, 61),
            over("Y41", "yellow oxide, transparent", 11, 1, 8, 8),
            over("M82", "pearl coat binder", 6, 1, 52, 52),
            over("P51", "fine white pearl", 6, 0, 0, 0),
        ],
        corrections: Corrections {
            count: 4,
            growing: against(1_316, 658),
            restarting: against(11_204, 5_602),
            given_up: 1,
            given_up_mass: tenths(1_862),
            ..Corrections::default()
        },
        priced: Priced { by_tin: tenths(40_000), by_formula: tenths(14_000), unpriced: tenths(412) },
        ..of_mixes(mixes, &period)
    }
}

pub(super) fn waste_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let span = Span::Days90;
    let (period, told) = (period(span), waste(span));
    let week = By::Time(Bucket::Week);
    let by_week = told.rows_by(&period, week);
    let rows: Vec<&Row> = by_week.iter().rev().collect();
    let keys = [
        Action::Accept,
        Action::Up,
        Action::Down,
        Action::Previous,
        Action::Next,
        Action::Period,
        Action::Sort,
        Action::Back,
        Action::WentOver,
        Action::ReadAgain,
    ];
    let list = WasteView {
        waste: Some(Ok(&told)),
        is_reading: false,
        span: span.words(),
        by: week,
        rows: &rows,
        query: Input { text: "", cursor: 0 },
        sort: "the latest first",
        bars: Bars::Parts,
        selected: 3,
        overs: None,
        opened: None,
        overs_key: "F8",
        nothing: "no mix was begun in the last 90 days: F9 turns to another time",
        again: "F5 reads it again",
        cups_key: "F6",
        seconds_east: 0,
        link_words: "steady",
        chrome: shop.chrome(Context::Waste, &keys),
    };
    see("waste", &View::Waste(list));
    let reasons: Vec<&Row> = told.reasons.iter().collect();
    let by_reason = WasteView { by: By::Reason, rows: &reasons, sort: "as it ends", ..list };
    see("waste-by-reason", &View::Waste(by_reason));
    let mut by_cost = reasons.clone();
    by_cost.sort_by_key(|row| Reverse(row.wasted().cost));
    let by_cost = WasteView { rows: &by_cost, sort: "dearest waste first", bars: Bars::Cost, ..by_reason };
    see("waste-by-cost", &View::Waste(by_cost));
    let mut by_share = rows.clone();
    by_share.sort_by_key(|row| Reverse(row.wasted_share()));
    let by_share = WasteView { rows: &by_share, sort: "largest share first", bars: Bars::Shares, ..list };
    see("waste-by-share", &View::Waste(by_share));
    let painters = told.rows_by(&period, By::Painter);
    let painters: Vec<&Row> = painters.iter().collect();
    let by_painter = WasteView {
        by: By::Painter,
        rows: &painters,
        sort: "by name",
        selected: 0,
        is_reading: true,
        ..list
    };
    see("waste-by-painter-read-anew", &View::Waste(by_painter));
    let back = shop.chrome(Context::Waste, &[Action::Previous, Action::Next, Action::Period, Action::Back]);
    let none = WasteView { rows: &[], query: Input { text: "qq", cursor: 2 }, chrome: back, ..list };
    see("waste-nothing-found", &View::Waste(none));
    let only = shop.chrome(Context::Waste, &[Action::Period, Action::Back]);
    let reading = WasteView { waste: None, is_reading: true, chrome: only, ..list };
    see("waste-being-read", &View::Waste(reading));
    let again = shop.chrome(Context::Waste, &[Action::Period, Action::Back, Action::ReadAgain]);
    let why = "the book cannot be read: the disk is gone";
    let failed = WasteView { waste: Some(Err(why)), chrome: again, ..list };
    see("waste-not-read", &View::Waste(failed));
    let empty = Waste::default();
    see("waste-empty", &View::Waste(WasteView { waste: Some(Ok(&empty)), rows: &[], chrome: again, ..list }));
    let mixes = told.mixes_of(&period, By::Painter, "Kim");
    let mixes: Vec<MixCost> = mixes.iter().map(|at| told.mixes[*at].clone()).collect();
    let kim = painters.iter().find(|row| row.key == "Kim").copied();
    mixes_views(shop, &list, (kim, &mixes), see);
    overs_views(shop, &list, &told, see);
}

/// The mixes of a painter, and what happened to one of them.
fn mixes_views(
    shop: &Shop,
    list: &WasteView<'_>,
    (kim, mixes): (Option<&Row>, &[MixCost]),
    see: &mut impl FnMut(&'static str, &View<'_>),
) {
    let keys = [Action::Accept, Action::Up, Action::Down, Action::Sort, Action::Back];
    let opened = shop.chrome(Context::Waste, &keys);
    let mixes: Vec<&MixCost> = mixes.iter().collect();
    let behind = MixesView {
        of: kim.map(MixesOf::Row),
        mixes: &mixes,
        read: mixes.len(),
        query: Input { text: "", cursor: 0 },
        sort: "the latest first",
        is_more: false,
        is_reading: false,
        failed: None,
        selected: 1,
        mix: None,
    };
    let mixes_of = WasteView { by: By::Painter, opened: Some(behind), chrome: opened, ..*list };
    see("waste-mixes", &View::Waste(mixes_of));
    let reading = MixesView { mixes: &mixes[..2], read: 2, is_more: true, is_reading: true, ..behind };
    see("waste-mixes-read-on", &View::Waste(WasteView { opened: Some(reading), ..mixes_of }));
    let query = Input { text: "drawn", cursor: 5 };
    let drawn = |mix: &&MixCost| mix.of(Fate::DrawnOff).mass.is_positive();
    let drawn: Vec<&MixCost> = mixes.iter().copied().filter(drawn).rev().collect();
    let found = MixesView { mixes: &drawn, query, sort: "most wasted first", ..behind };
    see("waste-mixes-found", &View::Waste(WasteView { opened: Some(found), ..mixes_of }));
    let only_back = shop.chrome(Context::Waste, &[Action::Back]);
    let happened = happened();
    let of_mix = EventsView { number: mixes[1].number, kept: None, events: Some(Ok(&happened)), first: 0 };
    let events = |mix| WasteView {
        opened: Some(MixesView { mix: Some(mix), ..behind }),
        chrome: only_back,
        ..mixes_of
    };
    see("waste-events", &View::Waste(events(of_mix)));
    see("waste-events-being-read", &View::Waste(events(EventsView { events: None, ..of_mix })));
    let unread = MixesView { mixes: &[], read: 0, is_reading: true, selected: 0, ..behind };
    let unread = WasteView { opened: Some(unread), chrome: only_back, ..mixes_of };
    see("waste-mixes-being-read", &View::Waste(unread));
    let behind = MixesView { of: None, mixes: &[], read: 0, selected: 0, ..behind };
    see(
        "waste-mixes-gone",
        &View::Waste(WasteView {
            opened: Some(behind),
            chrome: shop.chrome(Context::Waste, &[Action::Back]),
            ..*list
        }),
    );
}

/// The toners that went over, found and marked; the mixes behind one of them and behind what was put right.
fn overs_views(
    shop: &Shop,
    list: &WasteView<'_>,
    told: &Waste,
    see: &mut impl FnMut(&'static str, &View<'_>),
) {
    let keys = [
        Action::Accept,
        Action::Up,
        Action::Down,
        Action::Period,
        Action::Sort,
        Action::Back,
        Action::ReadAgain,
    ];
    let chrome = shop.chrome(Context::Waste, &keys);
    let over = |toner| Mark::Over(TonerCode::new(toner));
    let rows = [over("K05"), over("W10"), over("Y41"), over("M82"), Mark::PutRight, Mark::GivenUp];
    let page = OversView {
        rows: &rows,
        query: Input { text: "", cursor: 0 },
        sort: "most often first",
        selected: 1,
    };
    let page_of = |page| WasteView { overs: Some(page), chrome, ..*list };
    see("waste-overs", &View::Waste(page_of(page)));
    see("waste-overs-put-right", &View::Waste(page_of(OversView { selected: 4, ..page })));
    let query = Input { text: "pearl", cursor: 5 };
    let found = OversView { rows: &rows[3..4], query, sort: "by code", selected: 0 };
    see("waste-overs-found", &View::Waste(page_of(found)));
    let query = Input { text: "qq", cursor: 2 };
    let chrome = shop.chrome(Context::Waste, &[Action::Period, Action::Back]);
    let nothing = WasteView { overs: Some(OversView { rows: &[], query, ..found }), chrome, ..*list };
    see("waste-overs-nothing-found", &View::Waste(nothing));
    let keys = [Action::Accept, Action::Up, Action::Down, Action::Sort, Action::Back];
    let chrome = shop.chrome(Context::Waste, &keys);
    let is_over = |mix: &&MixCost| mix.overs.iter().any(|own| own.toner.as_str() == "K05");
    let black: Vec<&MixCost> = told.mixes.iter().rev().filter(is_over).collect();
    let behind = MixesView {
        of: Some(MixesOf::Over(&told.overs[0])),
        mixes: &black,
        read: black.len(),
        query: Input { text: "", cursor: 0 },
        sort: "the latest first",
        is_more: false,
        is_reading: false,
        failed: None,
        selected: 1,
        mix: None,
    };
    let opened = |behind| WasteView { overs: Some(page), opened: Some(behind), chrome, ..*list };
    see("waste-over-mixes", &View::Waste(opened(behind)));
    let right: Vec<&MixCost> = told.mixes.iter().rev().filter(|mix| !mix.chosen.is_empty()).collect();
    let put_right = MixesView {
        of: Some(MixesOf::PutRight(&told.corrections)),
        mixes: &right,
        read: right.len(),
        ..behind
    };
    see("waste-put-right-mixes", &View::Waste(opened(put_right)));
    let given_up: Vec<&MixCost> = told.mixes.iter().filter(|mix| mix.given_up_over.is_some()).collect();
    let of = Some(MixesOf::GivenUp(&told.corrections));
    let given_up = MixesView { of, mixes: &given_up, read: given_up.len(), selected: 0, ..behind };
    see("waste-given-up-mixes", &View::Waste(opened(given_up)));
    let reading = MixesView { mixes: &[], read: 0, is_reading: true, selected: 0, ..behind };
    let chrome = shop.chrome(Context::Waste, &[Action::Back]);
    see("waste-over-mixes-being-read", &View::Waste(WasteView { chrome, ..opened(reading) }));
}

/// A mix with a pour, one put right by drawing off, and what became of it; no paint goes anywhere when it is begun.
pub(super) fn happened() -> Vec<Happened> {
    let at = |second: i64| Stamp(1_790_580_600_000_000 + second * 1_000_000);
    let went = |toner: Option<&str>, mass: &str, place: Account| Went {
        toner: toner.map(TonerCode::new),
        mass: Grams::parse(mass).unwrap(),
        place,
    };
    let event = |second, what: &str, went: Vec<Went>| Happened {
        at: at(second),
        by: "Kim".to_owned(),
        what: what.to_owned(),
        went,
    };
    let tin = |label: &str| Account::Tin(label.to_owned());
    vec![
        event(0, "started", vec![]),
        event(41, "poured", vec![went(Some("W10"), "-280.5", tin("24-031"))]),
        event(95, "poured", vec![went(Some("K05"), "-4.1", Account::UnknownTin(TonerCode::new("K05")))]),
        event(140, "drawn off", vec![went(None, "5.4", Account::DrawnOff)]),
        event(300, "finished", vec![]),
        event(
            4_000,
            "emptied",
            vec![
                went(None, "296", Account::Car("R-2390".to_owned())),
                went(None, "21.4", Account::LeftThrown("more mixed than needed".to_owned())),
            ],
        ),
    ]
}
