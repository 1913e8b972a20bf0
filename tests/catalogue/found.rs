//! What is typed finds the colour that was meant.

use pourbook::catalogue::{Catalogue, Finish, Found, find};
use rstest::rstest;

fn names(shop: &Catalogue, found: &[Found]) -> Vec<String> {
    found
        .iter()
        .map(|found| {
            let colour = &shop.colours[found.colour];
            format!("{} {}", colour.name, colour.variant)
        })
        .collect()
}

#[test]
fn nothing_typed_gives_all_in_order_of_name() {
    let shop = Catalogue::demo();
    let all = names(&shop, &find(&shop, "  ", usize::MAX));
    let mut sorted = all.clone();
    sorted.sort_by_key(|name| name.to_lowercase());
    assert_eq!(all, sorted);
    assert_eq!(all.len(), shop.colours.len());
    assert_eq!(find(&shop, "", 3).len(), 3);
    assert_eq!(find(&shop, "", 0), []);
}

#[rstest]
#[case::name("gannet", "Gannet White standard")]
#[case::part_of_a_name("nnet", "Gannet White standard")]
#[case::scattered("gtwh", "Gannet White standard")]
#[case::capitals("GANNET", "Gannet White standard")]
#[case::code("PB-3188", "Sulphur Lichen standard")]
#[case::code_without_its_start("3188", "Sulphur Lichen standard")]
#[case::any_order("white gannet", "Gannet White standard")]
#[case::across_fields("three 3171", "Bluethroat standard")]
#[case::variant("coarser shale", "Shale Drizzle coarser")]
#[case::the_standard_one("shale standard", "Shale Drizzle standard")]
#[case::accent_left_out("fohn", "Föhn Wall standard")]
#[case::accent_typed("Föhn", "Föhn Wall standard")]
#[case::finish_and_name("single tit", "Coal Tit standard")]
fn the_best_comes_first(#[case] query: &str, #[case] first: &str) {
    let shop = Catalogue::demo();
    assert_eq!(names(&shop, &find(&shop, query, 1)), [first]);
}

#[test]
fn every_word_must_be_found() {
    let shop = Catalogue::demo();
    assert_eq!(find(&shop, "gannet single", 9), []);
    assert_eq!(find(&shop, "zzz", 9), []);
    let three = find(&shop, "three-stage", usize::MAX);
    assert!(three.iter().all(|found| shop.colours[found.colour].finish == Finish::ThreeStage));
    assert_eq!(three.len(), 5);
}

#[test]
fn what_was_matched_can_be_marked() {
    let shop = Catalogue::demo();
    let found = &find(&shop, "fohn 2240 wa", 1)[0];
    let colour = &shop.colours[found.colour];
    let name: Vec<_> = found.name.iter().map(|range| colour.name.get(range.clone()).unwrap()).collect();
    assert_eq!(name, ["Föhn", "Wa"]);
    assert_eq!(found.code.iter().map(|range| (range.start, range.end)).collect::<Vec<_>>(), [(3, 7)]);
    assert_eq!((found.variant.len(), found.finish.len()), (0, 0));
}
