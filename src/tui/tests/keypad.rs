//! One foot or one gloved hand is enough: a whole mix with nothing but Enter, and with nothing but the keypad.

use super::rig::{CUP, DWELL, Rig, g, settings};
use crate::mix::{Event, Phase};
use crate::tui::app::{FromBook, Settings};
use crate::tui::keys::{Bindings, Context, Key};
use crate::tui::preferences::Preferences;

/// Weighs to the end: what is poured stands still before the key says so, and the second pour goes over.
fn weigh(rig: &mut Rig, take: &str) {
    let mut pours = 0;
    while !matches!(rig.phase(), Phase::Complete) {
        assert!(pours < 20, "{}", rig.screen());
        if matches!(rig.phase(), Phase::Over(_)) {
            rig.tick(700);
            rig.key(take);
            continue;
        }
        if rig.phase() == Phase::Drawing {
            let down_to = rig.session().draw_to().unwrap();
            rig.stand_net(down_to, DWELL);
            rig.key(take);
            continue;
        }
        let over = if pours == 1 { g("5.0") } else { g("0") };
        rig.stand_net(rig.stop() + over, DWELL);
        rig.key(take);
        pours += 1;
    }
    rig.key(take);
    assert_eq!(rig.phase(), Phase::Finished);
    rig.agrees_with_book();
    assert!(rig.kinds().contains(&"mix/steered"), "{:?}", rig.kinds());
}

#[test]
fn enter_is_enough() {
    let mut rig = Rig::new();
    rig.key("Enter");
    rig.says("how much");
    rig.key("Enter");
    rig.stand(CUP, DWELL);
    weigh(&mut rig, "Enter");
}

#[test]
fn a_foot_switch_of_its_own_is_enough() {
    let preferences = Preferences { foot_switch: Key::parse("F2"), ..Preferences::default() };
    let settings = Settings { preferences, ..settings() };
    let mut rig = Rig::opened(settings, FromBook { next_number: 412, ..FromBook::default() });
    rig.live();
    rig.key("F2");
    rig.key("F2");
    rig.stand(CUP, DWELL);
    weigh(&mut rig, "F2");
}

#[test]
fn the_keypad_is_enough() {
    let mut rig = Rig::new();
    rig.type_text("3140");
    rig.key("Enter");
    rig.key("Enter");
    rig.stand(CUP, DWELL);
    // Hands-free off, a weight typed, put right, aside and taken up again.
    rig.key("0");
    rig.answer("*", "60.5");
    let Event::Poured(pour) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!(pour.after, g("60.5"));
    rig.stand_net(g("60.5"), DWELL);
    rig.key("/");
    rig.says("what to do");
    rig.key("/");
    rig.key(".");
    assert!(rig.kinds().contains(&"mix/set-aside"));
    rig.key("Insert");
    rig.key("Enter");
    rig.stand(&(g(CUP) + g("60.5")).to_string(), 3 * DWELL);
    assert_eq!(rig.phase(), Phase::Weighing, "{}", rig.screen());
    // The third row of the record, by its number.
    let toner = rig.toner();
    rig.answer("7", "3");
    assert_ne!(rig.toner(), toner);
    rig.answer("7", "1");
    assert_eq!(rig.toner(), toner);
    weigh(&mut rig, "Enter");
}

/// What is on a keypad.
fn is_on_keypad(key: Key) -> bool {
    const SIGNS: [&str; 16] =
        ["0", "1", "2", "3", "4", "5", "6", "7", "8", "9", ".", "+", "-", "*", "/", "Enter"];
    SIGNS.iter().any(|sign| Key::parse(sign) == Some(key))
}

/// Whatever can be done at the bench while a mix is weighed has a key there, but for the hand of the virtual bench.
#[test]
fn every_action_at_the_bench_has_a_key_on_the_keypad() {
    use crate::tui::keys::Action as A;
    const HAND: [A; 6] = [A::TipMore, A::TipLess, A::Upright, A::LiftCup, A::SpoonOut, A::FullTin];
    let bindings = Bindings::default();
    assert_eq!(bindings.conflicts(), []);
    for context in [
        Context::Bench,
        Context::Ways,
        Context::Drawing,
        Context::Complete,
        Context::CupOff,
        Context::CupBack,
        Context::Unfinished,
        Context::TakingUp,
        Context::Confirm,
        Context::Look,
    ] {
        for action in A::ALL.iter().copied().filter(|action| !HAND.contains(action)) {
            let keys = bindings.own_keys(context, action);
            // Arrows and pages are on it too, with the lock off.
            let moves = matches!(action, A::Up | A::Down | A::PageUp | A::PageDown);
            assert!(
                keys.is_empty() || moves || keys.into_iter().any(is_on_keypad),
                "{} has no key for {}",
                context.name(),
                action.name()
            );
        }
    }
}
