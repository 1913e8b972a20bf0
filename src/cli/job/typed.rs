//! Panels and layers as they are typed on the command line.

use super::amount;
use crate::catalogue::{Role, Word};
use crate::job::card::{Light, View};
use crate::job::{LayerPlan, Panel};
use crate::units::{Area, Decimal, parse_area, parse_volume};

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
        known.area = said.area.or(known.area);
        known.flash_off = said.flash_off.or(known.flash_off);
        known.bake = said.bake.or(known.bake);
        known.before_next = said.before_next.or(known.before_next);
    }
}

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
    parse_area(text).map(Area::decimal).map_err(|error| error.to_string())
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
            "area" => plan.area = Some(square_metres(value).map_err(|problem| format!("{key}: {problem}"))?),
            "flash-off" => plan.flash_off = Some(number()?),
            "bake" => plan.bake = Some(number()?),
            "before-next" => plan.before_next = Some(number()?),
            _ => return Err(format!("'{key}': {EXPECTED}")),
        }
    }
    Ok(LayerSaid(plan))
}

const EXPECTED: &str = "one of coats=, product=, shade=, asked=, area=, flash-off=, bake= and before-next= (minutes) was expected";

/// Reads `face`, or `side tone`.
pub(super) fn view(text: &str) -> Result<View, String> {
    word(text, text)
}

/// Reads `sun`, or `booth light`.
pub(super) fn light(text: &str) -> Result<Light, String> {
    word(text, text.trim().strip_suffix("light").unwrap_or(text))
}

fn word<W: Word>(text: &str, bare: &str) -> Result<W, String> {
    W::from_word(&bare.trim().replace(' ', "-")).ok_or_else(|| {
        let all: Vec<_> = W::ALL.iter().map(|word| word.word()).collect();
        format!("'{text}' is not {}: one of {} was expected", W::NOUN, all.join(", "))
    })
}

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
    fn views_and_lights_are_read_as_they_are_said() {
        assert_eq!((view("side-tone"), view(" Side tone")), (Ok(View::SideTone), Ok(View::SideTone)));
        assert_eq!((light("booth"), light("Booth light")), (Ok(Light::Booth), Ok(Light::Booth)));
        assert_eq!(
            (view("flop").unwrap_err(), light("moon").unwrap_err()),
            (
                "'flop' is not a view: one of face, side-tone was expected".to_owned(),
                "'moon' is not a light: one of sun, shade, booth was expected".to_owned()
            )
        );
    }

    #[test]
    fn a_layer_is_told_what_is_known_of_it() {
        let read = layer(
            "pearl coat, coats=3,asked = 350 mL, area=1.4 m2, flash-off=5,bake=10, before-next=15, product=P-1, shade=G3",
        )
        .unwrap();
        let whole = LayerPlan {
            role: Role::Pearl,
            product: Some("P-1".into()),
            coats: Some(3),
            shade: Some("G3".into()),
            asked: Some(Millilitres::new(350.into())),
            area: Some(Decimal::new(14, 1)),
            flash_off: Some(5),
            bake: Some(10),
            before_next: Some(15),
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
