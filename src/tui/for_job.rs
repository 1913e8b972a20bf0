//! From a job to the bench: a layer of it is mixed, and the job is told what the mix has become.
//!
//! What the job is told follows from the mix's own events, which name the job: it is told again, at the next start, what a
//! crash kept from it.

use super::app::{App, Screen};
use super::known::Then;
use super::message::Effect;
use super::prompt::Asks;
use crate::book::{JobId, Journal, MixId};
use crate::catalogue::{Catalogue, Colour, Role};
use crate::job::{
    Activation, Job, JobEvent, JobJournal, Joined, Refusal, Wanted, Warning, past, pot_life, product_of,
    wanted, wanted_for_cards,
};
use crate::mix::Phase;
use crate::units::{Millilitres, clean};
use std::collections::BTreeSet;

/// What a layer is mixed for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct ForJob {
    /// The job.
    pub job: JobId,
    /// What the shop calls it.
    pub name: String,
    /// Which of its layers.
    pub layer: Role,
    /// Whether it is for spray-out cards alone.
    pub for_cards: bool,
    /// The product that the job names for it, if it names one.
    pub product: Option<String>,
    /// How much the job wants, ready to spray, if that is known.
    pub wanted: Option<Millilitres>,
    /// What that means, in a sentence.
    pub sentence: Option<String>,
    /// What it was estimated to need, by the product's sheet alone.
    pub estimate: Option<Millilitres>,
}

/// What is under way between a job and the bench.
#[derive(Debug, Default)]
pub(super) struct JobAtBench {
    /// What the amount is asked for next, until it is.
    pub asked: Option<ForJob>,
    /// What waits for a reason to be mixed all the same, and why it should not be.
    pub refused: Option<(ForJob, Refusal)>,
    /// Whether the jobs were told once, after the start, what they did not hear of mixes that wait.
    pub caught_up: bool,
    /// The files of colours that have to be read before the jobs are told; none before that was looked at.
    pub colours: Option<BTreeSet<String>>,
    /// The mix of which it was said that its pot life is over.
    pub said_over: Option<MixId>,
}

impl App {
    /// Asks how much of that layer of that job: its colour and variant, the volume that it asks for. What should not be
    /// mixed yet, as a pearl coat before a card was chosen, is asked a reason for first.
    pub(super) fn mix_for_job(&mut self, job: JobId, role: Role, for_cards: bool) {
        if self.refuse_to_write() {
            return;
        }
        let Some(known) = self.job_of(job) else {
            return self.complain("this job is not among those that are open");
        };
        let plan = known.plan().iter().find(|plan| plan.role == role);
        let asked = ForJob {
            job,
            name: known.name.clone(),
            layer: role,
            for_cards,
            product: plan.and_then(|plan| plan.product.clone()),
            wanted: None,
            sentence: None,
            estimate: None,
        };
        let (code, variant) = (known.colour.clone(), known.variant.clone());
        let mix = self.ids.mix(self.now.stamp);
        let joined = JobEvent::MixJoined(Joined { for_cards, ..Joined::of(mix, role) });
        let refused = self.job_of(job).and_then(|known| known.may(&joined, self.now.stamp).err());
        match refused {
            Some(refusal) if refusal.overruled("").is_some() => {
                self.for_job.refused = Some((asked, refusal));
                return self.ask(Asks::MixAllTheSame);
            }
            Some(refusal) => return self.complain(refusal.to_string()),
            None => {}
        }
        match self.known.place_of(code.as_str(), &variant) {
            Some(place) => {
                self.for_job.asked = Some(asked);
                self.with_colour(place, Then::Mix(role));
            }
            None => self.complain(format!(
                "the shop has no colour {} ({}) any more: write it anew, or open the job with another",
                clean(code.as_str()),
                clean(&variant)
            )),
        }
    }

    /// Why it is mixed all the same: that is written, and then it is asked how much.
    pub(super) fn answer_mix_all_the_same(&mut self, reason: &str) -> Result<(), String> {
        if reason.is_empty() {
            return Err(Refusal::NoReason.to_string());
        }
        let Some((asked, refusal)) = self.for_job.refused.clone() else { return Ok(()) };
        if let Some(event) = refusal.overruled(reason) {
            self.write_job(asked.job, event)?;
        }
        self.for_job.refused = None;
        self.mix_for_job(asked.job, asked.layer, asked.for_cards);
        Ok(())
    }

    /// Why the layer should not be mixed yet, while a reason is asked for.
    pub(super) fn why_not_mixed(&self) -> Option<String> {
        self.for_job.refused.as_ref().map(|(_, refusal)| refusal.to_string())
    }

    /// The same with how much the job wants of it: what was asked for, or by the product's sheet and the shop's own record.
    /// For spray-out cards alone it is what those take that are still to be made.
    pub(super) fn with_wanted(&self, asked: ForJob, colour: &Colour) -> ForJob {
        let Some(job) = self.job_of(asked.job) else { return asked };
        // The colours of a folder are read one by one.
        let shop = Catalogue { colours: vec![colour.clone()], ..self.catalogue.clone() };
        if asked.for_cards {
            let found = wanted_for_cards(job, asked.layer, &shop, &self.settings.preferences.job);
            let notation = self.notation();
            let (wanted, sentence) = match found {
                Some(Ok(cards)) => (Some(cards.to_mix()), Some(cards.sentence(notation))),
                Some(Err(lack)) => (None, Some(lack.to_string())),
                None => (None, None),
            };
            return ForJob { wanted, sentence, ..asked };
        }
        let Some(wanted) = self.wanted_of(asked.job, job, asked.layer, &shop) else { return asked };
        ForJob {
            wanted: wanted.to_mix.map(|to_mix| to_mix.wanted),
            sentence: Some(wanted.sentence(self.notation())),
            estimate: wanted.estimate(),
            ..asked
        }
    }

    /// How much that layer of that job wants, in a shop that has its colour.
    fn wanted_of(&self, id: JobId, job: &Job, layer: Role, shop: &Catalogue) -> Option<Wanted> {
        let plan = job.plan().iter().find(|plan| plan.role == layer)?;
        let product = product_of(job, plan, shop).ok().map(|product| product.code.as_str());
        let mixes = self.job_mixes.get(&layer).map_or(&[][..], Vec::as_slice);
        let past = past(mixes, product, Some(id));
        wanted(job, layer, shop, &past, &self.settings.preferences.job, None)
    }

    /// What each layer of the job on the screen wants, reckoned once for each state of the job.
    pub(super) fn reckon_wanted(&mut self) {
        let Screen::Job(page) = &self.screen else { return };
        let Some(known) = self.jobs.iter().find(|known| known.id() == page.job) else { return };
        let job = known.job();
        let place = self.known.place_of(job.colour.as_str(), &job.variant);
        let colour = place.and_then(|place| self.known.full(place));
        let state = Some((known.id(), known.next(), colour.is_some()));
        if self.jobs_at_work.reckoned == state {
            return;
        }
        let shop = Catalogue { colours: colour.cloned().into_iter().collect(), ..self.catalogue.clone() };
        let of = |role: Role| self.wanted_of(known.id(), job, role, &shop);
        // Before its colour's file is read nothing can be said of a layer.
        let wanted =
            job.plan().iter().filter(|_| colour.is_some()).filter_map(|plan| of(plan.role)).collect();
        self.jobs_at_work.reckoned = state;
        self.jobs_at_work.wanted = wanted;
    }

    /// The job that the mix at the bench is for is told of it: that it was begun for the job, and that hardener is in.
    /// `asked` is what it was begun for, where that is known.
    pub(super) fn tell_job(&mut self, asked: Option<&ForJob>) {
        let Screen::Bench(bench) = &self.screen else { return };
        if let Some((job, events)) = self.untold(bench.journal(), asked) {
            self.tell_all(job, events);
        }
    }

    /// Tells the jobs, once after the start, what they have not heard of the mixes that wait and of the cups: the program
    /// was cut off in between.
    pub(super) fn catch_up_with_jobs(&mut self) {
        if self.for_job.caught_up || self.look_only.is_some() {
            return;
        }
        // A mix that was cut off from its job is told with its estimate: its colour is read first.
        if self.reads_colours_first() {
            return;
        }
        self.for_job.caught_up = true;
        let journals = self.waiting.iter().chain(&self.cups).filter_map(|one| one.journal.as_ref().ok());
        let untold: Vec<_> = journals.filter_map(|journal| self.untold(journal, None)).collect();
        for (job, events) in untold {
            self.tell_all(job, events);
        }
    }

    /// Whether colours of jobs that have mixes to hear of are still to be read, once each: they are asked for.
    fn reads_colours_first(&mut self) -> bool {
        if let Some(asked) = &self.for_job.colours {
            return !asked.is_empty();
        }
        let journals = self.waiting.iter().chain(&self.cups).filter_map(|one| one.journal.as_ref().ok());
        let joins = |journal: &&Journal| {
            let untold = self.untold(journal, None);
            untold
                .is_some_and(|(_, events)| events.iter().any(|event| matches!(event, JobEvent::MixJoined(_))))
        };
        let places = journals.filter(joins).filter_map(|journal| {
            let recipe = journal.session().recipe();
            let place = self.known.place_of(recipe.colour.as_str(), &recipe.variant)?;
            self.known.full(place).is_none().then_some(place)
        });
        let files: BTreeSet<String> = places
            .filter_map(|place| self.known.entry(place))
            .map(|entry| entry.file.to_owned())
            .filter(|file| !file.is_empty())
            .collect();
        let reads = files.iter().map(|file| Effect::ReadColour { file: file.clone(), then: Then::Show });
        self.effects.extend(reads);
        let is_any = !files.is_empty();
        self.for_job.colours = Some(files);
        is_any
    }

    /// A colour's file was read, or could not be.
    pub(super) fn colour_of_job_was_read(&mut self, file: &str) {
        if let Some(files) = &mut self.for_job.colours {
            files.remove(file);
        }
        self.catch_up_with_jobs();
    }

    /// What a layer of that job is estimated to need, as far as its colour is here.
    fn estimated(&self, known: &JobJournal, layer: Role) -> Option<Millilitres> {
        let job = known.job();
        let colour = self.known.full(self.known.place_of(job.colour.as_str(), &job.variant)?)?;
        let shop = Catalogue { colours: vec![colour.clone()], ..self.catalogue.clone() };
        self.wanted_of(known.id(), job, layer, &shop)?.estimate()
    }

    fn tell_all(&mut self, job: JobId, events: Vec<JobEvent>) {
        for event in events {
            if let Err(why) = self.write_job(job, event) {
                return self.complain(why);
            }
        }
    }

    /// What the job of that mix has not heard of it.
    fn untold(&self, journal: &Journal, asked: Option<&ForJob>) -> Option<(JobId, Vec<JobEvent>)> {
        let start = journal.session().start();
        let name = start.job.as_deref()?;
        let known = self.jobs.iter().find(|known| known.job().name == name)?;
        let (job, mix, layer) = (known.job(), journal.mix(), start.recipe.role);
        if job.closed.is_some() || job.was_parted(mix) {
            return None;
        }
        let mut events = Vec::new();
        if journal.session().phase() == Phase::Abandoned {
            let is_joined = job.mixes().any(|joined| joined.mix == mix);
            let reason = "the mix was given up".to_owned();
            return is_joined.then(|| (known.id(), vec![JobEvent::MixParted { mix, reason }]));
        }
        if !job.mixes().any(|joined| joined.mix == mix) {
            let for_cards = asked.map_or_else(|| must_be_for_cards(job, journal), |asked| asked.for_cards);
            // What was estimated when it was begun; after a crash it is reckoned again.
            let estimate = match asked {
                Some(asked) => asked.estimate,
                None if for_cards => None,
                None => self.estimated(known, layer),
            };
            events.push(JobEvent::MixJoined(Joined { for_cards, estimate, ..Joined::of(mix, layer) }));
        }
        if let Some(time) = pot_life(journal).filter(|time| job.pot_life(mix) != Some(*time)) {
            events.push(JobEvent::Activated(Activation { mix, since: time.from, pot_life: time.minutes }));
        }
        (!events.is_empty()).then_some((known.id(), events))
    }

    /// Writes what happened to a job into the book, and takes it in here.
    #[expect(
        clippy::needless_pass_by_value,
        reason = "what is written is given away: nobody writes it twice"
    )]
    pub(super) fn write_job(&mut self, job: JobId, event: JobEvent) -> Result<Vec<Warning>, String> {
        if let Some(why) = &self.look_only {
            return Err(format!("nothing can be written: {why}"));
        }
        let Some(journal) = self.jobs.iter_mut().find(|known| known.id() == job) else {
            return Err("this job is not among those that are open".to_owned());
        };
        let id = self.ids.event(self.now.stamp);
        let (envelope, warnings) = journal
            .record(&event, id, self.now.stamp, &self.settings.by)
            .map_err(|error| error.to_string())?;
        self.write(vec![envelope]);
        Ok(warnings)
    }

    /// That job, if it is among those that are known here.
    pub(super) fn job_of(&self, job: JobId) -> Option<&Job> {
        self.jobs.iter().find(|known| known.id() == job).map(JobJournal::job)
    }
}

/// Whether a mix can only have been begun for cards: the job would have asked for a reason otherwise.
fn must_be_for_cards(job: &Job, journal: &Journal) -> bool {
    let layer = journal.session().recipe().role;
    job.may(&JobEvent::MixJoined(Joined::of(journal.mix(), layer)), job.last).is_err()
}
