//! After the mix: the cup comes back from the booth, and what was in it is sprayed, kept or thrown away.

use super::rig::{DWELL, Rig, g};
use crate::book::{Account, Posting};
use crate::catalogue::TonerCode;
use crate::mix::{Event, How, Phase};
use crate::tui::app::{FromBook, Screen, Settings};
use crate::units::Grams;

/// A mix that is done, the colours on the screen again, the scale empty.
pub(super) fn done() -> Rig {
    let mut rig = Rig::begun();
    while rig.phase() == Phase::Weighing {
        rig.stand_net(rig.stop(), DWELL);
    }
    rig.key("Enter");
    rig.key("Enter");
    assert!(matches!(rig.app.screen, Screen::Colours(_)), "{}", rig.screen());
    rig.stand("0", 3);
    rig
}

/// The gross weight with so much left in the cup.
fn with_left(rig: &Rig, left: &str) -> String {
    let Screen::Emptying(emptying) = &rig.app.screen else { panic!("{}", rig.screen()) };
    (emptying.bench.session().tare() + g(left)).to_string()
}

/// Takes the first cup of the list and puts it on the scale with so much in it.
pub(super) fn bring_back(rig: &mut Rig, left: &str) {
    rig.key("F6");
    rig.key("Enter");
    let gross = with_left(rig, left);
    rig.stand(&gross, 4);
}

/// So much of a mix is kept, and the scale is empty.
pub(super) fn kept() -> Rig {
    let mut rig = done();
    bring_back(&mut rig, "92.4");
    rig.key("Enter");
    rig.key("Enter");
    rig.says("92.4 g kept");
    rig.stand("0", 3);
    rig
}

/// How much the last event put into accounts of that kind.
fn put(rig: &Rig, is: impl Fn(&Account) -> bool) -> Grams {
    let postings: &[Posting] = &rig.sent.last().unwrap().postings;
    Grams::from_micrograms(postings.iter().filter(|one| is(&one.account)).map(|one| one.micrograms).sum())
}

#[test]
fn what_is_left_is_weighed_and_kept() {
    let mut rig = done();
    rig.key("F6");
    rig.says("1 cup waits");
    rig.key("Enter");
    rig.says("Put the cup back on the scale");
    let gross = with_left(&rig, "92.4");
    rig.stand(&gross, 4);
    rig.says("g left");
    rig.key("j");
    rig.type_text("26-118");
    rig.key("Enter");
    rig.key("Enter");
    rig.says("keep it until when?");
    rig.type_text("14");
    rig.key("Enter");
    rig.says("92.4 g kept");
    let Event::Emptied(emptied) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!((emptied.left, emptied.kept, emptied.how), (g("92.4"), g("92.4"), How::Scale));
    assert_eq!((emptied.job.as_deref(), emptied.use_by.as_deref()), (Some("26-118"), Some("2023-11-28")));
    let sprayed = emptied.before - g("92.4");
    assert_eq!(put(&rig, |account| account.to_string() == "car:26-118"), sprayed);
    assert_eq!(put(&rig, |account| account.to_string().starts_with("leftover:")), g("92.4"));
    assert_eq!(put(&rig, |account| matches!(account, Account::Cup(_))), -emptied.before);
    assert!(rig.app.cups.is_empty());
    rig.key("F6");
    rig.says("no cup waits");
}

#[test]
fn what_is_thrown_away_needs_a_reason_and_what_is_all_sprayed_needs_no_scale() {
    let mut rig = done();
    bring_back(&mut rig, "40");
    rig.key("t");
    rig.key("Enter");
    rig.says("why");
    rig.type_text("pot life over");
    rig.key("Enter");
    rig.says("40.0 g thrown away");
    assert_eq!(put(&rig, |account| account.to_string() == "waste:left:pot life over"), g("40"));

    let mut rig = done();
    rig.key("F6");
    rig.key("Enter");
    rig.key("e");
    rig.says("nothing left");
    let Event::Emptied(emptied) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!((emptied.left, emptied.how), (Grams::ZERO, How::Typed));
}

/// Thinner and hardener make the cup heavier than what was mixed. Noted before spraying, what comes back is split by it.
#[test]
fn thinner_and_hardener_are_noted_before_spraying() {
    let mut rig = done();
    rig.key("F6");
    rig.key("Enter");
    let before = {
        let Screen::Emptying(emptying) = &rig.app.screen else { panic!("{}", rig.screen()) };
        emptying.bench.session().holds()
    };
    let ready = before + before;
    let gross = with_left(&rig, &ready.to_string());
    rig.stand(&gross, 4);
    rig.says("It is more than was mixed");
    rig.key("Enter");
    rig.key("Enter");
    rig.says("more is left in the cup than the book says");
    rig.key("Esc");
    rig.key("r");
    rig.says("ready to spray");
    rig.key("Esc");
    rig.key("Esc");
    rig.stand("0", 3);
    // It is still known when the cup comes back.
    bring_back(&mut rig, "100");
    rig.key("Enter");
    rig.key("Enter");
    let Event::Emptied(emptied) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!(emptied.left, g("50"), "half of it is thinner");
    assert_eq!(emptied.thinned.map(|thinned| (thinned.ready, thinned.left)), Some((ready, g("100"))));
}

#[test]
fn without_a_scale_it_is_typed_and_nothing_is_taken_from_another_cup() {
    let mut rig = done();
    rig.key("F6");
    rig.key("Enter");
    rig.stand("5", 4);
    rig.key("Enter");
    rig.says("it is less than the empty cup");
    assert!(rig.app.prompt.is_none());
    rig.key("m");
    rig.type_text("12,5");
    rig.key("Enter");
    rig.says("typed");
    rig.key("Enter");
    rig.type_text("someday");
    rig.key("Enter");
    rig.says("'someday' is no day");
    rig.key("Ctrl-u");
    rig.key("Enter");
    let Event::Emptied(emptied) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!((emptied.left, emptied.how, emptied.use_by), (g("12.5"), How::Typed, None));
}

#[test]
fn another_program_has_the_book_and_the_cup_stays_on_the_list() {
    let rig = done();
    let cups = rig.kept().into_iter().map(|journal| crate::tui::app::Waiting {
        journal: Ok(journal),
        number: 412,
        when: "today".to_owned(),
    });
    let book = FromBook {
        look_only: Some("another program has it open".to_owned()),
        cups: cups.collect(),
        next_number: 413,
        ..FromBook::default()
    };
    let mut rig = Rig::opened(Settings { ..super::rig::settings() }, book);
    rig.live();
    rig.key("F6");
    rig.key("Enter");
    rig.key("e");
    rig.says("nothing can be written");
    assert_eq!((rig.app.cups.len(), rig.sent.len()), (1, 0));
}

/// What was kept is offered for the same layer of the same colour, poured in first, and the rest is reckoned from it.
#[test]
fn a_leftover_is_the_start_of_the_next_mix() {
    let mut rig = kept();
    rig.type_text("gannet");
    rig.key("Enter");
    assert!(!rig.screen().contains("leftover"), "it is of another layer:\n{}", rig.screen());
    rig.key("Esc");
    rig.type_text("gannet");
    rig.key("Right");
    rig.key("Enter");
    rig.says("no leftover (92.4 g)");
    rig.key("F8");
    rig.says("92.4 g of mix 0412");
    rig.key("Enter");
    rig.stand(super::rig::CUP, DWELL);
    rig.says("pour in what is left of mix 0412: 92.4 g");
    let begun = rig.sent.len();
    rig.stand_net(g("92.6"), 2 * DWELL);
    assert_eq!(rig.sent.len(), begun, "how much of it goes in is the painter's to say");
    rig.key("Enter");
    let Event::LeftoverAdded(added) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!(added.after, g("92.4"), "two weighings differ by a division or two");
    assert_eq!(put(&rig, |account| account.to_string().starts_with("leftover:")), -g("92.4"));
    assert!(rig.app.leftovers.is_empty());
    while rig.phase() == Phase::Weighing {
        rig.stand_net(rig.stop(), DWELL);
    }
    assert_eq!(rig.phase(), Phase::Complete, "{}", rig.screen());
    let session = rig.session();
    assert_eq!(session.holds(), rig.app.limits().division.round(session.holds()));
    assert!((session.holds() - session.ordered()).abs() <= g("0.3"), "it comes to what was ordered");
    rig.agrees_with_book();
}

#[test]
fn a_leftover_that_is_not_wanted_after_all_stays_and_what_is_too_old_is_not_offered() {
    let mut rig = done();
    bring_back(&mut rig, "92.4");
    rig.key("Enter");
    rig.type_text("3");
    rig.key("Enter");
    rig.stand("0", 3);
    rig.pick_with("F8");
    rig.stand(super::rig::CUP, DWELL);
    rig.key("n");
    rig.says("it stays on the shelf");
    rig.stand_net(rig.stop(), DWELL);
    assert!(matches!(rig.last(), Event::Poured(_)));
    assert_eq!(rig.app.leftovers.len(), 1);
    rig.key("Esc");
    rig.now += 5 * 86_400_000;
    rig.stand("0", 3);
    rig.type_text("gannet");
    rig.key("Right");
    rig.key("Enter");
    assert!(!rig.screen().contains("leftover"), "{}", rig.screen());
}

/// However it leaves the scale, what was poured of a leftover is never booked as a toner.
#[test]
fn a_leftover_in_the_cup_is_never_booked_as_a_toner() {
    let begun = || {
        let mut rig = kept();
        rig.pick_with("F8");
        rig.stand(super::rig::CUP, DWELL);
        rig.stand_net(g("40"), DWELL);
        rig
    };
    let of_leftover = |rig: &Rig| match rig.events().last() {
        Some(Event::LeftoverAdded(added)) => added.after,
        other => panic!("{other:?}"),
    };
    let mut rig = begun();
    rig.key("n");
    rig.says("some of the leftover is in the cup");
    assert!(rig.app.bench().unwrap().pour_in().is_some());
    rig.scan("K05 24-1");
    rig.says("the leftover goes in first");
    rig.key("Enter");
    assert_eq!(of_leftover(&rig), g("40"));

    // Put aside.
    let mut rig = begun();
    rig.key("Esc");
    let kinds = rig.kinds();
    assert_eq!(kinds[kinds.len() - 2..], ["mix/leftover-added", "mix/set-aside"], "{kinds:?}");

    // Lifted, and back with more: another toner it cannot be.
    let mut rig = begun();
    rig.stand("0", DWELL);
    rig.stand_net(g("60"), DWELL);
    let question = rig.app.bench().unwrap().question().unwrap();
    assert!(question.answers.contains(&crate::tui::bench::Answer::Poured), "{question:?}");
    assert!(!question.answers.contains(&crate::tui::bench::Answer::OtherToner), "{question:?}");
    rig.says("more of the leftover");
    rig.tick(700);
    let at = question.answers.iter().position(|one| *one == crate::tui::bench::Answer::Poured).unwrap();
    rig.key(&(at + 1).to_string());
    assert_eq!(of_leftover(&rig), g("60"));
    rig.agrees_with_book();
}

/// Cut off while a leftover goes in: what came in meanwhile is that leftover when the mix is taken up, and no toner.
#[test]
fn a_leftover_that_was_going_in_when_the_program_ended_is_still_the_leftover() {
    let mut cut_off = kept();
    cut_off.pick_with("F8");
    cut_off.stand(super::rig::CUP, DWELL);
    cut_off.stand_net(g("40"), DWELL);
    let kinds = cut_off.kinds();
    assert_eq!(kinds[kinds.len() - 2..], ["mix/started", "mix/leftover-due"], "{kinds:?}");
    let sent = cut_off.sent.len();
    let taken_up = || {
        let mut rig = cut_off.reopened(None);
        rig.key("Enter");
        rig
    };
    let mut rig = taken_up();
    rig.stand("61.8", 3 * DWELL);
    rig.says("40.0 g in the cup count as the leftover of mix 0412: Enter, then take it");
    assert_eq!(rig.sent.len(), sent);
    rig.key("Enter");
    rig.stand("61.8", 3 * DWELL);
    rig.says("a leftover first");
    assert_eq!(rig.sent.len(), sent, "{:?}", rig.kinds());
    rig.key("Enter");
    let Event::LeftoverAdded(added) = rig.last() else { panic!("{:?}", rig.last()) };
    assert_eq!((added.before, added.after), (g("0"), g("40.0")));
    rig.agrees_with_book();
    // Nothing was poured: it goes on by itself, the leftover still first; without it, that is known after another end.
    let mut rig = taken_up();
    rig.stand(super::rig::CUP, 2 * DWELL);
    rig.says("a leftover first");
    rig.key("n");
    rig.says("it stays on the shelf");
    let mut rig = rig.reopened(None);
    rig.key("Enter");
    rig.stand(super::rig::CUP, 2 * DWELL);
    rig.says_not("a leftover first");
    // Gone from the shelf meanwhile: that is said.
    let mut gone = cut_off.reopened(None);
    gone.app.leftovers.clear();
    gone.key("Enter");
    gone.says("a leftover that is not on the shelf any more");
    // Nor is it poured in where there is hardener in it, as the shop's files have it by now: its pot life runs already.
    let mut hardened = cut_off.reopened(None);
    hardened.app.leftovers[0].made_of.push((TonerCode::new("H60"), g("1")));
    hardened.key("Enter");
    hardened.says("or has hardener in");
    hardened.stand("61.8", 3 * DWELL);
    hardened.key("Enter");
    let added = hardened.events().iter().any(|event| matches!(event, Event::LeftoverAdded(_)));
    assert!(!added, "{:?}", hardened.kinds());
}

/// A mix is done and its cup stays on the scale: it does not become the tare of the next, neither by itself nor with a key
/// pressed once too often.
#[test]
fn the_full_cup_of_the_mix_before_is_not_taken_for_an_empty_one() {
    let next = |weighed_before: bool| {
        let mut rig = Rig::begun();
        for _ in 0..rig.session().recipe().lines().len() {
            rig.stand_net(rig.stop(), DWELL);
        }
        rig.key("Enter");
        let full = rig.gross(rig.session().holds());
        rig.key("Enter");
        if !weighed_before {
            // Without a cup's own weight on file whatever stands there would be one.
            rig.app.catalogue.cups.iter_mut().for_each(|cup| cup.tare = None);
        }
        rig.pick();
        rig.stand(&full, 3 * DWELL);
        rig.says("put the empty cup on the scale");
        rig
    };
    for weighed_before in [true, false] {
        let mut rig = next(weighed_before);
        rig.stand(super::rig::CUP, DWELL);
        rig.says("mix 0413");
        let mut rig = next(weighed_before);
        let written = rig.sent.len();
        rig.key("Enter");
        rig.says("that weighs as the cup of mix 0412 does");
        assert_eq!(rig.sent.len(), written);
        // A cup that happens to weigh as much can be taken all the same.
        rig.key("Enter");
        rig.says("mix 0413");
    }
}
