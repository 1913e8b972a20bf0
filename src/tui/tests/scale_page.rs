//! The scale's own screen: what it shows, and what it sends.

use super::rig::{CUP, DWELL, Rig, moving, settings, stable};
use crate::scale::shape::{Answer, Ask};
use crate::scale::{Condition, Evidence, Frame, LinkEvent, LinkState, Mode};
use crate::tui::app::{FromBook, Settings};
use crate::tui::message::Message;
use ratatui::crossterm::event::Event as TerminalEvent;

fn opened() -> Rig {
    let mut rig = Rig::new();
    rig.key("F2");
    rig
}

#[test]
fn it_opens_in_front_and_goes_back_to_what_was_there() {
    let mut rig = Rig::new();
    rig.type_text("gannet");
    rig.key("F2");
    rig.says("what came in");
    assert!(rig.wants_bytes);
    rig.key("Esc");
    rig.says("gannet");
    assert!(!rig.wants_bytes);
    rig.key("F2");
    rig.key("F2");
    rig.says("gannet");
    // What is pasted meanwhile is typed nowhere.
    rig.key("F2");
    rig.send(Message::Terminal(TerminalEvent::Paste("xyzzy".to_owned())));
    rig.key("Esc");
    rig.says_not("xyzzy");
    // Behind the help and a question nothing else opens.
    rig.key("F1");
    rig.key("F2");
    rig.key("Esc");
    rig.says_not("what came in");
}

#[test]
fn the_line_is_shown_as_bytes_and_as_meaning() {
    let mut rig = opened();
    rig.send(Message::Scale(LinkEvent::Bytes(b"\n 1G       201.3g  \r".to_vec())));
    rig.frame(stable("201.3"));
    rig.says("<0a>·1G·······201.3g··<0d>");
    rig.says("201.3 g   steady");
    for _ in 0..3 {
        rig.frame(Frame { mode: Mode::Net, ..stable("12.0") });
    }
    rig.says("12.0 g net");
    rig.frame(Frame { condition: Condition::Over, value: None, ..stable("0") });
    rig.says("too heavy for the scale");
    rig.says("no weight");
    let evidence = Evidence { frames: 2, noise: 7, openings: 1, answers: 0, line_errors: 3 };
    rig.send(Message::Scale(LinkEvent::Evidence(evidence)));
    rig.says("2 understood, 7 bytes left over, 3 damaged on the line, opened once");
    rig.state(LinkState::Lost, "the cable is out");
    rig.says("lost: the cable is out");
}

#[test]
fn a_key_sends_one_question_and_its_answer_is_shown() {
    for (key, ask) in [("z", Ask::Zero), ("t", Ask::Tare), ("c", Ask::ClearTare), ("u", Ask::NextUnit)] {
        let mut rig = opened();
        rig.key(key);
        assert_eq!(rig.asked, [ask]);
        rig.send(Message::Scale(LinkEvent::Asked(ask)));
        rig.says(&format!("asked the scale {ask}; waiting for its answer"));
        let answer = |answer| Message::Scale(LinkEvent::Answer { to: Some(ask), answer });
        rig.send(answer(Answer::Accepted));
        rig.says("it is at it, and waits for rest");
        rig.send(answer(Answer::Done));
        rig.says(&format!("asked the scale {ask}: done"));
        rig.send(answer(Answer::Refused("the load moves".to_owned())));
        rig.says("refused: the load moves");
        rig.send(Message::Scale(LinkEvent::Unanswered(ask)));
        rig.says("it gave no answer. Look at");
    }
}

/// The lasting name of a port is as long as the line: what is wrong and what to do must still be on it.
#[test]
fn why_a_scale_with_a_long_name_is_lost_is_on_the_smallest_screen() {
    let path = "/dev/serial/by-id/usb-INVENTED_SERIAL_ADAPTER_0001-if00-port0";
    let scale = format!("serial:{path}?shape=sma").parse().ok();
    let mut rig = Rig::opened(Settings { scale, ..settings() }, FromBook::default());
    let why = "is not there: are the cable and the adapter plugged in?";
    rig.state(LinkState::Absent, &format!("{path} {why}"));
    rig.says(&format!("SCALE LOST  the port {why}"));
    rig.key("F2");
    // In full, on as many lines as it takes.
    rig.says(&format!("   {path}"));
    rig.says("plugged in?");
}

#[test]
fn what_was_never_sent_is_not_said_to_be_asked() {
    let mut rig = opened();
    rig.send(Message::Scale(LinkEvent::Asked(Ask::Tare)));
    let why = "nothing was sent, because this scale's format has no such command".to_owned();
    rig.key("u");
    let answer = Answer::Refused(why);
    rig.send(Message::Scale(LinkEvent::Answer { to: Some(Ask::NextUnit), answer }));
    rig.says("nothing was sent, because");
    rig.says_not("asked the scale");
}

/// Rule 10: nothing that changes the scale is sent unless a person asks for it, here.
#[test]
fn nothing_is_sent_by_itself_or_from_elsewhere() {
    let mut rig = Rig::begun();
    for key in ["z", "t", "u"] {
        rig.key(key);
        rig.key("Esc");
    }
    assert_eq!(rig.asked, []);
}

#[test]
fn a_mix_in_the_cup_keeps_the_scale_as_it_is() {
    let mut rig = Rig::begun();
    rig.stand_net(rig.stop(), 3);
    rig.key("F2");
    for key in ["z", "t", "c", "u"] {
        rig.key(key);
        rig.says("a mix is in the cup");
    }
    assert_eq!(rig.asked, []);
}

#[test]
fn a_scale_that_is_not_there_is_not_asked() {
    let mut rig = opened();
    rig.state(LinkState::Lost, "the cable is out");
    rig.key("z");
    rig.says("nothing was sent");
    let mut rig = Rig::without_scale();
    rig.key("F2");
    rig.key("z");
    rig.says("there is no scale to ask");
    assert_eq!(rig.asked, []);
}

/// While somebody looks at the scale nothing is taken at the bench behind.
#[test]
fn no_pour_is_taken_behind_it() {
    let mut rig = Rig::begun();
    let gross = rig.gross(rig.stop());
    rig.key("F2");
    rig.stand(&gross, DWELL * 3);
    assert_eq!(rig.kinds(), ["mix/started"]);
    rig.key("Esc");
    // What came in unseen is asked about, not taken.
    rig.frame(moving(CUP));
    rig.stand(&gross, DWELL * 2);
    assert_eq!(rig.kinds(), ["mix/started"]);
    rig.says("75.2 g more than when the scale was last heard");
    rig.key("Enter");
    assert_eq!(rig.kinds(), ["mix/started", "mix/poured"]);
}

#[test]
fn a_long_doubt_is_read_to_its_end() {
    let mut rig = opened();
    rig.frame(Frame { unit: None, unit_text: "".into(), ..stable("201.3") });
    rig.says("The scale sends a number without a unit: set it to send the unit, or add");
    rig.says("unit=g to its address.");
}

#[test]
fn what_is_to_be_known_of_a_described_format_is_said_without_its_place_in_the_file() {
    let file = "bench.toml";
    let text = "name = \"no-mark\"\nend = \"CR\"\nlength = 8\nvalue = \"1-8\"\nunit = \"g\"\n";
    let format = crate::scale::shape::described::Described::parse(file, text).unwrap();
    assert!(!crate::scale::shape::Shape::remarks(format).is_empty());
    let mut settings = settings();
    settings.scale.as_mut().unwrap().shape = Some(format);
    let mut rig = Rig::opened(settings, FromBook::default());
    rig.live();
    rig.key("F2");
    rig.says("its format: Nothing says whether the scale stands still.");
    rig.says_not("bench.toml:1");
    let mut rig = opened();
    rig.stand(CUP, 2);
    rig.says_not("its format");
}
