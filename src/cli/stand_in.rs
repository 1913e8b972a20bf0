//! `pourbook stand-in`: a virtual scale on a real line, moved by lines on standard input.

use super::stop::Stop;
use super::{CliError, amount, out};
use crate::scale::shape::{self, Described, Shape};
use crate::scale::{Control, Hand, Manner, Spec, StandIn};
use crate::units::{Division, Grams};
use std::io::{self, BufRead as _};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread::Builder;
use std::time::Duration;

/// What it can be told.
#[derive(Debug, clap::Args)]
#[command(after_long_help = COMMANDS)]
pub(super) struct Args {
    /// Where it is reached: pty:PATH makes a link to a pseudo terminal, tcp:PORT listens on this machine (0: any port)
    #[arg(long, value_name = "PLACE", value_parser = place)]
    at: Place,
    /// What it speaks: a format's name, or the FILE.toml that describes it
    #[arg(long, value_name = "NAME", value_parser = shape_named)]
    shape: &'static dyn Shape,
    /// Where chance begins: the same number, the same trembling
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Its division in grams
    #[arg(long, value_name = "GRAMS", default_value = "0.1", value_parser = amount::division)]
    division: Division,
    /// The most it weighs, in grams
    #[arg(long, value_name = "GRAMS", default_value = "7500", value_parser = amount::grams)]
    capacity: Grams,
    /// Speak only when asked
    #[arg(long)]
    polled: bool,
}

#[derive(Clone, Debug, PartialEq, Eq)]
enum Place {
    Pty(PathBuf),
    Tcp(u16),
}

const COMMANDS: &str = "\
A line on standard input moves the hand at the bench:
  tip, back, upright     tip the tin further, less, not at all
  lift, put, fresh       take the cup off, put it back, put an empty one on
  tin                    take a full tin
  pour-to 318.0          pour in one go until the scale would show about so much
  draw 12.6              stir, and take so many grams out
  load 290.6             lay exactly that on, at once
  bump                   lean on the bench
  drip 0.03              the tin, upright, drips so many grams a second; 0 ends it
  shake 0.3              the floor shakes the pan by so many grams; 0 ends it
  draught 0.2            a draught pushes it by about so many; 0 ends it
  drift 0.5              warmth carries it away by so many a minute; 0 ends it
  track, untrack         whether the scale tracks its zero; it does not by itself
  zero, tare             the scale's own keys
  unplug, replug         take the line away, bring it back
  silent, speak          say nothing, speak again
  truth                  what is really in the cup, and what was sent to the scale
  help, quit
It ends with the input.";

fn place(text: &str) -> Result<Place, String> {
    let expected = || "pty:PATH or tcp:PORT was expected".to_owned();
    match text.split_once(':').ok_or_else(expected)? {
        ("pty", path) if !path.is_empty() => Ok(Place::Pty(PathBuf::from(path))),
        ("tcp", port) => port.parse().ok().map(Place::Tcp).ok_or_else(expected),
        _ => Err(expected()),
    }
}

fn shape_named(name: &str) -> Result<&'static dyn Shape, String> {
    if Described::is_file(name) {
        let described = Described::load(Path::new(name)).map_err(|error| error.to_string())?;
        return Ok(described);
    }
    shape::by_name(name).ok_or_else(|| {
        let near = shape::nearest_name(name).map(|near| format!(" (did you mean {near}?)"));
        let all = crate::scale::address::shape_names();
        format!("one of {all} was expected{}", near.unwrap_or_default())
    })
}

/// Something that a line asks for.
#[derive(Debug)]
enum Wish {
    Do(Control),
    Truth,
    Help,
    Quit,
}

/// Runs it.
pub(super) fn run(args: &Args) -> Result<(), CliError> {
    let spec = Spec { division: args.division, capacity: args.capacity, ..Spec::default() };
    let manner = Manner { shape: args.shape, spec, seed: args.seed, streams: !args.polled };
    let stop = Stop::on_signals()?;
    let (stand_in, scheme) = match &args.at {
        Place::Pty(path) => {
            // A link left behind is replaced; anything else at that name is somebody's.
            let taken = std::fs::symlink_metadata(path).is_ok_and(|found| !found.is_symlink());
            if taken {
                return Err(CliError::failed(format!("{} is there already, and is no link", path.display()))
                    .hint("Choose another name for the line."));
            }
            (StandIn::on_pty(path, manner), "serial")
        }
        Place::Tcp(port) => (StandIn::on_tcp(*port, manner), "tcp"),
    };
    let stand_in = stand_in.map_err(|error| CliError::failed(format!("the line cannot be made: {error}")))?;
    out::line(format_args!(
        "a scale is reached with --scale '{scheme}:{}?shape={}&division={}&capacity={}'",
        stand_in.place(),
        args.shape.address(),
        args.division,
        args.capacity
    ))?;
    args.shape.remarks().iter().for_each(out::note);
    let input = lines_of_input()?;
    while !stop.asked() {
        let line = match input.recv_timeout(Duration::from_millis(50)) {
            Ok(line) => line,
            Err(RecvTimeoutError::Timeout) => continue,
            Err(RecvTimeoutError::Disconnected) => break,
        };
        match wish(&line) {
            Ok(None) => {}
            Ok(Some(Wish::Do(control))) => stand_in.control(control),
            Ok(Some(Wish::Truth)) => {
                if let Some(truth) = stand_in.truth() {
                    let received = truth.received.escape_ascii();
                    out::line(format_args!("in cup {:.3} g, received \"{received}\"", truth.in_cup))?;
                }
            }
            Ok(Some(Wish::Help)) => out::line(COMMANDS)?,
            Ok(Some(Wish::Quit)) => break,
            Err(why) => out::note(why),
        }
    }
    Ok(())
}

/// The lines of standard input, from a thread of their own, so that signals are seen while nobody types.
fn lines_of_input() -> io::Result<Receiver<String>> {
    let (sink, lines) = channel();
    Builder::new().name("input".to_owned()).spawn(move || {
        for line in io::stdin().lock().lines() {
            let Ok(line) = line else { break };
            if sink.send(line).is_err() {
                break;
            }
        }
    })?;
    Ok(lines)
}

fn wish(line: &str) -> Result<Option<Wish>, String> {
    let mut words = line.split_whitespace();
    let Some(word) = words.next() else { return Ok(None) };
    let rest: Vec<&str> = words.collect();
    let grams = || match rest.as_slice() {
        [one] => amount::grams(one).map_err(|why| format!("{word}: {why}")),
        _ => Err(format!("{word} needs grams behind it, as `{word} 12.6`")),
    };
    // Nothing ends what a number began.
    let some = || if rest == ["0"] { Ok(Grams::ZERO) } else { grams() };
    let hand = |hand| Ok(Some(Wish::Do(Control::Hand(hand))));
    match word {
        "draw" => return hand(Hand::DrawOff(grams()?)),
        "drip" => return hand(Hand::Drip(some()?)),
        "shake" => return hand(Hand::Shake(some()?)),
        "draught" => return hand(Hand::Draught(some()?)),
        "drift" => return hand(Hand::Drift(some()?)),
        "pour-to" => return hand(Hand::PourTo(grams()?)),
        "load" => return hand(Hand::Load(some()?)),
        _ if !rest.is_empty() => return Err(format!("'{line}' is not understood: write `help` for what is")),
        _ => {}
    }
    match word {
        "tip" => hand(Hand::TipMore),
        "back" => hand(Hand::TipLess),
        "upright" => hand(Hand::Upright),
        "lift" => hand(Hand::LiftCup),
        "put" => hand(Hand::PutCup),
        "fresh" => hand(Hand::FreshCup),
        "tin" => hand(Hand::NextTin),
        "bump" => hand(Hand::Bump),
        "track" => hand(Hand::TrackZero(true)),
        "untrack" => hand(Hand::TrackZero(false)),
        "zero" => hand(Hand::Zero),
        "tare" => hand(Hand::Tare),
        "unplug" => Ok(Some(Wish::Do(Control::Unplug))),
        "replug" => Ok(Some(Wish::Do(Control::Replug))),
        "silent" => Ok(Some(Wish::Do(Control::Silent(true)))),
        "speak" => Ok(Some(Wish::Do(Control::Silent(false)))),
        "truth" => Ok(Some(Wish::Truth)),
        "help" => Ok(Some(Wish::Help)),
        "quit" => Ok(Some(Wish::Quit)),
        _ => Err(format!("'{line}' is not understood: write `help` for what is")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[test]
    fn every_line_that_help_names_is_understood() {
        let listed = COMMANDS.lines().filter_map(|line| line.strip_prefix("  "));
        let mut count = 0;
        for entry in listed {
            let words = entry.split("  ").next().unwrap_or(entry);
            for one in words.split(", ") {
                assert!(matches!(wish(one), Ok(Some(_))), "{one}");
                count += 1;
            }
        }
        assert_eq!(count, 26);
    }

    #[rstest]
    #[case("draw", "needs grams")]
    #[case("drip", "needs grams")]
    #[case("draw -3", "more than nothing")]
    #[case("pour-to 3 4", "needs grams")]
    #[case("tip 3", "not understood")]
    #[case("dance", "write `help`")]
    fn what_is_not_understood_is_said(#[case] line: &str, #[case] part: &str) {
        let why = wish(line).unwrap_err();
        assert!(why.contains(part), "{why}");
    }

    #[test]
    fn a_place_is_a_link_or_a_port() {
        assert_eq!(place("pty:bench/scale").unwrap(), Place::Pty("bench/scale".into()));
        assert_eq!(place("tcp:0").unwrap(), Place::Tcp(0));
        assert!(place("tcp:99999").is_err() && place("pty:").is_err() && place("scale").is_err());
    }
}
