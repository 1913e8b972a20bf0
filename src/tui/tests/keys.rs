//! The keys at the bench that change what is due.

use super::rig::{DWELL, Rig, g, moving};
use crate::mix::{Event, How, Phase};

#[test]
fn a_typed_weight_may_have_a_comma() {
    let mut rig = Rig::begun();
    rig.answer("m", "12,5");
    let Event::Poured(poured) = rig.last() else { panic!("{}", rig.screen()) };
    assert_eq!((poured.after, poured.how), (g("12.5"), How::Typed));
    rig.answer("*", "10");
    assert_eq!(rig.session().holds(), g("22.5"), "typed is what went in, not what the cup holds");
    rig.agrees_with_book();
}

#[test]
fn while_something_is_typed_nothing_is_taken() {
    let mut rig = Rig::begun();
    rig.key("m");
    rig.stand_net(rig.stop(), 3 * DWELL);
    assert_eq!(rig.kinds(), ["mix/started"]);
    rig.key("Esc");
    rig.stand_net(rig.stop(), 1);
    assert_eq!(rig.kinds(), ["mix/started", "mix/poured"]);
}

#[test]
fn the_next_tin_books_what_came_from_the_old_one_first() {
    let mut rig = Rig::begun();
    rig.answer("n", "24-001");
    assert_eq!(
        rig.last(),
        Event::TinTaken {
            toner: crate::catalogue::TonerCode::new("M80"),
            tin: "24-001".to_owned(),
            marks: None
        }
    );
    rig.stand_net(g("30.0"), DWELL);
    rig.answer("+", "24-002");
    let [.., Event::Poured(poured), Event::TinTaken { tin, .. }] = &rig.events()[..] else {
        panic!("{:?}", rig.kinds())
    };
    assert_eq!((poured.tin.as_deref(), poured.after, tin.as_str()), (Some("24-001"), g("30.0"), "24-002"));
    rig.stand_net(rig.stop(), DWELL);
    let Event::Poured(poured) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!(poured.tin.as_deref(), Some("24-002"));
    rig.agrees_with_book();
}

#[test]
fn the_next_tin_needs_a_label_and_a_weight_that_stands() {
    let mut rig = Rig::begun();
    rig.stand_net(g("30.0"), DWELL);
    rig.answer("n", "");
    rig.says("say which tin it is, by its label");
    rig.agrees_with_book();
    rig.frame(moving("60.0"));
    rig.type_text("24-002");
    rig.key("Enter");
    rig.says("which tin now?  24-002");
    rig.says("there is no steady weight to take");
    rig.agrees_with_book();
}

#[test]
fn a_tin_changed_when_the_pour_was_over() {
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop(), DWELL);
    rig.key("h");
    rig.stand_net(rig.stop() + g("10.0"), DWELL);
    let bells = rig.bells;
    rig.answer("n", "24-009");
    assert!(matches!(rig.phase(), Phase::Over(_)));
    assert!(rig.bells > bells, "it can be heard that it is over");
    rig.agrees_with_book();
}

#[test]
fn a_jump_books_what_was_poured_first() {
    let mut rig = Rig::begun();
    rig.stand_net(g("30.0"), DWELL);
    rig.answer("j", "b15");
    assert_eq!(rig.kinds(), ["mix/started", "mix/poured", "mix/turned"]);
    assert_eq!(rig.toner(), "B15");
    rig.stand_net(rig.stop(), DWELL);
    let Event::Poured(poured) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!(poured.toner.as_str(), "B15");
    assert_eq!(rig.toner(), "M80", "then it goes on where it was");
    rig.answer("j", "G62");
    rig.says("'G62' is not in this formula: it has M80, W10, K05, Y41, B15, R20");
    rig.agrees_with_book();
}

#[test]
fn a_jump_away_from_a_pour_that_was_over_shows_the_ways() {
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop(), DWELL);
    rig.key("h");
    rig.stand_net(rig.stop() + g("10.0"), DWELL);
    rig.answer("j", "B15");
    assert!(matches!(rig.phase(), Phase::Over(_)));
    assert!(rig.app.prompt.is_none(), "{}", rig.screen());
    rig.agrees_with_book();
}

#[test]
fn a_jump_away_from_the_last_pour_completes_the_mix() {
    let mut rig = Rig::begun();
    for _ in 0..5 {
        rig.stand_net(rig.stop(), DWELL);
    }
    rig.key("h");
    rig.stand_net(rig.stop(), DWELL);
    rig.answer("j", "M80");
    assert_eq!(rig.phase(), Phase::Complete);
    assert!(rig.app.prompt.is_none(), "{}", rig.screen());
    rig.agrees_with_book();
}

#[test]
fn the_order_goes_to_and_fro() {
    let mut rig = Rig::begun();
    let own = rig.session().order().to_vec();
    rig.key("r");
    let Event::Reordered { order } = rig.last() else { panic!("{:?}", rig.last()) };
    assert_ne!(order, own);
    assert_eq!(rig.session().order(), order);
    rig.key("r");
    assert_eq!(rig.session().order(), own);
    rig.agrees_with_book();
}

#[test]
fn giving_up_needs_a_reason() {
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop(), DWELL);
    rig.answer("x", "  ");
    assert_eq!(rig.kinds(), ["mix/started", "mix/poured"]);
    rig.says("say why the mix is given up");
    rig.type_text("fell down");
    rig.key("Enter");
    assert_eq!(rig.last(), Event::Abandoned { reason: "fell down".to_owned() });
    assert!(rig.app.bench().is_none() && rig.app.waiting.is_empty());
    rig.says("given up");
    rig.agrees_with_book();
}

#[test]
fn what_could_be_done_is_shown_and_changes_nothing() {
    let mut rig = Rig::begun();
    rig.stand_net(g("30.0"), 3);
    let before = rig.screen();
    rig.key("o");
    assert_ne!(rig.screen(), before);
    rig.key("1");
    rig.key("o");
    assert_eq!(rig.kinds(), ["mix/started"]);
}
