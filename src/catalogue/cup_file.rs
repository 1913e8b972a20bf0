//! `cups.toml`: a `[[cup]]` for each.

use super::Cup;
use super::code::fold;
use super::fields::{At, Fields, Reported};
use super::page::Page;
use super::problem::quoted;
use crate::units::{Grams, Millilitres};
use std::collections::{HashMap, hash_map::Entry};

/// Reads the file: the cups that could be read, in the order of the file.
pub(super) fn read(page: &mut Page<'_>) -> Vec<Cup> {
    let Some(document) = page.parse() else { return Vec::new() };
    let file = Fields::of_file(document.as_table(), "file of cups");
    let _ = file.only(page, &["cup"]);
    let list = file.need(page, "cup", "[[cup]]", |file, page, key| file.tables(page, key, "cup"));
    let Ok(list) = list else { return Vec::new() };

    let mut cups = Vec::new();
    let mut first_at: HashMap<String, usize> = HashMap::new();
    for table in list.value.tables {
        let name = table.need(page, "name", "name = \"600\"", Fields::text);
        let cup = read_cup(page, table, name.clone());
        let Ok(name) = name else { continue };
        match first_at.entry(fold(&name.value)) {
            Entry::Occupied(first) => {
                let problem = page
                    .error(name.offset, format!("there are two cups with the name {}", quoted(&name.value)))
                    .hint(format!("The first is at {}. Give one another name.", page.location(*first.get())));
                page.report(problem);
            }
            Entry::Vacant(entry) => {
                entry.insert(name.offset);
                cups.extend(cup);
            }
        }
    }
    cups
}

fn read_cup(
    page: &mut Page<'_>,
    table: Fields<'_>,
    name: Result<At<String>, Reported>,
) -> Result<Cup, Reported> {
    let only = table.only(page, &["name", "tare", "brim"]);
    let tare = table.positive(page, "tare", "grams");
    let brim = table
        .need(page, "brim", "brim = \"600\"", |table, page, key| table.positive(page, key, "millilitres"));
    only?;
    Ok(Cup {
        name: name?.value,
        tare: tare?.map(|at| Grams::new(at.value)),
        brim: Millilitres::new(brim?.value),
    })
}
