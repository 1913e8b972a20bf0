//! The owner's waste: told apart, sorted, found, opened; and what the book says late.

use super::mouse::{at, click};
use super::rig::{Rig, settings};
use crate::book::{Account, Having, Mark};
use crate::catalogue::TonerCode;
use crate::report::Period;
use crate::report::waste::{By, Happened, MixPage, Overview, Waste, Went};
use crate::tui::app::{FromBook, Settings};
use crate::tui::keys::Action;
use crate::tui::message::Message;
use crate::tui::preferences::Preferences;
use crate::tui::screens::waste_tests::{NOW, period, waste};
use crate::tui::waste::Span;
use crate::units::{DecimalSign, Grams, MassShown, Notation, Stamp};
use ratatui::crossterm::event::MouseEventKind;

/// The book's answer on a time.
pub(super) fn read(span: Span) -> Message {
    told(span, &waste(span))
}

pub(super) fn told(span: Span, waste: &Waste) -> Message {
    let (days, bucket) = (period(span), span.bucket());
    let read = Ok(Box::new(Overview::of_mixes(waste, &days, bucket)));
    Message::WasteRead { span, period: days, read }
}

/// The book's answer on the mixes behind a row that was opened last; of many pages that one.
pub(super) fn answer(rig: &mut Rig) {
    let wanted = rig.mix_reads.pop().expect("mixes were asked for");
    let (all, days) = (waste(wanted.span), period(wanted.span));
    let time = &wanted.of.time;
    let mut places: Vec<usize> = match &wanted.of.having {
        None | Some(Having::Mark(_)) => {
            let is_of = |at: &usize| time.contains(&all.mixes[*at].begun);
            (0..all.mixes.len()).rev().filter(is_of).collect()
        }
        Some(Having::Sum(apart, kept_as)) => {
            let by = match apart.word() {
                "layer" => By::Layer,
                "painter" => By::Painter,
                "colour" => By::Colour,
                _ => By::Reason,
            };
            all.mixes_of(&days, by, &kept_as[0].0)
        }
    };
    let before = |at: &usize| {
        wanted.before.is_none_or(|before| (all.mixes[*at].begun, all.mixes[*at].number) < before)
    };
    places.retain(before);
    let has_mark = |at: &usize| match &wanted.of.having {
        Some(Having::Mark(Mark::Over(toner))) => all.mixes[*at].overs.iter().any(|own| own.toner == *toner),
        Some(Having::Mark(Mark::PutRight)) => !all.mixes[*at].chosen.is_empty(),
        Some(Having::Mark(Mark::GivenUp)) => all.mixes[*at].given_up_over.is_some(),
        _ => true,
    };
    places.retain(has_mark);
    let most = usize::try_from(wanted.most).unwrap();
    let mixes = places.iter().take(most).map(|at| all.mixes[*at].clone()).collect();
    let read = Ok(MixPage { mixes, is_more: places.len() > most });
    rig.send(Message::MixesRead { wanted: Box::new(wanted), read });
}

/// The waste on the screen, its figures read.
pub(super) fn opened() -> Rig {
    let mut rig = Rig::new();
    rig.key("F8");
    rig.send(read(Span::Days90));
    rig
}

/// The mixes of a painter.
pub(super) fn mixes() -> Rig {
    let mut rig = opened();
    for _ in 0..3 {
        rig.key("Right");
    }
    rig.type_text("kim");
    rig.key("Enter");
    answer(&mut rig);
    rig
}

/// The same before the first mix.
pub(super) fn empty() -> Rig {
    let mut rig = Rig::new();
    rig.key("F8");
    let read = Ok(Box::default());
    rig.send(Message::WasteRead { span: Span::Days90, period: period(Span::Days90), read });
    rig
}

pub(super) fn failed() -> Rig {
    let mut rig = Rig::new();
    rig.key("F8");
    let read = Err("the book cannot be read: the disk is gone".to_owned());
    rig.send(Message::WasteRead { span: Span::Days90, period: period(Span::Days90), read });
    rig
}

pub(super) fn marked(rig: &Rig) -> String {
    let screen = rig.screen();
    let line = screen.lines().find(|line| line.starts_with(" ▸")).unwrap_or_default();
    line.split_whitespace().nth(1).unwrap_or_default().to_owned()
}

fn spans(rig: &Rig) -> Vec<Span> {
    rig.waste_reads.iter().map(|(span, _)| *span).collect()
}

#[test]
fn it_is_read_each_time_and_what_was_read_last_stands_there_meanwhile() {
    let mut rig = Rig::new();
    rig.key("F8");
    assert_eq!(spans(&rig), [Span::Days90]);
    rig.says("reading the book");
    rig.send(read(Span::Days90));
    rig.says("2026-W40");
    rig.says_not("reading the book");
    rig.key("Esc");
    rig.says("PB-3140");
    rig.key("F8");
    assert_eq!(spans(&rig), [Span::Days90, Span::Days90]);
    rig.says("2026-W40");
    rig.says("reading the book");
    rig.send(read(Span::Days90));
    rig.says_not("reading the book");
    assert!(rig.sent.is_empty() && !rig.quit);
}

#[test]
fn a_reading_that_failed_says_why_and_is_tried_again() {
    let mut rig = failed();
    rig.says("the disk is gone; F5 reads it again");
    rig.key("F5");
    rig.says("reading the book");
    rig.says_not("the disk is gone");
    // It is on its way: once more is not twice as fast.
    rig.key("F5");
    assert_eq!(spans(&rig), [Span::Days90, Span::Days90]);
    rig.send(read(Span::Days90));
    rig.says("2026-W40");
}

#[test]
fn an_empty_book_says_what_to_do() {
    let mut rig = empty();
    rig.says("no mix was begun in the last 90 days: F9 turns to another time");
    for (span, words) in
        [(Span::Year, "in the last year: F9"), (Span::All, "the book has no mix yet: pick a colour")]
    {
        rig.key("F9");
        rig.send(Message::WasteRead { span, period: period(span), read: Ok(Box::default()) });
        rig.says(words);
    }
}

#[test]
fn the_times_are_turned_through_and_each_is_read_once() {
    let mut rig = opened();
    rig.says("the last 90 days, by week");
    rig.key("F9");
    rig.says("the last year, by week");
    rig.says("reading the book");
    rig.key("F9");
    rig.says("by month");
    // The year comes late: it is kept, and not taken for all.
    rig.send(read(Span::Year));
    rig.says("reading the book");
    rig.send(read(Span::All));
    rig.says("2026-09");
    rig.key("F9");
    rig.says("the last 30 days, by week");
    rig.send(read(Span::Days30));
    rig.says_not("2026-W30");
    rig.key("F9");
    rig.key("F9");
    rig.says("the last year, by week");
    rig.says("2026-W40");
    assert_eq!(spans(&rig), [Span::Days90, Span::Year, Span::All, Span::Days30]);
    // The next time it opens with the time that was looked at last.
    rig.key("Esc");
    rig.key("F8");
    rig.says("the last year");
    assert_eq!(spans(&rig).last(), Some(&Span::Year));
}

/// The days are those of the clock on the wall, as everything on the screen.
#[test]
fn the_days_end_with_today_on_the_wall() {
    let days = |seconds_east| {
        let settings = Settings { seconds_east, ..settings() };
        let mut rig = Rig::opened(settings, FromBook { next_number: 412, ..FromBook::default() });
        rig.live();
        rig.key("F8");
        let period: &Period = &rig.waste_reads[0].1;
        (period.first().to_string(), period.last().to_string())
    };
    // The rig's clock says 2023-11-14 22:13.
    assert_eq!(days(0), ("2023-08-17".to_owned(), "2023-11-14".to_owned()));
    assert_eq!(days(7_200), ("2023-08-18".to_owned(), "2023-11-15".to_owned()));
}

#[test]
fn one_key_turns_through_what_it_is_told_apart_by() {
    let mut rig = opened();
    let mut seen = vec![marked(&rig)];
    for by in ["by layer", "by reason", "by painter", "by colour", "by week"] {
        rig.key("Right");
        rig.says(by);
        seen.push(marked(&rig));
    }
    // The latest week; the layer with the most wasted; sprayed comes first; the painter and the colour with the most
    // wasted.
    assert_eq!(seen, ["2026-W40", "ground", "sprayed", "Sascha", "PB-3140", "2026-W40"]);
    rig.key("Left");
    rig.says("by colour");
    // Nothing more is read for it.
    assert_eq!(spans(&rig), [Span::Days90]);
}

#[test]
fn tab_turns_through_the_ways_to_sort() {
    let mut rig = opened();
    let mut seen = Vec::new();
    for words in [
        "most wasted first",
        "largest share first",
        "dearest waste first",
        "most mixed first",
        "the latest first",
    ] {
        rig.key("Tab");
        rig.says(words);
        seen.push(marked(&rig));
    }
    // By hand: 186.2 g were given up on 9 August, most of all and of the 407.2 g of that week; most was mixed in the last,
    // 317.4, 225.1, 190.6 and 257.3 g. Everything costs the same.
    assert_eq!(seen, ["2026-W32", "2026-W32", "2026-W32", "2026-W40", "2026-W40"]);
    rig.key("Right");
    rig.key("Right");
    rig.says("as it ends");
    // Of what became of paint a share wasted says nothing.
    for words in ["most wasted first", "dearest waste first", "most mixed first", "as it ends"] {
        rig.key("Tab");
        rig.says(words);
    }
}

#[test]
fn it_is_filtered_while_typing() {
    let mut rig = opened();
    rig.key("Right");
    rig.key("Right");
    rig.type_text("thrown much");
    assert_eq!(marked(&rig), "thrown");
    rig.says("thrown away: too mu…");
    rig.says_not("given up: wrong");
    rig.type_text("x");
    rig.says("no row has all of these words");
    rig.key("Esc");
    rig.says("given up: wrong");
    rig.key("Esc");
    rig.says("Colours");
}

#[test]
fn behind_a_row_are_its_mixes_and_why() {
    let mut rig = mixes();
    for words in ["Kim", "5 mixes", "0401", "2026-09-28 07:30", "base", "317.4", "lost: drawn off 5.4 g"] {
        rig.says(words);
    }
    rig.says_not("Robin");
    rig.key("Down");
    rig.says("mix 0390, PB-3140 ground: sprayed on R-2390 296.0 g");
    for _ in 0..20 {
        rig.key("Down");
    }
    rig.says("nothing of it is lost");
    rig.says("mix 0372");
    // Figures that come meanwhile leave it open, and its mixes are read anew.
    rig.send(read(Span::Days90));
    rig.says("mix 0372");
    answer(&mut rig);
    rig.says("mix 0372");
    rig.key("Esc");
    rig.says("by painter");
    assert_eq!(marked(&rig), "Kim");
}

/// Behind a mix is what happened to it, which is read when it is opened.
#[test]
fn behind_a_mix_are_its_events() {
    let mut rig = mixes();
    rig.key("Down");
    rig.key("Enter");
    assert_eq!(rig.event_reads, [390]);
    rig.says("what happened to mix 0390");
    rig.says("reading its events");
    let happened = |second: i64, what: &str| Happened {
        at: Stamp(second * 1_000_000),
        by: "Kim".to_owned(),
        what: what.to_owned(),
        went: vec![Went {
            toner: Some(TonerCode::new("W10")),
            mass: Grams::parse("-12.3").unwrap(),
            place: Account::Tin("24-031".to_owned()),
        }],
    };
    // What comes late of another mix is not this one's.
    rig.send(Message::EventsRead { number: 401, read: Ok(vec![happened(7, "turned")]) });
    rig.says("reading its events");
    let all = (0..60).map(|second| happened(second, &format!("pour {second}"))).collect();
    rig.send(Message::EventsRead { number: 390, read: Ok(all) });
    rig.says("60 events");
    rig.says("00:00:00  pour 0          W10 12.3 g from tin 24-031");
    for _ in 0..100 {
        rig.send(Message::Clicked(vec![Action::PageDown]));
    }
    rig.says("pour 59");
    rig.says_not("pour 58");
    rig.send(Message::Clicked(vec![Action::PageUp]));
    rig.says("pour 58");
    // Enter opens nothing more, and each Esc goes back one step.
    rig.key("Enter");
    assert_eq!(rig.event_reads, [390]);
    rig.key("Esc");
    rig.says("mix 0390, PB-3140 ground");
    rig.key("Enter");
    let read = Err("the disk is gone".to_owned());
    rig.send(Message::EventsRead { number: 390, read });
    rig.says("the disk is gone; go back and open it again");
    rig.key("Esc");
    rig.key("Esc");
    rig.says("by painter");
}

/// A row's mixes are asked for when it is opened, and what comes for another row is let go.
#[test]
fn a_row_s_mixes_are_read_when_it_is_opened() {
    let mut rig = opened();
    assert!(rig.mix_reads.is_empty());
    for _ in 0..3 {
        rig.key("Right");
    }
    rig.type_text("kim");
    rig.key("Enter");
    rig.says("reading its mixes");
    rig.says("5 mixes");
    let late = rig.mix_reads.pop().unwrap();
    rig.key("Esc");
    rig.key("Esc");
    rig.type_text("robin");
    rig.key("Enter");
    rig.says("reading its mixes");
    rig.send(Message::MixesRead { wanted: Box::new(late.clone()), read: Ok(MixPage::default()) });
    rig.says("reading its mixes");
    answer(&mut rig);
    rig.says_not("reading its mixes");
    rig.says("Robin");
    // Once more the same does no harm.
    rig.send(Message::MixesRead { wanted: Box::new(late), read: Err("too late".to_owned()) });
    rig.says_not("too late");
}

#[test]
fn mixes_that_cannot_be_read_say_why() {
    let mut rig = opened();
    rig.key("Enter");
    let wanted = Box::new(rig.mix_reads.pop().unwrap());
    rig.send(Message::MixesRead { wanted, read: Err("the disk is gone".to_owned()) });
    rig.says("the disk is gone; go back and open it again");
    rig.key("Esc");
    rig.key("Enter");
    rig.says("reading its mixes");
    answer(&mut rig);
    rig.says("mix 0411");
    rig.says_not("the disk is gone");
}

/// Where there are many, the next are read before the mark comes to the last, each page once.
#[test]
fn many_mixes_come_page_by_page() {
    let mut rig = opened();
    rig.key("Right");
    rig.key("Right");
    rig.key("Right");
    rig.type_text("kim");
    rig.key("Enter");
    let wanted = rig.mix_reads.pop().unwrap();
    assert_eq!((wanted.before, wanted.most), (None, 100));
    let all = waste(Span::Days90);
    let kim: Vec<_> = all.mixes_of(&period(Span::Days90), By::Painter, "Kim");
    let page = |from: usize, to: usize| MixPage {
        mixes: kim[from..to].iter().map(|at| all.mixes[*at].clone()).collect(),
        is_more: to < kim.len(),
    };
    rig.send(Message::MixesRead { wanted: Box::new(wanted), read: Ok(page(0, 2)) });
    // The mark is near the last one at once.
    let next = rig.mix_reads.pop().unwrap();
    let last = &all.mixes[kim[1]];
    assert_eq!(next.before, Some((last.begun, last.number)));
    rig.says("2 of 5 mixes, reading on");
    rig.key("Down");
    rig.key("Down");
    assert!(rig.mix_reads.is_empty());
    rig.send(Message::MixesRead { wanted: Box::new(next), read: Ok(page(2, 4)) });
    let next = rig.mix_reads.pop().unwrap();
    rig.says("4 of 5 mixes, reading on");
    // The mark is where it was.
    rig.says(&format!("mix {:04}", last.number));
    rig.send(Message::MixesRead { wanted: Box::new(next), read: Ok(page(4, 5)) });
    assert!(rig.mix_reads.is_empty());
    rig.says("5 mixes");
    rig.says_not("reading on");
}

/// The mixes behind a row are found by what is said of them, and sorted, once all are read: what is asked for may stand in
/// the last.
#[test]
fn the_mixes_behind_a_row_are_filtered_while_typing_and_sorted() {
    let mut rig = mixes();
    // By hand: 374 wasted 11.2 g of 606.2, 390 9.8 of 305.8, 401 5.4 of 317.4, 383 and 372 nothing of 221 and 220.4.
    let mut seen = Vec::new();
    for words in ["most wasted first", "most mixed first", "the latest first"] {
        rig.key("Tab");
        rig.says(words);
        rig.key("Down");
        seen.push(marked(&rig));
    }
    assert_eq!(seen, ["0390", "0401", "0390"]);
    rig.type_text("drawn r-2390");
    rig.says("1 of 5 mixes");
    assert_eq!(marked(&rig), "0390");
    rig.key("Enter");
    assert_eq!(rig.event_reads, [390]);
    // What is typed there changes nothing.
    rig.type_text("x");
    rig.key("Esc");
    rig.says("1 of 5 mixes");
    rig.type_text("x");
    rig.says("no mix has all of these words");
    rig.says_not("Enter open");
    rig.key("Enter");
    assert_eq!(rig.event_reads, [390]);
    rig.key("Esc");
    rig.says("5 mixes");
    rig.key("Esc");
    rig.says("by painter");
}

/// Who looks for a word has all mixes read; a reading that fails is not begun again by itself.
#[test]
fn what_is_looked_for_is_looked_for_in_all_of_them() {
    let mut rig = opened();
    for _ in 0..3 {
        rig.key("Right");
    }
    rig.type_text("kim");
    rig.key("Enter");
    let wanted = rig.mix_reads.pop().unwrap();
    let all = waste(Span::Days90);
    let one = &all.mixes[all.mixes_of(&period(Span::Days90), By::Painter, "Kim")[0]];
    // A page as long as they are: the mark is far from its end.
    let page = MixPage { mixes: vec![one.clone(); 100], is_more: true };
    rig.send(Message::MixesRead { wanted: Box::new(wanted), read: Ok(page) });
    assert!(rig.mix_reads.is_empty());
    rig.type_text("z");
    let wanted = rig.mix_reads.pop().unwrap();
    assert_eq!((wanted.before, wanted.most), (Some((one.begun, one.number)), 1_000));
    rig.says("0 among 100 of 5 mixes, reading on");
    rig.says("reading its mixes");
    // One at a time.
    rig.type_text("z");
    assert!(rig.mix_reads.is_empty());
    rig.send(Message::MixesRead { wanted: Box::new(wanted), read: Err("the disk is gone".to_owned()) });
    assert!(rig.mix_reads.is_empty());
    rig.says("the disk is gone; go back and open it again");
}

/// A week in which nothing was mixed has nothing behind it.
#[test]
fn an_empty_row_does_not_open() {
    let mut rig = opened();
    rig.type_text("W34");
    assert_eq!(marked(&rig), "2026-W34");
    rig.key("Enter");
    rig.says("by week");
    rig.says_not("Enter its mixes");
}

/// Figures that come while somebody looks leave the mark on its row.
#[test]
fn the_mark_stays_with_its_row() {
    let mut rig = opened();
    rig.key("Down");
    rig.key("Down");
    let was = marked(&rig);
    let span = Span::Days90;
    let mut fewer = waste(span);
    let latest = fewer.mixes.iter().map(|mix| mix.begun.0).max().unwrap();
    fewer.mixes.retain(|mix| mix.begun.0 < latest - 3 * 86_400_000_000);
    assert!(latest == NOW.0 && !fewer.mixes.is_empty());
    rig.send(told(span, &fewer));
    assert_eq!(marked(&rig), was);
}

#[test]
fn a_scanned_colour_or_tin_is_said_and_not_typed() {
    let mut rig = opened();
    rig.scan("K05 26-077");
    rig.says("carbon black");
    rig.says("2026-W40");
    rig.says_not("no row has");
}

#[test]
fn a_row_is_marked_and_opened_with_the_mouse() {
    let mut rig = opened();
    at(&mut rig, "2026-W38", MouseEventKind::ScrollDown);
    assert_eq!(marked(&rig), "2026-W39");
    click(&mut rig, "2026-W36");
    assert_eq!(marked(&rig), "2026-W36");
    click(&mut rig, "2026-W36 \u{259a}");
    rig.says("2 mixes");
    rig.says("reading its mixes");
    answer(&mut rig);
    click(&mut rig, "0393");
    rig.says("mix 0393");
    click(&mut rig, "Esc back");
    click(&mut rig, "F9 time");
    rig.says("the last year");
}

/// Worked by hand: an ounce is 28.349523125 g by definition, and 5743.9 g were mixed.
#[test]
fn figures_are_in_the_persons_own_sign_and_units() {
    let notation = Notation { decimal: DecimalSign::Comma, mass: MassShown::Ounces, ..Notation::METRIC };
    let preferences = Preferences { notation, ..Preferences::default() };
    let settings = Settings { preferences, ..settings() };
    let mut rig = Rig::opened(settings, FromBook { next_number: 412, ..FromBook::default() });
    rig.live();
    rig.key("F8");
    rig.send(read(Span::Days90));
    for figure in ["in oz", "202,610", "20,18", "14,9 %"] {
        rig.says(figure);
    }
    rig.says_not("5743");
}
