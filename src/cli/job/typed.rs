//! Panels and layers as they are typed on the command line.

use super::amount;
use crate::catalogue::Role;
use crate::job::{LayerPlan, Panel};
use crate::units::{Decimal, parse_decimal_with_comma, parse_volume};

/// What was said of a layer; the rest of it stays as it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct LayerSaid(pub(super) LayerPlan);

impl LayerSaid {
    /// Says it of that layer.
    pub(super) fn over(&self, known: &mut LayerPlan) {
        let said = self.0.clone();
        known.product = said.product.or(known.product.take());
        known.shade = said.shade.or(known.shade.take());
        known.coats = said.coats.or(known.coats);
        known.asked = said.asked.or(known.asked);
        known.flash_off = said.flash_off.or(known.flash_off);
        known.bake = said.bake.or(known.bake);
    }
}

/// A square foot in m²: 0.3048 m squared (the international foot is 0.3048 m by definition).
const SQUARE_FOOT: Decimal = Decimal::from_parts(9_290_304, 0, 0, false, 8);

/// Reads `bonnet`, or `door, left=0.9 m2`.
pub(super) fn panel(text: &str) -> Result<Panel, String> {
    let (name, area) = match text.rsplit_once('=') {
        Some((name, area)) => (name, Some(square_metres(area)?)),
        None => (text, None),
    };
    let name = name.trim().to_owned();
    if name.is_empty() {
        return Err("a panel's name was expected, as \"door, left=0.9 m2\"".to_owned());
    }
    Ok(Panel { name, area })
}

fn square_metres(text: &str) -> Result<Decimal, String> {
    let text = text.trim();
    let expected = || format!("'{text}' is no area: write it with its unit, as 0.9 m2 or 10 ft2");
    let end = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ','))).unwrap_or(text.len());
    let (number, unit) = text.split_at_checked(end).ok_or_else(expected)?;
    let number = parse_decimal_with_comma(number).map_err(|_problem| expected())?;
    let area = match unit.trim().to_lowercase().as_str() {
        "m2" | "m²" | "sq m" => number,
        "ft2" | "ft²" | "sq ft" => number.checked_mul(SQUARE_FOOT).ok_or_else(expected)?.normalize(),
        _ => return Err(expected()),
    };
    if area > Decimal::ZERO { Ok(area) } else { Err(format!("'{text}' is nothing: an area must be more")) }
}

/// Reads `pearl`, or `pearl, coats=3, asked=350 mL`.
pub(super) fn layer(text: &str) -> Result<LayerSaid, String> {
    let mut parts = text.split(',').map(str::trim);
    let mut plan = LayerPlan::of(amount::role(parts.next().unwrap_or_default())?);
    for part in parts {
        let (key, value) = part.split_once('=').ok_or_else(|| format!("'{part}': {EXPECTED}"))?;
        let (key, value) = (key.trim(), value.trim());
        let number =
            || value.parse::<u32>().map_err(|_problem| format!("{key}: '{value}' is no whole number"));
        if value.is_empty() {
            return Err(format!("{key}: nothing is said after ="));
        }
        match key {
            "coats" => plan.coats = Some(number()?),
            "product" => plan.product = Some(value.to_owned()),
            "shade" => plan.shade = Some(value.to_owned()),
            "asked" => {
                plan.asked = Some(parse_volume(value).map_err(|problem| format!("{key}: {problem}"))?);
            }
            "flash-off" => plan.flash_off = Some(number()?),
            "bake" => plan.bake = Some(number()?),
            _ => return Err(format!("'{key}': {EXPECTED}")),
        }
    }
    Ok(LayerSaid(plan))
}

const EXPECTED: &str = "one of coats=, product=, shade=, asked=, flash-off= and bake= (minutes) was expected";

/// The layer that is matched by cards, unless another is named.
pub(super) fn carded(named: Option<Role>) -> Role {
    named.unwrap_or(Role::Pearl)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Millilitres;

    #[test]
    fn a_panel_has_a_name_and_maybe_an_area() {
        let read = |text| panel(text).map(|panel| (panel.name, panel.area.map(|area| area.to_string())));
        assert_eq!(read("bonnet"), Ok(("bonnet".into(), None)));
        assert_eq!(read(" door, left = 0,9 m2"), Ok(("door, left".into(), Some("0.9".into()))));
        assert_eq!(read("roof=1.95m²"), Ok(("roof".into(), Some("1.95".into()))));
        // A square foot is 0.3048² = 0.09290304 m².
        assert_eq!(read("roof=10 ft2"), Ok(("roof".into(), Some("0.9290304".into()))));
        for wrong in ["", "=1 m2", "roof=", "roof=1", "roof=1 mL", "roof=0 m2", "roof=-1 m2", "roof=1.2.3 m2"]
        {
            assert!(panel(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_layer_is_told_what_is_known_of_it() {
        let read =
            layer("pearl coat, coats=3,asked = 350 mL, flash-off=5,bake=10, product=P-1, shade=G3").unwrap();
        let whole = LayerPlan {
            role: Role::Pearl,
            product: Some("P-1".into()),
            coats: Some(3),
            shade: Some("G3".into()),
            asked: Some(Millilitres::new(350.into())),
            flash_off: Some(5),
            bake: Some(10),
        };
        assert_eq!(read.0, whole);
        let mut known = whole.clone();
        layer("pearl, coats=2").unwrap().over(&mut known);
        assert_eq!(known, LayerPlan { coats: Some(2), ..whole });
        for (wrong, said) in [
            ("top", "one of undercoat"),
            ("pearl, coats", "coats=, product="),
            ("pearl, coats=two", "no whole number"),
            ("pearl, asked=350", "no unit"),
            ("pearl, colour=red", "'colour'"),
            ("pearl, shade=", "nothing is said"),
        ] {
            let error = layer(wrong).unwrap_err();
            assert!(error.contains(said), "{wrong}: {error}");
        }
    }
}
