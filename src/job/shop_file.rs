//! A file of the shop that this wing reads: tables of texts, numbers, days and words, each mistake by its line and column.

use crate::catalogue::{Problem, Spot, nearest};
use crate::units::{Decimal, is_unprintable, parse_decimal};
use jiff::civil::Date;
use toml_edit::{Item, TableLike, Value};

/// One file's text, and what is wrong with it so far.
pub(super) struct Sheet<'t> {
    file: &'t str,
    text: &'t str,
    problems: Vec<Problem>,
}

/// What could not be read, and has been said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Said;

/// A key's value; none if the key is not there.
type Read<T> = Result<Option<T>, Said>;

impl<'t> Sheet<'t> {
    pub(super) const fn new(file: &'t str, text: &'t str) -> Self {
        Self { file, text, problems: Vec::new() }
    }

    /// Says what is wrong at that byte, for which that thing is left out.
    pub(super) fn wrong(
        &mut self,
        offset: usize,
        what: &str,
        expected: &str,
        left_out: &'static str,
    ) -> Said {
        let problem = Problem::error(self.file, Some(Spot::of(self.text, offset)), what);
        let problem = if expected.is_empty() { problem } else { problem.expected(expected) };
        self.problems.push(Problem { left_out: Some(left_out), ..problem });
        Said
    }

    /// The whole text as TOML.
    pub(super) fn parse(&mut self) -> Result<toml_edit::Document<&'t str>, Said> {
        toml_edit::Document::parse(self.text).map_err(|error| {
            let offset = error.span().map_or(self.text.len(), |span| span.start);
            self.wrong(offset, &format!("this cannot be read as TOML: {}", error.message()), "", "file")
        })
    }

    /// What was found, from the top of the file down.
    pub(super) fn into_problems(mut self) -> Vec<Problem> {
        self.problems.sort_by_key(|problem| problem.spot.as_ref().map(|spot| (spot.line, spot.column)));
        self.problems
    }
}

/// One table of a file.
#[derive(Clone, Copy)]
pub(super) struct Entry<'t> {
    table: &'t dyn TableLike,
    /// Where it starts.
    pub(super) offset: usize,
    /// What it describes.
    what: &'static str,
    /// What is left out if it is wrong.
    left_out: &'static str,
}

impl<'t> Entry<'t> {
    /// The whole file as one table.
    pub(super) fn of_file(table: &'t toml_edit::Table, what: &'static str) -> Self {
        let first = table.iter().filter_map(|(key, _)| table.key(key)?.span()).map(|span| span.start).min();
        Self { table, offset: first.unwrap_or(0), what, left_out: "value" }
    }

    /// Says of each key that is none of these.
    pub(super) fn only(self, sheet: &mut Sheet<'_>, known: &[&str]) -> Result<(), Said> {
        let mut all = Ok(());
        for (key, _) in self.table.iter().filter(|(key, _)| !known.contains(key)) {
            let meant = nearest(key, known.iter().copied());
            let meant = meant.map(|meant| format!(" (did you mean '{meant}'?)")).unwrap_or_default();
            let what = format!("'{key}' is not a key of a {}{meant}", self.what);
            let expected = format!("one of {}", known.join(", "));
            all = Err(sheet.wrong(self.key_offset(key), &what, &expected, self.left_out));
        }
        all
    }

    fn key_offset(self, key: &str) -> usize {
        self.table.key(key).and_then(toml_edit::Key::span).map_or(self.offset, |span| span.start)
    }

    fn get(self, key: &str) -> Option<(&'t Item, usize)> {
        let item = self.table.get(key).filter(|item| !item.is_none())?;
        Some((item, item.span().map_or_else(|| self.key_offset(key), |span| span.start)))
    }

    /// Where a key's value starts.
    pub(super) fn at(self, key: &str) -> usize {
        self.get(key).map_or(self.offset, |(_, offset)| offset)
    }

    /// A value that has to be there.
    pub(super) fn need<T>(self, sheet: &mut Sheet<'_>, key: &str, read: Read<T>) -> Result<T, Said> {
        read?.ok_or_else(|| {
            sheet.wrong(self.offset, &format!("this {} has no '{key}'", self.what), "", self.left_out)
        })
    }

    /// Text of at least one character that can be printed.
    pub(super) fn text(self, sheet: &mut Sheet<'_>, key: &str) -> Read<String> {
        let Some((item, offset)) = self.get(key) else { return Ok(None) };
        let text = item.as_str().map(str::trim).filter(|text| !text.is_empty());
        match text.filter(|text| !text.chars().any(is_unprintable)) {
            Some(text) => Ok(Some(text.to_owned())),
            None => Err(sheet.wrong(
                offset,
                &format!("'{key}' is no text that can be printed"),
                "text in quotes, at least one character",
                self.left_out,
            )),
        }
    }

    /// A decimal, in quotes or bare, digit for digit; not below nothing.
    pub(super) fn number(self, sheet: &mut Sheet<'_>, key: &str) -> Read<Decimal> {
        let Some((item, offset)) = self.get(key) else { return Ok(None) };
        let digits = match item {
            Item::Value(Value::String(text)) => Some(text.value().as_str()),
            // Never the parser's own float, which could not hold what was written.
            Item::Value(Value::Integer(_) | Value::Float(_)) => {
                item.span().and_then(|span| sheet.text.get(span))
            }
            _ => None,
        };
        match digits.map(parse_decimal) {
            Some(Ok(number)) if number >= Decimal::ZERO => Ok(Some(number)),
            Some(Err(error)) => {
                Err(sheet.wrong(offset, &format!("'{key}' cannot be read: {error}"), "", self.left_out))
            }
            _ => Err(sheet.wrong(
                offset,
                &format!("'{key}' is no number that is nothing or more"),
                "a number, like \"420\"",
                self.left_out,
            )),
        }
    }

    /// A day, as `2026-10-31`.
    pub(super) fn day(self, sheet: &mut Sheet<'_>, key: &str) -> Read<Date> {
        let Some((item, offset)) = self.get(key) else { return Ok(None) };
        let text = match item {
            Item::Value(Value::String(text)) => Some(text.value().as_str()),
            Item::Value(Value::Datetime(_)) => item.span().and_then(|span| sheet.text.get(span)),
            _ => None,
        };
        // A longer form has a time in it, and nobody knows in which zone.
        let day = text.map(str::trim).filter(|text| text.len() == 10).and_then(|text| text.parse().ok());
        day.map(Some).ok_or_else(|| {
            sheet.wrong(
                offset,
                &format!("'{key}' is no day"),
                "year, month and day, like \"2026-10-31\"",
                self.left_out,
            )
        })
    }

    /// One of a few words.
    pub(super) fn word<W: Copy>(self, sheet: &mut Sheet<'_>, key: &str, words: &[(&str, W)]) -> Read<W> {
        let Some(text) = self.text(sheet, key)? else { return Ok(None) };
        if let Some((_, one)) = words.iter().find(|(word, _)| *word == text) {
            return Ok(Some(*one));
        }
        let names: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        let expected = format!("one of {}", names.join(", "));
        Err(sheet.wrong(self.at(key), &format!("'{text}' is not known here"), &expected, self.left_out))
    }

    /// A list of tables, as `[[key]]` or as `key = [{ … }]`; what each is, and what is left out if it is wrong.
    pub(super) fn tables(
        self,
        sheet: &mut Sheet<'_>,
        key: &str,
        (what, left_out): (&'static str, &'static str),
    ) -> Read<Vec<Self>> {
        let Some((item, offset)) = self.get(key) else { return Ok(None) };
        let entry = |table: &'t dyn TableLike, at: Option<std::ops::Range<usize>>| Self {
            table,
            offset: at.map_or(offset, |span| span.start),
            what,
            left_out,
        };
        let inline = |value: &'t Value| value.as_inline_table().map(|table| entry(table, value.span()));
        let found = match item {
            Item::ArrayOfTables(tables) => {
                Some(tables.iter().map(|table| entry(table, table.span())).collect())
            }
            Item::Value(Value::Array(values)) => values.iter().map(inline).collect(),
            _ => None,
        };
        let wanted = format!("a list of tables, [[{key}]]");
        found.map(Some).ok_or_else(|| {
            sheet.wrong(offset, &format!("'{key}' is no list of tables"), &wanted, self.left_out)
        })
    }
}
