//! `pourbook ports`: the machine's serial ports and, when asked, what speaks on them. With `--listen` nothing is ever
//! sent; with `--ask` only questions that change no scale.

use super::stop::Stop;
use super::{CliError, out};
use crate::scale::detect::{self, Finding, Outcome, Plan, PortProbe, told};
use crate::scale::ports::{self, Port};
use serde::Serialize;

/// What it can be told.
#[derive(Debug, clap::Args)]
#[expect(clippy::struct_excessive_bools, reason = "each is a switch on the command line")]
pub(super) struct Args {
    /// Also the motherboard's own ports, which may lead nowhere
    #[arg(long)]
    all: bool,
    /// Listen on each, and say what was understood; nothing is sent
    #[arg(long)]
    listen: bool,
    /// Listen on each, then ask what stays silent for its weight; nothing that changes a scale is sent
    #[arg(long)]
    ask: bool,
    /// The result as JSON
    #[arg(long)]
    json: bool,
}

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
    /// Readings that were understood at the setting of the address.
    readings: u64,
    /// The address to use, if something was understood.
    address: Option<String>,
    /// `certain`, `likely` or `unsure`, if something was understood.
    sure: Option<String>,
    /// Why it is as sure as that.
    why: Option<String>,
    /// What else it could be.
    alternatives: Vec<Alternative>,
    /// Line settings that were tried.
    settings: usize,
    /// Whether anything was sent.
    asked: bool,
    /// How long it took, in milliseconds.
    ms: u64,
    /// Why nothing could be heard at all.
    problem: Option<String>,
}

#[derive(Clone, Debug, Serialize)]
struct Alternative {
    /// Speed and line, as `9600 8N2`.
    line: String,
    shape: String,
    /// Whether it reads the same weights.
    reads_the_same: bool,
    /// What would settle it.
    settled_by: String,
}

/// Runs it.
pub(super) fn run(args: &Args) -> Result<(), CliError> {
    let stop = Stop::on_signals()?;
    let plan = if args.ask { Plan::asking() } else { Plan::listening() };
    let searched = args.listen || args.ask;
    let found = ports::list(args.all);
    let mut shown = Vec::new();
    for port in found {
        let heard = (searched && port.forbidden.is_none() && !stop.asked())
            .then(|| search(lasting_or_path(&port), &plan, &stop));
        if !args.json {
            say(&port, heard.as_ref(), searched)?;
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

fn search(path: &str, plan: &Plan, stop: &Stop) -> Heard {
    let finding = detect::run(&mut PortProbe::new(path), plan, &mut |_| {}, &|| stop.asked());
    heard(path, &finding)
}

fn heard(path: &str, finding: &Finding) -> Heard {
    let Finding { settings, bytes, asked, ms, .. } = *finding;
    let heard = Heard { bytes, settings, asked, ms, ..Heard::default() };
    match &finding.outcome {
        Outcome::Found(found) => Heard {
            readings: finding.evidence.first().map_or(0, |evidence| evidence.readings),
            address: Some(found.address(path)),
            sure: Some(found.sure.to_string()),
            why: Some(found.why.clone()),
            alternatives: found
                .others
                .iter()
                .map(|other| Alternative {
                    line: told(other.line),
                    shape: other.shape.name().to_owned(),
                    reads_the_same: other.reads_the_same,
                    settled_by: other.settled_by.clone(),
                })
                .collect(),
            ..heard
        },
        Outcome::Gone(why) => Heard { problem: Some(why.clone()), ..heard },
        Outcome::Stopped => Heard { problem: Some("stopped before anything was found".to_owned()), ..heard },
        Outcome::Silent | Outcome::NotUnderstood => heard,
    }
}

fn say(port: &Port, heard: Option<&Heard>, searched: bool) -> Result<(), CliError> {
    let about: Vec<&str> = [port.product.as_deref(), port.usb.as_deref()].into_iter().flatten().collect();
    out::line(format!("{}  {}", port.path, about.join("  ")).trim_end())?;
    if let Some(lasting) = &port.lasting {
        out::line(format_args!("  lasting name  {lasting}"))?;
    }
    if let Some(why) = &port.forbidden {
        out::line(format_args!("  may not be opened: {why}"))?;
    }
    match heard {
        Some(heard) => lines(heard).into_iter().try_for_each(|line| out::line(format_args!("  {line}"))),
        None if searched || port.forbidden.is_some() => Ok(()),
        None => out::line("  `pourbook ports --listen` says what speaks on it, --ask also asks"),
    }
}

fn lines(heard: &Heard) -> Vec<String> {
    let Heard { bytes, settings, .. } = heard;
    if let Some(problem) = &heard.problem {
        return vec![problem.clone()];
    }
    if let (Some(address), Some(sure), Some(why)) = (&heard.address, &heard.sure, &heard.why) {
        let mut lines = vec![format!("{sure}: use --scale '{address}'"), why.clone()];
        for other in &heard.alternatives {
            lines.push(format!("could also be {} as {}. {}", other.line, other.shape, other.settled_by));
        }
        return lines;
    }
    let line = match (bytes, heard.asked) {
        (0, false) => {
            "says nothing by itself: is the scale on, and set to send? One that answers only when asked stays \
             silent here: `pourbook ports --ask`"
                .to_owned()
        }
        (0, true) => format!(
            "says nothing and answers nothing at {settings} settings: is the scale on, the cable straight where it \
             should be straight, and the interface not set to its print key?"
        ),
        (bytes, _) => format!(
            "sends something ({bytes} bytes) that no format explains at {settings} settings: `pourbook tape` \
             records it"
        ),
    };
    vec![line]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scale::{Address, Manner, Spec, StandIn, shape};

    #[test]
    fn what_speaks_is_found_by_listening_alone() {
        let folder = tempfile::tempdir().unwrap();
        let stop = Stop::on_signals().unwrap();
        for name in ["sma", "header-comma", "sign-digits-unit"] {
            let link = folder.path().join(name);
            let shape = shape::by_name(name).unwrap();
            let manner = Manner { shape, spec: Spec::default(), seed: 1, streams: true };
            let bench = StandIn::on_pty(&link, manner).unwrap();
            let heard = search(link.to_str().unwrap(), &Plan::listening(), &stop);
            let address = heard.address.clone().unwrap();
            assert!(address.contains(&format!("shape={name}")), "{name}: {address}");
            assert!(address.parse::<Address>().is_ok(), "{address}");
            assert_eq!(bench.truth().unwrap().received, b"", "{name} was sent something");
            let said = lines(&heard);
            assert!(
                said[0].contains(": use --scale 'serial:") && said[1].contains("readings at "),
                "{said:?}"
            );
        }
    }

    #[test]
    fn what_waits_is_found_by_asking_and_says_what_it_can_weigh() {
        let folder = tempfile::tempdir().unwrap();
        let stop = Stop::on_signals().unwrap();
        for name in ["sma", "header-comma", "sign-digits-unit", "command-reply"] {
            let link = folder.path().join(name);
            let shape = shape::by_name(name).unwrap();
            let manner = Manner { shape, spec: Spec::default(), seed: 1, streams: false };
            let _bench = StandIn::on_pty(&link, manner).unwrap();
            // It stays silent, so there is nothing to wait for.
            let plan = Plan { listen_ms: 300, ..Plan::asking() };
            let heard = search(link.to_str().unwrap(), &plan, &stop);
            let address = heard.address.unwrap();
            let plate = if name == "sma" { "&division=0.1&capacity=7500" } else { "" };
            assert!(address.ends_with(&format!("shape={name}{plate}")) && heard.asked, "{name}: {address}");
        }
    }

    #[test]
    fn a_port_that_is_gone_says_so() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("none");
        let heard = search(path.to_str().unwrap(), &Plan::listening(), &Stop::on_signals().unwrap());
        assert!(heard.problem.unwrap().contains("is not there"));
    }
}
