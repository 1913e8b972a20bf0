//! `pourbook tape`: records what a scale sends.

use super::hear::Ear;
use super::places;
use super::stop::Stop;
use super::{CliError, listen, out};
use crate::scale::shape::{Bytes, Shape as _};
use crate::scale::tape::{self, Chunk};
use crate::scale::{Address, LinkEvent, LinkState, Listening};
use std::fs::File;
use std::io::{self, Write as _};
use std::path::PathBuf;

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The scale
    #[arg(value_name = "ADDRESS", value_parser = places::address)]
    address: Address,
    /// The file to make; it must not be there yet
    file: PathBuf,
    /// End after so many seconds
    #[arg(long, value_name = "S", value_parser = clap::value_parser!(u64).range(1..=31_536_000))]
    seconds: Option<u64>,
}

/// Runs it.
pub(super) fn run(args: &Args) -> Result<(), CliError> {
    let named = |error: io::Error| {
        let failed = CliError::failed(format!("{}: {error}", args.file.display()));
        if error.kind() == io::ErrorKind::AlreadyExists {
            failed.hint("Nothing is ever recorded over: choose another name, or move that file away.")
        } else if error.kind() == io::ErrorKind::NotFound {
            failed.hint("The folder has to be there already.")
        } else {
            failed
        }
    };
    let mut file = File::create_new(&args.file).map_err(named)?;
    file.write_all(tape::header(args.address.shape).as_bytes()).map_err(named)?;
    let stop = Stop::on_signals()?;
    let ear = Ear::open(
        args.address.clone(),
        Listening { bytes: true },
        args.seconds.map(|seconds| seconds.saturating_mul(1000)),
    )?;
    let (mut count, mut readings) = (0_usize, 0_u64);
    let mut was_open = false;
    while let Some((at, event)) = ear.next(Some(&stop)) {
        match event {
            LinkEvent::Bytes(bytes) => {
                count = count.saturating_add(bytes.len());
                let line = tape::line(&Chunk { at_ms: at.0, bytes });
                file.write_all(line.as_bytes()).map_err(named)?;
            }
            LinkEvent::Reading(_) => readings = readings.saturating_add(1),
            LinkEvent::State { state, why } => {
                was_open |= !matches!(state, LinkState::Opening | LinkState::Absent);
                listen::say(state, &why);
            }
            LinkEvent::Ended { why, .. } if !was_open => return Err(CliError::failed(why)),
            _ => {}
        }
    }
    file.sync_all().map_err(named)?;
    if count == 0 {
        return Err(CliError::failed("nothing came, so nothing was recorded")
            .hint("Is the scale on, is its cable in, and is it set to send?"));
    }
    // A tape of bytes that nobody understands yet does not say what its format is.
    let how = if args.address.shape().name() == Bytes.name() { "?shape=none" } else { "" };
    out::line(format_args!(
        "recorded {count} bytes, {readings} readings among them; play them with tape:{}{how}",
        args.file.display()
    ))
}
