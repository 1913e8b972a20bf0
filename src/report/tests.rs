use super::reading::Fate;
use super::testing::{Shop, invented, october};
use super::use_of::used;
use super::waste::{By, Row, Waste, waste};
use super::{Bucket, Period};
use crate::book::testing::muddle;
use crate::book::{By as Who, Journal, Ledger, MixesOf, SqliteStore, Store};
use crate::catalogue::TonerCode;
use crate::mix::Way;
use crate::units::{Grams, Money, Stamp};
use jiff::civil::date;
use jiff::tz::TimeZone;
use proptest::prelude::*;

const EVERY: [By; 7] = [
    By::Time(Bucket::Day),
    By::Time(Bucket::Week),
    By::Time(Bucket::Month),
    By::Layer,
    By::Reason,
    By::Painter,
    By::Colour,
];

fn wasted(store: &SqliteStore, period: &Period, by: By) -> Waste {
    waste(store, period, by, &mut |_, _| ()).unwrap()
}

fn g(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

fn shown(mass: Grams) -> String {
    mass.with_decimals(3)
}

fn keys(rows: &[Row]) -> Vec<&str> {
    rows.iter().map(|row| row.key.as_str()).collect()
}

/// Worked by hand. 150 mL are 150·100/(62/1.4 + 30/1.1 + 7/0.9 + 1/1.2) = 187.103 g (see the book's own test). 60 g of B
/// are 60 − 0.3·187.103 = 3.869 g above what was asked. They are right in 60/(0.3·1.01) = 198.020 g, 10.916 g more; or
/// 1 − 187.103/198.020 of the 176 g is drawn off, 9.702 g, rounded up to a tenth.
#[test]
fn an_over_and_what_drawing_off_saved_by_hand() {
    let mut shop = Shop::new();
    shop.on(date(2026, 10, 5)).begin("Robin").pour(None, "116").pour(None, "176").choose(Way::DrawOff).fill();
    let told = wasted(&shop.store, &october(), By::Layer);
    let over = &told.overs[0];
    assert_eq!((over.toner.as_str(), over.pours, over.over), ("B", 1, 1));
    assert_eq!(
        (shown(over.by), shown(over.worst), shown(over.mean())),
        ("3.869".into(), "3.869".into(), "3.869".into())
    );
    assert!(told.overs[1..].iter().all(|toner| toner.over == 0 && toner.by.is_zero()));
    let corrections = &told.corrections;
    assert_eq!((corrections.count, corrections.given_up), (1, 0));
    assert_eq!((corrections.taken[0].way, corrections.taken[0].waste), (Way::DrawOff, g("9.8")));
    let grown = corrections.growing;
    assert_eq!((grown.count, shown(grown.waste), shown(grown.saved)), (1, "10.916".into(), "1.116".into()));
    let restarted = corrections.restarting;
    assert_eq!((restarted.count, restarted.waste, restarted.saved), (1, g("176"), g("166.2")));
    // Drawn off at once, so that the book has it too.
    assert_eq!(told.total.of(Fate::DrawnOff).mass, g("9.8"));
}

/// Worked by hand: 116 g of a tin of 1000 g that cost 20 are 2.32; by the formula's 10 a litre they would be
/// 10 · 116/1400 = 0.828571.
#[test]
fn a_tins_own_price_counts_before_the_formulas() {
    let mut shop = Shop::new();
    shop.on(date(2026, 10, 2)).receive("24-1", "A", "1000", Some("20"));
    shop.receive("24-2", "A", "1000", None);
    shop.on(date(2026, 10, 5)).begin("Robin").pour(Some("24-1"), "116");
    shop.begin("Robin").pour(Some("24-2"), "116");
    shop.begin("Robin").pour_wrong("Z", "5");
    let told = wasted(&shop.store, &october(), By::Layer);
    let costs: Vec<_> =
        told.mixes.iter().map(|mix| (mix.from_tins.to_string(), mix.as_begun.to_string())).collect();
    let (tin, formula) = ("2.32".to_owned(), "0.828571".to_owned());
    assert_eq!(costs, [(tin, formula.clone()), (formula.clone(), formula), ("0".into(), "0".into())]);
    assert_eq!(
        (told.priced.by_tin, told.priced.by_formula, told.priced.unpriced),
        (g("116"), g("116"), g("5"))
    );
    assert_eq!(told.total.of(Fate::InCup).cost.to_string(), "3.148571");
}

#[test]
fn the_invented_october_by_hand() {
    let shop = invented();
    let told = wasted(&shop.store, &october(), By::Time(Bucket::Week));
    assert_eq!(keys(&told.rows), ["2026-W40", "2026-W41", "2026-W42", "2026-W43", "2026-W44"]);
    assert_eq!(told.rows.iter().map(|row| row.mixes).collect::<Vec<_>>(), [0, 2, 2, 0, 0]);
    let total = &told.total;
    assert_eq!((total.mixes, told.unreadable), (4, 0));
    assert_eq!(total.of(Fate::Abandoned).mass, g("105"));
    assert_eq!((total.of(Fate::Kept).mass, total.of(Fate::InCup).mass), (g("80"), g("50")));
    assert_eq!(told.reused, g("50"));
    assert_eq!((told.of_kept.used_again, told.of_kept.thrown), (g("50"), g("30")));
    assert_eq!(told.of_kept.still_there, Grams::ZERO);
    assert_eq!(
        keys(&told.reasons),
        ["sprayed", "kept", "in the cup", "drawn off", "thrown away: too <much> & \"old\"", "given up: =1+1"]
    );
    assert_eq!((told.corrections.given_up, told.corrections.given_up_mass), (1, g("105")));
    let jobs: Vec<_> = told.jobs.iter().map(|job| (job.job.as_str(), job.mixes)).collect();
    assert_eq!(jobs, [("R-7", 1), ("R-8", 1)]);
    let mut painters = keys(&wasted(&shop.store, &october(), By::Painter).rows).join(" ");
    painters.push('.');
    assert_eq!(painters, "<Robin & \"Co\"> Robin Kim.");
}

#[test]
fn use_by_hand() {
    let shop = invented();
    let ask = |by, toner: Option<&TonerCode>| used(&shop.store, &october(), by, toner).unwrap();
    let all = ask(None, None);
    let a = all.all.toners[&TonerCode::new("A")];
    assert_eq!((a.received, a.missing, a.discarded), (g("2000"), g("2.5"), Grams::ZERO));
    // 116, 116 and 100. What is drawn off leaves 116 · (1 − 9.8/176) = 109.541 g of A and 56.659 g of B; of the rest of
    // 187.103 g A is to be 62 of 70 parts, 115.536 g: poured is 5.995 g to the nearest tenth of the reading.
    assert_eq!(a.poured, g("338"));
    assert_eq!(all.all.toners[&TonerCode::new("Z")].poured, g("5"));
    assert!(all.rows.is_empty() && !all.of_mixes);
    let weeks = ask(Some(By::Time(Bucket::Week)), Some(&TonerCode::new("A")));
    let poured: Vec<_> = weeks.rows.iter().map(|row| row.total.poured.to_string()).collect();
    assert_eq!(poured, ["0", "238", "100", "0", "0"]);
    assert_eq!(weeks.rows[0].total.received, g("2000"));
    let painters = ask(Some(By::Painter), None);
    assert!(painters.of_mixes);
    assert_eq!(painters.all.total.poured, all.all.total.poured);
    assert_eq!((painters.all.total.reused, painters.rows.len()), (g("50"), 3));
}

/// What the book's own kept figures say of the same mixes.
fn by_the_ledger(store: &SqliteStore, period: &Period) -> [Grams; 7] {
    let mut sums = [Grams::ZERO; 7];
    for totals in store.totals(MixesOf::Begun { from: period.from(), before: period.before() }).unwrap() {
        let f = totals.flows;
        let mixed = f.poured + f.reused;
        let each = [mixed, f.sprayed, f.kept, Grams::ZERO, f.drawn_off, f.thrown, f.abandoned];
        sums.iter_mut().zip(each).for_each(|(sum, mass)| *sum += mass);
    }
    // All mixes of these books are of the period, so that what cups hold is theirs.
    sums[3] = store.held("cup").unwrap().iter().map(|held| Grams::from_micrograms(held.micrograms)).sum();
    sums
}

fn masses(row: &Row) -> [Grams; 7] {
    let mut masses = [row.mixed.mass; 7];
    for (place, fate) in Fate::ALL.into_iter().enumerate() {
        masses[place + 1] = row.of(fate).mass;
    }
    masses
}

fn summed(rows: &[Row]) -> [Grams; 7] {
    let mut sums = [Grams::ZERO; 7];
    for row in rows {
        sums.iter_mut().zip(masses(row)).for_each(|(sum, mass)| *sum += mass);
    }
    sums
}

fn add_up(store: &SqliteStore, period: &Period) -> Result<(), TestCaseError> {
    let ledger = by_the_ledger(store, period);
    for by in EVERY {
        let told = wasted(store, period, by);
        prop_assert_eq!(told.unreadable, 0);
        prop_assert_eq!(masses(&told.total), ledger);
        prop_assert_eq!(ledger[0], ledger[1..].iter().copied().sum::<Grams>());
        for rows in [&told.rows, &told.reasons] {
            prop_assert_eq!(summed(rows), ledger, "{:?}", by);
            let cost: Money = rows.iter().map(|row| row.mixed.cost).sum();
            prop_assert_eq!(cost, told.total.mixed.cost);
            for row in rows {
                let parts: Money = Fate::ALL.into_iter().map(|fate| row.of(fate).cost).sum();
                prop_assert_eq!(parts, row.mixed.cost);
            }
        }
        told_apart_anew(&told, period, by)?;
        let mixes: Grams = told.mixes.iter().map(|mix| mix.mixed.mass).sum();
        prop_assert_eq!(mixes, ledger[0]);
        let begun: Money = told.mixes.iter().map(|mix| mix.as_begun).sum();
        let tins: Money = told.mixes.iter().map(|mix| mix.from_tins).sum();
        // No tin of a muddle has a price of its own, so that both are by the same prices; a tin's pours are rounded together.
        prop_assert!(
            (begun - tins).abs() < Money::new(crate::units::Decimal::new(1, 4)),
            "{} {}",
            begun,
            tins
        );
        let priced = told.priced;
        let all = priced.by_tin + priced.by_formula + priced.unpriced;
        prop_assert_eq!(all, ledger[0]);
    }
    Ok(())
}

/// Told apart anew from the mixes alone it is what the reading itself says; behind each row are the mixes that it counts.
fn told_apart_anew(told: &Waste, period: &Period, by: By) -> Result<(), TestCaseError> {
    let anew = told.rows_by(period, by);
    let first = anew.first().map(|row| row.key.clone());
    let mut read: Vec<&Row> = told.rows.iter().collect();
    if matches!(by, By::Time(_)) {
        // Before the first mix the reading has empty rows.
        read.retain(|row| Some(&row.key) >= first.as_ref());
    } else if by != By::Reason {
        read.sort_by_key(|row| &row.key);
    }
    prop_assert_eq!(read, anew.iter().collect::<Vec<_>>());
    for row in &anew {
        let behind = told.mixes_of(period, by, &row.key);
        prop_assert_eq!(behind.len(), row.mixes as usize, "{:?} {}", by, row.key);
        let mixed: Grams = behind.iter().map(|place| told.mixes[*place].mixed.mass).sum();
        prop_assert!(by == By::Reason || mixed == row.mixed.mass);
        prop_assert!(behind.is_sorted_by(|one, other| one > other));
    }
    Ok(())
}

#[test]
fn what_is_behind_a_row_by_hand() {
    let shop = invented();
    let told = wasted(&shop.store, &october(), By::Layer);
    let of = |by, key| {
        let places = told.mixes_of(&october(), by, key);
        places.into_iter().map(|place| told.mixes[place].day.clone()).collect::<Vec<_>>()
    };
    assert_eq!(of(By::Time(Bucket::Week), "2026-W42"), ["2026-10-14", "2026-10-13"]);
    assert_eq!(of(By::Painter, "Kim"), ["2026-10-13", "2026-10-06"]);
    assert_eq!(of(By::Reason, "given up: =1+1"), ["2026-10-14"]);
    assert_eq!(of(By::Reason, "nothing of the kind"), [""; 0]);
    let weeks = told.rows_by(&october(), By::Time(Bucket::Week));
    assert_eq!(keys(&weeks), ["2026-W41", "2026-W42", "2026-W43", "2026-W44"]);
    // 116 and 60 g poured, 9.8 drawn off, and poured up to 187.1 g again, of which half was thrown away.
    let first = &told.mixes[0];
    let lost: Vec<_> = first.reasons().into_iter().map(|(why, lost)| (why, shown(lost.mass))).collect();
    assert_eq!(first.of(Fate::Thrown).mass, first.of(Fate::Sprayed).mass);
    assert_eq!(lost[0], ("drawn off".to_owned(), "9.800".to_owned()));
    assert_eq!(lost[1].0, "thrown away: too <much> & \"old\"");
    assert_eq!(weeks[0].not_sprayed(), weeks[0].mixed.mass - weeks[0].of(Fate::Sprayed).mass);
}

#[test]
fn the_rows_add_up_in_the_invented_october() {
    let shop = invented();
    let period = october();
    let ledger = by_the_ledger(&shop.store, &period);
    for by in EVERY {
        let told = wasted(&shop.store, &period, by);
        assert_eq!(masses(&told.total), ledger);
        assert_eq!(summed(&told.rows), ledger, "{by:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// However badly it was mixed, put right, booked again and emptied.
    #[test]
    fn sums_by_anything_are_the_books_own_totals_to_the_microgram(
        seeds in prop::collection::vec(prop::collection::vec((any::<u8>(), 0_u16..400), 0..30), 1..4),
    ) {
        let mut shop = Shop::new();
        for (number, seed) in seeds.iter().enumerate() {
            shop.on(date(2026, 10, 5)).at.0 += i64::try_from(number).unwrap() * 400_000_000_000;
            let events = muddle(seed);
            let who = Who { bench: "bench 1".into(), operator: format!("painter {}", number % 2) };
            let at = shop.at;
            let (mix, id) = (shop.ids.mix(at), shop.ids.event(at));
            let (mut journal, first) = Journal::begin(mix, &events[0], id, at, &who).unwrap();
            shop.store.append(&first).unwrap();
            for event in &events[1..] {
                let id = shop.ids.event(at);
                shop.store.append(&journal.record(event, id, at, &who).unwrap()).unwrap();
            }
        }
        let period = Period::new(None, Some(date(2026, 10, 31)), "1m".parse().ok(), Stamp(0), TimeZone::UTC).unwrap();
        add_up(&shop.store, &period)?;
    }
}

/// A mix whose event cannot be read still has its masses.
#[test]
fn a_mix_that_cannot_be_read_is_counted_and_said() {
    let mut shop = Shop::new();
    shop.on(date(2026, 10, 5)).begin("Robin").pour(None, "116");
    let mix = shop.mix().mix();
    let mut odd = shop.store.events(mix).unwrap().pop().unwrap();
    odd.id = shop.ids.event(shop.at);
    odd.sequence += 1;
    odd.kind = "mix/sung".into();
    odd.body = "{}".into();
    odd.postings.clear();
    shop.store.append(&odd).unwrap();
    let told = wasted(&shop.store, &october(), By::Layer);
    assert_eq!((told.unreadable, told.total.mixed.mass), (1, g("116")));
}
