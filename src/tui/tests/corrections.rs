//! What goes over, what does not belong, and the ways out.

use super::rig::{CUP, DWELL, Rig, g};
use crate::mix::{Event, How, Phase, Way};
use crate::units::Grams;

/// The first toner right, the second over by ten grams.
fn over() -> Rig {
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop(), DWELL);
    rig.stand_net(rig.stop() + g("10.0"), DWELL);
    assert!(matches!(rig.phase(), Phase::Over(_)), "{}", rig.screen());
    rig
}

/// Which key chooses that way.
fn choose(rig: &mut Rig, way: Way) {
    let ways = rig.app.bench().unwrap().ways();
    let at = ways.iter().position(|choice| choice.way == way).unwrap();
    rig.key(&(at + 1).to_string());
}

/// Over, and some is to be drawn off.
fn drawing() -> Rig {
    let mut rig = over();
    choose(&mut rig, Way::DrawOff);
    assert_eq!(rig.phase(), Phase::Drawing, "{}", rig.screen());
    rig
}

#[test]
fn a_pour_that_is_over_is_taken_and_the_ways_come_up() {
    let mut rig = over();
    assert_eq!(rig.kinds(), ["mix/started", "mix/poured", "mix/poured"]);
    rig.says("over");
    let ways = rig.app.bench().unwrap().ways().len();
    assert!(ways >= 3, "{}", rig.screen());
    let written = rig.sent.len();
    rig.stand_net(rig.session().holds() + g("5.0"), 3 * DWELL);
    assert_eq!(rig.sent.len(), written, "nothing is taken while a way must be chosen");
    rig.key(&(ways + 1).min(9).to_string());
    assert_eq!(rig.sent.len(), written, "and a digit too high chooses nothing");
    choose(&mut rig, Way::Smallest);
    let Event::Steered(steer) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!(steer.way, Way::Smallest);
    assert_eq!(rig.phase(), Phase::Weighing);
    rig.agrees_with_book();
}

#[test]
fn enter_takes_the_marked_way() {
    let mut rig = over();
    let second = rig.app.bench().unwrap().ways()[1].way;
    rig.key("Down");
    rig.key("Enter");
    let Event::Steered(steer) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!(steer.way, second);
}

#[test]
fn what_was_drawn_off_is_taken_at_the_mark_and_not_above() {
    let mut rig = drawing();
    let mark = rig.session().draw_to().unwrap();
    let written = rig.sent.len();
    rig.stand_net(mark + g("1.0"), 3 * DWELL);
    assert_eq!(rig.sent.len(), written, "not enough is out yet");
    rig.stand_net(mark, DWELL - 1);
    assert_eq!(rig.sent.len(), written);
    rig.stand_net(mark, 1);
    let Event::DrawnOff(drawn) = rig.last() else { panic!("{:?}", rig.last()) };
    // The scale shows whole divisions of the cup and what is in it.
    assert!((drawn.after - mark).abs() <= g("0.05"), "{drawn:?}");
    assert_eq!(rig.phase(), Phase::Weighing);
    rig.agrees_with_book();
}

#[test]
fn more_than_asked_may_be_drawn_off() {
    let mut rig = drawing();
    let mark = rig.session().draw_to().unwrap();
    rig.stand_net(mark - g("7.0"), DWELL);
    assert!(matches!(rig.last(), Event::DrawnOff(_)));
    rig.agrees_with_book();
}

#[test]
fn a_lifted_cup_is_taken_for_nothing() {
    for begun in [Rig::begun as fn() -> Rig, over, drawing] {
        let mut rig = begun();
        rig.stand_net(rig.session().holds(), 3);
        let written = rig.sent.len();
        for gross in ["0.0", "0.1", "-0.1", "0.0"] {
            rig.stand(gross, 2 * DWELL);
        }
        assert_eq!(rig.sent.len(), written, "{}", rig.screen());
        assert_eq!(rig.app.notice, None, "and nothing is refused that nobody asked for");
        if !matches!(rig.phase(), Phase::Over(_)) {
            rig.says("the cup is off the scale");
        }
        for key in ["d", "Enter"] {
            // Choosing a way is not about the cup.
            if !matches!(rig.phase(), Phase::Over(_)) {
                rig.key(key);
                assert_eq!(rig.sent.len(), written, "{key}: {}", rig.screen());
            }
        }
        rig.agrees_with_book();
    }
}

#[test]
fn another_thing_on_the_pan_is_not_what_is_left_in_the_cup() {
    // A ladle, the empty cup that is drawn off into, that cup with a little in it: while the cup itself is off.
    for gross in ["15.0", CUP, "60.0"] {
        let mut rig = drawing();
        let written = rig.sent.len();
        rig.stand(gross, 3 * DWELL);
        assert_eq!(rig.sent.len(), written, "{gross}: {}", rig.screen());
    }
    // If most of the mix really is to go, a key says so.
    let mut rig = drawing();
    rig.stand("60.0", DWELL);
    rig.key("Enter");
    let Event::DrawnOff(drawn) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!(drawn.after, g("38.2"));
    rig.agrees_with_book();
}

#[test]
fn starting_again_gives_the_mix_up_and_asks_for_the_same() {
    let mut rig = over();
    let written = rig.sent.len();
    choose(&mut rig, Way::Restart);
    rig.says("g away and start again?");
    // By habit, by mistake, too soon to have been read: nothing is thrown away.
    rig.key("y");
    rig.says("read it first");
    rig.key("Enter");
    rig.says("nothing was done");
    assert_eq!(rig.sent.len(), written);
    choose(&mut rig, Way::Restart);
    rig.tick(700);
    rig.key("y");
    let Event::Abandoned { reason } = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!(reason, "started again");
    rig.says("Gannet White");
    rig.says("350 mL");
    rig.key("Enter");
    rig.stand(CUP, 2 * DWELL);
    assert!(matches!(rig.last(), Event::Started(_)), "{}", rig.screen());
    rig.agrees_with_book();
}

#[test]
fn some_taken_out_unasked_is_booked_with_a_key() {
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop(), DWELL);
    let holds = rig.session().holds();
    rig.stand_net(holds - g("12.0"), 3 * DWELL);
    assert_eq!(rig.kinds(), ["mix/started", "mix/poured"]);
    rig.says("12.0 g less than the book says: put it back, or d if taken out ─");
    rig.key("d");
    let Event::DrawnOff(drawn) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!((drawn.before, drawn.after), (holds, holds - g("12.0")));
    rig.agrees_with_book();
}

#[test]
fn the_wrong_toner_of_the_same_formula() {
    let mut rig = Rig::begun();
    rig.stand_net(g("0.8"), DWELL);
    rig.answer("w", "k05");
    let Event::Poured(poured) = rig.last() else { panic!("{}", rig.screen()) };
    assert_eq!((poured.toner.as_str(), poured.after, poured.how), ("K05", g("0.8"), How::Scale));
    assert_eq!(rig.toner(), "M80", "what was due is still due");
    rig.agrees_with_book();
}

#[test]
fn a_toner_from_outside_the_formula_fouls_the_mix() {
    let mut rig = Rig::begun();
    rig.stand_net(g("4.0"), DWELL);
    rig.answer("-", "g62");
    assert_eq!(rig.phase(), Phase::Fouled);
    assert_eq!(rig.session().foreign()[0].1, g("4.0"));
    rig.says("G62");
    choose(&mut rig, Way::Leave);
    assert_eq!(rig.phase(), Phase::Weighing);
    rig.agrees_with_book();
}

#[test]
fn an_unknown_toner_stays_in_the_prompt() {
    let mut rig = Rig::begun();
    rig.stand_net(g("4.0"), DWELL);
    rig.answer("w", "Q99");
    assert_eq!(rig.kinds(), ["mix/started"]);
    rig.says("which toner went in?  Q99");
    rig.says("no toner has the code 'Q99'");
    // Put right, it is taken.
    for _ in 0..3 {
        rig.key("Backspace");
    }
    rig.type_text("M80");
    rig.key("Enter");
    assert_eq!(rig.kinds(), ["mix/started", "mix/poured"]);
}

#[test]
fn the_wrong_toner_without_a_scale_needs_its_grams() {
    let mut rig = Rig::without_scale();
    rig.pick();
    rig.answer("w", "K05");
    rig.says("type the grams too");
    rig.type_text(" 1,5");
    rig.key("Enter");
    let Event::Poured(poured) = rig.last() else { panic!("{}", rig.screen()) };
    assert_eq!((poured.toner.as_str(), poured.after, poured.how), ("K05", g("1.5"), How::Typed));
}

#[test]
fn more_typed_than_there_is_cannot_be_taken_out() {
    let mut rig = drawing();
    let written = rig.sent.len();
    rig.answer("m", "9999");
    assert_eq!(rig.sent.len(), written);
    rig.says("no more can be taken out than the cup holds");
    rig.key("Esc");
    rig.answer("m", "30,5");
    let Event::DrawnOff(drawn) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!((drawn.before - drawn.after, drawn.how), (g("30.5"), How::Typed));
    assert!(rig.session().holds() > Grams::ZERO);
    rig.agrees_with_book();
}

/// A number is pressed sooner than a row is read: what the cup will not hold is asked about, and a foot says no.
#[test]
fn a_way_that_the_cup_does_not_hold_is_asked_about() {
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop(), DWELL);
    rig.stand_net(rig.stop() + g("320.0"), DWELL);
    let ways = rig.app.bench().unwrap().ways();
    let at = ways.iter().position(|choice| !choice.fits_cup && choice.way == Way::Smallest).unwrap();
    let key = (at + 1).to_string();
    let kinds = rig.kinds().len();
    rig.key(&key);
    rig.says("it is more than the cup 600 holds: go on all the same?");
    rig.tick(700);
    rig.key("n");
    assert_eq!((rig.kinds().len(), rig.app.bench().unwrap().ways().is_empty()), (kinds, false));
    rig.key(&key);
    rig.tick(700);
    rig.key("y");
    let Event::Steered(steer) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!(steer.way, Way::Smallest);
    rig.agrees_with_book();
}
