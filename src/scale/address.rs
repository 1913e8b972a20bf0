//! Where a scale is, as text: `serial:/dev/ttyUSB0?baud=9600&line=8N1&shape=sma`, `tcp:HOST:PORT?shape=sma`,
//! `rfc2217:HOST:PORT?baud=9600&line=8N1&shape=sma`, `tape:FILE`, `virtual:`.

mod settings;

pub(super) use settings::parse_frame;

use super::shape::described::DescriptionError;
use super::shape::{self, Shape, UsualLine};
use crate::units::{Division, Grams, MassUnit};
use settings::Settings;
use std::fmt;
use std::path::PathBuf;
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
        /// Who says when the other may send.
        flow: Flow,
        /// Whether to raise data terminal ready.
        dtr: bool,
        /// Whether to raise request to send.
        rts: bool,
    },
    /// A serial server whose port is set over the network, as RFC 2217 has it.
    Rfc2217 {
        /// Host and port.
        host: String,
        /// Its line settings; the shape's usual ones where none are given.
        line: Option<UsualLine>,
        /// Who says when the other may send.
        flow: Flow,
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

/// How the two ends of a serial line tell each other when to send.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Flow {
    /// Not at all.
    #[default]
    None,
    /// By the lines RTS and CTS; RTS is then not ours to raise.
    RtsCts,
    /// By two control characters among the data.
    XonXoff,
}

impl Flow {
    /// As written in an address.
    const NAMES: &[(&str, Self)] =
        &[("none", Self::None), ("rts-cts", Self::RtsCts), ("xon-xoff", Self::XonXoff)];

    fn name(self) -> &'static str {
        Self::NAMES.iter().find(|(_, flow)| *flow == self).map_or("none", |(name, _)| name)
    }
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
        "'{text}' does not say how to reach the scale: begin with serial:, tcp:, rfc2217:, tape: or virtual:, \
         as in serial:/dev/ttyUSB0?shape=sma{}", did_you_mean(*.nearest)
    )]
    Scheme {
        /// What was written.
        text: String,
        /// The scheme that was probably meant.
        nearest: Option<&'static str>,
    },
    /// Nothing behind the scheme.
    #[error("'{0}' names no {1}")]
    Nowhere(String, &'static str),
    /// A host without a port.
    #[error("'{0}' names no port from 1 to 65535: write {1}HOST:PORT, as in {1}192.0.2.7:4001")]
    Port(String, &'static str),
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
/// How seldom it may be asked: a reading counts for a second and has to be confirmed within it, and what is older
/// must never look live. At half a second two answers fall within it, at more than that the second one may not.
const POLL_MOST_MS: u64 = 500;
/// How often the virtual bench speaks, unless the address says otherwise.
const RATE_HZ: u32 = 10;

const SCHEMES: &[&str] = &["serial:", "tcp:", "rfc2217:", "tape:", "virtual:"];

const SERIAL_KEYS: &[&str] =
    &["baud", "line", "shape", "flow", "dtr", "rts", "poll", "division", "capacity", "unit"];
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
            "serial" | "rfc2217" => {
                (SERIAL_KEYS, "baud, line, shape, flow, dtr, rts, poll, division, capacity, unit")
            }
            "tcp" => (TCP_KEYS, "shape, poll, division, capacity, unit"),
            "tape" => (TAPE_KEYS, "speed, shape, division, capacity, unit"),
            "virtual" => (VIRTUAL_KEYS, "seed, rate, shape, division, capacity"),
            _ => return Err(no_scheme(scheme)),
        };
        let settings = Settings::parse(query, scheme_name(scheme), keys, known)?;
        let place = match scheme {
            "serial" if body.is_empty() => return Err(nowhere("port")),
            "serial" => Place::Serial {
                path: body.to_owned(),
                line: None,
                flow: settings.flow()?,
                dtr: settings.switch("dtr")?.unwrap_or(true),
                rts: settings.switch("rts")?.unwrap_or(true),
            },
            "tcp" | "rfc2217" if body.is_empty() || body.starts_with(':') => return Err(nowhere("host")),
            "tcp" | "rfc2217" => {
                let port = body.rsplit_once(':').and_then(|(_, port)| port.parse::<u16>().ok());
                if port.is_none_or(|port| port == 0) {
                    return Err(AddressError::Port(text.to_owned(), scheme_name(scheme)));
                }
                let host = body.to_owned();
                if scheme == "tcp" {
                    Place::Tcp { host }
                } else {
                    Place::Rfc2217 {
                        host,
                        line: None,
                        flow: settings.flow()?,
                        dtr: settings.switch("dtr")?.unwrap_or(true),
                        rts: settings.switch("rts")?.unwrap_or(true),
                    }
                }
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
        let mut place = place;
        if shape.is_none() && !matches!(place, Place::Tape { .. }) {
            return Err(AddressError::NoShape(shape_names()));
        }
        if let (Some(shape), Place::Serial { line, .. } | Place::Rfc2217 { line, .. }) = (shape, &mut place) {
            *line = settings.line(shape.usual_line())?;
        }
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
        "rfc2217" => "rfc2217:",
        "tape" => "tape:",
        _ => "virtual:",
    }
}

/// The names of all formats, for a person.
pub fn shape_names() -> String {
    shape::ALL.iter().map(|shape| shape.name()).collect::<Vec<_>>().join(", ")
}

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut settings: Vec<String> = Vec::new();
        match &self.place {
            Place::Serial { path: to, line, flow, dtr, rts }
            | Place::Rfc2217 { host: to, line, flow, dtr, rts } => {
                let scheme = if matches!(self.place, Place::Serial { .. }) { "serial" } else { "rfc2217" };
                write!(f, "{scheme}:{to}")?;
                if let Some(UsualLine { baud, data_bits, parity, stop_bits }) = line {
                    settings.push(format!("baud={baud}&line={data_bits}{parity}{stop_bits}"));
                }
                settings.extend((*flow != Flow::None).then(|| format!("flow={}", flow.name())));
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
            (Place::Serial { .. } | Place::Tcp { .. } | Place::Rfc2217 { .. }, Poll::Never) => {
                settings.push("poll=none".to_owned());
            }
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
    #[case("tcp:[::1]:4001?shape=sma&poll=500")]
    #[case("serial:/dev/ttyUSB0?shape=stx-text&unit=kg")]
    #[case("serial:/dev/ttyUSB0?baud=9600&line=8O1&flow=rts-cts&shape=sign-digits-unit")]
    #[case("rfc2217:192.0.2.7:4001?shape=command-reply")]
    #[case(
        "rfc2217:bench.example:4001?baud=2400&line=7E1&flow=xon-xoff&dtr=off&rts=off&shape=header-comma&poll=none&division=0.05&capacity=7500"
    )]
    fn written_as_read(#[case] text: &str) {
        assert_eq!(text.parse::<Address>().unwrap().to_string(), text);
    }

    #[test]
    fn the_virtual_bench_needs_nothing() {
        let address: Address = "virtual:".parse().unwrap();
        assert_eq!(address.to_string(), "virtual:?seed=1&shape=sma&division=0.1&capacity=7500");
    }

    #[test]
    fn the_path_of_a_description_may_have_an_and_sign() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("this & that.toml");
        let text = "name = \"and-sign\"\nend = \"CR\"\nlength = 8\nvalue = \"1-8\"\nunit = \"g\"\n";
        std::fs::write(&file, text).unwrap();
        let text = format!("serial:/dev/ttyUSB0?flow=rts-cts&shape={}&poll=250", file.display());
        let address: Address = text.parse().unwrap();
        assert_eq!((address.shape().name(), address.poll), ("and-sign", Poll::WhenSilent(250)));
        assert_eq!(address.to_string(), text);
    }

    /// At the longest pause that may be asked for a weight is still settled, a second before it never would be.
    #[test]
    fn at_the_longest_poll_a_weight_settles() {
        use crate::scale::{Reading, Rules, Settle, Stability};
        use crate::units::Moment;
        let settles = |stability, every: u64| {
            let mut settle = Settle::new(Rules::default());
            let frame = crate::scale::Frame {
                value: crate::units::parse_decimal("21.8").ok(),
                unit: Some(MassUnit::Gram),
                unit_text: "g".into(),
                stability,
                mode: crate::scale::Mode::Gross,
                centre_of_zero: None,
                condition: crate::scale::Condition::Ok,
                high_resolution: false,
            };
            // An answer may be late by what the other is not: a fifth of a second either way.
            (0..20_u64).any(|n| {
                let at = Moment(n * every + (n % 2) * 200);
                settle.feed(&Reading::new(frame.clone(), at)).weight.is_some()
            })
        };
        for stability in [Stability::Stable, Stability::Unknown] {
            assert!(settles(stability, POLL_MOST_MS), "{stability:?}");
            assert!(!settles(stability, Rules::default().stale_after_ms + 200), "{stability:?}");
        }
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
    #[case("serial:/dev/ttyUSB0?shape=sma&poll=19", "from 20 to 500")]
    #[case("serial:/dev/ttyUSB0?shape=sma&poll=501", "confirmed within a second")]
    #[case("serial:/dev/ttyUSB0?baud=2400&shape=sma&baud=9600", "baud is there twice")]
    #[case("tcp::4001?shape=sma", "names no host")]
    #[case("tcp:localhost:0?shape=sma", "names no port from 1")]
    #[case("tcp:localhost:99999?shape=sma", "names no port from 1")]
    #[case("virtual:?rate=1", "from 2 to 100")]
    #[case("serial:?shape=sma", "names no port")]
    #[case("serial:/dev/ttyUSB0", "add ?shape= with one of sma")]
    #[case("serial:/dev/ttyUSB0?shape=sna", "did you mean sma?")]
    #[case("serial:/dev/ttyUSB0?shape=sma&bauds=9600", "did you mean baud?")]
    #[case("serial:/dev/ttyUSB0?shape=sma&baud=fast", "a whole number was expected")]
    #[case("serial:/dev/ttyUSB0?shape=sma&baud=1", "bits a second")]
    #[case("serial:/dev/ttyUSB0?shape=sma&line=9N1", "as 8N1 or 7E1")]
    #[case("serial:/dev/ttyUSB0?shape=sma&dtr=maybe", "on or off was expected")]
    #[case("tcp:localhost?shape=sma", "names no port from 1")]
    #[case("tcp:localhost:4001", "add ?shape=")]
    #[case("tape:", "names no file")]
    #[case("tape:x?speed=slow", "own or full was expected")]
    #[case("tcp:localhost:4001?shape=stx-text&unit=grams", "g or kg or mg")]
    #[case("virtual:?unit=g", "'unit' is no setting of virtual:")]
    #[case("virtual:?division=0", "more than nothing")]
    #[case("virtual:?capacity=-1", "more than nothing")]
    #[case("serial:/dev/ttyUSB0?shape=sma&flow=some", "none or rts-cts or xon-xoff was expected")]
    #[case("tcp:localhost:4001?shape=sma&flow=none", "'flow' is no setting of tcp:")]
    #[case("rfc2217:localhost?shape=sma", "write rfc2217:HOST:PORT")]
    #[case("rfc2217::1?shape=sma", "names no host")]
    #[case("rfc2217:localhost:4001", "add ?shape=")]
    #[case("rfc2217:localhost:4001?shape=sma&rate=9600", "'rate' is no setting of rfc2217:")]
    #[case("rfc221:localhost:4001?shape=sma", "did you mean rfc2217:?")]
    fn errors_say_what_to_do(#[case] text: &str, #[case] part: &str) {
        let message = text.parse::<Address>().unwrap_err().to_string();
        assert!(message.contains(part), "{message}");
    }
}
