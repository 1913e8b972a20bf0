//! What the label of a mixed cup says: what it is, until when it can be sprayed, what is to be minded, and a code that brings
//! the mix up again.
//!
//! Hazards are those that the shop entered from the sheet of the product ready to spray; none is worked out here. What is not
//! known is said as not on file, with the data sheet to be looked at: an empty place would look harmless. What a mixed cup is
//! to show follows 29 CFR 1910.1200(f)(6) (read) and, as far as they ask for more, the Canadian work-site labels (read in an
//! older text); which label a shop owes its local code says.

mod fit;
mod latin;
mod layout;
mod payload;
mod pdf;
mod qr;
mod svg;
#[cfg(test)]
mod tests;
mod text;

pub use payload::{Payload, PayloadError};
pub use pdf::Pdf;
pub use qr::Modules;
pub(in crate::job) use text::{flammable_words, isocyanates_words, signal_words};

use super::{Clues, KnownBy, made_with};
use crate::book::{Envelope, Journal, JournalError, MIX_KINDS, MixId};
use crate::catalogue::{Catalogue, ColourCode, Product, Role, Signal, TonerCode, TonerKind};
use crate::mix::{Event, Phase, Recipe, activated_at};
use crate::units::{Stamp, clean};

/// A time as the shop's clock shows it.
pub type When<'a> = &'a dyn Fn(Stamp) -> String;

/// How the mix stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum State {
    /// It is weighed still, or waits to be gone on with.
    Unfinished,
    /// It is done, and in the cup.
    Mixed(Stamp),
    /// It was given up.
    GivenUp(Stamp),
    /// The cup was emptied.
    Emptied {
        /// When.
        at: Stamp,
        /// Whether some of it was kept.
        kept: bool,
        /// Until when that may be used, as `2026-12-31`, if it was said.
        use_by: Option<String>,
    },
}

/// Until when it can be sprayed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UseBy {
    /// Until then.
    Until(Stamp),
    /// So many minutes from the hardener on, which is not in yet.
    FromHardener(u32),
    /// A leftover with hardener in it went in: its own label says since when.
    Leftover,
    /// Nobody has said how long it can be.
    NotOnFile,
}

/// What the shop entered of something that a mix has or has not.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Entered {
    /// It has.
    Yes,
    /// It has not.
    No,
    /// Nobody has said.
    NotOnFile,
}

impl Entered {
    pub(in crate::job) fn of(product: Option<bool>, any_toner: bool) -> Self {
        match product {
            _ if any_toner => Self::Yes,
            Some(true) => Self::Yes,
            Some(false) => Self::No,
            None => Self::NotOnFile,
        }
    }
}

/// The product that a mix is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LabelProduct {
    /// Its code.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Whether the mix was made ready to spray with it; else it is what the shop's files say of such a layer, and what else
    /// is in the cup nobody has weighed.
    pub is_ready: bool,
}

/// What the label of a mixed cup says. Texts are clean and of one line each.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// Its identity, which the code on the label has.
    pub mix: MixId,
    /// Its number in the book.
    pub number: u32,
    /// The colour's code.
    pub colour: ColourCode,
    /// The colour's name.
    pub name: String,
    /// The colour's variant.
    pub variant: String,
    /// Which layer of it.
    pub layer: Role,
    /// What it is made ready to spray with, as far as is known.
    pub product: Option<LabelProduct>,
    /// When it was begun.
    pub begun: Stamp,
    /// How it stands.
    pub state: State,
    /// Who mixed it.
    pub painter: String,
    /// Until when it can be sprayed.
    pub use_by: UseBy,
    /// The signal word, if one was entered.
    pub signal: Option<Signal>,
    /// Hazard statements, as entered.
    pub statements: Vec<String>,
    /// What to do and wear, as entered.
    pub cautions: Vec<String>,
    /// Codes of pictograms, as entered: `GHS02`.
    pub pictograms: Vec<String>,
    /// Whether there are isocyanates in it.
    pub isocyanates: Entered,
    /// Whether it is flammable.
    pub flammable: Entered,
    /// Where its safety data sheet is kept, if that was entered.
    pub sds: Option<String>,
}

/// The product of a mix: the one it was made ready to spray with, or the one that its layer has in the shop's files, or whose
/// tin it comes out of; none where none of these is known. A colour's file that is not there is no reason to take another
/// product's hazards.
pub fn product_of<'a>(catalogue: &'a Catalogue, recipe: &Recipe) -> Option<&'a Product> {
    let toners: Vec<TonerCode> = recipe.lines().iter().map(|line| line.toner.clone()).collect();
    let made = made_with(
        catalogue,
        &Clues {
            colour: Some((recipe.colour.as_str(), Some(&recipe.variant))),
            role: Some(recipe.role),
            readied: recipe.readied.as_ref().map(|readied| readied.product.as_str()),
            by_job: None,
            toners: &toners,
        },
    )?;
    made.product.filter(|_| made.by != KnownBy::First)
}

impl Label {
    /// The label of the mix with that number, from its events in their order and what the shop's files say.
    ///
    /// # Errors
    /// The events cannot be read, or do not make a mix.
    pub fn of(
        catalogue: &Catalogue,
        number: u32,
        mix: MixId,
        events: &[Envelope],
    ) -> Result<Self, JournalError> {
        let journal = Journal::fold(mix, events)?;
        let session = journal.session();
        let recipe = session.recipe();
        let of_mix = || events.iter().filter(|event| event.kind.starts_with(MIX_KINDS));
        // The journal was read, so that each of them can be.
        let read: Vec<(Stamp, Event)> = of_mix()
            .filter_map(|one| Some((one.at, serde_json::from_str::<Event>(&one.body).ok()?)))
            .collect();
        let product = product_of(catalogue, recipe);
        let toners: Vec<_> = session
            .contents()
            .into_iter()
            .filter(|(_, mass)| mass.is_positive())
            .map(|(toner, _)| toner)
            .collect();
        let any = |of: fn(&crate::catalogue::Toner) -> bool| {
            toners.iter().filter_map(|code| catalogue.toner(code.as_str())).any(of)
        };
        let tidy = |text: &str| clean(text).trim().to_owned();
        let all = |texts: &[String]| -> Vec<String> {
            texts.iter().map(|text| tidy(text)).filter(|text| !text.is_empty()).collect()
        };
        let last = |of: fn(&Event) -> bool| read.iter().rfind(|(_, event)| of(event)).map(|(at, _)| *at);
        let begun = read.first().map_or(Stamp(0), |(at, _)| *at);
        let finished = of_mix().find(|one| one.kind.ends_with("/finished"));
        let painter = finished.or_else(|| of_mix().next_back()).map(|one| tidy(&one.operator));
        let state = match (session.emptied(), session.phase()) {
            (Some(emptied), _) => State::Emptied {
                at: last(|event| matches!(event, Event::Emptied(_))).unwrap_or(begun),
                kept: emptied.kept.is_positive(),
                use_by: emptied.use_by.as_deref().map(tidy),
            },
            (None, Phase::Finished) => {
                State::Mixed(last(|event| matches!(event, Event::Finished)).unwrap_or(begun))
            }
            (None, Phase::Abandoned) => {
                State::GivenUp(last(|event| matches!(event, Event::Abandoned { .. })).unwrap_or(begun))
            }
            _ => State::Unfinished,
        };
        let hazards = product.map(|product| &product.hazards);
        Ok(Self {
            mix,
            number,
            colour: ColourCode::new(tidy(recipe.colour.as_str())),
            name: tidy(&recipe.name),
            variant: tidy(&recipe.variant),
            layer: recipe.role,
            product: match (&recipe.readied, product) {
                (Some(readied), _) => Some(LabelProduct {
                    code: tidy(readied.product.as_str()),
                    name: tidy(&readied.name),
                    is_ready: true,
                }),
                (None, Some(product)) => Some(LabelProduct {
                    code: tidy(product.code.as_str()),
                    name: tidy(&product.name),
                    is_ready: false,
                }),
                (None, None) => None,
            },
            begun,
            state,
            painter: painter.unwrap_or_default(),
            use_by: use_by(catalogue, recipe, &read),
            signal: hazards.and_then(|hazards| hazards.signal),
            statements: hazards.map(|hazards| all(&hazards.statements)).unwrap_or_default(),
            cautions: hazards.map(|hazards| all(&hazards.cautions)).unwrap_or_default(),
            pictograms: hazards.map(|hazards| all(&hazards.pictograms)).unwrap_or_default(),
            isocyanates: Entered::of(
                product.and_then(|product| product.isocyanates),
                any(crate::catalogue::Toner::counts_as_isocyanate),
            ),
            flammable: Entered::of(
                product.and_then(|product| product.flammable),
                any(|toner| toner.flammable == Some(true)),
            ),
            sds: product.and_then(|product| product.sds.as_deref()).map(tidy).filter(|sds| !sds.is_empty()),
        })
    }

    /// What the code on the label says.
    pub const fn payload(&self) -> Payload {
        Payload::Mix(self.mix)
    }
}

/// Until when a mix can be sprayed. Only a mix that was made ready here has a pot life: what went into another one, and when,
/// nobody has weighed.
fn use_by(catalogue: &Catalogue, recipe: &Recipe, events: &[(Stamp, Event)]) -> UseBy {
    let is_hardener = |code: &crate::catalogue::TonerCode| {
        let kind = catalogue.toner(code.as_str()).map(|toner| toner.kind);
        recipe.is_hardener(code) || kind == Some(TonerKind::Hardener)
    };
    let leftover = events.iter().any(|(_, event)| match event {
        Event::LeftoverAdded(added) => added.parts.iter().any(|(toner, _)| is_hardener(toner)),
        _ => false,
    });
    let began = activated_at(events.iter().map(|(at, event)| (*at, event)), is_hardener);
    let minutes = recipe.readied.as_ref().and_then(|readied| readied.pot_life);
    match (leftover, minutes, began) {
        // It was activated before it went in here, and when is not in this mix.
        (true, ..) => UseBy::Leftover,
        (_, None, _) => UseBy::NotOnFile,
        (_, Some(minutes), None) => UseBy::FromHardener(minutes),
        (_, Some(minutes), Some(began)) => {
            UseBy::Until(Stamp(began.0.saturating_add(i64::from(minutes).saturating_mul(60_000_000))))
        }
    }
}
