//! A job and its place in the book: what happens becomes envelopes, and envelopes become the job again.

use super::refusal::may_open;
use super::{Job, JobEvent, Refusal, Warning};
use crate::book::{By, Envelope, EventId, JOB_KINDS, JobId, JobsOf, Ledger, Store, StoreError};
use crate::catalogue::Role;
use crate::units::{Stamp, clean};
use std::collections::BTreeMap;
use thiserror::Error;

/// A job and its place in the book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobJournal {
    id: JobId,
    job: Job,
    next: u32,
}

/// Why an event cannot be written, or a job not be read back.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum JobError {
    /// It should not happen as the job stands.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// An event that cannot be put into words.
    #[error("the event cannot be written as JSON: {0}")]
    Unwritable(String),
    /// More events than can be counted.
    #[error("this job has too many events: open a new one")]
    TooMany,
    /// No event at all, or none that opens it.
    #[error("there is no job {0} in this book")]
    Unknown(JobId),
    /// An event of the book whose body cannot be read.
    #[error(
        "event {id} ({kind}) of the book cannot be read: {problem}. The job it belongs to cannot be shown; nothing in the \
         book was changed"
    )]
    Body {
        /// Which event.
        id: EventId,
        /// Its kind.
        kind: String,
        /// What is wrong with it.
        problem: String,
    },
    /// An event of the book that is out of its place.
    #[error("event {id} stands at place {found} of its job and belongs at {expected}: events are missing")]
    OutOfPlace {
        /// Which event.
        id: EventId,
        /// Where it belongs.
        expected: u32,
        /// Where it stands.
        found: u32,
    },
}

impl JobJournal {
    /// A new job and its first envelope.
    pub fn begin(
        job: JobId,
        event: &JobEvent,
        id: EventId,
        at: Stamp,
        by: &By,
    ) -> Result<(Self, Envelope), JobError> {
        let event = event.cleaned();
        may_open(&event)?;
        let opened = Job::open(at, &event).ok_or(Refusal::NotOpened)?;
        let envelope = seal(job, 0, &event, id, at, by)?;
        Ok((Self { id: job, job: opened, next: 1 }, envelope))
    }

    /// Takes an event in and gives the envelope to write, and what has to be said of it. Nothing changes if it is refused.
    pub fn record(
        &mut self,
        event: &JobEvent,
        id: EventId,
        at: Stamp,
        by: &By,
    ) -> Result<(Envelope, Vec<Warning>), JobError> {
        let event = event.cleaned();
        let next = self.next.checked_add(1).ok_or(JobError::TooMany)?;
        let warnings = self.job.may(&event, at)?;
        let envelope = seal(self.id, self.next, &event, id, at, by)?;
        self.job.apply(at, &event);
        self.next = next;
        Ok((envelope, warnings))
    }

    /// The job those envelopes made, in the order of their sequence. Events of other wings about the same job count as
    /// places but do not touch it.
    pub fn fold(job: JobId, envelopes: &[Envelope]) -> Result<Self, JobError> {
        let mut folded: Option<Job> = None;
        let mut next = 0_u32;
        for envelope in envelopes {
            if envelope.sequence != next {
                return Err(JobError::OutOfPlace {
                    id: envelope.id,
                    expected: next,
                    found: envelope.sequence,
                });
            }
            next = next.checked_add(1).ok_or(JobError::TooMany)?;
            let Some(event) = event_of(envelope)? else { continue };
            match &mut folded {
                Some(job) => job.apply(envelope.at, &event),
                None => folded = Job::open(envelope.at, &event),
            }
        }
        let folded = folded.ok_or(JobError::Unknown(job))?;
        Ok(Self { id: job, job: folded, next })
    }

    /// The job's identity.
    pub const fn id(&self) -> JobId {
        self.id
    }

    /// The job as it stands.
    pub const fn job(&self) -> &Job {
        &self.job
    }

    /// The place the next event will have.
    pub const fn next(&self) -> u32 {
        self.next
    }
}

/// What is wrong with the jobs of a book, a sentence each: those whose events cannot be read. A book of an older layout has
/// none that are known.
pub fn faults(book: &(impl Store + Ledger)) -> Result<Vec<String>, StoreError> {
    let jobs = match book.jobs(JobsOf::All) {
        Ok(jobs) => jobs,
        Err(StoreError::Older { .. }) => Vec::new(),
        Err(error) => return Err(error),
    };
    let mut faults = Vec::new();
    for row in jobs {
        if let Err(error) = JobJournal::fold(row.job, &book.events(row.job.subject())?) {
            faults.push(format!("job {}: {error}", row.name));
        }
    }
    Ok(faults)
}

/// Who chose how many coats each layer gets, and when: the last time it was said.
///
/// # Errors
/// An event cannot be read.
pub fn chosen_by(envelopes: &[Envelope]) -> Result<BTreeMap<Role, (Stamp, String)>, JobError> {
    let mut chosen = BTreeMap::new();
    for envelope in envelopes {
        if let Some(JobEvent::CardChosen(count)) = event_of(envelope)? {
            chosen.insert(count.layer, (envelope.at, envelope.operator.clone()));
        }
    }
    Ok(chosen)
}

/// The job's event in an envelope; none if it belongs to another wing.
fn event_of(envelope: &Envelope) -> Result<Option<JobEvent>, JobError> {
    if !envelope.kind.starts_with(JOB_KINDS) {
        return Ok(None);
    }
    let unreadable = |problem| JobError::Body { id: envelope.id, kind: envelope.kind.clone(), problem };
    let event: JobEvent = serde_json::from_str(&envelope.body).map_err(|e| unreadable(e.to_string()))?;
    if event.kind() != envelope.kind {
        return Err(unreadable(format!("it is filed as {} and says it is {}", envelope.kind, event.kind())));
    }
    Ok(Some(event))
}

fn seal(
    job: JobId,
    sequence: u32,
    event: &JobEvent,
    id: EventId,
    at: Stamp,
    by: &By,
) -> Result<Envelope, JobError> {
    Ok(Envelope {
        id,
        at,
        bench: clean(&by.bench),
        operator: clean(&by.operator),
        subject: job.subject(),
        sequence,
        kind: event.kind().to_owned(),
        body: serde_json::to_string(event).map_err(|e| JobError::Unwritable(e.to_string()))?,
        postings: Vec::new(),
    })
}
