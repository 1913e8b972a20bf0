//! Formulas for others: a table with a row a part. A folder of formulas needs nothing from here; it is the files' own
//! bytes.

use super::import::Meaning;
use super::{Colour, Word};
use crate::units::cell::csv_text;

/// The colours as CSV (RFC 4180), its headings those an import knows. A cell that a spreadsheet would run has an
/// apostrophe before it, which an import takes off again.
pub fn to_csv<'c>(colours: impl IntoIterator<Item = &'c Colour>) -> String {
    let mut text = String::new();
    row(&mut text, Meaning::ALL.iter().map(|meaning| meaning.word().to_owned()));
    for colour in colours {
        let retired = colour.retired.as_ref();
        for layer in &colour.layers {
            for part in &layer.pours {
                let cell = |meaning: &Meaning| match meaning {
                    Meaning::Code => colour.code.to_string(),
                    Meaning::Name => colour.name.clone(),
                    Meaning::Variant => colour.variant.clone(),
                    Meaning::Finish => colour.finish.to_string(),
                    Meaning::Swatch => colour.swatch.map(|swatch| swatch.to_string()).unwrap_or_default(),
                    Meaning::Retired => retired.map(|retired| retired.on.clone()).unwrap_or_default(),
                    Meaning::RetiredBecause => {
                        retired.and_then(|retired| retired.because.clone()).unwrap_or_default()
                    }
                    Meaning::Layer => layer.role.to_string(),
                    Meaning::Toner => part.toner.to_string(),
                    Meaning::Parts => part.parts.to_string(),
                };
                row(&mut text, Meaning::ALL.iter().map(cell));
            }
        }
    }
    text
}

fn row(text: &mut String, cells: impl Iterator<Item = String>) {
    let cells: Vec<_> = cells.map(|cell| csv_text(&cell)).collect();
    text.push_str(&cells.join(","));
    text.push_str("\r\n");
}
