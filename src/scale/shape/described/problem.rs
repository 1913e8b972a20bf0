//! What is wrong with a description: where, what, and what to do now.

use crate::units::is_unprintable;
use std::fmt;
use unicode_width::UnicodeWidthStr as _;

/// One thing wrong in one place of a description. Its texts hold nothing that could not be printed.
///
/// Displayed over several lines without a last line break: where, the line with a mark under the column, what
/// is wrong and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Whether the description can be used all the same.
    pub is_warning: bool,
    /// The file, as it was named.
    pub file: String,
    /// The line, from 1.
    pub line: usize,
    /// The character in the line, from 1.
    pub column: usize,
    /// What is wrong, what was expected, what to do: sentences.
    pub says: String,
    /// The line itself without what could not be printed; a very long one is cut to the part round the column.
    excerpt: String,
    /// How many cells of a screen stand before the column in `excerpt`.
    indent: usize,
}

/// The longest excerpt, in characters.
const MOST: usize = 120;

impl Problem {
    /// An error at that byte of the text, which has to be at a character's start or at the end.
    pub(super) fn error(file: &str, text: &str, offset: usize, says: &str) -> Self {
        let (before, after) = text.split_at_checked(offset).unwrap_or((text, ""));
        let (lines, left) = before.rsplit_once('\n').unwrap_or(("", before));
        let line = if left.len() == before.len() { 1 } else { lines.matches('\n').count() + 2 };
        // A byte-order mark is no character of the first line.
        let left = left.trim_start_matches('\u{feff}');
        let right = after.split(['\n', '\r']).next().unwrap_or_default();
        let column = left.chars().count() + 1;

        let skipped = column.saturating_sub(1 + MOST / 2);
        let mut excerpt = if skipped > 0 { "…" } else { "" }.to_owned();
        excerpt.extend(printable(left).chars().skip(skipped));
        let indent = excerpt.width();
        let room = MOST.saturating_sub(excerpt.chars().count());
        excerpt.extend(printable(right).chars().take(room));
        if right.chars().nth(room).is_some() {
            excerpt.push('…');
        }
        Self {
            is_warning: false,
            file: printable(file),
            line,
            column,
            says: printable(says),
            excerpt,
            indent,
        }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { is_warning, file, line, column, says, excerpt, indent } = self;
        let severity = if *is_warning { "warning" } else { "error" };
        write!(f, "{file}:{line}:{column}: {severity}\n  {excerpt}\n  {:indent$}^\n  {says}", "")
    }
}

/// The text with each unprintable character replaced by one that can be seen; a tab becomes one blank. As many
/// characters come out as went in, so that columns stay right.
fn printable(text: &str) -> String {
    let visible = |c| match c {
        '\t' => ' ',
        c if is_unprintable(c) => char::REPLACEMENT_CHARACTER,
        c => c,
    };
    text.chars().map(visible).collect()
}

/// A word from a file as a message quotes it: cut when it is very long.
pub(super) fn quoted(word: &str) -> String {
    const MOST: usize = 40;
    let short: String = word.chars().take(MOST).collect();
    let more = if short.len() < word.len() { "…" } else { "" };
    format!("'{short}{more}'")
}

/// The name that is most like what was written, if it is like enough to have been meant.
pub(super) fn nearest<'n>(written: &str, names: impl IntoIterator<Item = &'n str>) -> Option<&'n str> {
    // Cut, so that a huge word does not cost its square.
    let written: String = written.chars().take(40).map(|c| if c == '-' { '_' } else { c }).collect();
    let written = written.to_lowercase();
    // Two letters changed round in a short word are far apart for the first measure, and one step for the second.
    let one_off = |name: &str| name.len() > 2 && strsim::damerau_levenshtein(name, &written) == 1;
    let alike = |name: &str| strsim::jaro_winkler(name, &written).max(if one_off(name) { 0.9 } else { 0.0 });
    let best = names.into_iter().max_by(|a, b| alike(a).total_cmp(&alike(b)))?;
    (alike(best) > 0.75).then_some(best)
}

/// The same as the end of a message.
pub(super) fn did_you_mean(nearest: Option<&str>) -> String {
    nearest.map(|name| format!(" Did you mean '{name}'?")).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_nearest_name_is_found() {
        let names = ["stx", "etx", "value", "not_ready", "poll"];
        for (written, near) in [
            ("SXT", Some("stx")),
            ("vaule", Some("value")),
            ("not-ready", Some("not_ready")),
            ("pol", Some("poll")),
            ("weight", None),
            ("", None),
        ] {
            assert_eq!(nearest(written, names), near, "{written}");
        }
    }

    #[test]
    fn shown_with_the_line_and_a_mark_under_the_column() {
        let text = "name = \"x\"\r\nvlaue = \"\u{7}雪\" # y\n";
        let at = |what| Problem::error("a.toml", text, text.find(what).unwrap(), "It is wrong.").to_string();
        assert_eq!(at("vlaue"), "a.toml:2:1: error\n  vlaue = \"\u{fffd}雪\" # y\n  ^\n  It is wrong.");
        assert!(at("# y").starts_with("a.toml:2:14: error\n"), "{}", at("# y"));
        assert!(at("# y").contains("\n                ^\n"), "{}", at("# y"));
        let long = format!("{}HERE{}", "a".repeat(500), "b".repeat(500));
        let problem = Problem::error("a.toml", &long, 500, "");
        assert_eq!((problem.line, problem.column), (1, 501));
        assert_eq!(problem.excerpt.chars().nth(problem.indent), Some('H'));
    }

    proptest! {
        #[test]
        fn any_byte_of_any_text_has_a_place(text in "(?s).{0,200}", offset in 0_usize..900) {
            let problem = Problem::error("f", &text, offset, &text);
            prop_assert!(problem.excerpt.chars().count() <= MOST + 1);
            let texts = [problem.excerpt, problem.says].concat();
            prop_assert!(!texts.chars().any(is_unprintable));
        }
    }
}
