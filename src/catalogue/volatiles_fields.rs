//! The keys of what a litre gives off: `voc`, `water`, `exempt`, `exempt-density`, alike for toners and products.

use super::Volatiles;
use super::fields::{At, Fields, Read, Reported};
use super::page::Page;
use crate::units::{Decimal, Density};

/// Reads them; `density` is that of the material where it is known.
pub(super) fn volatiles(
    table: Fields<'_>,
    page: &mut Page<'_>,
    density: Option<Density>,
) -> Result<Option<Volatiles>, Reported> {
    let total = grams_a_litre(table, page, "voc");
    let water = grams_a_litre(table, page, "water");
    let exempt = grams_a_litre(table, page, "exempt");
    let exempt_density = table.positive(page, "exempt-density", "grams per millilitre");
    let (total, water, exempt, exempt_density) = (total?, water?, exempt?, exempt_density?);

    let Some(total) = total else {
        let Some(at) = [&water, &exempt, &exempt_density].into_iter().flatten().map(|at| at.offset).min()
        else {
            return Ok(None);
        };
        let problem = page
            .error(
                at,
                "it is said what of its volatiles is water or exempt, but not how much there is of all",
            )
            .hint("Add 'voc': all that evaporates from a litre, in grams, water and exempt compounds too.");
        page.report(problem);
        return Err(Reported);
    };
    let of = |at: &Option<At<Decimal>>| at.as_ref().map_or(Decimal::ZERO, |at| at.value);
    let parts = of(&water).checked_add(of(&exempt));
    if parts.is_none_or(|parts| parts > total.value) {
        let problem = page
            .error(total.offset, format!("'voc' is {}, less than 'water' and 'exempt' together", total.value))
            .expected("all that evaporates from a litre, in grams, water and exempt compounds too");
        page.report(problem);
        return Err(Reported);
    }
    let litre = density.and_then(|density| density.decimal().checked_mul(Decimal::ONE_THOUSAND));
    if let Some(litre) = litre.filter(|litre| total.value > *litre) {
        let problem = page
            .error(total.offset, format!("'voc' is {} g/L, more than a litre weighs", total.value))
            .expected(format!("at most {} g, which a litre of this density weighs", litre.normalize()));
        page.report(problem);
        return Err(Reported);
    }
    if let (Some(exempt), None) = (exempt.as_ref().filter(|at| !at.value.is_zero()), &exempt_density) {
        let problem = page
            .error(exempt.offset, "there are exempt compounds, but not how dense they are")
            .hint("Add 'exempt-density' in grams per millilitre, from the safety data sheet.");
        page.report(problem);
        return Err(Reported);
    }
    Ok(Some(Volatiles {
        total: total.value,
        water: of(&water),
        exempt: of(&exempt),
        exempt_density: exempt_density.and_then(|at| Density::new(at.value)),
    }))
}

/// Grams a litre, nothing or more.
fn grams_a_litre(table: Fields<'_>, page: &mut Page<'_>, key: &str) -> Read<Decimal> {
    let read = table.number(page, key)?;
    match read {
        Some(At { value, offset }) if value < Decimal::ZERO => {
            let problem = page
                .error(offset, format!("'{key}' is {value}"))
                .expected("grams a litre, nothing or more; without the line it is not known");
            page.report(problem);
            Err(Reported)
        }
        read => Ok(read),
    }
}
