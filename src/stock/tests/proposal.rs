//! Which tin is proposed, and what is said where none is.

use super::*;
use std::collections::BTreeSet;

fn some(label: &str, holds: &str, expires: &str) -> Tin {
    let row = TinRow { expires: Some(expires.into()), received: Some(Stamp(1)), ..row(label, "A") };
    Tin::new(TinRow { lot: Some(format!("lot {label}")), ..row }, grams(holds))
}

fn propose(tins: &[Tin], recalls: &[&str]) -> String {
    let recall = |lot: &&str| Recall { lot: (*lot).into(), toner: None, why: "seedy".into(), at: Stamp(1) };
    let recalls: Vec<Recall> = recalls.iter().map(recall).collect();
    match proposal(tins, &TonerCode::new("A"), &recalls, day("2026-11-25")) {
        Proposal::Take(tin) => format!("take {}", tin.label),
        Proposal::Barred(tins) => {
            let why = |(tin, why): &(&Tin, Caution)| match why {
                Caution::Recalled { lot, .. } => format!("{}: {lot}", tin.label),
                Caution::Expired { on } => format!("{}: {on}", tin.label),
                other => panic!("{other:?}"),
            };
            tins.iter().map(why).collect::<Vec<_>>().join("; ")
        }
        Proposal::NothingLeft => "nothing left".into(),
        Proposal::Unknown => "unknown".into(),
    }
}

#[test]
fn what_is_said_where_no_tin_may_be_taken() {
    let good = some("good", "500", "2026-11-25");
    let old = some("old", "500", "2026-11-24");
    let bad = some("bad", "500", "2027-11-25");
    let used = some("used", "0", "2027-11-25");
    let gone = Tin { emptied: Some(Stamp(2)), ..some("gone", "0", "2027-11-25") };
    let seen = Tin { received: None, ..some("seen", "-60", "2027-11-25") };
    let counted = Tin { counted: Some(Stamp(2)), ..seen.clone() };
    let other = Tin { toner: TonerCode::new("B"), ..good.clone() };
    let all = |tins: &[&Tin]| tins.iter().map(|tin| (*tin).clone()).collect::<Vec<_>>();
    for (tins, says) in [
        (all(&[&old, &bad, &used, &good]), "take good"),
        (all(&[&old, &bad, &used]), "old: 2026-11-24; bad: lot bad"),
        (all(&[&bad]), "bad: lot bad"),
        (all(&[&used]), "nothing left"),
        (all(&[&gone]), "nothing left"),
        // One that nobody booked in may hold anything, whatever else there is.
        (all(&[&used, &seen]), "unknown"),
        (all(&[&bad, &seen]), "unknown"),
        (all(&[&used, &counted]), "nothing left"),
        (all(&[&other]), "unknown"),
        (Vec::new(), "unknown"),
    ] {
        assert_eq!(propose(&tins, &["lot bad"]), says, "{:?}", tins.iter().map(|tin| &tin.label));
    }
}

proptest! {
    /// Whatever is on the shelf: a tin is proposed just where one of the toner can be poured from and holds something, and it is
    /// such a one; what is barred is every tin on the shelf that may not be poured from, and no other.
    #[test]
    fn a_tin_is_proposed_wherever_there_is_one(
        made in prop::collection::vec((-2_i64..3, 20_u8..30, any::<bool>(), any::<bool>(), any::<bool>()), 0..6),
    ) {
        let tins: Vec<Tin> = made.iter().enumerate().map(|(at, (holds, day, is_gone, is_bad, is_booked))| {
            let mut tin = some(&format!("T{at}"), &holds.to_string(), &format!("2026-11-{day}"));
            tin.emptied = is_gone.then_some(Stamp(2));
            tin.received = is_booked.then_some(Stamp(1));
            tin.lot = is_bad.then(|| "lot bad".into());
            tin
        }).collect();
        let may = |tin: &Tin| tin.lot.is_none() && tin.expires.unwrap() >= day("2026-11-25");
        let there: Vec<&Tin> = tins.iter().filter(|tin| !tin.is_gone()).collect();
        let good: BTreeSet<_> = there.iter().filter(|tin| may(tin) && tin.holds > Grams::ZERO).map(|tin| &tin.label).collect();
        let recall = [Recall { lot: "lot bad".into(), toner: None, why: "seedy".into(), at: Stamp(1) }];
        match proposal(&tins, &TonerCode::new("A"), &recall, day("2026-11-25")) {
            Proposal::Take(tin) => prop_assert!(good.contains(&tin.label)),
            Proposal::Barred(barred) => {
                prop_assert!(good.is_empty());
                let barred: BTreeSet<_> = barred.iter().map(|(tin, _)| &tin.label).collect();
                let all: BTreeSet<_> = there.iter().filter(|tin| !may(tin)).map(|tin| &tin.label).collect();
                prop_assert_eq!(barred, all);
            }
            Proposal::NothingLeft => prop_assert!(good.is_empty() && there.iter().all(|tin| may(tin) && tin.received.is_some())),
            Proposal::Unknown => prop_assert!(good.is_empty()),
        }
    }
}
