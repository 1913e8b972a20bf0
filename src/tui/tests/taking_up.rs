//! Mixes that wait: the cup on the scale is compared with the book before anything else is weighed.

use super::rig::{DWELL, Rig, g, settings, stable};
use crate::mix::{Event, Phase};
use crate::scale::{Frame, Mode};
use crate::tui::app::FromBook;

/// One toner in, and put aside.
fn aside() -> Rig {
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop(), DWELL);
    rig.key("Esc");
    assert_eq!(rig.last(), Event::SetAside);
    rig.says("put aside; it waits among the unfinished mixes");
    rig
}

/// The same taken up again from the list.
fn up_again() -> Rig {
    let mut rig = aside();
    rig.stand("0.0", 3);
    rig.key("Ctrl-O");
    rig.says("Gannet White");
    rig.says("put aside");
    rig.key("Enter");
    rig.says("put the cup back on the scale: by the book it holds 75.2 g");
    rig
}

#[test]
fn what_was_poured_is_booked_before_it_is_put_aside() {
    let mut rig = Rig::begun();
    rig.stand("51.8", 3);
    rig.key("Esc");
    assert_eq!(rig.last(), Event::SetAside);
    rig.agrees_with_book();
    rig.stand("0.0", 3);
    rig.key("Ctrl-O");
    rig.key("Enter");
    rig.says("by the book it holds 30.0 g");
}

#[test]
fn the_same_cup_goes_on_by_itself() {
    let mut rig = up_again();
    rig.stand("97.0", DWELL - 1);
    assert_eq!(rig.last(), Event::SetAside);
    rig.says("the cup holds 75.2 g as in the book; it goes on by itself ─");
    rig.stand("97.0", 1);
    assert_eq!(rig.last(), Event::TakenUp { tare: g("21.8") });
    assert_eq!((rig.phase(), rig.toner()), (Phase::Weighing, "W10".to_owned()));
    rig.stand_net(rig.stop(), DWELL);
    assert!(matches!(rig.last(), Event::Poured(_)));
    rig.agrees_with_book();
}

#[test]
fn a_division_off_is_the_same_cup() {
    let mut rig = up_again();
    rig.stand("97.1", DWELL);
    assert_eq!(rig.last(), Event::TakenUp { tare: g("21.8") });
    rig.agrees_with_book();
}

#[test]
fn more_in_the_cup_than_the_book_says_waits_for_a_word() {
    let mut rig = up_again();
    rig.stand("117.0", 3 * DWELL);
    assert_eq!(rig.last(), Event::SetAside);
    rig.says("20.0 g more than the book says: Enter if poured, z if the zero moved ─");
    rig.key("Enter");
    assert_eq!(rig.last(), Event::TakenUp { tare: g("21.8") });
    rig.key("Enter");
    let Event::Poured(poured) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!((poured.before, poured.after), (g("75.2"), g("95.2")));
    rig.agrees_with_book();
}

#[test]
fn less_in_the_cup_than_the_book_says_waits_for_a_word() {
    let mut rig = up_again();
    rig.stand("90.0", 3 * DWELL);
    assert_eq!(rig.last(), Event::SetAside);
    rig.says("7.0 g less than the book says: z if the zero moved, Enter to go on ─");
    rig.key("Enter");
    assert_eq!(rig.last(), Event::TakenUp { tare: g("21.8") });
    rig.agrees_with_book();
}

#[test]
fn a_zero_that_moved_is_put_right_with_a_key() {
    let mut rig = up_again();
    rig.frame(Frame { mode: Mode::Net, ..stable("3.0") });
    rig.key("z");
    assert_eq!(rig.last(), Event::SetAside, "one reading is not enough");
    rig.says("there is no steady weight");
    // The scale was switched off, and came up with the cup on it, in net at that.
    for _ in 0..3 {
        rig.frame(Frame { mode: Mode::Net, ..stable("3.0") });
    }
    rig.key("z");
    assert_eq!(rig.last(), Event::TakenUp { tare: g("-72.2") });
    let gross = rig.gross(rig.stop());
    for _ in 0..DWELL {
        rig.frame(Frame { mode: Mode::Net, ..stable(&gross) });
    }
    assert!(matches!(rig.last(), Event::Poured(_)), "{}", rig.screen());
    rig.agrees_with_book();
}

#[test]
fn a_cup_not_put_back_is_said() {
    let mut rig = up_again();
    rig.stand("0.0", 3 * DWELL);
    assert_eq!(rig.last(), Event::SetAside);
    rig.says("put the cup back on the scale");
    rig.key("Esc");
    assert!(rig.app.bench().is_none());
    assert_eq!(rig.app.waiting.len(), 1, "it still waits");
}

#[test]
fn a_mix_cut_off_by_the_program_s_end_goes_on() {
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop(), DWELL);
    let mut rig = rig.reopened(None);
    rig.says("Gannet White");
    rig.says("cut off");
    rig.key("Enter");
    let written = rig.sent.len();
    rig.stand("97.0", DWELL);
    assert_eq!(rig.sent.len(), written, "it was never put aside");
    assert_eq!((rig.phase(), rig.toner()), (Phase::Weighing, "W10".to_owned()));
    assert!(!rig.app.taking_up);
    rig.stand_net(rig.stop(), DWELL);
    assert_eq!(rig.sent.len(), written + 1);
    rig.agrees_with_book();
}

#[test]
fn one_that_waits_can_be_given_up_from_the_list() {
    let mut rig = aside().reopened(None);
    rig.answer("x", "dried up");
    assert_eq!(rig.last(), Event::Abandoned { reason: "dried up".to_owned() });
    assert!(rig.app.bench().is_none() && rig.app.waiting.is_empty() && !rig.app.taking_up);
    // The next mix is a plain new one.
    rig.pick();
    rig.stand("21.8", DWELL);
    assert!(matches!(rig.last(), Event::Started(_)));
    assert!(!rig.app.taking_up);
    rig.agrees_with_book();
}

#[test]
fn a_draw_off_put_aside_is_asked_about_again() {
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop() + g("10.0"), DWELL);
    rig.key("1");
    rig.key("Esc");
    assert_eq!(rig.last(), Event::SetAside);
    let holds = rig.app.waiting[0].journal.as_ref().unwrap().session().holds();
    rig.key("Ctrl-O");
    rig.key("Enter");
    rig.stand_net(holds, DWELL);
    assert_eq!(rig.last(), Event::TakenUp { tare: g("21.8") });
    assert!(matches!(rig.phase(), Phase::Over(_) | Phase::Weighing), "{}", rig.screen());
    rig.agrees_with_book();
}

#[test]
fn what_cannot_be_read_says_why() {
    let why = "event 5 of the book cannot be read";
    let entry =
        crate::tui::app::Waiting { journal: Err(why.to_owned()), number: 7, when: "yesterday".to_owned() };
    let book = FromBook { waiting: vec![entry], next_number: 8, ..FromBook::default() };
    let mut rig = Rig::opened(settings(), book);
    rig.live();
    rig.says("cannot be read");
    rig.key("Enter");
    rig.says(why);
    assert!(rig.app.bench().is_none());
}
