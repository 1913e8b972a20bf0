//! How far a long command is: one counting line on standard error, where somebody can see it.

use std::io::{self, IsTerminal as _, Write as _};
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
    fn thousands_stand_apart() {
        let all = [0, 12, 999, 1000, 10_000_000].map(grouped);
        assert_eq!(all, ["0", "12", "999", "1 000", "10 000 000"]);
    }
}
