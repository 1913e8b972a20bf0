//! Whether what the hand is told is worth heeding: the same pours by a painter who heeds it and by one who watches the
//! number, with the same reactions and the same unsteady hand; and what learning the lag adds. Six scales, quick to
//! slow; targets from 2 g to 400 g, right within one percent or a division of 0.1 g; thin to thick paint.
//!
//! `cargo bench --bench landing -- --pours 400 --seed 1`: so many pours at each scale.

#![allow(
    clippy::expect_used,
    clippy::print_stdout,
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a benchmark that cannot be set up stops, its figures are its output, and statistics are floats"
)]

mod pour;

use pour::{Learns, Painter, Poured, SCALES_S, Task, all};

fn option(name: &str, without: u64) -> u64 {
    let mut given = std::env::args().skip_while(|argument| argument != name).skip(1);
    given.next().map_or(without, |text| text.parse().expect("a number"))
}

/// A share with its 95 % interval (Wilson 1927, from memory), in percent.
fn share(of: &[&Poured], which: impl Fn(&Poured) -> bool) -> String {
    let (n, z) = (of.len() as f64, 1.96_f64);
    let p = of.iter().filter(|poured| which(poured)).count() as f64 / n;
    let middle = (p + z * z / (2.0 * n)) / (1.0 + z * z / n);
    let half = z / (1.0 + z * z / n) * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
    format!("{:5.1} ({:4.1}-{:4.1})", p * 100.0, (middle - half).max(0.0) * 100.0, (middle + half) * 100.0)
}

/// A mean with its 95 % interval.
fn mean(of: &[&Poured], value: impl Fn(&Poured) -> f64) -> String {
    let n = of.len() as f64;
    let mean = of.iter().map(|poured| value(poured)).sum::<f64>() / n;
    let variance = of.iter().map(|poured| (value(poured) - mean).powi(2)).sum::<f64>() / (n - 1.0).max(1.0);
    format!("{mean:6.2} +-{:4.2}", 1.96 * (variance / n).sqrt())
}

fn line(name: &str, of: &[&Poured]) {
    println!(
        "{name:<31} {}  {}  {}  {}  {}  {}  {}",
        share(of, |poured| poured.over && poured.goes == 1),
        share(of, |poured| poured.over && poured.goes > 1),
        share(of, |poured| !poured.over && poured.goes == 1),
        share(of, |poured| !poured.over && poured.goes > 1),
        mean(of, |poured| poured.excess * 100.0),
        mean(of, |poured| poured.off * 100.0),
        mean(of, |poured| poured.seconds),
    );
}

fn main() {
    let (pours, seed) = (option("--pours", 400), option("--seed", 1));
    println!("{} pours by each, {pours} at each of {} scales; seed {seed}", pours * 6, SCALES_S.len());
    let titles = ["over at once %", "over later %", "right at once %", "topped up %"]
        .map(|title| format!("{title:<17}"));
    println!("\n{:<31} {}  {:<12}  {:<12}  seconds", "", titles.join("  "), "excess, %", "off, %");
    let runs = [
        ("heeds, lag learned", Painter::Heeds, Learns::One),
        ("heeds, learned by flow", Painter::Heeds, Learns::Two),
        ("heeds, lag fixed at 350 ms", Painter::Heeds, Learns::Nothing),
        ("watches, eases 2.0, stops 0.4 s", Painter::Watches(2.0, 0.4), Learns::Nothing),
        ("watches, eases 2.0, stops 0.8 s", Painter::Watches(2.0, 0.8), Learns::Nothing),
        ("watches, eases 2.0, stops 1.0 s", Painter::Watches(2.0, 1.0), Learns::Nothing),
        ("watches, eases 2.0, stops 1.3 s", Painter::Watches(2.0, 1.3), Learns::Nothing),
        ("watches, eases 2.0, stops 1.6 s", Painter::Watches(2.0, 1.6), Learns::Nothing),
        ("watches, eases 3.0, stops 1.0 s", Painter::Watches(3.0, 1.0), Learns::Nothing),
        ("watches, eases 3.0, stops 1.3 s", Painter::Watches(3.0, 1.3), Learns::Nothing),
        ("watches, eases 3.0, stops 2.0 s", Painter::Watches(3.0, 2.0), Learns::Nothing),
        ("watches, eases 4.0, stops 1.3 s", Painter::Watches(4.0, 1.3), Learns::Nothing),
        ("watches, eases 4.0, stops 2.0 s", Painter::Watches(4.0, 2.0), Learns::Nothing),
        ("watches, eases 5.0, stops 2.5 s", Painter::Watches(5.0, 2.5), Learns::Nothing),
    ];
    let came: Vec<(&str, Vec<(Task, Poured)>)> = std::thread::scope(|scope| {
        let running: Vec<_> = runs
            .into_iter()
            .map(|(name, painter, learns)| (name, scope.spawn(move || all(pours, seed, painter, learns))))
            .collect();
        running.into_iter().map(|(name, run)| (name, run.join().expect("no painter fails"))).collect()
    });
    for (name, poured) in &came {
        line(name, &poured.iter().map(|(_, poured)| poured).collect::<Vec<_>>());
    }
    for follow_s in SCALES_S {
        println!("\nscale that follows in {follow_s} s");
        for (name, poured) in &came {
            let here = |task: &Task| (task.follow_s - follow_s).abs() < 1e-9;
            line(
                name,
                &poured.iter().filter(|(task, _)| here(task)).map(|(_, poured)| poured).collect::<Vec<_>>(),
            );
        }
    }
    for (from, to) in [(2.0, 10.0), (10.0, 60.0), (60.0, 400.1)] {
        println!("\ntargets from {from} g to {to:.0} g");
        for (name, poured) in &came {
            let here = |task: &Task| (from..to).contains(&task.target);
            line(
                name,
                &poured.iter().filter(|(task, _)| here(task)).map(|(_, poured)| poured).collect::<Vec<_>>(),
            );
        }
    }
}
