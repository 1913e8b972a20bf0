//! The colour and layer a command is about, found by code or by name.

use super::CliError;
use crate::catalogue::{Catalogue, Colour, Found, Role, STANDARD, Word, find};
use crate::mix::Recipe;
use std::collections::BTreeSet;

/// The most colours that a message lists.
const MOST: usize = 8;

/// From this likeness on a name may have been meant.
const ALIKE: f64 = 0.75;

/// The recipe of a colour's layer: by its own formula, or out of the tin of the product that is `named` for it, or of the
/// first for such layers.
pub(super) fn recipe(
    catalogue: &Catalogue,
    (wanted, variant): (&str, Option<&str>),
    role: Role,
    named: Option<&str>,
) -> Result<Recipe, CliError> {
    let colour = colour(catalogue, wanted, variant)?;
    let recipe = Recipe::of_role(catalogue, colour, role, named).map_err(CliError::failed)?;
    recipe.ok_or_else(|| {
        let has: Vec<_> = colour.layers.iter().map(|layer| layer.role.word()).collect();
        CliError::failed(format!("{} {} has no {}", colour.code, colour.name, role.name()))
            .hint(format!("Its layers are: {}.", has.join(", ")))
            .hint(format!(
                "For a {} out of the tin, say in products.toml which toner its product's tin is: tin = \"…\".",
                role.name()
            ))
    })
}

/// The colour with that code, or that name, or the one that is found by those words.
pub(super) fn colour<'a>(
    catalogue: &'a Catalogue,
    wanted: &str,
    variant: Option<&str>,
) -> Result<&'a Colour, CliError> {
    let wanted = wanted.trim();
    if let Some(standard) = catalogue.colour(wanted) {
        return of_variant(catalogue, standard, variant);
    }
    let folded = wanted.to_lowercase();
    let mut found: Vec<&Colour> =
        catalogue.colours.iter().filter(|colour| colour.name.to_lowercase() == folded).collect();
    if found.is_empty() && !wanted.is_empty() {
        // Letters found here and there are good enough for a list to pick from, but not for a mix: each word
        // has to stand in one piece.
        let words = wanted.split_whitespace().count();
        let whole = |place: &Found| {
            [&place.code, &place.name, &place.variant, &place.finish].map(Vec::len).into_iter().sum::<usize>()
                <= words
        };
        found = find(catalogue, wanted, usize::MAX)
            .into_iter()
            .filter(whole)
            .filter_map(|place| catalogue.colours.get(place.colour))
            .collect();
    }
    let codes: BTreeSet<&str> = found.iter().map(|colour| colour.code.as_str()).collect();
    match (found.as_slice(), codes.len()) {
        ([], _) => Err(unknown(catalogue, wanted)),
        // The words may have named the variant as well.
        ([only], _) => of_variant(catalogue, only, variant.or(Some(&only.variant))),
        ([first, ..], 1) => of_variant(catalogue, first, variant),
        (several, _) => {
            let mut error = CliError::failed(format!("'{wanted}' could be any of {} colours", codes.len()));
            for colour in several.iter().take(MOST) {
                error = error.hint(named(colour));
            }
            Err(error.hint("Name one by its code."))
        }
    }
}

fn of_variant<'a>(
    catalogue: &'a Catalogue,
    colour: &'a Colour,
    variant: Option<&str>,
) -> Result<&'a Colour, CliError> {
    let code = colour.code.as_str();
    let Some(variant) = variant else {
        return Ok(catalogue.colour(code).unwrap_or(colour));
    };
    catalogue.colour_variant(code, variant).ok_or_else(|| {
        let has: Vec<_> = catalogue.variants(code).map(|colour| colour.variant.as_str()).collect();
        CliError::failed(format!("{} {} has no variant '{variant}'", colour.code, colour.name))
            .hint(format!("Its variants are: {}.", has.join(", ")))
    })
}

fn unknown(catalogue: &Catalogue, wanted: &str) -> CliError {
    let folded = wanted.to_lowercase();
    let likeness = |colour: &Colour| {
        let to = |text: &str| strsim::jaro_winkler(&text.to_lowercase(), &folded);
        to(colour.code.as_str()).max(to(&colour.name))
    };
    let mut near: Vec<(f64, &Colour)> = catalogue
        .colours
        .iter()
        .map(|colour| (likeness(colour), colour))
        .filter(|(alike, _)| *alike >= ALIKE)
        .collect();
    near.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut error = CliError::failed(format!("there is no colour '{wanted}' in the shop"));
    if !near.is_empty() {
        error = error.hint("The nearest are:");
    }
    for (_, colour) in near.iter().take(3) {
        error = error.hint(named(colour));
    }
    error
}

/// What a table is about: `PB-3140 Gannet White · ground coat`.
pub(super) fn title(recipe: &Recipe) -> String {
    let variant = if recipe.variant == STANDARD { String::new() } else { format!(" ({})", recipe.variant) };
    format!("{} {}{variant} · {}", recipe.colour, recipe.name, recipe.role.name())
}

fn named(colour: &Colour) -> String {
    if colour.variant == STANDARD {
        format!("{}  {}", colour.code, colour.name)
    } else {
        format!("{}  {} ({})", colour.code, colour.name, colour.variant)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    fn found(wanted: &str, variant: Option<&str>) -> Result<String, String> {
        colour(&Catalogue::demo(), wanted, variant)
            .map(|colour| format!("{} {}", colour.code, colour.variant))
            .map_err(|error| error.to_string())
    }

    #[rstest]
    #[case("PB-3140", None, "PB-3140 standard")]
    #[case("pb-3140", None, "PB-3140 standard")]
    #[case("gannet white", None, "PB-3140 standard")]
    #[case("white gann", None, "PB-3140 standard")]
    #[case("fohn", None, "PB-2240 standard")]
    #[case("gannet", None, "PB-3140 standard")]
    #[case("Shale Drizzle", None, "PB-2204 standard")]
    #[case("Shale Drizzle", Some("coarser"), "PB-2204 coarser")]
    #[case("PB-2204", Some("Coarser"), "PB-2204 coarser")]
    #[case("shale coarser", None, "PB-2204 coarser")]
    fn a_colour_by_code_by_name_or_by_words(
        #[case] wanted: &str,
        #[case] variant: Option<&str>,
        #[case] is: &str,
    ) {
        assert_eq!(found(wanted, variant).unwrap(), is);
    }

    #[rstest]
    #[case("PB", None, "could be any of")]
    #[case("gnnt wht", None, "no colour 'gnnt wht'")]
    #[case("zzzz", None, "no colour 'zzzz'")]
    #[case("", None, "no colour ''")]
    #[case("PB-2204", Some("finer"), "no variant 'finer'")]
    fn what_is_not_one_colour_is_said(
        #[case] wanted: &str,
        #[case] variant: Option<&str>,
        #[case] part: &str,
    ) {
        let error = found(wanted, variant).unwrap_err();
        assert!(error.contains(part), "{error}");
    }
}
