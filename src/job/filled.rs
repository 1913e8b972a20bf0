//! What the shop's files say of a job that is about to be opened: put in where nobody said anything else.

use super::wanted::{WantLack, product_of};
use super::{Job, JobEvent, LayerPlan, Opening, Panel};
use crate::catalogue::{Catalogue, Product, Role};
use crate::units::Stamp;

/// Puts in the area of each panel of which none was said, by its name in the shop's files and the size of the body, and, for
/// each layer, its product, coats, flash-off and bake from that product's sheet, and the shade of the undercoat from the
/// colour. A layer that is counted on cards gets no count of coats: a card says it. What is missing in the files comes back.
pub fn filled(opening: &Opening, catalogue: &Catalogue, body: Option<&str>) -> (Opening, Vec<WantLack>) {
    let mut opening = opening.clone();
    let mut lacks = panels(&mut opening.panels, catalogue, body);
    let Some(job) = Job::open(Stamp(0), &JobEvent::Opened(opening.clone())) else { return (opening, lacks) };
    let shade = undercoat_shade(&job, catalogue);
    for plan in &mut opening.layers {
        if plan.role == Role::Undercoat {
            plan.shade = plan.shade.take().or_else(|| shade.clone());
        }
        match product_of(&job, plan, catalogue) {
            Ok(product) => from_sheet(plan, product),
            Err(lack) => lacks.push(lack),
        }
    }
    (opening, lacks)
}

/// The areas of the panels, where they are not said; those that nobody knows come back.
pub fn panels(panels: &mut [Panel], catalogue: &Catalogue, body: Option<&str>) -> Vec<WantLack> {
    let mut lacks = Vec::new();
    for panel in panels.iter_mut().filter(|panel| panel.area.is_none()) {
        let known = catalogue.panel(&panel.name).and_then(|known| known.area_on(body));
        match known {
            Some(area) => panel.area = Some(area.decimal()),
            None => lacks.push(WantLack::Area(panel.name.clone())),
        }
    }
    lacks
}

fn from_sheet(plan: &mut LayerPlan, product: &Product) {
    plan.product.get_or_insert_with(|| product.code.as_str().to_owned());
    if !Job::wants_cards(plan.role) {
        plan.coats = plan.coats.or(product.coats);
    }
    plan.flash_off = plan.flash_off.or(product.flash_off);
    plan.bake = plan.bake.or(product.bake.map(|bake| bake.minutes));
    plan.before_next = plan.before_next.or(product.before_next.filter(|minutes| *minutes > 0));
}

/// The shade the undercoat is to have: as its own formula says, or else as the layer wants it that lies on it.
fn undercoat_shade(job: &Job, catalogue: &Catalogue) -> Option<String> {
    let colour = catalogue.colour_variant(job.colour.as_str(), &job.variant)?;
    let roles = [Role::Undercoat, Role::Ground, Role::Base];
    roles.into_iter().find_map(|role| colour.layer(role)?.shade.clone())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::{ColourCode, Finish};
    use crate::units::Decimal;

    fn opening(panels: Vec<Panel>) -> Opening {
        Opening {
            name: "26-118".into(),
            vehicle: None,
            colour: ColourCode::new("PB-3140"),
            variant: "standard".into(),
            finish: Finish::ThreeStage,
            panels,
            layers: [Role::Undercoat, Role::Ground, Role::Pearl].map(LayerPlan::of).to_vec(),
        }
    }

    /// Against the invented shop's products.toml and panels.toml.
    #[test]
    fn what_nobody_said_is_taken_from_the_papers() {
        let panel = |name: &str, area| Panel { name: name.into(), area };
        let mut said =
            opening(vec![panel("tailgate", None), panel("roof", Some(Decimal::ONE)), panel("spoiler", None)]);
        said.layers[1].coats = Some(3);
        said.layers[1].bake = Some(12);
        let (full, lacks) = filled(&said, &Catalogue::demo(), Some("Large"));
        let areas: Vec<_> = full.panels.iter().map(|panel| panel.area).collect();
        assert_eq!(areas, [Some(Decimal::new(16, 1)), Some(Decimal::ONE), None]);
        assert_eq!(lacks, [WantLack::Area("spoiler".into())]);
        let [undercoat, ground, pearl] = &full.layers[..] else { panic!("three layers") };
        assert_eq!((undercoat.product.as_deref(), undercoat.shade.as_deref()), (Some("UC-1"), Some("G2")));
        assert_eq!((undercoat.coats, undercoat.flash_off, undercoat.bake), (Some(2), Some(8), None));
        assert_eq!(
            (ground.coats, ground.flash_off, ground.bake),
            (Some(3), Some(5), Some(12)),
            "typed ones win"
        );
        assert_eq!((undercoat.before_next, ground.before_next), (Some(15), Some(10)));
        assert_eq!((pearl.product.as_deref(), pearl.coats), (Some("PC-4"), None), "a card says how many");
        assert_eq!((ground.shade.as_ref(), pearl.shade.as_ref()), (None, None));
    }

    #[test]
    fn a_product_that_is_not_there_is_said() {
        let mut said = opening(vec![]);
        said.layers[0].product = Some("GONE-1".into());
        let (full, lacks) = filled(&said, &Catalogue::demo(), None);
        assert_eq!(lacks, [WantLack::Unknown("GONE-1".into())]);
        assert_eq!((full.layers[0].coats, full.layers[0].shade.as_deref()), (None, Some("G2")));
    }
}
