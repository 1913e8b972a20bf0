//! What is told and heard of a pour on its way down, what its landing teaches, and when a weight is taken by itself.

use super::rig::{CUP, DWELL, Rig, g, moving, settings};
use crate::mix::Advice;
use crate::scale::LinkState;
use crate::tui::app::FromBook;
use crate::tui::preferences::Preferences;
use crate::tui::sound::Sound;
use crate::units::{Grams, Share, parse_decimal};

fn tenths(n: i64) -> Grams {
    Grams::new(crate::units::Decimal::new(n, 1))
}

/// Pours so many tenths of a gram with each reading, up to that net weight.
fn pour(rig: &mut Rig, from: Grams, to: Grams, step: i64) -> Vec<Advice> {
    let mut told = Vec::new();
    let mut net = from;
    while net < to {
        net = (net + tenths(step)).min(to);
        let gross = rig.gross(net);
        rig.frame(moving(&gross));
        let advice = rig.app.bench().and_then(crate::tui::bench::Bench::advice);
        if let Some(advice) = advice.filter(|advice| told.last() != Some(advice)) {
            told.push(advice);
        }
    }
    told
}

/// The first toner in, the second, most of the mix, due.
fn second_toner() -> Rig {
    let mut rig = Rig::begun();
    let stop = rig.stop();
    rig.stand_net(stop, DWELL);
    assert_eq!(rig.kinds().len(), 2, "{}", rig.screen());
    rig
}

#[test]
fn a_fast_pour_is_told_to_ease_off_once_and_then_to_end() {
    let mut rig = second_toner();
    rig.heard.clear();
    let (from, stop) = (rig.session().holds(), rig.stop());
    // 30 g/s to the stop.
    let told = pour(&mut rig, from, stop, 30);
    assert_eq!(told, [Advice::PourOn, Advice::EaseOff, Advice::Upright]);
    rig.says("set it upright");
    assert_eq!(rig.heard, [Sound::EaseOff]);
    rig.stand_net(stop, DWELL);
    assert_eq!(rig.heard, [Sound::EaseOff, Sound::Right]);
    rig.says_not("set it upright");
    // Another pour is another approach.
    let (from, stop) = (rig.session().holds(), rig.stop());
    pour(&mut rig, from, stop, 2);
    assert_eq!(rig.heard.last(), Some(&Sound::EaseOff));
}

#[test]
fn a_landing_teaches_and_what_it_taught_is_kept() {
    let mut rig = second_toner();
    for _ in 0..3 {
        let (from, stop) = (rig.session().holds(), rig.stop());
        pour(&mut rig, from, stop, 20);
        rig.stand_net(stop, DWELL);
    }
    let place = rig.app.settings.place();
    let lags = rig.lags.clone().expect("something was learned");
    assert!(lags.of(&place).lessons() > 0);
    assert_eq!(lags.of(&place), rig.app.scale.lag);
    // The book knows nothing of it.
    assert!(rig.sent.iter().all(|envelope| !envelope.body.contains("lag")));
    let mut next = Rig::new();
    next.app.know_lags(lags);
    assert_eq!(next.app.scale.lag, rig.app.scale.lag);
}

/// A cup that was lifted, a link that was lost: what came of the pour says nothing of the scale.
#[test]
fn what_was_disturbed_teaches_nothing() {
    for lost in [true, false] {
        let mut rig = second_toner();
        let (from, stop) = (rig.session().holds(), rig.stop());
        pour(&mut rig, from, stop - tenths(5), 20);
        if lost {
            rig.state(LinkState::Lost, "unplugged");
            rig.live();
        } else {
            rig.stand("0.0", 5);
        }
        rig.stand_net(stop, 3 * DWELL);
        assert_eq!(rig.lags, None, "{lost}");
    }
}

#[test]
fn little_is_begun_with_drops() {
    let mut rig = second_toner();
    rig.says_not("begin with drops");
    let stop = rig.stop();
    rig.stand_net(stop, 2 * DWELL);
    let to_go = rig.stop() - rig.session().holds();
    assert!(to_go < g("3"), "{to_go}");
    rig.says("a little: begin with drops");
}

#[test]
fn a_scale_that_is_lost_in_a_mix_is_heard_once() {
    let mut rig = second_toner();
    rig.heard.clear();
    for state in
        [LinkState::Stale, LinkState::Lost, LinkState::Opening, LinkState::Lost, LinkState::Listening]
    {
        rig.state(state, "unplugged");
    }
    assert_eq!(rig.heard, [Sound::Lost]);
    rig.live();
    rig.state(LinkState::Lost, "unplugged");
    assert_eq!(rig.heard, [Sound::Lost; 2], "and again when it is lost again");
    // Where nothing is weighed the screen says it, and that is enough.
    let mut idle = Rig::new();
    idle.state(LinkState::Lost, "unplugged");
    assert_eq!(idle.heard, []);
}

fn preferring(preferences: Preferences) -> Rig {
    let settings = crate::tui::app::Settings { preferences, ..settings() };
    let mut rig = Rig::opened(settings, FromBook { next_number: 412, ..FromBook::default() });
    rig.live();
    rig.pick();
    rig
}

#[test]
fn how_long_a_weight_stands_is_set_and_kept_within_what_makes_sense() {
    // A new weight is confirmed by the second reading, and stands from the first on: 100 ms a reading.
    for (set, readings) in [(600, 8), (0, 5), (2_000, 22)] {
        let mut rig = preferring(Preferences { dwell_ms: set, ..Preferences::default() });
        rig.stand(CUP, readings - 1);
        assert!(rig.sent.is_empty(), "{set}");
        rig.stand(CUP, 1);
        assert_eq!(rig.kinds(), ["mix/started"], "{set}");
        let stop = rig.stop();
        rig.stand_net(stop, readings - 1);
        assert_eq!(rig.sent.len(), 1, "{set}");
        rig.stand_net(stop, 1);
        assert_eq!(rig.sent.len(), 2, "{set}");
    }
    let forever = Preferences { dwell_ms: u64::MAX, ..Preferences::default() };
    assert_eq!(forever.taking().dwell_ms, 10_000);
}

#[test]
fn what_counts_as_right_without_a_key_is_set_and_over_is_said_at_once() {
    let half = Share::from_percent(parse_decimal("50").unwrap());
    let mut rig = preferring(Preferences { take_within: half, ..Preferences::default() });
    rig.stand(CUP, DWELL);
    let first = rig.stop();
    rig.stand_net(first, DWELL);
    let goal = rig.session().goal().unwrap();
    let written = rig.sent.len();
    // Right, but in the outer half of it: a key takes it, and nothing else does.
    let outer = crate::units::Division::TENTH.round_up(goal.low);
    assert!((goal.stop - outer) > (goal.stop - goal.low).times(crate::units::Decimal::new(5, 1)));
    rig.stand_net(outer, 3 * DWELL);
    assert_eq!(rig.sent.len(), written);
    rig.says("right");
    rig.key("Enter");
    assert_eq!(rig.sent.len(), written + 1);
    // Beyond all of it.
    let mut rig = preferring(Preferences { take_within: Share::ZERO, ..Preferences::default() });
    rig.stand(CUP, DWELL);
    let (first, written) = (rig.stop(), rig.sent.len());
    rig.stand_net(first, DWELL);
    assert_eq!(rig.sent.len(), written + 1, "never asked to be nearer than the scale can show");
    let goal = rig.session().goal().unwrap();
    rig.stand_net(goal.high + g("1"), DWELL);
    assert_eq!(rig.sent.len(), written + 2);
    assert_eq!(rig.heard.last(), Some(&Sound::Over));
}
