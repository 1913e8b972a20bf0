//! What it costs to work out the ways out of an overpour, for 20 toners: all six side by side, and their parts.
//! The first line is the measure to hold the others against: 20 multiplications and 20 divisions of the same
//! decimals in the same run.

#![expect(clippy::unwrap_used, reason = "a bench without its mix has nothing to measure")]

use divan::{Bencher, black_box};
use pourbook::catalogue::{ColourCode, Role, TonerCode};
use pourbook::mix::options::{self, Situation};
use pourbook::mix::{How, Limits, Line, LinePart, Phase, Recipe, Session, Start, Vessel};
use pourbook::scale::Chance;
use pourbook::units::{Decimal, Density, Division, Grams, Millilitres, PricePerLitre, Share};

const TONERS: i64 = 20;

fn main() {
    divan::main();
}

/// 500 mL of 20 toners with uneven shares, the twelfth poured 2 g above its stop.
fn over() -> Session {
    let mut chance = Chance::new(20);
    let mut draw = |least: i64, span: u64| least + i64::try_from(chance.next() % span).unwrap();
    let lines = (0..TONERS)
        .zip('A'..)
        .map(|(_, code)| Line {
            toner: TonerCode::new(code.to_string()),
            name: format!("made-up toner {code}"),
            parts: Decimal::new(draw(150, 12_000), 2),
            density: Density::new(Decimal::new(draw(900, 600), 3)).unwrap(),
            tolerance: Share::ONE_PERCENT,
            price: PricePerLitre::new(Decimal::new(draw(2_000, 6_000), 2)),
            place: None,
            swatch: None,
            part: LinePart::Colour,
        })
        .collect();
    let recipe =
        Recipe::new(ColourCode::new("MODEL"), "made up".into(), "standard".into(), Role::Ground, lines);
    let mut session = Session::begin(Start {
        recipe: recipe.unwrap(),
        volume: Millilitres::new(Decimal::from(500)),
        vessel: Vessel {
            name: "600".into(),
            brim: Millilitres::new(Decimal::from(600)),
            tare: Grams::new(Decimal::new(214, 1)),
        },
        limits: Limits { division: Division::TENTH, capacity: Some(Grams::new(Decimal::from(7_500))) },
        order: (0..20).collect(),
        version: None,
        job: None,
    })
    .unwrap();
    for pour in 1..=12 {
        let above = if pour == 12 { Grams::new(Decimal::TWO) } else { Grams::ZERO };
        let event = session.take(session.shown_stop().unwrap() + above, How::Scale).unwrap();
        session.apply(&event).unwrap();
    }
    assert_eq!(session.phase(), Phase::Over(11));
    session
}

fn situation(session: &Session) -> Situation<'_> {
    Situation {
        recipe: session.recipe(),
        cup: session.cup(),
        foreign: Grams::ZERO,
        ordered: session.ordered(),
        vessel: &session.start().vessel,
        limits: session.limits(),
    }
}

#[divan::bench]
fn a_base_of_20_products_and_quotients(bencher: Bencher<'_, '_>) {
    let session = over();
    let total = session.ordered();
    bencher.bench_local(|| {
        let cup = black_box(session.cup());
        cup.items.iter().fold(Decimal::ZERO, |sum, item| {
            let exact = total.decimal().checked_mul(item.share.decimal()).unwrap_or_default();
            let back = item.poured.decimal().checked_div(item.share.decimal()).unwrap_or_default();
            black_box((exact, back));
            sum
        })
    });
}

#[divan::bench]
fn six_options(bencher: Bencher<'_, '_>) {
    let session = over();
    assert_eq!(options::ways(&situation(&session)).len(), 6);
    bencher.bench_local(|| options::ways(black_box(&situation(&session))));
}

#[divan::bench]
fn the_sessions_ways(bencher: Bencher<'_, '_>) {
    let session = over();
    bencher.bench_local(|| black_box(&session).ways());
}

#[divan::bench]
fn smallest_right(bencher: Bencher<'_, '_>) {
    let session = over();
    bencher.bench_local(|| black_box(session.cup()).smallest_right(session.ordered()));
}

#[divan::bench]
fn keep(bencher: Bencher<'_, '_>) {
    let session = over();
    bencher.bench_local(|| black_box(session.cup()).keep(session.ordered()));
}

#[divan::bench]
fn least_slack(bencher: Bencher<'_, '_>) {
    let session = over();
    assert!(session.cup().least_slack(session.ordered()).is_some());
    bencher.bench_local(|| black_box(session.cup()).least_slack(session.ordered()));
}

#[divan::bench]
fn amounts(bencher: Bencher<'_, '_>) {
    let session = over();
    let total = session.cup().smallest_right(session.ordered());
    bencher.bench_local(|| black_box(session.cup()).amounts(total));
}

#[divan::bench]
fn exact(bencher: Bencher<'_, '_>) {
    let session = over();
    bencher.bench_local(|| black_box(session.cup()).exact(session.ordered()));
}
