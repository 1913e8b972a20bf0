//! What mixing by the shop's own record is worth: a simulated year of jobs, the same jobs mixed anew each way: by the
//! estimate and 15 % more, by the record at the usual odds, and by somebody who knows what will be used, which nobody does
//! and nothing beats. Who runs short more often wastes less, so that the estimate stands there once more with so much on
//! top that it is short as seldom as the record.
//!
//! The jobs are of the invented shop: its panels, its products' sheets, its cards. What a layer really takes is the sheet's
//! estimate times a factor: the shop's own for that kind of layer, the same all year and unknown to it (between 0.7 and
//! 1.25), times the painter's noise (logarithm normal, spread 0.12). Both are invented; no source. A mix that runs short is
//! followed by another of what is missing and 15 %, whoever mixes, and the car waits for it; what is left over counts as
//! wasted though a shop may keep some of it.
//!
//! `cargo bench --bench year_of_jobs -- SEED…` takes other years than the ones below. The last of those is held out:
//! nothing in the program was chosen by looking at it.

#![expect(clippy::print_stdout, reason = "a table to read is what this is for")]
#![expect(clippy::unwrap_used, reason = "a year without its jobs has nothing to compare")]

use pourbook::catalogue::{Catalogue, Product, Role};
use pourbook::job::{CardArea, Film, Need, Odds, Past, Surface, Usual, advice, needed};
use pourbook::scale::Chance;
use pourbook::units::{Area, Decimal, Millilitres};

/// So many jobs a year: eight a week.
const JOBS: usize = 400;
/// The years that are run, the last one held out.
const SEEDS: [u64; 4] = [1, 2, 3, 2_026];
const LAYERS: [Role; 5] = [Role::Undercoat, Role::Ground, Role::Pearl, Role::Blender, Role::Clear];
const SPREAD: f64 = 0.12;
const SHARES: (f64, f64) = (0.7, 1.25);
const MORE: f64 = 1.15;

fn whole(chance: &mut Chance, least: u64, most: u64) -> u64 {
    least + chance.next() % (most - least + 1)
}

fn float(volume: Millilitres) -> f64 {
    volume.to_string().parse().unwrap()
}

fn ml(volume: f64) -> Millilitres {
    Millilitres::parse(&format!("{volume:.3}")).unwrap()
}

/// What a layer of a job is estimated to need, and what it will really take.
struct Asked {
    layer: usize,
    estimate: Millilitres,
    takes: f64,
}

fn product(shop: &Catalogue, role: Role) -> &Product {
    shop.products.iter().find(|product| product.is_for(role)).unwrap()
}

fn estimate(shop: &Catalogue, role: Role, panels: &[Area], pearl_coats: u32) -> Millilitres {
    let (usual, product) = (Usual::default(), product(shop, role));
    let coats = if role == Role::Pearl { pearl_coats } else { product.coats.unwrap() };
    let film = Film {
        dry_um: product.film_um.unwrap(),
        coats,
        solids: product.solids.unwrap(),
        efficiency: product.efficiency.unwrap_or(usual.efficiency),
    };
    // The cards come before the count is chosen, from mixes of their own.
    let surface = Surface::of(panels.iter().copied(), [] as [CardArea; 0], coats);
    needed(surface, film, usual.behind).map(Need::total).unwrap()
}

/// A year's layers in the order they are mixed.
fn year(shop: &Catalogue, seed: u64) -> Vec<Asked> {
    let mut chance = Chance::new(seed);
    let (least, most) = SHARES;
    let shares = LAYERS.map(|_| least + (most - least) * chance.part());
    let mut asked = Vec::new();
    for _ in 0..JOBS {
        let count = whole(&mut chance, 1, 3);
        let areas: Vec<Area> = shop.panels.iter().filter_map(|panel| panel.area).collect();
        let panels: Vec<Area> =
            (0..count).map(|_| areas[usize::try_from(chance.next()).unwrap() % areas.len()]).collect();
        let coats = u32::try_from(whole(&mut chance, 2, 4)).unwrap();
        for (layer, role) in LAYERS.into_iter().enumerate() {
            let estimate = estimate(shop, role, &panels, coats);
            let takes = float(estimate) * shares[layer] * (SPREAD * chance.normal()).exp();
            asked.push(Asked { layer, estimate, takes });
        }
    }
    asked
}

/// What came of a year, in millilitres.
#[derive(Clone, Copy, Default)]
struct Came {
    layers: u32,
    takes: f64,
    mixed: f64,
    wasted: f64,
    short: u32,
}

impl Came {
    /// So much was mixed first; what is missing is mixed after it.
    fn take(&mut self, takes: f64, first: f64) {
        let missing = takes - first;
        let second = if missing > 0.0 { (missing * MORE).ceil() } else { 0.0 };
        self.layers += 1;
        self.short += u32::from(missing > 0.0);
        self.takes += takes;
        self.mixed += first + second;
        self.wasted += first + second - takes;
    }

    fn with(self, other: Self) -> Self {
        Self {
            layers: self.layers + other.layers,
            takes: self.takes + other.takes,
            mixed: self.mixed + other.mixed,
            wasted: self.wasted + other.wasted,
            short: self.short + other.short,
        }
    }

    fn line(self, name: &str, policy: &str) {
        println!(
            "  {name:<12} {policy:<20} {:>9.1} {:>9.1} {:>7.1} {:>6} {:>6.1}",
            self.mixed / 1000.0,
            self.wasted / 1000.0,
            100.0 * self.wasted / self.takes,
            self.short,
            100.0 * f64::from(self.short) / f64::from(self.layers),
        );
    }
}

/// How a layer is mixed.
#[derive(Clone, Copy)]
enum Policy {
    Plain,
    Record,
    /// The estimate and so much more that it runs short as seldom as the record: found when the year is over.
    Hindsight(f64),
    Known,
}

impl Policy {
    fn name(self) -> String {
        match self {
            Self::Plain => "estimate + 15 %".to_owned(),
            Self::Record => "own record, 9 in 10".to_owned(),
            Self::Hindsight(more) => format!("estimate + {:.0} % *", 100.0 * (more - 1.0)),
            Self::Known => "known beforehand".to_owned(),
        }
    }

    /// The least that has to be put on every estimate so that no more layers run short than by the record.
    fn hindsight(asked: &[Asked]) -> Self {
        let short = |policy: Self| policy.run(asked).iter().map(|came| came.short).sum::<u32>();
        let most = short(Self::Record);
        let mores = (0..200).map(|percent| Self::Hindsight(1.0 + f64::from(percent) / 100.0));
        mores.into_iter().find(|policy| short(*policy) <= most).unwrap()
    }

    fn run(self, asked: &[Asked]) -> [Came; LAYERS.len()] {
        let mut came = [Came::default(); LAYERS.len()];
        let mut record: [Vec<Past>; LAYERS.len()] = Default::default();
        for one in asked {
            let past = &mut record[one.layer];
            let first = match self {
                Self::Plain => (float(one.estimate) * MORE).ceil(),
                Self::Hindsight(more) => (float(one.estimate) * more).ceil(),
                // The latest fifty, as the program takes them.
                Self::Record => {
                    let latest =
                        past.len().saturating_sub(usize::try_from(pourbook::job::MOST_PAST).unwrap());
                    float(advice(one.estimate, &past[latest..], Odds::USUAL).mix).ceil()
                }
                Self::Known => one.takes,
            };
            came[one.layer].take(one.takes, first);
            past.push(Past { estimated: one.estimate, mixed: ml(first.max(one.takes)), used: ml(one.takes) });
        }
        came
    }
}

fn main() {
    let named: Vec<u64> = std::env::args().skip(1).filter_map(|argument| argument.parse().ok()).collect();
    let seeds = if named.is_empty() { SEEDS.to_vec() } else { named };
    let shop = Catalogue::demo();
    assert!(shop.panels.iter().any(|panel| panel.area > Some(Area::new(Decimal::ZERO))));
    for seed in seeds {
        let asked = year(&shop, seed);
        let held_out = if seed == SEEDS[SEEDS.len() - 1] { ", held out" } else { "" };
        println!("year {seed}{held_out}: {JOBS} jobs, {} layers", asked.len());
        println!(
            "  {:<12} {:<20} {:>9} {:>9} {:>7} {:>6} {:>6}",
            "layer", "mixed by", "mixed L", "wasted L", "in 100", "short", "in 100"
        );
        let policies = [Policy::Plain, Policy::Record, Policy::hindsight(&asked), Policy::Known];
        let all = policies.map(|policy| (policy, policy.run(&asked)));
        for (layer, role) in LAYERS.into_iter().enumerate() {
            for (policy, came) in &all {
                came[layer].line(role.name(), &policy.name());
            }
        }
        for (policy, came) in &all {
            came.iter().copied().fold(Came::default(), Came::with).line("all", &policy.name());
        }
        println!(
            "  * as seldom short as by the own record, which nobody could know before the year was over"
        );
        println!();
    }
}
