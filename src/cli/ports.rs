//! `pourbook ports`: the machine's serial ports and, when asked, what speaks on them. Nothing is ever sent.

use super::hear::Ear;
use super::stop::Stop;
use super::{CliError, out};
use crate::scale::address::{Address, Flow, Place, Poll};
use crate::scale::ports::{self, Port};
use crate::scale::shape::{self, Decoded, Decoder, Shape, UsualLine};
use crate::scale::{LinkEvent, LinkState, Listening};
use serde::Serialize;

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Also the motherboard's own ports, which may lead nowhere
    #[arg(long)]
    all: bool,
    /// Listen on each, and say what was understood; nothing is sent
    #[arg(long)]
    listen: bool,
    /// The result as JSON
    #[arg(long)]
    json: bool,
}

/// For how long each line setting is listened to.
const LISTEN_MS: u64 = 1_500;

/// From so many readings of one format on, it is that format.
const ENOUGH: u64 = 5;

#[derive(Serialize)]
struct Json {
    ports: Vec<JsonPort>,
}

#[derive(Serialize)]
struct JsonPort {
    path: String,
    product: Option<String>,
    usb: Option<String>,
    lasting: Option<String>,
    /// Why it may not be opened, and what to do.
    forbidden: Option<String>,
    /// What was heard; none where nobody listened.
    heard: Option<Heard>,
}

/// What came in on a port.
#[derive(Clone, Debug, Default, Serialize)]
struct Heard {
    /// Bytes that came in, over all line settings that were tried.
    bytes: u64,
    /// Readings that were understood.
    readings: u64,
    /// The address to use, if something was understood.
    address: Option<String>,
    /// Why nothing could be heard at all.
    problem: Option<String>,
}

/// Runs it.
pub(super) fn run(args: &Args) -> Result<(), CliError> {
    let stop = Stop::on_signals()?;
    let found = ports::list(args.all);
    let mut shown = Vec::new();
    for port in found {
        let heard = (args.listen && port.forbidden.is_none() && !stop.asked())
            .then(|| listen(lasting_or_path(&port), &stop))
            .transpose()?;
        if !args.json {
            say(&port, heard.as_ref(), args.listen)?;
        }
        let Port { path, product, usb, lasting, forbidden } = port;
        shown.push(JsonPort { path, product, usb, lasting, forbidden, heard });
    }
    if args.json {
        return out::json(&Json { ports: shown });
    }
    if shown.is_empty() {
        out::note(
            "There is no serial port. Plug the scale's adapter in; a scale on a serial server is tcp:HOST:PORT.",
        );
        if !args.all {
            out::note("With --all the motherboard's own ports are listed too.");
        }
    }
    Ok(())
}

fn lasting_or_path(port: &Port) -> &str {
    port.lasting.as_deref().unwrap_or(&port.path)
}

fn say(port: &Port, heard: Option<&Heard>, listened: bool) -> Result<(), CliError> {
    let about: Vec<&str> = [port.product.as_deref(), port.usb.as_deref()].into_iter().flatten().collect();
    out::line(format!("{}  {}", port.path, about.join("  ")).trim_end())?;
    if let Some(lasting) = &port.lasting {
        out::line(format_args!("  lasting name  {lasting}"))?;
    }
    if let Some(why) = &port.forbidden {
        out::line(format_args!("  may not be opened: {why}"))?;
    }
    match heard {
        Some(Heard { problem: Some(problem), .. }) => out::line(format_args!("  {problem}")),
        Some(Heard { address: Some(address), readings, .. }) => {
            out::line(format_args!("  {readings} readings were understood; use --scale '{address}'"))
        }
        Some(Heard { bytes: 0, .. }) => out::line(
            "  says nothing by itself: is the scale on, and set to send? One that answers only when asked stays silent here",
        ),
        Some(Heard { bytes, .. }) => out::line(format_args!(
            "  sends something ({bytes} bytes) that was not understood at the usual settings"
        )),
        None if listened || port.forbidden.is_some() => Ok(()),
        None => out::line("  `pourbook ports --listen` says what speaks on it"),
    }
}

/// A format, how it decodes what comes, and what it made of it.
struct Candidate {
    shape: &'static dyn Shape,
    decoder: Box<dyn Decoder>,
    readings: u64,
    noise: usize,
}

/// Listens at each usual line setting, and gives what comes to every format's decoder.
fn listen(path: &str, stop: &Stop) -> Result<Heard, CliError> {
    let mut settings: Vec<(UsualLine, &'static dyn Shape)> = Vec::new();
    for &shape in shape::ALL {
        if !settings.iter().any(|(line, _)| *line == shape.usual_line()) {
            settings.push((shape.usual_line(), shape));
        }
    }
    let mut heard = Heard::default();
    for (line, shape) in settings {
        let mut candidates: Vec<Candidate> = shape::ALL
            .iter()
            .map(|&shape| Candidate { shape, decoder: shape.decoder(), readings: 0, noise: 0 })
            .collect();
        let place = |line| Place::Serial {
            path: path.to_owned(),
            line: Some(line),
            flow: Flow::None,
            dtr: true,
            rts: true,
        };
        let address = |shape| Address {
            place: place(line),
            shape: Some(shape),
            division: None,
            capacity: None,
            unit: None,
            poll: Poll::Never,
        };
        let ear = Ear::open(address(shape), Listening { bytes: true }, Some(LISTEN_MS))?;
        while let Some((_, event)) = ear.next(Some(stop)) {
            match event {
                LinkEvent::Bytes(bytes) => {
                    heard.bytes = heard.bytes.saturating_add(bytes.len() as u64);
                    for candidate in &mut candidates {
                        candidate.take_in(&bytes);
                    }
                    if candidates.iter().any(|candidate| candidate.readings >= ENOUGH) {
                        break;
                    }
                }
                LinkEvent::State { state: LinkState::Absent, why } => {
                    return Ok(Heard { problem: Some(why), ..heard });
                }
                _ => {}
            }
        }
        // Of two that understand as much, the one that had less to leave out.
        let best = candidates
            .into_iter()
            .filter(|candidate| candidate.readings > 0)
            .max_by_key(|candidate| (candidate.readings, std::cmp::Reverse(candidate.noise)));
        if let Some(best) = best {
            let address = Address { poll: Poll::WhenSilent(100), ..address(best.shape) };
            return Ok(Heard { readings: best.readings, address: Some(address.to_string()), ..heard });
        }
    }
    Ok(heard)
}

impl Candidate {
    fn take_in(&mut self, bytes: &[u8]) {
        let mut decoded = Vec::new();
        self.decoder.push(bytes, &mut decoded);
        for item in decoded {
            match item {
                Decoded::Frame(_) => self.readings = self.readings.saturating_add(1),
                Decoded::Noise(count) => self.noise = self.noise.saturating_add(count),
                Decoded::Answer(_) => {}
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scale::{Manner, Spec, StandIn};

    #[test]
    fn what_speaks_is_found_by_listening_alone() {
        let folder = tempfile::tempdir().unwrap();
        for name in ["sma", "header-comma", "sign-digits-unit"] {
            let link = folder.path().join(name);
            let shape = shape::by_name(name).unwrap();
            let manner = Manner { shape, spec: Spec::default(), seed: 1, streams: true };
            let bench = StandIn::on_pty(&link, manner).unwrap();
            let heard = listen(link.to_str().unwrap(), &Stop::on_signals().unwrap()).unwrap();
            let address = heard.address.unwrap();
            assert!(address.contains(&format!("shape={name}")), "{name}: {address}");
            assert!(address.parse::<Address>().is_ok(), "{address}");
            assert_eq!(bench.truth().unwrap().received, b"", "{name} was sent something");
        }
    }

    #[test]
    fn a_port_that_is_gone_says_so() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("none");
        let heard = listen(path.to_str().unwrap(), &Stop::on_signals().unwrap()).unwrap();
        assert!(heard.problem.unwrap().contains("is not there"));
    }
}
