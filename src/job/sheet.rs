//! The job sheet: everything that is known of a repair on one page, as plain rows that whoever knows them fills in, and as
//! tables of words, from which both the page and the text are made.

mod page;

use super::{Clock, Job, LayerPlan, Panel, Run, Timer};
use crate::catalogue::{Finish, Role};
use crate::units::{Decimal, Grams, Millilitres, Notation, Stamp};

/// How much of a layer was asked for, mixed and sprayed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AmountRow {
    /// Which layer, and what was planned of it.
    pub plan: LayerPlan,
    /// How many coats the car gets, if that is known.
    pub wanted: Option<u32>,
    /// How many it has.
    pub sprayed_coats: u32,
    /// What was poured of its mixes, hardener and thinner included.
    pub mixed: Grams,
    /// What of it was sprayed.
    pub sprayed: Grams,
    /// What of it was kept.
    pub kept: Grams,
    /// What of it was thrown away, drawn off or given up.
    pub thrown: Grams,
}

/// A mix of the repair.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MixRow {
    /// Its number in the book.
    pub number: u32,
    /// Which layer it is; none if its first event does not say.
    pub layer: Option<Role>,
    /// Whether it is for spray-out cards alone.
    pub for_cards: bool,
    /// When it was begun.
    pub begun: Stamp,
    /// Who began it.
    pub operator: String,
    /// What was poured.
    pub mixed: Grams,
    /// What was sprayed.
    pub sprayed: Grams,
    /// What was kept.
    pub kept: Grams,
    /// What was thrown away, drawn off or given up.
    pub thrown: Grams,
    /// Until when it could be sprayed, if it was activated.
    pub pot_life: Option<Stamp>,
    /// Whether it is open, done, given up, or its cup emptied.
    pub state: &'static str,
}

/// What went into a mix, and from where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PartRow {
    /// The mix's number.
    pub mix: u32,
    /// The toner, hardener or thinner.
    pub toner: String,
    /// From where: `tin 24-031`.
    pub from: String,
    /// The tin's lot, if known.
    pub lot: Option<String>,
    /// How much.
    pub mass: Grams,
}

/// A spray-out card.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CardRow {
    /// Its number within the job.
    pub card: u32,
    /// Of which layer.
    pub layer: Role,
    /// With how many coats.
    pub coats: u32,
    /// When it was made.
    pub at: Stamp,
    /// What is known of it, and what was seen, in the order it was.
    pub said: Vec<String>,
    /// Whether the car gets as many coats as it has.
    pub chosen: bool,
}

/// A coat on the car.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CoatRow {
    /// Of which layer.
    pub layer: Role,
    /// Which coat.
    pub coat: u32,
    /// When.
    pub at: Stamp,
}

/// A time that was kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TimeRow {
    /// Which.
    pub timer: Timer,
    /// When and how long, and how it ended.
    pub run: Run,
}

/// The solvent in a layer as it was sprayed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VocRow {
    /// Which layer, or the composite of all.
    pub what: String,
    /// Without water and exempt compounds, in g/L; none if it cannot be said.
    pub regulatory: Option<Decimal>,
    /// As it is, in g/L.
    pub actual: Option<Decimal>,
    /// The limit it was held against, in g/L.
    pub limit: Option<Decimal>,
    /// What that comes to, in words.
    pub says: String,
}

/// A caution, and where it comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CautionRow {
    /// What to heed.
    pub text: String,
    /// Its source, as it was entered.
    pub source: String,
}

/// Everything on one page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sheet {
    /// What the shop calls the job.
    pub name: String,
    /// Which vehicle.
    pub vehicle: Option<String>,
    /// The colour's code.
    pub colour: String,
    /// The colour's name, where it is known.
    pub colour_name: Option<String>,
    /// Its variant.
    pub variant: String,
    /// How it is built up.
    pub finish: Finish,
    /// When the job was opened.
    pub opened: Stamp,
    /// When it was closed.
    pub closed: Option<Stamp>,
    /// When the sheet was made.
    pub made: Stamp,
    /// What is painted.
    pub panels: Vec<Panel>,
    /// How much, by layer.
    pub amounts: Vec<AmountRow>,
    /// The mixes.
    pub mixes: Vec<MixRow>,
    /// Their tins and lots.
    pub parts: Vec<PartRow>,
    /// The cards.
    pub cards: Vec<CardRow>,
    /// Why a layer was mixed without a chosen card.
    pub unmatched: Vec<(Role, String)>,
    /// The coats.
    pub coats: Vec<CoatRow>,
    /// The times.
    pub times: Vec<TimeRow>,
    /// The solvent; empty where nobody reckoned it.
    pub voc: Vec<VocRow>,
    /// What to heed.
    pub cautions: Vec<CautionRow>,
    /// What was noted.
    pub notes: Vec<(Stamp, String)>,
}

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

/// What every sheet ends with.
const DEFER: &str = "What the products' own data sheets say counts before anything here. An aid to the record, and no \
                     substitute for local codes and licensed practice.";

impl Sheet {
    /// What the job itself knows. Mixes, parts, solvent and cautions are others'.
    pub fn of(job: &Job, made: Stamp) -> Self {
        let card = |card: &super::Card| {
            let said = card.made.note.iter().chain(card.seen.iter().map(|(_, seen)| seen));
            let layer = job.standing(card.made.layer);
            let chosen = layer.and_then(|layer| layer.chosen.cloned());
            CardRow {
                card: card.made.card,
                layer: card.made.layer,
                coats: card.made.coats,
                at: card.at,
                said: said.cloned().collect(),
                chosen: chosen.is_some_and(|chosen| match chosen.card {
                    Some(number) => number == card.made.card,
                    None => chosen.coats == card.made.coats,
                }),
            }
        };
        let coats = |layer: super::Standing<'_>| {
            let role = layer.plan.role;
            layer.coats.into_iter().map(move |(coat, at)| CoatRow { layer: role, coat, at })
        };
        let amount = |layer: super::Standing<'_>| AmountRow {
            plan: layer.plan.clone(),
            wanted: layer.wanted,
            sprayed_coats: layer.sprayed(),
            mixed: Grams::ZERO,
            sprayed: Grams::ZERO,
            kept: Grams::ZERO,
            thrown: Grams::ZERO,
        };
        let mut coats: Vec<CoatRow> = job.standings().flat_map(coats).collect();
        coats.sort_by_key(|coat| coat.at);
        let mut times: Vec<TimeRow> =
            job.times().map(|(timer, run)| TimeRow { timer, run: run.clone() }).collect();
        times.sort_by_key(|time| time.run.countdown.from);
        Self {
            name: job.name.clone(),
            vehicle: job.vehicle.clone(),
            colour: job.colour.to_string(),
            colour_name: None,
            variant: job.variant.clone(),
            finish: job.finish,
            opened: job.opened,
            closed: job.closed,
            made,
            panels: job.panels.clone(),
            amounts: job.standings().map(amount).collect(),
            mixes: Vec::new(),
            parts: Vec::new(),
            cards: job.cards().map(card).collect(),
            unmatched: job
                .standings()
                .filter_map(|layer| Some((layer.plan.role, layer.unmatched?.to_owned())))
                .collect(),
            coats,
            times,
            voc: Vec::new(),
            cautions: Vec::new(),
            notes: job.notes().to_vec(),
        }
    }

    /// Adds a mix and what it came to, to its layer too.
    pub fn add_mix(&mut self, mix: MixRow) {
        if let Some(row) = self.amounts.iter_mut().find(|row| Some(row.plan.role) == mix.layer) {
            row.mixed += mix.mixed;
            row.sprayed += mix.sprayed;
            row.kept += mix.kept;
            row.thrown += mix.thrown;
        }
        self.mixes.push(mix);
    }

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
            self.mixes_block(look),
            self.parts_block(look),
            self.cards_block(look),
            self.coats_block(look),
            self.times_block(look),
            self.voc_block(look),
            self.cautions_block(),
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
            vec![
                row.plan.role.name().to_owned(),
                said(row.plan.product.as_ref()),
                said(row.plan.shade.as_ref()),
                coats,
                said(row.plan.asked.map(|asked| asked_words(asked, look.notation)).as_ref()),
                mass(row.mixed, look),
                mass(row.sprayed, look),
                mass(row.kept, look),
                mass(row.thrown, look),
            ]
        };
        Block {
            id: "amounts",
            title: "Layers",
            columns: columns(
                &["layer", "product", "shade", "coats"],
                &["asked for", "mixed", "sprayed", "kept", "thrown away"],
                look,
            ),
            rows: self.amounts.iter().map(row).collect(),
            notes: vec!["What was asked for is ready to spray.".to_owned()],
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
                mix.state.to_owned(),
                said(mix.pot_life.map(|until| (look.when)(until)).as_ref()),
                mass(mix.mixed, look),
                mass(mix.sprayed, look),
                mass(mix.kept, look),
                mass(mix.thrown, look),
            ]
        };
        Block {
            id: "mixes",
            title: "Mixes",
            columns: columns(
                &["mix", "layer", "begun", "by", "state", "pot life until"],
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
                mass(part.mass, look),
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
        Block {
            id: "cards",
            title: "Spray-out cards",
            columns: columns(&["card", "layer", "coats", "made", "what was seen"], &[], look),
            rows: self.cards.iter().map(row).chain(self.unmatched.iter().map(without)).collect(),
            notes: Vec::new(),
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
            notes: vec!["An aid: local codes and licensed practice decide.".to_owned()],
        }
    }

    fn cautions_block(&self) -> Block {
        Block {
            id: "cautions",
            title: "Cautions",
            columns: ["what to heed", "source"].map(|title| (title.to_owned(), false)).to_vec(),
            rows: self
                .cautions
                .iter()
                .map(|caution| vec![caution.text.clone(), caution.source.clone()])
                .collect(),
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

/// Columns of words, then columns of masses; what was asked for is a volume and has its unit with it.
fn columns(words: &[&str], masses: &[&str], look: &Look<'_>) -> Vec<(String, bool)> {
    let unit = look.notation.mass_unit();
    let mass = |title: &&str| match *title {
        "asked for" => (String::from(*title), true),
        title => (format!("{title}, {unit}"), true),
    };
    words.iter().map(|title| ((*title).to_owned(), false)).chain(masses.iter().map(mass)).collect()
}

/// What was said, or that it was not.
fn said(text: Option<&String>) -> String {
    text.cloned().unwrap_or_else(|| "–".to_owned())
}

/// The number of a mass: to a tenth of a gram, or as finely in the unit that is shown.
fn mass(mass: Grams, look: &Look<'_>) -> String {
    if mass.is_zero() { "–".to_owned() } else { look.notation.weight_to(mass, 1) }
}

fn asked_words(asked: Millilitres, notation: Notation) -> String {
    notation.given_volume(asked)
}

/// A panel and its area: `door, left (0.9 m²)`.
pub fn panel_words(panel: &Panel, notation: Notation) -> String {
    match panel.area {
        Some(area) => format!("{} ({} m²)", panel.name, notation.number(area)),
        None => panel.name.clone(),
    }
}
