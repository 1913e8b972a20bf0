//! `pourbook formula history`: the versions of a formula.

use super::Which;
use crate::book::{Store as _, open_to_look};
use crate::catalogue::{VersionId, changes, colour_of, named};
use crate::cli::places::Places;
use crate::cli::shop::OpenShop;
use crate::cli::{CliError, out};
use crate::mix::Event;
use serde::Serialize;
use std::collections::HashMap;

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    which: Which,
    /// The result as JSON
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct Json<'a> {
    colour: &'a str,
    variant: &'a str,
    file: &'a str,
    versions: Vec<Row>,
}

#[derive(Serialize)]
struct Row {
    version: String,
    /// When it was put aside; none for the one that holds.
    kept: Option<String>,
    /// Against the one before.
    changes: Vec<String>,
    /// None where there is no book.
    mixes: Option<usize>,
}

/// Runs it.
pub(super) fn run(places: &Places, shop: &OpenShop, args: &Args) -> Result<(), CliError> {
    let colour = args.which.find(&shop.catalogue)?;
    let file = shop.file(colour)?;
    let kept = shop.versions(&file.name)?;
    let weighed = weighed(places, shop)?;
    let kept = kept.iter().map(|kept| (Some(&kept.at), &kept.version, &kept.text));
    let mut all: Vec<_> = kept.chain([(None, &file.version, &file.text)]).collect();
    // What was kept because it was weighed, and holds still, is one version.
    if let [.., (_, last, _), (_, holds, _)] = all.as_slice()
        && last == holds
    {
        all.remove(all.len().saturating_sub(2));
    }
    let mut before = None;
    let mut versions = Vec::new();
    for (at, version, text) in all {
        let now = colour_of(text);
        let changes = match (&before, &now) {
            (Some(before), Some(now)) => {
                let told = changes(before, now);
                if told.is_empty() { vec!["comments or layout only".to_owned()] } else { told }
            }
            (None, Some(_)) => Vec::new(),
            (_, None) => vec!["cannot be read as a colour".to_owned()],
        };
        let mixes = weighed.as_ref().map(|weighed| weighed.get(version.as_str()).copied().unwrap_or(0));
        versions.push(Row { version: version.as_str().to_owned(), kept: at.cloned(), changes, mixes });
        before = now.or(before);
    }
    if args.json {
        let (code, variant) = (colour.code.as_str(), colour.variant.as_str());
        return out::json(&Json { colour: code, variant, file: &file.name, versions });
    }
    out::line(format_args!("{} · {}", named(colour), file.name))?;
    for version in versions {
        let short: String = version.version.chars().take(VersionId::SHOWN).collect();
        let kept = version.kept.map_or_else(|| "holds now".to_owned(), |at| format!("kept {at}"));
        let mixes = match version.mixes {
            None => String::new(),
            Some(1) => " · 1 mix".to_owned(),
            Some(mixes) => format!(" · {mixes} mixes"),
        };
        out::line(format_args!("{short}  {kept}{mixes}"))?;
        for change in version.changes {
            out::line(format_args!("  {change}"))?;
        }
    }
    Ok(())
}

/// How many mixes were weighed from each version; none where there is no book yet.
fn weighed(places: &Places, shop: &OpenShop) -> Result<Option<HashMap<String, usize>>, CliError> {
    let path = places.book(shop.is_demo())?;
    if !path.exists() {
        return Ok(None);
    }
    let book = open_to_look(&path).map_err(CliError::failed)?;
    let mut weighed: HashMap<String, usize> = HashMap::new();
    for summary in book.mixes().map_err(CliError::failed)? {
        let events = book.events(summary.mix).map_err(CliError::failed)?;
        let first = events.first().map(|envelope| serde_json::from_str(&envelope.body));
        if let Some(Ok(Event::Started(start))) = first
            && let Some(version) = start.version
        {
            let count = weighed.entry(version).or_default();
            *count = count.saturating_add(1);
        }
    }
    Ok(Some(weighed))
}
