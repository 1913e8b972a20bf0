//! The keys of one table of a shop's file, each read as what it should be. What is not is reported, and
//! reading goes on, so that every mistake in a file is named at once.

use super::nearest::nearest;
use super::page::Page;
use super::problem::quoted;
use super::{Swatch, Word};
use crate::units::is_unprintable;
use crate::units::{Decimal, Share, parse_decimal};
use toml_edit::{Item, TableLike, Value};

/// A value and the byte of the file where it starts.
#[derive(Clone, Copy, Debug)]
pub(super) struct At<T> {
    pub(super) value: T,
    pub(super) offset: usize,
}

/// What could not be read, and has been reported.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reported;

/// A key's value; `None` if the key is not there.
pub(super) type Read<T> = Result<Option<At<T>>, Reported>;

/// The tables of a list: those that are tables come out even when others are not.
#[derive(Clone)]
pub(super) struct Tables<'t> {
    pub(super) tables: Vec<Fields<'t>>,
    /// Whether everything in the list was a table.
    pub(super) complete: bool,
}

/// One table of a file.
#[derive(Clone, Copy)]
pub(super) struct Fields<'t> {
    table: &'t dyn TableLike,
    /// Where the table starts.
    pub(super) offset: usize,
    /// What it describes: `toner`, `layer`, `pour`.
    what: &'static str,
}

impl<'t> Fields<'t> {
    pub(super) fn new(table: &'t dyn TableLike, offset: usize, what: &'static str) -> Self {
        Self { table, offset, what }
    }

    /// The whole file as one table. It starts at its first key.
    pub(super) fn of_file(table: &'t toml_edit::Table, what: &'static str) -> Self {
        let first = table.iter().filter_map(|(key, _)| table.key(key)?.span()).map(|span| span.start).min();
        Self { table, offset: first.unwrap_or(0), what }
    }

    /// Reports every key that is not one of `known`.
    pub(super) fn only(self, page: &mut Page<'_>, known: &[&str]) -> Result<(), Reported> {
        let mut result = Ok(());
        for (key, _) in self.table.iter() {
            if known.contains(&key) {
                continue;
            }
            let problem = page
                .error(self.key_offset(key), format!("{} is not a key of a {}", quoted(key), self.what))
                .expected(format!("one of {}", known.join(", ")))
                .did_you_mean(nearest(key, known.iter().copied()));
            page.report(problem);
            result = Err(Reported);
        }
        result
    }

    /// A value that must be there, read by `read`. `example` is what a right line looks like.
    pub(super) fn need<T>(
        self,
        page: &mut Page<'_>,
        key: &str,
        example: &str,
        read: impl FnOnce(Self, &mut Page<'_>, &str) -> Read<T>,
    ) -> Result<At<T>, Reported> {
        read(self, page, key)?.ok_or_else(|| {
            let problem = page
                .error(self.offset, format!("this {} has no '{key}'", self.what))
                .hint(format!("Add it, like {example}"));
            page.report(problem);
            Reported
        })
    }

    /// Text of at least one character, blanks round it removed.
    pub(super) fn text(self, page: &mut Page<'_>, key: &str) -> Read<String> {
        let Some((item, offset)) = self.get(key) else { return Ok(None) };
        let Some(text) = item.as_str() else {
            return Err(wrong_type(page, key, item, offset, "text in quotes"));
        };
        let text = text.trim_matches(' ');
        let problem = if text.is_empty() {
            page.error(offset, format!("'{key}' is empty")).expected("at least one character")
        } else if text.chars().any(is_unprintable) {
            page.error(offset, format!("'{key}' holds a control character: {}", quoted(text)))
                .expected("characters that can be printed")
                .hint("Write it again by hand; it may have been pasted along.")
        } else {
            return Ok(Some(At { value: text.to_owned(), offset }));
        };
        page.report(problem);
        Err(Reported)
    }

    /// A list of texts, each of at least one character.
    pub(super) fn texts(self, page: &mut Page<'_>, key: &str) -> Read<Vec<At<String>>> {
        let Some((item, offset)) = self.get(key) else { return Ok(None) };
        let Some(list) = item.as_array() else {
            return Err(wrong_type(page, key, item, offset, "a list of texts in quotes"));
        };
        let mut texts = Vec::new();
        for value in list {
            let at = value.span().map_or(offset, |span| span.start);
            match value.as_str().map(str::trim) {
                Some(text) if !text.is_empty() && !text.chars().any(is_unprintable) => {
                    texts.push(At { value: text.to_owned(), offset: at });
                }
                _ => {
                    let problem = page
                        .error(at, format!("'{key}' holds something that is no text"))
                        .expected("texts in quotes, like [\"2000000000015\"]");
                    page.report(problem);
                    return Err(Reported);
                }
            }
        }
        Ok(Some(At { value: texts, offset }))
    }

    /// One of a few words.
    pub(super) fn word<W: Word>(self, page: &mut Page<'_>, key: &str) -> Read<W> {
        let Some(At { value: text, offset }) = self.text(page, key)? else { return Ok(None) };
        if let Some(&value) = W::ALL.iter().find(|one| one.word() == text) {
            return Ok(Some(At { value, offset }));
        }
        let words: Vec<_> = W::ALL.iter().map(|one| one.word()).collect();
        let problem = page
            .error(offset, format!("{} is not {}", quoted(&text), W::NOUN))
            .expected(format!("one of {}", words.join(", ")))
            .did_you_mean(nearest(&text, words));
        page.report(problem);
        Err(Reported)
    }

    /// A decimal written as text or as a bare number, digit for digit as it stands in the file.
    pub(super) fn number(self, page: &mut Page<'_>, key: &str) -> Read<Decimal> {
        let Some((item, offset)) = self.get(key) else { return Ok(None) };
        let digits = match item {
            Item::Value(Value::String(text)) => text.value().as_str(),
            // The parser's own integer and float are never used: a float could not hold what was written.
            Item::Value(Value::Integer(_) | Value::Float(_)) => page.raw(item.span().unwrap_or(0..0)),
            _ => return Err(wrong_type(page, key, item, offset, "a number")),
        };
        parse_decimal(digits).map(|value| Some(At { value, offset })).map_err(|error| {
            page.report(page.error(offset, format!("'{key}' cannot be read: {error}")));
            Reported
        })
    }

    /// As [`Fields::number`], more than nothing.
    pub(super) fn positive(self, page: &mut Page<'_>, key: &str, unit: &str) -> Read<Decimal> {
        let read = self.number(page, key)?;
        match read {
            Some(At { value, offset }) if value <= Decimal::ZERO => {
                let problem = page
                    .error(offset, format!("'{key}' is {value}"))
                    .expected(format!("a number of {unit}, more than zero"));
                page.report(problem);
                Err(Reported)
            }
            read => Ok(read),
        }
    }

    /// A whole number from `least` to a hundred thousand, of `unit`.
    pub(super) fn whole(self, page: &mut Page<'_>, key: &str, unit: &str, least: u32) -> Read<u32> {
        let Some(At { value, offset }) = self.number(page, key)? else { return Ok(None) };
        let whole = value.is_integer().then(|| u32::try_from(value).ok()).flatten();
        if let Some(value) = whole.filter(|whole| (least..=100_000).contains(whole)) {
            return Ok(Some(At { value, offset }));
        }
        let problem = page
            .error(offset, format!("'{key}' is {value}"))
            .expected(format!("a whole number of {unit}, {least} or more"));
        page.report(problem);
        Err(Reported)
    }

    /// `true` or `false`; "yes" and "no" in quotes are as good.
    pub(super) fn flag(self, page: &mut Page<'_>, key: &str) -> Read<bool> {
        let Some((item, offset)) = self.get(key) else { return Ok(None) };
        let said = item.as_bool().or_else(|| match item.as_str().map(str::trim) {
            Some("yes") => Some(true),
            Some("no") => Some(false),
            _ => None,
        });
        match said {
            Some(value) => Ok(Some(At { value, offset })),
            None => Err(wrong_type(page, key, item, offset, "true or false")),
        }
    }

    /// The keys of this table as they stand, for a table whose keys are the shop's own words.
    pub(super) fn own_keys(self, page: &mut Page<'_>) -> Result<Vec<At<String>>, Reported> {
        let mut keys = Vec::new();
        for (key, _) in self.table.iter() {
            let offset = self.key_offset(key);
            if key.trim().is_empty() || key.chars().any(is_unprintable) {
                let problem = page
                    .error(offset, format!("{} is no name for a key of {}", quoted(key), self.what))
                    .expected("characters that can be printed");
                page.report(problem);
                return Err(Reported);
            }
            keys.push(At { value: key.to_owned(), offset });
        }
        Ok(keys)
    }

    /// A percentage with its sign, more than nothing and at most all of it.
    pub(super) fn percentage(self, page: &mut Page<'_>, key: &str) -> Read<Share> {
        let Some((item, offset)) = self.get(key) else { return Ok(None) };
        let (written, share) = match item {
            Item::Value(Value::String(text)) => {
                let text = text.value().trim();
                (
                    text.to_owned(),
                    text.strip_suffix('%').map(|digits| parse_decimal(digits).map_err(|e| e.to_string())),
                )
            }
            Item::Value(Value::Integer(_) | Value::Float(_)) => {
                (page.raw(item.span().unwrap_or(0..0)).to_owned(), None)
            }
            _ => return Err(wrong_type(page, key, item, offset, "a percentage")),
        };
        let problem = match share {
            Some(Ok(percent)) if percent > Decimal::ZERO && percent <= Decimal::ONE_HUNDRED => {
                return Ok(Some(At { value: Share::from_percent(percent), offset }));
            }
            Some(Ok(_)) => page
                .error(offset, format!("'{key}' is {}", quoted(&written)))
                .expected("more than 0 % and at most 100 %"),
            Some(Err(error)) => page.error(offset, format!("'{key}' cannot be read: {error}")),
            // Nobody can know whether a bare 1 is all of it or one in a hundred.
            None => page
                .error(offset, format!("'{key}' has no percent sign: {}", quoted(&written)))
                .expected("a percentage in quotes, like \"1 %\""),
        };
        page.report(problem);
        Err(Reported)
    }

    /// A colour for the screen.
    pub(super) fn swatch(self, page: &mut Page<'_>, key: &str) -> Read<Swatch> {
        let Some(At { value: text, offset }) = self.text(page, key)? else { return Ok(None) };
        if let Some(value) = Swatch::parse(&text) {
            return Ok(Some(At { value, offset }));
        }
        let problem = page
            .error(offset, format!("{} is not a swatch", quoted(&text)))
            .expected("# and six hexadecimal digits, like \"#f2f1ec\"");
        page.report(problem);
        Err(Reported)
    }

    /// One table: `[key]` or `key = { .. }`.
    pub(super) fn table(self, page: &mut Page<'_>, key: &str, what: &'static str) -> Read<Fields<'t>> {
        let Some((item, offset)) = self.get(key) else { return Ok(None) };
        match item.as_table_like() {
            Some(table) => Ok(Some(At { value: Fields::new(table, offset, what), offset })),
            None => Err(wrong_type(page, key, item, offset, "a table")),
        }
    }

    /// A list of tables, however it is written: `[[key]]` or `key = [ { .. } ]`.
    pub(super) fn tables(self, page: &mut Page<'_>, key: &str, what: &'static str) -> Read<Tables<'t>> {
        let Some((item, offset)) = self.get(key) else { return Ok(None) };
        let mut complete = true;
        let tables = match item {
            Item::ArrayOfTables(tables) => tables
                .iter()
                .map(|table| Fields::new(table, table.span().map_or(offset, |span| span.start), what))
                .collect(),
            Item::Value(Value::Array(values)) => {
                let mut found = Vec::new();
                for value in values {
                    let at = value.span().map_or(offset, |span| span.start);
                    if let Value::InlineTable(table) = value {
                        found.push(Fields::new(table, at, what));
                    } else {
                        let problem = page
                            .error(at, format!("this {what} is {}", type_name(value.type_name())))
                            .expected("a table in braces");
                        page.report(problem);
                        complete = false;
                    }
                }
                found
            }
            _ => return Err(wrong_type(page, key, item, offset, "a list of tables")),
        };
        Ok(Some(At { value: Tables { tables, complete }, offset }))
    }

    /// The value of a key and where it starts.
    fn get(self, key: &str) -> Option<(&'t Item, usize)> {
        let item = self.table.get(key).filter(|item| !item.is_none())?;
        let offset = item.span().map_or_else(|| self.key_offset(key), |span| span.start);
        Some((item, offset))
    }

    fn key_offset(self, key: &str) -> usize {
        self.table.key(key).and_then(toml_edit::Key::span).map_or(self.offset, |span| span.start)
    }
}

fn wrong_type(page: &mut Page<'_>, key: &str, item: &Item, offset: usize, expected: &str) -> Reported {
    let problem =
        page.error(offset, format!("'{key}' is {}", type_name(item.type_name()))).expected(expected);
    page.report(problem);
    Reported
}

/// What TOML calls a type, in words.
fn type_name(name: &str) -> &str {
    match name {
        "string" => "text",
        "integer" => "a whole number",
        "float" => "a number",
        "boolean" => "true or false",
        "datetime" => "a date or time",
        "array" => "a list",
        "inline table" | "table" => "a table",
        "array of tables" => "a list of tables",
        other => other,
    }
}
