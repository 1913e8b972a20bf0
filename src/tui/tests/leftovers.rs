//! What is kept of earlier mixes: filtered while typing, sorted, opened, and nothing thrown away that is not seen.

use super::cups;
use super::rig::{Rig, g};
use super::stores::{answer, leftovers};
use crate::barcode::Day;
use crate::book::{Account, Ids};
use crate::catalogue::TonerCode;
use crate::report::waste::{Happened, Went};
use crate::stock::{FromTin, Leftover, Recall, StockEvent};
use crate::tui::keys::Action;
use crate::tui::message::Message;
use crate::tui::of_use::available;
use crate::units::Stamp;

/// The rig's clock: 2023-11-14.
const NOW: Stamp = Stamp(1_700_000_000_000_000);
const DAY: i64 = 86_400_000_000;

/// Another leftover beside the first: an invented one of that mix.
fn another(rig: &Rig, number: u32, subject: [&str; 3], use_by: Option<&str>, days: i64) -> Leftover {
    let mut more = rig.app.leftovers[0].clone();
    more.of.mix = Ids::counted(u64::from(number)).mix(NOW);
    more.of.head.number = number;
    more.of.head.subject = subject.map(|word| Some(word.to_owned()));
    more.use_by = use_by.and_then(Day::parse);
    more.kept = Some(Stamp(NOW.0 - days * DAY));
    more
}

/// Four of them: 92.4 g of today in the pearl white; an older one of a toner of its own from a tin; two past their day.
pub(super) fn four() -> Rig {
    let mut rig = cups::kept();
    let mut pearl = another(&rig, 399, ["PB-2207", "coarser", "pearl"], Some("2023-12-24"), 9);
    pearl.made_of = vec![(TonerCode::new("P51"), g("12.5"))];
    pearl.tins = vec![FromTin {
        label: "24-031".to_owned(),
        toner: TonerCode::new("P51"),
        lot: Some("L-77".to_owned()),
    }];
    let old = another(&rig, 401, ["PB-3162", "standard", "ground"], Some("2023-11-10"), 31);
    let older = another(&rig, 402, ["PB-2207", "standard", "base"], Some("2023-11-02"), 41);
    rig.app.leftovers.extend([pearl, old, older]);
    rig.key("F7");
    rig.key("Ctrl-L");
    rig
}

/// The marked one of them opened, its events read.
pub(super) fn opened() -> Rig {
    let mut rig = four();
    rig.type_text("0399");
    rig.key("Enter");
    let read = (0..40).map(|second| happened(second, &format!("pour {second}"))).collect();
    rig.send(Message::EventsRead { number: 399, read: Ok(read) });
    rig
}

fn happened(second: i64, what: &str) -> Happened {
    Happened {
        at: Stamp(second * 1_000_000),
        by: "Kim".to_owned(),
        what: what.to_owned(),
        went: vec![Went {
            toner: Some(TonerCode::new("P51")),
            mass: g("-12.5"),
            place: Account::Tin("24-031".to_owned()),
        }],
    }
}

/// The numbers of the rows on the screen, from the top.
fn shown(rig: &Rig) -> Vec<String> {
    let number = |line: &str| {
        let word = line.trim_start_matches([' ', '▸']).split_whitespace().next()?;
        let is_number = word.len() == 4 && word.chars().all(|letter| letter.is_ascii_digit());
        (is_number && !line.contains("what is left")).then(|| word.to_owned())
    };
    rig.screen().lines().filter_map(number).collect()
}

fn thrown(rig: &Rig) -> Vec<String> {
    let told = rig.told();
    let reason = |event: &StockEvent| match event {
        StockEvent::LeftoverThrown(thrown) => Some(thrown.reason.clone()),
        _ => None,
    };
    told.iter().filter_map(reason).collect()
}

fn found(typed: &str) -> Vec<String> {
    let mut rig = four();
    rig.type_text(typed);
    shown(&rig)
}

#[test]
fn they_are_filtered_while_typing() {
    assert_eq!(shown(&four()), ["0402", "0401", "0399", "0412"]);
    // The mix's number, the colour's code, its variant, the layer, the word on the row.
    assert_eq!(found("0401"), ["0401"]);
    assert_eq!(found("pb-2207"), ["0402", "0399"]);
    assert_eq!(found("coarser"), ["0399"]);
    assert_eq!(found("base pb-22"), ["0402"]);
    assert_eq!(found("expired"), ["0402", "0401"]);
    assert_eq!(found("2023-12-24"), ["0399"]);
    // A toner in it by code and by name, the tin and the lot that it came from.
    assert_eq!(found("p51"), ["0399"]);
    assert_eq!(found("fine white"), ["0399"]);
    assert_eq!(found("24-031"), ["0399"]);
    assert_eq!(found("l-77"), ["0399"]);
    assert_eq!(found("titanium white"), ["0402", "0401", "0412"]);
    assert_eq!(found("titanium p51"), [""; 0]);
    let mut rig = four();
    rig.says("4 leftovers, 289.7 g");
    rig.app.recalls.push(Recall { lot: "L-77".into(), toner: None, why: "specks".into(), at: NOW });
    rig.type_text("recalled");
    assert_eq!(shown(&rig), ["0399"]);
    rig.says("1 of 4 leftovers, 12.5 g");
    rig.says("what is left of mix 0399");
    rig.key("Backspace");
    rig.says("recalle");
    // Esc empties the line first.
    rig.key("Esc");
    rig.says("4 leftovers, 289.7 g");
    rig.key("Esc");
    rig.says("Shelf");
}

/// By hand: 402 and 401 are to be used first, 412 has no day; 402 is the oldest; 399 holds least; by colour 399 is the coarser
/// variant of PB-2207, which stands before the standard one.
#[test]
fn tab_turns_through_the_ways_to_sort() {
    let mut rig = four();
    rig.says("to be used up first");
    let mut seen = vec![shown(&rig)];
    for words in ["oldest first", "most first", "by colour", "to be used up first"] {
        rig.key("Down");
        rig.key("Tab");
        rig.says(words);
        // The mark is at the top.
        rig.says(&format!("▸ {}", shown(&rig)[0]));
        seen.push(shown(&rig));
    }
    let by_use = ["0402", "0401", "0399", "0412"];
    let by_age = ["0402", "0401", "0399", "0412"];
    let by_mass = ["0401", "0402", "0412", "0399"];
    let by_colour = ["0399", "0402", "0412", "0401"];
    assert_eq!(seen, [by_use, by_age, by_mass, by_colour, by_use]);
    // What is typed stays while it is sorted.
    rig.type_text("expired");
    rig.key("Tab");
    assert_eq!(shown(&rig), ["0402", "0401"]);
}

/// Age tells apart what the day does not.
#[test]
fn the_oldest_stand_first_whatever_their_day() {
    let mut rig = four();
    let young = another(&rig, 410, ["PB-3140", "standard", "ground"], Some("2023-11-01"), 1);
    rig.app.leftovers.push(young);
    assert_eq!(shown(&rig)[0], "0410");
    rig.key("Tab");
    assert_eq!(shown(&rig), ["0402", "0401", "0399", "0410", "0412"]);
}

#[test]
fn what_is_thrown_away_is_the_marked_one_of_those_that_are_shown() {
    let mut rig = four();
    rig.type_text("0399");
    rig.key("Ctrl-X");
    answer(&mut rig, "skin on it");
    rig.says("throw this leftover away, 12.5 g?");
    // Enter is a habit, and no yes.
    rig.key("Enter");
    assert_eq!((rig.app.leftovers.len(), thrown(&rig)), (4, Vec::new()));
    rig.key("Ctrl-X");
    answer(&mut rig, "skin on it");
    rig.tick(700);
    rig.key("y");
    assert_eq!(thrown(&rig), ["skin on it"]);
    assert!(rig.app.leftovers.iter().all(|leftover| leftover.of.head.number != 399));
    rig.says("no leftover has all of these words");
}

#[test]
fn only_those_past_their_day_that_are_shown_go_in_one() {
    let mut rig = four();
    rig.type_text("base");
    rig.key("Ctrl-E");
    rig.says("throw this leftover away, 92.4 g?");
    rig.tick(700);
    rig.key("y");
    let left: Vec<u32> = rig.app.leftovers.iter().map(|leftover| leftover.of.head.number).collect();
    assert_eq!(left, [412, 399, 401]);
    rig.key("Esc");
    rig.key("Ctrl-E");
    rig.tick(700);
    rig.key("y");
    let left: Vec<u32> = rig.app.leftovers.iter().map(|leftover| leftover.of.head.number).collect();
    assert_eq!(left, [412, 399]);
}

#[test]
fn where_none_is_shown_none_is_thrown_away() {
    let mut rig = four();
    rig.type_text("qqqq");
    rig.says("no leftover has all of these words");
    rig.says("none of 4 leftovers");
    let offered = available(&rig.app, rig.app.context());
    for action in [Action::ThrowLeftover, Action::ThrowExpired, Action::Accept, Action::Sort] {
        assert!(!offered.contains(&action), "{action:?}");
    }
    for key in ["Ctrl-X", "Ctrl-E", "Enter"] {
        rig.key(key);
        assert!(rig.app.prompt.is_none(), "{key}");
    }
    assert!(rig.app.stores.pending.is_empty() && rig.event_reads.is_empty());
    assert_eq!(rig.app.leftovers.len(), 4);
    // Letters are text: those that threw away before do so no more.
    let mut rig = four();
    rig.type_text("xe8");
    assert!(rig.app.prompt.is_none() && rig.app.leftovers.len() == 4);
    rig.says("xe8");
}

#[test]
fn a_leftover_opens_into_what_happened_to_its_mix() {
    let mut rig = four();
    rig.type_text("0399");
    rig.key("Enter");
    assert_eq!(rig.event_reads, [399]);
    rig.says("mix 0399, of which 12.5 g are kept");
    rig.says("reading its events");
    // What comes late of another mix is not this one's.
    rig.send(Message::EventsRead { number: 401, read: Ok(vec![happened(7, "turned")]) });
    rig.says("reading its events");
    let mut rig = opened();
    rig.says("40 events");
    rig.says("00:00:00  pour 0          P51 12.5 g from tin 24-031");
    rig.key("Down");
    rig.says_not("pour 0 ");
    for _ in 0..9 {
        rig.send(Message::Clicked(vec![Action::PageDown]));
    }
    rig.says("pour 39");
    // Nothing is thrown away from here, and nothing typed.
    for key in ["Ctrl-X", "Ctrl-E", "Tab", "Enter", "z"] {
        rig.key(key);
        assert!(rig.app.prompt.is_none(), "{key}");
    }
    assert_eq!(rig.event_reads, [399]);
    rig.key("Esc");
    // The list is as it was left.
    assert_eq!(shown(&rig), ["0399"]);
    rig.key("Enter");
    rig.send(Message::EventsRead { number: 399, read: Err("the disk is gone".to_owned()) });
    rig.says("the disk is gone; go back and open it again");
    for _ in 0..3 {
        rig.key("Esc");
    }
    rig.says("Shelf");
}

/// A label says the mix: what is left of it is marked, whatever was typed. A colour's code is typed as a hand would.
#[test]
fn what_is_left_of_a_scanned_mix_is_marked() {
    let mut rig = four();
    let mix = rig.app.leftovers[1].of.mix;
    rig.type_text("expired");
    rig.scan(&super::labels::code(mix));
    assert_eq!(shown(&rig).len(), 4);
    rig.says("▸ 0399");
    assert!(rig.event_reads.is_empty());
    rig.scan("PB-3162");
    assert_eq!(shown(&rig), ["0401"]);
    // The first leftover of the rig.
    let mut rig = leftovers();
    rig.says("▸ 0412");
    rig.scan("K05 26-077");
    rig.says("carbon black");
    rig.says("▸ 0412");
}
