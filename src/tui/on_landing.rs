//! What is heard of a pour on its way down and of a scale that is lost, and what a landing teaches.

use super::app::{App, Screen};
use super::lags::Lags;
use super::message::Effect;
use super::sound::Sound;

impl App {
    /// What was learned of scales before.
    pub(super) fn know_lags(&mut self, lags: Lags) {
        self.scale.lag = lags.of(&self.settings.place());
        self.lags = lags;
    }

    /// After each reading at the bench: says when to ease off, and learns from a landing.
    pub(super) fn heed_pour(&mut self) {
        let Screen::Bench(bench) = &mut self.screen else { return };
        if bench.take_tells() {
            self.effects.push(Effect::Sound(Sound::EaseOff));
        }
        let Some(lesson) = bench.take_lesson() else { return };
        if self.scale.lag.learn(&lesson) {
            self.lags.set(&self.settings.place(), self.scale.lag.clone());
            // The rehearsal's own hand heeds nothing, and pours by another clock than anybody's.
            if !self.settings.rehearsal {
                self.effects.push(Effect::KeepLags(self.lags.clone()));
            }
        }
    }

    /// A scale that is lost in the middle of a mix is heard: once, and not at each try to have it back.
    pub(super) fn hear_scale(&mut self, was_live: bool) {
        let in_a_mix = self.bench().is_some_and(|bench| bench.session().is_unfinished());
        if was_live && !self.scale.is_live() && in_a_mix && self.look_only.is_none() {
            self.effects.push(Effect::Sound(Sound::Lost));
        }
    }
}
