//! A few of the mixes of the order model: that every one comes out right, and what the order and the way of
//! correcting are for. `cargo bench --bench order` has the figures.

#![expect(clippy::unwrap_used, reason = "what helps a test fails as a test does")]

#[path = "../benches/order/model.rs"]
#[expect(dead_code, reason = "the benchmark uses the rest")]
mod model;

use model::{Habit, Hand, Order};
use pourbook::mix::Phase;
use pourbook::units::{Decimal, Division, Grams, Share};

const SEED: u64 = 7;

#[test]
fn every_mix_ends_right_and_early_overpours_are_cheap_to_draw_off() {
    let mixes = model::mixes(SEED, 200);
    let mut wasted = [[Grams::ZERO; 2]; 5];
    let mut corrected = 0;
    for (number, mix) in mixes.iter().enumerate() {
        for (order, wasted) in Order::ALL.into_iter().zip(&mut wasted) {
            for (habit, wasted) in [Habit::Grow, Habit::DrawOff].into_iter().zip(wasted) {
                let outcome = model::weigh(mix, order, habit, Hand::Careful).unwrap();
                let told = format!("mix {number}, {order:?}, {habit:?}");
                assert_eq!(outcome.session.phase(), Phase::Complete, "{told}");
                check_right(&outcome.session, &told);
                if let Some((growing, drawing)) = outcome.first {
                    // What is drawn off is a whole number of divisions, and no more than that makes it.
                    assert!(drawing <= Division::TENTH.round_up(growing), "{told}: {drawing}, {growing}");
                    corrected += 1;
                }
                *wasted += outcome.waste;
            }
        }
    }
    assert!(corrected > 400, "the hand is too good to show anything: {corrected}");
    // Whatever the order, growing costs by the toner that is over, not by what is in the cup: only drawing off
    // is cheaper early. So the order that risks least is held to its word where the painter draws off.
    let [_, [_, formula], _, [_, least_risk], [_, any_first]] = wasted;
    assert!(least_risk <= formula && any_first <= formula, "{wasted:?}");
    assert!(wasted.iter().all(|[grown, drawn]| drawn <= grown), "{wasted:?}");
}

/// By the tolerance of the design alone, without the session's own judgement: `|q − w T| ≤ max(τ w T, δ)`.
fn check_right(session: &pourbook::mix::Session, told: &str) {
    let total = session.holds();
    for (line, share) in session.recipe().shares().into_iter().enumerate() {
        let exact = total * share;
        let tolerance = (exact * Share::ONE_PERCENT).max(Division::TENTH.grams());
        let off = (session.poured(line) - exact).abs();
        assert!(off <= tolerance + Grams::new(Decimal::new(1, 6)), "{told}: toner {line} is off by {off}");
    }
}
