//! Where a scale is, as text: `serial:/dev/ttyUSB0?baud=9600&line=8N1&shape=sma`, `tcp:HOST:PORT?shape=sma`,
//! `tape:FILE`, `virtual:`.

use super::shape::described::{Described, DescriptionError};
use super::shape::{self, Shape, UsualLine};
use crate::units::{Division, Grams, MassUnit};
use std::fmt;
use std::path::{Path, PathBuf};
use std::str::FromStr;
use thiserror::Error;

/// Where a scale is and how to talk to it.
#[derive(Clone, Debug)]
pub struct Address {
    /// The way there.
    pub place: Place,
    /// What it speaks; a tape may say so itself.
    pub shape: Option<&'static dyn Shape>,
    /// Its division, where the shop says so.
    pub division: Option<Division>,
    /// The most it weighs, where the shop says so.
    pub capacity: Option<Grams>,
    /// Its unit, where it never says one: some formats have none.
    pub unit: Option<MassUnit>,
    /// Whether to ask it when it does not speak by itself.
    pub poll: Poll,
}

/// The way to a scale.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Place {
    /// A serial port.
    Serial {
        /// The device, `/dev/ttyUSB0`.
        path: String,
        /// Its line settings; the shape's usual ones where none are given.
        line: Option<UsualLine>,
        /// Whether to raise data terminal ready.
        dtr: bool,
        /// Whether to raise request to send.
        rts: bool,
    },
    /// A serial server that passes bytes unchanged.
    Tcp {
        /// Host and port.
        host: String,
    },
    /// A recorded byte stream.
    Tape {
        /// The file.
        file: PathBuf,
        /// As fast as it goes, rather than at its own speed.
        full_speed: bool,
    },
    /// The virtual bench.
    Virtual {
        /// Where its chance begins.
        seed: u64,
        /// Readings a second.
        rate_hz: u32,
    },
}

/// Whether to ask a scale for weights.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Poll {
    /// If it stays silent and the format has a harmless question: every so many milliseconds.
    WhenSilent(u64),
    /// Never.
    Never,
}

/// Why a text is no address.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum AddressError {
    /// No scheme, or one that is not known.
    #[error(
        "'{text}' does not say how to reach the scale: begin with serial:, tcp:, tape: or virtual:, \
         as in serial:/dev/ttyUSB0?shape=sma{}", did_you_mean(*.nearest)
    )]
    Scheme {
        /// What was written.
        text: String,
        /// The scheme that was probably meant.
        nearest: Option<&'static str>,
    },
    /// RFC 2217 servers.
    #[error("rfc2217: is not there yet: set the server to raw TCP and use tcp:HOST:PORT?shape=…")]
    NotYet,
    /// Nothing behind the scheme.
    #[error("'{0}' names no {1}")]
    Nowhere(String, &'static str),
    /// A host without a port.
    #[error("'{0}' has no port: write tcp:HOST:PORT, as in tcp:192.0.2.7:4001")]
    Port(String),
    /// A setting that is written twice.
    #[error("{0} is there twice: which of them counts? Write it once")]
    Twice(String),
    /// A setting that is not known for this scheme.
    #[error("'{key}' is no setting of {scheme}: use {known}{}", did_you_mean(*.nearest))]
    Key {
        /// What was written.
        key: String,
        /// The scheme.
        scheme: &'static str,
        /// The settings it has.
        known: &'static str,
        /// The one that was probably meant.
        nearest: Option<&'static str>,
    },
    /// A value that cannot be.
    #[error("{key}={value} cannot be: {expected}")]
    Value {
        /// The setting.
        key: String,
        /// What was written.
        value: String,
        /// What was expected.
        expected: String,
    },
    /// A described format whose description cannot be used.
    #[error(transparent)]
    Description(DescriptionError),
    /// No format.
    #[error(
        "the address does not say what the scale speaks: add ?shape= with one of {0}, the FILE.toml that describes it, or none to see its bytes"
    )]
    NoShape(String),
}

/// The name that is most like what was written, if it is like enough.
fn nearest(written: &str, names: &[&'static str]) -> Option<&'static str> {
    let alike = |name: &str| strsim::jaro_winkler(name, written);
    let best = names.iter().copied().max_by(|a, b| alike(a).total_cmp(&alike(b)))?;
    (alike(best) > 0.7).then_some(best)
}

fn did_you_mean(nearest: Option<&str>) -> String {
    nearest.map(|name| format!(" (did you mean {name}?)")).unwrap_or_default()
}

/// How often a scale is asked, unless the address says otherwise.
const POLL_MS: u64 = 100;
/// How often a scale may be asked at most: a question and its answer take that long on a slow line.
const POLL_LEAST_MS: u64 = 20;
/// How often the virtual bench speaks, unless the address says otherwise.
const RATE_HZ: u32 = 10;

const SCHEMES: &[&str] = &["serial:", "tcp:", "tape:", "virtual:"];

const SERIAL_KEYS: &[&str] = &["baud", "line", "shape", "dtr", "rts", "poll", "division", "capacity", "unit"];
const TCP_KEYS: &[&str] = &["shape", "poll", "division", "capacity", "unit"];
const TAPE_KEYS: &[&str] = &["speed", "shape", "division", "capacity", "unit"];
const VIRTUAL_KEYS: &[&str] = &["seed", "rate", "shape", "division", "capacity"];

impl Address {
    /// The virtual bench of that seed.
    pub fn virtual_bench(seed: u64) -> Self {
        Self {
            place: Place::Virtual { seed, rate_hz: RATE_HZ },
            shape: Some(&shape::Sma),
            division: Some(Division::TENTH),
            capacity: Some(VIRTUAL_CAPACITY),
            unit: None,
            poll: Poll::Never,
        }
    }

    /// What the scale speaks; SMA where nobody said.
    pub fn shape(&self) -> &'static dyn Shape {
        self.shape.unwrap_or(&shape::Sma)
    }
}

/// What the virtual bench weighs at most, in grams.
const VIRTUAL_CAPACITY: Grams = Grams::new(crate::units::Decimal::from_parts(7_500, 0, 0, false, 0));

impl FromStr for Address {
    type Err = AddressError;

    fn from_str(text: &str) -> Result<Self, AddressError> {
        let text = text.trim();
        let no_scheme = |written: &str| {
            // A path is no misspelt scheme.
            let nearest = if written.contains('/') { None } else { nearest(written, SCHEMES) };
            AddressError::Scheme { text: text.to_owned(), nearest }
        };
        let (scheme, rest) = text.split_once(':').ok_or_else(|| no_scheme(text))?;
        let (body, query) = rest.split_once('?').unwrap_or((rest, ""));
        let nowhere = |what| AddressError::Nowhere(text.to_owned(), what);
        let (keys, known): (_, &'static str) = match scheme {
            "serial" => (SERIAL_KEYS, "baud, line, shape, dtr, rts, poll, division, capacity, unit"),
            "tcp" => (TCP_KEYS, "shape, poll, division, capacity, unit"),
            "tape" => (TAPE_KEYS, "speed, shape, division, capacity, unit"),
            "virtual" => (VIRTUAL_KEYS, "seed, rate, shape, division, capacity"),
            "rfc2217" => return Err(AddressError::NotYet),
            _ => return Err(no_scheme(scheme)),
        };
        let settings = Settings::parse(query, scheme_name(scheme), keys, known)?;
        let place = match scheme {
            "serial" if body.is_empty() => return Err(nowhere("port")),
            "serial" => Place::Serial {
                path: body.to_owned(),
                line: None,
                dtr: settings.switch("dtr")?.unwrap_or(true),
                rts: settings.switch("rts")?.unwrap_or(true),
            },
            "tcp" if body.is_empty() || body.starts_with(':') => return Err(nowhere("host")),
            "tcp" => {
                let port = body.rsplit_once(':').and_then(|(_, port)| port.parse::<u16>().ok());
                if port.is_none_or(|port| port == 0) {
                    return Err(AddressError::Port(text.to_owned()));
                }
                Place::Tcp { host: body.to_owned() }
            }
            "tape" if body.is_empty() => return Err(nowhere("file")),
            "tape" => Place::Tape {
                file: PathBuf::from(body),
                full_speed: settings.choice("speed", &[("own", false), ("full", true)])?.unwrap_or(false),
            },
            _ => {
                let seed = settings.number("seed")?.unwrap_or(1);
                return Ok(Self {
                    place: Place::Virtual { seed, rate_hz: settings.rate()?.unwrap_or(RATE_HZ) },
                    shape: settings.shape()?.or(Some(&shape::Sma)),
                    division: settings.division()?.or(Some(Division::TENTH)),
                    capacity: settings.capacity()?.or(Some(VIRTUAL_CAPACITY)),
                    ..Self::virtual_bench(seed)
                });
            }
        };
        let shape = settings.shape()?;
        let place = match place {
            Place::Serial { path, dtr, rts, .. } => {
                let shape = shape.ok_or_else(|| AddressError::NoShape(shape_names()))?;
                Place::Serial { path, line: settings.line(shape.usual_line())?, dtr, rts }
            }
            Place::Tcp { .. } if shape.is_none() => return Err(AddressError::NoShape(shape_names())),
            other => other,
        };
        let poll = match settings.poll()? {
            Some(poll) => poll,
            None if matches!(place, Place::Tape { .. }) => Poll::Never,
            None => Poll::WhenSilent(POLL_MS),
        };
        Ok(Self {
            place,
            shape,
            division: settings.division()?,
            capacity: settings.capacity()?,
            unit: settings.unit()?,
            poll,
        })
    }
}

fn scheme_name(scheme: &str) -> &'static str {
    match scheme {
        "serial" => "serial:",
        "tcp" => "tcp:",
        "tape" => "tape:",
        _ => "virtual:",
    }
}

/// The names of all formats, for a person.
pub fn shape_names() -> String {
    shape::ALL.iter().map(|shape| shape.name()).collect::<Vec<_>>().join(", ")
}

struct Settings<'a>(Vec<(&'a str, &'a str)>);

impl<'a> Settings<'a> {
    fn parse(
        query: &'a str,
        scheme: &'static str,
        keys: &'static [&'static str],
        known: &'static str,
    ) -> Result<Self, AddressError> {
        let mut settings = Vec::new();
        for pair in query.split('&').filter(|pair| !pair.is_empty()) {
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

    fn number(&self, key: &str) -> Result<Option<u64>, AddressError> {
        self.get(key)
            .map(|value| {
                value.parse().ok().ok_or_else(|| Self::wrong(key, value, "a whole number was expected"))
            })
            .transpose()
    }

    fn choice<T: Copy>(&self, key: &str, of: &[(&str, T)]) -> Result<Option<T>, AddressError> {
        let Some(value) = self.get(key) else { return Ok(None) };
        let names = of.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(" or ");
        let found = of.iter().find(|(name, _)| *name == value).map(|(_, what)| *what);
        found.map(Some).ok_or_else(|| Self::wrong(key, value, format!("{names} was expected")))
    }

    fn poll(&self) -> Result<Option<Poll>, AddressError> {
        let Some(value) = self.get("poll") else { return Ok(None) };
        let poll = match value {
            "none" => Some(Poll::Never),
            _ => value.parse().ok().filter(|ms| (POLL_LEAST_MS..=60_000).contains(ms)).map(Poll::WhenSilent),
        };
        poll.map(Some).ok_or_else(|| {
            let expected = "none or milliseconds, from 20 to 60000, were expected";
            Self::wrong("poll", value, expected)
        })
    }

    fn rate(&self) -> Result<Option<u32>, AddressError> {
        let Some(value) = self.get("rate") else { return Ok(None) };
        let rate = value.parse().ok().filter(|rate| (1..=100).contains(rate));
        rate.map(Some)
            .ok_or_else(|| Self::wrong("rate", value, "readings a second, from 1 to 100, were expected"))
    }

    fn switch(&self, key: &str) -> Result<Option<bool>, AddressError> {
        self.choice(key, &[("on", true), ("off", false)])
    }

    fn shape(&self) -> Result<Option<&'static dyn Shape>, AddressError> {
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

    fn division(&self) -> Result<Option<Division>, AddressError> {
        let grams = self.grams("division")?;
        Ok(grams.and_then(|grams| Division::new(grams.decimal())))
    }

    fn capacity(&self) -> Result<Option<Grams>, AddressError> {
        self.grams("capacity")
    }

    fn unit(&self) -> Result<Option<MassUnit>, AddressError> {
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
    fn line(&self, usual: UsualLine) -> Result<Option<UsualLine>, AddressError> {
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

pub(super) fn parse_frame(text: &str, baud: u32) -> Option<UsualLine> {
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

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut settings: Vec<String> = Vec::new();
        match &self.place {
            Place::Serial { path, line, dtr, rts } => {
                write!(f, "serial:{path}")?;
                if let Some(UsualLine { baud, data_bits, parity, stop_bits }) = line {
                    settings.push(format!("baud={baud}&line={data_bits}{parity}{stop_bits}"));
                }
                settings.extend((!dtr).then(|| "dtr=off".to_owned()));
                settings.extend((!rts).then(|| "rts=off".to_owned()));
            }
            Place::Tcp { host } => write!(f, "tcp:{host}")?,
            Place::Tape { file, full_speed } => {
                write!(f, "tape:{}", file.display())?;
                settings.extend(full_speed.then(|| "speed=full".to_owned()));
            }
            Place::Virtual { seed, rate_hz } => {
                write!(f, "virtual:")?;
                settings.push(format!("seed={seed}"));
                settings.extend((*rate_hz != RATE_HZ).then(|| format!("rate={rate_hz}")));
            }
        }
        let named = self.shape.filter(|shape| !shape.address().is_empty());
        settings.extend(named.map(|shape| format!("shape={}", shape.address())));
        match (&self.place, self.poll) {
            (Place::Serial { .. } | Place::Tcp { .. }, Poll::Never) => settings.push("poll=none".to_owned()),
            (_, Poll::WhenSilent(ms)) if ms != POLL_MS => settings.push(format!("poll={ms}")),
            _ => {}
        }
        settings.extend(self.division.map(|division| format!("division={division}")));
        settings.extend(self.capacity.map(|capacity| format!("capacity={capacity}")));
        settings.extend(self.unit.map(|unit| format!("unit={}", unit.symbol())));
        if settings.is_empty() { Ok(()) } else { write!(f, "?{}", settings.join("&")) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case("serial:/dev/ttyUSB0?baud=9600&line=8N1&shape=sma")]
    #[case(
        "serial:/dev/serial/by-id/usb-x?baud=2400&line=7E1&dtr=off&rts=off&shape=header-comma&poll=none&division=0.05&capacity=7500"
    )]
    #[case("serial:/dev/ttyUSB0?shape=command-reply")]
    #[case("tcp:192.0.2.7:4001?shape=sign-digits-unit&poll=250")]
    #[case("tape:some/file.tape?speed=full")]
    #[case("virtual:?seed=7&shape=sma&division=0.1&capacity=7500")]
    #[case("virtual:?seed=7&rate=20&shape=command-reply&division=0.05&capacity=3000")]
    #[case("tcp:[::1]:4001?shape=sma&poll=60000")]
    #[case("serial:/dev/ttyUSB0?shape=stx-text&unit=kg")]
    fn written_as_read(#[case] text: &str) {
        assert_eq!(text.parse::<Address>().unwrap().to_string(), text);
    }

    #[test]
    fn the_virtual_bench_needs_nothing() {
        let address: Address = "virtual:".parse().unwrap();
        assert_eq!(address.to_string(), "virtual:?seed=1&shape=sma&division=0.1&capacity=7500");
    }

    #[test]
    fn speed_alone_keeps_the_usual_frame() {
        let address: Address = "serial:/dev/ttyS1?shape=header-comma&baud=4800".parse().unwrap();
        let usual = address.shape().usual_line();
        assert!(matches!(address.place, Place::Serial { line: Some(line), .. }
            if line == UsualLine { baud: 4800, ..usual }));
    }

    #[rstest]
    #[case("/dev/ttyUSB0", "begin with serial:")]
    #[case("usb:/dev/ttyUSB0", "begin with serial:")]
    #[case("serail:/dev/ttyUSB0?shape=sma", "did you mean serial:?")]
    #[case("virtul", "did you mean virtual:?")]
    #[case("serial:/dev/ttyUSB0?shape=sma&poll=often", "none or milliseconds")]
    #[case("serial:/dev/ttyUSB0?shape=sma&poll=1", "from 20 to 60000")]
    #[case("serial:/dev/ttyUSB0?baud=2400&shape=sma&baud=9600", "baud is there twice")]
    #[case("tcp::4001?shape=sma", "names no host")]
    #[case("tcp:localhost:0?shape=sma", "has no port")]
    #[case("virtual:?rate=0", "from 1 to 100")]
    #[case("serial:?shape=sma", "names no port")]
    #[case("serial:/dev/ttyUSB0", "add ?shape= with one of sma")]
    #[case("serial:/dev/ttyUSB0?shape=sna", "did you mean sma?")]
    #[case("serial:/dev/ttyUSB0?shape=sma&bauds=9600", "did you mean baud?")]
    #[case("serial:/dev/ttyUSB0?shape=sma&baud=fast", "a whole number was expected")]
    #[case("serial:/dev/ttyUSB0?shape=sma&baud=1", "bits a second")]
    #[case("serial:/dev/ttyUSB0?shape=sma&line=9N1", "as 8N1 or 7E1")]
    #[case("serial:/dev/ttyUSB0?shape=sma&dtr=maybe", "on or off was expected")]
    #[case("tcp:localhost?shape=sma", "has no port")]
    #[case("tcp:localhost:4001", "add ?shape=")]
    #[case("tape:", "names no file")]
    #[case("tape:x?speed=slow", "own or full was expected")]
    #[case("tcp:localhost:4001?shape=stx-text&unit=grams", "g or kg or mg")]
    #[case("virtual:?unit=g", "'unit' is no setting of virtual:")]
    #[case("virtual:?division=0", "more than nothing")]
    #[case("virtual:?capacity=-1", "more than nothing")]
    #[case("rfc2217:host:1?shape=sma", "not there yet")]
    fn errors_say_what_to_do(#[case] text: &str, #[case] part: &str) {
        let message = text.parse::<Address>().unwrap_err().to_string();
        assert!(message.contains(part), "{message}");
    }
}
