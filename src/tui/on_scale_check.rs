//! Checking the scale from its own screen: what begins it, what a reading brings, and what is said of the last one.

use super::app::{App, Screen};
use super::message::Effect;
use super::scale_check::{Came, Task};
use super::scale_page::ScalePage;
use super::screens::Note;
use super::theme::Meaning;
use crate::book::Envelope;
use crate::metrology::{ScaleEvent, Standing, limit_if_fit};
use crate::mix::weighable::smallest_weight;
use crate::units::{Stamp, clean};

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
        if let Screen::Scale(page) = &mut self.screen {
            page.told = None;
            page.task = Some(task);
        }
    }

    pub(super) fn tell(&mut self, text: &str, meaning: Meaning) {
        if let Screen::Scale(page) = &mut self.screen {
            page.told = Some(Note { text: clean(text), meaning });
        }
    }

    /// Whether something is being done with the scale.
    pub(super) fn has_scale_task(&self) -> bool {
        matches!(&self.screen, Screen::Scale(page) if page.task.is_some())
    }

    /// Ends what is being done with the scale; false if nothing is.
    pub(super) fn give_up_scale_task(&mut self) -> bool {
        let given_up = match &mut self.screen {
            Screen::Scale(page) => page.task.take().is_some(),
            _ => false,
        };
        if given_up {
            self.tell("given up; nothing of it is in the book", Meaning::Plain);
        }
        given_up
    }

    /// Takes another of the shop's weights for the check: the next one that is good enough.
    pub(super) fn turn_check_weight(&mut self, forward: bool) {
        let Some(sheet) = &self.catalogue.scale else { return };
        let Screen::Scale(page) = &mut self.screen else { return };
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
        let Screen::Scale(page) = &mut self.screen else { return };
        let Some(task) = &mut page.task else { return };
        let came = task.look(&self.scale);
        self.follow_scale_task(came);
    }

    /// Takes what stands on the scale as it is.
    pub(super) fn take_for_scale_task(&mut self) {
        let Screen::Scale(page) = &mut self.screen else { return };
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
            Came::Further => self.effects.push(Effect::Bell),
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
        self.effects.push(Effect::Bell);
        if let Screen::Scale(page) = &mut self.screen {
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

    fn standing(&self) -> Option<Standing> {
        let sheet = self.catalogue.scale.as_ref()?;
        Some(self.scale_record.standing(sheet.plan, self.now.stamp, self.settings.seconds_east))
    }

    /// What is amiss with the scale's checks, in a sentence; none if all is well, or nobody laid down any.
    pub(super) fn check_amiss(&self) -> Option<String> {
        // The virtual bench needs no weights, and a demo no reproach.
        if !self.scale.is_present() || self.settings.is_virtual_bench() {
            return None;
        }
        let standing = self.standing().filter(|standing| !standing.is_well())?;
        Some(match standing {
            // The keys have to be on a screen of 80 columns too.
            Standing::Failed { at } => {
                format!("checked {}, not right: have it seen to, then F2 and k", self.when(at))
            }
            _ => self.standing_in_words(standing, "F2, then k, checks it"),
        })
    }

    fn standing_in_words(&self, standing: Standing, key: &str) -> String {
        match standing {
            Standing::Never => format!("the book has no check of this scale: {key}"),
            Standing::Done { at } => format!("checked {}, and right", self.when(at)),
            Standing::Due { last } => {
                format!("last checked {}: a check is due today ({key})", self.when(last))
            }
            Standing::Overdue { last, .. } => format!("last checked {}: overdue. {key}", self.when(last)),
            Standing::Failed { at } => {
                format!("it was not right when checked {}: have it seen to, then {key}", self.when(at))
            }
        }
    }

    /// How long ago, in days: the book's times are on the wall's clock.
    fn when(&self, at: Stamp) -> String {
        let day = |stamp| crate::metrology::Day::of(stamp, self.settings.seconds_east).0;
        match day(self.now.stamp).saturating_sub(day(at)) {
            0 => "today".to_owned(),
            1 => "yesterday".to_owned(),
            days if days < 0 => "on a day still to come".to_owned(),
            days => format!("{days} days ago"),
        }
    }

    /// Why no mix may be begun on this scale, if the shop wants it so.
    pub(super) fn scale_refused(&self) -> Option<String> {
        let plan = self.catalogue.scale.as_ref()?.plan;
        self.check_amiss()?;
        let standing = self.standing()?;
        // Why stands above it, at CHECK SCALE.
        let refused = "no mix is begun on a scale like that: F2, then k, checks it";
        (!plan.lets_weigh(standing)).then(|| refused.to_owned())
    }

    /// What is said on the scale's own screen: the step that is due, what became of the last one, and the record.
    pub(super) fn scale_notes(&self, page: &ScalePage) -> Vec<Note> {
        let plain = |text: String| Note { text, meaning: Meaning::Plain };
        let mut notes = Vec::new();
        if let Some(search) = &page.search {
            notes.extend(search.notes());
        } else if let Some(text) = self.lost_at_length() {
            notes.push(Note { text, meaning: Meaning::Doubt });
        }
        if let Some(task) = &page.task {
            notes.push(Note { text: task.says(), meaning: Meaning::Title });
        }
        notes.extend(page.told.clone());
        // Of a remark with its place in the description only what it says.
        let remarks = self.settings.scale.iter().flat_map(|scale| scale.shape().remarks());
        let remarks = remarks.filter_map(|remark| remark.lines().last());
        notes.extend(remarks.map(|says| Note {
            text: clean(&format!("its format: {}", says.trim())),
            meaning: Meaning::Doubt,
        }));
        if !self.scale.is_present() && page.search.is_none() {
            notes.push(plain(
                "no scale was named; weights are typed. f searches the ports for one".to_owned(),
            ));
        }
        if let Some(standing) = self.standing().filter(|_| self.scale.is_present()) {
            let meaning = if standing.is_well() { Meaning::Right } else { Meaning::Doubt };
            notes.push(Note { text: self.standing_in_words(standing, "k checks it"), meaning });
        }
        if let Some(latest) = &self.scale_record.latest_check {
            let by = clean(&latest.by.operator);
            notes.push(plain(format!("{}, by {by}", latest.check.sentence())));
        }
        if let Some(measured) = &self.scale_record.repeatability {
            let division = measured.repeatability.division;
            let least = smallest_weight(division, self.accuracy());
            let least = least.map_or_else(String::new, |least| {
                format!(": weighs from {} g up, to 1 %", least.with_decimals(1))
            });
            notes.push(plain(format!(
                "ten weighings {}, spread s {} g{least}",
                self.when(measured.at),
                measured.repeatability.deviation.with_decimals(3)
            )));
        }
        notes
    }
}
