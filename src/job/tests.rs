//! A job from its opening to its close, what is refused on the way, and what holds whatever happens.

use super::*;
use crate::book::{By, Ids, MixId, Opened, SqliteStore, Store as _};
use crate::catalogue::{ColourCode, Finish, Role};
use crate::units::{Decimal, Millilitres, Stamp};
use proptest::prelude::*;

mod overruled;

const MINUTE: i64 = 60_000_000;
const BEGAN: i64 = 1_750_000_000_000_000;

/// So many minutes after it was opened.
fn minute(minutes: i64) -> Stamp {
    Stamp(BEGAN + minutes * MINUTE)
}

fn mix(number: u64) -> MixId {
    Ids::counted(number).mix(Stamp(BEGAN))
}

fn opening() -> Opening {
    let layer = |role, coats, flash_off| LayerPlan { coats, flash_off, ..LayerPlan::of(role) };
    Opening {
        name: "26-118 tailgate".into(),
        vehicle: None,
        colour: ColourCode::new("PB-3140"),
        variant: "standard".into(),
        finish: Finish::ThreeStage,
        panels: vec![Panel { name: "tailgate".into(), area: Some(Decimal::new(9, 1)) }],
        layers: vec![
            LayerPlan { bake: Some(10), before_next: Some(3), ..layer(Role::Ground, Some(2), Some(5)) },
            LayerPlan { asked: Some(Millilitres::new(350.into())), ..layer(Role::Pearl, None, Some(5)) },
            layer(Role::Clear, None, None),
        ],
    }
}

fn joined(layer: Role, number: u64) -> JobEvent {
    JobEvent::MixJoined(Joined { mix: mix(number), layer, for_cards: false, estimate: None })
}

fn coat(layer: Role, coat: u32, at: Stamp, flash_off: Option<u32>) -> JobEvent {
    JobEvent::CoatSprayed(Coat { layer, coat, at, flash_off })
}

fn chosen(layer: Role, coats: u32) -> JobEvent {
    JobEvent::CardChosen(CardChosen::of(layer, coats))
}

/// A job as it goes, each step written only if the job takes it.
struct Rig(Job);

impl Rig {
    fn new() -> Self {
        Self(Job::open(minute(0), &JobEvent::Opened(opening())).unwrap())
    }

    fn at(&mut self, minutes: i64, event: &JobEvent) -> Vec<String> {
        let warnings = self.0.may(event, minute(minutes)).unwrap();
        self.0.apply(minute(minutes), event);
        warnings.into_iter().map(Warning::words).collect()
    }

    fn refused(&self, minutes: i64, event: &JobEvent) -> Refusal {
        self.0.may(event, minute(minutes)).unwrap_err()
    }

    fn next(&self, minutes: i64) -> String {
        let now = minute(minutes);
        self.0.next(now).words(now, |volume| format!("{volume} mL"))
    }
}

#[test]
fn three_stages_from_the_card_to_the_close() {
    let mut rig = Rig::new();
    assert_eq!(rig.next(0), "make spray-out cards of the pearl coat, one for each count of coats");
    for (card, coats) in [(1, 2), (2, 3)] {
        let made = CardMade::of(card, Role::Pearl, coats);
        rig.at(1, &JobEvent::CardMade(made));
    }
    assert_eq!(rig.0.next_card(), 3);
    assert_eq!(rig.next(1), "hold the cards against the car and choose the coats of the pearl coat");
    rig.at(2, &JobEvent::CardCompared(CardCompared::seen(2, "side tone, sun: match")));
    rig.at(3, &JobEvent::CardChosen(CardChosen { card: Some(2), ..CardChosen::of(Role::Pearl, 3) }));
    assert_eq!(rig.0.card(2).unwrap().seen, [(minute(2), "side tone, sun: match".to_owned())]);
    assert_eq!(rig.0.standing(Role::Pearl).unwrap().wanted, Some(3));
    assert_eq!(rig.next(3), "mix the ground coat");
    rig.at(4, &joined(Role::Ground, 1));
    rig.at(5, &JobEvent::Activated(Activation { mix: mix(1), since: minute(4), pot_life: 60 }));
    assert_eq!(rig.next(5), "spray coat 1 of 2 of the ground coat");
    // Where somebody knows that it was put aside, it is gone on with first.
    let beside = |rig: &Rig, now, one, stands| {
        rig.0.next_beside(minute(now), |other| if other == one { stands } else { MixStands::Unknown })
    };
    let put_aside = beside(&rig, 5, mix(1), MixStands::UnderWay);
    assert_eq!(put_aside, Step::GoOn { layer: Role::Ground, mix: mix(1) });
    assert_eq!(beside(&rig, 5, mix(2), MixStands::UnderWay), rig.0.next(minute(5)));
    // What is in the cup is sprayed before anybody asks what is left.
    assert_eq!(beside(&rig, 5, mix(1), MixStands::InCup), rig.0.next(minute(5)));
    assert_eq!(rig.at(10, &coat(Role::Ground, 1, minute(10), Some(5))), Vec::<String>::new());
    assert_eq!(rig.next(12), "wait for the flash-off of the ground coat: 3 min left");
    let second = coat(Role::Ground, 2, minute(12), Some(5));
    let early = rig.refused(12, &second);
    assert_eq!(
        early.to_string(),
        "the flash-off of the ground coat is not over: 3 min left. Wait for it, or say why not"
    );
    rig.at(12, &early.overruled("the booth is hot").unwrap());
    rig.at(12, &second);
    let overruled = rig.0.times().find_map(|(_, run)| run.ended.clone()).unwrap();
    assert_eq!(overruled, Overruled { at: minute(12), reason: Some("the booth is hot".into()) });
    // One that is only written down when the time is over is refused all the same, and can be overruled.
    let mut later = Rig(rig.0.clone());
    let third = coat(Role::Ground, 3, minute(14), None);
    let reason = later.refused(30, &third).overruled("it was dry").unwrap();
    later.at(30, &reason);
    assert_eq!(later.at(30, &third), ["that is coat 3 of the ground coat, and the job asks for 2"]);
    // Enough coats; the bake comes once the last flash-off is over.
    assert_eq!(rig.next(13), "wait for the flash-off of the ground coat: 4 min left");
    assert_eq!(rig.next(17), "bake the ground coat for 10 min");
    let bake = Timer::Bake { layer: Role::Ground };
    rig.at(17, &JobEvent::TimerStarted { timer: bake, from: minute(17), minutes: 10 });
    assert_eq!(rig.next(20), "wait for the bake of the ground coat: 7 min left");
    // The pearl does not go onto a ground that is still baking.
    rig.at(20, &joined(Role::Pearl, 2));
    assert!(matches!(
        rig.refused(20, &coat(Role::Pearl, 1, minute(20), None)),
        Refusal::NotOver { timer, .. } if timer == bake
    ));
    assert_eq!(rig.next(27), "look at the ground coat, and say that it is done");
    rig.at(27, &JobEvent::LayerFinished { layer: Role::Ground });
    for number in 1..=3 {
        let at = 30 + i64::from(number) * 6;
        assert_eq!(rig.next(at), format!("spray coat {number} of 3 of the pearl coat"));
        rig.at(at, &coat(Role::Pearl, number, minute(at), Some(5)));
        // Neither another coat nor the layer above goes on before it has flashed off; the layer below has nothing to do
        // with it.
        let flashing = (Timer::FlashOff { layer: Role::Pearl }, Countdown::new(minute(at), 5));
        for (layer, waits) in
            [(Role::Ground, None), (Role::Pearl, Some(flashing)), (Role::Clear, Some(flashing))]
        {
            assert_eq!(rig.0.waits_for(layer, minute(at + 4)), waits);
            assert_eq!(rig.0.waits_for(layer, minute(at + 5)), None);
        }
    }
    assert_eq!(rig.next(50), "look at the pearl coat, and say that it is done");
    // More than the card asked for is said, and written.
    assert_eq!(
        rig.at(60, &coat(Role::Pearl, 4, minute(60), None)),
        ["that is coat 4 of the pearl coat, and the chosen card asks for 3"]
    );
    rig.at(61, &JobEvent::LayerFinished { layer: Role::Pearl });
    assert_eq!(rig.next(61), "mix the clear");
    // Where a cup of what is done was not weighed yet, that comes first.
    let weigh = Step::WeighBack { layer: Role::Pearl, mix: mix(2) };
    assert_eq!(beside(&rig, 61, mix(2), MixStands::InCup), weigh);
    assert_eq!(weigh.words(minute(61), |_| String::new()), "weigh what is left of the pearl coat in its cup");
    // Nobody said how many coats of clear: another one until it is done.
    assert_eq!(
        rig.at(62, &coat(Role::Clear, 1, minute(62), None)),
        ["no mix of the clear was joined to this job"]
    );
    assert_eq!(rig.next(62), "spray coat 2 of the clear, or say that it is done");
    assert_eq!(rig.at(63, &JobEvent::Closed), ["a layer is not done"]);
    assert_eq!(rig.next(63), "nothing: the job is closed");
    assert_eq!(rig.refused(64, &joined(Role::Clear, 3)), Refusal::Closed("26-118 tailgate".into()));
    rig.at(65, &JobEvent::Reopened);
    rig.at(66, &JobEvent::LayerFinished { layer: Role::Clear });
    rig.at(66, &JobEvent::TimerStarted { timer: Timer::Clearance, from: minute(66), minutes: 2 });
    assert_eq!(rig.next(67), "wait for the clearance of the booth: 1 min left");
    assert_eq!(rig.next(68), "everything is sprayed: close the job");
}

/// With fewer layers there is nothing else: no card, no bake, one or two layers.
#[test]
fn one_stage_is_the_same_with_fewer_rows() {
    for (finish, roles) in
        [(Finish::SingleStage, &[Role::Base][..]), (Finish::TwoStage, &[Role::Base, Role::Clear])]
    {
        let layers = roles.iter().map(|role| LayerPlan { coats: Some(1), ..LayerPlan::of(*role) }).collect();
        let opened = JobEvent::Opened(Opening { finish, layers, ..opening() });
        let mut rig = Rig(Job::open(minute(0), &opened).unwrap());
        for (number, role) in (1..).zip(roles) {
            assert_eq!(rig.next(1), format!("mix the {}", role.name()));
            rig.at(1, &joined(*role, number));
            assert_eq!(rig.next(1), format!("spray coat 1 of 1 of the {}", role.name()));
            assert_eq!(rig.at(2, &coat(*role, 1, minute(2), None)), Vec::<String>::new());
            rig.at(2, &JobEvent::LayerFinished { layer: *role });
        }
        assert_eq!(rig.0.next(minute(2)), Step::Close);
    }
}

#[test]
fn pearl_is_not_mixed_for_the_car_before_a_card_is_chosen() {
    let mut rig = Rig::new();
    let refusal = rig.refused(1, &joined(Role::Pearl, 1));
    assert_eq!(refusal, Refusal::NoCardChosen(Role::Pearl));
    // For the cards themselves it has to be mixed, and that is no mix for the car.
    rig.at(
        1,
        &JobEvent::MixJoined(Joined { mix: mix(1), layer: Role::Pearl, for_cards: true, estimate: None }),
    );
    assert_eq!(rig.0.standing(Role::Pearl).unwrap().mixes, []);
    assert_eq!(
        rig.refused(2, &JobEvent::CardOverruled { layer: Role::Pearl, reason: String::new() }),
        Refusal::NoReason
    );
    rig.at(2, &refusal.overruled("the same car as last week: three coats").unwrap());
    assert_eq!(rig.at(3, &joined(Role::Pearl, 2)), Vec::<String>::new());
    let standing = rig.0.standing(Role::Pearl).unwrap();
    assert_eq!((standing.mixes.as_slice(), standing.wanted), (&[mix(2)][..], None));
    assert_eq!(standing.unmatched, Some("the same car as last week: three coats"));
    assert_eq!(rig.next(3), "mix the ground coat");
    // Other layers need no card.
    rig.at(4, &joined(Role::Ground, 3));
    rig.at(5, &JobEvent::MixParted { mix: mix(3), reason: "it was for another car".into() });
    assert_eq!(rig.0.standing(Role::Ground).unwrap().mixes, []);
    let parted = JobEvent::MixParted { mix: mix(3), reason: "again".into() };
    assert_eq!(rig.refused(6, &parted), Refusal::NotJoined);
}

/// A card of the ground coat alone is there to compare with: with it alone there is nothing to choose, and it is not chosen.
#[test]
fn a_card_without_a_coat_is_compared_and_not_chosen() {
    let mut rig = Rig::new();
    rig.at(1, &JobEvent::CardMade(CardMade::of(1, Role::Pearl, 0)));
    assert_eq!(rig.0.next(minute(1)), Step::MakeCards { layer: Role::Pearl });
    rig.at(2, &JobEvent::CardMade(CardMade::of(2, Role::Pearl, 1)));
    assert_eq!(rig.0.next(minute(2)), Step::ChooseCard { layer: Role::Pearl });
    rig.at(3, &JobEvent::CardCompared(CardCompared::seen(1, "face, sun: lighter")));
    let none = JobEvent::CardChosen(CardChosen { card: Some(1), ..CardChosen::of(Role::Pearl, 0) });
    let refusal = rig.refused(4, &none);
    assert_eq!(refusal, Refusal::OnlyToCompare(Role::Pearl));
    // No reason makes it right: without pearl the layer is not in the plan.
    assert_eq!(refusal.overruled("there is no pearl on it"), None);
    let plan = Some(vec![LayerPlan::of(Role::Ground), LayerPlan::of(Role::Clear)]);
    rig.at(5, &JobEvent::Amended(Amendment { layers: plan, ..Amendment::default() }));
    assert!(matches!(rig.0.next(minute(5)), Step::Mix { layer: Role::Ground, .. }));
}

#[test]
fn what_makes_no_sense_is_refused() {
    let mut rig = Rig::new();
    let flash_off = Timer::FlashOff { layer: Role::Ground };
    let started = |timer, minutes, from| JobEvent::TimerStarted { timer, from, minutes };
    let reason = || "it is hot".to_owned();
    let made = |card, coats| CardMade::of(card, Role::Pearl, coats);
    rig.at(0, &JobEvent::CardMade(made(1, 2)));
    let compared = |sights: &[&str], measured: &[&str]| {
        let sight = |is: &&str| card::Sight::parse(card::View::Face, card::Light::Sun, is).unwrap();
        let sights = sights.iter().map(sight).collect();
        let measured = measured.iter().map(|text| card::AtAngle::parse(text).unwrap()).collect();
        JobEvent::CardCompared(CardCompared { sights, measured, ..CardCompared::of(1) })
    };
    let never = |spoil: fn(&mut CardCompared)| {
        let mut event = compared(&["lighter"], &["45: car 50 0 0 card 60 0 0"]);
        if let JobEvent::CardCompared(compared) = &mut event {
            spoil(compared);
        }
        event
    };
    // Above white is nothing to refuse: an effect near the gloss is.
    assert_eq!(
        rig.at(1, &compared(&["match"], &["15: car 100.1 0 0 card 99 0 0", "45: car 100 0 0 card 0 0 0"])),
        [
            "card 1 at 15°: an L* is not between 0 and 100. An effect near the gloss can be above; else read it again"
        ]
    );
    for (event, said) in [
        (JobEvent::Opened(opening()), "opened once"),
        (JobEvent::Reopened, "job 26-118 tailgate is not closed"),
        (coat(Role::Ground, 2, minute(1), None), "it would be coat 1"),
        (coat(Role::Ground, 1, minute(2), None), "later than it is now"),
        (coat(Role::Ground, 1, minute(1), Some(0)), "1 min to a week was expected, and not 0"),
        (
            coat(Role::Base, 1, minute(1), None),
            "this job has no base coat; its layers are: ground, pearl, clear",
        ),
        (JobEvent::TimerStopped { timer: flash_off }, "the flash-off of the ground coat does not run"),
        (JobEvent::TimerOverruled { timer: flash_off, reason: reason() }, "does not run"),
        (started(flash_off, 10_081, minute(1)), "not 10081 min"),
        (started(Timer::Bake { layer: Role::Base }, 5, minute(1)), "no base coat"),
        (JobEvent::CardMade(made(1, 3)), "card 1 is there already"),
        (JobEvent::CardMade(made(2, 21)), "from 1 to 20 was expected, or 0 for a card"),
        (JobEvent::CardCompared(CardCompared::seen(9, reason())), "no card 9"),
        (JobEvent::CardCompared(CardCompared::of(1)), "say what"),
        (compared(&["lighter"], &["45: car 50 0 0 card 60 0 0"; 2]), "45° is measured twice"),
        (compared(&["lighter", "match"], &[]), "face, sun is said twice"),
        (never(|one| one.sights[0].is.clear()), "say what was seen"),
        (never(|one| one.measured[0].angle = 181), "an angle of 181° cannot be"),
        (never(|one| one.measured[0].car.l = Decimal::from(401)), "the car at 45°: L* 401 cannot be"),
        (never(|one| one.measured[0].card.a = Decimal::from(-301)), "the card at 45°: a* -301 cannot be"),
        (chosen(Role::Pearl, 21), "from 1 to 20"),
        (chosen(Role::Pearl, 0), "without a coat of the pearl coat is there to compare with"),
        (JobEvent::CardChosen(CardChosen { card: Some(1), ..CardChosen::of(Role::Ground, 2) }), "no card 1"),
        (JobEvent::Activated(Activation { mix: mix(1), since: minute(0), pot_life: 60 }), "not joined"),
        (JobEvent::Noted { text: String::new() }, "say what"),
    ] {
        let refusal = rig.refused(1, &event);
        assert!(refusal.to_string().contains(said), "{event:?}: {refusal}");
        let can_be = matches!(
            refusal,
            Refusal::NoCardChosen(_)
                | Refusal::NotOver { .. }
                | Refusal::NotDone { .. }
                | Refusal::NotShown { .. }
        );
        assert_eq!(refusal.overruled("why").is_some(), can_be);
    }
    let twice = Amendment {
        layers: Some(vec![LayerPlan::of(Role::Ground), LayerPlan::of(Role::Ground)]),
        ..Amendment::default()
    };
    assert_eq!(rig.refused(1, &JobEvent::Amended(twice)).to_string(), "the ground coat stands there twice");
    let flat = Amendment {
        panels: Some(vec![Panel { name: "roof".into(), area: Some(Decimal::ZERO) }]),
        ..Amendment::default()
    };
    assert!(rig.refused(1, &JobEvent::Amended(flat)).to_string().contains("the area of roof"));
}

#[test]
fn a_pot_life_that_is_over_is_said() {
    let mut rig = Rig::new();
    rig.at(0, &joined(Role::Ground, 1));
    rig.at(1, &JobEvent::Activated(Activation { mix: mix(1), since: minute(0), pot_life: 30 }));
    assert_eq!(rig.at(29, &coat(Role::Ground, 1, minute(29), None)), Vec::<String>::new());
    assert_eq!(
        rig.at(35, &coat(Role::Ground, 2, minute(35), None)),
        ["the pot life of the ground coat is over for 5 min: what its data sheet says counts"]
    );
}

#[test]
fn the_book_gives_back_the_job_that_was_written() {
    let mut ids = Ids::counted(5);
    let by = By { bench: "bench 1".into(), operator: "Ro\tbin".into() };
    let id = ids.job(minute(0));
    let named =
        Opening { name: " 26-118\u{1b}[2J tailgate\n".into(), vehicle: Some(" ".into()), ..opening() };
    let (mut journal, first) =
        JobJournal::begin(id, &JobEvent::Opened(named), ids.event(minute(0)), minute(0), &by).unwrap();
    assert_eq!((journal.job().name.as_str(), journal.job().vehicle.as_deref()), ("26-118[2J tailgate", None));
    let mut written = vec![first];
    let all = [
        JobEvent::Amended(Amendment { vehicle: Some("van, white".into()), ..Amendment::default() }),
        JobEvent::CardMade(CardMade {
            over: Some("over G3".into()),
            gun: Some(card::Gun { tip: Some("1.3 mm".into()), ..card::Gun::default() }),
            ..CardMade::of(1, Role::Pearl, 2)
        }),
        JobEvent::CardCompared(CardCompared {
            measured: vec![card::AtAngle::parse("-15: car 50 0 0 card 51 0 0").unwrap()],
            ..CardCompared::seen(1, "too light")
        }),
        JobEvent::CardWithdrawn(CardWithdrawn { card: 1, reading: card::Reading::Measured { angle: -15 } }),
        JobEvent::CardOverruled { layer: Role::Pearl, reason: "known".into() },
        chosen(Role::Pearl, 3),
        JobEvent::MixOverruled { mix: mix(4), reason: "the same tint".into() },
        joined(Role::Pearl, 4),
        JobEvent::Activated(Activation { mix: mix(4), since: minute(0), pot_life: 60 }),
        JobEvent::LayerOverruled { layer: Role::Ground, lacks: Lacks::Coats, reason: "none".into() },
        coat(Role::Pearl, 1, minute(1), Some(5)),
        JobEvent::TimerOverruled { timer: Timer::FlashOff { layer: Role::Pearl }, reason: "dry".into() },
        JobEvent::TimerStarted { timer: Timer::Clearance, from: minute(1), minutes: 3 },
        JobEvent::TimerStopped { timer: Timer::Clearance },
        JobEvent::MixParted { mix: mix(4), reason: "none".into() },
        JobEvent::CoatTakenBack { layer: Role::Pearl, coat: 1, reason: "pressed twice".into() },
        JobEvent::LayerOverruled { layer: Role::Pearl, lacks: Lacks::Coats, reason: "none".into() },
        JobEvent::LayerFinished { layer: Role::Pearl },
        JobEvent::LayerReopened { layer: Role::Pearl },
        JobEvent::Noted { text: "a run on the edge".into() },
        JobEvent::Closed,
        JobEvent::Reopened,
    ];
    for event in &all {
        let (envelope, _) = journal.record(event, ids.event(minute(2)), minute(2), &by).unwrap();
        assert_eq!((envelope.flaw(), envelope.kind.as_str()), (None, event.kind()));
        assert!(envelope.postings.is_empty());
        written.push(envelope);
    }
    assert_eq!(
        written.iter().map(|envelope| envelope.sequence).collect::<Vec<_>>(),
        (0..=22).collect::<Vec<_>>()
    );
    assert_eq!(JobJournal::fold(id, &written).unwrap(), journal);
    let before = journal.clone();
    let refused = journal.record(&JobEvent::Reopened, ids.event(minute(3)), minute(3), &by);
    assert!(matches!(refused, Err(JobError::Refused(Refusal::NotClosed(_)))));
    assert_eq!(journal, before);
    // What is wrong with a book is said.
    assert_eq!(JobJournal::fold(id, &[]), Err(JobError::Unknown(id)));
    let spoilt = |spoil: fn(&mut Vec<crate::book::Envelope>)| {
        let mut bad = written.clone();
        spoil(&mut bad);
        JobJournal::fold(id, &bad).unwrap_err()
    };
    assert!(matches!(spoilt(|bad| drop(bad.remove(3))), JobError::OutOfPlace { expected: 3, found: 4, .. }));
    assert!(matches!(spoilt(|bad| bad[2].body = "{}".into()), JobError::Body { .. }));
    assert!(matches!(spoilt(|bad| bad[2].kind = "job/closed".into()), JobError::Body { .. }));
    // Another wing's event keeps its place.
    written[9].kind = "voc/reckoned".into();
    assert_eq!(JobJournal::fold(id, &written).unwrap().next(), journal.next());
}

#[test]
fn a_job_that_cannot_be_read_is_a_fault_of_the_book() {
    let folder = tempfile::tempdir().unwrap();
    let Ok(Opened::ToWrite(mut store)) = SqliteStore::open(&folder.path().join("book"), Stamp(1)) else {
        panic!("nobody else has it")
    };
    let mut ids = Ids::counted(5);
    let by = By { bench: "office".into(), operator: "Robin".into() };
    let at = minute(0);
    let event = JobEvent::Opened(opening());
    let (mut journal, first) = JobJournal::begin(ids.job(at), &event, ids.event(at), at, &by).unwrap();
    store.append(&first).unwrap();
    let (mut noted, _) =
        journal.record(&JobEvent::Noted { text: "a run".into() }, ids.event(at), at, &by).unwrap();
    assert_eq!(faults(&store).unwrap(), Vec::<String>::new());
    noted.body = "{}".into();
    store.append(&noted).unwrap();
    let found = faults(&store).unwrap().join("; ");
    assert!(found.starts_with("job 26-118 tailgate: event") && found.contains("cannot be read"), "{found}");
}

#[test]
fn the_body_of_an_event_is_plain_json() {
    let json = |event: &JobEvent| serde_json::to_string(event).unwrap();
    assert_eq!(
        json(&JobEvent::TimerStarted {
            timer: Timer::FlashOff { layer: Role::Pearl },
            from: Stamp(5),
            minutes: 7
        }),
        r#"{"kind":"job/timer-started","timer":"flash-off","layer":"pearl","from":5,"minutes":7}"#
    );
    assert_eq!(
        json(&JobEvent::TimerStopped { timer: Timer::Clearance }),
        r#"{"kind":"job/timer-stopped","timer":"clearance"}"#
    );
    let opened = JobEvent::Opened(Opening {
        layers: vec![LayerPlan { asked: Some(Millilitres::new(350.into())), ..LayerPlan::of(Role::Pearl) }],
        ..opening()
    });
    assert_eq!(
        json(&opened),
        r#"{"kind":"job/opened","name":"26-118 tailgate","colour":"PB-3140","variant":"standard","finish":"three-stage","panels":[{"name":"tailgate","area":"0.9"}],"layers":[{"role":"pearl","asked":"350"}]}"#
    );
}

const ROLES: [Role; 3] = [Role::Ground, Role::Pearl, Role::Clear];

/// Anything at all, sensible or not, about that layer; times within the first three hours.
fn about(role: Role) -> impl Strategy<Value = JobEvent> {
    let timer = prop_oneof![Just(Timer::FlashOff { layer: role }), Just(Timer::Bake { layer: role })];
    // A mix and a card are of one layer.
    let own = ROLES.iter().position(|other| *other == role).unwrap() as u64;
    (0_u8..16, 1_u32..6, 0_i64..180, timer).prop_map(move |(what, number, at, timer)| {
        let card = number * 3 + u32::try_from(own).unwrap();
        let mix = mix(u64::from(number) * 3 + own);
        let at = minute(at);
        match what {
            0 => JobEvent::CardMade(CardMade::of(card, role, number)),
            1 => JobEvent::CardCompared(CardCompared::seen(card, "lighter")),
            2 => JobEvent::CardChosen(CardChosen { card: Some(card), ..CardChosen::of(role, number) }),
            3 => JobEvent::CardOverruled { layer: role, reason: "known".into() },
            4 => JobEvent::MixJoined(Joined { mix, layer: role, for_cards: number == 1, estimate: None }),
            5 => JobEvent::Activated(Activation { mix, since: at, pot_life: number * 10 }),
            6 | 7 => coat(role, number, at, (number != 2).then_some(number * 3)),
            8 => JobEvent::TimerStarted { timer, from: at, minutes: number * 5 },
            9 => JobEvent::TimerStopped { timer },
            10 => JobEvent::TimerOverruled { timer, reason: "dry".into() },
            11 => JobEvent::LayerOverruled {
                layer: role,
                lacks: if number == 1 { Lacks::Bake } else { Lacks::Coats },
                reason: "left out".into(),
            },
            12 => JobEvent::LayerReopened { layer: role },
            13 => JobEvent::CoatTakenBack { layer: role, coat: number, reason: "twice".into() },
            14 => JobEvent::MixOverruled { mix, reason: "the same".into() },
            _ => JobEvent::LayerFinished { layer: role },
        }
    })
}

fn streams() -> impl Strategy<Value = Vec<Vec<(Stamp, JobEvent)>>> {
    let stream = |role| {
        prop::collection::vec((0_i64..180, about(role)), 0..14)
            .prop_map(|all| all.into_iter().map(|(at, event)| (minute(at), event)).collect::<Vec<_>>())
    };
    ROLES.map(stream).into_iter().collect::<Vec<_>>()
}

/// The streams as one, each in its own order, the next taken from where `picks` says.
fn woven(streams: &[Vec<(Stamp, JobEvent)>], picks: &[usize]) -> Vec<(Stamp, JobEvent)> {
    let mut rest: Vec<_> = streams.iter().map(|stream| stream.iter()).collect();
    let mut woven: Vec<_> = picks.iter().filter_map(|pick| rest[pick % 3].next().cloned()).collect();
    woven.extend(rest.into_iter().flatten().cloned());
    woven
}

proptest! {
    /// Whatever happened and up to wherever, sensible or not: there is a job, and it says what comes next.
    #[test]
    fn every_beginning_of_a_job_is_a_job(streams in streams(), picks in prop::collection::vec(0_usize..3, 0..40), now in -60_i64..600) {
        let events = woven(&streams, &picks);
        let opened = (minute(0), JobEvent::Opened(opening()));
        let mut job = Job::open(minute(0), &opened.1).unwrap();
        for until in 0..=events.len() {
            let prefix = std::iter::once(&opened).chain(&events[..until]).map(|(at, event)| (*at, event));
            let folded = Job::fold(prefix).unwrap();
            prop_assert_eq!(&folded, &job);
            let step = folded.next(minute(now));
            prop_assert!(!matches!(step, Step::Closed));
            for layer in folded.standings() {
                let mut coats = std::collections::BTreeSet::new();
                for (_, event) in &events[..until] {
                    match event {
                        JobEvent::CoatSprayed(coat) if coat.layer == layer.plan.role => drop(coats.insert(coat.coat)),
                        JobEvent::CoatTakenBack { layer: of, coat, .. } if *of == layer.plan.role => drop(coats.remove(coat)),
                        _ => {}
                    }
                }
                prop_assert_eq!(layer.coats.len(), coats.len());
            }
            // A coat is only ever offered when nothing has to be waited for, and then it is taken.
            if let Step::Spray { layer, coat: number, .. } = step {
                prop_assert_eq!(folded.waits_for(layer, minute(now)), None);
                let next = coat(layer, number, minute(now), None);
                prop_assert!(folded.may(&next, minute(now)).is_ok());
            }
            if let Step::Wait { countdown, .. } = step {
                prop_assert!(countdown.left(minute(now)) > 0);
            }
            if let Some((at, event)) = events.get(until) {
                job.apply(*at, event);
            }
        }
    }

    /// What happens to one layer and what happens to another can be written in either order.
    #[test]
    fn the_order_of_what_has_nothing_to_do_with_each_other_does_not_matter(
        streams in streams(),
        one in prop::collection::vec(0_usize..3, 0..40),
        other in prop::collection::vec(0_usize..3, 0..40),
    ) {
        let fold = |picks: &[usize]| {
            let mut job = Job::open(minute(0), &JobEvent::Opened(opening())).unwrap();
            for (at, event) in &woven(&streams, picks) {
                job.apply(*at, event);
            }
            job
        };
        prop_assert_eq!(fold(&one), fold(&other));
    }
}
