//! The command line: one file a command.
//!
//! Results go to standard output, everything else to standard error. Ends with 0 when it is done, 1 when it
//! could not be done, 2 when the command was wrong.

mod amount;
mod book;
mod check;
mod colour;
mod correct;
mod count;
mod daily;
mod error;
mod export;
mod figures;
mod first_run;
mod formula;
mod hear;
mod import;
mod job;
mod keys;
mod label;
mod listen;
mod log;
mod manual;
mod open;
mod out;
mod places;
mod ports;
mod prefer;
mod progress;
mod raw;
mod ready;
mod receive;
mod settings;
mod shelf;
mod shop;
mod stand_in;
mod stop;
mod stores;
mod table;
mod tape;
mod targets;
mod tin;
mod to_write;
mod trace;
mod use_of;
mod voc;
mod waste;

pub use error::CliError;

use clap::{CommandFactory as _, Parser, Subcommand};
use places::Places;
use std::process::ExitCode;

/// What stands below every help text.
const AFTER: &str = "\
A scale's address, for --scale and wherever one is asked for:
  serial:/dev/ttyUSB0?baud=9600&line=8N1&shape=sma    a serial port
  tcp:HOST:PORT?shape=sma                             a serial server that passes bytes unchanged
  rfc2217:HOST:PORT?baud=9600&line=8N1&shape=sma      a serial server whose port is set over the network
  tape:FILE                                           a recording; ?speed=full plays it as fast as it goes
  virtual:                                            the virtual bench; ?seed=N
shape= names a format, a FILE.toml that describes one, or none to look at the bytes alone (listen, tape).

The environment variables POURBOOK_SHOP, POURBOOK_BOOK, POURBOOK_SCALE and POURBOOK_SETTINGS stand for --shop, --book,
--scale and --settings; what is said on the command line counts before them, and they before the settings file.
With POURBOOK_LOG=debug the program keeps a log in your state folder.
Ends with 0 when it is done, 1 when it could not be done, 2 when the command was wrong.";

/// The mixing bench of a vehicle refinish shop. Without a command it opens the bench on the full screen.
#[derive(Debug, Parser)]
#[command(name = "pourbook", version, after_help = AFTER, propagate_version = true)]
struct Cli {
    #[command(flatten)]
    places: Places,
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Open the invented shop on a virtual bench; no hardware, no set-up
    Demo(open::Demo),
    /// What to weigh of each toner for so much of a layer
    Targets(targets::Args),
    /// The ways out when a pour went over, side by side
    Correct(correct::Args),
    /// Formulas: add, copy, change, retire, show, history
    Formula(formula::Args),
    /// Take over formulas from a table (CSV) or another shop's folder
    Import(import::Args),
    /// Hand on formulas as a table (CSV) or a folder
    Export(export::Args),
    /// The whole book: export, import, backup, restore
    Book(book::Args),
    /// Tins that came: one, or a delivery as a table (CSV)
    Receive(receive::Args),
    /// What a tin was found to hold, weighed or judged by hand
    Count(count::Args),
    /// Tins stirred, opened, emptied, thrown away; a lot called back
    Tin(tin::Args),
    /// Where a lot has gone; which tins and lots are in a mix or on a repair
    Trace(trace::Args),
    /// Repairs: open, cards, mixes, coats and times, what comes next, the job sheet
    Job(job::Args),
    /// The label of a mixed cup: text, picture, PDF, or onto paper
    Label(label::Args),
    /// What is on the shelf, how long it lasts, and what to order
    Shelf(shelf::Args),
    /// The machine's serial ports, and what speaks on them
    Ports(ports::Args),
    /// What a scale says, one line a reading
    Listen(listen::Args),
    /// Record what a scale sends, to play back or to put into a report
    Tape(tape::Args),
    /// A virtual scale on a real line, for trying things out without one
    StandIn(stand_in::Args),
    /// The questions of the first run once more: colours, scale, who weighs, country
    FirstRun,
    /// What is set, where each setting came from, and changing it
    Settings(settings::Args),
    /// Every key and what it does where
    Keys(keys::Args),
    /// The manual page, to be read with man -l -
    Man,
    /// A shell's completions
    Completions(manual::Completions),
    /// What was mixed and not sprayed, why, and what it cost
    Waste(waste::Args),
    /// What was received, poured, found missing and discarded
    Use(use_of::Args),
    /// The solvent in a mix or a month, against the limits; the limits, and the records to keep
    Voc(voc::Args),
    /// Is everything well: files, book, the scale and its daily check, permissions, terminal
    Check(check::Args),
}

/// Runs the program with the arguments it was started with.
pub fn run() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => {
            // Nobody left to read the help is no fault of the command.
            let _ = error.print();
            return ExitCode::from(u8::try_from(error.exit_code()).unwrap_or(2));
        }
    };
    if let Err(error) = log::begin() {
        out::note(&error);
    }
    match dispatch(cli) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            tracing::error!(%error, "the command ended");
            error.report()
        }
    }
}

fn dispatch(cli: Cli) -> Result<(), CliError> {
    let places = &cli.places;
    match cli.command {
        None => open::bare(places),
        Some(Command::Demo(args)) => open::demo(places, &args),
        Some(Command::Targets(args)) => targets::run(places, &args),
        Some(Command::Correct(args)) => correct::run(places, &args),
        Some(Command::Formula(args)) => formula::run(places, &args),
        Some(Command::Import(args)) => import::run(places, &args),
        Some(Command::Export(args)) => export::run(places, &args),
        Some(Command::Book(args)) => book::run(places, &args),
        Some(Command::Receive(args)) => receive::run(places, &args),
        Some(Command::Count(args)) => count::run(places, &args),
        Some(Command::Tin(args)) => tin::run(places, &args),
        Some(Command::Trace(args)) => trace::run(places, &args),
        Some(Command::Job(args)) => job::run(places, &args),
        Some(Command::Label(args)) => label::run(places, &args),
        Some(Command::Shelf(args)) => shelf::run(places, &args),
        Some(Command::Ports(args)) => ports::run(&args),
        Some(Command::Listen(args)) => listen::run(places, &args),
        Some(Command::Tape(args)) => tape::run(&args),
        Some(Command::StandIn(args)) => stand_in::run(&args),
        Some(Command::FirstRun) => first_run::run(places),
        Some(Command::Settings(args)) => settings::run(places, &args),
        Some(Command::Keys(args)) => keys::run(places, &args),
        Some(Command::Man) => manual::man(Cli::command()),
        Some(Command::Completions(args)) => manual::completions(Cli::command(), &args),
        Some(Command::Waste(args)) => waste::run(places, &args),
        Some(Command::Use(args)) => use_of::run(places, &args),
        Some(Command::Voc(args)) => voc::run(places, &args),
        Some(Command::Check(args)) => check::run(places, &args),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_command_line_holds_together() {
        Cli::command().debug_assert();
    }

    #[test]
    fn every_command_and_every_option_has_words() {
        let mut root = Cli::command();
        root.build();
        for command in root.get_subcommands().filter(|command| command.get_name() != "help") {
            assert!(command.get_about().is_some(), "{}", command.get_name());
            for argument in command.get_arguments() {
                assert!(argument.get_help().is_some(), "{} {}", command.get_name(), argument.get_id());
            }
        }
    }
}
