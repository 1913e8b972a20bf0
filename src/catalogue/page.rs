//! A file being read: its text, and what has been found wrong with it so far.

use super::Source;
use super::problem::{Problem, Spot};
use std::ops::Range;

/// One file's text and its problems.
pub(super) struct Page<'t> {
    file: &'t str,
    text: &'t str,
    /// What one entry of the file is: `toner`, `cup`, `colour`.
    thing: &'static str,
    problems: Vec<Problem>,
}

impl<'t> Page<'t> {
    pub(super) fn new(file: &'t str, text: &'t str, thing: &'static str) -> Self {
        Self { file, text, thing, problems: Vec::new() }
    }

    /// An error at that byte, for which the entry it stands in is left out.
    pub(super) fn error(&self, offset: usize, what: impl AsRef<str>) -> Problem {
        Problem::error(self.file, Some(Spot::of(self.text, offset)), what).leaving_out(self.thing)
    }

    /// From here on the entries are of another kind.
    pub(super) fn turn_to(&mut self, thing: &'static str) {
        self.thing = thing;
    }

    /// A warning at that byte.
    pub(super) fn warning(&self, offset: usize, what: impl AsRef<str>) -> Problem {
        Problem::warning(self.file, Some(Spot::of(self.text, offset)), what)
    }

    pub(super) fn report(&mut self, problem: Problem) {
        self.problems.push(problem);
    }

    /// The text as it stands in the file.
    pub(super) fn raw(&self, span: Range<usize>) -> &'t str {
        self.text.get(span).unwrap_or_default()
    }

    /// Which file it is, and which version of it.
    pub(super) fn source(&self) -> Source {
        Source::of(self.file, self.text)
    }

    /// Where a byte is, as `toners.toml:7:12`.
    pub(super) fn location(&self, offset: usize) -> String {
        self.error(offset, "").location()
    }

    /// The whole text as TOML; a syntax error is reported.
    pub(super) fn parse(&mut self) -> Option<toml_edit::Document<&'t str>> {
        match toml_edit::Document::parse(self.text) {
            Ok(document) => Some(document),
            Err(error) => {
                let offset = error.span().map_or(self.text.len(), |span| span.start);
                let problem = self
                    .error(offset, format!("this cannot be read as TOML: {}", error.message()))
                    .leaving_out("file");
                self.report(problem);
                None
            }
        }
    }

    /// What was found, from the top of the file down.
    pub(super) fn into_problems(mut self) -> Vec<Problem> {
        self.problems.sort_by_key(|problem| problem.spot.as_ref().map(|spot| (spot.line, spot.column)));
        self.problems
    }
}
