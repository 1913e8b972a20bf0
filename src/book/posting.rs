//! Where the paint of one event went: what came out of which place and into which, to the microgram.

use super::{Account, MixId};
use crate::catalogue::TonerCode;
use crate::mix::{Emptied, Event, Fate, Session};
use crate::units::{Grams, clean};
use std::collections::BTreeMap;
use thiserror::Error;

/// So much of a toner came into an account, or, below nothing, went out of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Posting {
    /// Which account.
    pub account: Account,
    /// Which toner.
    pub toner: TonerCode,
    /// How much, in micrograms.
    pub micrograms: i64,
}

/// A mass that the book cannot keep: it is no whole number of micrograms, or too large for one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[error("{0} g is not a whole number of micrograms, so the book cannot keep it")]
pub struct NotWhole(pub Grams);

/// What an event does to the accounts, from the mix as it stood before the event.
///
/// What is poured comes from its tin, or from a leftover, into the cup; what is drawn off and what is given up goes from
/// the cup to waste, each toner by its share. A cup that is emptied goes to the car, to its leftover and to waste, so that
/// nothing stays in it. A rebooking takes a pour back out of everywhere its paint has gone and puts the other toner's
/// there. Nothing else moves paint.
pub fn postings(before: &Session, event: &Event, mix: MixId) -> Result<Vec<Posting>, NotWhole> {
    match event {
        Event::Poured(pour) => {
            let tin = Account::tin(pour.tin.as_deref(), &pour.toner);
            moved(&tin, &Account::Cup(mix), [(pour.toner.clone(), pour.after - pour.before)])
        }
        Event::DrawnOff(drawn) => {
            let taken = drawn.before - drawn.after;
            moved(&Account::Cup(mix), &Account::DrawnOff, before.split(taken))
        }
        Event::Abandoned { reason } => {
            let waste = Account::Abandoned(clean(reason).trim().to_owned());
            moved(&Account::Cup(mix), &waste, before.split(before.holds()))
        }
        Event::LeftoverAdded(added) => {
            moved(&Account::leftover(&added.from), &Account::Cup(mix), added.parts.iter().cloned())
        }
        Event::Emptied(emptied) => {
            let mut all = Vec::new();
            for (place, parts) in places(emptied, mix).iter().zip(before.fates(emptied)) {
                all.extend(moved(&Account::Cup(mix), place, parts)?);
            }
            Ok(all)
        }
        Event::Rebooked(was) => {
            let Some(pour) = before.pours().get(was.pour) else { return Ok(Vec::new()) };
            let (old, new) = (
                Account::tin(pour.tin.as_deref(), &pour.toner),
                Account::tin(was.tin.as_deref(), &was.toner),
            );
            if pour.toner == was.toner {
                return moved(&old, &new, [(was.toner.clone(), -pour.poured)]);
            }
            let mut gone = vec![(Account::Cup(mix), pour.left), (Account::DrawnOff, pour.drawn())];
            if let Some(emptied) = before.emptied() {
                let Fate { sprayed, kept, thrown } = pour.fate;
                gone.extend(places(emptied, mix).into_iter().zip([sprayed, kept, thrown]));
            }
            let mut all = Vec::new();
            for (place, mass) in &gone {
                all.extend(moved(place, &old, [(pour.toner.clone(), *mass)])?);
            }
            for (place, mass) in &gone {
                all.extend(moved(&new, place, [(was.toner.clone(), *mass)])?);
            }
            Ok(all)
        }
        _ => Ok(Vec::new()),
    }
}

/// Where a cup is emptied to: what was sprayed, what was kept, what was thrown away.
fn places(emptied: &Emptied, mix: MixId) -> [Account; 3] {
    let reason = emptied.reason.as_deref().unwrap_or_default();
    [Account::car(emptied.job.as_deref()), Account::Leftover(mix), Account::left_thrown(reason)]
}

/// The postings of masses that go from one account to another; nothing for a mass of nothing.
pub fn moved(
    from: &Account,
    to: &Account,
    what: impl IntoIterator<Item = (TonerCode, Grams)>,
) -> Result<Vec<Posting>, NotWhole> {
    let mut postings = Vec::new();
    for (toner, mass) in what {
        let whole = |mass: Grams| {
            mass.micrograms().filter(|whole| Grams::from_micrograms(*whole) == mass).ok_or(NotWhole(mass))
        };
        let into = whole(mass)?;
        let out = whole(-mass)?;
        if into != 0 {
            postings.push(Posting { account: from.clone(), toner: toner.clone(), micrograms: out });
            postings.push(Posting { account: to.clone(), toner, micrograms: into });
        }
    }
    Ok(postings)
}

/// A toner of which the postings do not sum to zero, and what they sum to in micrograms; none if all do.
pub fn imbalance(postings: &[Posting]) -> Option<(&TonerCode, i128)> {
    let mut sums = BTreeMap::<_, i128>::new();
    for posting in postings {
        let sum = sums.entry(&posting.toner).or_default();
        // Cannot saturate: an i128 holds the sum of more i64s than a machine has memory for.
        *sum = sum.saturating_add(i128::from(posting.micrograms));
    }
    sums.into_iter().find(|(_, sum)| *sum != 0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::Ids;
    use crate::book::testing::{grams, muddle, start};
    use crate::mix::{Drawn, How, Phase, Pour};
    use crate::units::Stamp;
    use proptest::prelude::*;

    fn mix_id() -> MixId {
        Ids::counted(1).mix(Stamp(0))
    }

    fn poured(toner: &str, tin: Option<&str>, before: &str, after: &str) -> Event {
        let pour = Pour {
            toner: TonerCode::new(toner),
            tin: tin.map(str::to_owned),
            before: grams(before),
            after: grams(after),
            how: How::Scale,
        };
        Event::Poured(pour)
    }

    fn texts(session: &Session, event: &Event) -> Vec<String> {
        let cup = Account::Cup(mix_id()).to_string();
        postings(session, event, mix_id())
            .unwrap()
            .iter()
            .map(|p| format!("{} {} {}", p.account.to_string().replace(&cup, "cup"), p.toner, p.micrograms))
            .collect()
    }

    #[test]
    fn a_pour_a_draw_off_and_giving_up() {
        let mut session = Session::begin(start()).unwrap();
        let first = poured("A", Some("24-031"), "0", "30.1");
        assert_eq!(texts(&session, &first), ["tin:24-031 A -30100000", "cup A 30100000"]);
        session.apply(&first).unwrap();
        let second = poured("B", None, "30.1", "40.1");
        assert_eq!(texts(&session, &second), ["tin?:B B -10000000", "cup B 10000000"]);
        session.apply(&second).unwrap();
        let drawn = Event::DrawnOff(Drawn { before: grams("40.1"), after: grams("36.09"), how: How::Scale });
        assert_eq!(
            texts(&session, &drawn),
            ["cup A -3010000", "waste:drawn-off A 3010000", "cup B -1000000", "waste:drawn-off B 1000000"]
        );
        session.apply(&drawn).unwrap();
        let abandoned = Event::Abandoned { reason: " wrong\u{7} colour ".into() };
        assert_eq!(
            texts(&session, &abandoned),
            [
                "cup A -27090000",
                "waste:abandoned:wrong colour A 27090000",
                "cup B -9000000",
                "waste:abandoned:wrong colour B 9000000"
            ]
        );
        assert_eq!(texts(&session, &Event::SetAside), [""; 0]);
    }

    /// What was drawn off before it was noticed was the other toner too.
    #[test]
    fn a_rebooking_reaches_everywhere_the_paint_has_gone() {
        let mut session = Session::begin(start()).unwrap();
        session.apply(&poured("A", Some("24-031"), "0", "40")).unwrap();
        session
            .apply(&Event::DrawnOff(Drawn { before: grams("40"), after: grams("30"), how: How::Scale }))
            .unwrap();
        let was = session.rebook(0, TonerCode::new("B"), Some("23-7".to_owned())).unwrap();
        assert_eq!(
            texts(&session, &was),
            [
                "cup A -30000000",
                "tin:24-031 A 30000000",
                "waste:drawn-off A -10000000",
                "tin:24-031 A 10000000",
                "tin:23-7 B -30000000",
                "cup B 30000000",
                "tin:23-7 B -10000000",
                "waste:drawn-off B 10000000",
            ]
        );
        let tin = session.rebook(0, TonerCode::new("A"), None).unwrap();
        assert_eq!(texts(&session, &tin), ["tin:24-031 A 40000000", "tin?:A A -40000000"]);
    }

    /// 100 g of two toners, 20 g of which are left: 12 g kept, 8 g thrown away.
    fn emptied(session: &mut Session) -> Event {
        session.apply(&poured("A", Some("24-031"), "0", "75")).unwrap();
        session.apply(&poured("B", None, "75", "100")).unwrap();
        Event::Emptied(Emptied {
            before: grams("100"),
            left: grams("20"),
            how: How::Scale,
            kept: grams("12"),
            use_by: None,
            reason: Some(" too\u{7} little ".into()),
            job: Some("R-7".into()),
            thinned: None,
        })
    }

    const EMPTIED: [&str; 12] = [
        "cup A -60000000",
        "car:R-7 A 60000000",
        "cup B -20000000",
        "car:R-7 B 20000000",
        "cup A -9000000",
        "leftover A 9000000",
        "cup B -3000000",
        "leftover B 3000000",
        "cup A -6000000",
        "waste:left:too little A 6000000",
        "cup B -2000000",
        "waste:left:too little B 2000000",
    ];

    #[test]
    fn an_emptied_cup_goes_to_the_car_the_leftover_and_waste() {
        let mut session = Session::begin(start()).unwrap();
        let event = emptied(&mut session);
        let leftover = Account::Leftover(mix_id()).to_string();
        let told: Vec<_> =
            texts(&session, &event).iter().map(|text| text.replace(&leftover, "leftover")).collect();
        assert_eq!(told, EMPTIED);
    }

    #[test]
    fn a_leftover_goes_from_its_place_into_the_cup() {
        let session = Session::begin(start()).unwrap();
        let old = Ids::counted(9).mix(Stamp(0)).to_string();
        let made_of = [(TonerCode::new("A"), grams("9")), (TonerCode::new("Z"), grams("3"))];
        let event = session.take_leftover(&old, &made_of, grams("4"), How::Scale).unwrap();
        let from = |text: &str| text.replace("OLD", &old);
        assert_eq!(
            texts(&session, &event),
            [
                from("leftover:OLD A -3000000"),
                "cup A 3000000".into(),
                from("leftover:OLD Z -1000000"),
                "cup Z 1000000".into()
            ]
        );
    }

    /// After it was sprayed, the first pour is found to have been another toner: it is so in the car, in the leftover
    /// and in the waste.
    #[test]
    fn a_rebooking_reaches_what_was_sprayed_and_kept() {
        let mut session = half_kept();
        let was = session.rebook(0, TonerCode::new("C"), None).unwrap();
        let leftover = Account::Leftover(mix_id()).to_string();
        let told: Vec<_> =
            texts(&session, &was).iter().map(|text| text.replace(&leftover, "leftover")).collect();
        assert_eq!(told.len(), 8, "{told:?}");
        let sums = |toner: &str| {
            let of = |text: &&String| text.split(' ').nth(1) == Some(toner);
            told.iter()
                .filter(of)
                .map(|text| text.split(' ').nth(2).unwrap().parse::<i64>().unwrap())
                .collect::<Vec<_>>()
        };
        let whole: i64 = session.pours()[0].poured.micrograms().unwrap();
        for (toner, sign) in [("A", -1), ("C", 1)] {
            assert_eq!(sums(toner).iter().sum::<i64>(), 0);
            let places =
                told.iter().filter(|text| !text.starts_with("tin") && text.split(' ').nth(1) == Some(toner));
            let moved: i64 = places.map(|text| text.split(' ').nth(2).unwrap().parse::<i64>().unwrap()).sum();
            assert_eq!(moved, sign * whole);
        }
        assert!(
            told.iter().any(|text| text.starts_with("car:R-7 C "))
                && told.iter().any(|text| text.starts_with("leftover C "))
        );
        session.apply(&was).unwrap();
        assert_eq!(session.pours()[0].toner, TonerCode::new("C"));
    }

    /// A whole mix, of which half was sprayed and half kept.
    fn half_kept() -> Session {
        let mut session = Session::fold(&crate::book::testing::whole()).unwrap();
        let ending = crate::mix::Ending {
            left: session.holds().times(crate::units::Decimal::new(5, 1)),
            keep: true,
            job: Some("R-7".into()),
            ..Default::default()
        };
        session.apply(&session.empty(ending, How::Scale).unwrap()).unwrap();
        session
    }

    #[test]
    fn a_mass_between_two_micrograms_is_refused() {
        let session = Session::begin(start()).unwrap();
        let fine = poured("A", None, "0", "1.0000005");
        assert_eq!(postings(&session, &fine, mix_id()), Err(NotWhole(grams("1.0000005"))));
        let huge = Grams::new(crate::units::Decimal::MAX);
        let pour = Event::Poured(Pour {
            toner: TonerCode::new("A"),
            tin: None,
            before: Grams::ZERO,
            after: huge,
            how: How::Scale,
        });
        assert_eq!(postings(&session, &pour, mix_id()), Err(NotWhole(huge)));
    }

    #[test]
    fn an_imbalance_is_found_by_toner() {
        let posting = |toner, micrograms| Posting {
            account: Account::DrawnOff,
            toner: TonerCode::new(toner),
            micrograms,
        };
        assert_eq!(imbalance(&[]), None);
        assert_eq!(imbalance(&[posting("A", 5), posting("A", -5)]), None);
        let crossed = [posting("A", 5), posting("B", -5)];
        assert_eq!(imbalance(&crossed), Some((&TonerCode::new("A"), 5)));
        let huge = [posting("A", i64::MAX), posting("A", i64::MAX)];
        assert_eq!(imbalance(&huge), Some((&TonerCode::new("A"), 2 * i128::from(i64::MAX))));
    }

    proptest! {
        #[test]
        fn postings_sum_to_zero_and_the_cup_balance_is_what_the_cup_holds(
            seed in prop::collection::vec((any::<u8>(), 0_u16..400), 0..40),
        ) {
            let events = muddle(&seed);
            let mut session = Session::fold(&events[..1]).unwrap();
            let mut cup = BTreeMap::<TonerCode, i64>::new();
            let mut tins = BTreeMap::<(Account, TonerCode), i64>::new();
            for event in &events[1..] {
                let postings = postings(&session, event, mix_id()).unwrap();
                prop_assert_eq!(imbalance(&postings), None);
                for posting in postings {
                    if matches!(posting.account, Account::Tin(_) | Account::UnknownTin(_)) {
                        let place = (posting.account.clone(), posting.toner.clone());
                        *tins.entry(place).or_default() += posting.micrograms;
                    }
                    if posting.account == Account::Cup(mix_id()) {
                        *cup.entry(posting.toner).or_default() += posting.micrograms;
                    }
                }
                session.apply(event).unwrap();
                let holds = match session.phase() {
                    Phase::Abandoned => Grams::ZERO,
                    _ if session.emptied().is_some() => Grams::ZERO,
                    _ => session.holds(),
                };
                prop_assert_eq!(Grams::from_micrograms(cup.values().sum()), holds);
            }
            // However often it was put right, each tin has given what is booked to it in the end, and no more.
            let mut given = BTreeMap::<(Account, TonerCode), Grams>::new();
            for pour in session.pours() {
                let tin = Account::tin(pour.tin.as_deref(), &pour.toner);
                *given.entry((tin, pour.toner.clone())).or_insert(Grams::ZERO) += pour.poured;
            }
            tins.retain(|_, micrograms| *micrograms != 0);
            let taken: BTreeMap<_, _> =
                tins.into_iter().map(|(place, micrograms)| (place, -Grams::from_micrograms(micrograms))).collect();
            prop_assert_eq!(taken, given);
            if session.phase() != Phase::Abandoned && session.emptied().is_none() {
                for (line, toner) in session.recipe().lines().iter().enumerate() {
                    let booked = cup.get(&toner.toner).copied().unwrap_or(0);
                    prop_assert_eq!(Grams::from_micrograms(booked), session.poured(line));
                }
            }
        }
    }
}
