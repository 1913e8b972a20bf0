//! The sheet as tables of words, in the sign, the units and the clock that are set.

use super::{AmountRow, CardRow, ChosenRow, CoatRow, MixRow, PartRow, Sheet, TimeRow, VocRow};
use crate::catalogue::Role;
use crate::job::card::{Compared, Comparison};
use crate::job::{Clock, Panel};
use crate::units::{Area, Decimal, Grams, Notation, Stamp};

/// How the sheet's numbers and times are written.
pub struct Look<'a> {
    /// The sign and the units.
    pub notation: Notation,
    /// A time as the shop's clock shows it.
    pub when: &'a dyn Fn(Stamp) -> String,
}

/// A table of words.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Block {
    /// A name for it within the page.
    pub id: &'static str,
    /// What it is of.
    pub title: &'static str,
    /// Its columns; those of numbers stand to the right.
    pub columns: Vec<(String, bool)>,
    /// Its rows.
    pub rows: Vec<Vec<String>>,
    /// What has to be said of it.
    pub notes: Vec<String>,
}

impl Block {
    /// Whether it is given the whole width of a page: what has many columns.
    pub(super) fn is_wide(&self) -> bool {
        self.columns.len() > 6 || matches!(self.id, "how-much" | "products")
    }
}

/// What every sheet ends with.
const DEFER: &str = "What the products' own data sheets say counts before anything here. An aid to the record, and no \
                     substitute for local codes and licensed practice.";

impl Sheet {
    /// The few facts at its head: what, and what it is.
    pub fn head(&self, look: &Look<'_>) -> Vec<(&'static str, String)> {
        let colour = match &self.colour_name {
            Some(name) => format!("{} {name}", self.colour),
            None => self.colour.clone(),
        };
        let panels: Vec<String> = self.panels.iter().map(|panel| panel_words(panel, look.notation)).collect();
        let mut head = vec![("vehicle", self.vehicle.clone().unwrap_or_else(|| "not said".to_owned()))];
        head.push(("colour", format!("{colour}, {}, {}", self.variant, self.finish)));
        head.push(("panels", if panels.is_empty() { "not said".to_owned() } else { panels.join("; ") }));
        head.push(("opened", (look.when)(self.opened)));
        if let Some(closed) = self.closed {
            head.push(("closed", (look.when)(closed)));
        }
        head
    }

    /// Its tables, of which those with nothing in them are left out.
    pub fn blocks(&self, look: &Look<'_>) -> Vec<Block> {
        let blocks = [
            self.amounts_block(look),
            self.how_much_block(look),
            self.used_block(look),
            self.ready_block(look),
            self.products_block(look),
            self.mixes_block(look),
            self.parts_block(look),
            self.cards_block(look),
            self.compared_block(look),
            self.coats_block(look),
            self.times_block(look),
            self.reasons_block(look),
            self.voc_block(look),
            self.cautions_block(),
            self.painters_block(),
            self.notes_block(look),
        ];
        blocks.into_iter().filter(|block| !block.rows.is_empty()).collect()
    }

    /// What is said below all of it.
    pub fn notes(&self, look: &Look<'_>) -> Vec<String> {
        vec![DEFER.to_owned(), format!("Made {}.", (look.when)(self.made))]
    }

    fn amounts_block(&self, look: &Look<'_>) -> Block {
        let row = |row: &AmountRow| {
            let coats = row.wanted.map_or_else(
                || row.sprayed_coats.to_string(),
                |wanted| format!("{} of {wanted}", row.sprayed_coats),
            );
            let coats = row.counted.as_ref().map_or_else(|| coats.clone(), |by| format!("{coats} ({by})"));
            vec![
                row.plan.role.name().to_owned(),
                said(row.plan.product.as_ref()),
                said(row.plan.shade.as_ref()),
                coats,
                said(row.plan.asked.map(|asked| look.notation.given_volume_number(asked)).as_ref()),
                said_mass(row.mixed, look),
                said_mass(row.sprayed, look),
                said_mass(row.kept, look),
                said_mass(row.thrown, look),
            ]
        };
        let (volume, mass) = (look.notation.volume_unit(), look.notation.mass_unit());
        let mut titles = vec![format!("asked for, {volume}")];
        titles.extend(["mixed", "sprayed", "kept", "thrown away"].map(|title| format!("{title}, {mass}")));
        Block {
            id: "amounts",
            title: "Layers",
            columns: titled(&["layer", "product", "shade", "coats"], titles),
            rows: self.amounts.iter().map(row).collect(),
            notes: vec![
                "What was asked for is ready to spray; mixes for spray-out cards are counted in.".to_owned(),
            ],
        }
    }

    fn mixes_block(&self, look: &Look<'_>) -> Block {
        let row = |mix: &MixRow| {
            let layer = mix.layer.map_or("not said", Role::name);
            vec![
                mix.number.to_string(),
                if mix.for_cards { format!("{layer}, for cards") } else { layer.to_owned() },
                (look.when)(mix.begun),
                mix.operator.clone(),
                mix.state.words().to_owned(),
                said_mass(mix.mixed, look),
                said_mass(mix.sprayed, look),
                said_mass(mix.kept, look),
                said_mass(mix.thrown, look),
            ]
        };
        Block {
            id: "mixes",
            title: "Mixes",
            columns: columns(
                &["mix", "layer", "begun", "by", "state"],
                &["mixed", "sprayed", "kept", "thrown away"],
                look,
            ),
            rows: self.mixes.iter().map(row).collect(),
            notes: Vec::new(),
        }
    }

    fn parts_block(&self, look: &Look<'_>) -> Block {
        let row = |part: &PartRow| {
            vec![
                part.mix.to_string(),
                part.toner.clone(),
                part.from.clone(),
                said(part.lot.as_ref()),
                said_mass(part.mass, look),
            ]
        };
        Block {
            id: "parts",
            title: "Tins and lots",
            columns: columns(&["mix", "toner", "from", "lot"], &["poured"], look),
            rows: self.parts.iter().map(row).collect(),
            notes: Vec::new(),
        }
    }

    fn cards_block(&self, look: &Look<'_>) -> Block {
        let row = |card: &CardRow| {
            let mut words = card.said.clone();
            if card.chosen {
                words.push("chosen".to_owned());
            }
            vec![
                card.card.to_string(),
                card.layer.name().to_owned(),
                card.coats.to_string(),
                (look.when)(card.at),
                words.join("; "),
            ]
        };
        let without = |(layer, why): &(Role, String)| {
            vec![
                "–".to_owned(),
                layer.name().to_owned(),
                "–".to_owned(),
                String::new(),
                format!("mixed without a chosen card: {why}"),
            ]
        };
        let chosen = |chosen: &ChosenRow| {
            let by = if chosen.by.is_empty() { "somebody" } else { &chosen.by };
            let counted = chosen.counted.as_ref().map_or_else(String::new, |words| format!(" ({words})"));
            vec![
                "chosen".to_owned(),
                chosen.layer.name().to_owned(),
                chosen.coats.to_string(),
                (look.when)(chosen.at),
                format!("by {by}{counted}"),
            ]
        };
        let rows = self.cards.iter().map(row).chain(self.unmatched.iter().map(without));
        Block {
            id: "cards",
            title: "Spray-out cards",
            columns: columns(&["card", "layer", "coats", "made", "what was seen"], &[], look),
            rows: rows.chain(self.chosen.iter().map(chosen)).collect(),
            notes: Vec::new(),
        }
    }

    fn compared_block(&self, look: &Look<'_>) -> Block {
        let row = |layer: Role, card: &Compared| {
            let worst = card.worst.map(|worst| worst.words(look.notation));
            let coats = [card.card.to_string(), layer.name().to_owned(), card.coats.to_string()];
            let seen = [card.seen_words(), card.measured_words(look.notation), worst];
            coats.into_iter().chain(seen.iter().map(|words| said(words.as_ref()))).collect::<Vec<_>>()
        };
        let rows = |(layer, comparison): &(Role, Comparison)| {
            let cards =
                comparison.cards.iter().filter(|card| card.worst.is_some() || !card.sights.is_empty());
            cards.map(|card| row(*layer, card)).collect::<Vec<_>>()
        };
        let notes = |(layer, comparison): &(Role, Comparison)| {
            let of = |words| {
                if self.compared.len() > 1 { format!("The {}: {words}", layer.name()) } else { words }
            };
            comparison.words(look.notation).into_iter().map(of).collect::<Vec<_>>()
        };
        let mut said: Vec<String> = self.compared.iter().flat_map(notes).collect();
        said.push(
            "ΔE00 is CIEDE2000, at each angle from the gloss. A card is as far off as at its worst angle; angles are never \
             averaged."
                .to_owned(),
        );
        Block {
            id: "compared",
            title: "Cards against the car",
            columns: columns(
                &["card", "layer", "coats", "how it looks against the car", "ΔE00 by angle", "worst"],
                &[],
                look,
            ),
            rows: self.compared.iter().flat_map(rows).collect(),
            notes: said,
        }
    }

    fn coats_block(&self, look: &Look<'_>) -> Block {
        let row =
            |coat: &CoatRow| vec![coat.layer.name().to_owned(), coat.coat.to_string(), (look.when)(coat.at)];
        Block {
            id: "coats",
            title: "Coats",
            columns: columns(&["layer", "coat", "sprayed"], &[], look),
            rows: self.coats.iter().map(row).collect(),
            notes: Vec::new(),
        }
    }

    fn times_block(&self, look: &Look<'_>) -> Block {
        let row = |time: &TimeRow| {
            let countdown = time.run.countdown;
            let ended = match &time.run.ended {
                Some(ended) => match &ended.reason {
                    Some(reason) => format!("not waited for ({}): {reason}", (look.when)(ended.at)),
                    None => format!("stopped ({})", (look.when)(ended.at)),
                },
                None => match countdown.at(self.made) {
                    left @ Clock::Left(_) => left.words(),
                    Clock::Over(_) => "over".to_owned(),
                },
            };
            vec![
                time.timer.name(),
                (look.when)(countdown.from),
                format!("{} min", countdown.minutes),
                (look.when)(countdown.until()),
                ended,
            ]
        };
        Block {
            id: "times",
            title: "Times",
            columns: columns(&["what", "from", "length", "until", "how it ended"], &[], look),
            rows: self.times.iter().map(row).collect(),
            notes: Vec::new(),
        }
    }

    fn reasons_block(&self, look: &Look<'_>) -> Block {
        Block {
            id: "reasons",
            title: "Otherwise than usual",
            columns: columns(&["when", "what", "why"], &[], look),
            rows: self
                .reasons
                .iter()
                .map(|one| vec![(look.when)(one.at), one.what.clone(), one.why.clone()])
                .collect(),
            notes: Vec::new(),
        }
    }

    fn voc_block(&self, look: &Look<'_>) -> Block {
        let number = |value: Option<Decimal>| said(value.map(|value| look.notation.number(value)).as_ref());
        let row = |voc: &VocRow| {
            vec![
                voc.what.clone(),
                voc.says.clone(),
                number(voc.regulatory),
                number(voc.actual),
                number(voc.limit),
            ]
        };
        let mut columns = columns(&["what", "judged"], &[], look);
        columns.extend(
            ["less water and exempt, g/L", "actual, g/L", "limit, g/L"].map(|title| (title.to_owned(), true)),
        );
        Block {
            id: "voc",
            title: "Solvent (VOC)",
            columns,
            rows: self.voc.iter().map(row).collect(),
            notes: self.voc_notes.clone(),
        }
    }

    /// What comes from one source is one row.
    fn cautions_block(&self) -> Block {
        let mut rows: Vec<Vec<String>> = Vec::new();
        for caution in &self.cautions {
            match rows.last_mut().map(Vec::as_mut_slice) {
                Some([said, source]) if *source == caution.source => {
                    said.push_str(if said.ends_with('.') { " " } else { "; " });
                    said.push_str(&caution.text);
                }
                _ => rows.push(vec![caution.text.clone(), caution.source.clone()]),
            }
        }
        Block {
            id: "cautions",
            title: "Cautions",
            columns: titled(&["what to heed", "source"], Vec::new()),
            rows,
            notes: Vec::new(),
        }
    }

    fn notes_block(&self, look: &Look<'_>) -> Block {
        Block {
            id: "notes",
            title: "Notes",
            columns: columns(&["when", "what"], &[], look),
            rows: self.notes.iter().map(|(at, text)| vec![(look.when)(*at), text.clone()]).collect(),
            notes: Vec::new(),
        }
    }
}

/// Columns of words, then columns of masses.
fn columns(words: &[&str], masses: &[&str], look: &Look<'_>) -> Vec<(String, bool)> {
    let unit = look.notation.mass_unit();
    titled(words, masses.iter().map(|title| format!("{title}, {unit}")).collect())
}

/// Columns of words, then columns of numbers, each with its unit in its title.
pub(super) fn titled(words: &[&str], numbers: Vec<String>) -> Vec<(String, bool)> {
    let words = words.iter().map(|title| ((*title).to_owned(), false));
    words.chain(numbers.into_iter().map(|title| (title, true))).collect()
}

/// A layer's name as a cell.
pub(super) fn layer_of(layer: Role) -> String {
    layer.name().to_owned()
}

/// What was said, or that it was not.
pub(super) fn said(text: Option<&String>) -> String {
    text.cloned().unwrap_or_else(|| "–".to_owned())
}

/// The number of a mass: to a tenth of a gram, or as finely in the unit that is shown.
pub(super) fn said_mass(mass: Grams, look: &Look<'_>) -> String {
    if mass.is_zero() { "–".to_owned() } else { look.notation.weight_to(mass, 1) }
}

/// A panel and its area: `door, left (0.9 m²)`.
pub fn panel_words(panel: &Panel, notation: Notation) -> String {
    match panel.area {
        Some(area) => format!("{} ({})", panel.name, notation.area(Area::new(area))),
        None => panel.name.clone(),
    }
}
