//! What others fill in comes out on the page and in the words, and nothing that was typed becomes part of the page.

use super::*;
use crate::catalogue::{Catalogue, ColourCode, Ratio, RatioBy, TonerCode};
use crate::job::{Countdown, JobEvent, Opening, Usual, wanted};
use crate::mix::{Additions, Line, LinePart, Recipe};
use crate::units::{DecimalSign, MassShown, Notation, VolumeShown};

fn sheet() -> Sheet {
    let opened = JobEvent::Opened(Opening {
        name: "26-118 <tailgate>".into(),
        vehicle: None,
        colour: ColourCode::new("PB-3140"),
        variant: "standard".into(),
        finish: Finish::TwoStage,
        panels: vec![Panel { name: "door, left".into(), area: Some(Decimal::new(95, 2)) }],
        layers: vec![LayerPlan { coats: Some(2), ..LayerPlan::of(Role::Base) }, LayerPlan::of(Role::Clear)],
    });
    let mut sheet = Sheet::of(&Job::open(Stamp(1), &opened).unwrap(), Stamp(2));
    let grams = |tenths: i64| Grams::new(Decimal::new(tenths, 1));
    let amount = |tenths: i64, volume: Option<i64>| Amount {
        mass: grams(tenths),
        volume: volume.map(|volume| Millilitres::new(Decimal::from(volume))),
    };
    for (number, layer, for_cards) in
        [(7, Role::Base, true), (8, Role::Base, false), (9, Role::Undercoat, false)]
    {
        sheet.add_mix(MixRow {
            number,
            layer: Some(layer),
            for_cards,
            begun: Stamp(3),
            operator: "Robin".into(),
            mixed: grams(4_535),
            sprayed: grams(4_000),
            kept: grams(500),
            thrown: grams(35),
            estimate: Some(Millilitres::new(Decimal::from(400))),
            whole: amount(4_500, Some(450)),
            used: Some(amount(4_000, Some(400))),
            state: MixState::Emptied,
        });
    }
    sheet.voc.push(VocRow {
        what: "base coat".into(),
        regulatory: Some(Decimal::new(4205, 1)),
        actual: None,
        limit: Some(420.into()),
        says: "over by 0.5 g/L".into(),
    });
    sheet
        .cautions
        .push(CautionRow { text: "air-fed mask & visor down".into(), source: "data sheet, 8".into() });
    sheet
}

fn look(notation: Notation) -> Look<'static> {
    Look { notation, when: &|stamp| format!("at {}", stamp.0) }
}

#[test]
fn what_others_fill_in_is_there_in_words() {
    let sheet = sheet();
    let other = Notation { decimal: DecimalSign::Comma, mass: MassShown::Ounces, volume: VolumeShown::Us };
    let blocks = |notation| sheet.blocks(&look(notation));
    let ids: Vec<_> = blocks(Notation::METRIC).iter().map(|block| block.id).collect();
    assert_eq!(ids, ["amounts", "used", "mixes", "voc", "cautions"]);
    let rows = |notation, id| blocks(notation).into_iter().find(|block| block.id == id).unwrap();
    // Both mixes of the base coat, 453.5 g each; that of a layer which is not planned is with the mixes alone.
    let amounts = rows(Notation::METRIC, "amounts");
    let base = ["base coat", "–", "–", "0 of 2", "–", "907.0", "800.0", "100.0", "7.0"];
    assert_eq!(
        amounts.rows,
        [
            base.map(str::to_owned).to_vec(),
            ["clear", "–", "–", "0", "–", "–", "–", "–", "–"].map(str::to_owned).to_vec()
        ]
    );
    assert_eq!(amounts.columns[5], ("mixed, g".to_owned(), true));
    assert_eq!(rows(Notation::METRIC, "mixes").rows.len(), 3);
    assert_eq!(rows(Notation::METRIC, "mixes").rows[0][1], "base coat, for cards");
    // 907 g are 31.993 oz.
    let ounces = rows(other, "amounts");
    assert_eq!((ounces.columns[5].0.as_str(), ounces.rows[0][5].get(..4)), ("mixed, oz", Some("31,9")));
    assert_eq!(
        rows(other, "voc").rows,
        [["base coat", "over by 0.5 g/L", "420,5", "–", "420"].map(str::to_owned)]
    );
    assert_eq!(
        sheet.head(&look(other)),
        [
            ("vehicle", "not said".to_owned()),
            ("colour", "PB-3140, standard, two-stage".to_owned()),
            ("panels", "door, left (10,23 ft²)".to_owned()),
            ("opened", "at 1".to_owned()),
        ]
    );
}

fn ml(text: &str) -> Millilitres {
    Millilitres::parse(text).unwrap()
}

fn g(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

/// A mix of the clear for the car of which so much was mixed and, once it is emptied, so much used: grams, and millilitres where
/// they are known.
fn of_clear(number: u32, estimate: Option<&str>, mixed: (&str, &str), used: Option<(&str, &str)>) -> MixRow {
    let amount = |(mass, volume): (&str, &str)| Amount {
        mass: g(mass),
        volume: (!volume.is_empty()).then(|| ml(volume)),
    };
    MixRow {
        number,
        layer: Some(Role::Clear),
        for_cards: false,
        begun: Stamp(3),
        operator: "Robin".into(),
        mixed: g(mixed.0),
        sprayed: used.map_or(Grams::ZERO, |used| g(used.0)),
        kept: Grams::ZERO,
        thrown: Grams::ZERO,
        estimate: estimate.map(ml),
        whole: amount(mixed),
        used: used.map(amount),
        state: if used.is_some() { MixState::Emptied } else { MixState::Open },
    }
}

/// By hand: 300 and 100 mL mixed, of which 280 and 50 were used: 330 of the 220 estimated before the first are 150 %.
#[test]
fn what_was_used_stands_against_what_was_estimated_before_the_first_mix() {
    let bare = Sheet { used: Vec::new(), ..sheet() };
    let of = |mixes: &[MixRow]| {
        let mut sheet = bare.clone();
        for mix in mixes {
            sheet.add_mix(mix.clone());
        }
        sheet.blocks(&look(Notation::METRIC)).into_iter().find(|block| block.id == "used")
    };
    let first = of_clear(1, Some("220"), ("285", "300"), Some(("266", "280")));
    let second = of_clear(2, Some("999"), ("95", "100"), Some(("47.5", "50")));
    let both = of(&[first.clone(), second.clone()]).unwrap();
    let titles: Vec<&str> = both.columns.iter().map(|(title, _)| title.as_str()).collect();
    assert_eq!(
        titles,
        [
            "layer",
            "estimated, mL",
            "mixed, mL",
            "mixed, g",
            "used, mL",
            "used, g",
            "left, mL",
            "left, g",
            "used of the estimate"
        ]
    );
    assert_eq!(both.rows, [["clear", "220", "400", "380.0", "330", "313.5", "70", "66.5", "150 %"]]);
    assert_eq!(both.notes.len(), 1);
    // The second is in its cup yet: nobody knows what will be used.
    let open = of(&[first.clone(), of_clear(2, None, ("95", "100"), None)]).unwrap();
    assert_eq!(open.rows, [["clear", "220", "400", "380.0", "–", "–", "–", "–", "–"]]);
    assert!(open.notes[1].contains("once the cup is emptied"), "{:?}", open.notes);
    // Colour alone: its mass is known, and no more.
    let alone = of(&[of_clear(1, Some("220"), ("285", ""), Some(("266", "")))]).unwrap();
    assert_eq!(alone.rows, [["clear", "220", "–", "285.0", "–", "266.0", "–", "19.0", "–"]]);
    assert!(alone.notes[1].contains("the colour was weighed alone"), "{:?}", alone.notes);
    // What was given up, and what is for cards, was none of it.
    let given_up = MixRow { state: MixState::GivenUp, ..second.clone() };
    let for_cards = MixRow { for_cards: true, ..second };
    assert_eq!(of(&[first.clone(), given_up, for_cards]), of(&[first]));
}

/// By hand: 1.3 m² in two coats of 12 µm at 28 % solids of which 60 % stay: 1.3 · 2 · 12 / 0.168 = 185.714 mL, and 40 in the
/// gun. Its own 0.3 m²: 42.857.
#[test]
fn how_an_estimate_comes_about_is_said_with_every_figure_of_it() {
    let shop = Catalogue::demo();
    let of = |area: Option<&str>, panels: Vec<Panel>, notation| {
        let area = area.map(|area| area.parse().unwrap());
        let plan = LayerPlan { area, ..LayerPlan::of(Role::Ground) };
        let opened = JobEvent::Opened(Opening {
            name: "26-118".into(),
            vehicle: None,
            colour: ColourCode::new("PB-3140"),
            variant: "standard".into(),
            finish: Finish::ThreeStage,
            panels,
            layers: vec![plan],
        });
        let job = Job::open(Stamp(1), &opened).unwrap();
        let wanted = wanted(&job, Role::Ground, &shop, &[], &Usual::default(), None).unwrap();
        let mut sheet = Sheet::of(&job, Stamp(2));
        sheet.how_much.push(HowMuchRow { wanted, has_own_area: area.is_some() });
        sheet.blocks(&look(notation)).into_iter().find(|block| block.id == "how-much").unwrap()
    };
    let tailgate = || vec![Panel { name: "tailgate".into(), area: Some(Decimal::new(13, 1)) }];
    let whole = of(None, tailgate(), Notation::METRIC);
    let film = "2 coats of 12 µm dry, 28 % solids, 60 % of them on the car";
    let behind = "gun and strainer: 40 mL";
    assert_eq!(whole.rows, [["ground coat", &format!("1.3 m², {film}: 185.7 mL; {behind}"), "226", "226"]]);
    assert_eq!(
        whole.notes,
        ["ground coat: 226 mL: the estimate alone, since the shop's record of such a ground coat is empty."]
    );
    let own = of(Some("0.3"), tailgate(), Notation::METRIC);
    assert_eq!(own.rows[0][1], format!("0.3 m² (its own area), {film}: 42.9 mL; {behind}"));
    let us = Notation { volume: VolumeShown::Us, ..Notation::METRIC };
    assert!(of(None, tailgate(), us).rows[0][1].starts_with("13.99 ft², 2 coats"), "1.3 / 0.09290304");
    let lacks = of(None, Vec::new(), Notation::METRIC);
    assert!(lacks.rows[0][1].starts_with("not known: what is painted is not said"), "{:?}", lacks.rows);
    assert_eq!(lacks.rows[0][2..], ["–", "–"]);
}

/// By hand: of 140 mL made ready ten parts are colour, one is hardener, three are thinner; with a tenth too much hardener, and
/// none of the thinner, 1.1 and nothing. By mass the sheet's own parts are those of the scale.
#[test]
fn what_was_weighed_stands_beside_the_parts_of_the_sheet() {
    let shop = Catalogue::demo();
    let colour = shop.colour("PB-3140").unwrap();
    let product = shop.product("GC-2").unwrap().clone();
    let recipe = Recipe::of_layer(&shop, colour, colour.layer(Role::Ground).unwrap()).unwrap();
    let recipe = recipe.activated(&shop, &product, Additions::default()).unwrap();
    let of = |hardener: &str, thinner: &str| -> Vec<(TonerCode, Grams)> {
        let times = |part| match part {
            LinePart::Colour => "1",
            LinePart::Hardener => hardener,
            LinePart::Thinner => thinner,
        };
        let mass = |line: &Line| Grams::new(line.parts).times(times(line.part).parse().unwrap());
        recipe.lines().iter().map(|line| (line.toner.clone(), mass(line))).collect()
    };
    let row = |ratio: Ratio, in_it: &[(TonerCode, Grams)]| {
        let mut sheet = sheet();
        let weighed = Some(weighed(&recipe, in_it));
        let pot_life = Some(Countdown::new(Stamp(5), 120));
        let ratio = Some(ratio);
        sheet.ready.push(ReadyRow { layer: Role::Ground, mix: Some(7), ratio, weighed, pot_life });
        let blocks = sheet.blocks(&look(Notation::METRIC));
        blocks.into_iter().find(|block| block.id == "ready").unwrap().rows.remove(0)
    };
    let ratio = || product.ratio.clone().unwrap();
    let right = row(ratio(), &of("1", "1"));
    let life = "at 5 to at 7200000005";
    assert_eq!(right[..5], ["ground coat", "7", "10:1:3 by volume", "10:1:3", life]);
    let parts = |part| {
        let lines = recipe.lines().iter().filter(|line| line.part == part);
        lines.map(|line| Grams::new(line.parts)).sum::<Grams>().with_decimals(1)
    };
    assert_eq!(right[5..], [LinePart::Colour, LinePart::Hardener, LinePart::Thinner].map(parts));
    assert_eq!(row(ratio(), &of("1.1", "0"))[3], "10:1.1:0");
    // What is not of the recipe has no density there: what it came to by volume cannot be said.
    let mut strange = of("1", "1");
    strange.push((TonerCode::new("X99"), g("1")));
    assert_eq!(row(ratio(), &strange)[3], "–");
    let by_mass = Ratio { by: RatioBy::Mass, colour: Decimal::from(4), hardener: None, thinner: None };
    let found = row(by_mass, &[(recipe.lines()[0].toner.clone(), g("200"))]);
    assert_eq!(found[2..4], ["4:–:– by mass", "4:0:0"]);
}

#[test]
fn the_papers_the_painters_and_who_chose_are_said() {
    let mut sheet = sheet();
    let product = Catalogue::demo().product("UC-1").unwrap().clone();
    sheet.products.push(ProductRow { layer: Role::Undercoat, product, bench_cup: None });
    sheet.painters.push(PainterRow { name: "Robin".into(), training: "there, of 2026-03-02".into() });
    let counted = Some("between cards 2 and 4".to_owned());
    sheet.chosen.push(ChosenRow { layer: Role::Pearl, coats: 3, counted, at: Stamp(9), by: "Kim".into() });
    let blocks = sheet.blocks(&look(Notation::METRIC));
    let rows = |id: &str| blocks.iter().find(|block| block.id == id).unwrap().rows.clone();
    assert_eq!(
        rows("products"),
        [[
            "undercoat",
            "UC-1 undercoat in shades, activated",
            "19 s DIN 4 mm",
            "DANGER; contains isocyanates; FLAMMABLE: keep from sparks and flames; GHS02; GHS07",
            "data sheet: folder 2, sheet UC-1, invented 2026-01; safety data sheet: folder 1, sheet UC-1"
        ]]
    );
    assert_eq!(rows("painters"), [["Robin", "there, of 2026-03-02"]]);
    assert_eq!(rows("cards"), [["chosen", "pearl coat", "3", "at 9", "by Kim (between cards 2 and 4)"]]);
}

#[test]
fn the_page_holds_every_word_of_it_and_no_more_than_words() {
    let (sheet, look) = (sheet(), look(Notation::METRIC));
    let page = sheet.html(&look);
    let (start, end) = (page.find("<body>").unwrap(), page.find("</body>").unwrap() + "</body>".len());
    let document = roxmltree::Document::parse(page.get(start..end).unwrap()).unwrap();
    let text = |node: roxmltree::Node<'_, '_>| node.text().unwrap_or_default().to_owned();
    assert_eq!(
        text(document.descendants().find(|node| node.has_tag_name("h1")).unwrap()),
        "26-118 <tailgate>"
    );
    for block in sheet.blocks(&look) {
        let section = document.descendants().find(|node| node.attribute("id") == Some(block.id)).unwrap();
        let cells: Vec<String> =
            section.descendants().filter(|node| node.has_tag_name("td")).map(text).collect();
        assert_eq!(cells, block.rows.concat());
    }
    for note in sheet.notes(&look) {
        assert!(document.descendants().any(|node| node.text() == Some(&note)), "{note}");
    }
    assert!(!page.contains("<script") && !page.contains("<tailgate"));
}
