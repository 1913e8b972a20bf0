//! The repair: what is painted and with what, what has happened to it so far and what comes next; how much to mix for it, in
//! what it is reduced and activated, its cards, its clock, and what the law asks. Pure; the time comes in. Forecasts and
//! colour differences are floats; no weight or volume that is recorded ever is.
//!
//! A [`Job`] is the fold of its [`JobEvent`]s; a [`JobJournal`] is a job and its place in the book.

#![cfg_attr(not(test), deny(clippy::arithmetic_side_effects))]

mod clock;
mod event;
#[expect(clippy::module_inception, reason = "one noun a file, and this one is the job itself")]
mod job;
mod journal;
mod own_record;
mod quantity;
mod refusal;
pub mod sheet;
mod step;
#[cfg(test)]
mod tests;
mod viscosity;

pub use clock::{Clock, Countdown, MOST_MINUTES};
pub use event::{
    Activation, Amendment, CardChosen, CardCompared, CardMade, Coat, JobEvent, Joined, LayerPlan, Opening,
    Panel, Timer,
};
pub use job::{Card, Job, Overruled, Run, Standing};
pub use journal::{JobError, JobJournal, faults};
pub use own_record::{Advice, Odds, OddsError, Past, advice};
pub use quantity::{Film, Need, QuantityError, Surface, colour_of, needed, spreading_rate, wet_film};
pub use refusal::{Refusal, Warning};
pub use step::Step;
pub use viscosity::{FlowCup, FlowCupError, Seconds};
