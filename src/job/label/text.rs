//! The label's words, and the label as plain text.

use super::layout::pictogram;
use super::{Entered, Label, State, UseBy, When};
use crate::catalogue::Signal;
use unicode_width::UnicodeWidthStr;

/// What each pictogram shows (the names of the Globally Harmonized System, second-hand).
pub(super) const PICTOGRAMS: [(&str, &str); 9] = [
    ("GHS01", "exploding bomb"),
    ("GHS02", "flame"),
    ("GHS03", "flame over circle"),
    ("GHS04", "gas cylinder"),
    ("GHS05", "corrosion"),
    ("GHS06", "skull and crossbones"),
    ("GHS07", "exclamation mark"),
    ("GHS08", "health hazard"),
    ("GHS09", "environment"),
];

/// Said of what the shop has not entered.
const NOT_ON_FILE: &str = "not on file: see the data sheet";
pub(super) const NO_PICTOGRAMS: &str = "pictograms: not on file: see the data sheet";
/// What stands below every label.
pub(super) const FOOT: &str = "Hazards as the shop entered them for the product ready to spray. The data sheet decides; \
                               what is not said here is not known to be harmless.";

/// How wide the text is, and where what belongs to a word begins, in cells.
const WIDTH: usize = 64;
const BESIDE: usize = 13;

pub(in crate::job) const fn isocyanates_words(entered: Entered) -> &'static str {
    match entered {
        Entered::Yes => "contains isocyanates",
        Entered::No => "no isocyanates, as entered",
        Entered::NotOnFile => "isocyanates: not on file: see the data sheet",
    }
}

pub(in crate::job) const fn flammable_words(entered: Entered) -> &'static str {
    match entered {
        Entered::Yes => "FLAMMABLE: keep from sparks and flames",
        Entered::No => "not flammable, as entered",
        Entered::NotOnFile => "whether it is flammable: not on file",
    }
}

pub(in crate::job) const fn signal_words(signal: Option<Signal>) -> &'static str {
    match signal {
        Some(Signal::Danger) => "DANGER",
        Some(Signal::Warning) => "WARNING",
        None => "signal word: not on file: see the data sheet",
    }
}

pub(super) fn sds_words(label: &Label) -> String {
    match &label.sds {
        Some(sds) => format!("Safety data sheet: {sds}"),
        None => "Safety data sheet: where it is kept is not on file; ask for it before use".to_owned(),
    }
}

impl Label {
    /// What it is made ready to spray with, in words.
    pub(super) fn product_words(&self) -> String {
        match &self.product {
            Some(product) if product.is_ready => format!("{} {}", product.code, product.name),
            Some(product) => format!(
                "colour for {} {}; hardener and thinner were not weighed here",
                product.code, product.name
            ),
            None => format!("product {NOT_ON_FILE}"),
        }
    }

    /// Since when it is what it is.
    pub(super) fn state_words(&self, when: When<'_>) -> String {
        match &self.state {
            State::Mixed(at) => format!("mixed {}", when(*at)),
            State::Unfinished => format!("begun {}, NOT FINISHED", when(self.begun)),
            State::GivenUp(at) => format!("begun {}, GIVEN UP {}", when(self.begun), when(*at)),
            State::Emptied { at, kept: false, .. } => {
                format!("begun {}; the cup was emptied {}", when(self.begun), when(*at))
            }
            State::Emptied { at, .. } => format!("begun {}; leftover kept {}", when(self.begun), when(*at)),
        }
    }

    pub(super) fn painter_words(&self) -> &str {
        if self.painter.is_empty() { "somebody who is not on file" } else { &self.painter }
    }

    /// Until when it can be sprayed, in words. What was kept has the day that was said then; with hardener in it, its pot life
    /// where that is over before.
    pub(super) fn use_by_words(&self, when: When<'_>) -> String {
        let kept = match &self.state {
            State::Emptied { kept: true, use_by, .. } => Some(use_by.as_deref()),
            _ => None,
        };
        match (kept, self.use_by) {
            (Some(Some(day)), UseBy::Until(at)) => {
                let pot_life = when(at);
                // It begins with year, month and day too, and ends within its day.
                let is_earlier = pot_life.get(..10).is_some_and(|own| day < own);
                return format!("USE BY {}", if is_earlier { day } else { &pot_life });
            }
            (Some(Some(day)), UseBy::FromHardener(_) | UseBy::NotOnFile) => return format!("USE BY {day}"),
            (Some(None), UseBy::FromHardener(_) | UseBy::NotOnFile) => {
                return "USE BY: it was not said when the leftover was kept".to_owned();
            }
            _ => {}
        }
        match self.use_by {
            UseBy::Until(at) => format!("USE BY {}", when(at)),
            UseBy::FromHardener(minutes) => {
                format!("USE within {minutes} min of the hardener; none is in yet")
            }
            UseBy::Leftover => "USE BY: a leftover with hardener is in it: its label says".to_owned(),
            UseBy::NotOnFile => format!("USE BY: {NOT_ON_FILE}"),
        }
    }

    pub(super) fn statements_words(&self) -> Vec<String> {
        if self.statements.is_empty() {
            return vec![format!("hazard statements: {NOT_ON_FILE}")];
        }
        self.statements.clone()
    }

    pub(super) fn cautions_words(&self) -> Vec<String> {
        if self.cautions.is_empty() {
            return vec![format!("what to do and wear: {NOT_ON_FILE}")];
        }
        self.cautions.clone()
    }

    /// The label as lines of plain text, each of 64 cells at most.
    pub fn text(&self, when: When<'_>) -> Vec<String> {
        let pictograms: Vec<String> = self.pictograms.iter().map(|code| pictogram(code)).collect();
        let pictograms = if pictograms.is_empty() { NOT_ON_FILE.to_owned() } else { pictograms.join(", ") };
        let mut rows = vec![
            ("mix", format!("{:04}", self.number)),
            ("colour", format!("{} {}, {}", self.colour, self.name, self.variant)),
            ("layer", self.layer.name().to_owned()),
            ("product", self.product_words()),
            ("state", self.state_words(when)),
            ("by", self.painter_words().to_owned()),
            ("", self.use_by_words(when)),
            ("", isocyanates_words(self.isocyanates).to_uppercase()),
            ("", flammable_words(self.flammable).to_owned()),
            ("signal word", signal_words(self.signal).trim_start_matches("signal word: ").to_owned()),
            ("pictograms", pictograms),
        ];
        let hazards = self.statements_words().into_iter().enumerate();
        rows.extend(hazards.map(|(at, text)| (if at == 0 { "hazards" } else { "" }, text)));
        let cautions = self.cautions_words().into_iter().enumerate();
        rows.extend(cautions.map(|(at, text)| (if at == 0 { "wear and do" } else { "" }, text)));
        rows.push(("", sds_words(self)));
        rows.push(("code", self.payload().to_string()));
        rows.push(("", FOOT.to_owned()));
        rows.iter().flat_map(|(word, text)| row(word, text)).collect()
    }
}

/// A word and what belongs to it, in as many lines as it takes.
fn row(word: &str, text: &str) -> Vec<String> {
    let room = WIDTH.saturating_sub(BESIDE);
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for part in text.split_whitespace() {
        let blank = usize::from(!line.is_empty());
        if line.width().saturating_add(part.width()).saturating_add(blank) <= room {
            if blank == 1 {
                line.push(' ');
            }
            line.push_str(part);
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for letter in part.chars() {
            line.push(letter);
            if line.width() > room {
                line.pop();
                lines.push(std::mem::replace(&mut line, letter.to_string()));
            }
        }
    }
    lines.push(line);
    let mut word = word;
    lines
        .iter()
        .map(|line| format!("{:BESIDE$}{line}", std::mem::take(&mut word)).trim_end().to_owned())
        .collect()
}
