//! The shop as it is handed to a worker: what is beside the colours, and where to find the few colours that the worker
//! needs in full, so that neither the loop copies nor the worker reads all of a large shop's.

use super::app::App;
use crate::catalogue::index::ShopIndex;
use crate::catalogue::{Catalogue, Listing};
use std::sync::Arc;

/// The shop, for a worker.
#[derive(Clone, Debug)]
pub(super) struct AtHand {
    /// With every colour where the shop lies in memory, without one where it is a folder.
    catalogue: Catalogue,
    /// The colours of the folder, each in a line.
    listing: Option<Arc<Listing>>,
}

impl AtHand {
    /// The shop with those of these colours, code and variant, that it has. One whose file cannot be used is left out, as
    /// whoever reads all of them leaves it out.
    pub(super) fn with<'a>(
        self,
        index: Option<&ShopIndex>,
        wanted: impl IntoIterator<Item = &'a (String, String)>,
    ) -> Catalogue {
        let Self { mut catalogue, listing } = self;
        if let (Some(listing), Some(index)) = (listing, index) {
            let files = wanted.into_iter().filter_map(|(code, variant)| listing.named(code, variant));
            let read = files.filter_map(|entry| index.colour(entry.file).ok());
            catalogue.colours = read.map(|fresh| fresh.colour).collect();
        }
        catalogue
    }
}

impl App {
    /// The shop as it is known now.
    pub(super) fn at_hand(&self) -> AtHand {
        let listing = self.known.folder();
        let colours = if listing.is_some() { Vec::new() } else { self.known.in_full().to_vec() };
        AtHand { catalogue: Catalogue { colours, ..self.catalogue.clone() }, listing }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::demo;
    use std::fs;

    fn wanted(names: &[(&str, &str)]) -> Vec<(String, String)> {
        names.iter().map(|(code, variant)| ((*code).to_owned(), (*variant).to_owned())).collect()
    }

    /// Of a folder only the colours that are named are read, as their files have them now; one that is not there or cannot
    /// be used is left out.
    #[test]
    fn of_a_folder_only_the_colours_that_are_named_are_read() {
        let folder = tempfile::tempdir().unwrap();
        for (path, text) in demo::FILES {
            let path = folder.path().join(path);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, text).unwrap();
        }
        let index = ShopIndex::new(folder.path(), None);
        let whole = Catalogue::load(folder.path());
        let seen = index.looker().look(crate::units::Stamp(1), &mut |_| true).unwrap();
        let at_hand = AtHand { catalogue: index.without_colours(), listing: Some(Arc::new(seen.listing)) };
        let [first, second] = [&whole.colours[0], &whole.colours[1]];
        // However it is written, as the shop's catalogue finds it too.
        let names = [
            (&*first.code.as_str().to_lowercase(), &*first.variant),
            ("no such colour", "standard"),
            (second.code.as_str(), &*second.variant),
        ];
        let found = at_hand.clone().with(Some(&index), &wanted(&names));
        assert_eq!(found.colours, [first.clone(), second.clone()]);
        assert_eq!((&found.toners, &found.products), (&whole.toners, &whole.products));
        let file = folder.path().join("colours").join(&first.source.as_ref().unwrap().file);
        fs::write(file, "code = ").unwrap();
        let found = at_hand.with(Some(&index), &wanted(&names));
        assert_eq!(found.colours, std::slice::from_ref(second));
    }

    #[test]
    fn a_shop_in_memory_is_there_as_a_whole() {
        let shop = Catalogue::demo();
        let at_hand = AtHand { catalogue: shop.clone(), listing: None };
        assert_eq!(at_hand.with(None, &wanted(&[])).colours, shop.colours);
    }
}
