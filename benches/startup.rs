//! How soon a shop of 100,000 colours is there: from starting the program to its first screen, and until what has
//! changed since is on it. The real program in a real terminal; beside it, from the same run, reading all the files'
//! bytes and a start that only says its version. Needs some 500 MB of disk for the while; Linux, to empty the system's
//! file cache, which takes root and is left out without.

#![allow(
    clippy::expect_used,
    clippy::print_stdout,
    clippy::panic,
    reason = "a benchmark that cannot be set up stops, and its figures are its output"
)]

#[path = "screen/terminal.rs"]
#[allow(dead_code, reason = "the other benchmark uses more of it")]
mod terminal;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};
use terminal::Terminal;

const COLOURS: usize = 100_000;
const STARTS: usize = 15;
const SIZE: (u16, u16) = (120, 36);

struct Shop {
    folder: tempfile::TempDir,
}

impl Shop {
    fn new() -> Self {
        let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder");
        let shop = Self { folder };
        fs::create_dir_all(shop.path("shop/colours")).expect("a folder");
        for (path, text) in pourbook::catalogue::demo::FILES {
            if !path.starts_with("colours/") {
                fs::write(shop.path("shop").join(path), text).expect("a file");
            }
        }
        for number in 0..COLOURS {
            shop.write(number, "Grey");
        }
        shop
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// A colour of two layers and six toners, as the invented shop's are.
    fn write(&self, number: usize, name: &str) {
        let text = format!(
            "# An invented colour.\ncode = \"N-{number:06}\"\nname = \"{name} {number:06}\"\nfinish = \"two-stage\"\n\
             swatch = \"#{:06x}\"\n\n[[layer]]\nrole = \"base\"\npours = [\n  {{ toner = \"M80\", parts = \"300.00\" }},\n  \
             {{ toner = \"W10\", parts = \"{}.40\" }},\n  {{ toner = \"K05\", parts = \"3.15\" }},\n]\n\n[[layer]]\nrole = \
             \"blender\"\npours = [\n  {{ toner = \"M80\", parts = \"900.00\" }},\n  {{ toner = \"W10\", parts = \"20.5\" \
             }},\n  {{ toner = \"K05\", parts = \"1\" }},\n]\n",
            number % 0xff_ffff,
            number % 900 + 1,
        );
        fs::write(self.path("shop/colours").join(format!("n-{number:06}.toml")), text).expect("a file");
    }

    fn start(&self, book: usize) -> (Terminal, Instant) {
        let book = self.path(&format!("book-{book}.sqlite")).display().to_string();
        let shop = self.path("shop").display().to_string();
        let cache = self.path("cache").display().to_string();
        Terminal::start_with(&["--shop", &shop, "--book", &book], SIZE, &[("XDG_CACHE_HOME", &cache)])
    }

    /// From the start until that is on the screen, the last of those texts.
    fn until(&self, texts: &[&str]) -> Vec<Duration> {
        let (mut terminal, begun) = self.start(0);
        let (first, rest) = texts.split_first().expect("something is waited for");
        terminal.look_for(first);
        let mut times = vec![terminal.found().saturating_duration_since(begun)];
        for text in rest {
            // Looked for every 5 ms: it may be on the screen already.
            terminal.wait_for(text);
            times.push(begun.elapsed());
        }
        // Until the look is over, so that the index is written.
        std::thread::sleep(Duration::from_secs(4));
        terminal.send("\x03");
        times
    }
}

/// Empties the system's file cache; false where that is not allowed.
fn empty_cache() -> bool {
    let synced = Command::new("sync").status().is_ok_and(|status| status.success());
    synced && fs::write("/proc/sys/vm/drop_caches", "3").is_ok()
}

fn read_all(folder: &Path) -> usize {
    let files = fs::read_dir(folder).expect("it is there");
    files.map(|file| fs::read(file.expect("it is there").path()).expect("it can be read").len()).sum()
}

fn said(mut times: Vec<Duration>) -> String {
    times.sort_unstable();
    let ms = |at: usize| times.get(at).map_or(0.0, |time| time.as_secs_f64() * 1_000.0);
    format!(
        "median {:9.1} ms   worst {:9.1} ms   ({} of them)",
        ms(times.len() / 2),
        ms(times.len().saturating_sub(1)),
        times.len()
    )
}

fn main() {
    let shop = Shop::new();
    println!("{COLOURS} colours, each in a file of its own");
    let (first, rest) = ("of 100000", "100000 colours");
    let times = shop.until(&["Colours", first, rest]);
    for (what, time) in ["the first screen", "reading is said", "all are listed"].iter().zip(times) {
        println!("no index yet:  {what:22} {:9.1} ms", time.as_secs_f64() * 1_000.0);
    }

    let warm: Vec<Duration> = (0..STARTS).flat_map(|_| shop.until(&[rest])).collect();
    println!("index there, nothing changed             {}   aim: median under 150 ms", said(warm));

    let mut cold = Vec::new();
    for _ in 0..STARTS {
        if empty_cache() {
            cold.extend(shop.until(&[rest]));
        }
    }
    if cold.is_empty() {
        println!("the system's file cache cannot be emptied here: not measured from a cold disk");
    } else {
        println!("the same, file cache emptied before      {}", said(cold));
    }

    for changed in [1, 1_000] {
        let (mut first, mut seen) = (Vec::new(), Vec::new());
        for round in 0..3_usize {
            // In order of name before all others, so that the list's first line tells.
            let name = format!("Aa{changed}x{round}");
            for number in 0..changed {
                shop.write(number, &name);
            }
            let times = shop.until(&[rest, &name]);
            first.extend(times.first());
            seen.extend(times.get(1));
        }
        println!("{changed:5} changed: the first screen           {}", said(first));
        println!("{changed:5} changed: what changed is listed     {}", said(seen));
    }

    let bare: Vec<Duration> = (0..3)
        .map(|_| {
            let begun = Instant::now();
            std::hint::black_box(read_all(&shop.path("shop/colours")));
            begun.elapsed()
        })
        .collect();
    println!("beside: reading all files' bytes         {}", said(bare));
    let bare: Vec<Duration> = (0..STARTS)
        .map(|_| {
            let begun = Instant::now();
            let said = Command::new(env!("CARGO_BIN_EXE_pourbook")).arg("--version").output();
            assert!(said.expect("it starts").status.success());
            begun.elapsed()
        })
        .collect();
    println!("beside: --version                        {}", said(bare));
}
