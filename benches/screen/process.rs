//! What the system says a process takes: see proc(5).

use std::fs::{read_dir, read_to_string};
use std::time::Duration;

/// What the system's clock ticks in, in milliseconds: `USER_HZ` is 100 on every Linux (proc(5), time(7)).
pub(crate) const TICK_MS: u64 = 10;

/// User and system time so far, from the ticks of `stat`.
pub(crate) fn ticks(process: u32) -> Duration {
    let stat = read_to_string(format!("/proc/{process}/stat")).expect("it runs");
    // The name, in brackets, may hold anything; fields are counted from behind it: 14 and 15, the state being 3.
    let fields = stat.rsplit(')').next().unwrap_or_default();
    let ticks: u64 = fields.split_whitespace().skip(11).take(2).map(|n| n.parse().unwrap_or(0_u64)).sum();
    Duration::from_millis(ticks * TICK_MS)
}

/// The time its threads have run so far, as the scheduler counts it; none where the system does not tell.
pub(crate) fn run_time(process: u32) -> Option<Duration> {
    let mut sum = 0;
    for task in read_dir(format!("/proc/{process}/task")).ok()? {
        let text = read_to_string(task.ok()?.path().join("schedstat")).ok()?;
        sum += text.split_whitespace().next()?.parse::<u64>().ok()?;
    }
    (sum > 0).then(|| Duration::from_nanos(sum))
}

/// A line of `status` in kilobytes, as `VmRSS`.
pub(crate) fn kilobytes(process: u32, name: &str) -> u32 {
    let status = read_to_string(format!("/proc/{process}/status")).expect("it runs");
    let line = status.lines().find(|line| line.starts_with(name)).unwrap_or_default();
    line.split_whitespace().nth(1).and_then(|n| n.parse().ok()).expect("the system tells it")
}
