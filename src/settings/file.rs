//! The settings file: read with all its mistakes at once, and changed without touching anything else in it.

use super::Key;
use crate::catalogue::{Problem, Spot, nearest};
use crate::units::clean;
use toml_edit::{Document, DocumentMut, Item, Value};

/// A value that stands in the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Spoken {
    /// What is set.
    pub key: Key,
    /// To what.
    pub value: String,
    /// The line it stands in, from 1.
    pub line: usize,
}

/// Keys given to an action in the file: `[keys.bench]`, `take = ["Enter"]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyLine {
    /// Where.
    pub context: String,
    /// What they do.
    pub action: String,
    /// The keys, as people write them.
    pub keys: Vec<String>,
    /// Where it stands.
    pub spot: Spot,
    /// The file, as it is named.
    pub file: String,
}

/// What a settings file says.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FileSettings {
    /// The values.
    pub values: Vec<Spoken>,
    /// The keys of the keyboard.
    pub keys: Vec<KeyLine>,
    /// What is wrong with the rest.
    pub problems: Vec<Problem>,
}

impl FileSettings {
    /// Reads a file's text. `name` is the file as problems name it.
    pub fn read(name: &str, text: &str) -> Self {
        let mut page = Page { name, text, out: Self::default() };
        match Document::parse(text) {
            Ok(document) => page.root(&document),
            Err(error) => {
                let at = error.span().map_or(text.len(), |span| span.start);
                page.problem(at, format!("this cannot be read as TOML: {}", error.message()), None, None);
            }
        }
        page.out
    }
}

struct Page<'t> {
    name: &'t str,
    text: &'t str,
    out: FileSettings,
}

impl Page<'_> {
    fn problem(&mut self, at: usize, what: String, expected: Option<String>, nearest: Option<&str>) {
        let mut problem = Problem::error(self.name, Some(Spot::of(self.text, at)), what);
        if let Some(expected) = expected {
            problem = problem.expected(expected);
        }
        self.out.problems.push(problem.did_you_mean(nearest));
    }

    fn root(&mut self, document: &Document<&str>) {
        for (name, item) in document.as_table() {
            let at = place(document.as_table(), name, item);
            match item.as_table_like() {
                Some(table) if name == "keys" => self.keys(table),
                Some(table) => {
                    for (inner, item) in table.iter() {
                        let at = item.span().map_or(at, |span| span.start);
                        self.value(&format!("{name}.{inner}"), item, at);
                    }
                }
                None => self.value(name, item, at),
            }
        }
    }

    fn value(&mut self, name: &str, item: &Item, at: usize) {
        let Some(key) = Key::from_name(name) else {
            let names = Key::ALL.iter().map(|key| key.name());
            let last = |name: &str| name.rsplit('.').next().unwrap_or_default().to_owned();
            // A key in the wrong table, or in none, is known by its own name.
            let elsewhere = Key::ALL.iter().map(|key| key.name()).find(|known| last(known) == last(name));
            let near = nearest(name, names).or(elsewhere);
            return self.problem(at, format!("there is no setting '{}'", clean(name)), None, near);
        };
        let value = match item {
            Item::Value(Value::String(text)) => text.value().clone(),
            Item::Value(Value::Boolean(is)) => is.value().to_string(),
            Item::Value(Value::Integer(number)) => number.value().to_string(),
            _ => {
                return self.problem(
                    at,
                    format!("'{name}' is no single value"),
                    Some(key.kind().expected()),
                    None,
                );
            }
        };
        match key.kind().check(&value) {
            Ok(()) => {
                let line = Spot::of(self.text, at).line;
                self.out.values.push(Spoken { key, value: value.trim().to_owned(), line });
            }
            Err(wrong) => {
                self.problem(at, format!("{name}: {}", wrong.what), Some(wrong.expected), wrong.nearest);
            }
        }
    }

    fn keys(&mut self, contexts: &dyn toml_edit::TableLike) {
        for (context, item) in contexts.iter() {
            let at = item.span().map_or(0, |span| span.start);
            let Some(actions) = item.as_table_like() else {
                let expected = Some("a table of a screen's actions, as [keys.bench]".to_owned());
                self.problem(at, format!("keys.{} is no table", clean(context)), expected, None);
                continue;
            };
            for (action, item) in actions.iter() {
                let at = item.span().map_or(at, |span| span.start);
                let keys: Option<Vec<String>> = match item {
                    Item::Value(Value::String(key)) => Some(vec![key.value().clone()]),
                    Item::Value(Value::Array(keys)) => {
                        keys.iter().map(|key| key.as_str().map(str::to_owned)).collect()
                    }
                    _ => None,
                };
                let Some(keys) = keys else {
                    let expected =
                        Some("a key in quotes, or a list of them, as [\"Enter\", \"F13\"]".to_owned());
                    self.problem(
                        at,
                        format!("keys.{}.{} is no key", clean(context), clean(action)),
                        expected,
                        None,
                    );
                    continue;
                };
                self.out.keys.push(KeyLine {
                    context: context.to_owned(),
                    action: action.to_owned(),
                    keys,
                    spot: Spot::of(self.text, at),
                    file: self.name.to_owned(),
                });
            }
        }
    }
}

fn place(table: &toml_edit::Table, key: &str, item: &Item) -> usize {
    let key = table.key(key).and_then(toml_edit::Key::span).map(|span| span.start);
    item.span().map(|span| span.start).or(key).unwrap_or(0)
}

/// The text of a settings file with one value set; everything else in it stays as it is. None if it is no TOML.
pub fn set(text: &str, key: Key, value: &str) -> Option<String> {
    let mut document: DocumentMut = text.parse().ok()?;
    let new = match key.kind() {
        super::Kind::Switch => Value::from(value.trim() == "true"),
        super::Kind::Milliseconds(..) | super::Kind::Days(..) | super::Kind::Number(..) => {
            value.trim().parse::<i64>().map_or_else(|_| value.into(), Value::from)
        }
        _ => Value::from(value.trim()),
    };
    let table = match key.path() {
        (Some(table), _) => {
            let item = document.entry(table).or_insert_with(toml_edit::table);
            item.as_table_like_mut()?
        }
        (None, _) => document.as_table_mut(),
    };
    let (_, name) = key.path();
    match table.get_mut(name).and_then(Item::as_value_mut) {
        Some(old) => {
            let decor = old.decor().clone();
            *old = new;
            *old.decor_mut() = decor;
        }
        None => {
            table.insert(name, Item::Value(new));
        }
    }
    Some(document.to_string())
}

/// The text without that value; the same if it was not there. None if it is no TOML.
pub fn unset(text: &str, key: Key) -> Option<String> {
    let mut document: DocumentMut = text.parse().ok()?;
    match key.path() {
        (Some(table), name) => {
            if let Some(table) = document.get_mut(table).and_then(Item::as_table_like_mut) {
                table.remove(name);
            }
        }
        (None, name) => {
            document.as_table_mut().remove(name);
        }
    }
    Some(document.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const FILE: &str = "# our bench\npainter = \"Robin\" # in the morning\ncountry = 'de'\n\n[hands-free]\ndwell = 900\n\n\
                        [keys.bench]\ntake = [\"Enter\", \"F13\"]\nnext-tin = \"n\"\n";

    #[test]
    fn values_keys_and_where_they_stand() {
        let read = FileSettings::read("settings.toml", FILE);
        assert_eq!(read.problems, []);
        let said: Vec<_> = read.values.iter().map(|v| (v.key, v.value.as_str(), v.line)).collect();
        assert_eq!(said, [(Key::Painter, "Robin", 2), (Key::Country, "de", 3), (Key::Dwell, "900", 6)]);
        let keys: Vec<_> = read.keys.iter().map(|k| (k.action.as_str(), k.keys.len(), k.spot.line)).collect();
        assert_eq!(keys, [("take", 2, 9), ("next-tin", 1, 10)]);
    }

    #[test]
    fn every_mistake_at_once_each_with_the_nearest_right_one() {
        let text = "panter = \"Robin\"\ntheme = \"drak\"\ndwell = 900\n[hands-free]\non = \"ja\"\n[keys]\nbench = 1\n";
        let read = FileSettings::read("s.toml", text);
        let said: Vec<String> =
            read.problems.iter().map(|p| format!("{} {}", p.location(), p.sentence())).collect();
        assert_eq!(said.len(), 5, "{said:#?}");
        assert!(
            said[0].starts_with("s.toml:1:10 there is no setting 'panter'") && said[0].contains("'painter'")
        );
        assert!(said[1].contains("one of dark, light") && said[1].contains("Did you mean 'dark'?"));
        assert!(said[2].contains("Did you mean 'hands-free.dwell'?"), "{}", said[2]);
        assert!(said[3].contains("true or false"));
        assert_eq!(read.values, []);
    }

    #[test]
    fn one_value_is_set_and_nothing_else_changes() {
        let once = set(FILE, Key::Painter, "Kim").unwrap();
        assert_eq!(once, FILE.replace("\"Robin\"", "\"Kim\""));
        assert_eq!(set(FILE, Key::Dwell, "1500").unwrap(), FILE.replace("900", "1500"));
        assert_eq!(set("", Key::Quiet, "true").unwrap(), "[sounds]\nquiet = true\n");
        assert_eq!(unset(FILE, Key::Dwell).unwrap(), FILE.replace("dwell = 900\n", ""));
        assert_eq!(unset("", Key::Dwell).unwrap(), "");
        assert_eq!(set("[", Key::Painter, "x"), None);
    }

    proptest! {
        /// What was set is read back, whatever else is in the file.
        #[test]
        fn what_is_set_is_what_is_read(name in "[A-Za-z \"'#=]{1,20}") {
            prop_assume!(!name.trim().is_empty());
            let text = set(FILE, Key::Painter, &name).unwrap();
            let read = FileSettings::read("s", &text);
            prop_assert_eq!(&read.problems, &[]);
            let painter = read.values.iter().find(|value| value.key == Key::Painter).unwrap();
            prop_assert_eq!(painter.value.as_str(), name.trim());
        }

        #[test]
        fn any_text_is_read_without_a_panic(text in "(?s).{0,80}") {
            let _ = FileSettings::read("s", &text);
        }
    }
}
