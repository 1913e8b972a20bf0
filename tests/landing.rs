//! Whether what the hand is told at the bench is worth heeding: a few seeded pours of what `cargo bench --bench
//! landing` does by the thousand.

#![expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a model of a painter's hand, in floats"
)]

#[path = "../benches/landing/pour.rs"]
mod pour;

use pour::{Learns, Painter, Poured, Task, all};

const PER_SCALE: u64 = 60;
const SEED: u64 = 7;

fn over(came: &[(Task, Poured)]) -> usize {
    came.iter().filter(|(_, poured)| poured.over).count()
}

/// The number-watchers have the rules that serve them best among those that take no longer; see the table of the
/// benchmark. One who crawls goes over less often than anybody.
#[test]
fn one_who_heeds_goes_over_less_often_than_one_who_watches() {
    let sum = |came: &[(Task, Poured)], of: fn(&Poured) -> f64| {
        came.iter().map(|(_, poured)| of(poured)).sum::<f64>()
    };
    let heeds = all(PER_SCALE, SEED, Painter::Heeds, Learns::One);
    let less = over(&heeds);
    assert_eq!(heeds.len(), 360);
    for (ease, stop) in [(2.0, 1.0), (2.0, 1.3), (3.0, 1.0)] {
        let watches = all(PER_SCALE, SEED, Painter::Watches(ease, stop), Learns::Nothing);
        let more = over(&watches);
        assert!(less * 5 < more * 4, "{less} of 360 over heeding, {more} watching by {ease} and {stop} s");
        for of in [|poured: &Poured| poured.excess, |poured: &Poured| poured.off] {
            assert!(sum(&heeds, of) < sum(&watches, of), "{} {}", sum(&heeds, of), sum(&watches, of));
        }
        // The advice costs goes and time, but is not bought with a crawl.
        assert!(sum(&heeds, |poured| poured.seconds) < 1.4 * sum(&watches, |poured| poured.seconds));
        assert!(
            sum(&heeds, |poured| f64::from(poured.goes))
                < 1.6 * sum(&watches, |poured| f64::from(poured.goes))
        );
    }
}

#[test]
fn a_lag_that_is_learned_goes_over_less_often_than_one_that_is_not() {
    let learned = over(&all(PER_SCALE, SEED, Painter::Heeds, Learns::One));
    let fixed = over(&all(PER_SCALE, SEED, Painter::Heeds, Learns::Nothing));
    assert!(
        learned * 2 < fixed,
        "{learned} of 360 over with a lag that is learned, {fixed} with one that is not"
    );
}
