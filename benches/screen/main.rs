//! What the whole program costs, as a person at the bench would notice it: the real program in a real terminal
//! with a scale on a real line. From the wire to the screen, the start, processor and memory, bytes sent to the
//! terminal. Beside each time stands a bare one of the same kind from the same run; the ratio tells more than
//! either, as the machine differs.
//!
//! Needs Linux: what a process takes is read from `/proc`.

#![allow(
    clippy::expect_used,
    clippy::print_stdout,
    clippy::panic,
    reason = "a benchmark that cannot be set up stops, and its figures are its output"
)]

mod process;
mod terminal;
mod wire;

use pourbook::scale::Stability;
use std::fs;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};
use terminal::Terminal;
use wire::{Bare, Wire, frame};

/// The empty cup, in tenths of a gram: the demo shop's cup of 600 mL.
const CUP: i64 = 214;
const READINGS: i64 = 300;
const STARTS: usize = 20;
const WATCHED: Duration = Duration::from_secs(10);
/// How much comes in with each reading of a pour, in tenths of a gram.
const STEP: i64 = 9;
/// Columns and rows: the least that the bench is laid out for, and a usual window. A drawing costs by its cells.
const SMALL: (u16, u16) = (80, 24);
const LARGE: (u16, u16) = (120, 36);

fn main() {
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder");
    let link = folder.path().join("scale");
    let wire = Wire::new(&link);
    let setting = Setting { folder: folder.path(), wire: &wire };
    println!("the program in a terminal, a scale speaking {} on a serial line", wire::SHAPE);
    setting.starts();
    setting.pouring(SMALL);
    setting.pouring(LARGE);
    setting.idle();
}

struct Setting<'a> {
    folder: &'a Path,
    wire: &'a Wire,
}

impl Setting<'_> {
    fn open(&self, book: &str, with_scale: bool, size: (u16, u16)) -> (Terminal, Instant) {
        // A copy: whoever weighs from a shop writes its versions into it.
        let shop = self.folder.join("shop");
        if !shop.exists() {
            fs::create_dir_all(shop.join("colours")).expect("a shop");
            for (path, text) in pourbook::catalogue::demo::FILES {
                fs::write(shop.join(path), text).expect("a shop");
            }
        }
        let shop = shop.display().to_string();
        let book = self.folder.join(book).display().to_string();
        let link = self.folder.join("scale");
        let scale = format!("serial:{}?shape={}&division=0.1&capacity=7500", link.display(), wire::SHAPE);
        let mut args = vec!["--shop", &*shop, "--book", &*book];
        if with_scale {
            args.extend(["--scale", &*scale]);
        }
        Terminal::start(&args, size)
    }

    /// From the start to the first screen, beside a start that only says its version.
    fn starts(&self) {
        let (mut first, mut again, mut bare) = (Vec::new(), Vec::new(), Vec::new());
        for number in 0..STARTS {
            let book = format!("book-{number}.sqlite");
            for times in [&mut first, &mut again] {
                let (terminal, begun) = self.open(&book, true, LARGE);
                terminal.look_for("Gannet");
                times.push(terminal.found().saturating_duration_since(begun));
            }
            let begun = Instant::now();
            let said = Command::new(env!("CARGO_BIN_EXE_pourbook")).arg("--version").output();
            assert!(said.expect("it starts").status.success());
            bare.push(begun.elapsed());
        }
        println!("\nstart, {STARTS} of each             median       p99     worst   aim");
        print_times("to the first screen", &mut again, "median under 100 ms");
        print_times("the same, book made new", &mut first, "");
        print_times("bare: --version", &mut bare, "");
        print_ratio(&again, &bare);
    }

    /// A mix with its first toner in, and how much that is; the second, most of the mix, is to come in.
    fn begin(&self, size: (u16, u16)) -> (Terminal, i64) {
        {
            let mut saying = self.wire.saying();
            saying.tenths = CUP;
            saying.every = Some(Duration::from_millis(100));
        }
        let (mut terminal, _) = self.open(&format!("pouring-{}.sqlite", size.0), true, size);
        terminal.wait_for("Gannet White");
        terminal.send("Gannet White");
        terminal.wait_for("1 found");
        terminal.send("\x1b[C");
        terminal.send("\r");
        terminal.wait_for("how much");
        terminal.send(&"\x7f".repeat(12));
        terminal.send("350 mL");
        terminal.wait_for("350 mL");
        terminal.send("\r");
        let screen = terminal.wait(|screen| stop_at(screen).is_some());
        let first = stop_at(&screen).expect("just seen");
        self.wire.saying().tenths = CUP + first;
        // What is measured must end well before the second stop.
        terminal.wait(|screen| stop_at(screen).is_some_and(|stop| stop > first + STEP * (READINGS + 10)));
        (terminal, first)
    }

    fn pouring(&self, size: (u16, u16)) {
        let (terminal, base) = self.begin(size);
        println!("\nat {} x {}", size.0, size.1);
        self.wire_to_screen(&terminal, base);
        println!(
            "\nover {} s each               processor   by ticks   bytes a reading   aim",
            WATCHED.as_secs()
        );
        for (rate, step, aim) in [
            (10, STEP, "under 0.5 % of a core"),
            (10, 0, "under 0.5 % of a core"),
            (20, STEP, ""),
            (20, 0, ""),
        ] {
            {
                let mut saying = self.wire.saying();
                saying.tenths = CUP + base + STEP;
                saying.step = step;
                saying.stability = if step == 0 { Stability::Stable } else { Stability::Moving };
                saying.every = Some(Duration::from_secs(1) / rate);
            }
            std::thread::sleep(Duration::from_secs(2));
            let said = self.wire.saying().said;
            let spent = watch(&terminal);
            let said = self.wire.saying().said - said;
            let bytes = f64::from(u32::try_from(spent.bytes).unwrap_or(u32::MAX)) / f64::from(said.max(1));
            let how = if step == 0 { "unchanged" } else { "each new" };
            println!("{:<28} {spent}   {bytes:>15.0}   {aim}", format!("{rate} readings/s, {how}"));
        }
        self.wire.saying().every = None;
        print_memory("after the pour", &terminal);
    }

    /// From a frame's last byte on the wire to its number on the screen.
    fn wire_to_screen(&self, terminal: &Terminal, base: i64) {
        let mut bare = Bare::new();
        self.wire.saying().every = None;
        // What the scale said last is drawn first: two readings within one frame are drawn as one, a frame later.
        std::thread::sleep(Duration::from_millis(100));
        let (mut times, mut bares) = (Vec::new(), Vec::new());
        let before = terminal.bytes();
        for number in 1..=READINGS {
            let tenths = base + number * STEP;
            let bytes = frame(CUP + tenths, Stability::Moving);
            terminal.look_for(&format!("cup holds {}.{}", tenths / 10, tenths % 10));
            let begun = self.wire.write(&bytes);
            times.push(terminal.found().saturating_duration_since(begun));
            std::thread::sleep(Duration::from_millis(45));
            bares.push(bare.time(&bytes));
            // Never quite the same pause, so as not to keep step with anything in the program.
            std::thread::sleep(Duration::from_millis(40 + number.unsigned_abs() * 7 % 23));
        }
        let sent = (terminal.bytes() - before) / READINGS.unsigned_abs();
        println!("\nwire to screen, {READINGS} readings    median       p99     worst   aim");
        print_times("a new weight", &mut times, "median under 5 ms, p99 under 20 ms");
        print_times("bare: the line alone", &mut bares, "");
        print_ratio(&times, &bares);
        println!("{sent} bytes to the terminal for each");
    }

    /// Nothing to do and no scale.
    fn idle(&self) {
        let (terminal, _) = self.open("idle.sqlite", false, LARGE);
        terminal.wait_for("Gannet White");
        std::thread::sleep(Duration::from_secs(1));
        let spent = watch(&terminal);
        println!("\n{:<28} {spent}   {:>10} bytes in all", "idle, no scale", spent.bytes);
        print_memory("idle", &terminal);
    }
}

/// The reading to stop at, in tenths, as on the screen.
fn stop_at(screen: &str) -> Option<i64> {
    let rest = screen.split("stop at").nth(1)?.trim_start();
    let digits: String = rest.chars().take_while(|c| c.is_ascii_digit() || *c == '.').collect();
    let (whole, tenth) = digits.split_once('.')?;
    (tenth.len() == 1).then(|| format!("{whole}{tenth}").parse().ok()).flatten()
}

/// What the program took over a while.
struct Spent {
    run: Option<Duration>,
    ticks: Duration,
    over: Duration,
    bytes: u64,
}

impl std::fmt::Display for Spent {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let percent = |time: Duration| 100.0 * time.as_secs_f64() / self.over.as_secs_f64();
        match self.run {
            Some(run) => write!(f, "{:>7.2} %", percent(run))?,
            None => write!(f, "  not told")?,
        }
        write!(f, "  {:>7.1} %", percent(self.ticks))
    }
}

fn watch(terminal: &Terminal) -> Spent {
    let process = terminal.process();
    let (run, ticks, bytes) = (process::run_time(process), process::ticks(process), terminal.bytes());
    let begun = Instant::now();
    std::thread::sleep(WATCHED);
    let over = begun.elapsed();
    Spent {
        run: process::run_time(process).zip(run).map(|(now, then)| now.saturating_sub(then)),
        ticks: process::ticks(process).saturating_sub(ticks),
        over,
        bytes: terminal.bytes() - bytes,
    }
}

fn print_memory(when: &str, terminal: &Terminal) {
    let megabytes = |name| f64::from(process::kilobytes(terminal.process(), name)) * 1_024.0 / 1_000_000.0;
    println!(
        "{:<28} {:>7.1} MB, {:.1} MB at most   aim under 20 MB",
        format!("resident, {when}"),
        megabytes("VmRSS"),
        megabytes("VmHWM"),
    );
}

/// The value that so many in a hundred are not above; the values in order (nearest rank).
fn percentile(times: &[Duration], hundredths: usize) -> Duration {
    let rank = (times.len() * hundredths).div_ceil(100).max(1);
    *times.get(rank - 1).expect("there are values")
}

/// Prints them, and leaves them in order.
fn print_times(name: &str, times: &mut [Duration], aim: &str) {
    times.sort_unstable();
    let ms = |hundredths| percentile(times, hundredths).as_secs_f64() * 1_000.0;
    println!("{name:<28} {:>7.2} {:>9.2} {:>9.2} ms   {aim}", ms(50), ms(99), ms(100));
}

fn print_ratio(times: &[Duration], bare: &[Duration]) {
    let ratio = |n| percentile(times, n).as_secs_f64() / percentile(bare, n).as_secs_f64();
    println!("{:<28} {:>7.1} {:>9.1}           times the bare one", "", ratio(50), ratio(99));
}
