//! A pour booked to the wrong toner or tin, and what was said lately.

use super::rig::{DWELL, Rig, g};
use crate::mix::{Event, Phase};
use crate::scale::LinkState;

/// Two pours are in and right.
fn two_poured() -> Rig {
    let mut rig = Rig::begun();
    for _ in 0..2 {
        rig.stand_net(rig.stop(), DWELL);
    }
    assert_eq!(rig.kinds(), ["mix/started", "mix/poured", "mix/poured"], "{}", rig.screen());
    rig
}

#[test]
fn a_pour_is_booked_as_what_it_was() {
    let mut rig = two_poured();
    rig.key("b");
    rig.says("which pour was it?");
    rig.says("W10 titanium white");
    // The latest is marked; the first is one further down.
    rig.key("Down");
    rig.key("Enter");
    rig.says("M80 75.2 g: what was it?");
    rig.type_text("b1");
    rig.says("another toner as B15");
    rig.type_text("5 24-007");
    rig.says("then B15 is");
    rig.says("g over");
    assert_eq!(rig.kinds().len(), 3, "nothing is booked before Enter");
    rig.key("Enter");
    let Event::Rebooked(was) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!((was.pour, was.toner.as_str(), was.tin.as_deref()), (0, "B15", Some("24-007")));
    assert!(matches!(rig.phase(), Phase::Over(_)));
    rig.agrees_with_book();
    // It was not so after all.
    rig.key("9");
    rig.type_text("1");
    rig.key("Enter");
    rig.type_text("m80");
    rig.key("Enter");
    assert_eq!((rig.phase(), rig.toner().as_str()), (Phase::Weighing, "K05"));
    rig.agrees_with_book();
}

#[test]
fn only_the_tin_changes_no_gram() {
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop(), DWELL);
    let holds = rig.session().holds();
    rig.key("b");
    rig.type_text("tin 24-032");
    rig.key("Enter");
    assert_eq!(rig.session().pours()[0].tin.as_deref(), Some("24-032"));
    assert_eq!(rig.session().holds(), holds);
    // The weight that stands is not taken once more.
    rig.stand_net(holds, 3 * DWELL);
    assert_eq!(rig.kinds(), ["mix/started", "mix/poured", "mix/rebooked"]);
    rig.agrees_with_book();
}

#[test]
fn what_is_wrong_is_said_and_what_was_typed_stays() {
    let mut rig = Rig::begun();
    rig.says_not("b put right");
    rig.key("b");
    rig.says("nothing is booked yet that could be put right");
    assert!(rig.app.prompt.is_none());
    rig.stand_net(rig.stop(), DWELL);
    rig.key("b");
    for (typed, said) in
        [("Q9", "no toner has the code 'Q9'"), ("tin", "the tin's number"), ("m80", "already")]
    {
        rig.key("Ctrl-u");
        rig.type_text(typed);
        rig.key("Enter");
        rig.says(said);
        rig.says(typed);
    }
    rig.key("Esc");
    assert_eq!(rig.kinds().len(), 2);
}

#[test]
fn a_finished_mix_can_still_be_put_right() {
    let mut rig = Rig::begun();
    while rig.phase() == Phase::Weighing {
        rig.stand_net(rig.stop(), DWELL);
    }
    rig.key("Enter");
    assert_eq!(rig.phase(), Phase::Finished);
    rig.key("b");
    rig.type_text("2");
    rig.key("Enter");
    rig.type_text("tin 9");
    rig.says("only the book changes");
    rig.key("Enter");
    assert_eq!((rig.phase(), rig.session().pours()[1].tin.as_deref()), (Phase::Finished, Some("9")));
    rig.agrees_with_book();
}

#[test]
fn what_was_said_can_be_read_again() {
    let mut rig = Rig::begun();
    rig.key("F3");
    // Nothing is taken behind it.
    let stop = rig.stop();
    rig.stand_net(stop, 3 * DWELL);
    assert_eq!(rig.kinds().len(), 1);
    rig.key("Esc");
    rig.stand_net(stop, DWELL);
    assert_eq!((rig.kinds().len(), rig.session().holds()), (2, g("75.2")));
    rig.key("h");
    rig.key("h");
    rig.state(LinkState::Lost, "/dev/ttyUSB0 is gone: plug it in again");
    rig.live();
    rig.tick(20_000);
    rig.key("F3");
    rig.says("Messages");
    rig.says("hands-free is on");
    rig.says("!  /dev/ttyUSB0 is gone: plug it in again");
    rig.key("Esc");
    rig.says_not("Messages");
}
