//! Which bell is due when: sounds as beats of the terminal's one bell, never waited for. Pure; time comes in, in
//! milliseconds.

use super::sound::{Sound, Sounds, Voice};
use std::collections::VecDeque;

/// Between the last bell of one sound and the first of the next, in milliseconds: or two sounds are heard as a third
/// (common practice, no source).
const APART_MS: u64 = 450;

/// A command to run now: the program, then what it is told.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Due(pub(super) Vec<String>);

/// The bells that wait.
#[derive(Debug)]
pub(super) struct Ringer {
    sounds: Sounds,
    quiet: bool,
    /// When each bell is due, in order, and of how urgent a sound it is.
    waiting: VecDeque<(u64, u8)>,
    /// When the last bell was rung.
    rang: Option<u64>,
}

impl Ringer {
    pub(super) const fn new(sounds: Sounds, quiet: bool) -> Self {
        Self { sounds, quiet, waiting: VecDeque::new(), rang: None }
    }

    /// Takes a sound in. One that is as urgent as what waits replaces it, or more; a less urgent one is not heard: the
    /// ear takes one thing at a time, and the screen has both.
    pub(super) fn sound(&mut self, sound: Sound, now: u64) -> Option<Due> {
        let pattern = match self.sounds.voice(sound) {
            _ if self.quiet => return None,
            Voice::Off => return None,
            Voice::Command(words) => return Some(Due(words.clone())),
            Voice::Bells(pattern) => pattern,
        };
        let urgency = sound.urgency();
        if self.waiting.iter().any(|(_, waits)| *waits > urgency) {
            return None;
        }
        self.waiting.clear();
        let first = self.rang.map_or(now, |rang| now.max(rang.saturating_add(APART_MS)));
        self.waiting.extend(pattern.bells().iter().map(|at| (first.saturating_add(*at), urgency)));
        None
    }

    /// Whether a bell is due; it is rung then. One that is late moves those behind it, so that no two are rung at once.
    pub(super) fn ring(&mut self, now: u64) -> bool {
        let Some((due, _)) = self.waiting.front().copied().filter(|(due, _)| *due <= now) else {
            return false;
        };
        self.waiting.pop_front();
        let late = now.saturating_sub(due);
        for (at, _) in &mut self.waiting {
            *at = at.saturating_add(late);
        }
        self.rang = Some(now);
        true
    }

    /// When the next bell is due.
    pub(super) fn next_due(&self) -> Option<u64> {
        self.waiting.front().map(|(due, _)| *due)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ringer() -> Ringer {
        Ringer::new(Sounds::default(), false)
    }

    /// When bells are rung by a loop that looks every 10 ms.
    fn rung(ringer: &mut Ringer, from: u64, to: u64) -> Vec<u64> {
        (from..to).step_by(10).filter(|now| ringer.ring(*now)).collect()
    }

    #[test]
    fn each_bell_has_its_time() {
        let mut ringer = ringer();
        assert_eq!(ringer.sound(Sound::Over, 1_000), None);
        assert_eq!(ringer.next_due(), Some(1_000));
        assert_eq!(rung(&mut ringer, 1_000, 3_000), [1_000, 1_150, 1_300]);
        assert_eq!(ringer.next_due(), None);
        ringer.sound(Sound::Lost, 5_000);
        assert_eq!(rung(&mut ringer, 5_000, 8_000), [5_000, 5_600]);
    }

    #[test]
    fn a_loop_that_was_busy_does_not_ring_two_at_once() {
        let mut ringer = ringer();
        ringer.sound(Sound::EaseOff, 0);
        assert!(ringer.ring(900) && !ringer.ring(900));
        assert_eq!(ringer.next_due(), Some(1_050));
    }

    #[test]
    fn what_is_more_urgent_replaces_what_waits() {
        let mut ringer = ringer();
        ringer.sound(Sound::EaseOff, 0);
        assert!(ringer.ring(0));
        ringer.sound(Sound::Lost, 100);
        assert_eq!(rung(&mut ringer, 100, 3_000), [450, 1_050], "apart from the bell that was heard");
        ringer.sound(Sound::Lost, 4_000);
        assert!(ringer.ring(4_000));
        ringer.sound(Sound::Right, 4_100);
        assert_eq!(rung(&mut ringer, 4_100, 8_000), [4_600], "it goes on");
    }

    #[test]
    fn quiet_is_quiet_and_a_command_is_handed_on() {
        let words = vec!["play".to_owned(), "done.wav".to_owned()];
        let mut sounds = Sounds::default();
        sounds.set(Sound::Right, Voice::command(words.clone()).unwrap());
        sounds.set(Sound::Over, Voice::Off);
        let mut quiet = Ringer::new(sounds.clone(), true);
        let mut loud = Ringer::new(sounds, false);
        for sound in Sound::ALL {
            assert_eq!(quiet.sound(sound, 0), None);
        }
        assert_eq!(quiet.next_due(), None);
        assert_eq!(loud.sound(Sound::Right, 0), Some(Due(words)));
        assert_eq!(loud.sound(Sound::Over, 0), None);
        assert_eq!(loud.next_due(), None);
    }
}
