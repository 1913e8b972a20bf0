//! What holds, and where each of it came from.

use super::{Country, FileCommand, FileSettings, Key, Wrong};
use crate::units::{
    Area, DecimalSign, MassShown, Millilitres, Notation, Share, VolumeShown, parse_area, parse_volume,
};
use std::fmt;

/// Where a value came from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Source {
    /// Nobody said anything.
    Default,
    /// It is usual in the country.
    Usual(&'static str),
    /// The file, and the line in it.
    File(String, usize),
    /// An environment variable.
    Environment(&'static str),
    /// An option of the command line.
    Option(&'static str),
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Default => f.write_str("default"),
            Self::Usual(country) => write!(f, "usual in {country}"),
            Self::File(file, line) => write!(f, "{file} line {line}"),
            Self::Environment(name) | Self::Option(name) => f.write_str(name),
        }
    }
}

/// A value given on the command line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Given {
    /// What is set.
    pub key: Key,
    /// To what.
    pub value: String,
    /// By which option.
    pub option: &'static str,
}

/// What holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settings {
    values: Vec<(Key, Option<String>, Source)>,
    /// What is wrong with the environment, in sentences.
    pub wrong: Vec<String>,
}

impl Settings {
    /// Settles what holds from the command line, the environment, the file, what is usual, and the defaults.
    pub fn settle(
        given: &[Given],
        environment: impl Fn(&str) -> Option<String>,
        file: &FileSettings,
        file_name: &str,
    ) -> Self {
        let mut wrong = Vec::new();
        let mut of = |key: Key| -> Option<(String, Source)> {
            if let Some(given) = given.iter().find(|given| given.key == key) {
                return Some((given.value.clone(), Source::Option(given.option)));
            }
            let variable = key.environment().and_then(|name| Some((name, environment(name)?)));
            if let Some((name, value)) = variable.filter(|(_, value)| !value.is_empty()) {
                match key.kind().check(&value) {
                    Ok(()) => return Some((value, Source::Environment(name))),
                    Err(Wrong { what, expected, .. }) => {
                        wrong.push(format!("{name}: {what}. Expected {expected}."));
                    }
                }
            }
            let spoken = file.values.iter().rfind(|spoken| spoken.key == key)?;
            Some((spoken.value.clone(), Source::File(file_name.to_owned(), spoken.line)))
        };
        let country = of(Key::Country).and_then(|(code, _)| Country::of(&code));
        let values = Key::ALL.iter().map(|&key| {
            let usual = || {
                let country = country?;
                Some((key.usual(country)?.to_owned(), Source::Usual(country.name)))
            };
            match of(key).or_else(usual) {
                Some((value, source)) => (key, Some(value), source),
                None => (key, key.default().map(str::to_owned), Source::Default),
            }
        });
        let values = values.collect();
        wrong.dedup();
        Self { values, wrong }
    }

    /// Nothing said by anybody.
    pub fn defaults() -> Self {
        Self::settle(&[], |_| None, &FileSettings::default(), "")
    }

    /// Every setting with what holds and where it came from.
    pub fn all(&self) -> impl Iterator<Item = (Key, Option<&str>, &Source)> {
        self.values.iter().map(|(key, value, source)| (*key, value.as_deref(), source))
    }

    /// What holds; none where nothing does.
    pub fn get(&self, key: Key) -> Option<&str> {
        self.values.iter().find(|(one, ..)| *one == key)?.1.as_deref()
    }

    /// Where it came from.
    pub fn source(&self, key: Key) -> &Source {
        self.values.iter().find(|(one, ..)| *one == key).map_or(&Source::Default, |(.., source)| source)
    }

    /// Whether that switch is on.
    pub fn is_on(&self, key: Key) -> bool {
        self.get(key) == Some("true")
    }

    /// Those milliseconds.
    pub fn milliseconds(&self, key: Key) -> Option<u64> {
        self.get(key)?.trim().parse().ok()
    }

    /// Those days.
    pub fn days(&self, key: Key) -> Option<u16> {
        self.get(key)?.trim().parse().ok()
    }

    /// That whole number.
    pub fn number(&self, key: Key) -> Option<u32> {
        self.get(key)?.trim().parse().ok()
    }

    /// That volume.
    pub fn volume(&self, key: Key) -> Option<Millilitres> {
        parse_volume(self.get(key)?).ok()
    }

    /// That area.
    pub fn area(&self, key: Key) -> Option<Area> {
        parse_area(self.get(key)?).ok()
    }

    /// That percentage.
    pub fn share(&self, key: Key) -> Option<Share> {
        super::kind::percent(self.get(key)?.trim()).map(Share::from_percent)
    }

    /// The program that prints labels; none where none is set.
    pub fn label_print(&self) -> Option<FileCommand> {
        FileCommand::parse(self.get(Key::LabelPrint)?.trim())
    }

    /// How numbers are written.
    pub fn notation(&self) -> Notation {
        let decimal = DecimalSign::ALL.into_iter().find(|sign| Some(sign.name()) == self.get(Key::Decimal));
        let mass = MassShown::ALL.into_iter().find(|mass| Some(mass.name()) == self.get(Key::Mass));
        let volume = VolumeShown::ALL.into_iter().find(|volume| Some(volume.name()) == self.get(Key::Volume));
        Notation {
            decimal: decimal.unwrap_or_default(),
            mass: mass.unwrap_or_default(),
            volume: volume.unwrap_or_default(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_command_line_comes_first_and_the_default_last() {
        let text = "country = \"us\"\ndecimal = \"comma\"\nscale = \"virtual:\"\nshop = \"paint\"\n";
        let file = FileSettings::read("settings.toml", text);
        let given = [Given { key: Key::Shop, value: "here".to_owned(), option: "--shop" }];
        let environment = |name: &str| match name {
            "POURBOOK_SCALE" => Some("tape:x".to_owned()),
            "POURBOOK_SHOP" => Some("there".to_owned()),
            "POURBOOK_BOOK" => Some(String::new()),
            _ => None,
        };
        let settings = Settings::settle(&given, environment, &file, "settings.toml");
        let held = |key| (settings.get(key), settings.source(key).to_string());
        assert_eq!(held(Key::Shop), (Some("here"), "--shop".to_owned()));
        assert_eq!(held(Key::Scale), (Some("tape:x"), "POURBOOK_SCALE".to_owned()));
        assert_eq!(held(Key::Decimal), (Some("comma"), "settings.toml line 2".to_owned()));
        assert_eq!(held(Key::Volume), (Some("us"), "usual in United States".to_owned()));
        assert_eq!(held(Key::Dwell), (Some("1200"), "default".to_owned()));
        assert_eq!(held(Key::Book), (None, "default".to_owned()));
        assert_eq!(settings.notation().volume, VolumeShown::Us);
        assert_eq!(settings.milliseconds(Key::Dwell), Some(1_200));
        assert_eq!(settings.share(Key::TakeWithin), Some(Share::ONE));
        assert_eq!(settings.all().count(), Key::ALL.len());
    }

    /// What cannot be is said, and the next source counts.
    #[test]
    fn a_variable_that_cannot_be_is_said_and_passed_over() {
        let file = FileSettings::read("s", "scale = \"virtual:\"");
        let settings = Settings::settle(
            &[],
            |name| (name == "POURBOOK_SCALE").then(|| "ttyUSB0".to_owned()),
            &file,
            "s",
        );
        assert_eq!(settings.get(Key::Scale), Some("virtual:"));
        assert_eq!(settings.wrong.len(), 1);
        assert!(settings.wrong[0].starts_with("POURBOOK_SCALE: "), "{:?}", settings.wrong);
    }
}
