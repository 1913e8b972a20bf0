//! How many wrong weights a bad wire gets past settle: so many readings through every format at four rates of
//! damage, and the same with the rules for damaged lines off. Ends with what the rules cost on a clean line.
//!
//! `cargo bench --bench noise -- --readings 1000000 --seeds 1,2,3`; every weight that is wrong is told on standard
//! error with the seed and the reading at which it settled.

#![allow(
    clippy::expect_used,
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a benchmark that cannot be set up stops, and its figures are its output"
)]

mod wire;

use pourbook::scale::Rules;
use pourbook::scale::shape::{ALL, Shape};
use std::sync::Mutex;
use wire::{Came, weigh};

const RATES: [f64; 4] = [1e-5, 1e-4, 1e-3, 1e-2];

/// The number behind an option, or what it is without.
fn option(name: &str, without: &str) -> String {
    let mut given = std::env::args().skip_while(|argument| argument != name).skip(1);
    given.next().unwrap_or_else(|| without.to_owned())
}

/// Every job on as many threads as there are processors; the results in the order of the jobs.
fn all<J: Sync, R: Send>(jobs: &[J], work: impl Fn(&J) -> R + Sync) -> Vec<R> {
    let next = Mutex::new(0..jobs.len());
    let done = Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        for _ in 0..std::thread::available_parallelism().map_or(1, usize::from) {
            scope.spawn(|| {
                loop {
                    let Some(index) = next.lock().expect("no thread fails").next() else { break };
                    let result = work(&jobs[index]);
                    done.lock().expect("no thread fails").push((index, result));
                }
            });
        }
    });
    let mut done = done.into_inner().expect("no thread fails");
    done.sort_by_key(|(index, _)| *index);
    done.into_iter().map(|(_, result)| result).collect()
}

fn table(readings: u64, seed: u64) {
    let jobs: Vec<(&dyn Shape, f64)> =
        ALL.iter().flat_map(|shape| RATES.map(|rate| (*shape, rate))).collect();
    let results = all(&jobs, |&(shape, rate)| {
        let told = |number, weight: pourbook::scale::Weight| {
            eprintln!("{} at {rate:e}, seed {seed}: {} g at reading {number}", shape.name(), weight.grams());
        };
        let came = weigh(shape, Rules::default(), (readings, rate, seed), told);
        // The same wire, with two equal readings for all: what the rules for damaged lines are for.
        let plain = Rules { wary_count: 0, ..Rules::default() };
        (came, weigh(shape, plain, (readings, rate, seed), |_, _| {}).wrong)
    });
    println!(
        "\nseed {seed}: {readings} readings a format; one bit, and one byte each lost, doubled, put in, in so many"
    );
    println!(
        "{:<20} {:>6} {:>9} {:>9} {:>12} {:>9} {:>7} {:>15}",
        "format", "rate", "damaged", "misread", "not moving", "weights", "WRONG", "if not wary"
    );
    for ((shape, rate), (came, plain)) in jobs.iter().zip(&results) {
        let Came { damaged, misread, misread_stable, weights, wrong, .. } = came;
        println!(
            "{:<20} {rate:>6e} {damaged:>9} {misread:>9} {misread_stable:>12} {weights:>9} {wrong:>7} {plain:>15}",
            shape.name()
        );
    }
    for rate in RATES {
        let of = jobs.iter().zip(&results).filter(|((_, job), _)| job.total_cmp(&rate).is_eq());
        let (wrong, plain) = of.fold((0, 0), |sum, (_, (came, plain))| (sum.0 + came.wrong, sum.1 + plain));
        println!("all formats at {rate:e}: {wrong} wrong weights; {plain} if not wary");
    }
}

/// Readings from the first at rest to the first weight.
fn cost(readings: u64) {
    println!("\nreadings from the first at rest to the first weight: median, and mean");
    println!("{:<20} {:>8} {:>8} {:>8} {:>8} {:>8}", "format", "clean", "1e-5", "1e-4", "1e-3", "1e-2");
    let rows = all(ALL, |shape| {
        [0.0, RATES[0], RATES[1], RATES[2], RATES[3]].map(|rate| {
            let came = weigh(*shape, Rules::default(), (readings, rate, 1), |_, _| {});
            let all: u64 = (0..).zip(came.took).map(|(took, rests)| took * rests).sum();
            #[expect(clippy::cast_precision_loss, reason = "a mean to two digits")]
            let mean = all as f64 / came.settled_rests.max(1) as f64;
            format!("{} {mean:>5.2}", came.median_readings_to_weight())
        })
    });
    for (shape, row) in ALL.iter().zip(rows) {
        print!("{:<20}", shape.name());
        for cell in row {
            print!(" {cell:>8}");
        }
        println!();
    }
}

fn main() {
    let readings: u64 = option("--readings", "1000000").parse().expect("how many readings");
    for seed in option("--seeds", "2026").split(',') {
        table(readings, seed.parse().expect("a seed"));
    }
    cost(readings / 10);
}
