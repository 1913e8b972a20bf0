//! The areas of layers that cover less or more than the panels, as they are typed and shown: `ground=0.3 m2, blender=2.2 m2`.

use super::LayerPlan;
use crate::catalogue::{Role, Word as _};
use crate::units::{Area, Notation};

/// What stands between commas, without blanks about it and without what is empty. A comma within a number behind `=` parts
/// nothing; where there is a semicolon the semicolons part, and no comma does.
pub fn pieces(typed: &str) -> Vec<String> {
    let mut pieces: Vec<String> = Vec::new();
    let sign = if typed.contains(';') { ';' } else { ',' };
    for piece in typed.split(sign) {
        let is_number =
            |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit() || b == b' ');
        let goes_on = sign == ','
            && piece.starts_with(|c: char| c.is_ascii_digit())
            && pieces
                .last()
                .is_some_and(|last| last.split_once('=').is_some_and(|(_, area)| is_number(area)));
        match pieces.last_mut().filter(|_| goes_on) {
            Some(last) => {
                last.push(',');
                last.push_str(piece);
            }
            None => pieces.push(piece.to_owned()),
        }
    }
    pieces.iter().map(|piece| piece.trim().to_owned()).filter(|piece| !piece.is_empty()).collect()
}

/// Reads `ground=0.3 m2, blender=2.2 m2`; a bare number is in the unit that is shown. Of a layer that is named twice the
/// last counts.
///
/// # Errors
/// A sentence: what is no layer, or no area.
pub fn read_areas(typed: &str, notation: Notation) -> Result<Vec<(Role, Area)>, String> {
    let read = |piece: &String| {
        let (layer, area) = piece
            .split_once('=')
            .ok_or_else(|| format!("'{piece}': a layer and its area were expected, as ground=0.3 m2"))?;
        let role = Role::named(layer).ok_or_else(|| {
            let all: Vec<_> = Role::ALL.iter().map(|role| role.word()).collect();
            format!("'{}' is no layer: one of {} was expected", layer.trim(), all.join(", "))
        })?;
        let area = notation.read_area(area).map_err(|error| notation.told(&error))?;
        if area.is_positive() {
            Ok((role, area))
        } else {
            Err(format!("'{piece}': an area is more than nothing"))
        }
    };
    pieces(typed).iter().map(read).collect()
}

/// The same of a plan, to be typed again; empty where every layer covers the panels.
pub fn typed_areas(plan: &[LayerPlan], notation: Notation) -> String {
    let own = own_areas(plan).map(|(role, area)| format!("{}={}", role.word(), notation.typed_area(area)));
    // A decimal comma parts nothing, but reads worse beside other commas.
    let sign = if notation.digits(".") == "," { "; " } else { ", " };
    own.collect::<Vec<_>>().join(sign)
}

/// What is said of them: `ground coat 0.3 m², blender 2.2 m²`; empty where every layer covers the panels.
pub fn area_words(plan: &[LayerPlan], notation: Notation) -> String {
    let own = own_areas(plan).map(|(role, area)| format!("{} {}", role.name(), notation.area(area)));
    own.collect::<Vec<_>>().join(", ")
}

fn own_areas(plan: &[LayerPlan]) -> impl Iterator<Item = (Role, Area)> {
    plan.iter().filter_map(|layer| Some((layer.role, Area::new(layer.area?))))
}

/// That plan with these areas; a layer without one covers the panels, and one that is not planned is added in its place.
pub fn with_areas(mut plan: Vec<LayerPlan>, areas: &[(Role, Area)]) -> Vec<LayerPlan> {
    for layer in &mut plan {
        layer.area = None;
    }
    for (role, area) in areas {
        let area = Some(area.decimal());
        if let Some(layer) = plan.iter_mut().find(|layer| layer.role == *role) {
            layer.area = area;
        } else {
            let place = plan.iter().position(|layer| layer.role > *role).unwrap_or(plan.len());
            plan.insert(place, LayerPlan { area, ..LayerPlan::of(*role) });
        }
    }
    plan
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{DecimalSign, VolumeShown};

    fn area(text: &str) -> Area {
        Area::parse(text).unwrap()
    }

    const US: Notation = Notation { volume: VolumeShown::Us, ..Notation::METRIC };
    const COMMA: Notation = Notation { decimal: DecimalSign::Comma, ..Notation::METRIC };

    #[test]
    fn areas_are_read_layer_by_layer() {
        let two = vec![(Role::Ground, area("0.3")), (Role::Blender, area("2.2"))];
        for typed in [
            "ground=0.3 m2, blender=2.2 m2",
            " Ground coat = 0.3,, blender=2,2 m²,",
            "ground=0,3;blender=2,2",
        ] {
            assert_eq!(read_areas(typed, Notation::METRIC), Ok(two.clone()), "{typed}");
        }
        assert_eq!(read_areas(" ", Notation::METRIC), Ok(Vec::new()));
        // A square foot is 0.3048² = 0.09290304 m².
        assert_eq!(read_areas("clear=3", US), Ok(vec![(Role::Clear, area("0.27870912"))]));
        for (wrong, says) in [
            ("ground", "as ground=0.3 m2"),
            ("gound=1", "'gound' is no layer: one of undercoat"),
            ("ground=1 mL", "'mL' is not a unit of area"),
            ("ground=0 m2", "nothing"),
            ("ground=", "nothing is there"),
        ] {
            let error = read_areas(wrong, Notation::METRIC).unwrap_err();
            assert!(error.contains(says), "{wrong}: {error}");
        }
    }

    #[test]
    fn what_is_typed_again_is_the_same_plan() {
        let plan: Vec<_> = [Role::Ground, Role::Pearl, Role::Clear].map(LayerPlan::of).to_vec();
        let areas =
            [(Role::Clear, area("0.9290304")), (Role::Ground, area("0.3")), (Role::Blender, area("2.25"))];
        let own = with_areas(plan.clone(), &areas);
        let roles: Vec<_> = own.iter().map(|layer| layer.role).collect();
        assert_eq!(roles, [Role::Ground, Role::Blender, Role::Pearl, Role::Clear]);
        for notation in [Notation::METRIC, COMMA, US] {
            let typed = typed_areas(&own, notation);
            assert_eq!(with_areas(own.clone(), &read_areas(&typed, notation).unwrap()), own, "{typed}");
        }
        assert_eq!(typed_areas(&own, US), "ground=0.3 m2, blender=2.25 m2, clear=10 ft2");
        assert_eq!(area_words(&own, US), "ground coat 3.23 ft², blender 24.22 ft², clear 10 ft²");
        assert_eq!(area_words(&own[..1], COMMA), "ground coat 0,3 m²");
        assert_eq!((typed_areas(&plan, US), area_words(&plan, US)), (String::new(), String::new()));
        assert!(with_areas(own, &[]).iter().all(|layer| layer.area.is_none()), "cleared again");
    }
}
