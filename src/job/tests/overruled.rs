//! What is refused and can be overruled with a reason: the order of the layers, their times, the count of coats, other mixes;
//! and what was said by mistake and is taken back.

use super::*;
use crate::job::card::{AtAngle, Light, Reading, Sight, View};

const BAKE: Timer = Timer::Bake { layer: Role::Ground };
const BEFORE_NEXT: Timer = Timer::BeforeNext { layer: Role::Ground };

/// A ground coat of two coats with a bake, and a clear; the clear follows after a quarter of an hour.
fn two_layers(bake: Option<u32>, before_next: Option<u32>) -> Rig {
    let ground =
        LayerPlan { coats: Some(2), flash_off: Some(5), bake, before_next, ..LayerPlan::of(Role::Ground) };
    let layers = vec![ground, LayerPlan { coats: Some(2), ..LayerPlan::of(Role::Clear) }];
    let opened = JobEvent::Opened(Opening { layers, ..opening() });
    let mut rig = Rig(Job::open(minute(0), &opened).unwrap());
    rig.at(0, &joined(Role::Ground, 1));
    rig.at(0, &joined(Role::Clear, 2));
    rig
}

fn done(layer: Role) -> JobEvent {
    JobEvent::LayerFinished { layer }
}

fn baked(from: i64) -> JobEvent {
    JobEvent::TimerStarted { timer: BAKE, from: minute(from), minutes: 10 }
}

fn sprayed(rig: &mut Rig, layer: Role, number: u32, at: i64) {
    rig.at(at, &coat(layer, number, minute(at), None));
}

#[test]
fn a_layer_is_done_with_its_coats_and_its_bake_or_with_a_reason() {
    let mut rig = two_layers(Some(10), None);
    let said = |rig: &Rig, at| rig.refused(at, &done(Role::Ground)).to_string();
    let end = ". See to that first, or say why it is left so";
    assert_eq!(said(&rig, 1), format!("the ground coat is not sprayed{end}"));
    sprayed(&mut rig, Role::Ground, 1, 1);
    assert_eq!(said(&rig, 2), format!("the ground coat has 1 of 2 coats{end}"));
    let mut left = Rig(rig.0.clone());
    sprayed(&mut rig, Role::Ground, 2, 8);
    assert_eq!(said(&rig, 9), format!("the ground coat was not baked for 10 min{end}"));
    rig.at(20, &baked(20));
    assert_eq!(
        said(&rig, 22),
        "the bake of the ground coat is not over: 8 min left. Wait for it, or say why not"
    );
    // What it lacks is asked for one after the other, each with its own reason.
    for what in [Lacks::Coats, Lacks::Bake] {
        let refusal = left.refused(9, &done(Role::Ground));
        let overruled = refusal.overruled("the lamp is broken").unwrap();
        assert!(matches!(&overruled, JobEvent::LayerOverruled { lacks, .. } if *lacks == what));
        let silent = refusal.overruled("").unwrap();
        assert_eq!(left.refused(9, &silent), Refusal::NoReason);
        left.at(9, &overruled);
    }
    assert_eq!(left.next(9), "look at the ground coat, and say that it is done");
    left.at(9, &done(Role::Ground));
    let reasons = left.0.reasons();
    let words: Vec<_> = reasons.iter().map(|one| (one.what.as_str(), one.why.as_str())).collect();
    assert_eq!(
        words,
        [
            ("the ground coat is left with other coats than planned", "the lamp is broken"),
            ("the ground coat is left without its bake", "the lamp is broken"),
        ]
    );
    rig.at(30, &done(Role::Ground));
    assert_eq!(rig.next(30), "spray coat 1 of 2 of the clear");
    // It was said by mistake: the layer is open again, and so is what it lacks.
    let opened = JobEvent::LayerReopened { layer: Role::Ground };
    left.at(31, &opened);
    assert_eq!(
        (left.next(31), left.0.reasons()),
        ("spray coat 2 of 2 of the ground coat".to_owned(), vec![])
    );
    assert_eq!(left.refused(31, &opened), Refusal::NotFinished(Role::Ground));
    rig.at(31, &opened);
    assert_eq!(rig.next(31), "look at the ground coat, and say that it is done");
}

#[test]
fn a_layer_lies_on_one_that_has_its_coats_and_its_bake() {
    let mut rig = two_layers(Some(10), None);
    let clear = |at| coat(Role::Clear, 1, minute(at), None);
    assert!(rig.refused(1, &clear(1)).to_string().starts_with("the ground coat is not sprayed"));
    sprayed(&mut rig, Role::Ground, 1, 1);
    assert!(rig.refused(2, &clear(2)).to_string().starts_with("the ground coat has 1 of 2 coats"));
    sprayed(&mut rig, Role::Ground, 2, 8);
    let unbaked = rig.refused(20, &clear(20));
    assert!(unbaked.to_string().starts_with("the ground coat was not baked for 10 min"));
    let mut left = Rig(rig.0.clone());
    left.at(20, &unbaked.overruled("wet on wet, as the data sheet has it").unwrap());
    assert_eq!(left.at(20, &clear(20)), Vec::<String>::new());
    // A bake before the last coat is none of that coat.
    rig.at(20, &baked(7));
    assert_eq!(rig.refused(20, &clear(20)), unbaked);
    assert_eq!(rig.next(20), "bake the ground coat for 10 min");
    rig.at(20, &baked(20));
    assert!(matches!(rig.refused(25, &clear(25)), Refusal::NotOver { timer: BAKE, .. }));
    // Nobody has to say that the layer below is done: it has all that was planned.
    rig.at(30, &clear(30));
    // Where nobody said how many coats it gets, somebody has to.
    let layers = vec![LayerPlan::of(Role::Ground), LayerPlan::of(Role::Clear)];
    let opened = JobEvent::Opened(Opening { layers, ..opening() });
    let mut rig = Rig(Job::open(minute(0), &opened).unwrap());
    sprayed(&mut rig, Role::Ground, 1, 1);
    assert!(rig.refused(9, &clear(9)).to_string().starts_with("the ground coat was not said to be done"));
    rig.at(9, &done(Role::Ground));
    rig.at(9, &clear(9));
}

#[test]
fn the_next_layer_waits_from_the_last_coat_and_the_next_coat_does_not() {
    let mut rig = two_layers(None, Some(15));
    rig.at(1, &coat(Role::Ground, 1, minute(1), Some(5)));
    assert_eq!(rig.next(6), "spray coat 2 of 2 of the ground coat");
    rig.at(6, &coat(Role::Ground, 2, minute(6), Some(5)));
    rig.at(7, &done(Role::Ground));
    let clear = |at| coat(Role::Clear, 1, minute(at), None);
    // The larger of the two counts.
    let time = Countdown::new(minute(6), 15);
    for at in [7, 12, 20] {
        assert_eq!(rig.0.waits_for(Role::Clear, minute(at)), Some((BEFORE_NEXT, time)));
        assert_eq!(rig.0.waits_for(Role::Ground, minute(at)).is_some(), at < 11);
    }
    assert_eq!(rig.next(19), "wait for the time before the next layer on the ground coat: 2 min left");
    assert_eq!(rig.next(21), "spray coat 1 of 2 of the clear");
    let early = rig.refused(12, &clear(12));
    rig.at(12, &early.overruled("the panel is warm").unwrap());
    assert_eq!(rig.0.waits_for(Role::Clear, minute(12)), None);
    rig.at(12, &clear(12));
}

#[test]
fn only_the_booths_clearance_is_stopped_without_a_reason() {
    let mut rig = two_layers(None, None);
    let flash_off = Timer::FlashOff { layer: Role::Ground };
    rig.at(1, &coat(Role::Ground, 1, minute(1), Some(5)));
    let refusal = rig.refused(2, &JobEvent::TimerStopped { timer: flash_off });
    assert!(matches!(refusal, Refusal::NotOver { timer, .. } if timer == flash_off));
    rig.at(2, &JobEvent::TimerStarted { timer: Timer::Clearance, from: minute(2), minutes: 5 });
    rig.at(3, &JobEvent::TimerStopped { timer: Timer::Clearance });
    // A book in which one was stopped plainly is read as it was written.
    rig.0.apply(minute(3), &JobEvent::TimerStopped { timer: flash_off });
    assert_eq!(rig.next(3), "spray coat 2 of 2 of the ground coat");
}

#[test]
fn a_coat_that_was_counted_by_mistake_is_taken_back() {
    let mut rig = two_layers(None, Some(15));
    let back = |layer, coat| JobEvent::CoatTakenBack { layer, coat, reason: "pressed twice".into() };
    assert_eq!(rig.refused(0, &back(Role::Ground, 1)), Refusal::NotLast { layer: Role::Ground, coat: 1 });
    rig.at(1, &coat(Role::Ground, 1, minute(1), Some(5)));
    rig.at(6, &coat(Role::Ground, 2, minute(6), Some(5)));
    let first = back(Role::Ground, 1);
    assert_eq!(
        rig.refused(7, &first).to_string(),
        "coat 1 of the ground coat is not its last: only the last is taken back"
    );
    let silent = JobEvent::CoatTakenBack { layer: Role::Ground, coat: 2, reason: String::new() };
    assert_eq!(rig.refused(7, &silent), Refusal::NoReason);
    rig.at(7, &back(Role::Ground, 2));
    assert_eq!(rig.next(7), "spray coat 2 of 2 of the ground coat", "its flash-off is none any more");
    assert_eq!(rig.0.time(BEFORE_NEXT).unwrap().countdown, Countdown::new(minute(1), 15));
    assert_eq!(rig.0.reasons()[0].what, "coat 2 of the ground coat is taken back");
    rig.at(8, &first);
    assert_eq!(rig.0.standing(Role::Ground).unwrap().coats, []);
    assert_eq!((rig.0.time(BEFORE_NEXT), rig.0.running(minute(8))), (None, vec![]));
    // Of a layer that is done nothing is taken back.
    rig.at(9, &coat(Role::Ground, 1, minute(9), None));
    rig.at(15, &coat(Role::Ground, 2, minute(15), None));
    rig.at(15, &done(Role::Ground));
    assert_eq!(rig.refused(16, &back(Role::Ground, 2)), Refusal::Finished(Role::Ground));
}

#[test]
fn a_reading_that_was_mistyped_is_withdrawn() {
    let mut rig = Rig::new();
    let measured = |text: &str| AtAngle::parse(text).unwrap();
    let sight = |view, is| Sight::parse(view, Light::Sun, is).unwrap();
    for (card, stray) in [(1, None), (2, Some("110: car 50 0 0 card 90 0 0"))] {
        rig.at(1, &JobEvent::CardMade(CardMade::of(card, Role::Pearl, card)));
        let at = ["45: car 50 0 0 card 51 0 0"].into_iter().chain(stray).map(measured).collect();
        let sights = vec![sight(View::Face, "lighter"), sight(View::SideTone, "match")];
        rig.at(1, &JobEvent::CardCompared(CardCompared { measured: at, sights, ..CardCompared::of(card) }));
    }
    let worst = |rig: &Rig| rig.0.comparisons()[0].1.cards[1].worst.unwrap().angle;
    assert_eq!(worst(&rig), 110);
    let withdrawn = |card, reading| JobEvent::CardWithdrawn(CardWithdrawn { card, reading });
    let angle = Reading::Measured { angle: 110 };
    assert_eq!(rig.refused(2, &withdrawn(1, angle)).to_string(), "card 1 has nothing from 110° to withdraw");
    assert_eq!(rig.refused(2, &withdrawn(9, angle)), Refusal::NoCard(9));
    rig.at(2, &withdrawn(2, angle));
    assert_eq!(worst(&rig), 45);
    rig.at(3, &withdrawn(2, Reading::Seen { view: View::Face, light: Light::Sun }));
    let seen = |card: u32| rig.0.card(card).unwrap().sights.len();
    assert_eq!((seen(1), seen(2)), (2, 1));
    // It can be measured anew.
    rig.at(
        4,
        &JobEvent::CardCompared(CardCompared {
            measured: vec![measured("110: car 50 0 0 card 50 0 0")],
            ..CardCompared::of(2)
        }),
    );
    assert!(rig.0.card(2).unwrap().has(angle));
}

#[test]
fn a_count_is_a_cards_or_lies_between_two_or_has_a_reason() {
    let mut rig = Rig::new();
    let choose = |coats, card, between| {
        JobEvent::CardChosen(CardChosen { card, between, ..CardChosen::of(Role::Pearl, coats) })
    };
    let refusal = rig.refused(1, &choose(7, None, None));
    assert_eq!(refusal.to_string(), "no card of the pearl coat shows 7. Choose a card, or say why so many");
    for (card, coats) in [(1, 2), (2, 4)] {
        rig.at(1, &JobEvent::CardMade(CardMade::of(card, Role::Pearl, coats)));
    }
    let counted = |rig: &Rig| {
        let standing = rig.0.standing(Role::Pearl).unwrap();
        (standing.wanted, standing.counted.words().unwrap_or_default(), standing.counted.is_by_cards())
    };
    let other = rig.refused(1, &choose(3, Some(1), None)).to_string();
    assert!(other.starts_with("card 1 has 2 of the pearl coat and not 3"), "{other}");
    // Between cards that nobody held against the car nothing lies.
    assert_eq!(rig.0.between(Role::Pearl, 3), None);
    let not = rig.refused(1, &choose(3, None, Some((1, 2)))).to_string();
    assert!(not.starts_with("3 does not lie between cards 1 and 2"), "{not}");
    for card in [1, 2] {
        rig.at(2, &JobEvent::CardCompared(CardCompared::seen(card, "not quite")));
    }
    assert_eq!((rig.0.between(Role::Pearl, 3), rig.0.between(Role::Pearl, 5)), (Some((1, 2)), None));
    let choice = |rig: &Rig, coats, named| JobEvent::CardChosen(rig.0.choice(Role::Pearl, coats, named));
    assert_eq!(choice(&rig, 3, None), choose(3, None, Some((1, 2))));
    assert_eq!(choice(&rig, 3, Some(1)), choose(3, Some(1), Some((1, 2))));
    assert_eq!(
        (choice(&rig, 4, None), choice(&rig, 5, None)),
        (choose(4, Some(2), None), choose(5, None, None))
    );
    rig.at(2, &choose(3, None, Some((1, 2))));
    assert_eq!(counted(&rig), (Some(3), "between cards 1 and 2".to_owned(), true));
    assert!(matches!(rig.refused(2, &choose(5, None, Some((1, 2)))), Refusal::NotShown { .. }));
    rig.at(3, &choose(4, Some(2), None));
    assert_eq!(counted(&rig), (Some(4), "card 2".to_owned(), true));
    rig.at(4, &refusal.overruled("the customer wants it so").unwrap());
    rig.at(4, &choose(7, None, None));
    assert_eq!(counted(&rig), (Some(7), "no card: the customer wants it so".to_owned(), false));
    // A reason is one for one count.
    assert!(matches!(rig.refused(5, &choose(6, None, None)), Refusal::NotShown { .. }));
    // An older book has a count without either.
    let mut old = Rig::new();
    old.0.apply(minute(1), &choose(3, None, None));
    assert_eq!(counted(&old), (Some(3), "no card".to_owned(), false));
}

#[test]
fn a_mix_of_something_else_needs_a_reason_and_one_of_another_layer_never_fits() {
    let mut rig = Rig::new();
    let of = |layer| Joined { mix: mix(7), layer, for_cards: false, estimate: None };
    let own = Joining {
        role: Some(Role::Ground),
        colour: Some("PB-3140"),
        variant: Some("standard"),
        emptied: None,
        of: Some("26-118 tailgate"),
    };
    assert_eq!(rig.0.may_join(&of(Role::Ground), own), Ok(()));
    assert_eq!(rig.0.may_join(&of(Role::Clear), Joining::default()), Ok(()), "nothing is known of it");
    let never = rig.0.may_join(&of(Role::Clear), own).unwrap_err();
    assert_eq!(never.to_string(), "that mix was weighed as the ground coat, and cannot be the clear");
    assert_eq!(never.overruled("it is all there is"), None);
    let clear = Joining { role: Some(Role::Clear), colour: Some("PB-1"), ..own };
    assert_eq!(rig.0.may_join(&of(Role::Clear), clear), Ok(()), "a clear has no colour");
    for (mix, said) in [
        (
            Joining { colour: Some("PB-1"), ..own },
            "that mix is PB-1 (standard), and the job is PB-3140 (standard)",
        ),
        (Joining { variant: Some("warmer"), ..own }, "that mix is PB-3140 (warmer)"),
        (Joining { emptied: Some(minute(-1)), ..own }, "emptied before this job was opened"),
        (Joining { of: Some("26-119"), ..own }, "that mix is of job 26-119, which is open"),
    ] {
        let refusal = rig.0.may_join(&of(Role::Ground), mix).unwrap_err();
        assert!(refusal.to_string().contains(said), "{refusal}");
        let mut told = Rig(rig.0.clone());
        told.at(1, &refusal.overruled("the same tint, by eye").unwrap());
        assert_eq!(told.0.may_join(&of(Role::Ground), mix), Ok(()));
        assert_eq!(told.0.reasons(), [], "it is not the job's yet");
        told.at(1, &JobEvent::MixJoined(of(Role::Ground)));
        assert_eq!(told.0.reasons()[0].why, "the same tint, by eye");
    }
    let emptied_since = Joining { emptied: Some(minute(1)), ..own };
    assert_eq!(rig.0.may_join(&of(Role::Ground), emptied_since), Ok(()));
    rig.at(1, &JobEvent::MixJoined(of(Role::Ground)));
}

#[test]
fn what_runs_is_said_when_the_job_is_closed() {
    let mut rig = two_layers(Some(10), None);
    sprayed(&mut rig, Role::Ground, 1, 1);
    sprayed(&mut rig, Role::Ground, 2, 2);
    rig.at(3, &baked(3));
    assert_eq!(
        rig.at(5, &JobEvent::Closed),
        ["2 layers are not done", "the bake of the ground coat still runs: 8 min left"]
    );
    assert_eq!(rig.0.running(minute(5)), [(BAKE, Countdown::new(minute(3), 10))]);
}
