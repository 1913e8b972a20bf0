//! `pourbook targets`: what to weigh of each toner for so much of a layer.

use super::places::Places;
use super::ready::Ready;
use super::table::{self, Side};
use super::{CliError, amount, colour, open, out};
use crate::book::{ScaleRecord, open_to_look};
use crate::catalogue::{Catalogue, Role};
use crate::metrology::Repeatability;
use crate::mix::weighable::{self, Accuracy};
use crate::mix::{LinePart, Readied, Recipe, Targets, order};
use crate::units::{Division, Grams, Millilitres, Notation};
use clap::ValueEnum;
use serde::Serialize;

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The colour: its code, or words of its name that fit one only
    colour: String,
    /// Which of the shades under the same code
    #[arg(long, value_name = "NAME")]
    variant: Option<String>,
    /// The layer: undercoat, ground, base, blender, pearl or clear
    #[arg(long, value_name = "ROLE", value_parser = amount::role)]
    layer: Role,
    /// How much, with its unit: "350 mL", "0.5 L", "12 fl oz"
    #[arg(long, value_name = "VOLUME", value_parser = amount::volume)]
    volume: Millilitres,
    #[command(flatten)]
    ready: Ready,
    /// The scale's division in grams [default: what --scale says, or 0.1]
    #[arg(long, value_name = "GRAMS", value_parser = amount::division)]
    division: Option<Division>,
    /// The pour order: the formula's own, or the one in which a miss costs least
    #[arg(long, value_enum, default_value_t = Order::Formula)]
    order: Order,
    /// The result as JSON, decimals as text
    #[arg(long)]
    json: bool,
}

/// A pour order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Order {
    /// As the formula has it
    Formula,
    /// The order that risks least
    LeastRisk,
}

#[derive(Serialize)]
struct Json<'a> {
    colour: &'a str,
    layer: Role,
    division_g: String,
    total_mass_g: String,
    total_volume_ml: String,
    /// What it is made ready to spray with; the volume is ready to spray then. None for colour alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    readied: Option<&'a Readied>,
    pours: Vec<JsonPour<'a>>,
}

#[derive(Serialize)]
struct JsonPour<'a> {
    toner: &'a str,
    /// None for a toner of the colour.
    #[serde(skip_serializing_if = "Option::is_none")]
    part: Option<LinePart>,
    target_g: String,
    cumulative_g: String,
    shown_g: String,
    weighable: bool,
}

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    let of_scale = places.scale()?.and_then(|scale| scale.division);
    let division = args.division.or(of_scale).unwrap_or(Division::TENTH);
    let catalogue = places.catalogue()?;
    let named = (args.colour.as_str(), args.variant.as_deref());
    let recipe = colour::recipe(&catalogue, named, args.layer, args.ready.named())?;
    let recipe = args.ready.of(&catalogue, named, recipe)?;
    // Ten weighings at another division than the one that was asked for are another scale's.
    let measured = measured(places, &catalogue)
        .filter(|measured| args.division.is_none_or(|asked| asked == measured.division));
    let accuracy = Accuracy {
        repeatability: measured.as_ref().map(|measured| measured.deviation),
        ..Accuracy::default()
    };
    let smallest = weighable::smallest_weight(division, accuracy).unwrap_or(Grams::ZERO);
    let order = match args.order {
        Order::Formula => order::formula_order(&recipe),
        Order::LeastRisk => {
            order::least_risk(&recipe, recipe.mass_for(args.volume), division, Some(smallest))
        }
    };
    let targets = Targets::new(&recipe, args.volume, division, &order);
    let too_small = weighable::too_small(&targets, smallest);
    if args.json {
        return out::json(&json(&recipe, &targets, division, &too_small));
    }
    let notation = places.settled()?.settings.notation();
    text(&recipe, &targets, (division, notation), (smallest, measured.as_ref()), &too_small)
        .iter()
        .try_for_each(out::line)
}

/// The smallest weight that the scale weighs to 1 %, by its ten weighings in the book if there are any, else by the division
/// of the scale which is named, or of the bench's scale in the shop's files; none where none of them is there.
pub(super) fn smallest_weight(places: &Places, catalogue: &Catalogue) -> Result<Option<Grams>, CliError> {
    let measured = measured(places, catalogue);
    let named = places.scale()?.and_then(|scale| scale.division);
    let written = || catalogue.scale.as_ref().map(|sheet| sheet.scale.d);
    let division = measured.as_ref().map(|measured| measured.division).or(named).or_else(written);
    let accuracy =
        Accuracy { repeatability: measured.map(|measured| measured.deviation), ..Accuracy::default() };
    Ok(division.and_then(|division| weighable::smallest_weight(division, accuracy)))
}

/// The ten weighings of the bench's scale, if there is a book and they are in it. The book is only looked
/// at; one that cannot be read is said, and nothing more.
fn measured(places: &Places, catalogue: &Catalogue) -> Option<Repeatability> {
    let book = places.book(places.is_demo()).ok().filter(|book| book.exists())?;
    let record = open_to_look(&book).and_then(|store| open::scale_record(&store, catalogue));
    let ScaleRecord { repeatability, unreadable, .. } = record
        .inspect_err(|error| {
            out::note(format_args!("note: without the scale's ten weighings from the book: {error}"));
        })
        .ok()?;
    for why in unreadable {
        out::note(format_args!("note: {why}"));
    }
    Some(repeatability?.repeatability)
}

fn json<'a>(recipe: &'a Recipe, targets: &Targets, division: Division, too_small: &[usize]) -> Json<'a> {
    let pours = targets
        .pours
        .iter()
        .filter_map(|target| {
            let line = recipe.lines().get(target.line)?;
            Some(JsonPour {
                toner: line.toner.as_str(),
                part: (!line.part.is_colour()).then_some(line.part),
                target_g: amount::exact(target.exact),
                cumulative_g: amount::exact(target.cumulative),
                shown_g: target.shown.shown(division),
                weighable: !too_small.contains(&target.line),
            })
        })
        .collect();
    Json {
        colour: recipe.colour.as_str(),
        layer: recipe.role,
        division_g: division.to_string(),
        total_mass_g: amount::exact(targets.mass),
        total_volume_ml: amount::exact_volume(targets.volume),
        readied: recipe.readied.as_ref(),
        pours,
    }
}

fn text(
    recipe: &Recipe,
    targets: &Targets,
    (division, notation): (Division, Notation),
    (smallest, measured): (Grams, Option<&Repeatability>),
    too_small: &[usize],
) -> Vec<String> {
    let fine = division.decimals().saturating_add(2);
    let unit = notation.mass_unit();
    let head = ["toner", "", &format!("exact {unit}"), &format!("pour {unit}"), &format!("cup at {unit}")];
    let head = head.map(str::to_owned).to_vec();
    let mut rows = vec![head];
    let mut before = Grams::ZERO;
    for target in &targets.pours {
        let Some(line) = recipe.lines().get(target.line) else { continue };
        let mut row = vec![
            line.toner.to_string(),
            line.name.clone(),
            notation.weight_to(target.exact, fine),
            notation.step(before, target.shown_cumulative, division),
            notation.weight(target.shown_cumulative, division),
        ];
        before = target.shown_cumulative;
        let part = match line.part {
            LinePart::Colour => None,
            LinePart::Hardener => Some("hardener"),
            LinePart::Thinner => Some("thinner"),
        };
        let small = too_small.contains(&target.line).then_some("too small to weigh");
        let remarks: Vec<_> = part.into_iter().chain(small).collect();
        if !remarks.is_empty() {
            row.push(remarks.join(", "));
        }
        rows.push(row);
    }
    let mut lines = vec![
        colour::title(recipe),
        format!(
            "{}{} is {} (the mass is exact, the volume an estimate), division {}",
            amount::plain_volume(targets.volume, notation),
            if recipe.readied.is_some() { " ready to spray" } else { "" },
            notation.mass(targets.shown_total(), division),
            notation.given_mass(division.grams())
        ),
    ];
    lines.extend(recipe.readied.as_ref().map(|readied| {
        let pot_life = readied.pot_life.map(|minutes| format!(", pot life {minutes} min from the hardener"));
        format!("Made ready with {} {}{}", readied.product, readied.name, pot_life.unwrap_or_default())
    }));
    lines.extend(measured.map(|measured| {
        let Repeatability { scale, deviation, readings, .. } = measured;
        format!(
            "By {} weighings in the book (s = {} {unit}) '{scale}' weighs from {} {unit} up, to 1 %",
            readings.len(),
            notation.weight_to(*deviation, fine.saturating_add(1)),
            notation.weight_to(smallest, fine),
        )
    }));
    lines.push(String::new());
    lines.extend(table::lines(&[Side::Left, Side::Left, Side::Right, Side::Right, Side::Right], &rows));
    if !too_small.is_empty() {
        let least = weighable::smallest_volume(recipe, smallest);
        lines.push(String::new());
        let at = if measured.is_some() { "on this scale" } else { "at this division" };
        lines.push(format!(
            "Less than {} cannot be weighed to 1 % {at}. From {} on every toner can be.",
            notation.mass(smallest, division),
            notation.volume_up(least),
        ));
    }
    lines
}
