//! The repair: how much to mix for it, in what it is reduced and activated, its cards, its clock, and what the law asks.
//! Pure; the time comes in. Forecasts and colour differences are floats; no weight or volume that is recorded ever is.

#![cfg_attr(not(test), deny(clippy::arithmetic_side_effects))]

mod caution;
mod composite;
mod emission;
mod judged;
mod limit;
mod mixed;
mod own_record;
mod per_litre;
mod quantity;
mod record;
mod sheet;
mod thinning;
mod viscosity;
mod voc;
#[cfg(test)]
mod voc_tests;

pub use caution::{Caution, CautionFlags, Doing, cautions};
pub use composite::{SOLVENT_POUNDS_PER_GALLON, average, composite, per_solids};
pub use emission::{Emission, Released, emission};
pub use judged::{AID, Coat, Judged, Stage, Verdict, judge};
pub use limit::{Averages, Known, LIMITS, LIMITS_FILE, Limit, LimitTable, Limits, read_limits};
pub use mixed::{Ingredient, Lack, Lacking, Mixed, in_the_end, mixed};
pub use own_record::{Advice, Odds, OddsError, Past, advice};
pub use per_litre::{PerLitre, pounds};
pub use quantity::{Film, Need, QuantityError, Surface, colour_of, needed, spreading_rate, wet_film};
pub use record::{DUE_DAYS, PAINTERS_FILE, Record, Records, Standing, read_records};
pub use thinning::{Thinning, thinning};
pub use viscosity::{FlowCup, FlowCupError, Seconds};
pub use voc::{Basis, Component, Content, NoFigure, VocError, VocSheet};
