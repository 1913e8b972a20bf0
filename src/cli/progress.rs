//! How far a long command is: one counting line on standard error, where somebody can see it.

use crate::book::far::Far;
use std::io::{self, IsTerminal as _, Write as _};
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::{Builder, JoinHandle};
use std::time::{Duration, Instant};

/// A counting line. Without a terminal it says nothing.
#[derive(Debug)]
pub(super) struct Progress {
    shown: bool,
    on_screen: usize,
    last: Instant,
}

/// How often the line is written anew.
const EVERY: Duration = Duration::from_millis(100);

impl Progress {
    /// None is shown until something is said.
    pub(super) fn new() -> Self {
        Self { shown: io::stderr().is_terminal(), on_screen: 0, last: Instant::now() }
    }

    /// Says how far it is, unless it was said only just now.
    pub(super) fn say(&mut self, text: &str) {
        if !self.shown || self.last.elapsed() < EVERY {
            return;
        }
        self.last = Instant::now();
        self.write(text);
    }

    fn write(&mut self, text: &str) {
        let width = self.on_screen;
        // If nobody listens there, it is lost.
        let _ = write!(io::stderr().lock(), "\r{text:<width$}");
        self.on_screen = text.chars().count();
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if self.on_screen > 0 {
            self.write("");
            let _ = write!(io::stderr().lock(), "\r");
        }
    }
}

/// The same for work of which parts cannot say how far they are: the line goes on by itself, and counts the seconds.
#[derive(Debug)]
pub(super) struct Ticking(Option<Ticker>);

#[derive(Debug)]
struct Ticker {
    told: Arc<Mutex<Option<Far>>>,
    end: Sender<()>,
    thread: JoinHandle<()>,
}

impl Ticking {
    /// Nothing is shown until something is told.
    pub(super) fn new() -> Self {
        Self(io::stderr().is_terminal().then(Ticker::start).and_then(Result::ok))
    }

    /// Says how far it is.
    pub(super) fn tell(&self, far: Far) {
        if let Some(ticker) = &self.0 {
            *ticker.told.lock().unwrap_or_else(PoisonError::into_inner) = Some(far);
        }
    }
}

impl Ticker {
    fn start() -> io::Result<Self> {
        let told = Arc::new(Mutex::new(None));
        let (end, ended) = channel();
        let (said, begun) = (Arc::clone(&told), Instant::now());
        let show = move || {
            let mut line = Progress::new();
            while ended.recv_timeout(EVERY) == Err(RecvTimeoutError::Timeout) {
                let far = *said.lock().unwrap_or_else(PoisonError::into_inner);
                if let Some(far) = far {
                    line.say(&format!("{}, {} s", words(far), begun.elapsed().as_secs()));
                }
            }
        };
        let thread = Builder::new().name("progress".to_owned()).spawn(show)?;
        Ok(Self { told, end, thread })
    }
}

impl Drop for Ticking {
    fn drop(&mut self) {
        if let Some(Ticker { end, thread, .. }) = self.0.take() {
            drop(end);
            // The line is wiped away before anything else is written.
            let _ = thread.join();
        }
    }
}

fn words(far: Far) -> String {
    match far.all {
        0 => far.at.to_owned(),
        all => format!("{} of {} {}", grouped(far.done), grouped(all), far.at),
    }
}

/// A number with a blank between thousands.
pub(super) fn grouped(number: u64) -> String {
    let digits = number.to_string();
    let mut text = String::with_capacity(digits.len() + digits.len() / 3);
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            text.push(' ');
        }
        text.push(digit);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_counted_is_said_without_a_number() {
        let mixes = Far { at: "mixes looked through", done: 1_200, all: 680_415 };
        assert_eq!(words(mixes), "1 200 of 680 415 mixes looked through");
        assert_eq!(words(Far::begun("the figures are written")), "the figures are written");
    }

    #[test]
    fn thousands_stand_apart() {
        let all = [0, 12, 999, 1000, 10_000_000].map(grouped);
        assert_eq!(all, ["0", "12", "999", "1 000", "10 000 000"]);
    }
}
