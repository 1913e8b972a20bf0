//! The demo that weighs by itself, with the virtual bench in the loop and nothing else.

use super::rig::{Rig, virtual_settings};
use crate::mix::Event;
use crate::scale::{Spec, VirtualBench};
use crate::tui::app::{FromBook, Settings};
use crate::units::Grams;

/// Lets it mix until so many mixes are done. No mix takes a quarter of an hour.
fn rehearsed(seed: u64, mixes: usize) -> Rig {
    let spec = Spec::default();
    let settings = Settings { capacity: Some(spec.capacity), rehearsal: true, seed, ..virtual_settings() };
    let mut rig = Rig::opened(settings, FromBook { next_number: 1, ..FromBook::default() });
    let mut bench = VirtualBench::new(spec, seed);
    rig.live();
    for _ in 0..mixes * 9_000 {
        bench.advance(100);
        rig.frame(bench.frame());
        rig.tick(0);
        for hand in rig.hands.drain(..) {
            bench.hand(hand);
        }
        if rig.kinds().iter().filter(|kind| **kind == "mix/finished").count() == mixes {
            rig.agrees_with_book();
            return rig;
        }
    }
    panic!("seed {seed} got stuck: {:?}\n{}", rig.kinds(), rig.screen());
}

/// What was poured, of which toner.
fn poured(rig: &Rig) -> Vec<(String, Grams)> {
    let events = rig.events().into_iter();
    let pours = events.filter_map(|event| match event {
        Event::Poured(pour) => Some((pour.toner.as_str().to_owned(), pour.after - pour.before)),
        _ => None,
    });
    pours.collect()
}

#[test]
fn three_mixes_run_by_themselves_to_the_end() {
    for seed in 1..=4 {
        let rig = rehearsed(seed, 3);
        assert!(poured(&rig).len() >= 3, "{:?}", rig.kinds());
        assert!(!rig.kinds().contains(&"mix/abandoned"), "{:?}", rig.kinds());
    }
}

#[test]
fn the_same_seed_pours_the_same() {
    let (first, second) = (rehearsed(5, 3), rehearsed(5, 3));
    assert_eq!(poured(&first), poured(&second));
    assert_ne!(poured(&first), poured(&rehearsed(6, 3)), "and another seed something else");
}

#[test]
fn what_goes_over_is_put_right() {
    let rig = rehearsed(1, 10);
    let events = rig.events();
    let put_right = events.iter().filter(|event| matches!(event, Event::Steered(_))).count();
    assert!(put_right >= 1, "{:?}", rig.kinds());
    assert_eq!(events.iter().filter(|event| matches!(event, Event::Finished)).count(), 10);
}
