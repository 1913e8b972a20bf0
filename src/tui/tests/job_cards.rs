//! Spray-out cards at the screen: made, held against the car, and the count of coats chosen by them.

use super::jobs::{job, only, open_first, opened, with, with_cards};
use crate::catalogue::Role;
use crate::job::card::AtAngle;
use crate::job::{CardCompared, CardMade, JobEvent};

#[test]
fn the_marked_card_is_compared_and_chosen() {
    let mut rig = with_cards();
    rig.key("Left");
    rig.answer("v", "face, sun: match");
    rig.says("saved: card 2 was compared");
    rig.key("Enter");
    rig.says("which card matches the car?  2");
    rig.key("Backspace");
    rig.type_text("9");
    rig.key("Enter");
    rig.says("'9' is no card of this job");
    rig.key("Backspace");
    rig.type_text("2");
    rig.key("Enter");
    rig.says("saved: card 2 is chosen: the car gets 2 coats");
    rig.says("chosen");
    let standing = only(&rig).standing(Role::Pearl).unwrap();
    assert_eq!((standing.wanted, standing.chosen.unwrap().card), (Some(2), Some(2)));
}

#[test]
fn without_a_card_a_reason_is_asked_for() {
    let mut rig = opened();
    rig.answer("n", "0");
    rig.says("a number of coats from 1 to 20");
    rig.key("Backspace");
    rig.type_text("3");
    rig.key("Enter");
    rig.key("Enter");
    rig.says("say why");
    rig.type_text("the same car as last week");
    rig.key("Enter");
    rig.says("saved: the car gets 3 coats without a card");
    assert_eq!(rig.kinds(), ["job/card-overruled", "job/card-chosen"]);
    rig.says("next: mix the ground coat");
}

/// With Enter and Enter again, as from a foot switch, the card is chosen that comes nearest, and not the one made last.
#[test]
fn enter_alone_chooses_the_card_that_comes_nearest() {
    let made = |card| (30, JobEvent::CardMade(CardMade::of(card, Role::Pearl, card)));
    let measured = |card, l: &str| {
        let at = AtAngle::parse(&format!("45: car 70 0 0 card {l} 0 0")).unwrap();
        (20, JobEvent::CardCompared(CardCompared { measured: vec![at], ..CardCompared::of(card) }))
    };
    let cards = [made(1), made(2), made(3), measured(1, "67"), measured(2, "70.2"), measured(3, "74")];
    let mut rig = open_first(with(vec![job("26-118", &cards)]));
    rig.key("Enter");
    rig.says("which card matches the car?  2");
    rig.key("Enter");
    let pearl = only(&rig).standing(Role::Pearl).unwrap();
    assert_eq!(pearl.chosen.map(|chosen| (chosen.card, chosen.coats)), Some((Some(2), 2)));
}

/// Where the nearest by measure lies between two cards neither of which has as many coats, that count stands there: Enter
/// and Enter again gives the car three coats, though the cards have two and four.
#[test]
fn a_count_between_two_cards_is_chosen() {
    let made = |card, coats| (30, JobEvent::CardMade(CardMade::of(card, Role::Pearl, coats)));
    let measured = |card, l: &str| {
        let at = AtAngle::parse(&format!("45: car 70 0 0 card {l} 0 0")).unwrap();
        (20, JobEvent::CardCompared(CardCompared { measured: vec![at], ..CardCompared::of(card) }))
    };
    let cards = || vec![made(1, 2), made(2, 4), measured(1, "67"), measured(2, "73")];
    let mut rig = open_first(with(vec![job("26-118", &cards())]));
    rig.key("Enter");
    rig.says("which card matches the car?  3 coats");
    rig.key("Enter");
    rig.says("saved: between cards 1 and 2: the car gets 3 coats");
    let pearl = only(&rig).standing(Role::Pearl).unwrap();
    assert_eq!(pearl.chosen.map(|chosen| (chosen.card, chosen.between)), Some((None, Some((1, 2)))));
    assert_eq!(rig.kinds(), ["job/card-chosen"]);
    // By hand the same; a count that a card has is that card's; one that none shows is asked about.
    let mut rig = open_first(with(vec![job("26-118", &cards())]));
    rig.key("k");
    rig.key("Backspace");
    rig.type_text("4 coats");
    rig.key("Enter");
    rig.says("saved: card 2 is chosen: the car gets 4 coats");
    rig.key("k");
    rig.key("Backspace");
    rig.type_text("many coats");
    rig.key("Enter");
    rig.says("a number of coats from 1 to 20");
    for _ in "many coats".chars() {
        rig.key("Backspace");
    }
    rig.type_text("5 coats");
    rig.key("Enter");
    rig.says("no card of the pearl coat shows 5");
    rig.type_text("as the other side of the car");
    rig.key("Enter");
    rig.says("saved: the car gets 5 coats");
    assert_eq!(rig.kinds(), ["job/card-chosen", "job/card-overruled", "job/card-chosen"]);
}

/// The ground coat alone is a card to compare with; where it comes nearest, Enter and Enter does not give the car no pearl.
#[test]
fn a_card_without_a_coat_is_made_and_not_chosen() {
    let mut rig = opened();
    rig.key("Enter");
    rig.says("a card: with how many coats?  1");
    rig.key("Backspace");
    rig.type_text("0");
    for _ in 0..3 {
        rig.key("Enter");
    }
    rig.says("saved: card 1: 0 coats of the pearl coat");
    rig.says("next: make spray-out cards of the pearl coat");
    rig.key("Enter");
    rig.says("a card: with how many coats?  1");
    for _ in 0..3 {
        rig.key("Enter");
    }
    rig.key("Left");
    rig.answer("v", "face sun: match");
    rig.key("Enter");
    rig.says("which card matches the car?  1");
    rig.key("Enter");
    rig.says("is there to compare with");
    assert_eq!(only(&rig).standing(Role::Pearl).unwrap().chosen, None);
    assert_eq!(rig.kinds(), ["job/card-made", "job/card-made", "job/card-compared"]);
}

/// What an instrument measured is typed as on the command line, and reckoned with; what is meant so and cannot be read is
/// refused, and nothing is written of it.
#[test]
fn readings_are_read_on_the_screen_too() {
    let mut rig = with_cards();
    rig.key("v");
    rig.type_text("45: car 61.2 -1.3 4.5 card 60.9 -1.2");
    rig.key("Enter");
    rig.says("is not two samples of three numbers");
    assert!(only(&rig).cards().all(|card| card.measured.is_empty() && card.seen.is_empty()));
    rig.type_text(" 4.6");
    rig.key("Enter");
    let measured: Vec<usize> = only(&rig).cards().map(|card| card.measured.len()).collect();
    assert_eq!(measured.iter().sum::<usize>(), 1, "{measured:?}");
    rig.says("ΔE00 45°");
}

/// The undercoat and the gun of a card are those of its own job.
#[test]
fn a_card_begins_with_its_own_jobs_undercoat() {
    let mut rig = open_first(with(vec![job("26-118", &[])]));
    rig.app.jobs_at_work.card.typed = ["2".to_owned(), "G7".to_owned(), "tip=1.8 mm".to_owned()];
    rig.app.ask_card();
    assert_eq!(rig.app.jobs_at_work.card.typed, ["1", "ground coat", ""]);
}
