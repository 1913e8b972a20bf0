//! How well and how fast a scale is found: every format at every usual line setting, speaking by itself and only when
//! asked, through a port with a speed and a parity on a simulated clock. Prints a table, and ends in an error if
//! anything wrong is called certain, or anything is changed at a scale.
//!
//! Right means the format and the setting as they are; where only the number of stop bits differs, which nobody can
//! hear, it is right as well. Named means that the truth is among the alternatives that are told.

#![expect(clippy::print_stdout, reason = "a table is what it is for")]

use pourbook::scale::detect::fake::{FakePort, FakeScale};
use pourbook::scale::detect::{FRAMINGS, Finding, Plan, SPEEDS, Sure, hears_as, question, run, told};
use pourbook::scale::shape::{ALL, Ask, Shape, UsualLine};
use std::process::ExitCode;

/// What speaks by itself is hardly looked for as long as that, in milliseconds.
const SLOW_MS: u64 = 30_000;

/// Every usual setting with one and with two stop bits.
fn settings() -> Vec<UsualLine> {
    let mut settings = Vec::new();
    for baud in SPEEDS {
        for (data_bits, parity) in FRAMINGS {
            for stop_bits in [1, 2] {
                if (data_bits, parity, stop_bits) != (7, 'N', 1) {
                    settings.push(UsualLine { baud, data_bits, parity, stop_bits });
                }
            }
        }
    }
    settings
}

#[derive(Default)]
struct Row {
    tried: u32,
    certain: u32,
    right: u32,
    named: u32,
    wrong: u32,
    unfound: u32,
    ms: Vec<u64>,
    remarks: Vec<String>,
    /// What must not be.
    faults: Vec<String>,
}

fn is_right(shape: &dyn Shape, line: UsualLine, other: (&dyn Shape, UsualLine)) -> bool {
    other.0.name() == shape.name() && hears_as(other.1, line)
}

impl Row {
    fn count(&mut self, scale: &FakeScale, shape: &'static dyn Shape, finding: &Finding, asked: &[Ask]) {
        let line = scale.line;
        let place = format!("{} at {}", shape.name(), told(line));
        self.tried += 1;
        self.ms.push(finding.ms);
        if asked.iter().any(|ask| ask.changes_the_scale()) {
            self.faults.push(format!("{place}: changed by {asked:?}"));
        }
        if scale.streams && finding.ms > SLOW_MS {
            self.remarks.push(format!("{place}: took {} settings", finding.settings));
        }
        let Some(found) = finding.found() else {
            self.unfound += 1;
            let own = question(shape);
            let sent = own.is_some_and(|own| Plan::asking().questions(line).contains(&own));
            let why = if sent || scale.streams { "" } else { ", because its question is not safe there" };
            self.remarks.push(format!("{place}: not found{why}"));
            return;
        };
        let said = format!("{place}: {} {} as {}", found.sure, told(found.line), found.shape.name());
        if is_right(shape, line, (found.shape, found.line)) {
            self.right += 1;
            self.certain += u32::from(found.sure == Sure::Certain);
            if found.sure != Sure::Certain {
                self.remarks.push(format!("{said}: {}", found.why));
            }
        } else if found.others.iter().any(|other| is_right(shape, line, (other.shape, other.line))) {
            self.named += 1;
            self.remarks.push(said.clone());
        } else {
            self.wrong += 1;
            self.remarks.push(said.clone());
        }
        if found.sure == Sure::Certain && !is_right(shape, line, (found.shape, found.line)) {
            self.faults.push(said);
        }
    }

    fn print(&mut self, name: &str, what: &str) {
        self.ms.sort_unstable();
        let seconds =
            |ms: Option<&u64>| ms.map_or(0.0, |ms| std::time::Duration::from_millis(*ms).as_secs_f64());
        println!(
            "{name:24} {what:10} {:>4}/{:<4} {:>7} {:>5} {:>5} {:>5}  {:>6.1} {:>6.1}",
            self.right,
            self.tried,
            self.certain,
            self.named,
            self.wrong,
            self.unfound,
            seconds(self.ms.get(self.ms.len() / 2)),
            seconds(self.ms.last())
        );
    }
}

/// How many remarks on a format are printed.
const REMARKS: usize = 4;

fn main() -> ExitCode {
    println!(
        "{:24} {:10} {:>9} {:>7} {:>5} {:>5} {:>5}  {:>6} {:>6}",
        "format", "speaks", "right", "certain", "named", "wrong", "none", "median", "worst"
    );
    let mut remarks = Vec::new();
    let mut faults = Vec::new();
    let mut unaskable = Vec::new();
    for &shape in ALL {
        for streams in [true, false] {
            if !streams && question(shape).is_none() {
                unaskable.push(shape.name());
                continue;
            }
            let mut row = Row::default();
            for (seed, line) in (1..).zip(settings()) {
                let scale = FakeScale { streams, seed, ..FakeScale::new(shape, line) };
                let mut port = FakePort::new(scale.clone());
                let finding = run(&mut port, &Plan::asking(), &mut |_| {}, &|| false);
                row.count(&scale, shape, &finding, port.asked());
            }
            row.print(shape.name(), if streams { "by itself" } else { "if asked" });
            let more = row.remarks.len().saturating_sub(REMARKS);
            row.remarks.truncate(REMARKS);
            remarks.append(&mut row.remarks);
            if more > 0 {
                remarks.push(format!("{more} more like that"));
            }
            faults.append(&mut row.faults);
        }
    }
    println!("seconds are simulated; worst and median over everything tried, found or not");
    if !unaskable.is_empty() {
        println!("cannot be asked, so cannot be found where they do not speak: {}", unaskable.join(", "));
    }
    for remark in remarks {
        println!("  {remark}");
    }
    for fault in &faults {
        println!("WRONG {fault}");
    }
    if faults.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
