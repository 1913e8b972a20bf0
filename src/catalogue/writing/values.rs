//! Values put in the place of others; keys put in and taken out. What is a list stays as long as it is.

use super::fresh::{line, quoted};
use super::layout::{Layout, Put};
use super::{Edits, Unwritable, layer_pairs, line_end, pairs};
use crate::catalogue::code::fold;
use crate::catalogue::{Colour, STANDARD, Swatch, Word};
use crate::units::parse_decimal;

/// The keys that a new one is put in after.
const KEYS: [&str; 7] = ["code", "name", "finish", "variant", "swatch", "retired", "retired-because"];

/// The text with the colour's own values, and those of the layers and rows that were there before.
pub(super) fn replaced(text: &str, colour: &Colour, before: &Colour) -> Result<String, Unwritable> {
    let layout = Layout::of(text)?;
    let mut edits = Edits::default();
    let retired = colour.retired.as_ref();
    let swatch = colour.swatch.map(|swatch| swatch.to_string());
    let wanted: [(&str, Option<&str>); 7] = [
        ("code", Some(colour.code.as_str())),
        ("name", Some(&colour.name)),
        ("finish", Some(colour.finish.word())),
        ("variant", Some(&colour.variant)),
        ("swatch", swatch.as_deref()),
        ("retired", retired.map(|retired| retired.on.as_str())),
        ("retired-because", retired.and_then(|retired| retired.because.as_deref())),
    ];
    for (key, wanted) in wanted {
        own(text, &layout, &mut edits, key, wanted)?;
    }
    for (layer, place) in colour.layers.iter().zip(layer_pairs(&layout.roles(), colour, before)) {
        let Some(place) = place.and_then(|at| layout.layers.get(at)) else { continue };
        if place.role.says != layer.role.word() {
            edits.replace(place.role.span.clone(), like(text, &place.role, layer.role.word()));
        }
        let toners: Vec<_> = layer.pours.iter().map(|part| fold(part.toner.as_str())).collect();
        for (part, row) in layer.pours.iter().zip(pairs(&place.toners(), &toners)) {
            let Some(row) = row.and_then(|at| place.rows.get(at)) else { continue };
            if fold(&row.toner.says) != fold(part.toner.as_str()) {
                edits.replace(row.toner.span.clone(), like(text, &row.toner, part.toner.as_str()));
            }
            let digits = part.parts.to_string();
            if parse_decimal(&row.parts.says).map(|parts| parts.to_string()).as_ref() != Ok(&digits) {
                edits.replace(row.parts.span.clone(), like(text, &row.parts, &digits));
            }
        }
    }
    Ok(edits.apply(text))
}

/// A key of the colour itself.
fn own(
    text: &str,
    layout: &Layout,
    edits: &mut Edits,
    key: &str,
    wanted: Option<&str>,
) -> Result<(), Unwritable> {
    let same = |put: &Put, wanted: &str| match key {
        "swatch" => Swatch::parse(&put.says).map(|swatch| swatch.to_string()).as_deref() == Some(wanted),
        _ => put.says == wanted,
    };
    match (layout.key(key), wanted) {
        (Some((_, _, put)), Some(wanted)) => {
            if !same(put, wanted) {
                edits.replace(put.span.clone(), like(text, put, wanted));
            }
        }
        (Some((_, at, put)), None) => {
            let start = text.get(..at.start).and_then(|before| before.rfind('\n')).map_or(0, |end| end + 1);
            edits.replace(start..end_of_line(text, put.span.end), String::new());
        }
        (None, Some(wanted)) if key != "variant" || wanted != STANDARD => {
            let last = layout.keys.iter().filter(|(name, _, _)| KEYS.contains(&name.as_str()));
            let last = last.map(|(_, _, put)| put.span.end).max().ok_or(Unwritable::Layout)?;
            let at = end_of_line(text, last);
            let end = line_end(text);
            let open = !text.get(..at).is_some_and(|before| before.ends_with('\n'));
            edits.replace(at..at, format!("{}{}", if open { end } else { "" }, line(key, wanted, end)));
        }
        (None, _) => {}
    }
    Ok(())
}

/// The place after the end of the line that `at` is in.
fn end_of_line(text: &str, at: usize) -> usize {
    text.get(at..).and_then(|after| after.find('\n')).map_or(text.len(), |end| at + end + 1)
}

/// The value written as the one before: in quotes of the same kind, or bare.
fn like(text: &str, before: &Put, value: &str) -> String {
    match text.get(before.span.clone()).and_then(|raw| raw.chars().next()) {
        Some('\'') if !value.contains('\'') => format!("'{value}'"),
        Some('\"' | '\'') | None => quoted(value),
        Some(_) => value.to_owned(),
    }
}
