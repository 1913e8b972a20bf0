//! The repair: how much to mix for it, in what it is reduced and activated, its cards, its clock, and what the law asks.
//! Pure; the time comes in. Forecasts and colour differences are floats; no weight or volume that is recorded ever is.

#![cfg_attr(not(test), deny(clippy::arithmetic_side_effects))]

mod composite;
mod own_record;
mod per_litre;
mod quantity;
mod thinning;
mod viscosity;
mod voc;
#[cfg(test)]
mod voc_tests;

pub use composite::{SOLVENT_POUNDS_PER_GALLON, average, composite, per_solids};
pub use own_record::{Advice, Odds, OddsError, Past, advice};
pub use per_litre::{PerLitre, pounds};
pub use quantity::{Film, Need, QuantityError, Surface, colour_of, needed, spreading_rate, wet_film};
pub use thinning::{Thinning, thinning};
pub use viscosity::{FlowCup, FlowCupError, Seconds};
pub use voc::{Basis, Component, Content, NoFigure, VocError, VocSheet};
