//! `pourbook listen`: what a scale says, one line a reading.

use super::hear::Ear;
use super::places::{self, Places};
use super::raw::RawLines;
use super::stop::Stop;
use super::{CliError, out};
use crate::scale::shape::{Answer, Bytes, Shape as _};
use crate::scale::{Address, Condition, Evidence, Frame, LinkEvent, LinkState, Listening, Place, Stability};
use crate::units::MassUnit;
use jiff::Timestamp;
use serde::Serialize;
use std::fmt::Write as _;

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The scale [default: what --scale says]
    #[arg(value_name = "ADDRESS", value_parser = places::address)]
    address: Option<Address>,
    /// The bytes as they come in, too
    #[arg(long, conflicts_with = "json")]
    show_bytes: bool,
    /// Each reading as JSON on a line of its own, decimals as text
    #[arg(long)]
    json: bool,
    /// End after so many readings
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..))]
    count: Option<u64>,
    /// End after so many seconds
    #[arg(long, value_name = "S", value_parser = clap::value_parser!(u64).range(1..=31_536_000))]
    seconds: Option<u64>,
}

#[derive(Serialize)]
struct Json<'a> {
    at: String,
    /// The number as it was sent.
    value: Option<String>,
    unit: Option<&'a str>,
    /// None where the format does not say.
    stable: Option<bool>,
    state: &'static str,
}

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    let Some(address) = args.address.clone().map_or_else(|| places.scale(), |address| Ok(Some(address)))?
    else {
        return Err(CliError::wrong("no scale was named")
            .hint("Write its address behind the command, as `pourbook listen serial:/dev/ttyUSB0?shape=sma`.")
            .hint("`pourbook ports --listen` finds what speaks on this machine's serial ports."));
    };
    // Without a format there is nothing to show but the bytes.
    let mut raw = (address.shape().name() == Bytes.name()).then(RawLines::default);
    if raw.is_some() && (args.json || args.count.is_some()) {
        return Err(CliError::wrong("with shape=none there are only bytes, and no readings")
            .hint("Leave --json and --count out to see the bytes."));
    }
    address.shape().remarks().iter().for_each(out::note);
    let stop = Stop::on_signals()?;
    let listening = Listening { bytes: args.show_bytes || raw.is_some() };
    let is_tape = matches!(address.place, Place::Tape { .. });
    let ear = Ear::open(address, listening, args.seconds.map(|s| s.saturating_mul(1000)))?;
    let mut readings = 0_u64;
    let mut was_open = false;
    let mut counted = Evidence::default();
    while let Some((at, event)) = ear.next(Some(&stop)) {
        if let Some(raw) = &mut raw {
            match &event {
                LinkEvent::Bytes(bytes) => {
                    raw.push(bytes)?;
                    continue;
                }
                // What was counted is told once a second: by then the end of a line has come, or none will.
                _ => raw.flush()?,
            }
        }
        match event {
            LinkEvent::State { state, why } => {
                was_open |= !matches!(state, LinkState::Opening | LinkState::Absent);
                say(state, &why);
                let lost = matches!(state, LinkState::Absent | LinkState::Stale | LinkState::Lost);
                if lost && args.json {
                    out::json(&lost_line(ear.stamp(at)))?;
                }
            }
            LinkEvent::Reading(reading) => {
                let at = ear.stamp(reading.at);
                if args.json {
                    out::json(&json(&reading.frame, at))?;
                } else {
                    out::line(text(&reading.frame, at))?;
                }
                readings = readings.saturating_add(1);
                if args.count == Some(readings) {
                    return Ok(());
                }
            }
            LinkEvent::Bytes(bytes) => out::line(format_args!("  {}", dump(&bytes)))?,
            LinkEvent::Answer { answer, .. } => note_answer(&answer),
            LinkEvent::Evidence(evidence) => counted = evidence,
            LinkEvent::Ended { why, .. } if !was_open => return Err(CliError::failed(why)),
            LinkEvent::Ended { why, .. } => out::note(format_args!("the end: {why}")),
            LinkEvent::Asked(_) | LinkEvent::Unanswered(_) => {}
        }
    }
    if let Some(raw) = &mut raw {
        raw.flush()?;
    } else if counted.noise > 0 {
        out::note(format_args!(
            "{} readings were understood, {} bytes belonged to none",
            counted.frames, counted.noise
        ));
        if counted.frames == 0 {
            out::note(if is_tape {
                "With shape=none behind the tape its bytes are shown: tape:FILE?shape=none"
            } else {
                "`pourbook ports --listen` finds out what a scale on a serial port speaks; shape=none shows its bytes."
            });
        }
    }
    if !was_open && !stop.asked() {
        return Err(CliError::failed("the scale could not be opened, so nothing was heard"));
    }
    match args.count {
        Some(count) if !stop.asked() => {
            Err(CliError::failed(format!("{readings} of {count} readings came before the end")))
        }
        _ => Ok(()),
    }
}

/// How the link stands, on standard error.
pub(super) fn say(state: LinkState, why: &str) {
    match (state, why) {
        (LinkState::Live, _) => out::note("readings come in"),
        (_, "") => {}
        (_, why) => out::note(why),
    }
}

fn note_answer(answer: &Answer) {
    match answer {
        Answer::Done => {}
        Answer::Accepted => out::note("the scale has understood, and is at it"),
        Answer::Refused(why) => out::note(format_args!("the scale refuses: {why}")),
        Answer::Unknown => out::note("the scale does not know what it was asked"),
        Answer::Damaged => out::note("the scale says that the question arrived damaged"),
        Answer::About(name, value) => out::note(format_args!("the scale says: {name} {value}")),
    }
}

fn time(at: Timestamp) -> String {
    format!("{at:.3}")
}

fn lost_line(at: Timestamp) -> Json<'static> {
    Json { at: time(at), value: None, unit: None, stable: None, state: "lost" }
}

fn json(frame: &Frame, at: Timestamp) -> Json<'_> {
    let known = frame.unit.map(MassUnit::symbol);
    let sent = Some(frame.unit_text.as_str()).filter(|unit| !unit.is_empty());
    Json {
        at: time(at),
        value: frame.value.map(|value| value.to_string()),
        unit: known.or(sent),
        stable: match frame.stability {
            Stability::Stable => Some(true),
            Stability::Moving => Some(false),
            Stability::Unknown => None,
        },
        state: match frame.condition {
            Condition::Ok => "ok",
            Condition::Over => "over",
            Condition::Under => "under",
            Condition::ZeroError | Condition::TareError | Condition::NotReady | Condition::Device(_) => {
                "error"
            }
        },
    }
}

fn text(frame: &Frame, at: Timestamp) -> String {
    format!("{}  {frame}", time(at))
}

/// Bytes as hexadecimal and, where they can be printed, as text.
fn dump(bytes: &[u8]) -> String {
    let mut text = String::new();
    for byte in bytes {
        let _ = write!(text, "{byte:02x} ");
    }
    text.push('|');
    text.extend(bytes.iter().map(|&byte| match byte {
        b' '..=b'~' => char::from(byte),
        _ => '.',
    }));
    text.push('|');
    text
}
