use super::*;
use crate::mix::recipe::tests::recipe;
use crate::mix::{How, Pour, Vessel, Way};
use crate::units::Division;
use proptest::prelude::*;

pub(super) fn grams(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

fn start(lines: &[(&str, &str)], volume: &str) -> Start {
    let recipe = recipe(lines);
    Start {
        order: (0..recipe.lines().len()).collect(),
        version: None,
        job: None,
        recipe,
        volume: Millilitres::parse(volume).unwrap(),
        vessel: Vessel { name: "600".into(), brim: Millilitres::parse("600").unwrap(), tare: grams("21.4") },
        limits: Limits { division: Division::TENTH, capacity: Some(grams("7500")) },
    }
}

/// 100 mL of three toners in one density: 60, 30 and 10 g.
pub(super) fn three() -> Session {
    Session::begin(start(&[("6", "1"), ("3", "1"), ("1", "1")], "100")).unwrap()
}

pub(super) fn pour(session: &mut Session, reading: &str) {
    let event = session.take(grams(reading), How::Scale).unwrap();
    session.apply(&event).unwrap();
}

pub(super) fn choose(session: &mut Session, way: Way) {
    let ways = session.ways();
    let choice = ways.iter().find(|choice| choice.way == way).unwrap();
    let event = session.steer(choice).unwrap();
    session.apply(&event).unwrap();
}

#[test]
fn a_mix_from_start_to_end() {
    let mut mix = three();
    assert_eq!(mix.phase(), Phase::Weighing);
    let goal = mix.goal().unwrap();
    assert_eq!((goal.line, goal.stop, goal.low, goal.high), (0, grams("60"), grams("59.4"), grams("60.6")));
    assert_eq!(mix.judge(grams("20")), Some(Judgement::Short(grams("40"))));
    assert_eq!(mix.judge(grams("60.3")), Some(Judgement::Right(grams("0.3"))));
    assert_eq!(mix.judge(grams("61")), Some(Judgement::Over(grams("1"))));
    pour(&mut mix, "60.3");
    // One pour's error is not passed on: the next stop is what the cup holds and what is missing.
    assert_eq!((mix.goal().unwrap().stop, mix.goal().unwrap().missing), (grams("90.3"), grams("30")));
    assert_eq!(mix.judge(grams("59")), Some(Judgement::Gone(grams("1.3"))));
    pour(&mut mix, "90.2");
    pour(&mut mix, "100.2");
    assert_eq!(mix.phase(), Phase::Complete);
    let done = mix.finish().unwrap();
    mix.apply(&done).unwrap();
    assert_eq!(mix.phase(), Phase::Finished);
    assert_eq!(mix.apply(&Event::SetAside), Err(Refusal::Ended));
    assert_eq!(mix.holds(), grams("100.2"));
}

#[test]
fn a_pour_in_several_goes_and_from_two_tins() {
    let mut mix = three();
    mix.apply(&Event::TinTaken {
        toner: mix.recipe().lines()[0].toner.clone(),
        tin: "24-001".into(),
        marks: None,
    })
    .unwrap();
    pour(&mut mix, "20");
    assert_eq!((mix.phase(), mix.current(), mix.tin(0)), (Phase::Weighing, Some(0), Some("24-001")));
    mix.apply(&Event::TinTaken {
        toner: mix.recipe().lines()[0].toner.clone(),
        tin: "24-002".into(),
        marks: None,
    })
    .unwrap();
    let Event::Poured(second) = mix.take(grams("60"), How::Scale).unwrap() else { panic!("a pour") };
    assert_eq!(
        (second.before, second.after, second.tin.as_deref()),
        (grams("20"), grams("60"), Some("24-002"))
    );
    mix.apply(&Event::Poured(second)).unwrap();
    assert_eq!((mix.current(), mix.poured(0)), (Some(1), grams("60")));
}

#[test]
fn over_then_drawn_off() {
    let mut mix = three();
    pour(&mut mix, "63");
    assert_eq!(mix.phase(), Phase::Over(0));
    assert_eq!(mix.take(grams("70"), How::Scale), Err(Refusal::ChooseFirst));
    let ways = mix.ways();
    assert_eq!(ways[0].way, Way::DrawOff);
    // The others can give 0.3 and 0.1 g, so 100 − 29.7 − 9.9 = 60.4 of 63 may stay: 2.6 g out.
    assert_eq!(ways[0].draw_off, grams("2.6"));
    choose(&mut mix, Way::DrawOff);
    assert_eq!((mix.phase(), mix.draw_to()), (Phase::Drawing, Some(grams("60.4"))));
    // Not enough taken out: still over.
    let some = mix.take_drawn(grams("61.5"), How::Scale).unwrap();
    mix.apply(&some).unwrap();
    assert_eq!(mix.phase(), Phase::Over(0));
    choose(&mut mix, Way::DrawOff);
    let rest = mix.take_drawn(grams("60.4"), How::Scale).unwrap();
    mix.apply(&rest).unwrap();
    assert_eq!((mix.phase(), mix.total()), (Phase::Weighing, grams("100")));
    while mix.phase() == Phase::Weighing {
        let stop = mix.shown_stop().unwrap();
        pour(&mut mix, &stop.to_string());
    }
    assert_eq!(mix.phase(), Phase::Complete);
}

#[test]
fn over_then_made_more() {
    let mut mix = three();
    pour(&mut mix, "63");
    choose(&mut mix, Way::Exact);
    assert_eq!(mix.total(), grams("105"));
    assert_eq!(mix.goal().unwrap().missing, grams("31.5"));
    pour(&mut mix, "94.5");
    pour(&mut mix, "105");
    assert_eq!(mix.phase(), Phase::Complete);
}

#[test]
fn an_earlier_toner_comes_up_again_when_the_batch_grows() {
    let mut mix = three();
    pour(&mut mix, "60");
    pour(&mut mix, "90");
    pour(&mut mix, "101.5");
    assert_eq!(mix.phase(), Phase::Over(2));
    choose(&mut mix, Way::Exact);
    assert_eq!((mix.total(), mix.current()), (grams("115"), Some(0)));
    assert_eq!(mix.goal().unwrap().missing, grams("9"));
}

#[test]
fn left_as_it_is_the_mix_goes_on_and_says_so() {
    let mut mix = three();
    pour(&mut mix, "63");
    choose(&mut mix, Way::Leave);
    assert_eq!(mix.phase(), Phase::Weighing);
    pour(&mut mix, "93");
    pour(&mut mix, "103");
    assert_eq!(mix.phase(), Phase::Complete);
    let states: Vec<_> = mix.record().into_iter().map(|row| row.state).collect();
    assert_eq!(states[0], RowState::Left(grams("63") - grams("61.8")));
}

#[test]
fn a_foreign_toner_can_only_be_left_or_thrown_away() {
    let mut mix = three();
    pour(&mut mix, "60");
    let wrong = mix.take_wrong(TonerCode::new("Z99"), None, grams("65"), How::Scale).unwrap();
    mix.apply(&wrong).unwrap();
    assert_eq!(mix.phase(), Phase::Fouled);
    let ways: Vec<_> = mix.ways().iter().map(|choice| choice.way).collect();
    assert_eq!(ways, [Way::Leave, Way::Restart]);
    assert!(!mix.ways()[0].right);
    choose(&mut mix, Way::Leave);
    assert_eq!(mix.foreign_share().percent(2), "4.76 %");
    // The formula's toners still come to what was ordered.
    assert_eq!(mix.goal().unwrap().missing, grams("30"));
    assert_eq!(mix.goal().unwrap().stop, grams("95"));
}

#[test]
fn the_wrong_toner_of_the_formula_is_that_toners_pour() {
    let mut mix = three();
    pour(&mut mix, "60");
    let toner = mix.recipe().lines()[2].toner.clone();
    let wrong = mix.take_wrong(toner, None, grams("65"), How::Scale).unwrap();
    mix.apply(&wrong).unwrap();
    assert_eq!((mix.phase(), mix.poured(2), mix.current()), (Phase::Weighing, grams("5"), Some(1)));
}

#[test]
fn put_aside_and_taken_up_on_a_scale_that_was_switched_off() {
    let mut mix = three();
    pour(&mut mix, "60");
    mix.apply(&mix.set_aside().unwrap()).unwrap();
    assert_eq!(mix.apply(&Event::SetAside), Err(Refusal::IsAside));
    mix.apply(&mix.take_up(grams("-3")).unwrap()).unwrap();
    assert_eq!((mix.phase(), mix.tare(), mix.holds()), (Phase::Weighing, grams("-3"), grams("60")));
}

#[test]
fn given_up_only_with_a_reason() {
    let mut mix = three();
    assert_eq!(mix.abandon("  "), Err(Refusal::NoReason));
    mix.apply(&mix.abandon("wrong colour").unwrap()).unwrap();
    assert_eq!(mix.phase(), Phase::Abandoned);
    assert!(!mix.is_unfinished());
}

#[test]
fn turning_to_another_toner_lasts_until_it_has_its_least() {
    let mut mix = three();
    mix.apply(&mix.turn_to(2).unwrap()).unwrap();
    assert_eq!(mix.current(), Some(2));
    pour(&mut mix, "4");
    assert_eq!(mix.current(), Some(2));
    pour(&mut mix, "10");
    assert_eq!(mix.current(), Some(0));
}

#[test]
fn events_that_do_not_follow_on_are_refused_and_change_nothing() {
    let mut mix = three();
    pour(&mut mix, "60");
    let before = mix.clone();
    let toner = mix.recipe().lines()[1].toner.clone();
    let gap = Pour { toner, tin: None, before: grams("59"), after: grams("90"), how: How::Scale };
    assert_eq!(mix.apply(&Event::Poured(gap)), Err(Refusal::Gap));
    assert_eq!(mix.apply(&Event::Finished), Err(Refusal::NotComplete));
    assert_eq!(mix.apply(&Event::Reordered { order: vec![0, 0, 1] }), Err(Refusal::BadOrder));
    assert_eq!(mix.apply(&Event::Started(before.start().clone())), Err(Refusal::NotBegun));
    assert_eq!(mix, before);
    assert_eq!(Session::fold([&Event::Finished]), Err(Refusal::NotBegun));
}

/// A painter of whom nothing good can be expected, from a list of numbers.
fn muddle(seed: &[(u8, u16)]) -> Vec<Event> {
    let begun = Event::Started(start(&[("62", "1.4"), ("30", "1.1"), ("7", "0.9"), ("1", "1.2")], "150"));
    let mut events = vec![begun];
    let mut mix = Session::fold(&events).unwrap();
    for &(what, how_much) in seed {
        let amount = Grams::new(Decimal::new(i64::from(how_much), 1));
        let event = match (mix.phase(), what % 8) {
            (Phase::Over(_) | Phase::Fouled, n) => {
                let ways = mix.ways();
                let usable: Vec<_> = ways.iter().filter(|choice| choice.way != Way::Restart).collect();
                mix.steer(usable[usize::from(n) % usable.len()])
            }
            (Phase::Drawing, _) => mix.take_drawn((mix.holds() - amount).max(Grams::ZERO), How::Scale),
            (Phase::Aside, _) => mix.take_up(amount),
            (_, 0) => mix.set_aside(),
            (_, 1) => mix.turn_to(usize::from(how_much) % 4),
            (_, 2) => mix.take_wrong(
                TonerCode::new("Z99"),
                None,
                mix.holds() + amount.times(Decimal::new(1, 2)),
                How::Typed,
            ),
            (_, 3) => mix.take_drawn(mix.holds() - amount.times(Decimal::new(1, 2)), How::Scale),
            (_, 4) => mix.take(mix.holds() + amount, How::Scale),
            _ => match mix.goal() {
                Some(_) => mix.take(mix.shown_stop().unwrap(), How::Scale),
                None => mix.finish(),
            },
        };
        if let Ok(event) = event {
            mix.apply(&event).unwrap();
            events.push(event);
        }
    }
    events
}

proptest! {
    #[test]
    fn a_replay_gives_the_same_mix(seed in prop::collection::vec((any::<u8>(), 0_u16..400), 0..40)) {
        let events = muddle(&seed);
        let mix = Session::fold(&events).unwrap();
        let text = serde_json::to_string(&events).unwrap();
        let read: Vec<Event> = serde_json::from_str(&text).unwrap();
        prop_assert_eq!(&read, &events);
        prop_assert_eq!(Session::fold(&read).unwrap(), mix);
    }

    #[test]
    fn every_gram_poured_is_in_the_cup_or_was_drawn(seed in prop::collection::vec((any::<u8>(), 0_u16..400), 0..40)) {
        let events = muddle(&seed);
        let mix = Session::fold(&events).unwrap();
        let mut balance = Grams::ZERO;
        for event in &events {
            match event {
                Event::Poured(pour) => balance += pour.after - pour.before,
                Event::DrawnOff(drawn) => balance -= drawn.before - drawn.after,
                _ => {}
            }
        }
        prop_assert_eq!(balance, mix.holds());
        prop_assert!(mix.cup().items.iter().all(|item| !item.poured.is_negative()));
    }

    /// Whatever went before: a painter who from now on does what the screen says gets done, and it is right.
    #[test]
    fn whoever_follows_the_screen_finishes(seed in prop::collection::vec((any::<u8>(), 0_u16..400), 0..25)) {
        let mut mix = Session::fold(&muddle(&seed)).unwrap();
        for _ in 0..40 {
            let event = match mix.phase() {
                Phase::Weighing => mix.take(mix.shown_stop().unwrap(), How::Scale),
                Phase::Over(_) | Phase::Fouled => {
                    let ways = mix.ways();
                    mix.steer(&ways[0])
                }
                Phase::Drawing => mix.take_drawn(mix.draw_to().unwrap(), How::Scale),
                Phase::Aside => mix.take_up(Grams::ZERO),
                Phase::Complete => mix.finish(),
                Phase::Abandoned | Phase::Finished => break,
            };
            let event = event.unwrap();
            mix.apply(&event).unwrap();
        }
        prop_assert!(!mix.is_unfinished(), "{:?} {:?}", mix.phase(), mix.goal());
        if mix.phase() == Phase::Finished {
            prop_assert!(mix.cup().is_right());
        }
    }

    #[test]
    fn what_is_drawn_is_split_to_the_last_microgram(seed in prop::collection::vec((any::<u8>(), 0_u16..400), 0..20), part in 0_i64..=1_000_000) {
        let mix = Session::fold(&muddle(&seed)).unwrap();
        let taken = mix.holds().times(Decimal::new(part, 6)).to_book();
        let split = mix.split(taken);
        prop_assert_eq!(split.iter().map(|(_, mass)| *mass).sum::<Grams>(), taken);
        prop_assert!(split.iter().all(|(_, mass)| *mass == mass.to_book()));
    }
}

#[test]
fn the_record_says_how_far_a_right_pour_is_from_what_was_asked() {
    let mut mix = three();
    pour(&mut mix, "60.3");
    assert_eq!(mix.record()[0].state, RowState::Right(grams("0.3")));
    assert_eq!(mix.record()[0].target, grams("60"));
}

#[test]
fn less_than_the_bare_cup_can_be_is_no_cup() {
    // Division and the cup's own weight; the reading down to which a wandering zero explains it.
    for (division, tare, least) in [
        ("0.1", "21.8", "-1.0"),
        ("0.01", "21.8", "-0.10"),
        // Ten divisions are more than the cup: half of it tells.
        ("5", "21.8", "-10.9"),
        // Weighed at nothing since the scale's own tare had been pressed.
        ("0.1", "0", "-1.0"),
    ] {
        let mix = three();
        let mut start = mix.start().clone();
        start.limits.division = Division::parse(division).unwrap();
        start.vessel.tare = grams(tare);
        let mix = Session::begin(start).unwrap();
        assert!(!mix.is_without_cup(grams(least)), "{division} {tare}");
        assert!(mix.is_without_cup(grams(least) - grams("0.001")), "{division} {tare}");
        assert!(!mix.is_without_cup(Grams::ZERO) && !mix.is_without_cup(grams("500")));
    }
}
