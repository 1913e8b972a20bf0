//! A bad wire for hours: readings in each format with bits flipped and bytes lost, doubled and put in, and how many
//! wrong weights get past settle. Seeded, so the same every time; the table is printed with
//! `cargo test --test settle_noise -- --nocapture`. `cargo bench --bench noise` has a million readings at four rates.
//!
//! A number damaged the same way in every reading that is asked for cannot be told from the truth. A wire as bad as
//! this damages a reading in fifty, which is far worse than one that anybody would go on using.

#![expect(clippy::unwrap_used, reason = "what helps a test fails as a test does")]

#[path = "../benches/noise/wire.rs"]
mod wire;

use pourbook::scale::Rules;
use pourbook::scale::shape::{ALL, Shape};
use wire::{Came, weigh};

/// Among all formats.
const READINGS: usize = 600_000;
const RATE: f64 = 1e-4;
const SEED: u64 = 2_026;

/// What came of every format over a wire with bit errors at that rate, in the order of [`ALL`].
fn all(rate: f64, readings: u64) -> Vec<(&'static str, Came)> {
    std::thread::scope(|scope| {
        let run = |shape: &'static dyn Shape| {
            scope.spawn(move || {
                (shape.name(), weigh(shape, Rules::default(), (readings, rate, SEED), |_, _| {}))
            })
        };
        let running: Vec<_> = ALL.iter().map(|shape| run(*shape)).collect();
        running.into_iter().map(|thread| thread.join().unwrap()).collect()
    })
}

#[test]
fn no_wrong_weight_gets_past_settle() {
    let readings = u64::try_from(READINGS / ALL.len()).unwrap();
    let all = all(RATE, readings);
    println!(
        "{readings} readings a format, one bit in {:.0} flipped, one byte each lost, doubled, put in",
        1.0 / RATE
    );
    println!(
        "{:<18} {:>8} {:>8} {:>10} {:>8} {:>6}",
        "format", "damaged", "misread", "not moving", "weights", "wrong"
    );
    for (name, came) in &all {
        println!(
            "{name:<18} {:>8} {:>8} {:>10} {:>8} {:>6}",
            came.damaged, came.misread, came.misread_stable, came.weights, came.wrong
        );
    }
    for (name, came) in &all {
        assert!(came.damaged > readings / 200, "{name}: the wire is not bad enough: {}", came.damaged);
        assert!(came.weights > readings / 5, "{name}: {} weights: nothing settles", came.weights);
        assert_eq!(came.wrong, 0, "{name}: wrong weights");
    }
    // One format may have a check sum and misread nothing; all together must, or nothing is shown.
    let misread: u64 = all.iter().map(|(_, came)| came.misread_stable).sum();
    assert!(misread > 200, "{misread} misread, too few to show anything");
}

/// What the rules for bad lines cost on a good one: nothing, where the scale says when it stands still.
#[test]
fn on_a_clean_line_the_second_reading_at_rest_is_the_weight() {
    for (name, came) in all(0.0, 6_000) {
        assert_eq!((came.damaged, came.misread, came.wrong), (0, 0, 0), "{name}");
        assert_eq!(came.settled_rests, 200, "{name}: every rest");
        let median = came.median_readings_to_weight();
        // Without a flag it is a second, the last reading of the pour included.
        assert!(median == 2 || (10..=11).contains(&median), "{name}: {median} readings");
    }
}
