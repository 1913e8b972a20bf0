//! Whatever stands on the bottom line does something now, or says why not: a key that is silent teaches that the others
//! are, too.

use super::cups;
use super::rig::{CUP, DWELL, Rig, g, settings, virtual_settings};
use crate::mix::Phase;
use crate::tui::app::{FromBook, Settings};
use crate::tui::keys::Action;
use crate::tui::message::Message;
use crate::tui::of_use::available;
use ratatui::buffer::Buffer;

/// A state of the program: how it is called, and how it comes about.
type Scene = (&'static str, fn() -> Rig);

fn over() -> Rig {
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop() + g("9"), DWELL);
    rig
}

fn poured() -> Rig {
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop(), DWELL);
    rig
}

fn complete() -> Rig {
    let mut rig = Rig::begun();
    while rig.phase() == Phase::Weighing {
        rig.stand_net(rig.stop(), DWELL);
    }
    rig
}

fn virtual_bench() -> Rig {
    let mut rig = Rig::opened(virtual_settings(), FromBook { next_number: 412, ..FromBook::default() });
    rig.live();
    rig.pick();
    rig.stand(CUP, DWELL);
    rig
}

fn by_keys(mut rig: Rig, keys: &[&str]) -> Rig {
    for key in keys {
        rig.key(key);
    }
    rig
}

const SCENES: &[Scene] = &[
    ("colours", Rig::new),
    ("colours, something typed", || {
        let mut rig = Rig::new();
        rig.type_text("white");
        rig
    }),
    ("colours, nothing found", || {
        let mut rig = Rig::new();
        rig.type_text("qqqq");
        rig
    }),
    ("colours without a scale", Rig::without_scale),
    ("colours of the invented shop", || {
        let settings = Settings { has_shop_folder: false, ..settings() };
        Rig::opened(settings, FromBook { next_number: 412, ..FromBook::default() })
    }),
    ("how much", || by_keys(Rig::new(), &["Enter"])),
    ("how much, nothing typed", || by_keys(Rig::new(), &["Enter", "Ctrl-u"])),
    ("the cup is awaited", || by_keys(Rig::new(), &["Enter", "Enter"])),
    ("pouring, nothing yet", Rig::begun),
    ("pouring, one taken", poured),
    ("over", over),
    ("ways", || by_keys(Rig::begun(), &["o"])),
    ("complete", complete),
    ("done", || by_keys(complete(), &["Enter"])),
    ("cups", || by_keys(cups::done(), &["F6"])),
    ("a cup that is not back yet", || by_keys(cups::done(), &["F6", "Enter"])),
    ("a cup that came back", || {
        let mut rig = cups::done();
        cups::bring_back(&mut rig, "92.4");
        rig
    }),
    ("how much, a leftover is there", || by_keys(cups::kept(), &["Right", "Enter"])),
    ("a leftover first", || {
        let mut rig = cups::kept();
        rig.pick_with("F8");
        rig.stand(CUP, DWELL);
        rig
    }),
    ("the virtual bench", virtual_bench),
    ("the cup is off", || {
        let mut rig = poured();
        rig.stand("0", DWELL);
        rig
    }),
    ("the cup is back with more", || {
        let mut rig = poured();
        rig.stand("0", DWELL);
        let net = rig.session().holds() + g("7");
        rig.stand_net(net, DWELL);
        rig
    }),
    ("the scale is lost", || {
        let mut rig = poured();
        rig.state(crate::scale::LinkState::Lost, "the line is dead");
        rig
    }),
    ("a question", || by_keys(Rig::begun(), &["m"])),
    ("a reason", || by_keys(poured(), &["x"])),
    ("which pour", || by_keys(poured(), &["b"])),
    ("formulas", || by_keys(Rig::new(), &["F5"])),
    ("a formula", || by_keys(Rig::new(), &["F5", "1"])),
    ("a new formula", || by_keys(Rig::new(), &["F5", "3"])),
    ("the shelf", super::shelf::opened),
    ("the shelf being read", || by_keys(Rig::new(), &["F7"])),
    ("the shelf, nothing found", || {
        let mut rig = super::shelf::opened();
        rig.type_text("qqqq");
        rig
    }),
    ("a toner on the shelf", super::shelf::white),
    ("the waste", super::waste::opened),
    ("the waste being read", || by_keys(Rig::new(), &["F8"])),
    ("the waste not read", super::waste::failed),
    ("no waste yet", super::waste::empty),
    ("the waste, nothing found", || {
        let mut rig = super::waste::opened();
        rig.type_text("qqqq");
        rig
    }),
    ("the waste of a week without a mix", || {
        let mut rig = super::waste::opened();
        rig.type_text("W34");
        rig
    }),
    ("the mixes behind the waste", super::waste::mixes),
    ("what went over", super::went_over::overs),
    ("what went over, nothing found", || {
        let mut rig = super::went_over::overs();
        rig.type_text("qqqq");
        rig
    }),
    ("the shelf with tins", super::stores::stocked),
    ("the tins of a toner", super::stores::white),
    ("a tin is received", || by_keys(super::stores::stocked(), &["Ctrl-R"])),
    ("a stocktake", super::stores::stocktake),
    ("a tin weighed", || {
        let mut rig = super::stores::stocktake();
        rig.stand("704.6", 5);
        rig
    }),
    ("a stocktake asks why", || {
        let mut rig = super::stores::stocktake();
        rig.stand("604.6", 5);
        by_keys(rig, &["Enter"])
    }),
    ("leftovers", super::stores::leftovers),
    ("leftovers, some past their day", super::leftovers::four),
    ("leftovers, nothing found", || {
        let mut rig = super::leftovers::four();
        rig.type_text("qqqq");
        rig
    }),
    ("leftovers, some found", || {
        let mut rig = super::leftovers::four();
        rig.type_text("pearl");
        rig
    }),
    ("a leftover opened", super::leftovers::opened),
    ("a leftover is thrown away", || by_keys(super::stores::leftovers(), &["Ctrl-X"])),
    ("no job", || by_keys(Rig::new(), &["F9"])),
    ("jobs", super::jobs::listed),
    ("jobs, nothing found", || {
        let mut rig = super::jobs::listed();
        rig.type_text("qqqq");
        rig
    }),
    ("closed jobs", || by_keys(super::jobs::listed(), &["Tab"])),
    ("a new job", || by_keys(super::jobs::listed(), &["Ctrl-N"])),
    ("a new job's colour", super::jobs::colour_asked),
    ("a job wants cards", super::jobs::opened),
    ("a card", || by_keys(super::jobs::opened(), &["Enter"])),
    ("a job with cards", super::jobs::with_cards),
    ("a job waits", super::jobs::waiting),
    ("a job is over its pot life", super::jobs::over),
    ("a closed job", super::jobs::closed),
    ("messages", || by_keys(Rig::new(), &["F3"])),
    ("help", || by_keys(Rig::new(), &["F1"])),
    ("the scale's page", || by_keys(Rig::new(), &["F2"])),
    ("the scale's page without a scale", || by_keys(Rig::without_scale(), &["F2"])),
    ("unfinished", || poured().reopened(None)),
    ("taking up", || by_keys(poured().reopened(None), &["Enter"])),
    ("only to look at", || poured().reopened(Some("another program has it open"))),
    ("a wrong tin", || {
        let mut rig = Rig::begun();
        rig.scan("K05 24-1");
        rig
    }),
    ("not saved", || {
        let mut rig = Rig::begun();
        rig.book = super::rig::Book::Fails;
        rig.stand_net(rig.stop(), DWELL);
        rig
    }),
];

/// What a person could notice: the screen, what is sent out, what is heard.
fn seen(rig: &Rig) -> (Buffer, [usize; 9], bool) {
    let counts = [
        rig.sent.len(),
        rig.hands.len(),
        rig.asked.len(),
        rig.searches.len(),
        rig.opens.len(),
        rig.works.len(),
        rig.reads.len(),
        rig.heard.len(),
        rig.versions.len(),
    ];
    (rig.drawn(), counts, rig.quit)
}

/// Keys that belong together: at an end of a list or of a text only some of them do something.
const FAMILIES: &[&[Action]] = &[
    &[Action::Up, Action::Down, Action::PageUp, Action::PageDown],
    &[Action::Previous, Action::Next],
    &[Action::CursorLeft, Action::CursorRight, Action::CursorStart, Action::CursorEnd],
    &[Action::EraseBack, Action::EraseForward, Action::EraseAll],
];

fn does_something(scene: fn() -> Rig, action: Action) -> bool {
    let mut rig = scene();
    // What was said before is not to count as said by the key.
    rig.send(Message::Clicked(Vec::new()));
    let before = seen(&rig);
    rig.send(Message::Clicked(vec![action]));
    seen(&rig) != before
}

#[test]
fn every_key_on_the_bottom_line_does_or_says_something() {
    // What the terminal itself is asked for is not seen here.
    let outside = [Action::Suspend, Action::Mouse];
    let mut silent = Vec::new();
    for (name, scene) in SCENES {
        let rig = scene();
        let actions = available(&rig.app, rig.app.context());
        assert!(!actions.is_empty(), "{name} has no keys");
        for action in actions.into_iter().filter(|action| !outside.contains(action)) {
            let either = does_something(*scene, action)
                || FAMILIES
                    .iter()
                    .filter(|family| family.contains(&action))
                    .any(|family| family.iter().any(|other| does_something(*scene, *other)));
            if !either {
                silent.push(format!("{name}: {action:?}"));
            }
        }
    }
    assert_eq!(silent, Vec::<String>::new());
}
