use super::*;
use proptest::prelude::*;

fn g(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

/// 100 g, right within a gram.
fn goal() -> Goal {
    Goal { line: 0, missing: g("100"), stop: g("100"), low: g("99"), high: g("101") }
}

fn told(approach: &mut Approach, at: u64, reading: &str, flow: Option<&str>) -> (Option<Advice>, bool) {
    let seen = Seen { at: Moment(at), reading: g(reading), flow: flow.map(g), rests: flow.is_none() };
    let heard = approach.follow(&seen, &goal(), g("0.1"), &Lag::default());
    (approach.advice(), heard)
}

/// 0.35 s behind and 0.4 s of reaction: at 10 g/s the tin is set upright 7.5 g before the aim, and eased off 10.5 g before
/// that. Half as much again as the spread of 0.149 s is 2.23 g at 10 g/s, so the aim is 98.77; a gram of room is 4.48 g/s,
/// and what flows no faster aims at 99.5.
#[test]
fn ease_off_and_upright_come_in_time() {
    let mut approach = Approach::default();
    assert_eq!(told(&mut approach, 0, "50", Some("10")), (Some(Advice::PourOn), false));
    assert_eq!(approach.ease_at(), Some(g("80.77")));
    assert_eq!(told(&mut approach, 100, "80.7", Some("10")), (Some(Advice::PourOn), false));
    assert_eq!(told(&mut approach, 200, "80.8", Some("10")), (Some(Advice::EaseOff), true));
    assert_eq!(approach.ease_at(), None);
    assert_eq!(told(&mut approach, 300, "85", Some("9")), (Some(Advice::EaseOff), false), "heard once");
    // Eased to 2 g/s: gentle, and 1.5 g before the aim is the word.
    assert_eq!(told(&mut approach, 1_000, "94", Some("2")), (Some(Advice::PourOn), false));
    assert_eq!(told(&mut approach, 2_000, "97.9", Some("2")), (Some(Advice::PourOn), false));
    assert_eq!(told(&mut approach, 2_100, "98", Some("2")), (Some(Advice::Upright), false));
    // The end of the flow is the end of the advice, a little later.
    assert_eq!(told(&mut approach, 2_800, "99.8", None), (None, false));
}

#[test]
fn a_gentle_flow_need_not_be_eased() {
    let mut approach = Approach::default();
    assert_eq!(told(&mut approach, 0, "90", Some("4")).0, Some(Advice::PourOn));
    assert_eq!(approach.ease_at(), None);
    assert_eq!(told(&mut approach, 100, "96.4", Some("4")).0, Some(Advice::PourOn));
    assert_eq!(
        told(&mut approach, 200, "96.5", Some("4")),
        (Some(Advice::Upright), true),
        "the first word is heard"
    );
}

#[test]
fn a_word_does_not_flicker() {
    let mut approach = Approach::default();
    told(&mut approach, 0, "84", Some("10"));
    // A tenth either way around the border, and a flow around the gentle one.
    for (n, (reading, flow)) in
        [("83.9", "10"), ("84", "10"), ("84", "5.8"), ("84", "4.2"), ("83.9", "6")].into_iter().enumerate()
    {
        let reading = if flow == "10" { reading } else { "92" };
        let at = 100 * u64::try_from(n).unwrap();
        assert_eq!(told(&mut approach, at, reading, Some(flow)).0, Some(Advice::EaseOff), "{reading} {flow}");
    }
    told(&mut approach, 900, "98.5", Some("2"));
    for reading in ["97.9", "98", "97.8"] {
        assert_eq!(told(&mut approach, 1_000, reading, Some("2")).0, Some(Advice::Upright), "{reading}");
    }
}

#[test]
fn little_begins_with_drops() {
    let mut approach = Approach::default();
    assert_eq!(told(&mut approach, 0, "97.1", None).0, Some(Advice::Drops));
    assert_eq!(told(&mut approach, 0, "96.9", None).0, None, "more than thirty divisions");
    assert_eq!(told(&mut approach, 0, "99", None).0, None, "right");
}

#[test]
fn a_pour_teaches_from_its_word_to_its_rest() {
    let mut approach = Approach::default();
    told(&mut approach, 0, "90", Some("4"));
    let mut unsaid = approach.clone();
    told(&mut unsaid, 1_000, "90.1", None);
    assert_eq!(unsaid.take_lesson(), None, "the word never came");
    told(&mut approach, 100, "97", Some("4"));
    told(&mut approach, 200, "97.4", Some("4"));
    told(&mut approach, 300, "98", None);
    assert_eq!(approach.take_lesson(), None, "too soon");
    let mut lifted = approach.clone();
    lifted.forget();
    told(&mut lifted, 1_000, "100.2", None);
    assert_eq!(lifted.take_lesson(), None, "the cup was lifted");
    let mut coarse = approach.clone();
    let seen = Seen { at: Moment(1_000), reading: g("100"), flow: None, rests: true };
    coarse.follow(&seen, &goal(), g("1"), &Lag::default());
    assert_eq!(coarse.take_lesson(), None, "a coarse scale would teach its rounding");
    let mut moving = approach.clone();
    moving.follow(&Seen { rests: false, ..seen }, &goal(), g("0.1"), &Lag::default());
    assert_eq!(moving.take_lesson(), None, "it still moves");
    told(&mut approach, 1_000, "100.2", None);
    let lesson = Lesson { flow: g("4"), reading: g("97"), landed: g("100.2") };
    assert_eq!(approach.take_lesson(), Some(lesson), "from the first time it was said");
    assert_eq!(approach.take_lesson(), None, "once");
}

/// Landed short and poured again: each go teaches of itself alone.
#[test]
fn a_pour_in_several_goes_teaches_from_each_that_rested() {
    let mut approach = Approach::default();
    told(&mut approach, 0, "97", Some("4"));
    told(&mut approach, 1_000, "98.4", None);
    assert_eq!(approach.take_lesson().map(|lesson| lesson.landed), Some(g("98.4")));
    told(&mut approach, 3_000, "98.4", Some("0.2"));
    told(&mut approach, 5_000, "99.9", None);
    assert_eq!(approach.take_lesson(), None);
    // The second go begins before the first has rested.
    told(&mut approach, 10_000, "97", Some("4"));
    told(&mut approach, 10_100, "97", Some("0.3"));
    told(&mut approach, 12_000, "99.9", None);
    assert_eq!(approach.take_lesson(), None);
}

proptest! {
    /// Nearer and faster is never told to do less than further and slower.
    #[test]
    fn the_advice_grows_with_reading(reading in 0_i64..1_100, more in 0_i64..200, flow in 1_i64..500) {
        let tenths = |n: i64| Grams::new(Decimal::new(n, 1));
        let at = |reading| {
            let mut approach = Approach::default();
            let flow = Some(tenths(flow));
            let seen = Seen { at: Moment(0), reading: tenths(reading), flow, rests: false };
            approach.follow(&seen, &goal(), g("0.1"), &Lag::default());
            match approach.advice() {
                Some(Advice::PourOn) => 0,
                Some(Advice::EaseOff) => 1,
                Some(Advice::Upright) => 2,
                _ => 9,
            }
        };
        prop_assert!(at(reading) <= at(reading + more));
    }
}
