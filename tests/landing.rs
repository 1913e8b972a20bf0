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

/// The number-watcher has the rule that serves him best over all of these scales; see the table of the benchmark.
#[test]
fn one_who_heeds_goes_over_less_often_than_one_who_watches() {
    let heeds = all(PER_SCALE, SEED, Painter::Heeds, Learns::One);
    let fixed = all(PER_SCALE, SEED, Painter::Heeds, Learns::Nothing);
    let watches = all(PER_SCALE, SEED, Painter::Watches(1.3), Learns::Nothing);
    assert_eq!([heeds.len(), fixed.len(), watches.len()], [360; 3]);
    let (less, without, more) = (over(&heeds), over(&fixed), over(&watches));
    assert!(less * 4 < more * 3, "{less} of 360 over heeding, {more} watching");
    assert!(
        less * 2 < without,
        "{less} of 360 over with a lag that is learned, {without} with one that is not"
    );
    let sum = |came: &[(Task, Poured)], of: fn(&Poured) -> f64| {
        came.iter().map(|(_, poured)| of(poured)).sum::<f64>()
    };
    for of in [|poured: &Poured| poured.excess, |poured: &Poured| poured.off] {
        assert!(sum(&heeds, of) < sum(&watches, of), "{} {}", sum(&heeds, of), sum(&watches, of));
    }
    // The advice is not bought with a crawl, nor with drop after drop.
    for of in [|poured: &Poured| poured.seconds, |poured: &Poured| f64::from(poured.goes)] {
        assert!(sum(&heeds, of) < 1.4 * sum(&watches, of), "{} {}", sum(&heeds, of), sum(&watches, of));
    }
}
