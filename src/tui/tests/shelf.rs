//! The stores manager's shelf: found, sorted, opened; and what the book says late.

use super::rig::Rig;
use crate::catalogue::TonerCode;
use crate::tui::keys::Action;
use crate::tui::message::Message;
use crate::tui::screens::shelf_tests::{moves, shelf};

/// The shelf on the screen, its figures read.
pub(super) fn opened() -> Rig {
    let mut rig = Rig::new();
    rig.key("F7");
    rig.send(Message::ShelfRead(Ok(Box::new(shelf()))));
    rig
}

/// The marked toner's tins, and what came and went read.
pub(super) fn white() -> Rig {
    let mut rig = opened();
    rig.type_text("white ti");
    rig.key("Enter");
    let read = Ok(moves(30));
    rig.send(Message::MovesRead { toner: TonerCode::new("W10"), read });
    rig
}

fn marked(rig: &Rig) -> String {
    let screen = rig.screen();
    let line = screen.lines().find(|line| line.starts_with(" ▸")).unwrap_or_default().to_owned();
    line.split_whitespace().nth(2).unwrap_or_default().to_owned()
}

#[test]
fn it_is_read_each_time_and_what_was_read_last_stands_there_meanwhile() {
    let mut rig = Rig::new();
    rig.key("F7");
    assert_eq!(rig.shelf_reads, 1);
    rig.says("reading the book");
    rig.send(Message::ShelfRead(Ok(Box::new(shelf()))));
    rig.says("titanium white");
    rig.key("Esc");
    rig.says("PB-3140");
    rig.key("F7");
    assert_eq!(rig.shelf_reads, 2);
    rig.says("titanium white");
    rig.send(Message::ShelfRead(Err("the book cannot be read: the disk is gone".to_owned())));
    rig.says("the disk is gone");
    assert!(rig.sent.is_empty() && !rig.quit);
}

#[test]
fn it_is_filtered_while_typing_by_words_and_labels() {
    let mut rig = opened();
    rig.says_not("violet");
    rig.type_text("26-144");
    rig.says("1 toner");
    assert_eq!(marked(&rig), "W10");
    rig.key("Ctrl-u");
    // Typed for, a toner is there of which no tin is.
    rig.type_text("violet");
    rig.says("V33");
    rig.type_text("x");
    rig.says("no toner has all of these words");
    rig.key("Esc");
    rig.says("titanium white");
    rig.key("Esc");
    rig.says("Colours");
}

#[test]
fn tab_turns_through_the_ways_to_sort() {
    let mut rig = opened();
    assert_eq!(marked(&rig), "B15");
    let mut seen = Vec::new();
    for _ in 0..4 {
        rig.key("Tab");
        seen.push(marked(&rig));
    }
    // The emptiest, the one that lasts shortest, the one that expires first, and by code again. What has expired
    // already is no stock: it has no day any more.
    assert_eq!(seen, ["Y41", "B15", "Y41", "B15"]);
    rig.says("by code");
}

/// Figures that come while somebody looks leave the mark on its toner.
#[test]
fn the_mark_stays_with_its_toner() {
    let mut rig = opened();
    rig.key("Down");
    let was = marked(&rig);
    let mut fewer = shelf();
    fewer.toners.retain(|toner| toner.toner.as_str() != "B15");
    rig.send(Message::ShelfRead(Ok(Box::new(fewer))));
    assert_eq!(marked(&rig), was);
}

#[test]
fn a_toner_shows_its_tins_and_what_is_behind_them() {
    let mut rig = white();
    assert_eq!(rig.move_reads, ["W10"]);
    for words in ["26-101", "26-144", "unopened", "2027-06-30", "time to order at", "counted", "-12.4"] {
        rig.says(words);
    }
    rig.says_not("Northgate");
    for _ in 0..4 {
        rig.send(Message::Clicked(vec![Action::PageDown]));
    }
    rig.says("received from Northgate Coatings (inv…  +1482.0");
    // What was asked for another toner is not shown for this one.
    rig.send(Message::MovesRead { toner: TonerCode::new("K05"), read: Err("not this one".to_owned()) });
    rig.says_not("not this one");
    rig.key("Esc");
    rig.says("1 toner");
}

/// Enter leaves what came and went of the marked tin alone, and the mark takes it along.
#[test]
fn what_came_and_went_is_shown_of_one_tin() {
    let mut rig = white();
    rig.says("tin not said");
    rig.send(Message::Clicked(vec![Action::PageDown]));
    rig.key("Enter");
    rig.says("what came and went of tin 26-101, the latest first");
    rig.says_not("tin not said");
    rig.says("counted");
    rig.key("Down");
    rig.says("what came and went of tin 26-144, the latest first");
    rig.says("nothing yet");
    rig.key("Up");
    rig.key("Enter");
    rig.says("tin not said");
    rig.key("Enter");
    // Esc goes back one step.
    rig.key("Esc");
    rig.says("what came and went, the latest first");
    rig.says("tin not said");
    rig.key("Esc");
    rig.says("1 toner");
}

/// What open jobs need and could not be counted in stands below the list, as many sentences as there is room for.
#[test]
fn what_jobs_need_that_is_not_counted_in_is_said() {
    let mut rig = opened();
    rig.says_not("not counted in");
    let note = |at: usize| format!("not counted in, ground coat of '26-{at}': what is painted is not said");
    let mut one = shelf();
    one.not_counted = vec![note(1)];
    rig.send(Message::ShelfRead(Ok(Box::new(one))));
    rig.says("   not counted in, ground coat of '26-1': what is painted is not said");
    rig.says("titanium white");
    let mut many = shelf();
    many.not_counted = (1..=20).map(note).collect();
    rig.send(Message::ShelfRead(Ok(Box::new(many))));
    rig.says(&note(4));
    rig.says_not(&note(5));
    rig.says("not counted in, 16 more layers of open jobs: pourbook shelf says why");
    rig.says("titanium white");
}

/// What a toner is needed for stands at the toner.
#[test]
fn what_jobs_need_stands_at_the_toner() {
    let mut rig = white();
    rig.says_not("open jobs");
    let mut needed = shelf();
    for toner in needed.toners.iter_mut().filter(|toner| toner.toner.as_str() == "W10") {
        toner.for_jobs = super::rig::g("61.5");
    }
    rig.send(Message::ShelfRead(Ok(Box::new(needed))));
    rig.says("on the shelf 2547.4 g, of which mixes that are not done need 257.4 g");
    rig.says("   layers of open jobs need 61.5 g");
    rig.says("3916.8 g used in 88 days");
}

#[test]
fn a_scanned_tin_opens_its_toner() {
    let mut rig = opened();
    rig.scan("K05 26-077");
    assert_eq!(rig.move_reads, ["K05"]);
    rig.says("carbon black");
    rig.says("26-077");
    rig.key("Esc");
    rig.says("by code");
    rig.says("titanium white");
}
