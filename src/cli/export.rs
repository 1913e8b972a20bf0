//! `pourbook export`: formulas as a table, or as a folder of their own files; the invented shop as one to start from.

use super::places::Places;
use super::shop::OpenShop;
use super::{CliError, colour, out};
use crate::catalogue::{Colour, demo, to_csv};
use clap::ValueEnum;
use std::fs::{self, OpenOptions};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Where to: a file that is not there yet, or a folder
    path: PathBuf,
    /// The colours, by code or words of the name [default: all, and as TOML the shop's other files too]
    colour: Vec<String>,
    /// As a table, or as the formulas' own files [default: csv for a PATH that ends so, else toml]
    #[arg(long, value_enum)]
    format: Option<Format>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Format {
    /// A row a toner
    Csv,
    /// A folder of files, byte for byte
    Toml,
}

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    let shop = OpenShop::of(places)?;
    let colours: Vec<&Colour> = if args.colour.is_empty() {
        shop.catalogue.colours.iter().collect()
    } else {
        args.colour
            .iter()
            .map(|wanted| colour::colour(&shop.catalogue, wanted, None))
            .collect::<Result<_, _>>()?
    };
    let is_csv = args.path.extension().is_some_and(|end| end.eq_ignore_ascii_case("csv"));
    match args.format.unwrap_or(if is_csv { Format::Csv } else { Format::Toml }) {
        Format::Csv => {
            write(&args.path, to_csv(colours.iter().copied()).as_bytes())?;
        }
        Format::Toml => {
            let mut files = Vec::new();
            for colour in &colours {
                let file = shop.file(colour)?;
                files.push((format!("colours/{}", file.name), file.text.into_bytes()));
            }
            if args.colour.is_empty() {
                files.extend(others(places, &shop)?);
            }
            // Nothing is begun where something would be in the way.
            for (path, _) in &files {
                let path = args.path.join(path);
                if path.symlink_metadata().is_ok() {
                    return Err(there(&path));
                }
            }
            let colours = args.path.join("colours");
            fs::create_dir_all(&colours).map_err(|error| refused(&colours, &error))?;
            for (path, bytes) in &files {
                write(&args.path.join(path), bytes)?;
            }
        }
    }
    let count = colours.len();
    let noun = if count == 1 { "colour" } else { "colours" };
    out::line(format_args!("{count} {noun} written to {}", args.path.display()))?;
    if shop.is_demo() {
        out::note(format_args!(
            "It is an invented shop: do not spray it. Use it with --shop {}.",
            args.path.display()
        ));
    } else if shop.catalogue.has_errors() {
        out::note("note: what `pourbook check` shows as left out is not exported");
    }
    Ok(())
}

/// The shop's files that are no formulas.
fn others(places: &Places, shop: &OpenShop) -> Result<Vec<(String, Vec<u8>)>, CliError> {
    if shop.is_demo() {
        let others = demo::FILES.iter().filter(|(path, _)| !path.starts_with("colours/"));
        return Ok(others.map(|(path, text)| ((*path).to_owned(), text.as_bytes().to_vec())).collect());
    }
    let mut files = Vec::new();
    let folder = places.shop_folder()?;
    for name in ["toners.toml", "cups.toml", "products.toml", "panels.toml", "scale.toml"] {
        let path = folder.join(name);
        match fs::read(&path) {
            Ok(bytes) => files.push((name.to_owned(), bytes)),
            Err(error) if error.kind() == io::ErrorKind::NotFound => {}
            Err(error) => {
                return Err(CliError::failed(format!("{} cannot be read: {error}", path.display())));
            }
        }
    }
    Ok(files)
}

/// A new file. What is there is never written over.
fn write(path: &Path, bytes: &[u8]) -> Result<(), CliError> {
    let written = OpenOptions::new().write(true).create_new(true).open(path).and_then(|mut file| {
        file.write_all(bytes)?;
        file.sync_all()
    });
    written.map_err(|error| {
        if error.kind() == io::ErrorKind::AlreadyExists { there(path) } else { refused(path, &error) }
    })
}

fn there(path: &Path) -> CliError {
    CliError::failed(format!("{} is there already, and was left as it is", path.display()))
        .hint("Name a file or folder that is not there yet.")
}

fn refused(path: &Path, error: &io::Error) -> CliError {
    CliError::failed(format!("{} cannot be written: {error}", path.display()))
        .hint("Check that its folder is there, and who may write in it.")
}
