//! The reports by the kept sums held against the same figures from the journal alone.

use super::testing::{Shop, invented, october};
use super::use_of::used;
use super::waste::{By, MixCost, Overview, Waste, behind, by_journal, overview, totals, waste};
use super::{Bucket, Period, json};
use crate::book::check::check;
use crate::book::reading::MixRead;
use crate::book::testing::muddle;
use crate::book::{
    Account, Behind, By as Who, Journal, Ledger as _, Mark, MixesOf, SqliteStore, Store as _, Told,
};
use crate::catalogue::TonerCode;
use crate::mix::{Event, How};
use crate::units::{Grams, Stamp};
use jiff::civil::date;
use proptest::prelude::*;
use serde_json::Value;
use std::collections::BTreeMap;

const EVERY: [By; 7] = [
    By::Time(Bucket::Day),
    By::Time(Bucket::Week),
    By::Time(Bucket::Month),
    By::Layer,
    By::Reason,
    By::Painter,
    By::Colour,
];

/// Both ways of asking for waste are what the journal comes to, to the last decimal that is told.
fn same_as_the_journal(store: &SqliteStore, period: &Period) -> Result<(), TestCaseError> {
    for by in EVERY {
        let told = |waste| json::waste(&waste, period, by);
        let (quick, slow) =
            (waste(store, period, by, &mut |_, _| ()).unwrap(), by_journal::waste(store, period, by));
        // The mixes with all that is only on the screen: when they were begun, what became of them and why.
        prop_assert_eq!(&quick.mixes, &slow.mixes);
        if let By::Time(bucket) = by {
            same_on_the_screen(store, period, bucket, &slow)?;
        }
        let right = told(slow);
        prop_assert_eq!(&told(quick), &right, "{:?}", by);
        let mut short = told(totals(store, period, by).unwrap());
        let object = short.as_object_mut().unwrap();
        for each in ["mixes", "jobs"] {
            prop_assert_eq!(
                object.insert(each.to_owned(), right[each].clone()),
                Some(Value::Array(Vec::new()))
            );
        }
        prop_assert_eq!(&short, &right, "{:?}", by);
    }
    for by in [None, Some(By::Time(Bucket::Week)), Some(By::Time(Bucket::Month))] {
        let told = used(store, period, by, None).unwrap();
        let days = used(store, period, Some(By::Time(Bucket::Day)), None).unwrap();
        prop_assert_eq!(&told.all, &days.all);
        let (first, last) = period.days();
        let mut poured = Grams::ZERO;
        for daily in store.daily(first, last).unwrap().iter().filter(|daily| daily.what == "poured") {
            poured += daily.mass;
        }
        prop_assert_eq!(told.all.total.poured, poured);
        if let Some(By::Time(bucket)) = by {
            // Each day by itself is in the week or month that it is of.
            for row in &told.rows {
                let own = days.rows.iter().filter(|day| bucket.of(day.key.parse().unwrap()) == row.key);
                prop_assert_eq!(
                    row.total.poured,
                    own.map(|day| day.total.poured).sum::<Grams>(),
                    "{}",
                    row.key
                );
            }
        }
    }
    for by in [By::Layer, By::Painter, By::Colour] {
        let mut right = BTreeMap::new();
        for mix in store.totals(MixesOf::Begun { from: period.from(), before: period.before() }).unwrap() {
            let [colour, _, layer] = mix.head.subject;
            let key = match by {
                By::Layer => layer.unwrap(),
                By::Painter => mix.head.operator,
                _ => colour.unwrap(),
            };
            for moved in store.moved_in(mix.mix).unwrap() {
                let both: &mut [Grams; 2] = right.entry((key.clone(), moved.toner)).or_default();
                match moved.account {
                    Account::Tin(_) | Account::UnknownTin(_) => both[0] += -moved.mass,
                    Account::Leftover(of) if of != mix.mix => both[1] += -moved.mass,
                    _ => {}
                }
            }
        }
        right.retain(|_, both| *both != [Grams::ZERO; 2]);
        let told = used(store, period, Some(by), None).unwrap();
        let own: BTreeMap<_, _> = told
            .rows
            .iter()
            .flat_map(|row| {
                let toners = row.toners.iter();
                toners.map(|(toner, uses)| ((row.key.clone(), toner.clone()), [uses.poured, uses.reused]))
            })
            .collect();
        prop_assert_eq!(own, right, "{:?}", by);
        let poured: Grams = told.rows.iter().map(|row| row.total.poured).sum();
        prop_assert_eq!(poured, told.all.total.poured);
    }
    Ok(())
}

/// What the screen shows is what the journal comes to: the figures told apart in every way, and the mixes behind each row,
/// a page after the other.
fn same_on_the_screen(
    store: &SqliteStore,
    period: &Period,
    bucket: Bucket,
    right: &Waste,
) -> Result<(), TestCaseError> {
    let told = store.at_once(|store| overview(store, period, bucket)).unwrap();
    let whole = Waste { rows: Vec::new(), mixes: Vec::new(), jobs: Vec::new(), ..right.clone() };
    prop_assert_eq!(&told.waste, &whole);
    for by in [By::Time(bucket), By::Layer, By::Reason, By::Painter, By::Colour] {
        let rows = right.rows_by(period, by);
        prop_assert_eq!(told.rows_by(by), &rows, "{:?}", by);
        for row in rows {
            let mut mixes: Vec<_> =
                right.mixes_of(period, by, &row.key).into_iter().map(|at| right.mixes[at].clone()).collect();
            mixes.sort_by_key(|mix| std::cmp::Reverse((mix.begun, mix.number)));
            let of = told.behind(by, &row.key).unwrap();
            prop_assert_eq!(pages(store, period, &of)?, mixes, "{:?} {}", by, row.key);
        }
        prop_assert!(told.behind(by, "no such row").is_none());
    }
    same_marks(store, period, &told)?;
    same_behind_the_pours(store, period, &told, right)
}

/// Behind each toner that went over, behind what was put right and what was given up stand the mixes that tell so, a page
/// after the other, and they come to what is said of all.
fn same_marks(store: &SqliteStore, period: &Period, told: &Overview) -> Result<(), TestCaseError> {
    let all = store.told(Told::All, &(period.from()..period.before())).unwrap();
    let having = |mark: &Mark| {
        let mut mixes: Vec<_> = all.iter().filter(|(_, read)| Mark::of(read).contains(mark)).collect();
        mixes.sort_by_key(|(totals, _)| std::cmp::Reverse((totals.head.begun, totals.head.number)));
        mixes
    };
    let corrections = &told.waste.corrections;
    let marks = told.waste.overs.iter().map(|over| (Mark::Over(over.toner.clone()), over.over));
    let marks = marks.chain([(Mark::PutRight, corrections.count), (Mark::GivenUp, corrections.given_up)]);
    for (mark, count) in marks {
        let right = having(&mark);
        let often = |read: &MixRead| match &mark {
            Mark::Over(toner) => {
                read.pours.iter().filter(|one| one.toner == *toner).map(|one| one.over).sum()
            }
            Mark::PutRight => u32::try_from(read.chosen.len()).unwrap(),
            Mark::GivenUp => 1,
        };
        prop_assert_eq!(right.iter().map(|(_, read)| often(read)).sum::<u32>(), count, "{:?}", mark);
        let right: Vec<_> = right.iter().map(|(totals, _)| totals.head.number).collect();
        // Over no time nothing is known.
        let Some(of) = told.marked(mark.clone()) else {
            prop_assert!(right.is_empty(), "{:?}", mark);
            continue;
        };
        let (mut read, mut before, mut is_more) = (Vec::new(), None, true);
        while is_more {
            let page = behind(store, period, &of, before, 1).unwrap();
            (before, is_more) = (page.mixes.last().map(|mix| (mix.begun, mix.number)), page.is_more);
            read.extend(page.mixes.iter().map(|mix| mix.number));
        }
        prop_assert_eq!(read, right, "{:?}", mark);
    }
    Ok(())
}

/// Behind a toner that went over, and behind the pours that were put right, are just the mixes in which that happened, and
/// together they are what the figures say.
fn same_behind_the_pours(
    store: &SqliteStore,
    period: &Period,
    told: &Overview,
    right: &Waste,
) -> Result<(), TestCaseError> {
    let marks = told.waste.overs.iter().map(|over| Mark::Over(over.toner.clone()));
    for mark in marks.chain([Mark::PutRight, Mark::GivenUp, Mark::Over(TonerCode::new("no such toner"))]) {
        let is_on = |mix: &&MixCost| match &mark {
            Mark::Over(toner) => mix.overs.iter().any(|own| own.toner == *toner),
            Mark::PutRight => !mix.chosen.is_empty(),
            Mark::GivenUp => mix.given_up_over.is_some(),
        };
        let mut mixes: Vec<MixCost> = right.mixes.iter().filter(is_on).cloned().collect();
        mixes.sort_by_key(|mix| std::cmp::Reverse((mix.begun, mix.number)));
        let Some(of) = told.marked(mark.clone()) else {
            prop_assert!(mixes.is_empty() && right.mixes.is_empty());
            continue;
        };
        prop_assert_eq!(&pages(store, period, &of)?, &mixes, "{:?}", mark);
        let done = &told.waste.corrections;
        let Mark::Over(toner) = &mark else {
            let (count, said) = match mark {
                Mark::PutRight => (mixes.iter().map(|mix| mix.chosen.len()).sum(), done.count),
                _ => (mixes.len(), done.given_up),
            };
            prop_assert_eq!(u32::try_from(count).unwrap(), said);
            continue;
        };
        let own = || mixes.iter().flat_map(|mix| &mix.overs).filter(|own| own.toner == *toner);
        let (times, by) = (own().map(|own| own.over).sum(), own().map(|own| own.by).sum());
        let said = told.waste.overs.iter().find(|over| over.toner == *toner);
        prop_assert_eq!((times, by), said.map_or((0, Grams::ZERO), |over| (over.over, over.by)));
    }
    Ok(())
}

/// All of those mixes, a page after the other.
fn pages(store: &SqliteStore, period: &Period, of: &Behind) -> Result<Vec<MixCost>, TestCaseError> {
    let (mut read, mut before, mut is_more) = (Vec::<MixCost>::new(), None, true);
    while is_more {
        let page = behind(store, period, of, before, 2).unwrap();
        prop_assert!(page.mixes.len() == 2 || !page.is_more);
        read.extend(page.mixes);
        (before, is_more) = (read.last().map(|mix| (mix.begun, mix.number)), page.is_more);
    }
    Ok(read)
}

#[test]
fn the_invented_october_is_the_same_by_the_sums_and_by_the_journal() {
    let shop = invented();
    for hours in [-11, 0, 1, 13] {
        let zone = jiff::tz::offset(hours).to_time_zone();
        for (first, last) in [(1, 31), (5, 6), (6, 6), (13, 14)] {
            let day = |day| Some(date(2026, 10, day));
            let period = Period::new(day(first), day(last), None, Stamp(0), zone.clone()).unwrap();
            same_as_the_journal(&shop.store, &period).unwrap();
        }
    }
    assert!(!totals(&shop.store, &october(), By::Reason).unwrap().rows.is_empty());
}

/// A receipt that comes after the tin was poured from says what those pours cost.
#[test]
fn a_late_receipt_says_what_the_pours_before_it_cost() {
    let mut shop = Shop::new();
    shop.on(date(2026, 10, 5)).begin("Robin").pour(Some("24-1"), "116").fill();
    let before = totals(&shop.store, &october(), By::Layer).unwrap();
    shop.on(date(2026, 10, 9)).receive("24-1", "A", "1000", Some("20"));
    let after = totals(&shop.store, &october(), By::Layer).unwrap();
    assert_eq!(before.priced.by_tin, Grams::ZERO);
    assert_eq!(after.priced.by_tin, Grams::parse("116").unwrap());
    // 116/1000 of 20 instead of 10 · 116/1400, by the litre.
    let more = after.total.mixed.cost - before.total.mixed.cost;
    assert_eq!(more.with_decimals(6), "1.491429");
    assert_eq!(check(&shop.store).unwrap().faults, Vec::<String>::new());
    same_as_the_journal(&shop.store, &october()).unwrap();
}

/// Mixes an hour and more apart, some of them begun with what was kept of others; tins received before and after they
/// are poured from; what was kept thrown away by halves.
fn shop_of(seeds: &[Vec<(u8, u16)>], apart: i64) -> Shop {
    let mut shop = Shop::new();
    shop.on(date(2026, 9, 28));
    for (number, seed) in seeds.iter().enumerate() {
        let at = Stamp(shop.at.0 + apart);
        shop.at = at;
        let who = Who { bench: "bench 1".into(), operator: format!("painter {}", number % 2) };
        let (mix, id) = (shop.ids.mix(at), shop.ids.event(at));
        let events = muddle(seed);
        let (mut journal, first) = Journal::begin(mix, &events[0], id, at, &who).unwrap();
        shop.store.append(&first).unwrap();
        for event in &events[1..] {
            let id = shop.ids.event(at);
            shop.store.append(&journal.record(event, id, at, &who).unwrap()).unwrap();
        }
        let tins = shop.store.held("tin").unwrap();
        let unreceived = |label: &str| {
            let known = shop.store.tins(crate::book::TinsOf::Label(label)).unwrap();
            known.iter().all(|tin| tin.received.is_none())
        };
        let label = tins.iter().find_map(|tin| match &tin.account {
            Account::Tin(label) if unreceived(label) => Some((label.clone(), tin.toner.clone())),
            _ => None,
        });
        if let Some((label, toner)) = label {
            shop.receive(&label, toner.as_str(), "1000", (number % 3 > 0).then_some("20.5"));
        }
        after_it(&mut shop, mix, number);
    }
    shop
}

/// What becomes of what was kept of a mix: half of it is thrown away, or another is begun with it.
fn after_it(shop: &mut Shop, mix: crate::book::MixId, number: usize) {
    let kept = shop.store.balances_of(&Account::Leftover(mix)).unwrap();
    let made_of: Vec<_> = kept
        .iter()
        .filter(|held| held.micrograms > 1)
        .map(|held| (held.toner.clone(), Grams::from_micrograms(held.micrograms)))
        .collect();
    if made_of.is_empty() {
        return;
    }
    if number.is_multiple_of(2) {
        let account = Account::Leftover(mix).to_string();
        let postings: Vec<_> = kept
            .iter()
            .filter(|held| held.micrograms > 1)
            .flat_map(|held| {
                let (toner, half) = (held.toner.as_str(), held.micrograms / 2);
                [(account.as_str(), toner, -half), ("waste:left:old", toner, half)]
            })
            .collect();
        shop.tell("leftover/thrown", "{}", &postings);
        return;
    }
    shop.begin("Kim");
    let all: Grams = made_of.iter().map(|(_, mass)| *mass).sum();
    let some = all.times(crate::units::Decimal::new(5, 1)).to_book();
    if let Ok(event) = shop.session().take_leftover(&mix.to_string(), &made_of, some, How::Scale)
        && shop.session().ahead(&event).is_ok()
    {
        let event: Event = event;
        shop.happened(&event);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    /// Whatever happened, in whatever zone and days it is asked for: the sums are what the journal comes to; they are so
    /// by the book's own check too, and made anew they are the same.
    #[test]
    fn sums_are_what_the_journal_comes_to(
        seeds in prop::collection::vec(prop::collection::vec((any::<u8>(), 0_u16..400), 0..30), 1..6),
        apart in 1_800_000_000_i64..400_000_000_000,
        minutes in -780_i32..780,
        from in 0_i8..20,
        days in 0_i8..20,
    ) {
        let mut shop = shop_of(&seeds, apart);
        prop_assert_eq!(check(&shop.store).unwrap().faults, Vec::<String>::new());
        let zone = jiff::tz::Offset::from_seconds(minutes * 60).unwrap().to_time_zone();
        let first = date(2026, 9, 25).checked_add(jiff::Span::new().days(from)).unwrap();
        let last = first.checked_add(jiff::Span::new().days(days)).unwrap();
        let period = Period::new(Some(first), Some(last), None, Stamp(0), zone).unwrap();
        same_as_the_journal(&shop.store, &period)?;
        let kept = shop.store.figures().unwrap();
        shop.store.rebuild().unwrap();
        prop_assert_eq!(shop.store.figures().unwrap(), kept);
        same_as_the_journal(&shop.store, &period)?;
    }
}
