//! What is asked of a scale, by the link and on a person's key, and what counts as its answer.

use crate::heard::{Heard, PATIENCE};
use crate::{CUP, each_shape, grams, on_pty, questions_only};
use pourbook::scale::shape::{self, Answer, Ask, Shape};
use pourbook::scale::{Condition, Control, Hand, LinkEvent, LinkState};
use serialport::SerialPort;
use std::io::{Read, Write};
use std::time::{Duration, Instant};

#[test]
fn a_scale_that_waits_to_be_asked_is_asked_for_its_weight_and_nothing_else() {
    each_shape(|shape| {
        let Some(question) = shape.ask(Ask::Now) else { return };
        let (stand_in, _folder, address) = on_pty(shape, false);
        let mut heard = Heard::open(&address);
        heard.state(LinkState::Live);
        heard.readings(8);
        let received = stand_in.truth().unwrap().received;
        assert!(received.len() >= 8 * question.len(), "{}: {received:?}", shape.name());
        assert!(questions_only(&received, question), "{}: {received:?}", shape.name());
    });
}

#[test]
fn a_scale_that_speaks_by_itself_is_told_nothing_at_all() {
    each_shape(|shape| {
        let (stand_in, _folder, address) = on_pty(shape, true);
        let mut heard = Heard::open(&address);
        let readings = heard.readings(15);
        let received = stand_in.truth().unwrap().received;
        // Where the machine held the stand-in up for half a second it was silent, and may have been asked.
        let stalled =
            readings.windows(2).any(|pair| pair[1].at.since(pair[0].at) >= 450) || readings[0].at.0 >= 450;
        let question = shape.ask(Ask::Now);
        let harmless = stalled && question.is_some_and(|question| questions_only(&received, question));
        assert!(received.is_empty() || harmless, "{}: {received:?}", shape.name());
    });
}

#[test]
fn a_scale_that_cannot_be_asked_is_told_to_send_and_is_sent_nothing() {
    let (stand_in, _folder, address) = on_pty(&shape::LettersPrefix, false);
    let mut heard = Heard::open(&address);
    heard.next("what to do", |_, event| match event {
        LinkEvent::State { state: LinkState::Listening, why } => {
            (why.contains("no question") && why.contains("set the scale to send")).then_some(())
        }
        _ => None,
    });
    for key in [Ask::Zero, Ask::Tare, Ask::WhenStable] {
        heard.ask(key);
        let why = heard.next("a refusal", |_, event| match event {
            LinkEvent::Answer { to, answer: Answer::Refused(why) } if *to == Some(key) => Some(why.clone()),
            _ => None,
        });
        assert!(why.contains("no such command") && why.contains("key on the scale"), "{why}");
    }
    // An overload, which its format cannot say, is silence: it was live, and no number stays.
    stand_in.control(Control::Raw(b"ww0000.0214kg\r\n".to_vec()));
    heard.state(LinkState::Live);
    let (_, why) = heard.state(LinkState::Stale);
    assert!(why.contains("no question") && why.contains("overloaded"), "{why}");
    assert_eq!(stand_in.truth().unwrap().received, b"");
}

/// What the owner's question came to, as it was told: the words for it, in order.
fn answers(heard: &mut Heard, key: Ask, count: usize) -> Vec<String> {
    let mut told = Vec::new();
    while told.len() < count {
        told.push(heard.next("an answer", |_, event| match event {
            LinkEvent::Answer { to, answer } if *to == Some(key) => Some(format!("{answer:?}")),
            LinkEvent::Unanswered(what) if *what == key => Some("Unanswered".to_owned()),
            _ => None,
        }));
    }
    told
}

#[test]
fn a_key_that_is_answered_in_two_steps_is_done_with_the_second() {
    for streams in [false, true] {
        let (stand_in, _folder, address) = on_pty(&shape::TwoStepReply, streams);
        let mut heard = Heard::open(&address);
        heard.readings(3);
        heard.ask(Ask::Zero);
        assert_eq!(answers(&mut heard, Ask::Zero, 2), ["Accepted", "Done"]);
        heard.next("a reading of zero", |_, event| match event {
            LinkEvent::Reading(reading) => reading.frame.grams().filter(|mass| mass.is_zero()),
            _ => None,
        });
        // More than 2 % of the capacity cannot be set to zero.
        stand_in.hand(Hand::Load(grams("500")));
        heard.ask(Ask::Zero);
        let told = answers(&mut heard, Ask::Zero, 1).remove(0);
        assert!(told.contains("Refused"), "{told}");
        // Where weights come without end, one that was on its way already may be the answer.
        if !streams {
            heard.ask(Ask::WhenStable);
            assert_eq!(answers(&mut heard, Ask::WhenStable, 2), ["Accepted", "Done"]);
        }
    }
}

/// A scale that takes its time between the steps: nothing is asked meanwhile, and weights that come between are no
/// answer, not even one that looks as if it were done.
#[test]
fn between_the_two_steps_nothing_is_asked_and_nothing_counts_as_done() {
    // One that says nothing but what the test has it say.
    let (mut master, slave) = serialport::TTYPort::pair().unwrap();
    master.set_timeout(Duration::from_millis(20)).unwrap();
    let mut heard = Heard::open(&format!("serial:{}?shape=two-step-reply", slave.name().unwrap()));
    // The link opens the near end for itself alone.
    drop(slave);
    let mut received = Vec::new();
    hear(&mut master, &mut received, b"SI\r\n");
    master.write_all(b"SI ?      12.30 g  \r\n").unwrap();
    heard.reading();
    heard.ask(Ask::Zero);
    hear(&mut master, &mut received, b"Z\r\n");
    master.write_all(b"Z A\r\n").unwrap();
    assert_eq!(answers(&mut heard, Ask::Zero, 1), ["Accepted"]);
    received.clear();
    heard.ask(Ask::Tare);
    // Longer than an answer may take otherwise.
    let (_, why) = heard.state(LinkState::Stale);
    assert!(why.contains("waiting for rest"), "{why}");
    master.write_all(b"S          0.00 g  \r\n").unwrap();
    heard.reading();
    let mut buffer = [0; 64];
    let sent = master.read(&mut buffer).unwrap_or(0);
    assert_eq!((received.as_slice(), sent), (&b""[..], 0), "asked before the answer was complete");
    let early = heard.all.iter().any(|(_, event)| {
        matches!(event, LinkEvent::Answer { answer: Answer::Done | Answer::Refused(_), .. })
    });
    assert!(!early, "taken for an answer: {:?}", heard.all);
    master.write_all(b"Z E\r\n").unwrap();
    let told = answers(&mut heard, Ask::Zero, 1).remove(0);
    assert!(told.contains("did not come to rest"), "{told}");
    // What was pressed meanwhile is asked now.
    hear(&mut master, &mut received, b"T\r\n");
    // And one that begins and never ends is given up, told, and asked again for its weight.
    master.write_all(b"T A\r\nT A\r\n").unwrap();
    assert_eq!(answers(&mut heard, Ask::Tare, 3), ["Accepted", "Accepted", "Unanswered"]);
    received.clear();
    hear(&mut master, &mut received, b"SI\r\n");
}

/// Reads what was sent until it ends with that.
fn hear(master: &mut serialport::TTYPort, received: &mut Vec<u8>, wanted: &[u8]) {
    let deadline = Instant::now() + PATIENCE;
    let mut buffer = [0; 64];
    while !received.ends_with(wanted) {
        assert!(Instant::now() < deadline, "waited in vain for {wanted:?} behind {received:?}");
        let count = master.read(&mut buffer).unwrap_or(0);
        received.extend_from_slice(&buffer[..count]);
    }
}

#[test]
fn the_zero_key_arrives_and_the_scale_shows_zero() {
    let (stand_in, _folder, address) = on_pty(&shape::Sma, true);
    let mut heard = Heard::open(&address);
    assert_eq!(heard.reading().frame.grams(), Some(grams(CUP)));
    heard.ask(Ask::Zero);
    heard.next("a reading of zero", |_, event| match event {
        LinkEvent::Reading(reading) => reading.frame.grams().filter(|mass| mass.is_zero()),
        _ => None,
    });
    assert_eq!(stand_in.truth().unwrap().received, shape::Sma.ask(Ask::Zero).unwrap());
}

#[test]
fn a_scale_that_speaks_by_itself_is_not_asked_after_a_persons_key_either() {
    let (stand_in, _folder, address) = on_pty(&shape::CommandReply, true);
    let mut heard = Heard::open(&address);
    heard.readings(3);
    heard.ask(Ask::Tare);
    heard.next("an answer", |_, event| {
        matches!(event, LinkEvent::Answer { answer: Answer::Done, .. }).then_some(())
    });
    // Long enough that the link has looked a few times whether it has to ask.
    let mut readings = vec![heard.reading()];
    while readings[readings.len() - 1].at.since(readings[0].at) < 2_500 {
        heard.ask(Ask::WhenStable);
        readings.push(heard.reading());
    }
    let received = stand_in.truth().unwrap().received;
    let stalled = readings.windows(2).any(|pair| pair[1].at.since(pair[0].at) >= 450);
    let question = shape::CommandReply.ask(Ask::Now).unwrap();
    let asked = received.windows(question.len()).any(|sent| sent == question);
    assert!(!asked || stalled, "the link asked a scale that speaks by itself");
}

#[test]
fn a_key_that_the_scale_refuses_is_answered_in_its_own_words() {
    let (stand_in, _folder, address) = on_pty(&shape::CommandReply, false);
    let mut heard = Heard::open(&address);
    heard.state(LinkState::Live);
    // More than 2 % of the capacity cannot be set to zero.
    stand_in.hand(Hand::Load(grams("500")));
    heard.ask(Ask::Zero);
    heard.next("a refusal", |_, event| {
        matches!(event, LinkEvent::Answer { answer: Answer::Refused(_), .. }).then_some(())
    });
    // And it goes on being asked for its weight, which has not changed.
    heard.next("the weight", |_, event| match event {
        LinkEvent::Reading(reading) => reading.frame.grams().filter(|mass| *mass == grams("500")),
        _ => None,
    });
    let (stand_in, _folder, address) = on_pty(&shape::Sma, true);
    let mut heard = Heard::open(&address);
    stand_in.hand(Hand::Load(grams("500")));
    heard.state(LinkState::Live);
    heard.ask(Ask::Zero);
    heard.next("a zero error", |_, event| match event {
        LinkEvent::Reading(reading) => (reading.frame.condition == Condition::ZeroError).then_some(()),
        _ => None,
    });
}

#[test]
fn what_is_asked_of_a_scale_that_is_not_there_is_refused_and_never_sent() {
    let (stand_in, _folder, address) = on_pty(&shape::Sma, true);
    let mut heard = Heard::open(&address);
    heard.state(LinkState::Live);
    stand_in.control(Control::Unplug);
    heard.state(LinkState::Lost);
    heard.ask(Ask::Zero);
    let why = heard.next("a refusal", |_, event| match event {
        LinkEvent::Answer { answer: Answer::Refused(why), .. } => Some(why.clone()),
        _ => None,
    });
    assert!(why.contains("not there"), "{why}");
    stand_in.control(Control::Replug);
    heard.state(LinkState::Live);
    heard.readings(3);
    let zero = shape::Sma.ask(Ask::Zero).unwrap();
    let received = stand_in.truth().unwrap().received;
    assert!(!received.windows(zero.len()).any(|sent| sent == zero), "{received:?}");
}
