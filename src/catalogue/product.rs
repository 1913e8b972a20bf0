//! A product's data sheet as the shop wrote it down: what a layer's colour is mixed with, how it is sprayed, and what is
//! to be minded.
//!
//! What stands here was typed from the maker's sheet, which decides wherever the two differ.

use super::{Role, TonerCode, Volatiles, word::words};
use crate::units::{Decimal, Share};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;

/// A product's code, as the shop's files spell it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct ProductCode(String);

impl ProductCode {
    /// That code. Text from outside is to be cleaned before.
    pub fn new(code: impl Into<String>) -> Self {
        Self(code.into())
    }

    /// The code as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for ProductCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

words! {
    /// What the parts of a ratio count.
    RatioBy is "a way to count parts" {
        /// Volumes, as on a measuring stick.
        Volume = "volume",
        /// Masses, as on a scale.
        Mass = "mass",
    }
}

words! {
    /// The signal word of a label.
    Signal is "a signal word" {
        /// The more severe one.
        Danger = "danger",
        /// The less severe one.
        Warning = "warning",
    }
}

/// How much hardener and thinner go with how much colour.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ratio {
    /// What the parts count.
    pub by: RatioBy,
    /// Parts of colour, more than nothing.
    pub colour: Decimal,
    /// Parts of hardener, and what may be taken for it; none where none goes in.
    pub hardener: Option<Addition>,
    /// Parts of thinner, and what may be taken for it; none where none goes in.
    pub thinner: Option<Addition>,
}

/// A hardener or a thinner in a ratio.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Addition {
    /// How many parts, more than nothing.
    pub parts: Decimal,
    /// The toners that may be taken, the usual one first; at least one, each of the kind that is meant.
    pub toners: Vec<TonerCode>,
}

/// How long in the oven, and how hot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bake {
    /// Minutes at that temperature of the panel.
    pub minutes: u32,
    /// Degrees Celsius.
    pub celsius: u32,
}

/// How thin it is to be for the gun.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Viscosity {
    /// Seconds to run out of the cup.
    pub seconds: Decimal,
    /// The cup, by standard and size: `DIN 4 mm`. A size alone is refused, since cups of one size differ.
    pub cup: String,
}

/// The hazards of the product ready to spray, as its safety data sheet has them; nothing is worked out here.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Hazards {
    /// The signal word, if the sheet has one.
    pub signal: Option<Signal>,
    /// Hazard statements, each as on the sheet.
    pub statements: Vec<String>,
    /// What to do and wear, each as on the sheet: `air-fed breathing apparatus`.
    pub cautions: Vec<String>,
    /// The codes of its pictograms: `GHS02`.
    pub pictograms: Vec<String>,
}

/// A product's data sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Product {
    /// Its code; no other product's differs from it by capitals only.
    pub code: ProductCode,
    /// What people call it.
    pub name: String,
    /// The layers it is for, at least one.
    pub roles: Vec<Role>,
    /// What is in its tin, where it comes ready tinted: a toner of the kind [`TonerKind::Supplied`](super::TonerKind::Supplied).
    /// A layer of which a colour has no formula is mixed from it: [`Catalogue::layer_of`](super::Catalogue::layer_of).
    pub tin: Option<TonerCode>,
    /// What it is mixed with; none where it is sprayed as it is.
    pub ratio: Option<Ratio>,
    /// What the colour part gives off as it is, before hardener and thinner; hardener and thinner say it of themselves.
    pub colour: Option<Volatiles>,
    /// Solids by volume of the colour part as it is.
    pub colour_solids: Option<Share>,
    /// Solids by volume, ready to spray.
    pub solids: Option<Share>,
    /// Dry film of one coat, micrometres, more than nothing.
    pub film_um: Option<Decimal>,
    /// How many coats the sheet wants.
    pub coats: Option<u32>,
    /// Minutes between coats.
    pub flash_off: Option<u32>,
    /// Minutes before the next layer.
    pub before_next: Option<u32>,
    /// The oven.
    pub bake: Option<Bake>,
    /// Minutes that it can be sprayed once hardener is in.
    pub pot_life: Option<u32>,
    /// How thin it is to be for the gun.
    pub viscosity: Option<Viscosity>,
    /// The share of the solids that stays on what is sprayed, if the shop knows better than its usual one.
    pub efficiency: Option<Share>,
    /// What the sheet says of coverage, in its own words.
    pub coverage: Option<String>,
    /// The hazards, as entered.
    pub hazards: Hazards,
    /// Whether there are isocyanates in it ready to spray; none where the shop has not said.
    pub isocyanates: Option<bool>,
    /// Whether it is flammable ready to spray; none where the shop has not said.
    pub flammable: Option<bool>,
    /// Whether it holds compounds of chromium, lead, manganese, nickel or cadmium, the target HAP of 40 CFR part 63
    /// subpart HHHHHH; none where the shop has not said.
    pub target_hap: Option<bool>,
    /// Where its safety data sheet is kept.
    pub sds: Option<String>,
    /// Where its technical data sheet is kept, and of which date.
    pub sheet: Option<String>,
    /// Its category for the limits of VOC, by the table's name: `us` to `primer-sealer`.
    pub categories: BTreeMap<String, String>,
}

impl Product {
    /// Whether it is for that layer.
    pub fn is_for(&self, role: Role) -> bool {
        self.roles.contains(&role)
    }

    /// What its sheet says of it at the gun: how thin, `viscosity 18 s DIN 4 mm`, how it covers, and where the sheet is kept;
    /// none where the shop has entered nothing of these. `words` says a viscosity as the shop does.
    pub fn at_the_gun(&self, words: impl Fn(&Viscosity) -> String) -> Option<String> {
        let thin = self.viscosity.as_ref().map(|thin| format!("viscosity {}", words(thin)));
        let coverage = self.coverage.as_ref().map(|words| format!("coverage: {words}"));
        let sheet = self.sheet.as_ref().map(|sheet| format!("data sheet: {sheet}"));
        let said: Vec<String> = [thin, coverage, sheet].into_iter().flatten().collect();
        (!said.is_empty()).then(|| said.join("; "))
    }

    /// Whether hardener goes in, so that a pot life begins.
    pub fn is_activated(&self) -> bool {
        self.ratio.as_ref().is_some_and(|ratio| ratio.hardener.is_some())
    }
}
