//! How much a layer of a job wants: by the papers, by the shop's own record, and what is said where something is missing.

use super::*;
use crate::book::{Ids, MixId};
use crate::catalogue::{ColourCode, Finish};
use crate::job::{CardChosen, CardMade, JobEvent, Joined, Opening, Panel};
use crate::units::{Stamp, parse_area};

fn ml(text: &str) -> Millilitres {
    Millilitres::parse(text).unwrap()
}

fn percent(text: &str) -> Share {
    Share::parse_percent(text).unwrap()
}

fn panel(name: &str, area: Option<Decimal>) -> Panel {
    Panel { name: name.into(), area }
}

/// A three-stage job of the invented shop, of these panels.
fn job(panels: Vec<Panel>, change: impl FnOnce(&mut Opening)) -> Job {
    let roles = [Role::Undercoat, Role::Ground, Role::Pearl, Role::Blender, Role::Clear];
    let mut opening = Opening {
        name: "26-118 tailgate".into(),
        vehicle: None,
        colour: ColourCode::new("PB-3140"),
        variant: "standard".into(),
        finish: Finish::ThreeStage,
        panels,
        layers: roles.map(LayerPlan::of).to_vec(),
    };
    change(&mut opening);
    Job::open(Stamp(0), &JobEvent::Opened(opening)).unwrap()
}

fn tailgate() -> Job {
    job(vec![panel("Tailgate", None)], |_| {})
}

fn of(job: &Job, role: Role, past: &[Past]) -> Wanted {
    wanted(job, role, &Catalogue::demo(), past, &Usual::default(), None).unwrap()
}

fn shown(wanted: &Wanted) -> [String; 3] {
    let need = wanted.need.unwrap();
    [need.car, need.cards, need.total()].map(|volume| volume.with_decimals(3))
}

fn mix(number: u64) -> MixId {
    Ids::counted(number).mix(Stamp(0))
}

/// By hand, with the shop's tailgate of 1.3 m², 60 % on the car, 40 mL in the gun and four cards of 0.03 m². Ground, 2
/// coats of 12 µm of 28 %: 1.3 · 24 / 0.168, and 0.12 · 24 / 0.168 for the cards. Pearl, 3 coats of 6 µm of 12 %, the
/// cards with one to four: 1.3 · 18 / 0.072 and 0.03 · 10 · 6 / 0.072. Blender, one of 5 µm of 14 %, on no card:
/// 1.3 · 5 / 0.084. Clear, 2 of 27.5 µm of 45 %: 1.3 · 55 / 0.27 and 0.12 · 55 / 0.27.
#[test]
fn from_panels_sheets_and_cards() {
    let job = tailgate();
    assert_eq!(shown(&of(&job, Role::Ground, &[])), ["185.714", "17.143", "242.857"]);
    assert_eq!(shown(&of(&job, Role::Pearl, &[])), ["325.000", "25.000", "390.000"]);
    assert_eq!(shown(&of(&job, Role::Blender, &[])), ["77.381", "0.000", "117.381"]);
    assert_eq!(shown(&of(&job, Role::Clear, &[])), ["264.815", "24.444", "329.259"]);
    let ground = of(&job, Role::Ground, &[]);
    assert_eq!(ground.to_mix.unwrap().wanted, ml("243"), "in whole millilitres, rounded up");
    // 10 : 1 : 3 by volume: ten fourteenths of 243.
    assert_eq!(ground.colour.unwrap().with_decimals(2), "173.57");
    assert_eq!((ground.product.as_deref(), ground.coats, ground.lacks), (Some("GC-2"), Some(2), None));
    assert_eq!(wanted(&job, Role::Base, &Catalogue::demo(), &[], &Usual::default(), None), None);
}

/// Worked by the Paints & Coatings Resource Center (read; its columns of 35 % and 30 %): a gallon of 52 % in 1.5 mil
/// covers 194.5 ft² at 35 %, and 167 ft² at 30 %. So panels of that size want a gallon, 3785.4 mL, to its rounding.
#[test]
fn a_printed_example_through_a_job() {
    for (efficiency, feet, within) in [("35 %", "194.5", "4"), ("30 %", "167", "12")] {
        let mut shop = Catalogue::demo();
        let clear = shop.products.iter_mut().find(|product| product.is_for(Role::Clear)).unwrap();
        clear.film_um = Some("38.1".parse().unwrap());
        (clear.coats, clear.solids) = (Some(1), Some(percent("52 %")));
        let area = parse_area(&format!("{feet} ft2")).unwrap();
        let job = job(vec![panel("hull", Some(area.decimal()))], |_| {});
        let usual = Usual { efficiency: percent(efficiency), cards: 0, ..Usual::default() };
        let need = wanted(&job, Role::Clear, &shop, &[], &usual, None).unwrap().need.unwrap();
        let off = (need.car - ml("3785.411784")).abs();
        assert!(off < ml(within), "{efficiency}: {}", need.car);
    }
}

#[test]
fn the_chosen_count_is_what_the_car_gets_and_cards_are_counted_once() {
    let mut job = tailgate();
    let made = |card, mix| CardMade { mix, ..CardMade::of(card, Role::Pearl, card) };
    let joined =
        |number, for_cards| JobEvent::MixJoined(Joined { for_cards, ..Joined::of(mix(number), Role::Pearl) });
    job.apply(Stamp(1), &joined(1, true));
    for card in 1..=4 {
        job.apply(Stamp(1), &JobEvent::CardMade(made(card, Some(mix(1)))));
    }
    let chosen = CardChosen { card: Some(4), ..CardChosen::of(Role::Pearl, 4) };
    job.apply(Stamp(2), &JobEvent::CardChosen(chosen));
    // 1.3 · 24 / 0.072: the cards were made, from a mix of their own.
    assert_eq!(shown(&of(&job, Role::Pearl, &[])), ["433.333", "0.000", "473.333"]);
    assert_eq!(shown(&of(&job, Role::Ground, &[])), ["185.714", "0.000", "225.714"]);
    // Two more out of the mix for the car: 0.03 · 11 · 6 / 0.072.
    job.apply(Stamp(3), &joined(2, false));
    for card in 5..=6 {
        job.apply(Stamp(3), &JobEvent::CardMade(made(card, Some(mix(2)))));
    }
    assert_eq!(shown(&of(&job, Role::Pearl, &[])), ["433.333", "27.500", "500.833"]);
}

#[test]
fn a_layer_may_be_wider_or_smaller_than_the_panels() {
    let wide = |opening: &mut Opening| {
        let blender = opening.layers.iter_mut().find(|layer| layer.role == Role::Blender).unwrap();
        blender.area = Some(Decimal::new(168, 2));
    };
    // 1.68 · 5 / 0.084.
    assert_eq!(
        shown(&of(&job(vec![panel("tailgate", None)], wide), Role::Blender, &[])),
        ["100.000", "0.000", "140.000"]
    );
}

#[test]
fn in_one_sentence() {
    let job = tailgate();
    let say = |role, past: &[Past]| of(&job, role, past).sentence(Notation::METRIC);
    assert_eq!(
        say(Role::Pearl, &[]),
        "390 mL: the estimate alone, since the shop's record of such a pearl coat is empty"
    );
    assert!(say(Role::Undercoat, &[]).ends_with("since the shop's record of such an undercoat is empty"));
    // Thirty times 270 of 300, by hand: location (30 · ln 0.9 − 0.2128) / 30.5 = −0.11061, the prior's middle as in
    // `own_record`; squares 3 · 0.0225 + 15/30.5 · 0.10255 = 0.11794, over 33 and times 31.5/30.5 0.003691, its root
    // 0.06075; t of 0.9 with 33 is 1.308: exp(−0.03115) · 390 = 378.0.
    let past = [Past { estimated: ml("300"), mixed: ml("500"), used: ml("270") }; 30];
    let found = of(&job, Role::Pearl, &past);
    let mix = found.advice.as_ref().unwrap().mix;
    assert_eq!(mix, ml("379"));
    assert_eq!(found.to_mix.unwrap().wanted, mix);
    assert_eq!(
        found.sentence(Notation::METRIC),
        "379 mL: enough nine times in ten; mixing 500, as last time, would leave 121"
    );
    let smallest = wanted(
        &job,
        Role::Ground,
        &Catalogue::demo(),
        &[],
        &Usual::default(),
        Some(Grams::parse("0.82").unwrap()),
    );
    let said = smallest.unwrap().sentence(Notation::METRIC);
    assert!(said.contains("; the smallest that can be weighed well is "), "{said}");
}

/// The amount and its colour are of the same: what is offered beyond it is said apart. What no cup of the shop holds is not
/// offered, and it is said which toners are too little instead.
#[test]
fn what_no_cup_holds_is_not_offered() {
    let job = tailgate();
    let of = |shop: &Catalogue, least: &str| {
        let least = Some(Grams::parse(least).unwrap());
        wanted(&job, Role::Ground, shop, &[], &Usual::default(), least).unwrap()
    };
    let mut shop = Catalogue::demo();
    let offered = of(&shop, "0.82");
    let smallest = offered.to_mix.unwrap().smallest.unwrap();
    assert!(smallest > ml("243") && smallest <= ml("2300"), "{smallest}");
    assert_eq!((offered.colour.unwrap().with_decimals(2), offered.too_small.len()), ("173.57".into(), 0));
    // What a division of 0.1 g asks for takes ten times as much of R20: more than the tin of 2300 mL holds.
    let none = of(&shop, "8.2");
    assert_eq!((none.to_mix.unwrap().smallest, none.colour), (None, offered.colour));
    let said = none.sentence(Notation::METRIC);
    assert!(said.ends_with("; K05, Y41, B15 and R20 cannot be weighed well at that amount"), "{said}");
    assert!(!said.contains("the smallest"), "{said}");
    // No cup on file: nothing is known of what the shop has.
    shop.cups.clear();
    assert!(of(&shop, "8.2").to_mix.unwrap().smallest.is_some_and(|smallest| smallest > ml("2300")));
}

/// Where a layer has no formula the one that comes in a tin is meant, though another stands before it.
#[test]
fn without_a_formula_the_product_with_a_tin_is_meant() {
    let mut shop = Catalogue::demo();
    let clear = shop.product("CC-6").unwrap().clone();
    let code = crate::catalogue::ProductCode::new("CC-0");
    shop.products.insert(0, Product { code, tin: None, ..clear });
    let job = tailgate();
    let found = wanted(&job, Role::Clear, &shop, &[], &Usual::default(), None).unwrap();
    assert_eq!((found.product.as_deref(), found.lacks), (Some("CC-6"), None));
    let plan = job.plan().iter().find(|plan| plan.role == Role::Clear).unwrap();
    assert!(readied(&job, plan, &shop).unwrap().is_some());
}

#[test]
fn what_a_person_asks_for_goes_before_what_is_advised() {
    let ask =
        |opening: &mut Opening| opening.layers.iter_mut().for_each(|layer| layer.asked = Some(ml("350")));
    let asked = of(&job(vec![panel("tailgate", None)], ask), Role::Pearl, &[]);
    assert_eq!((asked.to_mix.unwrap().wanted, asked.estimate().unwrap()), (ml("350"), ml("390")));
    assert_eq!(
        asked.sentence(Notation::METRIC),
        "350 mL, as it is asked for; the estimate is 390 mL, since the shop's record of such a pearl coat is empty"
    );
    let unknown = of(&job(vec![], ask), Role::Pearl, &[]);
    assert_eq!((unknown.to_mix.unwrap().wanted, unknown.need), (ml("350"), None));
    let said = unknown.sentence(Notation::METRIC);
    assert!(said.starts_with("350 mL, as it is asked for; what is painted is not said"), "{said}");
}

#[test]
fn what_is_missing_is_said_with_where_it_goes() {
    let say = |job: &Job, shop: &Catalogue| {
        let found = wanted(job, Role::Clear, shop, &[], &Usual::default(), None).unwrap();
        assert_eq!((found.need, found.to_mix, found.colour), (None, None, None));
        found.sentence(Notation::METRIC)
    };
    let shop = Catalogue::demo();
    assert!(say(&job(vec![], |_| {}), &shop).contains("name the panels of the job"));
    let unknown = say(&job(vec![panel("spoiler", None)], |_| {}), &shop);
    assert!(unknown.contains("'spoiler'") && unknown.contains("panels.toml"), "{unknown}");
    let mut bare = Catalogue::demo();
    bare.products.clear();
    let none = say(&tailgate(), &bare);
    assert!(none.contains("roles = [\"clear\"]") && none.contains("products.toml"), "{none}");
    let named = |opening: &mut Opening| {
        opening.layers.iter_mut().for_each(|layer| layer.product = Some("GONE-1".into()));
    };
    assert!(say(&job(vec![panel("tailgate", None)], named), &shop).contains("the product GONE-1"));
    let mut no_film = Catalogue::demo();
    no_film.products.iter_mut().for_each(|product| product.film_um = None);
    assert!(say(&tailgate(), &no_film).contains("add film to products.toml"));
}

#[test]
fn no_more_is_promised_than_holds() {
    let said: Vec<String> = [0, 1, 2, 5, 9].map(times_in_ten).to_vec();
    let expected =
        ["less than once in ten", "once in ten", "twice in ten", "five times in ten", "nine times in ten"];
    assert_eq!(said, expected);
}

/// By hand, as above: four pearl cards with one to four coats are 25 mL, and 40 in the gun; with those of one and two coats
/// made, 0.03 · 7 · 6 / 0.072; with all made one of five coats, 0.03 · 5 · 6 / 0.072. The ground coat of four cards, 2 coats
/// each: 17.143 mL.
#[test]
fn cards_take_what_those_take_that_are_still_to_be_made() {
    let mut job = tailgate();
    let of = |job: &Job, role| {
        let found = wanted_for_cards(job, role, &Catalogue::demo(), &Usual::default()).unwrap().unwrap();
        (found.cards, found.need.cards.with_decimals(3), found.to_mix())
    };
    assert_eq!(of(&job, Role::Pearl), (4, "25.000".into(), ml("65")));
    assert_eq!(of(&job, Role::Ground), (4, "17.143".into(), ml("58")));
    let make = |job: &mut Job, card| {
        job.apply(Stamp(1), &JobEvent::CardMade(CardMade::of(card, Role::Pearl, card)));
    };
    make(&mut job, 1);
    make(&mut job, 2);
    assert_eq!(of(&job, Role::Pearl), (2, "17.500".into(), ml("58")));
    make(&mut job, 3);
    make(&mut job, 4);
    assert_eq!(of(&job, Role::Pearl), (1, "12.500".into(), ml("53")));
    assert_eq!(wanted_for_cards(&job, Role::Base, &Catalogue::demo(), &Usual::default()), None);
}
