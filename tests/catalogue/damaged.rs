//! Whatever is in the files, it is read or told about.

use super::{COLOUR, GANNET, shop_with, shown};
use pourbook::catalogue::{Catalogue, demo, find};
use pourbook::units::{Decimal, Share};
use proptest::prelude::*;
use std::collections::BTreeMap;

/// A file of the demo shop with some of its bytes cut out, put in twice or changed.
fn damaged() -> impl Strategy<Value = (String, Vec<u8>)> {
    let damage = (any::<prop::sample::Index>(), 0_usize..40, prop::collection::vec(any::<u8>(), 0..6));
    (0..demo::FILES.len(), prop::collection::vec(damage, 1..4)).prop_map(|(file, damages)| {
        let (path, text) = demo::FILES[file];
        let mut bytes = text.as_bytes().to_vec();
        for (at, cut, put) in damages {
            let at = at.index(bytes.len().max(1)).min(bytes.len());
            let end = (at + cut).min(bytes.len());
            bytes.splice(at..end, put);
        }
        (path.to_owned(), bytes)
    })
}

/// What holds for every catalogue, whatever the files were.
fn check(shop: &Catalogue) {
    for problem in &shop.problems {
        let text = problem.to_string();
        assert!(!text.chars().any(|c| c.is_control() && c != '\n'), "{text:?}");
    }
    for colour in &shop.colours {
        assert!(!colour.layers.is_empty());
        for layer in &colour.layers {
            assert!(!layer.pours.is_empty());
            for part in &layer.pours {
                assert!(part.parts > Decimal::ZERO);
                let toner = shop.toner(part.toner.as_str()).map(|toner| &toner.code);
                assert_eq!(toner, Some(&part.toner));
            }
        }
    }
    for toner in &shop.toners {
        assert!(toner.tolerance.is_none_or(|own| own.is_positive() && own <= Share::ONE));
    }
}

proptest! {
    #[test]
    fn no_damage_is_a_panic((path, bytes) in damaged()) {
        let mut files: BTreeMap<String, Vec<u8>> =
            demo::FILES.iter().map(|(path, text)| ((*path).to_owned(), (*text).into())).collect();
        files.insert(path, bytes);
        check(&Catalogue::from_files("shop", files));
    }

    #[test]
    fn no_text_is_a_panic(text in "(?s)[\\[\\]{}=\"'#.,\\\\ \ncodetnrlayps0-9\\PC]{0,120}") {
        for path in ["toners.toml", "cups.toml", GANNET] {
            check(&shop_with(path, text.as_bytes()));
        }
    }

    #[test]
    fn no_query_is_a_panic(query in "(?s).{0,30}") {
        let shop = Catalogue::demo();
        for found in find(&shop, &query, usize::MAX) {
            let colour = &shop.colours[found.colour];
            for range in &found.name {
                prop_assert!(colour.name.get(range.clone()).is_some());
            }
        }
    }

    #[test]
    fn what_is_written_is_what_is_read(units in 1_i64..1_000_000_000_000_000, scale in 6_u32..=12, quoted: bool) {
        let written = Decimal::new(units, scale).to_string();
        let in_file = if quoted { format!("\"{written}\"") } else { written.clone() };
        let shop = shop_with(GANNET, COLOUR.replace("3.150", &in_file).as_bytes());
        prop_assert_eq!(shown(&shop.problems), "");
        prop_assert_eq!(shop.colours[0].layers[0].pours[1].parts.to_string(), written);
    }
}
