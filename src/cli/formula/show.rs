//! `pourbook formula show`: a formula as it is, or as it was.

use super::Which;
use crate::catalogue::{Colour, VersionId, colour_of, named};
use crate::cli::shop::OpenShop;
use crate::cli::table::{self, Side};
use crate::cli::{CliError, out};
use serde::Serialize;

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    which: Which,
    /// A version that was kept, by the first digits of its identity; `pourbook formula history` lists them
    #[arg(long, value_name = "ID")]
    version: Option<String>,
    /// The result as JSON, decimals as text
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct Json<'a> {
    colour: &'a str,
    name: &'a str,
    variant: &'a str,
    finish: String,
    retired: Option<&'a str>,
    retired_because: Option<&'a str>,
    version: &'a str,
    layers: Vec<JsonLayer<'a>>,
}

#[derive(Serialize)]
struct JsonLayer<'a> {
    layer: String,
    pours: Vec<JsonPart<'a>>,
}

#[derive(Serialize)]
struct JsonPart<'a> {
    toner: &'a str,
    parts: String,
}

/// Runs it.
pub(super) fn run(shop: &OpenShop, args: &Args) -> Result<(), CliError> {
    let colour = args.which.find(&shop.catalogue)?;
    let file = shop.file(colour)?;
    let Some(wanted) = &args.version else { return show(colour, &file.version, args.json) };
    let kept = shop.versions(&file.name)?;
    let all = kept.iter().map(|kept| (&kept.version, &kept.text)).chain([(&file.version, &file.text)]);
    let mut found: Vec<_> = all.filter(|(version, _)| version.starts_with(wanted)).collect();
    found.dedup_by_key(|(version, _)| *version);
    let hint = "`pourbook formula history` lists the versions; at least four digits are needed.";
    match found.as_slice() {
        [(version, text), ..] if found.iter().all(|(other, _)| other == version) => {
            let colour = colour_of(text).ok_or_else(|| {
                CliError::failed(format!("the version {version} cannot be read as a colour"))
            })?;
            show(&colour, version, args.json)
        }
        [] => {
            Err(CliError::failed(format!("no version of {} begins with '{wanted}'", named(colour)))
                .hint(hint))
        }
        _ => Err(CliError::failed(format!("several versions of {} begin with '{wanted}'", named(colour)))
            .hint(hint)),
    }
}

fn show(colour: &Colour, version: &VersionId, json: bool) -> Result<(), CliError> {
    let retired = colour.retired.as_ref();
    if json {
        let part = |part: &'_ crate::catalogue::Part| part.parts.to_string();
        return out::json(&Json {
            colour: colour.code.as_str(),
            name: &colour.name,
            variant: &colour.variant,
            finish: colour.finish.to_string(),
            retired: retired.map(|retired| retired.on.as_str()),
            retired_because: retired.and_then(|retired| retired.because.as_deref()),
            version: version.as_str(),
            layers: colour
                .layers
                .iter()
                .map(|layer| JsonLayer {
                    layer: layer.role.to_string(),
                    pours: layer
                        .pours
                        .iter()
                        .map(|p| JsonPart { toner: p.toner.as_str(), parts: part(p) })
                        .collect(),
                })
                .collect(),
        });
    }
    out::line(format_args!("{} · {} · version {version}", named(colour), colour.finish))?;
    if let Some(retired) = retired {
        let because = retired.because.as_ref().map(|because| format!(": {because}")).unwrap_or_default();
        out::line(format_args!("retired since {}{because}", retired.on))?;
    }
    for layer in &colour.layers {
        out::line(layer.role)?;
        let rows: Vec<_> = layer
            .pours
            .iter()
            .map(|part| vec![String::new(), part.toner.to_string(), part.parts.to_string()])
            .collect();
        for line in table::lines(&[Side::Left, Side::Left, Side::Right], &rows) {
            out::line(line)?;
        }
    }
    Ok(())
}
