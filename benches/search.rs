//! What a keystroke costs among very many colours, beside a general-purpose fuzzy finder over the same lines in the same
//! run: `cargo bench --bench search`. The other is fzf, as a Debian package has it; without it that part is left out.
//!
//! fzf is started anew for each query and reads all lines each time, which the program does not: what that costs is
//! measured by a query that finds nothing, and stands beside.

#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    clippy::cast_precision_loss,
    reason = "a benchmark prints what it measured"
)]

use pourbook::catalogue::{Catalogue, Colour, ColourCode, Finder, Listing};
use std::fmt::Write as _;
use std::io::Write as _;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Invented words; no colour of anybody's.
const FIRST: [&str; 24] = [
    "Gannet",
    "Ptarmigan",
    "Shale",
    "Polypody",
    "Rowan",
    "Sloe",
    "Dunlin",
    "Waxcap",
    "Rime",
    "Sulphur",
    "Coal",
    "Chert",
    "Otter",
    "Heron",
    "Föhn",
    "Bracken",
    "Peat",
    "Lichen",
    "Tern",
    "Curlew",
    "Juniper",
    "Marl",
    "Fen",
    "Scree",
];
const SECOND: [&str; 24] = [
    "White", "Drizzle", "Dusk", "Plume", "Thrush", "Wall", "Blue", "Grey", "Green", "Red", "Brown", "Silver",
    "Mist", "Night", "Dawn", "Stone", "Moss", "Bark", "Sand", "Frost", "Ember", "Smoke", "Cloud", "Wave",
];
const VARIANTS: [&str; 5] = ["standard", "standard", "standard", "coarser", "finer"];
/// What is typed, letter by letter.
const QUERIES: [&str; 4] = ["gannet white", "pb-31400", "drizle sha", "frost pearl 77"];

fn colours(count: usize) -> Vec<Colour> {
    let like = Catalogue::demo().colours.remove(0);
    let mut chance = 0x9e37_79b9_7f4a_7c15_u64;
    let mut next = |below: usize| {
        chance ^= chance << 13;
        chance ^= chance >> 7;
        chance ^= chance << 17;
        usize::try_from(chance >> 16).unwrap() % below
    };
    (0..count)
        .map(|at| Colour {
            code: ColourCode::new(format!("PB-{at:05}")),
            name: format!("{} {} {}", FIRST[next(24)], SECOND[next(24)], next(400)),
            variant: VARIANTS[next(5)].to_owned(),
            ..like.clone()
        })
        .collect()
}

/// Median and worst of some times, in milliseconds.
fn said(mut times: Vec<Duration>) -> (f64, f64) {
    times.sort_unstable();
    let ms = |time: Duration| time.as_secs_f64() * 1_000.0;
    (ms(times[times.len() / 2]), ms(times[times.len() - 1]))
}

fn fzf(lines: &str, query: &str) -> Option<Duration> {
    let begun = Instant::now();
    let mut child = Command::new("fzf")
        .args(["--filter", query])
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .spawn()
        .ok()?;
    child.stdin.take()?.write_all(lines.as_bytes()).ok()?;
    child.wait().ok()?;
    Some(begun.elapsed())
}

fn main() {
    for count in [100_000, 1_000_000] {
        let colours = colours(count);
        let begun = Instant::now();
        let listing = Listing::of(&colours);
        let listed = begun.elapsed().as_secs_f64() * 1_000.0;
        let begun = Instant::now();
        let mut finder = Finder::new(&listing);
        let prepared = begun.elapsed().as_secs_f64() * 1_000.0;
        println!("{count} colours, listed in {listed:.0} ms, prepared in {prepared:.0} ms");
        let lines: String = colours.iter().fold(String::new(), |mut all, colour| {
            writeln!(all, "{} {} {} {}", colour.code, colour.name, colour.variant, colour.finish).unwrap();
            all
        });
        let (mut ours, mut firsts, mut theirs) = (Vec::new(), Vec::new(), Vec::new());
        for query in QUERIES {
            let mut typed = String::new();
            for letter in query.chars() {
                typed.push(letter);
                let begun = Instant::now();
                let found = finder.find(&listing, &typed, 200);
                let took = begun.elapsed();
                std::hint::black_box(found);
                if typed.len() == 1 { &mut firsts } else { &mut ours }.push(took);
                theirs.extend(fzf(&lines, &typed));
            }
            let begun = Instant::now();
            std::hint::black_box(finder.find(&listing, "", 200));
            ours.push(begun.elapsed());
        }
        let all: Vec<Duration> = ours.iter().chain(&firsts).copied().collect();
        let ((median, worst), (first, first_worst)) = (said(all), said(firsts));
        println!("  a keystroke   median {median:8.2} ms   worst {worst:8.2} ms");
        println!("  the first one median {first:8.2} ms   worst {first_worst:8.2} ms");
        if theirs.is_empty() {
            println!("  fzf is not installed: nothing to hold it against");
            continue;
        }
        let empty: Vec<Duration> = (0..5).filter_map(|_| fzf(&lines, "\u{1f}\u{1f}\u{1f}")).collect();
        let ((fzf_median, fzf_worst), (start, _)) = (said(theirs), said(empty));
        println!(
            "  fzf --filter  median {fzf_median:8.2} ms   worst {fzf_worst:8.2} ms   of which reading {start:.2} ms"
        );
        println!(
            "  ratio of medians {:.2}; to fzf without its reading {:.2}",
            median / fzf_median,
            median / (fzf_median - start).max(0.01)
        );
    }
}
