//! Keys in the list of the jobs, and a new job.

use super::app::{App, Screen};
use super::job_asks::JobAsks;
use super::jobs::{JobPage, JobsPage};
use super::keys::Action;
use super::known::Then;
use super::message::Effect;
use super::new_job::{JobField, NewJob};
use super::prompt::Asks;
use super::sound::Sound;
use crate::book::{EventId, JobId};
use crate::catalogue::Colour;
use crate::job::{JobError, JobEvent, JobJournal};
use tui_input::{Input, InputRequest};

/// As many colours as are offered beneath the line that asks for one.
const OFFERED: usize = 5;

impl App {
    /// Opens the list of the jobs.
    pub(super) fn open_jobs(&mut self) {
        self.screen = Screen::Jobs(JobsPage::default());
    }

    /// The jobs to show, the latest first.
    pub(super) fn job_rows(&self, page: &JobsPage) -> Vec<&JobJournal> {
        let here = self.jobs.iter().filter(|known| known.job().closed.is_some() == page.closed);
        let elsewhere = match &self.jobs_at_work.closed {
            Some(Ok(closed)) if page.closed => closed.as_slice(),
            _ => &[],
        };
        let is_new = |known: &&JobJournal| self.jobs.iter().all(|one| one.id() != known.id());
        let mut rows: Vec<&JobJournal> =
            here.chain(elsewhere.iter().filter(is_new)).filter(|known| page.has(known.job())).collect();
        rows.sort_by_key(|known| std::cmp::Reverse((known.job().opened, known.id())));
        rows
    }

    pub(super) fn act_on_jobs(&mut self, action: Action) {
        let Screen::Jobs(page) = &self.screen else { return };
        let rows = self.job_rows(page);
        let last = rows.len().saturating_sub(1);
        let marked = rows.get(page.selected).map(|known| (*known).clone());
        let Screen::Jobs(page) = &mut self.screen else { return };
        let row = &mut page.selected;
        match action {
            Action::Up => *row = row.saturating_sub(1),
            Action::Down => *row = row.saturating_add(1).min(last),
            Action::PageUp => *row = row.saturating_sub(10),
            Action::PageDown => *row = row.saturating_add(10).min(last),
            Action::Back if !page.query.value().is_empty() => page.edit(InputRequest::DeleteLine),
            Action::Back => self.open_colours(),
            Action::EraseBack => page.edit(InputRequest::DeletePrevChar),
            Action::EraseAll => page.edit(InputRequest::DeleteLine),
            Action::ClosedJobs => {
                page.closed = !page.closed;
                page.selected = 0;
                if page.closed && !self.jobs_at_work.reading {
                    self.jobs_at_work.reading = true;
                    self.effects.push(Effect::ReadClosedJobs);
                }
            }
            Action::NewJob => self.new_job(),
            Action::Accept => {
                if let Some(known) = marked {
                    let job = known.id();
                    if self.jobs.iter().all(|one| one.id() != job) {
                        self.jobs.push(known);
                    }
                    self.open_job_page(job);
                }
            }
            _ => {}
        }
    }

    /// The closed jobs were read, or why they could not be.
    pub(super) fn on_closed_jobs_read(&mut self, read: Result<Vec<JobJournal>, String>) {
        self.jobs_at_work.reading = false;
        if let Err(why) = &read {
            self.complain(crate::units::clean(why));
        }
        self.jobs_at_work.closed = Some(read);
    }

    /// Shows one job; its latest card is marked.
    pub(super) fn open_job_page(&mut self, job: JobId) {
        let cards = self.job_of(job).map_or(0, |job| job.cards().count());
        let colour = self.job_of(job).map(|job| (job.colour.clone(), job.variant.clone()));
        self.screen = Screen::Job(JobPage { job, card: cards.saturating_sub(1) });
        // What its layers want follows from the colour's file.
        let place = colour.and_then(|(code, variant)| self.known.place_of(code.as_str(), &variant));
        if let Some(file) = place.and_then(|place| self.known.ask_for(place)) {
            self.effects.push(Effect::ReadColour { file, then: Then::Show });
        }
    }

    /// Begins with a new job, or goes on with the one that was begun.
    fn new_job(&mut self) {
        if self.refuse_to_write() {
            return;
        }
        let form = self.jobs_at_work.form.get_or_insert_with(NewJob::default);
        let needed = [JobField::Name, JobField::Colour];
        let open = needed.into_iter().find(|field| form.get(*field).is_empty());
        self.ask_job_field(open.unwrap_or(JobField::Panels), None);
    }

    pub(super) fn ask_job_field(&mut self, field: JobField, error: Option<String>) {
        self.ask(Asks::OfJob(JobAsks::New(field)));
        let typed = self.jobs_at_work.form.as_ref().map_or("", |form| form.get(field)).to_owned();
        if let Some(prompt) = &mut self.prompt {
            prompt.input = Input::new(typed);
            prompt.error = error;
        }
        self.find_job_colours();
    }

    /// Looks for the colours that fit what is typed for one.
    pub(super) fn find_job_colours(&mut self) {
        let Some(prompt) = &mut self.prompt else { return };
        if prompt.asks != Asks::OfJob(JobAsks::New(JobField::Colour)) {
            return;
        }
        prompt.selected = 0;
        let found = self.known.find(prompt.input.value(), OFFERED);
        if let Some(form) = &mut self.jobs_at_work.form {
            form.found = found;
        }
    }

    /// What can be picked beneath a line of the form: the colours that fit, else the form's lines as they are.
    pub(super) fn job_form_rows(&self, field: JobField) -> Vec<[String; 4]> {
        let Some(form) = &self.jobs_at_work.form else { return Vec::new() };
        if field == JobField::Colour {
            let entries = form.found.iter().filter_map(|found| self.known.entry(found.colour));
            return entries
                .map(|entry| {
                    let name = format!("{} {}", entry.code, entry.name);
                    [String::new(), name, String::new(), format!("{}, {}", entry.variant, entry.finish)]
                })
                .collect();
        }
        let typed = |one: JobField| match &self.prompt {
            Some(prompt) if one == field => prompt.input.value(),
            _ => form.get(one),
        };
        let row =
            |one: JobField| [String::new(), one.word().to_owned(), String::new(), typed(one).to_owned()];
        JobField::ALL.into_iter().map(row).collect()
    }

    /// Keeps what stands in the line.
    fn keep_job_field(&mut self, field: JobField) {
        let Some(prompt) = &self.prompt else { return };
        let typed = crate::units::clean(prompt.input.value()).trim().to_owned();
        if let Some(form) = self.jobs_at_work.form.as_mut().filter(|_| field != JobField::Colour) {
            form.set(field, &typed);
        }
    }

    /// Another colour is marked, or another line of the form is asked for.
    pub(super) fn step_job_field(&mut self, field: JobField, down: bool) {
        if field == JobField::Colour {
            let count = self.jobs_at_work.form.as_ref().map_or(0, |form| form.found.len());
            if let Some(prompt) = &mut self.prompt {
                prompt.step(down, count);
            }
            return;
        }
        self.keep_job_field(field);
        if let Some(next) = field.beside(down) {
            self.ask_job_field(next, None);
        }
    }

    /// Leaves the form; what was typed waits for the next time.
    pub(super) fn leave_job_form(&mut self, field: JobField) {
        self.keep_job_field(field);
        self.prompt = None;
        if self.jobs_at_work.form.as_ref().is_some_and(NewJob::is_blank) {
            self.jobs_at_work.form = None;
        } else {
            self.say("no job is opened yet; what was typed is kept for the next time");
        }
    }

    /// A line was answered: the next one, or the job is opened.
    pub(super) fn answer_job_field(
        &mut self,
        field: JobField,
        typed: &str,
        marked: usize,
    ) -> Result<(), String> {
        if field == JobField::Colour {
            let found = self.known.find(typed, OFFERED);
            let entry = found.get(marked).and_then(|found| self.known.entry(found.colour));
            let taken = entry.map(|entry| (entry.code.to_owned(), entry.variant.to_owned()));
            let Some(form) = &mut self.jobs_at_work.form else { return Ok(()) };
            if let Some((code, _)) = &taken {
                form.set(field, code);
            }
            form.colour = taken;
        } else if let Some(form) = &mut self.jobs_at_work.form {
            form.set(field, typed);
        }
        let Some(form) = &self.jobs_at_work.form else { return Ok(()) };
        form.check(field, &self.catalogue, self.notation())?;
        if let Some(next) = field.beside(true) {
            self.ask_job_field(next, None);
            return Ok(());
        }
        let place = form.colour.as_ref().and_then(|(code, variant)| self.known.place_of(code, variant));
        match place {
            // Its layers are in its file.
            Some(place) => self.with_colour(place, Then::Job),
            None => self.ask_job_field(JobField::Colour, Some("the shop has this colour no more".to_owned())),
        }
        Ok(())
    }

    /// The colour of the new job is here in full: the job is opened, or it is said at the line that is wrong why not.
    pub(super) fn open_job_of(&mut self, colour: &Colour) {
        let notation = self.notation();
        let Some(form) = &self.jobs_at_work.form else { return };
        let opening = match form.opening(colour, &self.catalogue, notation) {
            Ok(opening) => opening,
            Err((field, why)) => return self.ask_job_field(field, Some(why)),
        };
        let name = opening.name.clone();
        match self.begin_job(&JobEvent::Opened(opening)) {
            Ok(job) => {
                self.jobs_at_work.form = None;
                self.prompt = None;
                self.open_job_page(job);
                self.when_saved(format!("job {name} is opened"));
            }
            Err(why) => self.ask_job_field(JobField::Name, Some(why)),
        }
    }

    fn begin_job(&mut self, event: &JobEvent) -> Result<JobId, String> {
        if let Some(why) = &self.look_only {
            return Err(format!("nothing can be written: {why}"));
        }
        let at = self.now.stamp;
        let (job, id) = (self.ids.job(at), self.ids.event(at));
        let begun = JobJournal::begin(job, event, id, at, &self.settings.by);
        let (journal, envelope) = begun.map_err(|error: JobError| error.to_string())?;
        let closed = match &self.jobs_at_work.closed {
            Some(Ok(closed)) => closed.as_slice(),
            _ => &[],
        };
        let name = &journal.job().name;
        if self.jobs.iter().chain(closed).any(|known| known.job().name == *name) {
            return Err(format!("there was a job '{name}' before: a name is used once"));
        }
        self.write(vec![envelope]);
        self.jobs.push(journal);
        Ok(job)
    }

    /// Those words are said once what was written last is on disk.
    pub(super) fn when_saved(&mut self, words: String) {
        if let Some(id) = self.saving.last() {
            self.jobs_at_work.told.push((id, words));
        }
    }

    /// An event is on disk: what was to be said of it is.
    pub(super) fn job_is_saved(&mut self, id: EventId) {
        let Some(at) = self.jobs_at_work.told.iter().position(|(last, _)| *last == id) else { return };
        let (_, words) = self.jobs_at_work.told.remove(at);
        self.effects.push(Effect::Sound(Sound::Right));
        self.say(format!("saved: {words}"));
    }
}
