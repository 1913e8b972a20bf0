//! The lots that are in a leftover, and what is said of one of a lot that was called back.

use super::*;

fn recalled(lot: &str, toner: Option<&str>) -> Recall {
    Recall { lot: lot.into(), toner: toner.map(TonerCode::new), why: "grey when dry".into(), at: Stamp(1) }
}

fn from(label: &str, toner: &str, lot: Option<&str>) -> FromTin {
    FromTin { label: label.into(), toner: TonerCode::new(toner), lot: lot.map(str::to_owned) }
}

/// A mix of which a fifth is kept, and another that begins with all of it and of which a fifth is kept again: the tin of the
/// first is in the second.
#[test]
fn a_lot_is_in_what_is_kept_of_a_mix_also_by_way_of_a_leftover() {
    let mut shop = Shop::new();
    let came = receive(&receipt("T-B", "B", "1000"), None).unwrap();
    shop.tell(&came);
    let old = shop.begin();
    shop.fill();
    shop.spray(20, "R-7");
    let today = day("2026-11-26");
    let [left] = &leftovers(&shop.store).unwrap()[..] else { panic!("one") };
    let tins = ["A", "B", "C", "D"].map(|t| from(&format!("T-{t}"), t, (t == "B").then_some("L-B")));
    assert_eq!(left.tins, tins);
    let of = |recall: Recall| left.unfit(today, &[recalled("L-X", None), recall]);
    let unfit =
        Unfit::Recalled { lot: "L-B".into(), toner: TonerCode::new("B"), why: "grey when dry".into() };
    assert_eq!(of(recalled("L-B", None)), Some(unfit.clone()));
    assert_eq!(of(recalled("L-B", Some("B"))), Some(unfit.clone()));
    // The same lot of another toner, another lot, a lot of a tin of which none is known.
    assert_eq!(of(recalled("L-B", Some("C"))), None);
    assert_eq!(of(recalled("L-A", None)), None);
    assert_eq!(
        unfit.to_string(),
        "lot L-B of B, which is in this leftover, was called back (grey when dry): do not use it, throw it away"
    );

    shop.begin();
    let event = shop.session().take_leftover(&old.to_string(), &left.made_of, left.holds(), How::Scale);
    assert!(shop.happened(&event.unwrap()));
    while let Some(goal) = shop.session().goal() {
        let stop = shop.session().limits().division.round(goal.stop);
        let event = shop.session().take(stop, How::Scale).unwrap();
        assert!(shop.happened(&event));
    }
    let done = shop.session().finish().unwrap();
    assert!(shop.happened(&done));
    shop.spray(20, "R-8");
    let [second] = &leftovers(&shop.store).unwrap()[..] else { panic!("one") };
    assert_eq!((second.tins.as_slice(), second.unfit(today, &[])), (&tins[..], None));
    assert_eq!(second.unfit(today, &[recalled("L-B", None)]), Some(unfit));
}

/// A tin is poured from before anybody says that it came: its lot is known of the leftover from then on.
#[test]
fn a_lot_that_is_said_later_is_known_of_what_was_kept_before() {
    let mut shop = Shop::new();
    shop.begin();
    shop.fill();
    shop.spray(20, "R-7");
    let mut left = leftovers(&shop.store).unwrap().pop().unwrap();
    let recalls = [recalled("L-B", None)];
    assert_eq!(left.called_back(&recalls), None);
    let came = receive(&receipt("T-B", "B", "1000"), shop.store.tins(TinsOf::Label("T-B")).unwrap().first());
    shop.tell(&came.unwrap());
    know_lots(left.tins.iter_mut(), &shop.known.0);
    assert_eq!(left.called_back(&recalls).map(|(_, tin)| tin.label.as_str()), Some("T-B"));
    // As who reads the book anew knows it.
    assert_eq!(vec![left], leftovers(&shop.store).unwrap());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// Whatever happens in the shop: where the trace of a lot, which follows the paint forward from its tins, comes to a mix of
    /// which something is left, that leftover says so when the lot is called back.
    #[test]
    fn no_leftover_keeps_quiet_of_a_lot_whose_trace_leads_to_it(
        seed in prop::collection::vec((any::<u8>(), 0_u16..400), 0..160),
    ) {
        let mut shop = Shop::new();
        for (what, n) in seed {
            step(&mut shop, what, n);
        }
        let lots: std::collections::BTreeSet<_> =
            shelf(&shop.store).unwrap().into_iter().filter_map(|tin| tin.lot).collect();
        let left = leftovers(&shop.store).unwrap();
        for lot in lots {
            let trace = trace_lot(&shop.store, &lot).unwrap();
            for left in &left {
                if trace.uses.iter().any(|used| used.mix.mix == left.of.mix) {
                    prop_assert!(left.called_back(&[recalled(&lot, None)]).is_some(), "{lot}: {left:?}");
                }
            }
        }
    }
}
