//! `pourbook keys`: every key and what it does where.

use super::places::Places;
use super::{CliError, out, table};
use crate::tui::keys::{Action, Bindings, Context, as_table};
use crate::tui::theme::Symbols;
use serde::Serialize;

/// What it can be told.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The result as JSON
    #[arg(long, conflicts_with = "markdown")]
    json: bool,
    /// The result as tables in Markdown
    #[arg(long)]
    markdown: bool,
}

#[derive(Serialize)]
struct Row {
    context: &'static str,
    action: &'static str,
    keys: Vec<String>,
    changed: bool,
    says: &'static str,
}

/// Runs it.
pub(super) fn run(places: &Places, args: &Args) -> Result<(), CliError> {
    let settled = places.settled()?;
    let (bindings, problems) = settled.bindings();
    let plain = Bindings::default();
    let rows = Context::ALL.into_iter().flat_map(|context| {
        let (bindings, plain) = (&bindings, &plain);
        Action::ALL.iter().filter_map(move |&action| {
            let own = |bindings: &Bindings| -> Vec<String> {
                let keys = bindings.own_keys(context, action);
                keys.into_iter().map(|key| key.show(Symbols::ASCII)).collect()
            };
            let (keys, before) = (own(bindings), own(plain));
            let says = action.sentence();
            let changed = keys != before;
            let there = !keys.is_empty() || changed;
            there.then(|| Row { context: context.name(), action: action.name(), keys, changed, says })
        })
    });
    let rows: Vec<Row> = rows.collect();
    if args.markdown {
        out::line(as_table(&bindings, &Context::ALL).trim_end())?;
    } else if args.json {
        out::json(&rows)?;
    } else {
        for context in Context::ALL {
            let own: Vec<Vec<String>> = rows
                .iter()
                .filter(|row| row.context == context.name())
                .map(|row| {
                    let mark = if row.changed { "*" } else { " " };
                    vec![
                        format!(" {mark} {}", row.keys.join(" ")),
                        row.action.to_owned(),
                        row.says.to_owned(),
                    ]
                })
                .collect();
            out::line(format_args!("{} ({})", context.heading(), context.name()))?;
            for line in table::lines(&[], &own) {
                out::line(line)?;
            }
        }
    }
    for problem in &problems {
        out::note(problem);
    }
    if problems.is_empty() { Ok(()) } else { Err(CliError::said()) }
}
