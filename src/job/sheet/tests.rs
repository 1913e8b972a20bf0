//! What others fill in comes out on the page and in the words, and nothing that was typed becomes part of the page.

use super::*;
use crate::catalogue::ColourCode;
use crate::job::{JobEvent, Opening};
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
    assert_eq!(ids, ["amounts", "mixes", "voc", "cautions"]);
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
