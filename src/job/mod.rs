//! The repair: how much to mix for it, in what it is reduced and activated, its cards, its clock, and what the law asks.
//! Pure; the time comes in. Forecasts and colour differences are floats; no weight or volume that is recorded ever is.

#![cfg_attr(not(test), deny(clippy::arithmetic_side_effects))]

mod own_record;
mod quantity;
mod to_mix;
mod viscosity;

pub use own_record::{Advice, Odds, OddsError, Past, advice};
pub use quantity::{Film, Need, QuantityError, Surface, colour_of, needed, spreading_rate, wet_film};
pub use to_mix::{CardArea, SheetLacks, ToMix, colour_volume, solids_ready};
pub use viscosity::{FlowCup, FlowCupError, Seconds};
