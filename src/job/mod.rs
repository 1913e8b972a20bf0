//! The repair: what is to be painted and with what, and what has happened to it so far. Pure; the time comes in with what
//! happened.
//!
//! A [`Job`] is the fold of its [`JobEvent`]s; a [`JobJournal`] is a job and its place in the book.

mod clock;
mod event;
#[expect(clippy::module_inception, reason = "one noun a file, and this one is the job itself")]
mod job;
mod journal;
mod refusal;
mod step;
#[cfg(test)]
mod tests;

pub use clock::{Clock, Countdown, MOST_MINUTES};
pub use event::{
    Activation, Amendment, CardChosen, CardCompared, CardMade, Coat, JobEvent, Joined, LayerPlan, Opening,
    Panel, Timer,
};
pub use job::{Card, Job, Overruled, Run, Standing};
pub use journal::{JobError, JobJournal};
pub use refusal::{Refusal, Warning};
pub use step::Step;
