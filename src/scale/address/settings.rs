//! What an address says behind its `?`: settings, each with its own range and its own words where it cannot be.

use super::{AddressError, Flow, POLL_LEAST_MS, POLL_MOST_MS, Poll, did_you_mean, nearest, shape_names};
use crate::scale::shape::described::Described;
use crate::scale::shape::{self, Shape, UsualLine};
use crate::units::{Division, Grams, MassUnit};
use std::path::Path;

/// The first setting, and what comes after its `&`.
///
/// The path of a description may have a `&` of its own: it goes on to what ends in `.toml`, unless another setting
/// begins before that.
fn split_pair<'a>(query: &'a str, keys: &[&str]) -> (&'a str, &'a str) {
    let mut end = query.find('&').unwrap_or(query.len());
    if query.starts_with("shape=") {
        let mut path = 0;
        for (place, piece) in query.split('&').enumerate() {
            let begins_another = piece.split_once('=').is_some_and(|(key, _)| keys.contains(&key));
            if place > 0 && begins_another {
                break;
            }
            path += piece.len() + usize::from(place > 0);
            if Described::is_file(piece) {
                end = path;
                break;
            }
        }
    }
    let (pair, after) = query.split_at_checked(end).unwrap_or((query, ""));
    (pair, after.strip_prefix('&').unwrap_or(after))
}

/// The settings as they were written, key and value.
pub(super) struct Settings<'a>(Vec<(&'a str, &'a str)>);

impl<'a> Settings<'a> {
    pub(super) fn parse(
        query: &'a str,
        scheme: &'static str,
        keys: &'static [&'static str],
        known: &'static str,
    ) -> Result<Self, AddressError> {
        let mut settings = Vec::new();
        let mut rest = query;
        while !rest.is_empty() {
            let (pair, after) = split_pair(rest, keys);
            rest = after;
            if pair.is_empty() {
                continue;
            }
            let (key, value) = pair.split_once('=').unwrap_or((pair, ""));
            if !keys.contains(&key) {
                let nearest = nearest(key, keys);
                return Err(AddressError::Key { key: key.to_owned(), scheme, known, nearest });
            }
            if settings.iter().any(|(name, _)| *name == key) {
                return Err(AddressError::Twice(key.to_owned()));
            }
            settings.push((key, value));
        }
        Ok(Self(settings))
    }

    fn get(&self, key: &str) -> Option<&'a str> {
        self.0.iter().find(|(name, _)| *name == key).map(|(_, value)| *value)
    }

    fn wrong(key: &str, value: &str, expected: impl Into<String>) -> AddressError {
        AddressError::Value { key: key.to_owned(), value: value.to_owned(), expected: expected.into() }
    }

    pub(super) fn number(&self, key: &str) -> Result<Option<u64>, AddressError> {
        self.get(key)
            .map(|value| {
                value.parse().ok().ok_or_else(|| Self::wrong(key, value, "a whole number was expected"))
            })
            .transpose()
    }

    pub(super) fn choice<T: Copy>(&self, key: &str, of: &[(&str, T)]) -> Result<Option<T>, AddressError> {
        let Some(value) = self.get(key) else { return Ok(None) };
        let names = of.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(" or ");
        let found = of.iter().find(|(name, _)| *name == value).map(|(_, what)| *what);
        found.map(Some).ok_or_else(|| Self::wrong(key, value, format!("{names} was expected")))
    }

    pub(super) fn poll(&self) -> Result<Option<Poll>, AddressError> {
        let Some(value) = self.get("poll") else { return Ok(None) };
        let poll = if value == "none" {
            Some(Poll::Never)
        } else {
            let possible = POLL_LEAST_MS..=POLL_MOST_MS;
            value.parse().ok().filter(|ms| possible.contains(ms)).map(Poll::WhenSilent)
        };
        poll.map(Some).ok_or_else(|| {
            let expected = format!(
                "none or milliseconds, from {POLL_LEAST_MS} to {POLL_MOST_MS}, were expected; a reading has to be \
                 confirmed within a second, so a scale that is asked more seldom never gives a weight"
            );
            Self::wrong("poll", value, expected)
        })
    }

    pub(super) fn rate(&self) -> Result<Option<u32>, AddressError> {
        let Some(value) = self.get("rate") else { return Ok(None) };
        // At one a second none is confirmed in time.
        let rate = value.parse().ok().filter(|rate| (2..=100).contains(rate));
        rate.map(Some)
            .ok_or_else(|| Self::wrong("rate", value, "readings a second, from 2 to 100, were expected"))
    }

    pub(super) fn switch(&self, key: &str) -> Result<Option<bool>, AddressError> {
        self.choice(key, &[("on", true), ("off", false)])
    }

    pub(super) fn flow(&self) -> Result<Flow, AddressError> {
        Ok(self.choice("flow", Flow::NAMES)?.unwrap_or_default())
    }

    pub(super) fn shape(&self) -> Result<Option<&'static dyn Shape>, AddressError> {
        let Some(name) = self.get("shape") else { return Ok(None) };
        if Described::is_file(name) {
            let described = Described::load(Path::new(name)).map_err(AddressError::Description)?;
            return Ok(Some(described));
        }
        if name == shape::Bytes::NAME {
            return Ok(Some(&shape::Bytes));
        }
        shape::by_name(name).map(Some).ok_or_else(|| {
            Self::wrong(
                "shape",
                name,
                format!("one of {} was expected{}", shape_names(), did_you_mean(shape::nearest_name(name))),
            )
        })
    }

    pub(super) fn division(&self) -> Result<Option<Division>, AddressError> {
        let grams = self.grams("division")?;
        Ok(grams.and_then(|grams| Division::new(grams.decimal())))
    }

    pub(super) fn capacity(&self) -> Result<Option<Grams>, AddressError> {
        self.grams("capacity")
    }

    pub(super) fn unit(&self) -> Result<Option<MassUnit>, AddressError> {
        let units: Vec<_> = MassUnit::ALL.iter().map(|unit| (unit.symbol(), *unit)).collect();
        self.choice("unit", &units)
    }

    fn grams(&self, key: &str) -> Result<Option<Grams>, AddressError> {
        let Some(value) = self.get(key) else { return Ok(None) };
        let grams = Grams::parse(value).map_err(|error| Self::wrong(key, value, error.to_string()))?;
        if grams.is_positive() {
            Ok(Some(grams))
        } else {
            Err(Self::wrong(key, value, "grams, more than nothing, were expected"))
        }
    }

    /// Line settings, from the usual ones and what is given; none if nothing is.
    pub(super) fn line(&self, usual: UsualLine) -> Result<Option<UsualLine>, AddressError> {
        let baud = self.number("baud")?;
        let frame = self.get("line");
        if baud.is_none() && frame.is_none() {
            return Ok(None);
        }
        let mut line = usual;
        if let Some(baud) = baud {
            line.baud =
                u32::try_from(baud).ok().filter(|baud| (50..=4_000_000).contains(baud)).ok_or_else(|| {
                    Self::wrong("baud", &baud.to_string(), "bits a second, as 9600, were expected")
                })?;
        }
        if let Some(text) = frame {
            line = parse_frame(text, line.baud).ok_or_else(|| {
                Self::wrong("line", text, "data bits, parity and stop bits were expected, as 8N1 or 7E1")
            })?;
        }
        Ok(Some(line))
    }
}

pub(in crate::scale) fn parse_frame(text: &str, baud: u32) -> Option<UsualLine> {
    let mut letters = text.chars();
    let (data, parity, stop, end) = (letters.next()?, letters.next()?, letters.next()?, letters.next());
    let parity = parity.to_ascii_uppercase();
    let good = matches!(data, '7' | '8')
        && matches!(parity, 'N' | 'E' | 'O')
        && matches!(stop, '1' | '2')
        && end.is_none();
    let digit = |c: char| c.to_digit(10).and_then(|digit| u8::try_from(digit).ok());
    good.then_some(UsualLine { baud, data_bits: digit(data)?, parity, stop_bits: digit(stop)? })
}

#[cfg(test)]
mod tests {
    use super::super::SERIAL_KEYS;
    use super::split_pair;
    use rstest::rstest;

    #[rstest]
    #[case("shape=/a/b&c.toml&poll=250", "shape=/a/b&c.toml", "poll=250")]
    #[case("shape=a&b/c & d.TOML", "shape=a&b/c & d.TOML", "")]
    #[case("shape=x=y&z.toml&&dtr=off", "shape=x=y&z.toml", "&dtr=off")]
    // What is no path stays what it was.
    #[case("shape=sma&bauds=9600", "shape=sma", "bauds=9600")]
    #[case("shape=sma&poll=250&odd.toml", "shape=sma", "poll=250&odd.toml")]
    #[case("shape=a.toml&b.toml", "shape=a.toml", "b.toml")]
    #[case("poll=250&shape=a&b.toml", "poll=250", "shape=a&b.toml")]
    #[case("shape=", "shape=", "")]
    fn a_setting_ends_at_the_next(#[case] query: &str, #[case] pair: &str, #[case] after: &str) {
        assert_eq!(split_pair(query, SERIAL_KEYS), (pair, after));
    }
}
