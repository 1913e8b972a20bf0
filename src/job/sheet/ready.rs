//! What the layers are made ready to spray with: by the product's sheet, and as it was weighed.

use super::words::{layer_of, said, said_mass, titled};
use super::{Block, Look, Sheet};
use crate::catalogue::{Product, Ratio, RatioBy, Role, TonerCode, Word as _};
use crate::job::label::{Entered, flammable_words, isocyanates_words, signal_words};
use crate::job::{Amount, Countdown, FlowCup, thin_words};
use crate::mix::{LinePart, Recipe};
use crate::units::{Decimal, Grams, Millilitres, Notation};

/// Colour, hardener and thinner of a mix as they were weighed, in that order. A volume is none where a toner is in it of which
/// the recipe has no density.
pub type Weighed = [Amount; 3];

/// What a layer is made ready with, and what was weighed of that.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadyRow {
    /// Which layer.
    pub layer: Role,
    /// The mix; none where nothing was mixed yet.
    pub mix: Option<u32>,
    /// The parts by the product's sheet as it is now; none where it is sprayed as it is, or the product is not known.
    pub ratio: Option<Ratio>,
    /// What was weighed; none where nothing was mixed yet.
    pub weighed: Option<Weighed>,
    /// From the first hardener on.
    pub pot_life: Option<Countdown>,
}

/// What the product's papers say.
#[derive(Clone, Debug, PartialEq)]
pub struct ProductRow {
    /// Of which layer.
    pub layer: Role,
    /// The product.
    pub product: Product,
    /// The cup on the bench, where the shop names it.
    pub bench_cup: Option<FlowCup>,
}

/// A painter of the job, and what is on file of the training.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PainterRow {
    /// The name.
    pub name: String,
    /// In words.
    pub training: String,
}

/// Colour, hardener and thinner of what is in a mix, by what its recipe has them for; a toner that is not in the recipe counts
/// as colour.
pub fn weighed(recipe: &Recipe, in_it: &[(TonerCode, Grams)]) -> Weighed {
    let nothing = Amount { mass: Grams::ZERO, volume: Some(Millilitres::ZERO) };
    let mut parts = [nothing; 3];
    for (toner, mass) in in_it {
        let line = recipe.lines().iter().find(|line| line.toner == *toner);
        let part = line.map_or(LinePart::Colour, |line| line.part);
        let volume = line.map(|line| line.density.volume_of(*mass));
        let [colour, hardener, thinner] = &mut parts;
        let part = match part {
            LinePart::Colour => colour,
            LinePart::Hardener => hardener,
            LinePart::Thinner => thinner,
        };
        *part = part.and(Amount { mass: *mass, volume });
    }
    parts
}

/// The parts as the sheet gives them: `10:1:3 by volume`; a part that does not go in is a dash.
fn ratio_words(ratio: &Ratio, notation: Notation) -> String {
    let part = |part: Option<Decimal>| said(part.map(|part| notation.number(part.normalize())).as_ref());
    let added = [&ratio.hardener, &ratio.thinner];
    let [hardener, thinner] = added.map(|added| part(added.as_ref().map(|added| added.parts)));
    format!("{}:{hardener}:{thinner} by {}", part(Some(ratio.colour)), ratio.by.word())
}

/// The same parts as they were weighed, with as much colour as the sheet has: `10:1.02:2.98`.
fn came_to(ratio: &Ratio, weighed: &Weighed, notation: Notation) -> Option<String> {
    let measure = |amount: &Amount| match ratio.by {
        RatioBy::Volume => amount.volume.map(Millilitres::decimal),
        RatioBy::Mass => Some(amount.mass.decimal()),
    };
    let [colour, hardener, thinner] = weighed;
    let whole = measure(colour).filter(|colour| *colour > Decimal::ZERO)?;
    let part = |amount: &Amount| {
        let part = measure(amount)?.checked_mul(ratio.colour)?.checked_div(whole)?;
        Some(notation.number(part.round_dp(2).normalize()))
    };
    let colour = notation.number(ratio.colour.normalize());
    Some(format!("{colour}:{}:{}", part(hardener)?, part(thinner)?))
}

impl Sheet {
    pub(super) fn ready_block(&self, look: &Look<'_>) -> Block {
        let row = |row: &ReadyRow| {
            let ratio = row.ratio.as_ref().map(|ratio| ratio_words(ratio, look.notation));
            let both = row.ratio.as_ref().zip(row.weighed.as_ref());
            let came_to = both.and_then(|(ratio, weighed)| came_to(ratio, weighed, look.notation));
            let life = row
                .pot_life
                .map(|life| format!("{} to {}", (look.when)(life.from), (look.when)(life.until())));
            let mut cells = vec![
                layer_of(row.layer),
                said(row.mix.map(|mix| mix.to_string()).as_ref()),
                ratio.unwrap_or_else(|| "as it is".to_owned()),
                said(came_to.as_ref()),
                said(life.as_ref()),
            ];
            match &row.weighed {
                Some(parts) => cells.extend(parts.iter().map(|part| said_mass(part.mass, look))),
                None => cells.extend([(); 3].map(|()| said(None))),
            }
            cells
        };
        let unit = look.notation.mass_unit();
        let masses = ["colour", "hardener", "thinner"].map(|part| format!("{part}, {unit}"));
        Block {
            id: "ready",
            title: "Made ready to spray",
            columns: titled(
                &["layer", "mix", "parts by the sheet", "weighed as", "pot life"],
                masses.to_vec(),
            ),
            rows: self.ready.iter().map(row).collect(),
            notes: vec!["Parts are colour : hardener : thinner.".to_owned()],
        }
    }

    pub(super) fn products_block(&self, look: &Look<'_>) -> Block {
        let row = |row: &ProductRow| {
            let product = &row.product;
            let thin = product.viscosity.as_ref().map(|thin| thin_words(thin, row.bench_cup, look.notation));
            let hazards = [
                signal_words(product.hazards.signal),
                isocyanates_words(Entered::of(product.isocyanates, false)),
                flammable_words(Entered::of(product.flammable, false)),
            ];
            let mut hazards = hazards.map(str::to_owned).to_vec();
            hazards.extend(product.hazards.pictograms.iter().cloned());
            let papers = [
                product.sheet.as_ref().map(|sheet| format!("data sheet: {sheet}")),
                product.sds.as_ref().map(|sheet| format!("safety data sheet: {sheet}")),
                product.coverage.as_ref().map(|words| format!("coverage: {words}")),
            ];
            let papers: Vec<String> = papers.into_iter().flatten().collect();
            vec![
                layer_of(row.layer),
                format!("{} {}", product.code, product.name),
                said(thin.as_ref()),
                hazards.join("; "),
                if papers.is_empty() { said(None) } else { papers.join("; ") },
            ]
        };
        Block {
            id: "products",
            title: "Products",
            columns: titled(&["layer", "product", "viscosity", "as on the label", "papers"], Vec::new()),
            rows: self.products.iter().map(row).collect(),
            notes: Vec::new(),
        }
    }

    pub(super) fn painters_block(&self) -> Block {
        Block {
            id: "painters",
            title: "Painters",
            columns: titled(&["painter", "training"], Vec::new()),
            rows: self.painters.iter().map(|row| vec![row.name.clone(), row.training.clone()]).collect(),
            notes: vec![
                "As painters.toml has it; that a training holds five years is from memory.".to_owned(),
            ],
        }
    }
}
