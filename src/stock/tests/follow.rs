//! Who follows the events knows what one who reads the book anew knows, and at every moment the book adds up.

use super::*;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// After every single event of tins, mixes and leftovers, in any order: what the book holds adds up to nothing for each
    /// toner, and a program that follows the events knows the tins as one that reads the book anew.
    #[test]
    fn at_every_moment_nothing_is_lost_and_who_follows_knows_what_is_there(
        seed in prop::collection::vec((any::<u8>(), 0_u16..400), 0..90),
    ) {
        let mut shop = Shop::new();
        for (what, n) in seed {
            step(&mut shop, what, n);
        }
        // The reference: the journal's postings added up by hand, event by event.
        let mut held = std::collections::BTreeMap::<(Account, TonerCode), i64>::new();
        let mut events = Vec::new();
        shop.store.each(&mut |event| events.push(event.clone())).unwrap();
        for event in &events {
            for posting in &event.postings {
                *held.entry((posting.account.clone(), posting.toner.clone())).or_default() += posting.micrograms;
            }
            let mut sums = std::collections::BTreeMap::<&TonerCode, i64>::new();
            for ((_, toner), micrograms) in &held {
                *sums.entry(toner).or_default() += micrograms;
            }
            prop_assert!(sums.values().all(|sum| *sum == 0), "after {}: {:?}", event.kind, sums);
            let below = |account: &Account| matches!(account, Account::Cup(_));
            prop_assert!(
                held.iter().all(|((account, _), micrograms)| !below(account) || *micrograms >= 0),
                "after {}: {:?}", event.kind, held
            );
        }
        held.retain(|_, micrograms| *micrograms != 0);
        let kept = shop.store.balances().unwrap();
        let kept: std::collections::BTreeMap<_, _> =
            kept.into_iter().map(|one| ((one.account, one.toner), one.micrograms)).collect();
        prop_assert_eq!(&kept, &held);
        // A label that was two toners' is the book's alone to know.
        let mut toners = std::collections::BTreeMap::<String, std::collections::BTreeSet<String>>::new();
        for event in &events {
            let body: serde_json::Value = serde_json::from_str(&event.body).unwrap();
            let text = |name: &str| body[name].as_str().map(str::to_owned);
            if let (Some(label), Some(toner)) = (text("label").or_else(|| text("tin")), text("toner")) {
                toners.entry(label).or_default().insert(toner);
            }
            for posting in &event.postings {
                if let Account::Tin(label) = &posting.account {
                    toners.entry(label.clone()).or_default().insert(posting.toner.as_str().to_owned());
                }
            }
        }
        // One of which all was put right again is none to a book that is read anew.
        let plain = |tin: &Tin| {
            toners.get(tin.label.as_str()).is_none_or(|all| all.len() < 2)
                && *tin != Tin::new(row(&tin.label, tin.toner.as_str()), Grams::ZERO)
        };
        let mut followed: Vec<Tin> = shop.known.0.iter().filter(|tin| plain(tin)).cloned().collect();
        followed.sort_by(|one, other| one.label.cmp(&other.label));
        let read: Vec<Tin> = shelf(&shop.store).unwrap().into_iter().filter(plain).collect();
        prop_assert_eq!(followed, read);
        prop_assert_eq!(&shop.known.1, &recalls(&shop.store).unwrap());
    }
}

#[test]
fn a_small_difference_is_2_g_or_a_hundredth_of_what_came() {
    let tin = |net: Option<&str>| Tin { net: net.map(grams), ..a_tin("500") };
    for (net, missing, small) in [
        (None, "-2", true),
        (None, "2.1", false),
        (Some("1000"), "10", true),
        (Some("1000"), "-10.1", false),
        (Some("100"), "-2", true),
        (Some("100"), "2.1", false),
    ] {
        assert_eq!(is_small(&tin(net), grams(missing)), small, "{net:?} {missing}");
    }
}

#[test]
fn only_open_tins_on_the_shelf_are_stirred() {
    let came = |label: &str, holds: &str| Tin {
        net: Some(grams("1000")),
        received: Some(Stamp(1)),
        ..Tin::new(row(label, "A"), grams(holds))
    };
    let tins = [
        came("full", "1000"),
        came("begun", "999.9"),
        Tin { opened: Some(Stamp(2)), ..came("said", "1000") },
        Tin { emptied: Some(Stamp(2)), ..came("empty", "1") },
        Tin { discarded: Some(Stamp(2)), ..came("gone", "1") },
        Tin::new(row("unreceived", "B"), grams("-3")),
    ];
    let labels: Vec<_> = stirring(&tins)
        .into_iter()
        .map(|event| match event {
            StockEvent::Stirred(name) => name.label,
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(labels, ["begun", "said", "unreceived"]);
}
