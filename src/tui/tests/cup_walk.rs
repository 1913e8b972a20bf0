//! Whatever is done with the cup, no gram is booked that nobody answered for.

use super::cup::{ASKED, OFF, nothing_booked, place, question};
use super::cup_meanwhile::choose;
use super::rig::{CUP, DWELL, Rig, g};
use crate::mix::{Phase, Way};
use crate::scale::LinkState;
use crate::tui::bench::{Answer, Place};
use crate::units::{Decimal, Division, Grams};
use proptest::prelude::*;

/// What a hand does with the cup, in tenths of a gram.
#[derive(Clone, Debug)]
enum Does {
    /// Pours with the cup on the scale, and lets it stand.
    Pours(i64),
    /// Lifts the cup and changes what is in it by so much before it is back; the pan keeps so much.
    Lifts(i64, i64),
    /// The cable is out while what is in the cup changes by so much.
    Unplugs(i64),
    /// Answers, if it is asked: with that answer if there is one.
    Answers(usize),
    /// Presses a key that is no answer.
    Key(&'static str),
}

fn does() -> impl Strategy<Value = Does> {
    let changes = || prop_oneof![2 => Just(0_i64), 2 => -1_i64..=1, 3 => -60_i64..60];
    prop_oneof![
        3 => (1_i64..400).prop_map(Does::Pours),
        3 => (changes(), prop_oneof![3 => Just(0_i64), 1 => -5_i64..8]).prop_map(|(by, pan)| Does::Lifts(by, pan)),
        1 => changes().prop_map(Does::Unplugs),
        3 => (0_usize..4).prop_map(Does::Answers),
        2 => prop_oneof![Just("d"), Just("n"), Just("z"), Just("Up"), Just("h"), Just("o"), Just("7")]
            .prop_map(Does::Key),
    ]
}

/// The bench as it is: what is in the cup, and what the empty pan reads.
#[derive(Debug)]
struct Truth {
    in_cup: Grams,
    pan: Grams,
}

impl Truth {
    fn gross(&self) -> String {
        (g(CUP) + self.in_cup + self.pan).shown(Division::TENTH)
    }

    /// What leaves the cup leaves no more than is in it.
    fn change(&mut self, tenths: i64) {
        self.in_cup = (self.in_cup + Grams::new(Decimal::new(tenths, 1))).max(Grams::ZERO);
    }
}

/// The events that may have come of one deed.
#[track_caller]
fn only(rig: &Rig, from: usize, allowed: &[&str]) {
    for kind in &rig.kinds()[from..] {
        assert!(allowed.contains(kind), "{kind} was not said\n{}", rig.screen());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    /// Without an answer nothing is booked but a pour that was seen on the scale; with one the book and the scale
    /// agree, and the book has changed by just what was answered for.
    #[test]
    fn no_gram_is_booked_that_nobody_answered_for(all in prop::collection::vec(does(), 1..40)) {
        let mut rig = Rig::begun();
        let mut truth = Truth { in_cup: Grams::ZERO, pan: Grams::ZERO };
        for does in &all {
            let written = rig.sent.len();
            let held = rig.app.bench().unwrap().held();
            if rig.phase() == Phase::Complete {
                break;
            }
            match does {
                Does::Pours(tenths) if place(&rig) == Place::On => {
                    truth.change(*tenths);
                    rig.stand(&truth.gross(), 2 * DWELL);
                    only(&rig, written, &["mix/poured"]);
                    // What it held is what the scale showed, to a division: less than that is no pour yet, and one
                    // that creeps is not taken by itself.
                    let shown = g(&truth.gross()) - rig.session().tare();
                    let off = rig.app.bench().unwrap().held() - shown;
                    let waits = rig.phase() != Phase::Weighing || rig.app.scale.creeps();
                    prop_assert!(off.abs() <= g("0.1") || waits, "{}", rig.screen());
                }
                Does::Pours(_) => {}
                Does::Lifts(by, pan) => {
                    let pan = Grams::new(Decimal::new(*pan, 1));
                    rig.stand(&pan.shown(Division::TENTH), 2 * OFF);
                    truth.pan = pan;
                    truth.change(*by);
                    rig.stand(&truth.gross(), ASKED);
                    let off = (g(CUP) + truth.in_cup + truth.pan) - (rig.session().tare() + held);
                    let same = off.abs() <= g("0.1");
                    let drawn = off.is_negative() && rig.phase() == Phase::Drawing;
                    if !same && !drawn {
                        nothing_booked(&rig, written);
                        prop_assert!(place(&rig) != Place::On, "{}", rig.screen());
                    }
                    // The same goes on, and a pour that was about to be taken is taken then.
                    only(&rig, written, &["mix/poured", "mix/drawn-off"]);
                    prop_assert!(rig.session().holds() <= held + g("0.1"), "{}", rig.screen());
                }
                Does::Unplugs(by) => {
                    rig.state(LinkState::Lost, "the cable is out");
                    truth.change(*by);
                    rig.live();
                    rig.stand(&truth.gross(), ASKED);
                    only(&rig, written, &["mix/poured", "mix/drawn-off"]);
                    prop_assert!(rig.session().holds() <= held + g("0.1"), "{}", rig.screen());
                }
                Does::Answers(which) => {
                    let Some(asked) = question(&rig) else { continue };
                    let Some(answer) = asked.answers.get(*which).copied() else { continue };
                    let shows = g(&truth.gross());
                    rig.key(&(which + 1).to_string());
                    if answer == Answer::OtherToner {
                        rig.type_text("K05");
                        rig.key("Enter");
                        // Refused since the pour before it went over: that comes first.
                        if rig.app.prompt.is_some() {
                            break;
                        }
                    }
                    if answer == Answer::NotTheCup {
                        nothing_booked(&rig, written);
                        continue;
                    }
                    let session = rig.session();
                    prop_assert_eq!(session.tare() + session.holds(), shows, "{:?}\n{}", answer, rig.screen());
                    let by = if answer == Answer::ZeroMoved { Grams::ZERO } else { asked.off };
                    prop_assert_eq!(session.holds(), held + by);
                }
                Does::Key(key) => {
                    rig.key(key);
                    if rig.app.prompt.is_some() {
                        rig.key("Esc");
                    }
                    prop_assert!(rig.session().holds() <= held);
                }
            }
            rig.agrees_with_book();
            if matches!(rig.phase(), Phase::Over(_)) && question(&rig).is_none() {
                choose(&mut rig, Way::Leave);
            }
        }
    }
}
