//! What is on disk and what is not: the screen says so, and nothing is lost or written in another order.

use super::rig::{Book, DWELL, Rig, settings};
use crate::mix::Event;
use crate::tui::app::FromBook;

#[test]
fn a_pour_is_saved_once_the_book_says_so() {
    let mut rig = Rig::begun();
    rig.book = Book::Withholds;
    rig.stand_net(rig.stop(), DWELL);
    rig.says("saving…");
    assert!(!rig.app.all_saved());
    let id = rig.sent[1].id;
    rig.saved(rig.sent[0].id);
    rig.says("saving…");
    rig.saved(id);
    rig.says_not("saving…");
    rig.says("saved");
    assert!(rig.app.all_saved());
}

#[test]
fn what_could_not_be_saved_is_sent_again_in_order_with_the_ids_it_had() {
    let mut rig = Rig::begun();
    rig.book = Book::Fails;
    for _ in 0..3 {
        rig.stand_net(rig.stop(), DWELL);
        rig.says("NOT SAVED  the disk is full. Ctrl-S tries again");
    }
    let unsaved = rig.sent[1..].to_vec();
    assert_eq!(unsaved.len(), 3, "weighing goes on all the same");
    rig.says("R20");

    // Once more in vain.
    rig.key("Ctrl-S");
    assert_eq!(rig.sent[4..], unsaved);
    rig.says("NOT SAVED  the disk is full");
    // While it is being tried, nobody knows.
    rig.book = Book::Withholds;
    rig.key("Ctrl-S");
    assert_eq!(rig.sent[7..], unsaved);
    rig.says_not("NOT SAVED");
    rig.says("saving…");
    // A pour that comes meanwhile stands behind them.
    rig.stand_net(rig.stop(), DWELL);
    let later = rig.sent[10].clone();
    rig.saved(unsaved[0].id);
    rig.book = Book::Saves;
    rig.key("Ctrl-S");
    let again: Vec<_> = rig.sent[11..].iter().map(|envelope| envelope.id).collect();
    assert_eq!(again, [unsaved[1].id, unsaved[2].id, later.id]);
    assert!(rig.app.all_saved());
    rig.says_not("saving…");
    rig.key("Ctrl-S");
    assert_eq!(rig.sent.len(), 14, "there is nothing left to send");
}

#[test]
fn leaving_with_something_unsaved_needs_a_second_word() {
    let mut rig = Rig::begun();
    rig.book = Book::Fails;
    rig.stand_net(rig.stop(), DWELL);
    rig.key("Ctrl-C");
    assert!(!rig.quit);
    rig.says("not everything is saved: press it once more to leave all the same");
    rig.key("h");
    rig.key("Ctrl-C");
    assert!(!rig.quit, "another key in between takes the first word back");
    rig.key("Ctrl-C");
    assert!(rig.quit);
}

#[test]
fn the_banner_is_on_every_screen() {
    let mut rig = Rig::begun();
    rig.book = Book::Fails;
    rig.key("Esc");
    assert_eq!(rig.last(), Event::SetAside);
    rig.says("NOT SAVED  the disk is full");
    rig.key("Enter");
    rig.says("NOT SAVED  the disk is full");
}

#[test]
fn looking_only_writes_nothing() {
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop(), DWELL);
    let names = "Enter n + w - m * h 0 o / j r d x z 1 2 3 Up Down Left Right Tab Esc Backspace s u c t l q";
    // At a mix that waits, as far as one can look.
    let mut look = rig.reopened(Some("another program has the book"));
    let written = look.sent.len();
    look.says("another program has the book");
    for first in names.split(' ') {
        for second in ["Enter", "x", "1", "z", "n"] {
            look.key("Enter");
            for key in [first, second, "Enter"] {
                look.key(key);
                assert_eq!(look.sent.len(), written, "{first} {second}: {}", look.screen());
            }
            look.stand("97.0", 1);
            look.key("Esc");
        }
    }
    assert_eq!(look.app.waiting.len(), 1, "and the mix still waits");
    // A new mix cannot be begun.
    let book = FromBook { look_only: Some("the disk cannot be written".to_owned()), ..FromBook::default() };
    let mut look = Rig::opened(settings(), book);
    look.live();
    look.pick();
    look.stand(super::rig::CUP, 2 * DWELL);
    look.key("Enter");
    assert!(look.sent.is_empty());
    look.says("nothing can be written: the disk cannot be written");
}

#[test]
fn a_mix_that_waits_can_be_looked_at() {
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop(), DWELL);
    let mut look = rig.reopened(Some("another program has the book"));
    look.key("Enter");
    look.says("75.2");
    look.stand("97.0", 3 * DWELL);
    look.stand("500.0", 3 * DWELL);
    assert_eq!(look.app.notice, None, "nobody asked for anything");
    assert_eq!(look.sent.len(), 2);
}
