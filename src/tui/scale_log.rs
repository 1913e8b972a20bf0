//! What the scale said lately, to be looked at: the last lines with their bytes, the last minute's steadiness,
//! how the link stood, and what was counted. Everything here is bounded.

use crate::scale::{Evidence, LinkEvent, LinkState};
use crate::units::{Grams, Moment, clean};
use std::collections::VecDeque;

/// How many lines are kept.
const LINES: usize = 64;
/// How many bytes of one line are kept: more than any format's longest frame.
const BYTES: usize = 96;
/// How many changes of the link are kept.
const CHANGES: usize = 32;
/// Over how many seconds the steadiness is kept.
pub(super) const SECONDS: usize = 60;

/// A line as it came in and what it was read as.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// When.
    pub at: Moment,
    /// Its bytes; empty where nobody wanted them or where they came together with those of the line before.
    pub bytes: Vec<u8>,
    /// What it means, in words.
    pub means: String,
}

/// The link stood otherwise from then on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// Since when.
    pub at: Moment,
    /// How.
    pub state: LinkState,
    /// Why, in a sentence; empty where nothing is wrong.
    pub why: String,
}

/// The readings of one second.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Second {
    number: u64,
    least: Grams,
    most: Grams,
}

/// What the scale said lately.
#[derive(Clone, Debug, Default)]
pub struct ScaleLog {
    lines: VecDeque<Line>,
    pending: Vec<u8>,
    changes: VecDeque<Change>,
    evidence: Evidence,
    seconds: VecDeque<Second>,
}

impl ScaleLog {
    /// Takes in what the link said; `live` is the number that may be drawn for it, if any.
    pub fn take_in(&mut self, event: &LinkEvent, live: Option<Grams>, now: Moment) {
        match event {
            LinkEvent::Bytes(bytes) => {
                let room = BYTES.saturating_sub(self.pending.len());
                self.pending.extend(bytes.iter().take(room));
            }
            LinkEvent::Reading(reading) => {
                self.add_line(reading.frame.to_string(), now);
                if let Some(live) = live {
                    self.add_to_second(reading.at, live);
                }
            }
            LinkEvent::Answer { answer, .. } => self.add_line(format!("answer: {answer}"), now),
            LinkEvent::State { state, why } => self.add_change(*state, why, now),
            LinkEvent::Ended { why, .. } => self.add_change(LinkState::Lost, why, now),
            LinkEvent::Evidence(evidence) => self.evidence = *evidence,
            LinkEvent::Asked(_) | LinkEvent::Unanswered(_) => {}
        }
    }

    fn add_line(&mut self, means: String, at: Moment) {
        if self.lines.len() == LINES {
            self.lines.pop_front();
        }
        let bytes = std::mem::take(&mut self.pending);
        self.lines.push_back(Line { at, bytes, means });
    }

    fn add_change(&mut self, state: LinkState, why: &str, at: Moment) {
        if self.changes.len() == CHANGES {
            self.changes.pop_front();
        }
        // Half a frame from before has nothing to do with what comes now.
        self.pending.clear();
        self.changes.push_back(Change { at, state, why: clean(why) });
    }

    fn add_to_second(&mut self, at: Moment, live: Grams) {
        let number = at.0 / 1_000;
        match self.seconds.back_mut() {
            Some(last) if last.number == number => {
                last.least = last.least.min(live);
                last.most = last.most.max(live);
            }
            _ => {
                if self.seconds.len() == SECONDS {
                    self.seconds.pop_front();
                }
                self.seconds.push_back(Second { number, least: live, most: live });
            }
        }
    }

    /// The last lines, the newest last.
    pub fn lines(&self) -> impl DoubleEndedIterator<Item = &Line> + ExactSizeIterator {
        self.lines.iter()
    }

    /// Bytes that no reading has come of yet.
    pub fn pending(&self) -> &[u8] {
        &self.pending
    }

    /// How the link stood, the newest last.
    pub fn changes(&self) -> impl DoubleEndedIterator<Item = &Change> + ExactSizeIterator {
        self.changes.iter()
    }

    /// What was counted.
    pub const fn evidence(&self) -> Evidence {
        self.evidence
    }

    /// How far apart the readings of each second were over the last minute, the newest last; none for a second
    /// without a reading that could be trusted.
    pub fn spreads(&self, now: Moment) -> Vec<Option<Grams>> {
        let newest = now.0 / 1_000;
        let kept = SECONDS as u64;
        let mut spreads = vec![None; SECONDS];
        for second in &self.seconds {
            let age = newest.saturating_sub(second.number);
            if second.number > newest || age >= kept {
                continue;
            }
            let place = usize::try_from(kept.saturating_sub(1).saturating_sub(age)).ok();
            if let Some(spread) = place.and_then(|place| spreads.get_mut(place)) {
                *spread = Some(second.most - second.least);
            }
        }
        spreads
    }
}

/// How long ago something was, in words.
pub(super) fn ago(at: Moment, now: Moment) -> String {
    let seconds = now.since(at) / 1_000;
    match seconds {
        0..=1 => "now".to_owned(),
        2..=119 => format!("{seconds} s ago"),
        120..=7_199 => format!("{} min ago", seconds / 60),
        _ => format!("{} h ago", seconds / 3_600),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scale::shape::Answer;
    use crate::scale::{Condition, Frame, Mode, Reading, Stability, UnitText};
    use crate::units::{MassUnit, parse_decimal};

    fn reading(value: &str, at: u64) -> LinkEvent {
        let frame = Frame {
            value: parse_decimal(value).ok(),
            unit: Some(MassUnit::Gram),
            unit_text: UnitText::from("g"),
            stability: Stability::Stable,
            mode: Mode::Gross,
            centre_of_zero: None,
            condition: Condition::Ok,
            high_resolution: false,
        };
        LinkEvent::Reading(Reading::new(frame, Moment(at)))
    }

    fn g(text: &str) -> Grams {
        Grams::parse(text).unwrap()
    }

    #[test]
    fn bytes_stand_with_the_line_they_made() {
        let mut log = ScaleLog::default();
        for piece in [&b"ST,+0"[..], b"0021.4  g\r\n"] {
            log.take_in(&LinkEvent::Bytes(piece.to_vec()), None, Moment(5));
        }
        log.take_in(&reading("21.4", 10), None, Moment(10));
        log.take_in(&LinkEvent::Answer { to: None, answer: Answer::Done }, None, Moment(20));
        log.take_in(&LinkEvent::Bytes(b"ST".to_vec()), None, Moment(30));
        let lines: Vec<&Line> = log.lines().collect();
        assert_eq!(lines[0].bytes, b"ST,+00021.4  g\r\n");
        assert_eq!(lines[0].means, "      21.4 g   steady");
        assert_eq!((lines[1].bytes.len(), lines[1].means.as_str()), (0, "answer: done"));
        assert_eq!(log.pending(), b"ST");
        let lost = LinkEvent::State { state: LinkState::Lost, why: "the \u{7}cable".to_owned() };
        log.take_in(&lost, None, Moment(40));
        assert_eq!(log.pending(), b"");
        assert_eq!(log.changes().next().unwrap().why, "the cable");
    }

    #[test]
    fn nothing_grows_without_end() {
        let mut log = ScaleLog::default();
        for number in 0..5_000 {
            log.take_in(&LinkEvent::Bytes(vec![b'x'; 60]), None, Moment(number));
            log.take_in(&LinkEvent::Bytes(vec![b'x'; 60]), None, Moment(number));
            log.take_in(&reading("1.0", number * 700), Some(g("1.0")), Moment(number * 700));
            let state = LinkEvent::State { state: LinkState::Live, why: String::new() };
            log.take_in(&state, None, Moment(number));
        }
        let most = log.lines().map(|line| line.bytes.len()).max().unwrap();
        assert_eq!((log.lines().len(), log.changes().len(), most), (LINES, CHANGES, BYTES));
        assert_eq!(log.seconds.len(), SECONDS);
    }

    #[test]
    fn the_spread_is_of_each_second_and_gaps_stay_gaps() {
        let mut log = ScaleLog::default();
        for (value, at) in [("10.0", 58_100), ("10.3", 58_900), ("10.3", 60_000), ("10.2", 60_500)] {
            log.take_in(&reading(value, at), Some(g(value)), Moment(at));
        }
        // Without a number to be drawn there is nothing to be plotted.
        log.take_in(&reading("99", 61_000), None, Moment(61_000));
        let spreads = log.spreads(Moment(61_400));
        assert_eq!(spreads.len(), SECONDS);
        assert_eq!(spreads[SECONDS - 4..], [Some(g("0.3")), None, Some(g("0.1")), None]);
        assert!(spreads[..SECONDS - 4].iter().all(Option::is_none));
        assert!(log.spreads(Moment(200_000)).iter().all(Option::is_none));
    }

    #[test]
    fn how_long_ago_in_words() {
        for (ms, words) in [
            (900, "now"),
            (2_000, "2 s ago"),
            (119_999, "119 s ago"),
            (120_000, "2 min ago"),
            (7_200_000, "2 h ago"),
        ] {
            assert_eq!(ago(Moment(5), Moment(5 + ms)), words);
        }
    }
}
