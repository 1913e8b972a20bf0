//! Labels of mixed cups: scanned they bring the mix up, and a key prints them.

use super::cups::{done, kept};
use super::rig::{CUP, DWELL, Rig, settings};
use crate::book::figures::MixHead;
use crate::book::{Ids, MixId};
use crate::job::label::Payload;
use crate::mix::Phase;
use crate::settings::FileCommand;
use crate::tui::app::Screen;
use crate::tui::message::Message;
use crate::tui::mix_finder::FoundMix;
use crate::tui::preferences::Preferences;
use crate::units::Stamp;

pub(super) fn code(mix: MixId) -> String {
    Payload::Mix(mix).to_string()
}

/// The mix that was begun last.
fn mix(rig: &Rig) -> MixId {
    rig.sent.iter().rfind(|envelope| envelope.kind == "mix/started").unwrap().subject
}

/// As the book would find it.
fn found(rig: &Rig, mix: MixId) -> Message {
    let journal = rig.kept().into_iter().find(|journal| journal.mix() == mix).unwrap();
    let at =
        |kind: &str| rig.sent.iter().find(|one| one.subject == mix && one.kind == kind).map(|one| one.at);
    let head = MixHead {
        number: 412,
        ended: at("mix/finished").map(|at| (at, "mix/finished".to_owned())),
        emptied: at("mix/emptied"),
        job: journal.session().emptied().and_then(|emptied| emptied.job.clone()),
        ..MixHead::default()
    };
    Message::MixFound(Ok(Some(Box::new(FoundMix { journal, head }))))
}

#[test]
fn the_label_of_a_cup_that_waits_opens_it_after_spraying() {
    let mut rig = done();
    rig.type_text("shale");
    rig.scan(&code(mix(&rig)));
    assert!(matches!(rig.app.screen, Screen::Emptying(_)), "{}", rig.screen());
    rig.says("mix 0412");
    assert!(rig.finds.is_empty());
    // Its own label once more changes nothing.
    rig.scan(&code(mix(&rig)).to_lowercase());
    rig.says("that is the label of this cup");
    // What the scanner typed is not left in the line.
    rig.key("Esc");
    rig.key("Esc");
    rig.says_not("PB:M");
}

#[test]
fn the_label_of_a_mix_put_aside_takes_it_up() {
    let mut rig = Rig::begun();
    let stop = rig.stop();
    rig.stand_net(stop, DWELL);
    rig.key("Esc");
    rig.stand("0", 3);
    assert_eq!(rig.app.waiting.len(), 1, "{}", rig.screen());
    rig.scan(&code(mix(&rig)));
    assert!(rig.app.taking_up && rig.app.waiting.is_empty(), "{}", rig.screen());
    assert_eq!(rig.session().holds(), stop);
    rig.scan(&code(mix(&rig)));
    rig.says("that is the label of this mix");
    rig.agrees_with_book();
}

/// What is under way is not left for a label that comes by.
#[test]
fn a_mix_under_way_stays() {
    let mut rig = done();
    let first = mix(&rig);
    rig.pick();
    rig.stand(CUP, DWELL);
    assert_eq!(rig.phase(), Phase::Weighing);
    let before = rig.kinds().len();
    rig.scan(&code(first));
    rig.says("end what is under way, then scan it again");
    assert!(rig.finds.is_empty() && rig.kinds().len() == before && rig.app.hands_free);
    // Where a tin is asked for it is none.
    rig.key("n");
    rig.scan(&code(first));
    rig.says("that is the label of a mixed cup, not of a tin");
    rig.key("Esc");
    // Half a label.
    rig.scan(code(first).get(..20).unwrap());
    rig.says("not whole");
    rig.agrees_with_book();
}

#[test]
fn a_cup_that_was_emptied_says_what_it_was() {
    let mut rig = kept();
    let of = mix(&rig);
    rig.scan(&code(of));
    assert_eq!(rig.finds, [of]);
    rig.send(found(&rig, of));
    rig.says("that was mix 0412 Gannet White, ground coat: sprayed, its cup emptied");
    assert!(rig.app.messages.all().any(|said| said.text.contains("92.4 g kept")));
    // One that the book does not have, or cannot give.
    let other = Ids::counted(99).mix(Stamp(5));
    rig.scan(&code(other));
    assert_eq!(rig.finds, [of, other]);
    rig.send(Message::MixFound(Ok(None)));
    rig.says("there is no mix with that label in this book");
    rig.send(Message::MixFound(Err("the disk is gone".to_owned())));
    rig.says("the disk is gone");
}

/// A cup that waits longer than the list goes back is found in the book; something begun meanwhile is not left for it.
#[test]
fn a_cup_from_long_ago_is_opened_too() {
    let mut rig = done();
    let of = mix(&rig);
    rig.app.cups.clear();
    rig.scan(&code(of));
    assert_eq!(rig.finds, [of]);
    rig.send(found(&rig, of));
    assert!(matches!(rig.app.screen, Screen::Emptying(_)), "{}", rig.screen());
    rig.key("Esc");
    rig.key("Esc");
    rig.app.cups.clear();
    rig.scan(&code(of));
    rig.pick();
    rig.stand(CUP, DWELL);
    rig.send(found(&rig, of));
    rig.says("its cup waits");
    assert_eq!(rig.phase(), Phase::Weighing);
}

#[test]
fn a_key_prints_the_label_where_the_mix_is_shown() {
    let mut rig = Rig::begun();
    while rig.phase() == Phase::Weighing {
        rig.stand_net(rig.stop(), DWELL);
    }
    rig.key("Enter");
    assert_eq!(rig.phase(), Phase::Finished);
    rig.key("p");
    rig.says("label-print");
    assert!(rig.prints.is_empty());
    let command = FileCommand::parse("lp {file}").unwrap();
    let preferences = Preferences { label_print: Some(command.clone()), ..settings().preferences };
    rig.app.settings.preferences = preferences;
    rig.key("p");
    let of = mix(&rig);
    assert_eq!(rig.prints.iter().map(|one| (one.mix, &one.command)).collect::<Vec<_>>(), [(of, &command)]);
    rig.send(Message::LabelPrinted(Ok((412, 0))));
    rig.says("the label of mix 0412 is printed");
    // On the list of cups and in front of one of them, by the keypad too.
    rig.key("Enter");
    rig.key("F6");
    rig.key("p");
    rig.key("Enter");
    rig.key("3");
    assert_eq!(rig.prints.iter().map(|one| one.mix).collect::<Vec<_>>(), [of, of, of]);
    rig.send(Message::LabelPrinted(Err("lp ended with 1: no paper".to_owned())));
    rig.says("no paper");
    assert!(rig.app.notice.as_ref().is_some_and(|notice| notice.is_error));
}
