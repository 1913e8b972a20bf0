//! Checking the scale from its own screen: what begins it, and what a reading brings.

use super::app::App;
use super::message::Effect;
use super::scale_check::{Came, Task};
use super::screens::Note;
use super::sound::Sound;
use super::theme::Meaning;
use crate::book::Envelope;
use crate::metrology::{ScaleEvent, limit_if_fit};
use crate::units::clean;

/// How many checks are kept at hand.
const RECENT: usize = 30;

impl App {
    /// Begins a check with the weight that fits best.
    pub(super) fn begin_check(&mut self) {
        let Some(sheet) = &self.catalogue.scale else {
            let why = "the shop has no scale.toml: its class and its check weights have to be written there first; \
                       hardware-notes.md shows how";
            return self.tell(why, Meaning::Doubt);
        };
        match sheet.check_weight() {
            Ok((weight, _)) => self.begin(Task::check(sheet.scale.clone(), weight.clone())),
            Err(none) => self.tell(&none.to_string().replace('\n', ". "), Meaning::Error),
        }
    }

    /// Begins ten weighings of the same weight.
    pub(super) fn begin_ten(&mut self) {
        let division = self.limits().division;
        let scale = self
            .catalogue
            .scale
            .as_ref()
            .map_or_else(|| self.settings.by.bench.clone(), |sheet| sheet.scale.name.clone());
        self.begin(Task::ten(scale, division));
    }

    fn begin(&mut self, task: Task) {
        if self.refuse_to_write() {
            return;
        }
        if !self.scale.is_present() {
            return self.tell("there is no scale to check: weights are typed", Meaning::Doubt);
        }
        if let Some(page) = &mut self.scale_page {
            page.told = None;
            page.task = Some(task);
        }
    }

    pub(super) fn tell(&mut self, text: &str, meaning: Meaning) {
        if let Some(page) = &mut self.scale_page {
            page.told = Some(Note { text: clean(text), meaning });
        }
    }

    /// Whether something is being done with the scale.
    pub(super) fn has_scale_task(&self) -> bool {
        self.scale_page.as_ref().is_some_and(|page| page.task.is_some())
    }

    /// Ends what is being done with the scale; false if nothing is.
    pub(super) fn give_up_scale_task(&mut self) -> bool {
        let given_up = self.scale_page.as_mut().is_some_and(|page| page.task.take().is_some());
        if given_up {
            self.tell("given up; nothing of it is in the book", Meaning::Plain);
        }
        given_up
    }

    /// Takes another of the shop's weights for the check: the next one that is good enough.
    pub(super) fn turn_check_weight(&mut self, forward: bool) {
        let Some(sheet) = &self.catalogue.scale else { return };
        let Some(page) = &mut self.scale_page else { return };
        let Some(Task::Check { weight, .. }) = &mut page.task else { return };
        let fit: Vec<_> =
            sheet.weights.iter().filter(|weight| limit_if_fit(&sheet.scale, weight).is_ok()).collect();
        let Some(at) = fit.iter().position(|other| other.id == weight.id) else { return };
        let step = if forward { 1 } else { fit.len().saturating_sub(1) };
        let next = at.saturating_add(step).checked_rem(fit.len()).and_then(|next| fit.get(next));
        if let Some(next) = next {
            *weight = (*next).clone();
        }
    }

    /// A reading came in: it may be what is waited for.
    pub(super) fn look_for_scale_task(&mut self) {
        let Some(page) = &mut self.scale_page else { return };
        let Some(task) = &mut page.task else { return };
        let came = task.look(&self.scale);
        self.follow_scale_task(came);
    }

    /// Takes what stands on the scale as it is.
    pub(super) fn take_for_scale_task(&mut self) {
        let Some(page) = &mut self.scale_page else { return };
        let Some(task) = &mut page.task else { return };
        let came = task.take_as_it_is(&self.scale);
        if came == Came::Nothing {
            let why = self
                .scale
                .doubt()
                .unwrap_or_else(|| "not that: see above what is to stand on the pan".to_owned());
            return self.complain(why);
        }
        self.follow_scale_task(came);
    }

    fn follow_scale_task(&mut self, came: Came) {
        match came {
            Came::Nothing => {}
            Came::Further => self.effects.push(Effect::Sound(Sound::Right)),
            Came::Ended(why) => {
                self.end_scale_task();
                self.tell(&why, Meaning::Error);
            }
            Came::Done(event) => {
                self.end_scale_task();
                self.record_of_scale(&event);
            }
        }
    }

    fn end_scale_task(&mut self) {
        self.effects.push(Effect::Sound(Sound::Right));
        if let Some(page) = &mut self.scale_page {
            page.task = None;
            // An answer from before would push what came of it off a small screen.
            page.told = None;
        }
    }

    fn record_of_scale(&mut self, event: &ScaleEvent) {
        let at = self.now.stamp;
        let id = self.ids.event(at);
        let written = Envelope::of_scale(event, id, at, &self.settings.by);
        let taken = written.and_then(|envelope| {
            self.scale_record.take(&envelope, RECENT)?;
            Ok(envelope)
        });
        match taken {
            Ok(envelope) => self.write(vec![envelope]),
            Err(error) => self.tell(&format!("it cannot be written into the book: {error}"), Meaning::Error),
        }
    }
}
