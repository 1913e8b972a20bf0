//! `panels.toml`: a `[[panel]]` for each part of a body.

use super::Panel;
use super::code::fold;
use super::fields::{At, Fields, Reported};
use super::page::Page;
use super::problem::quoted;
use crate::units::{Area, Decimal};
use std::collections::{HashMap, hash_map::Entry};

/// Reads the file: the panels that could be read, in the order of the file.
pub(super) fn read(page: &mut Page<'_>) -> Vec<Panel> {
    let Some(document) = page.parse() else { return Vec::new() };
    let file = Fields::of_file(document.as_table(), "file of panels");
    let _ = file.only(page, &["panel"]);
    let list = file.need(page, "panel", "[[panel]]", |file, page, key| file.tables(page, key, "panel"));
    let Ok(list) = list else { return Vec::new() };

    let mut panels = Vec::new();
    let mut first_at: HashMap<String, usize> = HashMap::new();
    for table in list.value.tables {
        let name = table.need(page, "name", "name = \"bonnet\"", Fields::text);
        let panel = read_panel(page, table, name.clone());
        let Ok(name) = name else { continue };
        match first_at.entry(fold(&name.value)) {
            Entry::Occupied(first) => {
                let problem = page
                    .error(name.offset, format!("there are two panels with the name {}", quoted(&name.value)))
                    .hint(format!("The first is at {}. Give one another name.", page.location(*first.get())));
                page.report(problem);
            }
            Entry::Vacant(entry) => {
                entry.insert(name.offset);
                panels.extend(panel);
            }
        }
    }
    panels
}

fn read_panel(
    page: &mut Page<'_>,
    table: Fields<'_>,
    name: Result<At<String>, Reported>,
) -> Result<Panel, Reported> {
    let only = table.only(page, &["name", "area", "bodies"]);
    let usual = area(table, page, "area");
    let bodies = bodies(table, page);
    only?;
    let (name, usual, bodies) = (name?, usual?, bodies?);
    if usual.is_none() && bodies.is_empty() {
        let problem = page
            .error(table.offset, "this panel has no area")
            .hint("Add area = \"1.5\" in square metres, or bodies = { small = \"1.2\", large = \"1.8\" }.");
        page.report(problem);
        return Err(Reported);
    }
    Ok(Panel { name: name.value, area: usual, bodies })
}

/// The areas by the size of the body; of two sizes that differ by capitals only the second is a mistake.
fn bodies(table: Fields<'_>, page: &mut Page<'_>) -> Result<Vec<(String, Area)>, Reported> {
    let Some(At { value: table, .. }) = table.table(page, "bodies", "table of bodies")? else {
        return Ok(Vec::new());
    };
    let mut bodies: Vec<(String, Area)> = Vec::new();
    let mut result = Ok(());
    for key in table.own_keys(page)? {
        if bodies.iter().any(|(other, _)| fold(other) == fold(&key.value)) {
            let what = format!("the body {} stands twice in this panel", quoted(&key.value));
            page.report(page.error(key.offset, what).hint("Take one of the two out."));
            result = Err(Reported);
            continue;
        }
        match area(table, page, &key.value) {
            Ok(area) => bodies.extend(area.map(|area| (key.value, area))),
            Err(Reported) => result = Err(Reported),
        }
    }
    result.map(|()| bodies)
}

fn area(table: Fields<'_>, page: &mut Page<'_>, key: &str) -> Result<Option<Area>, Reported> {
    let Some(At { value, offset }) = table.positive(page, key, "square metres")? else { return Ok(None) };
    // A whole van is some twenty square metres: common practice, no source. Beyond, another unit was most likely meant.
    if value > Decimal::from(20) {
        let problem = page
            .warning(offset, format!("{value} m² is far from any panel's"))
            .expected("square metres: 1.5, not 16 (square feet) nor 15000 (square centimetres)");
        page.report(problem);
    }
    Ok(Some(Area::new(value)))
}
