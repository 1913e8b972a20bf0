//! What differs between two versions of a formula, toner by toner.

use super::{Colour, Layer, Part, STANDARD};
use crate::units::Notation;

/// What became of `before` in `after`: one short line each, nothing where both say the same.
pub fn changes(before: &Colour, after: &Colour) -> Vec<String> {
    changes_written(before, after, Notation::METRIC)
}

/// The same, the parts written as a person writes numbers; their digits stay.
pub fn changes_written(before: &Colour, after: &Colour, notation: Notation) -> Vec<String> {
    let mut told = Vec::new();
    let mut field = |noun: &str, old: &str, new: &str| match (old, new) {
        (old, new) if old == new => {}
        ("", new) => told.push(format!("{noun}: {new}")),
        (old, "") => told.push(format!("{noun}: {old} taken out")),
        (old, new) => told.push(format!("{noun}: {old} → {new}")),
    };
    field("code", before.code.as_str(), after.code.as_str());
    field("name", &before.name, &after.name);
    field("variant", &before.variant, &after.variant);
    field("finish", &before.finish.to_string(), &after.finish.to_string());
    let swatch = |colour: &Colour| colour.swatch.map(|swatch| swatch.to_string()).unwrap_or_default();
    field("swatch", &swatch(before), &swatch(after));
    let retired = |colour: &Colour| {
        colour.retired.as_ref().map_or_else(String::new, |retired| match &retired.because {
            Some(because) => format!("{} ({because})", retired.on),
            None => retired.on.clone(),
        })
    };
    field("retired", &retired(before), &retired(after));
    for layer in &before.layers {
        match after.layer(layer.role) {
            Some(now) => told.extend(in_layer(layer, now, notation)),
            None => told.push(format!("{}: taken out", layer.role)),
        }
    }
    for layer in after.layers.iter().filter(|layer| before.layer(layer.role).is_none()) {
        let parts: Vec<_> =
            layer.pours.iter().map(|part| format!("{} {}", part.toner, written(part, notation))).collect();
        told.push(format!("{}: put in, {}", layer.role, parts.join(", ")));
    }
    let roles = |colour: &Colour| colour.layers.iter().map(|layer| layer.role).collect::<Vec<_>>();
    if told.is_empty() && roles(before) != roles(after) {
        told.push("the layers stand in another order".to_owned());
    }
    told
}

fn written(part: &Part, notation: Notation) -> String {
    notation.digits(&part.parts.to_string())
}

fn in_layer(before: &Layer, after: &Layer, notation: Notation) -> Vec<String> {
    let role = before.role;
    let mut told = Vec::new();
    let product = |layer: &Layer| layer.product.as_ref().map(|code| code.as_str().to_owned());
    for (noun, old, new) in
        [("product", product(before), product(after)), ("shade", before.shade.clone(), after.shade.clone())]
    {
        match (old, new) {
            (old, new) if old == new => {}
            (Some(old), Some(new)) => told.push(format!("{role}: {noun} {old} → {new}")),
            (Some(old), None) => told.push(format!("{role}: {noun} {old} taken out")),
            (None, new) => told.push(format!("{role}: {noun} {}", new.unwrap_or_default())),
        }
    }
    for part in &before.pours {
        match after.pours.iter().find(|other| other.toner == part.toner) {
            Some(now) if now.parts.to_string() == part.parts.to_string() => {}
            Some(now) => told.push(format!(
                "{role}: {} {} → {}",
                part.toner,
                written(part, notation),
                written(now, notation)
            )),
            None => told.push(format!("{role}: {} {} taken out", part.toner, written(part, notation))),
        }
    }
    for part in &after.pours {
        if !before.pours.iter().any(|other| other.toner == part.toner) {
            told.push(format!("{role}: {} {} put in", part.toner, written(part, notation)));
        }
    }
    let toners = |layer: &Layer| layer.pours.iter().map(|part| part.toner.clone()).collect::<Vec<_>>();
    if told.is_empty() && toners(before) != toners(after) {
        told.push(format!("{role}: another pour order"));
    }
    told
}

/// `PB-3140 Gannet White`, with its variant where it is not the standard one.
pub fn named(colour: &Colour) -> String {
    in_words(colour.code.as_str(), &colour.name, &colour.variant)
}

/// The same of a colour with that code, name and variant.
pub(super) fn in_words(code: &str, name: &str, variant: &str) -> String {
    if variant == STANDARD { format!("{code} {name}") } else { format!("{code} {name} ({variant})") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::{Catalogue, Draft, DraftRow};

    #[test]
    fn each_change_is_a_line() {
        let demo = Catalogue::demo();
        let before = demo.colour("PB-3171").unwrap();
        let told = |change: fn(&mut Draft)| {
            let mut draft = Draft::of(before);
            change(&mut draft);
            changes(before, &draft.check(&demo.toners, []).unwrap())
        };
        assert_eq!(told(|_| {}), [""; 0]);
        let several = told(|draft| {
            draft.name = "Other".into();
            draft.retired = "2026-11-25".into();
            draft.layers[0].rows[0].parts = "281.0".into();
            draft.layers[0].rows.remove(1);
            draft.layers[0].rows.push(DraftRow { toner: "B15".into(), parts: "2".into() });
            draft.layers.remove(3);
        });
        let expected = [
            "name: Bluethroat → Other",
            "retired: 2026-11-25",
            "undercoat: M85 281.00 → 281.0",
            "undercoat: W18 312.60 taken out",
            "undercoat: B15 2 put in",
            "clear: taken out",
        ];
        assert_eq!(several, expected);
        assert_eq!(told(|draft| draft.layers.swap(0, 1)), ["the layers stand in another order"]);
        assert_eq!(told(|draft| draft.layers[1].rows.swap(0, 1)), ["ground: another pour order"]);
    }
}
