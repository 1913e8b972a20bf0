//! The keys of a description, each read as what it should be. What is not is reported, and reading goes on, so
//! that every mistake is named at once.

use super::problem::{Problem, did_you_mean, nearest, quoted};
use toml_edit::{Item, Key, TableLike, Value};

/// A description's text, and what has been found wrong with it so far.
pub(super) struct Sheet<'t> {
    file: &'t str,
    text: &'t str,
    problems: Vec<Problem>,
}

/// A value and the byte of the text where it starts.
#[derive(Clone, Copy, Debug)]
pub(super) struct At<T> {
    pub(super) value: T,
    pub(super) offset: usize,
}

/// A key's value as it stands in the file.
pub(super) type Raw<'t> = At<&'t Item>;

/// Some keys with their values: the whole file, or a part in braces.
#[derive(Clone, Copy)]
pub(super) struct Keys<'t> {
    table: &'t dyn TableLike,
    /// Where it starts.
    pub(super) offset: usize,
}

impl<'t> Sheet<'t> {
    pub(super) fn new(file: &'t str, text: &'t str) -> Self {
        Self { file, text, problems: Vec::new() }
    }

    pub(super) fn error(&mut self, offset: usize, says: impl AsRef<str>) {
        self.problems.push(Problem::error(self.file, self.text, offset, says.as_ref()));
    }

    pub(super) fn warning(&mut self, offset: usize, says: impl AsRef<str>) {
        let mut problem = Problem::error(self.file, self.text, offset, says.as_ref());
        problem.is_warning = true;
        self.problems.push(problem);
    }

    pub(super) fn has_errors(&self) -> bool {
        self.problems.iter().any(|problem| !problem.is_warning)
    }

    /// What was found, from the top of the text down.
    pub(super) fn into_problems(mut self) -> Vec<Problem> {
        self.problems.sort_by_key(|problem| (problem.line, problem.column));
        self.problems
    }

    fn wrong_type(&mut self, key: &str, item: Raw<'_>, expected: &str) {
        let found = type_name(item.value.type_name());
        self.error(item.offset, format!("'{key}' is {found}. Expected {expected}."));
    }

    /// Text of at least one character; without an example nothing is said of it.
    pub(super) fn text(&mut self, key: &str, item: Raw<'_>, expected: &str) -> Option<At<String>> {
        let Some(text) = item.value.as_str() else {
            self.wrong_type(key, item, expected);
            return None;
        };
        if text.is_empty() {
            self.error(item.offset, format!("'{key}' is empty. Expected {expected}."));
            return None;
        }
        Some(At { value: text.to_owned(), offset: item.offset })
    }

    /// One text or a list of them, none of them empty.
    pub(super) fn texts(&mut self, key: &str, item: Raw<'_>, expected: &str) -> Option<Vec<At<String>>> {
        let items = match item.value {
            Item::Value(Value::Array(list)) => {
                let at = |value: &Value| value.span().map_or(item.offset, |span| span.start);
                list.iter().map(|value| (value.as_str().map(str::to_owned), at(value))).collect()
            }
            value => vec![(value.as_str().map(str::to_owned), item.offset)],
        };
        if items.is_empty() {
            self.error(item.offset, format!("'{key}' is an empty list. Expected {expected}."));
            return None;
        }
        let mut texts = Vec::new();
        for (text, offset) in items {
            match text {
                None => self.error(offset, format!("'{key}' is no text in quotes. Expected {expected}.")),
                Some(text) if text.is_empty() => {
                    self.error(offset, format!("'{key}' is empty. Expected {expected}."));
                }
                Some(value) => texts.push(At { value, offset }),
            }
        }
        Some(texts)
    }

    /// A whole number in that range.
    pub(super) fn number(
        &mut self,
        key: &str,
        item: Raw<'_>,
        range: std::ops::RangeInclusive<i64>,
    ) -> Option<i64> {
        let expected = format!("a whole number from {} to {}", range.start(), range.end());
        match item.value.as_integer() {
            Some(number) if range.contains(&number) => return Some(number),
            Some(number) => self.error(item.offset, format!("'{key}' is {number}. Expected {expected}.")),
            None => self.wrong_type(key, item, &expected),
        }
        None
    }

    /// Yes or no.
    pub(super) fn yes(&mut self, key: &str, item: Raw<'_>) -> bool {
        let yes = item.value.as_bool();
        if yes.is_none() {
            self.wrong_type(key, item, "true or false");
        }
        yes.unwrap_or(false)
    }

    /// One of two words; whether it is the second.
    pub(super) fn either(&mut self, key: &str, item: Raw<'_>, words: [&str; 2]) -> Option<bool> {
        let [first, second] = words;
        match item.value.as_str() {
            Some(word) if word == first => Some(false),
            Some(word) if word == second => Some(true),
            word => {
                let near = did_you_mean(word.and_then(|word| nearest(word, words)));
                self.error(
                    item.offset,
                    format!("'{key}' is wrong. Expected \"{first}\" or \"{second}\".{near}"),
                );
                None
            }
        }
    }

    /// A part in braces, or a section of its own.
    pub(super) fn keys(&mut self, key: &str, item: Raw<'t>, known: &[&str]) -> Option<Keys<'t>> {
        let Some(table) = item.value.as_table_like() else {
            self.wrong_type(key, item, "a part in braces");
            return None;
        };
        let keys = Keys { table, offset: item.offset };
        if !known.is_empty() {
            keys.only(self, known);
        }
        Some(keys)
    }
}

impl<'t> Keys<'t> {
    pub(super) fn of_file(table: &'t toml_edit::Table) -> Self {
        Self { table, offset: 0 }
    }

    /// Reports every key that is not one of `known`.
    pub(super) fn only(self, sheet: &mut Sheet<'_>, known: &[&str]) {
        for (key, item) in self.all() {
            if !known.contains(&key) {
                let offset = self.key_offset(key).unwrap_or(item.offset);
                let near = did_you_mean(nearest(key, known.iter().copied()));
                let known = known.join(", ");
                sheet
                    .error(offset, format!("{} is no key here. Expected one of {known}.{near}", quoted(key)));
            }
        }
    }

    pub(super) fn get(self, key: &str) -> Option<Raw<'t>> {
        let value = self.table.get(key).filter(|item| !item.is_none())?;
        let offset = value.span().map(|span| span.start).or(self.key_offset(key)).unwrap_or(self.offset);
        Some(At { value, offset })
    }

    /// Every key with its value, in the order of the file.
    pub(super) fn all(self) -> impl Iterator<Item = (&'t str, Raw<'t>)> {
        self.table.iter().filter_map(move |(key, _)| Some((key, self.get(key)?)))
    }

    /// Where a key itself stands.
    pub(super) fn key_offset(self, key: &str) -> Option<usize> {
        self.table.key(key).and_then(Key::span).map(|span| span.start)
    }
}

/// What TOML calls a type, in words.
fn type_name(name: &str) -> &str {
    match name {
        "string" => "text",
        "integer" => "a whole number",
        "float" => "a number with a point",
        "boolean" => "true or false",
        "datetime" => "a date or time",
        "array" => "a list",
        "inline table" | "table" => "a part in braces",
        "array of tables" => "a list of parts",
        other => other,
    }
}
