//! What was said to the person, to be read again: the last fifty, each with the time on the wall.

use crate::units::Stamp;
use std::collections::VecDeque;

/// How many are kept.
pub const KEPT: usize = 50;

/// Something that was said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Said {
    /// The sentence.
    pub text: String,
    /// Whether something is wrong.
    pub is_error: bool,
    /// When it was last said.
    pub at: Stamp,
    /// How many times on end.
    pub times: u32,
}

/// The last fifty, the newest first.
#[derive(Clone, Debug, Default)]
pub struct Messages {
    said: VecDeque<Said>,
}

impl Messages {
    /// Keeps what is said now. The same again counts once more.
    pub fn keep(&mut self, text: &str, is_error: bool, at: Stamp) {
        if let Some(last) = self.said.front_mut().filter(|last| last.text == text) {
            last.times = last.times.saturating_add(1);
            last.at = at;
            return;
        }
        self.said.push_front(Said { text: text.to_owned(), is_error, at, times: 1 });
        self.said.truncate(KEPT);
    }

    /// All that are kept, the newest first.
    pub fn all(&self) -> impl ExactSizeIterator<Item = &Said> {
        self.said.iter()
    }
}

/// The time of day at the bench, as `14:05:09`, from how far its clock is ahead of UTC.
pub fn time_of_day(at: Stamp, seconds_east: i32) -> String {
    const DAY: i64 = 86_400;
    let seconds = (at.0.div_euclid(1_000_000)).saturating_add(i64::from(seconds_east)).rem_euclid(DAY);
    let (hours, rest) = (seconds.div_euclid(3_600), seconds.rem_euclid(3_600));
    format!("{hours:02}:{:02}:{:02}", rest.div_euclid(60), rest.rem_euclid(60))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fifty_are_kept_and_the_same_again_is_one() {
        let mut messages = Messages::default();
        for n in 0..60_i64 {
            messages.keep(&format!("no {n}"), n == 59, Stamp(n));
        }
        messages.keep("no 59", true, Stamp(99));
        let all: Vec<_> = messages.all().collect();
        assert_eq!(all.len(), KEPT);
        assert_eq!(
            (all[0].text.as_str(), all[0].times, all[0].at, all[0].is_error),
            ("no 59", 2, Stamp(99), true)
        );
        assert_eq!((all[49].text.as_str(), all[49].times), ("no 10", 1));
    }

    #[test]
    fn the_time_is_that_on_the_wall() {
        // 2023-11-14 22:13:20 UTC.
        let at = Stamp(1_700_000_000_000_000);
        assert_eq!(time_of_day(at, 0), "22:13:20");
        assert_eq!(time_of_day(at, 7_200), "00:13:20");
        assert_eq!(time_of_day(at, -3_600 * 23), "23:13:20");
        assert_eq!(time_of_day(Stamp(-1), 0), "23:59:59");
    }
}
