//! The steps of the first run for the pictures.

use super::*;
use crate::tui::first_run::{FirstRun, FirstRunSaid, Seen};
use crate::tui::message::Message;
use crate::tui::tests::first_run::{enter, folder, key, offered, ports, typed};
use crate::tui::{Proposal, Searching};

fn said(first: &mut FirstRun, said: FirstRunSaid) {
    first.update(Message::FirstRun(said));
}

pub(super) fn first_run_views(see: &mut impl FnMut(&'static str, &View<'_>)) {
    let mut show = |name: &'static str, first: &FirstRun| first.view(|view| see(name, view));
    let mut first = FirstRun::new(offered());
    show("first-run-colours", &first);
    typed(&mut first, "~/shop");
    enter(&mut first);
    show("first-run-colours-looking", &first);
    let wrong = Seen {
        mistakes: 2,
        first: Some(
            "/srv/robin/shop/toners.toml:3:8: 'titanum' is no kind. Did you mean 'titanium'?".to_owned(),
        ),
        ..Seen::default()
    };
    said(&mut first, FirstRunSaid::Looked(folder("/srv/robin/shop"), wrong));
    show("first-run-colours-wrong", &first);
    let right = Seen { colours: 13, toners: 31, ..Seen::default() };
    said(&mut first, FirstRunSaid::Looked(folder("/srv/robin/shop"), right));
    show("first-run-colours-found", &first);
    enter(&mut first);
    said(&mut first, FirstRunSaid::Ports(Vec::new()));
    show("first-run-scale-no-port", &first);
    said(&mut first, FirstRunSaid::Ports(ports()));
    key(&mut first, "Down");
    show("first-run-scale", &first);
    enter(&mut first);
    first.update(Message::Searching(Searching::Step("/dev/ttyUSB0: listening at 9600 8N1".to_owned())));
    show("first-run-scale-searching", &first);
    let proposal = Proposal {
        address: "serial:/dev/ttyUSB0?shape=sma".parse().unwrap(),
        sure: "certain".to_owned(),
        why: "It sends whole lines in this format, ten a second.".to_owned(),
        others: vec!["could also be 7E1 as sma. One line with a figure in it would settle it".to_owned()],
    };
    first.update(Message::Searching(Searching::Found(proposal)));
    show("first-run-scale-found", &first);
    enter(&mut first);
    typed(&mut first, "Robin");
    show("first-run-painter", &first);
    enter(&mut first);
    show("first-run-country", &first);
    typed(&mut first, "un");
    show("first-run-country-typed", &first);
    enter(&mut first);
    show("first-run-end", &first);
    enter(&mut first);
    show("first-run-end-writing", &first);
    let refused =
        "the settings in /srv/robin/.config/pourbook/settings.toml cannot be written: the disk is full";
    said(&mut first, FirstRunSaid::Kept(Err(refused.to_owned())));
    show("first-run-end-refused", &first);
    let mut first = FirstRun::new(offered());
    key(&mut first, "Down");
    key(&mut first, "Down");
    enter(&mut first);
    for _ in 0..3 {
        key(&mut first, "Tab");
    }
    show("first-run-end-empty-shop", &first);
    let mut first = FirstRun::new(offered());
    for _ in 0..4 {
        key(&mut first, "Tab");
    }
    show("first-run-end-nothing", &first);
    key(&mut first, "F1");
    show("first-run-help", &first);
}
