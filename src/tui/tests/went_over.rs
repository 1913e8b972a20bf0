//! The toners that went over, and the pours put right: opened into their mixes, and those into their events.

use super::rig::Rig;
use super::waste::{answer, marked, opened, read, told};
use crate::book::{Having, Mark};
use crate::report::overs::Corrections;
use crate::report::waste::Waste;
use crate::tui::keys::Action;
use crate::tui::message::Message;
use crate::tui::of_use::available;
use crate::tui::screens::waste_tests::waste;
use crate::tui::waste::Span;

/// What went over.
pub(super) fn overs() -> Rig {
    let mut rig = opened();
    rig.key("F8");
    rig
}

/// Most often over is opened, its toner into the mixes in which it went over, and such a mix into its events.
#[test]
fn behind_a_toner_that_went_over_are_its_mixes() {
    let mut rig = opened();
    rig.says("most often over F8");
    rig.key("F8");
    rig.says("What went over");
    rig.says("the last 90 days");
    rig.says("K05 carbon black");
    assert_eq!(marked(&rig), "K05");
    rig.says("went over 3 times in 14 pours, by 4.6 g together, 1.5 g on average, 2.4 g");
    rig.key("Enter");
    rig.says("reading its mixes");
    let wanted = rig.mix_reads.last().unwrap();
    assert!(matches!(&wanted.of.having, Some(Having::Mark(Mark::Over(toner))) if toner.as_str() == "K05"));
    answer(&mut rig);
    rig.says("3 mixes");
    rig.says("over by");
    assert_eq!(marked(&rig), "0401");
    rig.says("K05 went over by 1.0 g");
    rig.key("Down");
    assert_eq!(marked(&rig), "0390");
    rig.says("K05 went over by 2.4 g");
    rig.says_not("0377");
    rig.key("Enter");
    assert_eq!(rig.event_reads, [390]);
    rig.says("what happened to mix 0390");
    rig.send(Message::EventsRead { number: 390, read: Ok(Vec::new()) });
    rig.says("the book has no such mix any more");
    // Each Esc goes back one step.
    rig.key("Esc");
    assert_eq!(marked(&rig), "0390");
    rig.key("Esc");
    assert_eq!(marked(&rig), "K05");
    rig.key("Esc");
    rig.says("by week");
    assert_eq!(marked(&rig), "2026-W40");
    rig.key("Esc");
    rig.says("Colours");
}

#[test]
fn behind_the_corrections_are_the_mixes_that_were_put_right() {
    let mut rig = overs();
    for _ in 0..4 {
        rig.key("Down");
    }
    rig.says("▸ pours put right by a way out");
    rig.says("4 corrections saved 131.6 g");
    rig.key("Enter");
    assert!(matches!(&rig.mix_reads.last().unwrap().of.having, Some(Having::Mark(Mark::PutRight))));
    answer(&mut rig);
    rig.says("4 mixes");
    assert_eq!(marked(&rig), "0405");
    rig.says("left as it was: 0.0 g wasted");
    rig.key("Down");
    rig.says("drew some off: 5.4 g wasted");
    rig.key("Enter");
    assert_eq!(rig.event_reads, [401]);
}

#[test]
fn behind_what_was_given_up_are_its_mixes() {
    let mut rig = overs();
    for _ in 0..9 {
        rig.key("Down");
    }
    rig.says("▸ mixes given up over a pour");
    rig.says("1 mix was given up while a pour was over or wrong, with 186.2 g in the");
    rig.key("Enter");
    assert!(matches!(&rig.mix_reads.last().unwrap().of.having, Some(Having::Mark(Mark::GivenUp))));
    answer(&mut rig);
    assert_eq!(marked(&rig), "0384");
    rig.says("lost: given up: wrong toner 186.2 g");
}

#[test]
fn what_went_over_is_filtered_while_typing_and_sorted() {
    let mut rig = overs();
    let mut seen = Vec::new();
    for words in [
        "largest share first",
        "furthest on average first",
        "furthest at worst first",
        "by code",
        "most often first",
    ] {
        rig.key("Tab");
        rig.says(words);
        seen.push(marked(&rig));
    }
    // By hand: 3 of 14, 2 of 16, 1 of 11, 1 of 6; on average 1.5, 4.5, 0.8 and 5.2 g; at worst 2.4, 6.1, 0.8 and 5.2 g.
    assert_eq!(seen, ["K05", "M82", "W10", "K05", "K05"]);
    rig.type_text("oxide");
    assert_eq!(marked(&rig), "Y41");
    rig.says_not("carbon black");
    rig.type_text("x");
    rig.says("no toner that went over has all of these words");
    rig.says_not("Enter open");
    rig.key("Enter");
    assert!(rig.mix_reads.is_empty());
    // What is typed here is of this page alone.
    rig.key("Esc");
    rig.says("carbon black");
    rig.key("Esc");
    rig.says("by week");
    assert_eq!(marked(&rig), "2026-W40");
}

/// Figures that come meanwhile leave the mark on its toner and the opened one open.
#[test]
fn the_mark_stays_with_its_toner() {
    let mut rig = overs();
    rig.key("Down");
    assert_eq!(marked(&rig), "W10");
    let mut other = waste(Span::Days90);
    other.overs.swap(0, 1);
    rig.send(told(Span::Days90, &other));
    assert_eq!(marked(&rig), "W10");
    rig.key("Enter");
    answer(&mut rig);
    rig.says("2 mixes");
    rig.send(read(Span::Days90));
    answer(&mut rig);
    rig.says("W10 titanium white");
    rig.says("W10 went over by 6.1 g");
    rig.key("Esc");
    // Another time is turned to from here too.
    rig.key("F9");
    rig.says("What went over");
    rig.says("the last year");
    rig.says("reading the book");
    rig.send(read(Span::Year));
    assert_eq!(marked(&rig), "K05");
}

#[test]
fn where_nothing_went_over_the_page_does_not_open() {
    let mut rig = Rig::new();
    rig.key("F8");
    let none = Waste { overs: Vec::new(), corrections: Corrections::default(), ..waste(Span::Days90) };
    rig.send(told(Span::Days90, &none));
    rig.says("no pour");
    rig.key("F8");
    rig.says("by week");
    assert!(!available(&rig.app, rig.app.context()).contains(&Action::WentOver));
}
