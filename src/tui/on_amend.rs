//! What is painted of a job is put right: the lines of its form that can still change, a line at a time.

use super::app::App;
use super::job_asks::JobAsks;
use super::new_job::{JobField, NewJob};
use crate::job::JobEvent;

impl App {
    /// Asks for the first of the lines, with what the job has in it.
    pub(super) fn ask_amendment(&mut self) {
        let notation = self.notation();
        let Some((_, job)) = self.opened_job() else { return };
        self.jobs_at_work.amending = NewJob::of_job(job, notation);
        self.ask_amended(JobField::Vehicle);
    }

    fn ask_amended(&mut self, field: JobField) {
        let typed = self.jobs_at_work.amending.get(field).to_owned();
        self.ask_of_job(JobAsks::Amend(field), typed);
        let place = JobField::AMENDED.iter().position(|one| *one == field);
        if let Some(prompt) = &mut self.prompt {
            prompt.selected = place.unwrap_or_default();
        }
    }

    /// The lines, that which is asked for as it is typed.
    pub(super) fn amended_rows(&self, field: JobField) -> Vec<[String; 4]> {
        let typed = |one: JobField| match &self.prompt {
            Some(prompt) if one == field => prompt.input.value(),
            _ => self.jobs_at_work.amending.get(one),
        };
        let row =
            |one: JobField| [String::new(), one.word().to_owned(), String::new(), typed(one).to_owned()];
        JobField::AMENDED.into_iter().map(row).collect()
    }

    /// Another of the lines is asked for; what stands in this one is kept.
    pub(super) fn step_amended(&mut self, field: JobField, down: bool) {
        let Some(prompt) = &self.prompt else { return };
        let typed = crate::units::clean(prompt.input.value()).trim().to_owned();
        self.jobs_at_work.amending.set(field, &typed);
        if let Some(next) = field.beside_amended(down) {
            self.ask_amended(next);
        }
    }

    /// A line was answered: the next one, or what is different now is written.
    pub(super) fn answer_amended(&mut self, field: JobField, typed: &str) -> Result<(), String> {
        let notation = self.notation();
        self.jobs_at_work.amending.set(field, typed);
        let Some((id, job)) = self.opened_job() else { return Ok(()) };
        let form = &self.jobs_at_work.amending;
        form.check_amended(field, job, &self.catalogue, notation)?;
        if let Some(next) = field.beside_amended(true) {
            self.ask_amended(next);
            return Ok(());
        }
        let Some(amendment) = form.amendment(job, &self.catalogue, notation)? else {
            self.say("nothing of it was changed");
            return Ok(());
        };
        self.tell_of_job(id, JobEvent::Amended(amendment), "what is painted is changed")
    }
}
