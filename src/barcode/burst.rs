//! Telling a scanner from a hand: a scanner types faster than anybody, and ends with Enter.
//!
//! Characters that could begin a scan are held until the next one shows which it is, or a moment has passed; then they
//! are given on in their order, so that a hand loses no key and waits no time it would notice.

use crate::units::Moment;

/// The longest pause between two characters of a scan, in milliseconds. A USB keyboard is asked every 8 ms or so and a
/// character takes two reports; scanners with pauses of 20 ms and more between characters exist (common practice, no
/// source).
const PAUSE_MS: u64 = 40;
/// For how long a character is held at most: longer than the pause, since keys that have come may wait to be looked at.
const HOLD_MS: u64 = 90;
/// How many characters a scan has at least: a hand that falls on two keys at once is none.
const LEAST: usize = 4;
/// The most that is taken for one scan.
const MOST: usize = 512;

/// What came in, as it is to be taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Heard {
    /// A scanner sent this.
    Scan(String),
    /// A hand typed this, in this order; nothing of it has been acted on yet.
    Typed(Vec<char>),
    /// It is held until it is clear which of the two it is.
    Held,
}

/// What is held.
#[derive(Clone, Debug, Default)]
pub struct Burst {
    held: String,
    last: Moment,
}

/// Whether something is held, and until when, in milliseconds on the clock that runs forward.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Held {
    /// From then on it is a hand's.
    pub until: Moment,
}

impl Burst {
    /// A character came. What was held before and is a hand's is given on together with it or before it.
    pub fn letter(&mut self, letter: char, now: Moment) -> Heard {
        let slow = !self.held.is_empty() && now.since(self.last) > PAUSE_MS;
        if slow || self.held.chars().count() >= MOST {
            let typed = self.take();
            self.held.push(letter);
            self.last = now;
            return Heard::Typed(typed);
        }
        self.held.push(letter);
        self.last = now;
        Heard::Held
    }

    /// Enter, or what a scanner is set to send at the end: a scan if what is held came fast enough and is long enough.
    /// None if nothing is held, so that it is a key like any other.
    pub fn end(&mut self, now: Moment) -> Option<Heard> {
        if self.held.is_empty() {
            return None;
        }
        let fast = now.since(self.last) <= PAUSE_MS && self.held.chars().count() >= LEAST;
        Some(if fast { Heard::Scan(std::mem::take(&mut self.held)) } else { Heard::Typed(self.take()) })
    }

    /// Any other key, or a moment that passed: what is held is a hand's. Empty if nothing is.
    pub fn release(&mut self) -> Vec<char> {
        self.take()
    }

    /// The same, if it has been held long enough.
    pub fn release_if_due(&mut self, now: Moment) -> Vec<char> {
        if self.held().is_some_and(|held| now >= held.until) { self.take() } else { Vec::new() }
    }

    /// Whether something is held.
    pub fn held(&self) -> Option<Held> {
        (!self.held.is_empty()).then(|| Held { until: Moment(self.last.0.saturating_add(HOLD_MS)) })
    }

    fn take(&mut self) -> Vec<char> {
        std::mem::take(&mut self.held).chars().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn feed(burst: &mut Burst, text: &str, from: u64, pause: u64) -> u64 {
        let mut at = from;
        for letter in text.chars() {
            assert_eq!(burst.letter(letter, Moment(at)), Heard::Held, "{letter}");
            at += pause;
        }
        at
    }

    #[test]
    fn a_scanner_is_heard_as_one() {
        for pause in [0, 1, 16, 40] {
            let mut burst = Burst::default();
            let at = feed(&mut burst, "W10 24-031", 1_000, pause);
            assert_eq!(burst.end(Moment(at)), Some(Heard::Scan("W10 24-031".to_owned())), "{pause}");
            assert_eq!(burst.held(), None);
        }
    }

    #[test]
    fn a_hand_is_not() {
        let mut burst = Burst::default();
        assert_eq!(burst.letter('n', Moment(1_000)), Heard::Held);
        assert!(burst.release_if_due(Moment(1_060)).is_empty());
        assert_eq!(burst.release_if_due(Moment(1_090)), ['n']);
        // Two keys and Enter, all at once: too short for a code.
        feed(&mut burst, "no", 2_000, 0);
        assert_eq!(burst.end(Moment(2_000)), Some(Heard::Typed(vec!['n', 'o'])));
        assert_eq!(burst.end(Moment(2_001)), None);
        // A word typed by hand, then Enter.
        assert_eq!(burst.letter('a', Moment(3_000)), Heard::Held);
        assert_eq!(burst.letter('b', Moment(3_120)), Heard::Typed(vec!['a']));
        assert_eq!(burst.end(Moment(3_240)), Some(Heard::Typed(vec!['b'])));
    }

    proptest! {
        /// Whatever comes when, every key comes out once and in its order, as a scan's or as a hand's.
        #[test]
        fn no_key_is_lost_and_none_is_moved(
            keys in prop::collection::vec((prop_oneof![8 => Just('a'), 8 => Just('7'), 1 => Just('\n')], 0_u64..90), 0..120),
        ) {
            let mut burst = Burst::default();
            let (mut now, mut came, mut out) = (0, String::new(), String::new());
            let put = |heard: Heard, out: &mut String| match heard {
                Heard::Scan(text) => { out.push_str(&text); }
                Heard::Typed(letters) => out.extend(letters),
                Heard::Held => {}
            };
            for (key, pause) in keys {
                now += pause;
                if key == '\n' {
                    if let Some(heard) = burst.end(Moment(now)) {
                        put(heard, &mut out);
                    }
                } else {
                    came.push(key);
                    let heard = burst.letter(key, Moment(now));
                    put(heard, &mut out);
                }
                prop_assert!(came.starts_with(&out));
            }
            out.extend(burst.release());
            prop_assert_eq!(out, came);
        }
    }
}
