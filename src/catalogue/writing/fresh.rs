//! The text of a colour that has no file yet, as somebody would write it by hand.

use crate::catalogue::{Colour, Layer, Part};
use crate::units::is_unprintable;
use std::fmt::Write as _;

/// The whole file of a colour.
pub fn fresh(colour: &Colour) -> String {
    let mut text = String::new();
    let mut key = |key: &str, value: &str| text.push_str(&line(key, value, "\n"));
    key("code", colour.code.as_str());
    key("name", &colour.name);
    key("finish", &colour.finish.to_string());
    key("variant", &colour.variant);
    if let Some(swatch) = colour.swatch {
        key("swatch", &swatch.to_string());
    }
    if let Some(retired) = &colour.retired {
        key("retired", &retired.on);
        if let Some(because) = &retired.because {
            key("retired-because", because);
        }
    }
    for each in &colour.layers {
        text.push('\n');
        text.push_str(&layer(each, "\n"));
    }
    text
}

/// `key = "value"` as a line.
pub(super) fn line(key: &str, value: &str, end: &str) -> String {
    format!("{key} = {}{end}", quoted(value))
}

/// A layer as a table of its own.
pub(super) fn layer(layer: &Layer, end: &str) -> String {
    let mut text = format!("[[layer]]{end}{}", line("role", &layer.role.to_string(), end));
    for (key, value) in papers(layer) {
        text.push_str(&line(key, value, end));
    }
    let _ = write!(text, "pours = [{end}");
    for each in &layer.pours {
        let _ = write!(text, "  {},{end}", part(each));
    }
    text.push(']');
    text.push_str(end);
    text
}

/// A layer within a list.
pub(super) fn inline_layer(layer: &Layer) -> String {
    let pours: Vec<_> = layer.pours.iter().map(part).collect();
    let papers: Vec<_> = papers(layer).map(|(key, value)| format!("{key} = {}, ", quoted(value))).collect();
    let papers = papers.concat();
    format!("{{ role = {}, {papers}pours = [{}] }}", quoted(&layer.role.to_string()), pours.join(", "))
}

/// What the layer says of its product and shade.
fn papers(layer: &Layer) -> impl Iterator<Item = (&'static str, &str)> {
    let product = layer.product.as_ref().map(|code| ("product", code.as_str()));
    product.into_iter().chain(layer.shade.as_deref().map(|shade| ("shade", shade)))
}

/// A part within a list.
pub(super) fn part(part: &Part) -> String {
    format!("{{ toner = {}, parts = {} }}", quoted(part.toner.as_str()), quoted(&part.parts.to_string()))
}

/// A text in TOML's quotes.
pub(super) fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            c if is_unprintable(c) => {
                let _ = write!(quoted, "\\u{:04X}", u32::from(c));
            }
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}
