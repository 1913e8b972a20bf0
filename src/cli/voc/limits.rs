//! `pourbook voc --limits`: the tables as they hold, to be read, saved and edited.

use super::exact_content;
use crate::cli::places::Places;
use crate::cli::{CliError, out};
use crate::job::{AID, LimitTable};
use serde_json::{Value, json};

/// Runs it.
pub(super) fn run(places: &Places, as_json: bool) -> Result<(), CliError> {
    let (limits, text) = super::in_force(places)?;
    if !as_json {
        return text.lines().try_for_each(out::line);
    }
    let tables: Vec<Value> = limits.tables.iter().map(table).collect();
    out::json(&json!({
        "water_density": limits.water_density.to_string(),
        "water_density_from": limits.water_density_from,
        "tables": tables,
        "note": AID,
    }))
}

fn table(table: &LimitTable) -> Value {
    let rows: Vec<Value> = table
        .rows
        .iter()
        .map(|row| {
            json!({
                "id": row.id,
                "name": row.name,
                "limit_g_per_l": exact_content(row.limit),
                "basis": row.basis.word(),
                "known": row.known.word(),
            })
        })
        .collect();
    json!({
        "id": table.id,
        "name": table.name,
        "jurisdiction": table.jurisdiction,
        "valid_from": table.valid_from.map(|(day, _)| day.to_string()),
        "valid_from_known": table.valid_from.map(|(_, known)| known.word()),
        "checked": table.checked.to_string(),
        "read_in": table.read_in,
        "averages": table.averages.word(),
        "together": table.together,
        "note": table.note,
        "rows": rows,
    })
}
