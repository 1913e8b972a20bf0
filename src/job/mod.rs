//! The repair: what is painted and with what, what has happened to it so far and what comes next; how much to mix for it, in
//! what it is reduced and activated, its cards, its clock, and what the law asks. Pure; the time comes in. Forecasts and
//! colour differences are floats; no weight or volume that is recorded ever is.
//!
//! A [`Job`] is the fold of its [`JobEvent`]s; a [`JobJournal`] is a job and its place in the book.

#![cfg_attr(not(test), deny(clippy::arithmetic_side_effects))]

mod areas;
pub mod card;
mod caution;
mod clock;
mod composite;
mod difference;
mod emission;
mod event;
mod filled;
#[expect(clippy::module_inception, reason = "one noun a file, and this one is the job itself")]
mod job;
mod joining;
mod journal;
mod judged;
pub mod label;
mod limit;
mod made_with;
mod mixed;
mod own_record;
mod past;
mod per_litre;
mod pot_life;
mod quantity;
mod record;
mod refusal;
pub mod sheet;
mod shop_file;
mod stage;
mod standing;
mod step;
mod still_needed;
#[cfg(test)]
mod tests;
mod thinning;
mod to_mix;
mod viscosity;
mod voc;
#[cfg(test)]
mod voc_tests;
mod wanted;

pub use areas::{area_words, pieces, read_areas, typed_areas, with_areas};
pub use caution::{Caution, CautionFlags, Doing, cautions};
pub use clock::{Clock, Countdown, MOST_MINUTES};
pub use composite::{SOLVENT_POUNDS_PER_GALLON, average, composite, per_solids};
pub use difference::Lab;
pub use emission::{Emission, Released, emission};
pub use event::{
    Activation, Amendment, CardChosen, CardCompared, CardMade, CardWithdrawn, Coat, JobEvent, Joined, Lacks,
    LayerPlan, Opening, Panel, Timer,
};
pub use filled::{filled, panels};
pub use job::{Card, Job, Overruled, Run};
pub use joining::Joining;
pub use journal::{JobError, JobJournal, chosen_by, faults};
pub use judged::{AID, CoatJudged, Judged, Planned, Verdict, judge, judge_planned};
pub use limit::{Averages, Known, LIMITS, LIMITS_FILE, Limit, LimitTable, Limits, read_limits};
pub use made_with::{Clues, KnownBy, MadeWith, made_with};
pub use mixed::{Ingredient, Lack, Lacking, Mixed, in_the_end, mixed};
pub use own_record::{Advice, Odds, OddsError, Past, advice};
pub use past::{Amount, MOST_PAST, past, wanted_by, went};
pub use per_litre::{PerLitre, pounds};
pub use pot_life::pot_life;
pub use quantity::{Film, Need, QuantityError, Surface, colour_of, needed, spreading_rate, wet_film};
pub use record::{DUE_DAYS, PAINTERS_FILE, Record, RecordStanding, Records, read_records};
pub use refusal::{MOST_COATS, Refusal, Warning};
pub use stage::{HIGHEST, Stage, StageMix, StageMixed, of_averages, of_stages, sum_words};
pub use standing::{Counted, Reason, Short, Standing};
pub use step::{MixStands, Step};
pub use still_needed::{StillNeeded, in_toners, open_colours, still_needed};
pub use thinning::{Thinning, thinning};
pub use to_mix::{CardArea, SheetLacks, ToMix, colour_volume, solids_ready};
pub use viscosity::{FlowCup, FlowCupError, Seconds, thin_words};
pub use voc::{Basis, Component, Content, NoFigure, VocError, VocSheet};
pub use wanted::{CardsWanted, Usual, WantLack, Wanted, product_of, readied, wanted, wanted_for_cards};
