//! What was poured without a tin's name is on the shelf no more, and no gram of it is counted twice.

use super::*;
use std::collections::BTreeMap;

/// A rack whose tins are known to the milligram, beside the book that is told of it.
struct Rack {
    shop: Shop,
    /// What is truly in each tin.
    truth: BTreeMap<String, Grams>,
    came: u32,
    /// What was spilt.
    lost: Grams,
    /// From which tin each mix was truly poured.
    from: Vec<String>,
    /// Whether counts are written as they were before they looked for such pours: all of what is missing is a difference.
    is_old: bool,
}

impl Rack {
    fn new() -> Self {
        let (truth, lost, from) = (BTreeMap::new(), Grams::ZERO, Vec::new());
        Self { shop: Shop::new(), truth, came: 0, lost, from, is_old: false }
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
        self.from.push(label.to_owned());
        self.shop.begin();
        if is_named {
            let taken = Event::TinTaken { toner: TonerCode::new("A"), tin: label.into(), marks: None };
            assert!(self.shop.happened(&taken));
        }
        let event = self.shop.session().take(mass, How::Typed).unwrap();
        assert!(self.shop.happened(&event));
    }

    /// Somebody says later from which tin a mix was poured, as long as that is on the rack.
    fn name(&mut self, mix: usize) {
        let Some(label) = self.from.get(mix).filter(|label| self.truth.contains_key(*label)) else { return };
        let event = self.shop.mixes[mix].session().rebook(0, TonerCode::new("A"), Some(label.clone()));
        let Ok(event) = event else { return };
        let (at, id) = (self.shop.later(), self.shop.ids.event(self.shop.at));
        let envelope = self.shop.mixes[mix].record(&event, id, at, &by()).unwrap();
        self.shop.append(&envelope);
    }

    fn to_find(&self, tin: &Tin) -> Grams {
        if self.is_old { Grams::ZERO } else { self.shop.unnamed(tin) }
    }

    fn count(&mut self, label: &str) {
        let Some(holds) = self.truth.get(label) else { return };
        let tin = self.shop.tin(label);
        let event = count(&tin, None, None, *holds, None, self.to_find(&tin)).unwrap();
        self.shop.tell(&event);
    }

    fn count_all(&mut self) {
        let labels: Vec<String> = self.truth.keys().cloned().collect();
        for label in labels {
            self.count(&label);
        }
    }

    /// Somebody spills some, and says nothing.
    fn lose(&mut self, label: &str, mass: Grams) {
        if let Some(holds) = self.truth.get_mut(label) {
            let mass = mass.min(*holds);
            *holds -= mass;
            self.lost += mass;
        }
    }

    fn empty(&mut self, label: &str) {
        if self.truth.get(label).is_some_and(|holds| holds.is_zero()) {
            let tin = self.shop.tin(label);
            let event = empty(&tin, self.to_find(&tin)).unwrap();
            self.shop.tell(&event);
            self.truth.remove(label);
        }
    }

    fn discard(&mut self, label: &str) {
        if self.truth.remove(label).is_some() {
            let tin = self.shop.tin(label);
            let only_in = if self.is_old { Grams::ZERO } else { self.shop.only_in(&tin) };
            let event = discard(&tin, "dried up", only_in).unwrap();
            self.shop.tell(&event);
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

    /// The same as a program knows it that has the book open.
    fn followed(&self) -> Grams {
        self.shop.followed.of(&self.shop.known.0, &TonerCode::new("A"))
    }

    fn true_stock(&self) -> Grams {
        self.truth.values().copied().sum()
    }

    /// What the accounts of that kind hold.
    fn held(&self, kind: &str) -> Grams {
        self.shop.store.held(kind).unwrap().iter().map(|held| Grams::from_micrograms(held.micrograms)).sum()
    }

    /// What the days say of it.
    fn flow(&self, what: &str) -> Grams {
        let daily = self.shop.store.daily(i64::MIN, i64::MAX).unwrap();
        daily.iter().filter(|row| row.what == what).map(|row| row.mass).sum()
    }
}

/// By hand: 37 g of the first tin without a word, and the first count finds just those.
fn found_once(is_old: bool) -> Rack {
    let mut rack = Rack { is_old, ..Rack::new() };
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
    rack.name(3);
    assert_eq!((rack.unnamed(), rack.stock()), (Grams::ZERO, grams("1440")));
    assert_eq!(rack.followed(), Grams::ZERO);
    rack.shop.is_well();
    rack
}

/// Poured once and missing nowhere; in a book of counts as they were written before, the same 47 g are poured and missing, and
/// the account of tins not named stays below nothing.
#[test]
fn what_was_poured_without_a_name_is_found_by_a_count_once() {
    let of = |rack: &Rack| [rack.flow("poured"), rack.flow("missing"), rack.held("tin?")];
    assert_eq!(of(&found_once(false)), [grams("60"), Grams::ZERO, Grams::ZERO]);
    assert_eq!(of(&found_once(true)), [grams("60"), grams("47"), grams("-47")]);
}

/// 12.3 g are missing, of which 8 were poured without a tin's name. An old count has found 20 g of earlier ones.
#[test]
fn what_is_over_is_missing() {
    let mut rack = Rack::new();
    let one = rack.receive("1000");
    rack.is_old = true;
    rack.pour(&one, grams("20"), false);
    rack.count(&one);
    rack.is_old = false;
    rack.pour(&one, grams("8"), false);
    rack.lose(&one, grams("4.3"));
    rack.count(&one);
    assert_eq!((rack.flow("missing"), rack.held("tin?")), (grams("24.3"), grams("-20")));
    // The next is no pour any more.
    rack.lose(&one, grams("3"));
    rack.count(&one);
    assert_eq!((rack.flow("missing"), rack.held("tin?")), (grams("27.3"), grams("-20")));
    rack.shop.is_well();
}

/// A tin is scraped out, and the book still has in it what was poured without its name and a drop that is truly missing.
#[test]
fn an_empty_tin_has_given_what_was_poured_without_its_name() {
    let mut rack = Rack::new();
    let one = rack.receive("100");
    rack.pour(&one, grams("40"), true);
    rack.pour(&one, grams("58"), false);
    rack.lose(&one, grams("2"));
    rack.empty(&one);
    assert_eq!((rack.flow("poured"), rack.flow("missing")), (grams("98"), grams("2")));
    assert!(rack.held("tin?").is_zero() && rack.held("tin").is_zero());
    rack.shop.is_well();
}

/// Nobody looks into a tin that is thrown away: what can have come from no other tin is not in it any more, and of the rest
/// nobody knows.
#[test]
fn a_tin_thrown_away_lacks_what_can_have_come_from_no_other() {
    let mut rack = Rack::new();
    let (one, other) = (rack.receive("1000"), rack.receive("500"));
    rack.pour(&one, grams("37"), false);
    rack.count(&other);
    rack.pour(&other, grams("10"), false);
    rack.discard(&one);
    assert_eq!((rack.flow("discarded"), rack.held("tin?")), (grams("963"), grams("-10")));
    assert_eq!((rack.unnamed(), rack.stock()), (grams("10"), grams("490")));
    // The last of its toner.
    rack.discard(&other);
    assert_eq!((rack.flow("discarded"), rack.flow("missing")), (grams("1453"), Grams::ZERO));
    assert!(rack.held("tin?").is_zero() && rack.held("tin").is_zero());
    rack.shop.is_well();
}

/// A pour is named only after a count has found it: the next one finds that more is in the tin than the book says, and what
/// was poured since is not taken for found twice.
#[test]
fn a_pour_that_is_named_after_a_count_found_it() {
    let mut rack = Rack::new();
    let (one, other) = (rack.receive("1000"), rack.receive("500"));
    rack.pour(&one, grams("37"), false);
    rack.count(&one);
    rack.name(0);
    assert_eq!((rack.held("tin?"), rack.unnamed()), (grams("37"), Grams::ZERO));
    rack.pour(&other, grams("50"), false);
    assert_eq!((rack.held("tin?"), rack.unnamed(), rack.stock()), (grams("-13"), grams("13"), grams("1413")));
    rack.count(&other);
    assert_eq!((rack.held("tin?"), rack.flow("missing")), (Grams::ZERO, grams("37")));
    rack.count(&one);
    assert_eq!((rack.held("tin?"), rack.flow("missing")), (Grams::ZERO, Grams::ZERO));
    assert_eq!(rack.stock(), rack.true_stock());
}

/// A pour that is named is out of its own mix's pours, not of another's that is still to be found.
#[test]
fn the_pour_that_is_named_is_that_mixs_own() {
    let mut rack = Rack::new();
    let (one, other) = (rack.receive("1000"), rack.receive("500"));
    rack.pour(&one, grams("10"), false);
    rack.count(&other);
    rack.pour(&other, grams("10"), false);
    rack.name(0);
    rack.count(&one);
    assert_eq!((rack.unnamed(), rack.stock()), (grams("10"), grams("1480")));
    rack.count(&other);
    assert_eq!((rack.held("tin?"), rack.flow("missing")), (Grams::ZERO, Grams::ZERO));
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

/// What is done on a rack, from three numbers.
fn act(rack: &mut Rack, (what, which, n): (u8, usize, u16), loses: bool) {
    let labels: Vec<String> = rack.truth.keys().cloned().collect();
    let label = labels.get(which % labels.len().max(1)).cloned().unwrap_or_default();
    let mass = Grams::from_micrograms(i64::from(n) * 500_000);
    match what {
        0 if labels.len() < 4 => {
            rack.receive("300");
        }
        0..=3 => rack.pour(&label, mass, true),
        4..=7 => rack.pour(&label, mass, false),
        8 | 9 => rack.count(&label),
        10 => rack.empty(&label),
        _ if loses => rack.lose(&label, mass),
        _ => rack.pour(&label, grams("1000"), false),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Any pours, named or not, counts of both kinds, tins that come and tins that go: the stock by the shelf is what is in the
    /// tins, at every moment as long as nothing is lost otherwise; and whatever was lost, once all tins are counted. The
    /// reference is the rack itself.
    #[test]
    fn the_stock_by_the_shelf_is_what_is_in_the_tins(
        steps in prop::collection::vec((0_u8..12, 0_usize..5, 1_u16..400), 1..40), loses in any::<bool>(),
        old in 0_usize..40,
    ) {
        let mut rack = Rack::new();
        rack.receive("1000");
        for (at, step) in steps.into_iter().enumerate() {
            rack.is_old = at < old;
            act(&mut rack, step, loses);
            if !loses {
                prop_assert_eq!(rack.stock(), rack.true_stock());
            }
        }
        rack.count_all();
        prop_assert_eq!((rack.stock(), rack.unnamed()), (rack.true_stock(), Grams::ZERO));
    }

    /// By counts that look for such pours first: every gram poured is poured once and missing nowhere, what is missing is what
    /// was lost, and nothing is left in the account of tins not named once all tins are counted.
    #[test]
    fn what_is_missing_is_what_was_lost(
        steps in prop::collection::vec((0_u8..12, 0_usize..5, 1_u16..400), 1..40), loses in any::<bool>(),
    ) {
        let mut rack = Rack::new();
        rack.receive("1000");
        for step in steps {
            act(&mut rack, step, loses);
            if !loses {
                prop_assert_eq!(rack.flow("missing"), Grams::ZERO);
            }
        }
        rack.count_all();
        prop_assert_eq!((rack.flow("missing"), rack.held("tin?")), (rack.lost, Grams::ZERO));
        prop_assert_eq!(rack.held("tin"), rack.true_stock());
    }

    /// With pours named at any time after and tins thrown away too: nothing is lost and nothing made. What left the tins is what
    /// was poured, missing and thrown away; no count brings the account of tins not named above nothing; and who has the book
    /// open knows what a reader of it finds.
    #[test]
    fn what_left_the_tins_was_poured_or_is_missing(
        steps in prop::collection::vec((0_u8..15, 0_usize..5, 1_u16..400), 1..40), old in 0_usize..60,
    ) {
        let mut rack = Rack::new();
        rack.receive("1000");
        let mut thrown = false;
        for (at, step) in steps.into_iter().enumerate() {
            rack.is_old = at < old;
            let before = rack.held("tin?");
            match step {
                (12 | 13, which, _) => rack.name(which),
                (14, which, 0..100) => {
                    let label = rack.truth.keys().nth(which).cloned().unwrap_or_default();
                    thrown |= rack.truth.contains_key(&label);
                    rack.discard(&label);
                }
                step => act(&mut rack, step, true),
            }
            if matches!(step.0, 8..=10 | 14) {
                prop_assert!(rack.held("tin?") <= before.max(Grams::ZERO));
            }
            let left = rack.flow("received") - rack.held("tin") - rack.held("tin?");
            prop_assert_eq!(left, rack.flow("poured") + rack.flow("missing") + rack.flow("discarded"));
            prop_assert_eq!(rack.followed(), rack.unnamed());
        }
        rack.count_all();
        prop_assert_eq!(rack.held("tin"), rack.true_stock());
        if !thrown {
            prop_assert_eq!(rack.flow("missing") + rack.held("tin?"), rack.lost);
        }
        rack.shop.is_well();
    }
}
