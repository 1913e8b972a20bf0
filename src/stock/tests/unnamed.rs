//! What was poured without a tin's name is on the shelf no more, and no gram of it is counted twice.

use super::*;
use std::collections::BTreeMap;

/// A rack whose tins are known to the milligram, beside the book that is told of it.
struct Rack {
    shop: Shop,
    /// What is truly in each tin.
    truth: BTreeMap<String, Grams>,
    came: u32,
}

impl Rack {
    fn new() -> Self {
        Self { shop: Shop::new(), truth: BTreeMap::new(), came: 0 }
    }

    fn receive(&mut self, net: &str) -> String {
        self.came += 1;
        let label = format!("T{}", self.came);
        let came = receive(&receipt(&label, "A", net), None).unwrap();
        self.shop.tell(&came);
        self.truth.insert(label.clone(), grams(net));
        label
    }

    /// So much is poured from a tin; whether it is named is the painter's to say.
    fn pour(&mut self, label: &str, mass: Grams, is_named: bool) {
        let Some(holds) = self.truth.get_mut(label) else { return };
        let mass = mass.min(*holds);
        if !mass.is_positive() {
            return;
        }
        *holds -= mass;
        self.shop.begin();
        if is_named {
            let taken = Event::TinTaken { toner: TonerCode::new("A"), tin: label.into(), marks: None };
            assert!(self.shop.happened(&taken));
        }
        let event = self.shop.session().take(mass, How::Typed).unwrap();
        assert!(self.shop.happened(&event));
    }

    fn count(&mut self, label: &str) {
        let Some(holds) = self.truth.get(label) else { return };
        let event = count(&self.shop.tin(label), None, None, *holds, None).unwrap();
        self.shop.tell(&event);
    }

    /// Somebody spills some, and says nothing.
    fn lose(&mut self, label: &str, mass: Grams) {
        if let Some(holds) = self.truth.get_mut(label) {
            *holds = (*holds - mass).max(Grams::ZERO);
        }
    }

    fn empty(&mut self, label: &str) {
        if self.truth.get(label).is_some_and(|holds| holds.is_zero()) {
            let event = empty(&self.shop.tin(label)).unwrap();
            self.shop.tell(&event);
            self.truth.remove(label);
        }
    }

    /// What the tins on the shelf hold by the book, less what was poured without a name.
    fn stock(&self) -> Grams {
        let tins = shelf(&self.shop.store).unwrap();
        let held: Grams = tins.iter().filter(|tin| !tin.is_gone()).map(|tin| tin.holds).sum();
        held - self.unnamed()
    }

    fn unnamed(&self) -> Grams {
        let tins = shelf(&self.shop.store).unwrap();
        let unnamed = poured_unnamed(&self.shop.store, &tins).unwrap();
        unnamed.get(&TonerCode::new("A")).copied().unwrap_or(Grams::ZERO)
    }

    fn true_stock(&self) -> Grams {
        self.truth.values().copied().sum()
    }
}

/// By hand: 37 g of the first tin without a word, and the first count finds just those.
#[test]
fn what_was_poured_without_a_name_is_found_by_a_count_once() {
    let mut rack = Rack::new();
    let (one, other) = (rack.receive("1000"), rack.receive("500"));
    rack.pour(&one, grams("37"), false);
    assert_eq!((rack.unnamed(), rack.stock()), (grams("37"), grams("1463")));
    // The other tin is as the book says: the 37 g are still to be found.
    rack.count(&other);
    assert_eq!((rack.unnamed(), rack.stock()), (grams("37"), grams("1463")));
    rack.pour(&other, grams("10"), false);
    assert_eq!((rack.unnamed(), rack.stock()), (grams("47"), grams("1453")));
    // 37 g are missing in the first: they are those that were poured.
    rack.count(&one);
    assert_eq!((rack.unnamed(), rack.stock()), (grams("10"), grams("1453")));
    rack.count(&other);
    assert_eq!((rack.unnamed(), rack.stock()), (Grams::ZERO, grams("1453")));
    rack.pour(&one, grams("5"), true);
    assert_eq!((rack.unnamed(), rack.stock()), (Grams::ZERO, grams("1448")));
    // A pour is said later to have been of that tin: it is in the tin's own account from then on.
    rack.pour(&one, grams("8"), false);
    let event = rack.shop.session().rebook(0, TonerCode::new("A"), Some(one)).unwrap();
    assert!(rack.shop.happened(&event));
    assert_eq!((rack.unnamed(), rack.stock()), (Grams::ZERO, grams("1440")));
    rack.shop.is_well();
}

/// More came in a tin than it says: once all were counted nothing is looked for any more, whatever they held.
#[test]
fn a_count_of_all_tins_settles_it() {
    let mut rack = Rack::new();
    let one = rack.receive("1000");
    rack.truth.insert(one.clone(), grams("1020"));
    rack.pour(&one, grams("37"), false);
    assert_eq!(rack.stock(), grams("963"));
    rack.count(&one);
    assert_eq!((rack.unnamed(), rack.stock()), (Grams::ZERO, grams("983")));
    // Where no tin is there, none of them can lack it.
    let mut rack = Rack::new();
    rack.truth.insert("unbooked".into(), grams("100"));
    rack.pour("unbooked", grams("37"), false);
    assert_eq!(rack.unnamed(), Grams::ZERO);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Any pours, named or not, counts, tins that come and tins that go: the stock by the shelf is what is in the tins, at every
    /// moment as long as nothing is lost otherwise; and whatever was lost, once all tins are counted. The reference is the
    /// rack itself.
    #[test]
    fn the_stock_by_the_shelf_is_what_is_in_the_tins(
        steps in prop::collection::vec((0_u8..12, 0_usize..5, 1_u16..400), 1..40), loses in any::<bool>(),
    ) {
        let mut rack = Rack::new();
        rack.receive("1000");
        for (what, which, n) in steps {
            let labels: Vec<String> = rack.truth.keys().cloned().collect();
            let label = labels.get(which % labels.len().max(1)).cloned().unwrap_or_default();
            let mass = Grams::from_micrograms(i64::from(n) * 500_000);
            match what {
                0 if labels.len() < 4 => { rack.receive("300"); }
                0..=3 => rack.pour(&label, mass, true),
                4..=7 => rack.pour(&label, mass, false),
                8 | 9 => rack.count(&label),
                10 => rack.empty(&label),
                _ if loses => rack.lose(&label, mass),
                _ => rack.pour(&label, grams("1000"), false),
            }
            if !loses {
                prop_assert_eq!(rack.stock(), rack.true_stock());
            }
        }
        let labels: Vec<String> = rack.truth.keys().cloned().collect();
        for label in labels {
            rack.count(&label);
        }
        prop_assert_eq!((rack.stock(), rack.unnamed()), (rack.true_stock(), Grams::ZERO));
    }
}
