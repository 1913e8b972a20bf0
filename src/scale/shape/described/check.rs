//! Whether the parts of a description go together.

use super::item::{At, Keys, Sheet};
use super::layout::Layout;
use super::notation::shown;
use super::place::Place;
use super::problem::quoted;
use crate::scale::UnitText;
use crate::scale::shape::Ask;

/// A place, and which key has it.
#[derive(Clone, Debug)]
pub(super) struct Claim {
    key: String,
    at: Place,
    offset: usize,
    /// What may stand there, where the key says so.
    pub(super) is: Vec<(String, usize)>,
}

impl Claim {
    pub(super) fn new(key: &str, at: Place, offset: usize) -> Self {
        Self { key: key.to_owned(), at, offset, is: Vec::new() }
    }

    /// Whether it may stand over anything else: a word in place of the number.
    fn is_instead(&self) -> bool {
        matches!(self.key.as_str(), "overload" | "underload" | "not_ready")
    }

    /// Marks may share a place with each other.
    fn is_mark(&self) -> bool {
        matches!(self.key.as_str(), "stable" | "moving" | "gross" | "net")
    }
}

/// What has been read so far.
pub(super) struct Draft<'d> {
    pub(super) start: Option<&'d At<Vec<u8>>>,
    pub(super) end: Option<&'d At<Vec<u8>>>,
    pub(super) lengths: Option<&'d At<Vec<usize>>>,
    pub(super) separator: Option<u8>,
    pub(super) claims: &'d [Claim],
    pub(super) commands: &'d [(&'static str, Ask, At<Vec<u8>>)],
}

/// Reports what does not go together.
pub(super) fn check(sheet: &mut Sheet<'_>, keys: Keys<'_>, draft: &Draft<'_>) {
    marks(sheet, keys, draft);
    overlaps(sheet, draft);
    same_words(sheet, draft);
    reach(sheet, draft);
    commands(sheet, draft);
}

/// Where a line begins and ends.
fn marks(sheet: &mut Sheet<'_>, keys: Keys<'_>, draft: &Draft<'_>) {
    let start = draft.start.map(|start| start.value.as_slice()).unwrap_or_default();
    let in_line =
        |byte: &u8| byte.is_ascii_alphanumeric() || matches!(byte, b' ' | b'+' | b'-' | b'.' | b',');
    for (key, mark) in [("start", draft.start), ("end", draft.end)] {
        if let Some(mark) = mark.filter(|mark| mark.value.iter().all(in_line)) {
            let expected = "a control character, like \"STX\" or \"CR LF\"";
            sheet.error(
                mark.offset,
                format!("'{key}' has only characters that a line holds as well. Expected {expected}."),
            );
        }
    }
    match draft.end {
        None if keys.get("end").is_none() => {
            let one = draft.lengths.is_some_and(|lengths| lengths.value.len() == 1);
            if draft.start.is_none() || !one {
                sheet.error(
                    0,
                    "Nothing says where a line ends. Expected what it ends with, like end = \"CR LF\", or a 'start' and one 'length'.",
                );
            }
        }
        None => {}
        Some(end) => {
            let holds_start = !start.is_empty() && end.value.windows(start.len()).any(|part| part == start);
            if holds_start {
                sheet.error(end.offset, "'end' holds 'start', and nobody could tell which it is.");
            }
            if draft.separator.is_some_and(|separator| end.value.contains(&separator)) {
                sheet.error(end.offset, "'end' holds the separator.");
            }
        }
    }
}

/// Two keys that want the same characters.
fn overlaps(sheet: &mut Sheet<'_>, draft: &Draft<'_>) {
    for (number, later) in draft.claims.iter().enumerate() {
        for earlier in draft.claims.iter().take(number) {
            if !later.at.overlaps(earlier.at) || later.is_mark() && earlier.is_mark() {
                continue;
            }
            let (a, b) = (&later.key, &earlier.key);
            if later.is_instead() || earlier.is_instead() {
                let (word, fixed) = if later.is_instead() { (later, earlier) } else { (earlier, later) };
                if fixed.key == "always" && !agree(word, fixed) {
                    sheet.error(
                        word.offset,
                        format!(
                            "'{}' can never be there: 'always' has something else at {}.",
                            word.key, fixed.at
                        ),
                    );
                }
                continue;
            }
            let hint = match (a.as_str(), b.as_str()) {
                ("stable" | "moving", "unit") | ("unit", "stable" | "moving") => {
                    " A scale that sends the unit only while it stands still is stable = \"unit\"."
                }
                _ => "",
            };
            sheet.error(
                later.offset,
                format!("'{a}' ({}) and '{b}' ({}) overlap.{hint}", later.at, earlier.at),
            );
        }
    }
}

/// Whether one of the word's texts can stand there together with what always stands there.
fn agree(word: &Claim, fixed: &Claim) -> bool {
    let Some((always, _)) = fixed.is.first() else { return true };
    let letter = |text: &str, at: Place, column: usize| {
        column.checked_sub(at.first).and_then(|index| text.as_bytes().get(index).copied())
    };
    let columns = || fixed.at.first..=fixed.at.last.unwrap_or(fixed.at.first);
    word.is.iter().any(|(text, _)| {
        // What does not fill its place may stand anywhere in it.
        let fills = word.at.width().is_none_or(|width| width == text.len());
        !fills
            || columns().all(|column| {
                let inside = column >= word.at.first && word.at.last.is_none_or(|last| column <= last);
                !inside
                    || letter(text, word.at, column)
                        .is_none_or(|own| Some(own) == letter(always, fixed.at, column))
            })
    })
}

/// The same word at the same place for two things that cannot be at once.
fn same_words(sheet: &mut Sheet<'_>, draft: &Draft<'_>) {
    let group = |claim: &Claim| match claim.key.as_str() {
        "stable" | "moving" => Some(0),
        "gross" | "net" => Some(1),
        _ if claim.is_instead() => Some(2),
        _ => None,
    };
    for (number, later) in draft.claims.iter().enumerate() {
        for earlier in draft.claims.iter().take(number) {
            let (Some(a), Some(b)) = (group(later), group(earlier)) else { continue };
            // Gross and net may say at once that the scale stands still.
            if later.at != earlier.at || a + b == 1 {
                continue;
            }
            for (word, offset) in &later.is {
                if earlier.is.iter().any(|(other, _)| other.trim() == word.trim()) {
                    let (word, a, b) = (quoted(word), &later.key, &earlier.key);
                    sheet.error(*offset, format!("{word} is both '{a}' and '{b}'."));
                }
            }
        }
    }
}

/// A place behind the end of the longest line.
fn reach(sheet: &mut Sheet<'_>, draft: &Draft<'_>) {
    let Some(longest) = draft.lengths.and_then(|lengths| lengths.value.last()) else { return };
    if draft.separator.is_some() {
        return;
    }
    for claim in draft.claims {
        let end = claim.at.last.unwrap_or(claim.at.first);
        if end > *longest {
            sheet.error(
                claim.offset,
                format!(
                    "'{}' reaches to column {end}, and 'length' allows {longest}. Both are counted without the start and end marks.",
                    claim.key
                ),
            );
        }
    }
}

/// A command that would change the scale while it is only looked at.
fn commands(sheet: &mut Sheet<'_>, draft: &Draft<'_>) {
    let harmless = draft.commands.iter().filter(|(_, ask, _)| !ask.changes_the_scale());
    for (key, _, At { value: bytes, offset }) in harmless {
        let mut changing = draft.commands.iter().filter(|(_, ask, _)| ask.changes_the_scale());
        let same = changing.find(|(_, _, other)| {
            other.value == *bytes
                || other.value.len() > 1 && bytes.windows(other.value.len()).any(|part| part == other.value)
        });
        if let Some((other, ..)) = same {
            sheet.error(
                *offset,
                format!("'{key}' would do '{other}' again and again: it is sent to a scale that is only being looked at. Expected a command that asks for the weight."),
            );
            continue;
        }
        let letters: Vec<u8> = bytes.iter().copied().filter(u8::is_ascii_graphic).collect();
        let word = String::from_utf8_lossy(&letters).to_uppercase();
        if matches!(word.as_str(), "Z" | "T" | "ZERO" | "TARE") {
            sheet.warning(
                *offset,
                format!("'{key}' sends {}, and many scales zero or tare at that. Look it up once more before it is used.", quoted(&shown(bytes))),
            );
        }
    }
}

/// Lines from the manual that have to be understood.
pub(super) fn examples(sheet: &mut Sheet<'_>, layout: &Layout, examples: &[At<String>]) {
    for At { value: line, offset } in examples {
        if let Err(why) = layout.read(line.as_bytes(), &mut (None, UnitText::EMPTY)) {
            sheet.error(*offset, format!("This example is not understood: {why}."));
        }
    }
}
