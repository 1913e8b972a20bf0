//! What is wrong with a shop's file: where, what, and what to do now.

use super::clean::printable;
use std::fmt;
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// How much a problem costs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// What it stands in had to be left out.
    Error,
    /// Nothing was left out, but it looks like a mistake.
    Warning,
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Error => "error",
            Self::Warning => "warning",
        })
    }
}

/// A place in a file, and the line that stands there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Spot {
    /// The line, from 1.
    pub line: usize,
    /// The character in the line, from 1.
    pub column: usize,
    /// The line itself without what could not be printed; a very long one is cut to the part round the column.
    pub excerpt: String,
    /// How many cells of a screen stand before the column in `excerpt`.
    pub indent: usize,
}

impl Spot {
    /// The longest excerpt, in characters.
    const MOST: usize = 120;

    /// The place of a byte of a text. A byte past the end, or inside a character, counts as the next one that is
    /// neither.
    pub(crate) fn of(text: &str, offset: usize) -> Self {
        let offset = (offset..text.len()).find(|&at| text.is_char_boundary(at)).unwrap_or(text.len());
        let (before, after) = text.split_at(offset);
        let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
        let line = before.matches('\n').count() + 1;
        // A byte-order mark is no character of the first line.
        let left = before.get(line_start..).unwrap_or_default().trim_start_matches('\u{feff}');
        let right = after.split(['\n', '\r']).next().unwrap_or_default();
        let column = left.chars().count() + 1;

        let left = printable(left);
        let skipped = left.chars().count().saturating_sub(Self::MOST / 2);
        let mut excerpt: String = if skipped > 0 { "…" } else { "" }.to_owned();
        excerpt.extend(left.chars().skip(skipped));
        let indent = excerpt.width();
        let room = Self::MOST.saturating_sub(excerpt.chars().count());
        excerpt.extend(printable(right).chars().take(room));
        if right.chars().nth(room).is_some() {
            excerpt.push('…');
        }
        Self { line, column, excerpt, indent }
    }
}

/// One thing wrong in one place. Its texts hold nothing that could not be printed.
///
/// Displayed over several lines without a last line break: where, the line with a mark under the column, what
/// is wrong and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// How much it costs.
    pub severity: Severity,
    /// The file or folder, as a path from where the shop's folder was named.
    pub file: String,
    /// Where in the file; `None` if it is about the file as a whole.
    pub spot: Option<Spot>,
    /// What is wrong, without a full stop.
    pub what: String,
    /// What was expected there, to be read after "expected", without a full stop.
    pub expected: Option<String>,
    /// What to do now: a sentence.
    pub hint: Option<String>,
    /// What is left out because of it: `toner`, `cup`, `colour`, `scale`, `weight`, `file`.
    pub left_out: Option<&'static str>,
}

impl Problem {
    pub(crate) fn error(file: &str, spot: Option<Spot>, what: impl AsRef<str>) -> Self {
        Self {
            severity: Severity::Error,
            file: printable(file),
            spot,
            what: printable(what.as_ref()),
            expected: None,
            hint: None,
            left_out: None,
        }
    }

    pub(super) fn warning(file: &str, spot: Option<Spot>, what: impl AsRef<str>) -> Self {
        Self { severity: Severity::Warning, ..Self::error(file, spot, what) }
    }

    pub(crate) fn expected(self, what: impl AsRef<str>) -> Self {
        Self { expected: Some(printable(what.as_ref())), ..self }
    }

    pub(crate) fn hint(self, what: impl AsRef<str>) -> Self {
        Self { hint: Some(printable(what.as_ref())), ..self }
    }

    /// With the nearest right spelling as the hint, if there is one.
    pub(crate) fn did_you_mean(self, nearest: Option<&str>) -> Self {
        match nearest {
            Some(nearest) => self.hint(format!("Did you mean '{nearest}'?")),
            None => self,
        }
    }

    pub(super) fn leaving_out(self, thing: &'static str) -> Self {
        Self { left_out: Some(thing), ..self }
    }

    /// Where it is, as editors and terminals understand it: `toners.toml:7:12`.
    pub fn location(&self) -> String {
        match &self.spot {
            Some(spot) => format!("{}:{}:{}", self.file, spot.line, spot.column),
            None => self.file.clone(),
        }
    }

    /// What is wrong and what to do, in one line.
    pub fn sentence(&self) -> String {
        let expected = self.expected.as_ref().map(|expected| format!("Expected {expected}."));
        let what = format!("{}.", self.what);
        [Some(what), expected, self.hint.clone()].into_iter().flatten().collect::<Vec<_>>().join(" ")
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.location(), self.severity)?;
        if let Some(thing) = self.left_out {
            write!(f, ", this {thing} is left out")?;
        }
        if let Some(spot) = &self.spot {
            write!(f, "\n  {}\n  {:indent$}^", spot.excerpt, "", indent = spot.indent)?;
        }
        write!(f, "\n  {}", self.sentence())
    }
}

/// A word from a file as a message quotes it: cut when it is very long.
pub(super) fn quoted(word: &str) -> String {
    const MOST: usize = 60;
    let mut cells = 0;
    let mut end = None;
    for (at, c) in word.char_indices() {
        cells += c.width().unwrap_or(1);
        if cells > MOST {
            end = Some(at);
            break;
        }
    }
    match end.and_then(|end| word.get(..end)) {
        Some(start) => format!("'{start}…'"),
        None => format!("'{word}'"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_spot_counts_lines_and_characters_from_one() {
        let text = "first\nzwöi = 2\r\nthird";
        let spot = Spot::of(text, 6);
        assert_eq!((spot.line, spot.column, spot.excerpt.as_str()), (2, 1, "zwöi = 2"));
        let spot = Spot::of(text, text.find('2').unwrap());
        assert_eq!((spot.line, spot.column, spot.indent), (2, 8, 7));
        let spot = Spot::of(text, text.len() + 9);
        assert_eq!((spot.line, spot.column, spot.excerpt.as_str()), (3, 6, "third"));
        let spot = Spot::of("", 0);
        assert_eq!((spot.line, spot.column, spot.excerpt.as_str()), (1, 1, ""));
    }

    #[test]
    fn a_wide_character_takes_two_cells_of_the_indent() {
        let text = "\u{feff}name = \"雪\" x";
        let spot = Spot::of(text, text.find('x').unwrap());
        assert_eq!((spot.column, spot.indent), (12, 12));
    }

    #[test]
    fn a_long_line_is_cut_round_the_column() {
        let text = format!("{}HERE{}", "a".repeat(1000), "b".repeat(1000));
        let spot = Spot::of(&text, 1000);
        assert_eq!(spot.column, 1001);
        assert!(spot.excerpt.starts_with("…aaa") && spot.excerpt.ends_with("bbb…"), "{}", spot.excerpt);
        assert_eq!(spot.excerpt.chars().nth(spot.indent), Some('H'));
    }

    #[test]
    fn shown_with_the_line_and_a_mark_under_the_column() {
        let text = "code = \"PB-1\"\nfinish = \"two\\u0007stage\"\n";
        let problem =
            Problem::error("shop/x.toml", Some(Spot::of(text, 23)), "'two\u{7}stage' is not a finish")
                .expected("one of a, b")
                .hint("Did you mean 'a'?")
                .leaving_out("colour");
        let shown = "shop/x.toml:2:10: error, this colour is left out\n  \
                     finish = \"two\\u0007stage\"\n           ^\n  \
                     'two\u{fffd}stage' is not a finish. Expected one of a, b. Did you mean 'a'?";
        assert_eq!(problem.to_string(), shown);
    }

    proptest! {
        #[test]
        fn any_byte_of_any_text_has_a_spot(text in "(?s).{0,200}", offset in 0_usize..900) {
            let spot = Spot::of(&text, offset);
            prop_assert!(spot.excerpt.chars().count() <= Spot::MOST + 1);
            prop_assert!(!spot.excerpt.chars().any(crate::units::is_unprintable));
        }
    }
}
