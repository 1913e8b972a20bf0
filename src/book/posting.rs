//! Where the paint of one event went: what came out of which place and into which, to the microgram.

use super::{Account, MixId};
use crate::catalogue::TonerCode;
use crate::mix::{Event, Session};
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
/// Nothing but a pour, a draw-off, giving up and a rebooking moves paint; what is poured comes from its tin into the
/// cup, what is drawn off and what is given up goes from the cup to waste, each toner by its share. A rebooking takes
/// a pour back out of everywhere its paint has gone and puts the other toner's there.
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
        Event::Rebooked(was) => {
            let Some(pour) = before.pours().get(was.pour) else { return Ok(Vec::new()) };
            let (cup, drawn) = (Account::Cup(mix), Account::DrawnOff);
            let (old, new) = (
                Account::tin(pour.tin.as_deref(), &pour.toner),
                Account::tin(was.tin.as_deref(), &was.toner),
            );
            if pour.toner == was.toner {
                return moved(&old, &new, [(was.toner.clone(), -pour.poured)]);
            }
            let wasted = pour.poured - pour.left;
            let mut all = moved(&cup, &old, [(pour.toner.clone(), pour.left)])?;
            all.extend(moved(&drawn, &old, [(pour.toner.clone(), wasted)])?);
            all.extend(moved(&new, &cup, [(was.toner.clone(), pour.left)])?);
            all.extend(moved(&new, &drawn, [(was.toner.clone(), wasted)])?);
            Ok(all)
        }
        _ => Ok(Vec::new()),
    }
}

fn moved(
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
            if session.phase() != Phase::Abandoned {
                for (line, toner) in session.recipe().lines().iter().enumerate() {
                    let booked = cup.get(&toner.toner).copied().unwrap_or(0);
                    prop_assert_eq!(Grams::from_micrograms(booked), session.poured(line));
                }
            }
        }
    }
}
