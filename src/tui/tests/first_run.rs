//! The first run by its messages: what is asked in which order, what each key does to an answer, and that nothing is
//! written of what was left open.

use crate::scale::ports::Port;
use crate::tui::first_run::{Change, CountryOffered, FirstRun, FirstRunSaid, Offered, Seen, Wish};
use crate::tui::keys::Bindings;
use crate::tui::message::Message;
use crate::tui::screens::picture;
use crate::tui::search::Where;
use crate::tui::theme::Theme;
use crate::tui::{Proposal, Searching};
use proptest::prelude::*;
use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{Event as TerminalEvent, KeyCode, KeyEvent, KeyModifiers};
use ratatui::layout::Rect;
use std::path::PathBuf;

pub(crate) fn folder(path: &str) -> PathBuf {
    PathBuf::from(path)
}

pub(crate) fn offered() -> Offered {
    let country = |code: &str, name: &str, follows: &str| CountryOffered {
        code: code.to_owned(),
        name: name.to_owned(),
        follows: follows.to_owned(),
    };
    Offered {
        usual_shop: folder("/srv/robin/.config/pourbook"),
        file: folder("/srv/robin/.config/pourbook/settings.toml"),
        home: Some(folder("/srv/robin")),
        here: folder("/srv"),
        countries: vec![
            country("de", "Germany", "decimal comma, millilitres, limits of eu"),
            country("nl", "Netherlands", "decimal comma, millilitres, limits of eu"),
            country("gb", "United Kingdom", "decimal point, millilitres, limits of uk"),
            country("us", "United States", "decimal point, US fluid ounces, limits of us"),
        ],
        bindings: Bindings::default(),
    }
}

pub(crate) fn ports() -> Vec<Port> {
    let port = |path: &str, product: Option<&str>, forbidden: Option<&str>| Port {
        path: path.to_owned(),
        product: product.map(str::to_owned),
        usb: None,
        lasting: None,
        forbidden: forbidden.map(str::to_owned),
    };
    vec![
        port("/dev/ttyUSB0", Some("an invented adapter"), None),
        port("/dev/ttyUSB1", None, Some("only the group dialout may open it: ask for you to be put into it")),
    ]
}

fn send(first: &mut FirstRun, code: KeyCode, modifiers: KeyModifiers) -> Vec<Wish> {
    first.update(Message::Terminal(TerminalEvent::Key(KeyEvent::new(code, modifiers))))
}

pub(crate) fn key(first: &mut FirstRun, name: &str) -> Vec<Wish> {
    let (code, modifiers) = match name {
        "Enter" => (KeyCode::Enter, KeyModifiers::NONE),
        "Esc" => (KeyCode::Esc, KeyModifiers::NONE),
        "Tab" => (KeyCode::Tab, KeyModifiers::NONE),
        "Up" => (KeyCode::Up, KeyModifiers::NONE),
        "Down" => (KeyCode::Down, KeyModifiers::NONE),
        "F1" => (KeyCode::F(1), KeyModifiers::NONE),
        "Ctrl-C" => (KeyCode::Char('c'), KeyModifiers::CONTROL),
        "Ctrl-U" => (KeyCode::Char('u'), KeyModifiers::CONTROL),
        other => panic!("{other} is no key"),
    };
    send(first, code, modifiers)
}

pub(crate) fn enter(first: &mut FirstRun) -> Vec<Wish> {
    key(first, "Enter")
}

pub(crate) fn typed(first: &mut FirstRun, text: &str) {
    for letter in text.chars() {
        send(first, KeyCode::Char(letter), KeyModifiers::NONE);
    }
}

fn screen(first: &FirstRun) -> String {
    let mut buf = Buffer::empty(Rect::new(0, 0, 80, 24));
    first.draw(buf.area, &mut buf, &Theme::default());
    picture(&buf).join("\n")
}

fn at_question(which: u8) -> FirstRun {
    let mut first = FirstRun::new(offered());
    for _ in 1..which {
        key(&mut first, "Tab");
    }
    first
}

/// What would be written, as `key = value`, and `-key` for what is taken out.
fn changes(first: &FirstRun) -> Vec<String> {
    let one = |Change { key, value }: Change| match value {
        Some(value) => format!("{key} = {value}"),
        None => format!("-{key}"),
    };
    first.answers().changes().into_iter().map(one).collect()
}

fn found(address: &str) -> Message {
    Message::Searching(Searching::Found(Proposal {
        address: address.parse().unwrap(),
        sure: "certain".to_owned(),
        why: "It says so.".to_owned(),
        others: Vec::new(),
    }))
}

fn nothing() -> Message {
    Message::Searching(Searching::Nothing("nothing speaks there".to_owned()))
}

#[test]
fn all_four_are_asked_in_order_and_all_of_it_is_written() {
    let mut first = FirstRun::new(offered());
    typed(&mut first, "~/shop");
    let wishes = enter(&mut first);
    assert!(matches!(&wishes[..], [Wish::Look(path)] if *path == folder("/srv/robin/shop")), "{wishes:?}");
    let seen = Seen { colours: 13, toners: 31, ..Seen::default() };
    first.update(Message::FirstRun(FirstRunSaid::Looked(folder("/srv/robin/shop"), seen)));
    assert!(screen(&first).contains("found: 13 colours, 31 toners, no mistakes"));
    let wishes = enter(&mut first);
    assert!(matches!(&wishes[..], [Wish::Ports]), "{wishes:?}");
    first.update(Message::FirstRun(FirstRunSaid::Ports(ports())));
    key(&mut first, "Down");
    let wishes = enter(&mut first);
    assert!(matches!(&wishes[..], [Wish::Search(Where::Port(path))] if path == "/dev/ttyUSB0"), "{wishes:?}");
    first.update(found("serial:/dev/ttyUSB0?shape=sma"));
    enter(&mut first);
    typed(&mut first, " Robin ");
    enter(&mut first);
    typed(&mut first, "germ");
    enter(&mut first);
    let scale = first.answers().scale.as_ref().unwrap().to_string();
    let wanted = [
        "shop = /srv/robin/shop",
        "-demo-shop",
        &format!("scale = {scale}"),
        "painter = Robin",
        "country = de",
    ];
    assert_eq!(changes(&first), wanted);
    assert!(screen(&first).contains("Enter writes into /srv/robin/.config/pourbook/settings.toml"));
    let wishes = enter(&mut first);
    assert!(matches!(&wishes[..], [Wish::Keep(answers)] if answers.changes() == first.answers().changes()));
    // Until it is on the disk nothing goes on, and a second Enter writes nothing twice.
    assert!(enter(&mut first).is_empty());
    let wishes = first.update(Message::FirstRun(FirstRunSaid::Kept(Ok(()))));
    assert!(matches!(&wishes[..], [Wish::Done]), "{wishes:?}");
}

#[test]
fn what_is_left_open_is_not_written() {
    let mut first = at_question(5);
    assert_eq!(changes(&first), [""; 0]);
    assert!(screen(&first).contains("Nothing was answered, so nothing is written"));
    let wishes = enter(&mut first);
    assert!(matches!(&wishes[..], [Wish::Done]), "nothing is kept: {wishes:?}");
    let mut first = at_question(3);
    typed(&mut first, "Robin");
    enter(&mut first);
    key(&mut first, "Tab");
    assert_eq!(changes(&first), ["painter = Robin"]);
}

/// Going back finds what was said; leaving it open then takes it back.
#[test]
fn an_answer_can_be_changed_and_taken_back() {
    let mut first = at_question(3);
    typed(&mut first, "Robin");
    enter(&mut first);
    key(&mut first, "Esc");
    assert!(screen(&first).contains("name: Robin"));
    typed(&mut first, "a");
    enter(&mut first);
    assert_eq!(changes(&first), ["painter = Robina"]);
    key(&mut first, "Esc");
    key(&mut first, "Tab");
    assert_eq!(changes(&first), [""; 0]);
}

#[test]
fn leaving_writes_nothing_at_any_question() {
    for which in 1..=5 {
        let mut first = at_question(which);
        first.answers.painter = Some("Robin".to_owned());
        let wishes = key(&mut first, "Ctrl-C");
        assert!(matches!(&wishes[..], [Wish::Leave(None)]), "{which}: {wishes:?}");
    }
}

/// Enter alone answers nothing: neither the first country of the list nor the first port.
#[test]
fn enter_alone_never_answers() {
    for (which, said) in
        [(1, "type a folder"), (2, "type where it is"), (3, "type a name"), (4, "no country is marked")]
    {
        let mut first = at_question(which);
        first.update(Message::FirstRun(FirstRunSaid::Ports(ports())));
        let wishes = enter(&mut first);
        assert!(wishes.is_empty(), "{wishes:?}");
        assert!(screen(&first).contains(said), "{}", screen(&first));
        assert!(screen(&first).contains(&format!("question {which} of 4")));
    }
}

#[test]
fn a_folder_without_a_colour_is_not_taken_and_one_with_mistakes_says_them() {
    let mut first = at_question(1);
    typed(&mut first, "shop");
    enter(&mut first);
    let looked = |first: &mut FirstRun, seen| {
        first.update(Message::FirstRun(FirstRunSaid::Looked(folder("/srv/shop"), seen)));
    };
    let mistake = Some("toners.toml:1:1: wrong".to_owned());
    looked(&mut first, Seen { mistakes: 1, first: mistake.clone(), ..Seen::default() });
    assert!(screen(&first).contains("found: 0 colours, 0 toners, 1 mistake"));
    assert!(screen(&first).contains("the first: toners.toml:1:1: wrong"));
    // Enter looks once more: it may have been put right meanwhile.
    assert!(matches!(&enter(&mut first)[..], [Wish::Look(_)]));
    assert!(first.answers().shop.is_none());
    looked(&mut first, Seen { colours: 1, toners: 2, mistakes: 1, first: mistake });
    assert!(screen(&first).contains("found: 1 colour, 2 toners, 1 mistake"));
    // What was found of one folder is not said of another.
    typed(&mut first, "2");
    assert!(!screen(&first).contains("found:"));
    assert!(matches!(&enter(&mut first)[..], [Wish::Look(path)] if *path == folder("/srv/shop2")));
}

#[test]
fn the_invented_shop_and_an_empty_one_are_said_to_be_what_they_are() {
    let mut first = at_question(1);
    key(&mut first, "Down");
    assert!(screen(&first).contains("nothing in it is real"));
    enter(&mut first);
    assert_eq!(changes(&first), ["-shop", "demo-shop = true"]);
    let mut first = at_question(1);
    typed(&mut first, "~/new");
    key(&mut first, "Down");
    key(&mut first, "Down");
    assert!(screen(&first).contains("made in /srv/robin/new"), "{}", screen(&first));
    enter(&mut first);
    assert_eq!(changes(&first), ["shop = /srv/robin/new", "-demo-shop"]);
}

#[test]
fn an_address_is_taken_a_port_is_searched_and_one_that_may_not_be_opened_says_why() {
    let mut first = at_question(2);
    typed(&mut first, "tcp:10.0.0.9:4001?shape=sma");
    assert!(enter(&mut first).is_empty());
    assert_eq!(changes(&first).len(), 1);
    let mut first = at_question(2);
    typed(&mut first, "tcp:10.0.0.9:4001?shape=smaa");
    enter(&mut first);
    assert!(screen(&first).contains("question 2 of 4") && changes(&first).is_empty());
    assert!(screen(&first).contains("smaa"), "what was typed is still there: {}", screen(&first));
    let mut first = at_question(2);
    typed(&mut first, "/dev/ttyACM3");
    assert!(matches!(&enter(&mut first)[..], [Wish::Search(Where::Port(path))] if path == "/dev/ttyACM3"));
    let mut first = at_question(2);
    first.update(Message::FirstRun(FirstRunSaid::Ports(ports())));
    key(&mut first, "Down");
    key(&mut first, "Down");
    assert!(enter(&mut first).is_empty());
    assert!(screen(&first).contains("only the group dialout may open it"));
    key(&mut first, "Down");
    assert!(matches!(&enter(&mut first)[..], [Wish::Search(Where::AllPorts)]));
}

/// Two searches never have a port at the same time, and the last word of the first is not taken for the second's.
#[test]
fn a_search_begins_only_once_the_one_before_has_ended() {
    let mut first = at_question(2);
    typed(&mut first, "/dev/ttyUSB0");
    enter(&mut first);
    assert!(matches!(&key(&mut first, "Esc")[..], [Wish::StopSearch]));
    assert!(screen(&first).contains("question 2 of 4") && screen(&first).contains("the search was stopped"));
    assert!(enter(&mut first).is_empty(), "it waits");
    assert!(screen(&first).contains("searching"));
    let wishes = first.update(nothing());
    assert!(matches!(&wishes[..], [Wish::Search(Where::Port(_))]), "{wishes:?}");
    assert!(screen(&first).contains("searching"));
    first.update(nothing());
    assert!(screen(&first).contains("nothing speaks there"));
    // One that waited and was stopped does not begin.
    enter(&mut first);
    key(&mut first, "Esc");
    enter(&mut first);
    assert!(key(&mut first, "Esc").is_empty());
    assert!(first.update(found("serial:/dev/ttyUSB0?shape=sma")).is_empty());
    assert!(changes(&first).is_empty() && !screen(&first).contains("found, certain"));
}

#[test]
fn a_country_is_found_by_its_name_or_its_code() {
    for (text, code) in [("un", "gb"), ("states", "us"), ("US", "us"), ("nl", "nl"), ("Germ", "de")] {
        let mut first = at_question(4);
        typed(&mut first, text);
        enter(&mut first);
        assert_eq!(changes(&first), [format!("country = {code}")], "{text}");
    }
    let mut first = at_question(4);
    typed(&mut first, "zz");
    enter(&mut first);
    assert!(changes(&first).is_empty() && screen(&first).contains("no country is marked"));
}

#[test]
fn what_cannot_be_written_is_said_and_can_be_tried_again() {
    let mut first = at_question(3);
    typed(&mut first, "Robin");
    enter(&mut first);
    key(&mut first, "Tab");
    enter(&mut first);
    first.update(Message::FirstRun(FirstRunSaid::Kept(Err("the disk is full".to_owned()))));
    assert!(screen(&first).contains("the disk is full"));
    assert!(matches!(&enter(&mut first)[..], [Wish::Keep(_)]));
}

#[test]
fn control_characters_reach_neither_an_answer_nor_the_screen() {
    let mut first = at_question(3);
    first.update(Message::Terminal(TerminalEvent::Paste("Ro\u{1b}[2Jbin\r\n".to_owned())));
    enter(&mut first);
    assert_eq!(changes(&first), ["painter = Ro[2Jbin"]);
}

/// The key that leaves open and the way out stand on the bottom line of every question.
#[test]
fn the_bottom_line_says_what_to_press() {
    for which in 1..=4 {
        let mut first = at_question(which);
        first.update(Message::FirstRun(FirstRunSaid::Ports(ports())));
        let screen = screen(&first);
        let last = screen.lines().last().unwrap();
        for word in ["Enter go on", "Tab leave open", "Ctrl-C quit"] {
            assert!(last.contains(word), "{last}");
        }
        assert_eq!(last.contains("Esc back"), which > 1, "{last}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    /// Whatever is pressed: no panic, and an answer that is not there is not written.
    #[test]
    fn whatever_is_pressed(keys in prop::collection::vec(0_u8..14, 0..60)) {
        let mut first = FirstRun::new(offered());
        for which in keys {
            let wishes = match which {
                0..=4 => enter(&mut first),
                5 => key(&mut first, "Esc"),
                6 => key(&mut first, "Tab"),
                7 => key(&mut first, "Up"),
                8 => key(&mut first, "Down"),
                9 => key(&mut first, "F1"),
                10 => first.update(Message::FirstRun(FirstRunSaid::Ports(ports()))),
                11 => first.update(found("serial:/dev/ttyUSB0?shape=sma")),
                12 => first.update(nothing()),
                _ => { typed(&mut first, "u"); Vec::new() }
            };
            for wish in wishes {
                if let Wish::Keep(answers) = wish {
                    prop_assert!(!answers.changes().is_empty());
                }
            }
            screen(&first);
        }
    }
}
