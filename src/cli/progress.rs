//! How far a long command is: one counting line on standard error, where somebody can see it.

use crate::book::far::{Far, Up};
use ratatui::crossterm::terminal;
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

/// What takes no longer is over before anybody has wondered.
const MOMENT: Duration = Duration::from_secs(1);

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
        let text = cut(text, terminal::size().map_or(0, |(columns, _)| columns));
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

/// As much of it as stands on one line: on a second one it would not be written over, but again below. Of no known width
/// it is 80 columns.
fn cut(text: &str, columns: u16) -> String {
    let columns = if columns == 0 { 80 } else { usize::from(columns) };
    text.chars().take(columns.saturating_sub(1)).collect()
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
        Self::after(Duration::ZERO)
    }

    /// The same for work that is mostly over in a moment: nothing is shown before it has taken longer, so that nothing
    /// flickers.
    pub(super) fn late() -> Self {
        Self::after(MOMENT)
    }

    fn after(moment: Duration) -> Self {
        Self(io::stderr().is_terminal().then(|| Ticker::start(moment)).and_then(Result::ok))
    }

    /// Says how far it is.
    pub(super) fn tell(&self, far: Far) {
        if let Some(ticker) = &self.0 {
            *ticker.told.lock().unwrap_or_else(PoisonError::into_inner) = Some(far);
        }
    }
}

impl Ticker {
    fn start(moment: Duration) -> io::Result<Self> {
        let told = Arc::new(Mutex::new(None));
        let (end, ended) = channel();
        let (said, begun) = (Arc::clone(&told), Instant::now());
        let show = move || {
            let mut line = Progress::new();
            while ended.recv_timeout(EVERY) == Err(RecvTimeoutError::Timeout) {
                let far = *said.lock().unwrap_or_else(PoisonError::into_inner);
                if let Some(far) = far.filter(|_| begun.elapsed() >= moment) {
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
    let what = match far.all {
        0 => far.at.to_owned(),
        all => format!("{} of {} {}", grouped(far.done), grouped(all), far.at),
    };
    match far.up {
        None => what,
        Some(Up { from, to }) => format!("book brought up from layout {from} to {to}: {what}"),
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
        let mixes = Far { done: 1_200, all: 680_415, ..Far::begun("mixes looked through") };
        assert_eq!(words(mixes), "1 200 of 680 415 mixes looked through");
        assert_eq!(words(Far::begun("the figures are written")), "the figures are written");
    }

    #[test]
    fn between_which_layouts_a_book_is_brought_up_is_said_and_fits_a_line_of_80() {
        let up = Some(Up { from: 3, to: 11 });
        let tables = Far { up, ..Far::begun("tables and indexes are made") };
        assert_eq!(words(tables), "book brought up from layout 3 to 11: tables and indexes are made");
        // As many mixes as a book of ten million postings has, for as long as an hour.
        let read = Far { done: 305_000, all: 305_000, up, ..Far::begun("mixes read anew") };
        let line = format!("{}, 3600 s", words(read));
        assert_eq!(line, "book brought up from layout 3 to 11: 305 000 of 305 000 mixes read anew, 3600 s");
        assert_eq!(cut(&line, 80), line);
        assert_eq!(cut(&line, 0), line);
        assert_eq!(cut(&line, 12), "book brough");
    }

    #[test]
    fn thousands_stand_apart() {
        let all = [0, 12, 999, 1000, 10_000_000].map(grouped);
        assert_eq!(all, ["0", "12", "999", "1 000", "10 000 000"]);
    }
}
