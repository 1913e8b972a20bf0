//! The invented shop: all there, all right, and the same in the program as in its folder.

use super::shown;
use pourbook::catalogue::{Catalogue, Finish, Role, TonerKind, Word as _, demo};
use pourbook::units::Decimal;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

#[test]
fn the_demo_shop_is_all_there_and_all_right() {
    let shop = Catalogue::demo();
    assert_eq!(shown(&shop.problems), "");
    assert!(shop.colours.len() >= 12, "{}", shop.colours.len());
    let three_stage = shop.colours.iter().filter(|colour| colour.finish == Finish::ThreeStage).count();
    assert!(three_stage >= 4, "{three_stage}");
    assert!((28..=38).contains(&shop.toners.len()), "{}", shop.toners.len());
    for finish in [Finish::SingleStage, Finish::TwoStage] {
        assert!(shop.colours.iter().any(|colour| colour.finish == finish), "{finish}");
    }
    for &kind in TonerKind::ALL {
        assert!(shop.toners.iter().any(|toner| toner.kind == kind), "{kind}");
    }
    assert!(shop.toners.iter().all(|toner| toner.price.is_some() && toner.swatch.is_some()));
    assert!(
        shop.colours.iter().all(|colour| colour.code.as_str().starts_with("PB-") && colour.swatch.is_some())
    );

    let layers = shop.colours.iter().flat_map(|colour| &colour.layers);
    let poured = layers.flat_map(|layer| &layer.pours).map(|part| &part.toner);
    let ratios = shop.products.iter().filter_map(|product| product.ratio.as_ref());
    let added = ratios.flat_map(|ratio| [&ratio.hardener, &ratio.thinner]).flatten();
    let tins = shop.products.iter().filter_map(|product| product.tin.as_ref());
    let used: BTreeSet<_> = poured.chain(added.flat_map(|addition| &addition.toners)).chain(tins).collect();
    let idle: Vec<_> = shop.toners.iter().filter(|toner| !used.contains(&toner.code)).collect();
    assert_eq!(idle, Vec::<&pourbook::catalogue::Toner>::new(), "a toner in no formula, no ratio and no tin");

    // The formula that the documents show.
    let gannet = shop.colour("PB-3140").unwrap();
    assert_eq!((gannet.name.as_str(), gannet.finish), ("Gannet White", Finish::ThreeStage));
    let ground = gannet.layer(Role::Ground).unwrap();
    assert_eq!(ground.pours.len(), 6);
    for (code, parts) in [("W10", "812.40"), ("K05", "3.15")] {
        let part = ground.pours.iter().find(|part| part.toner.as_str() == code).unwrap();
        assert_eq!(part.parts.to_string(), parts);
    }
    for code in ["Y41", "B15"] {
        assert!(ground.pours.iter().any(|part| part.toner.as_str() == code), "{code}");
    }
}

/// Undercoats, colours and clears lie between water-thin solvent and heavy primer: common practice, no source.
#[test]
fn the_demo_shops_layers_have_a_paints_density() {
    let shop = Catalogue::demo();
    for colour in &shop.colours {
        for layer in &colour.layers {
            let mut mass = Decimal::ZERO;
            let mut volume = Decimal::ZERO;
            for part in &layer.pours {
                let density = shop.toner(part.toner.as_str()).unwrap().density.decimal();
                mass = mass.checked_add(part.parts).unwrap();
                volume = volume.checked_add(part.parts.checked_div(density).unwrap()).unwrap();
            }
            assert_eq!(mass, Decimal::ONE_THOUSAND, "{} {}: parts per thousand", colour.name, layer.role);
            let density = mass.checked_div(volume).unwrap();
            let plausible = Decimal::new(90, 2)..Decimal::new(150, 2);
            assert!(plausible.contains(&density), "{} {}: {density}", colour.name, layer.role);
        }
    }
}

#[test]
fn the_demo_shop_in_the_program_is_the_one_in_the_folder() {
    let folder = Path::new(demo::SHOP);
    let mut on_disk = BTreeMap::new();
    for path in [folder.to_owned(), folder.join("colours")] {
        for entry in fs::read_dir(path).unwrap() {
            let path = entry.unwrap().path();
            if path.is_file() {
                let inside = path.strip_prefix(folder).unwrap().to_str().unwrap().replace('\\', "/");
                on_disk.insert(inside, fs::read_to_string(path).unwrap());
            }
        }
    }
    let embedded: BTreeMap<_, _> =
        demo::FILES.iter().map(|&(path, text)| (path.to_owned(), text.to_owned())).collect();
    assert_eq!(embedded, on_disk);
    assert_eq!(Catalogue::demo(), Catalogue::load(folder));
    for (path, text) in demo::FILES {
        assert!(
            text.lines().take(3).any(|line| line.contains("nvented") || line.contains("made up")),
            "{path}"
        );
    }
}
