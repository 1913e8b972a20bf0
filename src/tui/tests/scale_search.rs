//! Finding the scale from its own screen.

use super::rig::{CUP, Rig, settings};
use crate::scale::LinkState;
use crate::tui::app::{FromBook, Settings};
use crate::tui::message::Message;
use crate::tui::search::{Proposal, Searching, Where};

const FOUND: &str = "serial:/dev/ttyUSB0?baud=2400&line=7E1&shape=header-comma&division=0.05&capacity=3000";

fn found() -> Searching {
    Searching::Found(Proposal {
        address: FOUND.parse().unwrap(),
        sure: "likely".to_owned(),
        why: "12 readings at 2400 7E1 as header-comma, 3 bytes left over".to_owned(),
        others: vec![
            "could also be 2400 7O1 as header-comma. A weight with other digits settles it".to_owned(),
        ],
    })
}

fn searching() -> Rig {
    let mut rig = Rig::new();
    rig.stand(CUP, 3);
    rig.key("F2");
    rig.key("f");
    rig
}

fn says(rig: &mut Rig, what: Searching) {
    rig.send(Message::Searching(what));
}

#[test]
fn what_is_found_is_said_with_how_sure_and_taken_on_a_key() {
    let mut rig = searching();
    assert_eq!(rig.searches, [Where::Port("/dev/ttyUSB0".to_owned())]);
    // The port is the search's now: no number of the scale's stays.
    rig.says("the line is being searched");
    rig.says("no weight");
    says(&mut rig, Searching::Step("/dev/ttyUSB0: listening at 9600 8N1".to_owned()));
    rig.says("listening at 9600 8N1");
    says(&mut rig, found());
    rig.says("found, likely:");
    rig.says("serial:/dev/ttyUSB0?baud=2400&line=7E1&shape=header-comma");
    rig.says("12 readings at 2400 7E1");
    rig.says("could also be 2400 7O1");
    assert_eq!(rig.opens, []);
    rig.key("Enter");
    assert_eq!(rig.opens, [Some(FOUND.to_owned())]);
    rig.says("in use from now on");
    rig.live();
    rig.stand(CUP, 3);
    rig.says("division 0.05 g, weighs up to 3000 g");
    rig.says(CUP);
}

/// What only a person knew of the scale stays in its address; the banner does not go on searching.
#[test]
fn what_the_address_said_of_the_scale_is_kept() {
    let scale = "serial:/dev/ttyUSB0?dtr=off&shape=sma&division=0.1&capacity=7500&unit=g".parse().ok();
    let mut rig = Rig::opened(Settings { scale, ..settings() }, FromBook::default());
    rig.live();
    rig.key("F2");
    rig.key("f");
    let bare = "serial:/dev/ttyUSB0?baud=2400&line=8N1&shape=header-comma";
    let Searching::Found(proposal) = found() else { return };
    says(&mut rig, Searching::Found(Proposal { address: bare.parse().unwrap(), ..proposal }));
    rig.says("SCALE LOST  the search has found something");
    rig.says_not("the line is being searched");
    rig.key("Enter");
    let kept = bare.replace("&shape", "&dtr=off&shape");
    assert_eq!(rig.opens, [Some(format!("{kept}&division=0.1&capacity=7500&unit=g"))]);
}

#[test]
fn nothing_found_goes_back_to_the_scale_there_was() {
    let mut rig = searching();
    says(&mut rig, Searching::Nothing("/dev/ttyUSB0 says nothing".to_owned()));
    rig.says("/dev/ttyUSB0 says nothing");
    assert_eq!(rig.opens, [Some("serial:/dev/ttyUSB0?shape=sma".to_owned())]);
}

#[test]
fn it_can_be_given_up_and_what_comes_late_is_not_heard() {
    for key in ["Esc", "F2"] {
        let mut rig = searching();
        rig.key(key);
        assert_eq!(rig.opens, [Some("serial:/dev/ttyUSB0?shape=sma".to_owned())], "{key}");
        says(&mut rig, found());
        rig.key("Enter");
        rig.says_not("in use from now on");
        assert_eq!(rig.opens.len(), 1);
    }
}

/// While it goes on nothing else can be begun, and nothing is asked of the scale.
#[test]
fn it_is_the_only_thing_that_is_done() {
    let mut rig = searching();
    for key in ["k", "r", "z", "t", "u", "f"] {
        rig.key(key);
    }
    assert_eq!((rig.searches.len(), rig.asked.len()), (1, 0));
    rig.says_not("ten weighings:");
}

#[test]
fn without_a_scale_all_ports_are_searched_and_one_can_be_taken() {
    let settings = Settings { scale: None, ..settings() };
    let mut rig = Rig::opened(settings, FromBook::default());
    rig.key("F2");
    rig.says("no scale was named; weights are typed. f searches the ports for one");
    // There is nothing to be checked or asked, and so no key for it.
    rig.says("f find it");
    rig.says_not("check it");
    rig.says_not("z zero");
    rig.key("f");
    assert_eq!(rig.searches, [Where::AllPorts]);
    rig.says_not("no scale was named");
    rig.key("Esc");
    assert_eq!(rig.opens, [None]);
    rig.key("f");
    says(&mut rig, found());
    rig.key("Enter");
    assert_eq!(rig.opens, [None, Some(FOUND.to_owned())]);
    rig.state(LinkState::Live, "");
    rig.stand(CUP, 3);
    rig.says("scale  steady");
}

#[test]
fn a_scale_that_is_on_no_port_is_not_searched() {
    let settings = Settings { scale: "tcp:192.0.2.7:4001?shape=sma".parse().ok(), ..settings() };
    let mut rig = Rig::opened(settings, FromBook::default());
    rig.key("F2");
    rig.key("f");
    rig.says("only a serial port is searched");
    assert_eq!(rig.searches, []);
}
