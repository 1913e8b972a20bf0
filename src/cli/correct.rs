//! `pourbook correct`: the ways out when a pour went over, side by side.

use super::places::Places;
use super::ready::Ready;
use super::table::{self, Side};
use super::{CliError, amount, colour, out};
use crate::catalogue::{Catalogue, Role, TonerCode};
use crate::mix::options::{self, Situation};
use crate::mix::{Choice, Correction, Item, Limits, Recipe, Vessel, Way};
use crate::units::{Decimal, Division, Grams, Millilitres, Notation};
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
    /// How much was asked for, with its unit: "350 mL"
    #[arg(long, value_name = "VOLUME", value_parser = amount::volume)]
    volume: Millilitres,
    #[command(flatten)]
    ready: Ready,
    /// What the cup holds of a toner, in grams: W10=201.3; once for each toner
    #[arg(long, value_name = "TONER=GRAMS", value_parser = amount::poured, required = true)]
    poured: Vec<(String, Grams)>,
    /// The cup, by its name in cups.toml; without it nobody knows whether a way out fits
    #[arg(long, value_name = "NAME")]
    cup: Option<String>,
    /// The scale's division in grams [default: what --scale says, or 0.1]
    #[arg(long, value_name = "GRAMS", value_parser = amount::division)]
    division: Option<Division>,
    /// The most the scale weighs, in grams, cup included [default: what --scale says]
    #[arg(long, value_name = "GRAMS", value_parser = amount::grams)]
    capacity: Option<Grams>,
    /// The result as JSON, decimals as text
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct Json<'a> {
    in_cup_g: String,
    ordered_mass_g: String,
    options: Vec<JsonOption<'a>>,
}

#[derive(Serialize)]
struct JsonOption<'a> {
    option: &'static str,
    final_mass_g: String,
    final_volume_ml: String,
    extra_mass_g: String,
    /// None where a price is not known.
    extra_cost: Option<String>,
    draw_off_g: String,
    /// The fraction by which the toner furthest off, in its own tolerances, is off; signed.
    worst_deviation: Option<String>,
    /// None where no cup was named.
    fits_cup: Option<bool>,
    /// None where the scale's capacity is not known.
    fits_scale: Option<bool>,
    /// In formula order, without those of which nothing is to be added.
    add: Vec<JsonAdd<'a>>,
}

#[derive(Serialize)]
struct JsonAdd<'a> {
    toner: &'a str,
    mass_g: String,
}

/// What is in the cup.
struct InCup {
    cup: Correction,
    foreign: Vec<(TonerCode, Grams)>,
}

impl InCup {
    fn foreign_mass(&self) -> Grams {
        self.foreign.iter().map(|(_, mass)| *mass).sum()
    }
}

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    let scale = places.scale()?;
    let of_scale = scale.as_ref();
    let division = args.division.or(of_scale.and_then(|scale| scale.division)).unwrap_or(Division::TENTH);
    let capacity = args.capacity.or(of_scale.and_then(|scale| scale.capacity));
    let catalogue = places.catalogue()?;
    let named = (args.colour.as_str(), args.variant.as_deref());
    let recipe = colour::recipe(&catalogue, named, args.layer, args.ready.named())?;
    let recipe = args.ready.of(&catalogue, named, recipe)?;
    let vessel = vessel(&catalogue, args.cup.as_deref())?;
    let in_cup = in_cup(&catalogue, &recipe, &args.poured, division)?;
    let unknown_cup = Vessel { name: String::new(), brim: Millilitres::new(Decimal::MAX), tare: Grams::ZERO };
    let situation = Situation {
        recipe: &recipe,
        cup: &in_cup.cup,
        foreign: in_cup.foreign_mass(),
        ordered: recipe.mass_for(args.volume).to_book(),
        vessel: vessel.as_ref().unwrap_or(&unknown_cup),
        limits: Limits { division, capacity },
    };
    if args.json {
        return out::json(&json(&situation, vessel.is_some()));
    }
    let notation = places.settled()?.settings.notation();
    text(&situation, &in_cup, vessel.is_some(), notation).iter().try_for_each(out::line)
}

fn vessel(catalogue: &Catalogue, name: Option<&str>) -> Result<Option<Vessel>, CliError> {
    let Some(name) = name else { return Ok(None) };
    let cup = catalogue.cup(name).ok_or_else(|| {
        let has: Vec<_> = catalogue.cups.iter().map(|cup| cup.name.as_str()).collect();
        CliError::failed(format!("there is no cup '{name}' in the shop"))
            .hint(format!("The cups are: {}.", has.join(", ")))
    })?;
    if cup.tare.is_none() {
        out::note(format_args!("note: cup '{}' has no tare in cups.toml; it is taken as nothing", cup.name));
    }
    Ok(Some(Vessel { name: cup.name.clone(), brim: cup.brim, tare: cup.tare.unwrap_or(Grams::ZERO) }))
}

/// Sorts what was poured into the formula's toners and those that do not belong.
fn in_cup(
    catalogue: &Catalogue,
    recipe: &Recipe,
    poured: &[(String, Grams)],
    division: Division,
) -> Result<InCup, CliError> {
    let mut items: Vec<Item> = recipe
        .shares()
        .into_iter()
        .zip(recipe.lines())
        .map(|(share, line)| Item { share, tolerance: line.tolerance, poured: Grams::ZERO })
        .collect();
    let mut foreign: Vec<(TonerCode, Grams)> = Vec::new();
    for (code, mass) in poured {
        let toner = catalogue.toner(code).ok_or_else(|| {
            let own: Vec<_> = recipe.lines().iter().map(|line| line.toner.as_str()).collect();
            CliError::failed(format!("there is no toner '{code}' in the shop"))
                .hint(format!("The formula's toners are: {}.", own.join(", ")))
        })?;
        let own = recipe.position(&toner.code).and_then(|line| items.get_mut(line));
        if let Some(item) = own {
            item.poured += *mass;
        } else if let Some((_, before)) = foreign.iter_mut().find(|(code, _)| *code == toner.code) {
            *before += *mass;
        } else {
            foreign.push((toner.code.clone(), *mass));
        }
    }
    let cup = Correction { items, floor: division.grams(), slack: Decimal::ONE };
    Ok(InCup { cup, foreign })
}

fn json<'a>(situation: &Situation<'a>, cup_known: bool) -> Json<'a> {
    let options = options::ways(situation)
        .iter()
        .map(|choice| JsonOption {
            option: choice.way.name(),
            final_mass_g: amount::exact(choice.final_mass),
            final_volume_ml: amount::exact_volume(choice.final_volume),
            extra_mass_g: amount::exact(choice.extra_mass),
            extra_cost: choice.extra_cost.map(amount::exact_money),
            draw_off_g: amount::exact(choice.draw_off),
            worst_deviation: choice.worst.map(|worst| amount::exact_share(worst.deviation)),
            fits_cup: cup_known.then_some(choice.fits_cup),
            fits_scale: situation.limits.capacity.map(|_| choice.fits_scale),
            add: additions(situation.recipe, choice)
                .map(|(toner, mass)| JsonAdd { toner, mass_g: amount::exact(mass) })
                .collect(),
        })
        .collect();
    Json {
        in_cup_g: amount::exact(situation.cup.poured() + situation.foreign),
        ordered_mass_g: amount::exact(situation.ordered),
        options,
    }
}

/// What is to be added, in formula order.
fn additions<'a>(recipe: &'a Recipe, choice: &Choice) -> impl Iterator<Item = (&'a str, Grams)> {
    let toners = recipe.lines().iter().map(|line| line.toner.as_str());
    let pours: Vec<_> =
        toners.zip(choice.add.iter().copied()).filter(|(_, mass)| mass.is_positive()).collect();
    pours.into_iter()
}

fn text(situation: &Situation<'_>, in_cup: &InCup, cup_known: bool, notation: Notation) -> Vec<String> {
    let division = situation.limits.division;
    let recipe = situation.recipe;
    let mut lines = vec![
        colour::title(recipe),
        format!(
            "{} was asked for, {} is in the cup",
            notation.mass(situation.ordered, division),
            notation.mass(situation.cup.poured() + situation.foreign, division),
        ),
        String::new(),
    ];
    lines.extend(what_is_wrong(situation, in_cup, notation));
    lines.push(String::new());

    let choices = options::distinct_ways(situation);
    let (unit, volume) = (notation.mass_unit(), notation.volume_unit());
    let (waste, ends) = (format!("waste {unit}"), format!("ends at {unit}"));
    let head = ["", "what to do", &waste, "cost", &ends, volume, "worst", ""];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for (number, choice) in (1..).zip(&choices) {
        let mut doubts = Vec::new();
        if !choice.fits_cup {
            doubts.push("does not fit the cup");
        }
        if !choice.fits_scale {
            doubts.push("too heavy for the scale");
        }
        rows.push(vec![
            number.to_string(),
            what_to_do(choice, division, notation),
            notation.weight(choice.waste, division),
            choice.extra_cost.map_or_else(|| "?".to_owned(), |cost| notation.money(cost)),
            notation.weight(choice.final_mass, division),
            notation.volume_number(choice.final_volume, 0),
            worst(situation, choice, notation),
            doubts.join(", "),
        ]);
    }
    let right = Side::Right;
    lines.extend(table::lines(&[right, Side::Left, right, right, right, right, Side::Left], &rows));
    lines.push(String::new());
    for (number, choice) in (1..).zip(&choices) {
        let pours: Vec<String> = additions(recipe, choice)
            .filter(|(_, mass)| !division.round(*mass).is_zero())
            .map(|(toner, mass)| format!("{toner} {}", notation.weight(mass, division)))
            .collect();
        let pours = if pours.is_empty() { "nothing".to_owned() } else { pours.join("  ") };
        lines.push(format!("{number}  then pour, {unit}:  {pours}"));
    }
    if !cup_known {
        lines.push(String::new());
        lines.push("Whether it fits the cup is not known: name the cup with --cup.".to_owned());
    }
    lines
}

fn what_is_wrong(situation: &Situation<'_>, in_cup: &InCup, notation: Notation) -> Vec<String> {
    let (division, unit) = (situation.limits.division, notation.mass_unit());
    let cup = situation.cup;
    let mut lines: Vec<String> = in_cup
        .foreign
        .iter()
        .map(|(toner, mass)| {
            let whole = situation.ordered.max(cup.poured()) + situation.foreign;
            let share = mass.share_of(whole).unwrap_or_default();
            format!(
                "{toner} is not in this formula: its {} would be {} of the finished mix, and no amount of the others puts that right.",
                notation.mass(*mass, division),
                notation.percent(share, 1)
            )
        })
        .collect();
    for (item, line) in cup.items.iter().zip(situation.recipe.lines()) {
        let target = situation.ordered * item.share;
        if item.poured > cup.most(item, situation.ordered) {
            lines.push(format!(
                "{} is {} {unit} over (right is within {} {unit}).",
                line.toner,
                notation.asked(item.poured - target, division),
                notation.asked(cup.tolerance(item, situation.ordered), division),
            ));
        }
    }
    if lines.is_empty() {
        lines.push(if cup.can_be_right(situation.ordered) {
            "Nothing is over: go on, and what was asked for still comes right.".to_owned()
        } else {
            "No toner alone is over, but together there is not room left for the others.".to_owned()
        });
    }
    lines
}

fn what_to_do(choice: &Choice, division: Division, notation: Notation) -> String {
    match choice.way {
        Way::Leave => "leave it".to_owned(),
        Way::Smallest if choice.extra_mass.is_zero() => "go on".to_owned(),
        Way::Smallest => format!("make more: {}", notation.volume(choice.final_volume, 0)),
        Way::Exact => format!("make exactly right: {}", notation.volume(choice.final_volume, 0)),
        Way::Fit => "as near as cup and scale allow".to_owned(),
        Way::DrawOff if choice.draw_off.is_zero() => "go on".to_owned(),
        Way::DrawOff => format!("stir, draw off {}, then go on", notation.mass(choice.draw_off, division)),
        Way::Restart => "start again".to_owned(),
    }
}

fn worst(situation: &Situation<'_>, choice: &Choice, notation: Notation) -> String {
    if choice.right {
        return "right".to_owned();
    }
    if situation.foreign.is_positive() {
        return "not right".to_owned();
    }
    let named = choice.worst.and_then(|worst| {
        let line = situation.recipe.lines().get(worst.line)?;
        Some(format!("{} {}", line.toner, notation.signed_percent(worst.deviation, 1)))
    });
    named.unwrap_or_default()
}
