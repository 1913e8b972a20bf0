//! A job that is being opened, as far as it was typed: one short form, a line at a time.

use crate::catalogue::{Catalogue, Colour, Finish, Found, Role, Word as _, nearest};
use crate::job::{
    Amendment, Job, LayerPlan, Opening, Panel, filled, pieces, read_areas, typed_areas, with_areas,
};
use crate::units::{Area, Notation};

/// A line of the form.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum JobField {
    /// What the shop calls it.
    Name,
    /// Which vehicle.
    Vehicle,
    /// The colour.
    Colour,
    /// What is painted.
    Panels,
    /// Which layers cover less or more than the panels.
    Areas,
    /// How the colour is built up.
    Finish,
}

impl JobField {
    /// All of them, in the order in which they are asked.
    pub(super) const ALL: [Self; 6] =
        [Self::Name, Self::Vehicle, Self::Colour, Self::Panels, Self::Areas, Self::Finish];
    /// Those that can be put right once the job is open.
    pub(super) const AMENDED: [Self; 3] = [Self::Vehicle, Self::Panels, Self::Areas];

    /// In a word.
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Name => "name",
            Self::Vehicle => "vehicle",
            Self::Colour => "colour",
            Self::Panels => "panels",
            Self::Areas => "areas",
            Self::Finish => "finish",
        }
    }

    /// The question.
    pub(super) const fn question(self) -> &'static str {
        match self {
            Self::Name => "a new job: what is it called?",
            Self::Vehicle => "which vehicle?",
            Self::Colour => "which colour?",
            Self::Panels => "which panels?",
            Self::Areas => "which layers cover less or more than these panels?",
            Self::Finish => "built up how?",
        }
    }

    /// What helps to answer it.
    pub(super) const fn hint(self) -> &'static str {
        match self {
            Self::Name => "the shop's own number or name, which no other job has: 26-118 tailgate",
            Self::Vehicle => "in your own words; Enter alone if it need not be said",
            Self::Colour => "type its code, name or words of it; the marked one is taken",
            Self::Panels => "with commas between: bonnet, front wing, spoiler=0.3 m2; Enter alone: not said",
            Self::Areas => "ground=0.3 m2, blender=2.2 m2; Enter alone: each layer covers all panels",
            Self::Finish => {
                "single-stage, two-stage, three-stage; Enter alone: as the colour is. Enter opens it"
            }
        }
    }

    /// Its place in the form.
    pub(super) const fn place(self) -> usize {
        match self {
            Self::Name => 0,
            Self::Vehicle => 1,
            Self::Colour => 2,
            Self::Panels => 3,
            Self::Areas => 4,
            Self::Finish => 5,
        }
    }

    /// The same among those that can be put right.
    pub(super) fn beside_amended(self, down: bool) -> Option<Self> {
        let at = Self::AMENDED.iter().position(|one| *one == self)?;
        let at = if down { at.checked_add(1) } else { at.checked_sub(1) };
        Self::AMENDED.get(at?).copied()
    }

    /// The one before or after; none beyond the ends.
    pub(super) fn beside(self, down: bool) -> Option<Self> {
        let at = if down { self.place().checked_add(1) } else { self.place().checked_sub(1) };
        Self::ALL.get(at?).copied()
    }
}

/// What was typed so far.
#[derive(Clone, Debug, Default)]
pub(super) struct NewJob {
    typed: [String; 6],
    /// The colours that fit what is typed for one, the best first.
    pub(super) found: Vec<Found>,
    /// The colour that was taken, code and variant.
    pub(super) colour: Option<(String, String)>,
}

impl NewJob {
    /// What was typed there.
    pub(super) fn get(&self, field: JobField) -> &str {
        self.typed.get(field.place()).map_or("", String::as_str)
    }

    /// Types that there.
    pub(super) fn set(&mut self, field: JobField, text: &str) {
        if let Some(line) = self.typed.get_mut(field.place()) {
            text.clone_into(line);
        }
    }

    /// Whether nothing was typed at all.
    pub(super) fn is_blank(&self) -> bool {
        self.typed.iter().all(String::is_empty)
    }

    /// What can be put right of a job, as it stands.
    pub(super) fn of_job(job: &Job, notation: Notation) -> Self {
        let mut form = Self::default();
        form.set(JobField::Vehicle, job.vehicle.as_deref().unwrap_or_default());
        form.set(JobField::Panels, &typed_panels(&job.panels, notation));
        form.set(JobField::Areas, &typed_areas(job.plan(), notation));
        form
    }

    /// Whether what is typed there can be, where it is not what the job has; a sentence where it cannot.
    pub(super) fn check_amended(
        &self,
        field: JobField,
        job: &Job,
        shop: &Catalogue,
        notation: Notation,
    ) -> Result<(), String> {
        if self.get(field) == Self::of_job(job, notation).get(field) {
            return Ok(());
        }
        if field == JobField::Vehicle && self.get(field).is_empty() {
            return Err("the vehicle was said: say another, or the same".to_owned());
        }
        self.check(field, shop, notation)
    }

    /// What is different now from what the job has; none if nothing is.
    pub(super) fn amendment(
        &self,
        job: &Job,
        shop: &Catalogue,
        notation: Notation,
    ) -> Result<Option<Amendment>, String> {
        let before = Self::of_job(job, notation);
        let changed = |field: JobField| Some(self.get(field)).filter(|typed| *typed != before.get(field));
        for field in JobField::AMENDED {
            self.check_amended(field, job, shop, notation)?;
        }
        let areas = changed(JobField::Areas).map(|typed| read_areas(typed, notation)).transpose()?;
        let amendment = Amendment {
            vehicle: changed(JobField::Vehicle).map(str::to_owned),
            panels: changed(JobField::Panels).map(|typed| panels(typed, shop, notation)).transpose()?,
            layers: areas.map(|areas| with_areas(job.plan().to_vec(), &areas)),
        };
        Ok((amendment != Amendment::default()).then_some(amendment))
    }

    /// Whether what is typed there can be; a sentence where it cannot.
    pub(super) fn check(&self, field: JobField, shop: &Catalogue, notation: Notation) -> Result<(), String> {
        match field {
            JobField::Name if self.get(field).is_empty() => Err(crate::job::Refusal::NoName.to_string()),
            JobField::Colour if self.colour.is_none() => {
                Err("no colour of the shop has that: type some of its code or name".to_owned())
            }
            JobField::Panels => panels(self.get(field), shop, notation).map(drop),
            JobField::Areas => read_areas(self.get(field), notation).map(drop),
            JobField::Finish => self.finish().map(drop),
            JobField::Name | JobField::Vehicle | JobField::Colour => Ok(()),
        }
    }

    fn finish(&self) -> Result<Option<Finish>, String> {
        let typed = self.get(JobField::Finish);
        if typed.is_empty() {
            return Ok(None);
        }
        Finish::from_word(typed).map(Some).ok_or_else(|| {
            let words: Vec<_> = Finish::ALL.iter().map(|finish| finish.word()).collect();
            format!("'{typed}' is no finish: it is one of {}", words.join(", "))
        })
    }

    /// What opens the job; the line that is wrong and why, where one is.
    pub(super) fn opening(
        &self,
        colour: &Colour,
        shop: &Catalogue,
        notation: Notation,
    ) -> Result<Opening, (JobField, String)> {
        for field in JobField::ALL {
            self.check(field, shop, notation).map_err(|why| (field, why))?;
        }
        let finish = self.finish().map_err(|why| (JobField::Finish, why))?.unwrap_or(colour.finish);
        let panels =
            panels(self.get(JobField::Panels), shop, notation).map_err(|why| (JobField::Panels, why))?;
        let areas = read_areas(self.get(JobField::Areas), notation).map_err(|why| (JobField::Areas, why))?;
        let vehicle = self.get(JobField::Vehicle);
        let opening = Opening {
            name: self.get(JobField::Name).to_owned(),
            vehicle: (!vehicle.is_empty()).then(|| vehicle.to_owned()),
            colour: colour.code.clone(),
            variant: colour.variant.clone(),
            finish,
            panels,
            layers: with_areas(layers(colour, finish), &areas),
        };
        // The colours of a folder are read one by one. What the papers lack the job's own screen says.
        let shop = Catalogue { colours: vec![colour.clone()], ..shop.clone() };
        Ok(filled(&opening, &shop, None).0)
    }
}

/// The layers of that colour from the panel outwards, and clear where it has any.
fn layers(colour: &Colour, finish: Finish) -> Vec<LayerPlan> {
    let own = colour.layers.iter().map(|layer| layer.role).filter(|role| !finish.excludes().contains(role));
    let mut roles: Vec<Role> = own.chain(finish.needs().iter().copied()).collect();
    if !finish.excludes().contains(&Role::Clear) {
        roles.push(Role::Clear);
    }
    roles.sort_unstable();
    roles.dedup();
    roles.into_iter().map(LayerPlan::of).collect()
}

/// Reads `bonnet, spoiler=0.3 m2`: the area of a panel that the shop has on file need not be said.
fn panels(typed: &str, shop: &Catalogue, notation: Notation) -> Result<Vec<Panel>, String> {
    pieces(typed).iter().map(|piece| panel(piece, shop, notation)).collect()
}

/// The same, to be typed again; a name with a comma in it makes semicolons part them.
fn typed_panels(panels: &[Panel], notation: Notation) -> String {
    let typed = |panel: &Panel| match panel.area {
        Some(area) => format!("{}={}", panel.name, notation.typed_area(Area::new(area))),
        None => panel.name.clone(),
    };
    let typed: Vec<String> = panels.iter().map(typed).collect();
    if typed.iter().any(|panel| panel.contains(',')) {
        // One alone too: it ends with the sign.
        return typed.iter().map(|panel| format!("{panel};")).collect::<Vec<_>>().join(" ");
    }
    typed.join(", ")
}

fn panel(piece: &str, shop: &Catalogue, notation: Notation) -> Result<Panel, String> {
    if let Some((name, area)) = piece.rsplit_once('=') {
        let name = name.trim();
        if name.is_empty() {
            return Err(format!("'{piece}': a panel's name was expected before ="));
        }
        return Ok(Panel { name: name.to_owned(), area: Some(area_of(area, notation)?) });
    }
    if let Some(known) = shop.panel(piece) {
        return Ok(Panel { name: known.name.clone(), area: known.area_on(None).map(Area::decimal) });
    }
    let names = shop.panels.iter().map(|panel| panel.name.as_str());
    let meant = nearest(piece, names).map(|name| format!("; did you mean {name}?")).unwrap_or_default();
    Err(format!("'{piece}' is not in panels.toml: say its area, as {piece}=0.9 m2{meant}"))
}

/// A bare number is in the unit that is shown.
fn area_of(text: &str, notation: Notation) -> Result<crate::units::Decimal, String> {
    let area = notation.read_area(text).map_err(|error| notation.told(&error))?;
    if area.is_positive() { Ok(area.decimal()) } else { Err(format!("'{}' is nothing", text.trim())) }
}

/// Square metres and feet as every terminal can show them.
pub(super) fn plain_units(words: &str) -> String {
    words.replace("m²", "m2").replace("ft²", "ft2")
}

/// What is painted and which vehicle, in a line.
pub(super) fn about(vehicle: Option<&str>, panels: &[Panel], notation: Notation) -> String {
    let panels = panels.iter().map(|panel| plain_units(&crate::job::sheet::panel_words(panel, notation)));
    vehicle.map(str::to_owned).into_iter().chain(panels).collect::<Vec<_>>().join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(typed: &str) -> Result<Vec<(String, Option<String>)>, String> {
        let shown = |panel: Panel| (panel.name, panel.area.map(|area| area.to_string()));
        panels(typed, &Catalogue::demo(), Notation::METRIC)
            .map(|panels| panels.into_iter().map(shown).collect())
    }

    fn one(name: &str, area: &str) -> (String, Option<String>) {
        (name.to_owned(), Some(area.to_owned()))
    }

    #[test]
    fn panels_come_from_the_shops_file_or_with_an_area() {
        assert_eq!(read(""), Ok(Vec::new()));
        let three = vec![one("bonnet", "1.5"), one("front wing", "0.65"), one("spoiler", "0.3")];
        assert_eq!(read(" Bonnet, front wing,, spoiler = 0.3 m2"), Ok(three.clone()));
        assert_eq!(read("bonnet, front wing, spoiler=0,3"), Ok(three.clone()));
        assert_eq!(read("bonnet, front wing, spoiler=0,3 m²,"), Ok(three));
        // A square foot is 0.3048² = 0.09290304 m².
        assert_eq!(read("spoiler=10 ft2, roof"), Ok(vec![one("spoiler", "0.9290304"), one("roof", "1.9")]));
        for (wrong, says) in [
            ("bonet", "did you mean bonnet?"),
            ("spoiler", "spoiler=0.9 m2"),
            ("=1", "before ="),
            ("spoiler=0", "is nothing"),
            ("spoiler=1 mL", "'mL' is not a unit of area: use one of m2, ft2"),
            ("spoiler=", "a number was expected, but nothing is there"),
        ] {
            let error = read(wrong).unwrap_err();
            assert!(error.contains(says), "{wrong}: {error}");
        }
    }

    #[test]
    fn the_layers_are_those_of_the_colour_with_what_its_products_say() {
        let shop = Catalogue::demo();
        let colour = shop.colour("PB-3140").unwrap();
        let mut form =
            NewJob { colour: Some(("PB-3140".to_owned(), "standard".to_owned())), ..NewJob::default() };
        form.set(JobField::Name, "26-118 tailgate");
        let plans = form.opening(colour, &shop, Notation::METRIC).unwrap().layers;
        let ground = plans.iter().find(|plan| plan.role == Role::Ground).unwrap();
        assert_eq!((ground.product.as_deref(), ground.coats), (Some("GC-2"), Some(2)));
        // Five minutes of flash-off and ten of bake: as formulas-demo/products.toml says, common practice, no source.
        assert_eq!((ground.flash_off, ground.bake), (Some(5), Some(10)));
        let pearl = plans.iter().find(|plan| plan.role == Role::Pearl).unwrap();
        assert_eq!((pearl.coats, pearl.flash_off), (None, Some(8)));
        assert_eq!(plans.last().unwrap().role, Role::Clear);
        let mut roles: Vec<_> = plans.iter().map(|plan| plan.role).collect();
        roles.dedup();
        assert_eq!(roles.len(), plans.len());
    }

    #[test]
    fn what_a_job_has_is_typed_again_and_only_what_changed_is_written() {
        let shop = Catalogue::demo();
        let mut form =
            NewJob { colour: Some(("PB-3140".to_owned(), "standard".to_owned())), ..NewJob::default() };
        form.set(JobField::Name, "26-118");
        form.set(JobField::Panels, "door, left=0.95 m2; tailgate");
        form.set(JobField::Areas, "ground=0.3 m2, blender=2.2 m2");
        let opening = form.opening(shop.colour("PB-3140").unwrap(), &shop, Notation::METRIC).unwrap();
        let job = Job::open(crate::units::Stamp(0), &crate::job::JobEvent::Opened(opening)).unwrap();
        let us = Notation { volume: crate::units::VolumeShown::Us, ..Notation::METRIC };
        for notation in [Notation::METRIC, us] {
            let again = NewJob::of_job(&job, notation);
            assert_eq!(again.get(JobField::Panels), "door, left=0.95 m2; tailgate=1.3 m2;");
            assert_eq!(panels(again.get(JobField::Panels), &shop, notation), Ok(job.panels.clone()));
            assert_eq!(again.amendment(&job, &shop, notation), Ok(None));
        }
        let mut again = NewJob::of_job(&job, Notation::METRIC);
        again.set(JobField::Areas, "blender=2.2 m2");
        let amendment = again.amendment(&job, &shop, Notation::METRIC).unwrap().unwrap();
        assert_eq!((&amendment.vehicle, &amendment.panels), (&None, &None));
        let layers = amendment.layers.unwrap();
        let area =
            |role| layers.iter().find(|layer| layer.role == role).unwrap().area.map(|area| area.to_string());
        assert_eq!((area(Role::Ground), area(Role::Blender)), (None, Some("2.2".to_owned())));
        again.set(JobField::Panels, "tail");
        assert!(again.amendment(&job, &shop, Notation::METRIC).is_err());
    }

    #[test]
    fn a_form_says_which_line_is_wrong() {
        let shop = Catalogue::demo();
        let colour = shop.colour("PB-3140").unwrap().clone();
        let mut form = NewJob::default();
        assert!(form.is_blank());
        let wrong = |form: &NewJob| {
            form.opening(&colour, &shop, Notation::METRIC).map_err(|(field, _)| field).unwrap_err()
        };
        assert_eq!(wrong(&form), JobField::Name);
        form.set(JobField::Name, "26-118 tailgate");
        assert_eq!(wrong(&form), JobField::Colour);
        form.colour = Some(("PB-3140".to_owned(), "standard".to_owned()));
        form.set(JobField::Panels, "tail");
        assert_eq!(wrong(&form), JobField::Panels);
        form.set(JobField::Panels, "tailgate");
        form.set(JobField::Areas, "gound=0.3 m2");
        assert_eq!(wrong(&form), JobField::Areas);
        form.set(JobField::Areas, "ground=0.3 m2");
        form.set(JobField::Finish, "four-stage");
        assert_eq!(wrong(&form), JobField::Finish);
        form.set(JobField::Finish, "Two-stage");
        let opening = form.opening(&colour, &shop, Notation::METRIC).unwrap();
        assert_eq!((opening.finish, opening.panels.len(), opening.vehicle), (Finish::TwoStage, 1, None));
    }
}
