//! `pourbook label`: the label of a mixed cup, as text, as a picture, as a PDF, or onto paper.

use super::places::Places;
use super::{CliError, open, out, stores};
use crate::book::{Ledger as _, MixId, MixTotals, MixesOf, SqliteStore, Store as _};
use crate::catalogue::Word as _;
use crate::job::label::{Entered, Label, Payload, PayloadError, State, UseBy};
use crate::tui;
use crate::units::Stamp;
use serde::Serialize;
use std::fs::OpenOptions;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The mix: by its number, its identity, or the code on its label
    #[arg(value_name = "MIX")]
    mix: String,
    /// Write the label as a picture
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
    /// Write the label as a PDF
    #[arg(long, value_name = "FILE")]
    pdf: Option<PathBuf>,
    /// Write over a file that is there
    #[arg(long)]
    force: bool,
    /// Print it with the program that is set as label-print
    #[arg(long)]
    print: bool,
    /// The result as JSON
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct Json<'a> {
    mix: u32,
    mix_id: String,
    code: String,
    colour: &'a str,
    name: &'a str,
    variant: &'a str,
    layer: &'static str,
    product: Option<&'a str>,
    ready_to_spray: bool,
    state: &'static str,
    begun: Stamp,
    mixed: Option<Stamp>,
    use_by: Option<Stamp>,
    painter: &'a str,
    signal: Option<&'static str>,
    isocyanates: Option<bool>,
    flammable: Option<bool>,
    pictograms: &'a [String],
    hazards: &'a [String],
    cautions: &'a [String],
    safety_data_sheet: Option<&'a str>,
}

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    let book = stores::to_look(places)?;
    let of = find(&book, &args.mix)?;
    let events = book.events(of.mix).map_err(CliError::failed)?;
    let label = Label::of(&places.catalogue()?, of.head.number, of.mix, &events).map_err(CliError::failed)?;
    match &label.state {
        State::Emptied { kept: false, .. } => {
            out::note(format_args!("note: the cup of mix {} was emptied", label.number));
        }
        State::GivenUp(_) => out::note(format_args!("note: mix {} was given up", label.number)),
        State::Unfinished => out::note(format_args!("note: mix {} is not finished", label.number)),
        _ => {}
    }
    if args.json {
        out::json(&json(&label))?;
    } else if args.svg.is_none() && args.pdf.is_none() && !args.print {
        label.text(&open::when).iter().try_for_each(out::line)?;
    }
    // Standard output is for the JSON alone where that is wanted.
    let say = |text: String| {
        if !args.json {
            return out::line(text);
        }
        out::note(text);
        Ok(())
    };
    if let Some(path) = &args.svg {
        write(path, label.svg(&open::when).as_bytes(), args.force)?;
        say(format!("written to {}", path.display()))?;
    }
    if args.pdf.is_none() && !args.print {
        return Ok(());
    }
    let pdf = label.pdf(&open::when);
    if pdf.missing > 0 {
        out::note(format_args!(
            "note: {} letters are not in a PDF's own fonts: a question mark stands for each; --svg has them",
            pdf.missing
        ));
    }
    if let Some(path) = &args.pdf {
        write(path, &pdf.bytes, args.force)?;
        say(format!("written to {}", path.display()))?;
    }
    if args.print {
        let command = places.settled()?.settings.label_print();
        let command = command.ok_or_else(|| CliError::failed(tui::LABEL_PRINT_UNSET))?;
        tui::print_label(&command, &pdf.bytes).map_err(CliError::failed)?;
        say(format!("the label of mix {} is printed", label.number))?;
    }
    Ok(())
}

/// The mix that was named: by its number, its identity, or the code on its label.
pub(super) fn find(book: &SqliteStore, named: &str) -> Result<MixTotals, CliError> {
    let named = named.trim();
    let identity = || MixId::parse(&named.to_ascii_lowercase());
    let of = match (Payload::parse(named), named.parse(), identity()) {
        (Ok(Payload::Mix(mix)), ..) | (_, _, Some(mix)) => MixesOf::Mix(mix),
        (_, Ok(number), _) => MixesOf::Number(number),
        (Err(error @ PayloadError::Broken), ..) => {
            return Err(CliError::wrong(format!("'{named}': {error}")));
        }
        _ => {
            return Err(CliError::wrong(format!("'{named}' is no mix: write its number, as 12"))
                .hint("The code on its label will do too: PB:M: and 32 digits."));
        }
    };
    let found = book.totals(of).map_err(CliError::failed)?.pop();
    found.ok_or_else(|| CliError::failed(format!("there is no mix {named} in this book")))
}

fn json(label: &Label) -> Json<'_> {
    let entered = |entered| match entered {
        Entered::Yes => Some(true),
        Entered::No => Some(false),
        Entered::NotOnFile => None,
    };
    let (state, mixed) = match &label.state {
        State::Unfinished => ("unfinished", None),
        State::Mixed(at) => ("mixed", Some(*at)),
        State::GivenUp(_) => ("given-up", None),
        State::Emptied { .. } => ("emptied", None),
    };
    Json {
        mix: label.number,
        mix_id: label.mix.to_string(),
        code: label.payload().to_string(),
        colour: label.colour.as_str(),
        name: &label.name,
        variant: &label.variant,
        layer: label.layer.word(),
        product: label.product.as_ref().map(|product| product.code.as_str()),
        ready_to_spray: label.product.as_ref().is_some_and(|product| product.is_ready),
        state,
        begun: label.begun,
        mixed,
        use_by: if let UseBy::Until(at) = label.use_by { Some(at) } else { None },
        painter: &label.painter,
        signal: label.signal.map(crate::catalogue::Signal::word),
        isocyanates: entered(label.isocyanates),
        flammable: entered(label.flammable),
        pictograms: &label.pictograms,
        hazards: &label.statements,
        cautions: &label.cautions,
        safety_data_sheet: label.sds.as_deref(),
    }
}

/// Writes a file. What is there is only written over if that was said.
fn write(path: &Path, bytes: &[u8], force: bool) -> Result<(), CliError> {
    let mut options = OpenOptions::new();
    options.write(true);
    if force {
        options.create(true).truncate(true)
    } else {
        options.create_new(true)
    };
    let written = options.open(path).and_then(|mut file| {
        file.write_all(bytes)?;
        file.sync_all()
    });
    written.map_err(|error| match error.kind() {
        io::ErrorKind::AlreadyExists => {
            CliError::failed(format!("{} is there already, and was left as it is", path.display()))
                .hint("Name a file that is not there yet, or write over it with --force.")
        }
        _ => CliError::failed(format!("{} cannot be written: {error}", path.display()))
            .hint("Check that its folder is there, and who may write in it."),
    })
}
