//! The repairs on the screen: the list of them, the one that is opened, and what is under way of them.

use super::new_job::NewJob;
use super::ticking::Heeded;
use crate::book::{EventId, JobId};
use crate::catalogue::Role;
use crate::job::{Job, JobEvent, JobJournal, Refusal, Wanted};
use tui_input::{Input, InputRequest};

/// The list of the jobs on the screen.
#[derive(Debug, Default)]
pub(super) struct JobsPage {
    /// What was typed to find one.
    pub(super) query: Input,
    /// Which of the rows is marked.
    pub(super) selected: usize,
    /// Whether the closed ones are shown.
    pub(super) closed: bool,
}

impl JobsPage {
    /// Whether a job has all the words that were typed.
    pub(super) fn has(&self, job: &Job) -> bool {
        let typed = self.query.value().to_lowercase();
        let vehicle = job.vehicle.as_deref().unwrap_or_default();
        let text = [job.name.as_str(), vehicle, job.colour.as_str()].join(" ").to_lowercase();
        typed.split_whitespace().all(|word| text.contains(word))
    }

    /// Changes what is typed.
    pub(super) fn edit(&mut self, request: InputRequest) {
        if self.query.handle(request).is_some_and(|change| change.value) {
            self.selected = 0;
        }
    }
}

/// A job on the screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct JobPage {
    /// Which.
    pub(super) job: JobId,
    /// The place of the marked card among its cards.
    pub(super) card: usize,
}

/// A card that is being noted, as far as it was typed.
#[derive(Clone, Debug, Default)]
pub(super) struct CardDraft {
    /// Of which job: another's undercoat and gun are not its own.
    pub(super) job: Option<JobId>,
    /// Its coats, over what, with which gun.
    pub(super) typed: [String; 3],
}

/// What is under way of the jobs.
#[derive(Debug, Default)]
pub(super) struct Jobs {
    /// What is said once the event with that identity is on disk.
    pub(super) told: Vec<(EventId, String)>,
    /// The job that is being opened: what was typed of it stays while somebody looks elsewhere.
    pub(super) form: Option<NewJob>,
    /// What is put right of the job on the screen, as far as it was typed.
    pub(super) amending: NewJob,
    /// The card that is being noted.
    pub(super) card: CardDraft,
    /// The closed jobs, the latest first; none before they were read, a sentence where they could not be.
    pub(super) closed: Option<Result<Vec<JobJournal>, String>>,
    /// Whether they are being read.
    pub(super) reading: bool,
    /// What each layer of the job on the screen wants, and of which state of the job that was reckoned.
    pub(super) wanted: Vec<Wanted>,
    pub(super) reckoned: Option<(JobId, u32, bool)>,
    /// What was refused, what was to be said of it, and why: a reason for it all the same is asked for.
    pub(super) refused: Option<(JobEvent, String, Refusal)>,
    /// The times that were heard of.
    pub(super) heeded: Heeded,
}

/// The layer that its cards are made of: the first that is matched by cards.
pub(super) fn carded(job: &Job) -> Option<Role> {
    job.plan().iter().map(|plan| plan.role).find(|role| Job::wants_cards(*role))
}

/// The layer that was said to be done last.
pub(super) fn last_done(job: &Job) -> Option<Role> {
    let done = job.standings().filter_map(|layer| Some((layer.finished?, layer.plan.role)));
    done.max_by_key(|(at, role)| (*at, *role)).map(|(_, role)| role)
}

/// The layer under way: the first that is not done.
pub(super) fn under_way(job: &Job) -> Option<Role> {
    job.standings().find(|layer| layer.finished.is_none()).map(|layer| layer.plan.role)
}
