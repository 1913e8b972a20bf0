//! A shop's files from outside: what is read, exactly; what is refused, and how that is said; what is found.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::indexing_slicing,
    reason = "a test that cannot go on says so and stops"
)]

mod damaged;
mod demo_shop;
mod found;
mod mistakes;
mod read;

use pourbook::catalogue::{Catalogue, Problem};
use std::collections::BTreeMap;

const TONERS: &str = r##"[[toner]]
code = "W10"
name = "titanium white"
kind = "solid"
density = "1.482"
price = "38.50"
tolerance = "0.5 %"
swatch = "#f2f1ec"
place = "first"

[[toner]]
code = "K05"
name = "carbon black"
kind = "solid"
density = 1.020
"##;

const CUPS: &str = r#"[[cup]]
name = "600"
tare = "21.8"
brim = 600
"#;

const COLOUR: &str = r#"code = "PB-3140"
name = "Gannet White"
finish = "two-stage"

[[layer]]
role = "base"
pours = [
  { toner = "W10", parts = "812.40" },
  { toner = "K05", parts = 3.150 },
]
"#;

const GANNET: &str = "colours/gannet-white.toml";

/// The good shop with one file replaced or added.
fn shop_with(path: &str, text: &[u8]) -> Catalogue {
    let mut files: BTreeMap<&str, &[u8]> = BTreeMap::from([
        ("toners.toml", TONERS.as_bytes()),
        ("cups.toml", CUPS.as_bytes()),
        (GANNET, COLOUR.as_bytes()),
    ]);
    files.insert(path, text);
    Catalogue::from_files("shop", files)
}

fn shown(problems: &[Problem]) -> String {
    problems.iter().flat_map(|problem| [problem.to_string(), "\n".to_owned()]).collect()
}
