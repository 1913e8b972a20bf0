//! The link to a scale against real lines: a pseudo terminal and a TCP port with a stand-in at the far end. What
//! is waited for comes as an event before a deadline, or the test fails; nothing sleeps and hopes.

#![expect(clippy::unwrap_used, clippy::panic, reason = "what helps a test fails as a test does")]

mod asking;
#[path = "../common/heard.rs"]
mod heard;

use heard::{Heard, PATIENCE};
use pourbook::scale::shape::{self, Ask, Shape};
use pourbook::scale::{
    Clock, Control, Hand, Link, LinkEvent, LinkState, Listening, Manner, Rules, Settle, Spec, StandIn,
};
use pourbook::units::{Division, Grams, MassUnit};
use std::io::Write;
use std::net::TcpListener;
use std::path::PathBuf;
use std::sync::mpsc::channel;
use tempfile::TempDir;

/// What [`Spec::default`] has on its pan: the empty cup.
const CUP: &str = "21.4";

fn manner(shape: &'static dyn Shape, streams: bool) -> Manner {
    Manner { shape, spec: Spec::default(), seed: 5, streams }
}

fn grams(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

/// Does it for every format, side by side: most of the time is spent waiting.
fn each_shape(check: impl Fn(&'static dyn Shape) + Sync) {
    std::thread::scope(|scope| {
        for shape in shape::ALL {
            scope.spawn(|| check(*shape));
        }
    });
}

/// A stand-in on a pseudo terminal, the folder its link lives in, and its address.
fn on_pty(shape: &'static dyn Shape, streams: bool) -> (StandIn, TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let link = folder.path().join("scale");
    let stand_in = StandIn::on_pty(&link, manner(shape, streams)).unwrap();
    let address = format!("serial:{}?shape={}", link.display(), shape.name());
    (stand_in, folder, address)
}

fn questions_only(received: &[u8], question: &[u8]) -> bool {
    received.chunks(question.len()).all(|chunk| chunk == question)
}

#[test]
fn a_scale_that_speaks_is_live() {
    let (_stand_in, _folder, address) = on_pty(&shape::Sma, true);
    let mut heard = Heard::open(&address);
    heard.state(LinkState::Live);
    assert_eq!(heard.reading().frame.grams(), Some(grams(CUP)));
    assert_eq!(heard.states(), [LinkState::Opening, LinkState::Listening, LinkState::Live]);
    let evidence = heard.close();
    assert!(evidence.frames >= 1 && evidence.openings == 1, "{evidence:?}");
}

#[test]
fn the_reading_after_damage_says_so_and_no_other() {
    for shape in shape::ALL {
        let (stand_in, _folder, address) = on_pty(*shape, true);
        let mut heard = Heard::open(&address);
        heard.readings(3);
        let before = heard.all.len();
        stand_in.control(Control::Raw(b"#?#?\x01#?#?\r\n".to_vec()));
        let after = heard.next("a reading after noise", |_, event| match event {
            LinkEvent::Reading(reading) if reading.noise_before > 0 => Some(reading.clone()),
            _ => None,
        });
        assert!(after.noise_before >= 8, "{}: {after:?}", shape.name());
        // Listening begins anywhere; from the second reading on all that was sent was whole.
        let heard_before = heard.all[..before].iter().filter_map(|(_, event)| match event {
            LinkEvent::Reading(reading) => Some(reading.noise_before),
            _ => None,
        });
        assert!(heard_before.skip(1).all(|noise| noise == 0), "{}", shape.name());
        assert_eq!(heard.reading().noise_before, 0, "{}", shape.name());
    }
}

/// The promise is a second; the margin is for a machine that is busy with other tests.
#[test]
fn silence_is_told_within_a_second_and_its_end_too() {
    let (stand_in, _folder, address) = on_pty(&shape::Sma, true);
    let mut heard = Heard::open(&address);
    heard.readings(5);
    stand_in.control(Control::Silent(true));
    let (told, why) = heard.state(LinkState::Stale);
    let last = heard.all.iter().rev().find_map(|(_, event)| match event {
        LinkEvent::Reading(reading) => Some(reading.at),
        _ => None,
    });
    let age = told.since(last.unwrap());
    assert!((500..=1_500).contains(&age), "told after {age} ms");
    assert!(why.contains("silent") && why.contains("cable"), "{why}");
    stand_in.control(Control::Silent(false));
    heard.state(LinkState::Live);
    assert_eq!(heard.close().openings, 1);
}

#[test]
fn unplugged_is_lost_and_plugged_in_again_is_live() {
    let (stand_in, _folder, address) = on_pty(&shape::Sma, true);
    let mut heard = Heard::open(&address);
    heard.state(LinkState::Live);
    for _ in 0..2 {
        stand_in.control(Control::Unplug);
        let (_, why) = heard.state(LinkState::Lost);
        assert!(why.contains("check the cable"), "{why}");
        // While it is away it is lost, not absent, and it says what is missing.
        let (_, why) = heard.state(LinkState::Lost);
        assert!(why.contains("is not there"), "{why}");
        stand_in.control(Control::Replug);
        heard.state(LinkState::Live);
        heard.readings(3);
    }
    assert!(!heard.states().contains(&LinkState::Absent), "{:?}", heard.states());
    assert_eq!(heard.close().openings, 3);
}

#[test]
fn a_scale_that_is_asked_seldom_is_not_called_silent_in_between() {
    let (_stand_in, _folder, address) = on_pty(&shape::Sma, false);
    let mut heard = Heard::open(&format!("{address}&poll=500"));
    let readings = heard.readings(4);
    assert!(readings.windows(2).all(|pair| pair[1].at.since(pair[0].at) >= 400), "{readings:?}");
    assert!(!heard.states().contains(&LinkState::Stale), "{:?}", heard.states());
}

/// A program started while the line is open must not hold it: unplugged has to mean unplugged.
#[test]
fn a_program_started_meanwhile_does_not_keep_the_line_open() {
    let (stand_in, _folder, address) = on_pty(&shape::Sma, true);
    let mut heard = Heard::open(&address);
    heard.state(LinkState::Live);
    let mut other = std::process::Command::new("sleep").arg("60").spawn().unwrap();
    stand_in.control(Control::Unplug);
    let (_, why) = heard.state(LinkState::Lost);
    other.kill().unwrap();
    other.wait().unwrap();
    assert!(why.contains("check the cable"), "{why}");
}

#[test]
fn a_fault_in_the_worker_is_an_event_and_no_silence() {
    let (outbox, inbox) = channel();
    let sink = move |event: LinkEvent| {
        let fails = matches!(event, LinkEvent::Reading(_));
        let _ = outbox.send(event);
        assert!(!fails, "on purpose");
    };
    let address = "virtual:?seed=1".parse().unwrap();
    let _link = Link::open(address, Clock::running(), Listening::default(), sink).unwrap();
    loop {
        match inbox.recv_timeout(PATIENCE).unwrap() {
            LinkEvent::Ended { why, fault } => {
                assert!(fault && why.contains("fault of the program"), "{why}");
                break;
            }
            LinkEvent::State { .. } | LinkEvent::Reading(_) => {}
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn the_virtual_bench_shows_what_is_in_its_cup_and_minds_its_keys() {
    let mut heard = Heard::open("virtual:?seed=3&rate=50");
    heard.state(LinkState::Live);
    let link = heard.link.take().unwrap();
    link.hand(Hand::Tare);
    for hand in [Hand::TipMore; 8] {
        link.hand(hand);
    }
    heard.next("paint in the cup", |_, event| match event {
        LinkEvent::Reading(reading) => reading.frame.grams().filter(|mass| *mass > grams("5")),
        _ => None,
    });
    link.hand(Hand::Upright);
    let mut settle = Settle::new(Rules::default());
    // Drops fall for some seconds after; at rest is when the truth stands still as well.
    let mut before = None;
    let weight = heard.next("rest", |_, event| {
        let LinkEvent::Reading(reading) = event else { return None };
        let weight = settle.feed(reading).weight?.grams();
        let truth = link.in_cup()?;
        (before.replace(truth) == Some(truth)).then_some(weight)
    });
    let truth = grams(&format!("{:.4}", link.in_cup().unwrap()));
    assert!((weight - truth).abs() <= Division::TENTH.grams(), "{weight} for {truth}");
    link.ask(Ask::Tare);
    heard.next("nothing, net", |_, event| match event {
        LinkEvent::Reading(reading) => reading.frame.grams().filter(|mass| mass.is_zero()),
        _ => None,
    });
    drop(link);
    heard.ended();
}

#[test]
fn what_settles_is_what_is_on_the_pan_in_every_format() {
    each_shape(|shape| {
        let (stand_in, _folder, address) = on_pty(shape, true);
        let mut heard = Heard::open(&address);
        let mut settle = Settle::new(Rules::default());
        let near = |mass: Grams, load: &str| (mass - grams(load)).abs() <= Division::TENTH.grams();
        for load in [CUP, "257.4", "0", "7400.3"] {
            stand_in.hand(Hand::Load(grams(load)));
            heard.next(&format!("{load} g in {}", shape.name()), |_, event| {
                let LinkEvent::Reading(reading) = event else { return None };
                let weight = settle.feed(reading).weight?.grams();
                assert!([CUP, "257.4", "0", "7400.3"].iter().any(|load| near(weight, load)), "{weight}");
                near(weight, load).then_some(())
            });
        }
        assert_eq!(heard.close().noise, 0, "{}", shape.name());
    });
}

/// Some formats have no unit at all: then the shop says it, and only then.
#[test]
fn the_address_gives_a_unit_to_a_scale_that_never_says_one() {
    let sent: &[&[u8]] = &[
        b"\x02   12.30M\x03",
        b"\x02   12.34G\x03",
        b"\x02   12.36M\x03",
        b"\x02 -------O\x03",
        b"\x02    1.25G  - kg\x03",
        b"\x02   12.34G\x03",
    ];
    for (setting, units) in [
        ("", ["", "", "", "", "kg", ""]),
        // Not before the first number at rest: a blank unit can mean that the load moves.
        ("&unit=g", ["", "g", "g", "", "kg", ""]),
    ] {
        let (stand_in, _folder, address) = on_pty(&shape::StxText, false);
        let mut heard = Heard::open(&format!("{address}{setting}"));
        heard.next("the line to be open", |_, event| {
            matches!(event, LinkEvent::State { state: LinkState::Listening, .. }).then_some(())
        });
        for (number, (frame, unit)) in sent.iter().zip(units).enumerate() {
            stand_in.control(Control::Raw(frame.to_vec()));
            let told = heard.next("a reading", |_, event| match event {
                LinkEvent::Reading(reading) => Some(reading.frame.clone()),
                _ => None,
            });
            assert_eq!(told.unit_text.as_str(), unit, "{setting} {number}: {told:?}");
            assert_eq!(told.unit.map_or("", MassUnit::symbol), unit, "{setting} {number}: {told:?}");
        }
        heard.close();
    }
}

#[test]
fn a_serial_server_that_starts_again_is_live_again() {
    let stand_in = StandIn::on_tcp(0, manner(&shape::CommandReply, true)).unwrap();
    let place = stand_in.place().to_owned();
    let mut heard = Heard::open(&format!("tcp:{place}?shape=command-reply"));
    heard.state(LinkState::Live);
    assert_eq!(heard.reading().frame.grams(), Some(grams(CUP)));
    stand_in.control(Control::Unplug);
    let (_, why) = heard.state(LinkState::Lost);
    assert!(why.contains("serial server") && !why.contains("the cable"), "{why}");
    let (_, why) = heard.state(LinkState::Lost);
    assert!(why.contains("does not answer") && why.contains(&place), "{why}");
    stand_in.control(Control::Replug);
    heard.state(LinkState::Live);
    heard.readings(3);
    assert!(!heard.states().contains(&LinkState::Absent), "{:?}", heard.states());
}

#[test]
fn a_telnet_server_is_told_from_a_raw_one() {
    // IAC DO and IAC WILL as a greeting: RFC 854.
    for greeting in [[0xFF, 0xFD, 0x18], [0xFF, 0xFB, 0x01]] {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let mut heard = Heard::open(&format!("tcp:{}?shape=sma", listener.local_addr().unwrap()));
        let (mut stream, _) = listener.accept().unwrap();
        stream.write_all(&greeting).unwrap();
        let (_, why) = heard.state(LinkState::Lost);
        assert!(why.contains("telnet") && why.contains("raw TCP"), "{why}");
        assert!(!why.contains("cable"), "a cable is not what is wrong: {why}");
    }
}

/// A tape of that format: the cup, then so many readings of 100.0 g.
fn tape(folder: &TempDir, shape: &'static dyn Shape, readings: u64, says_so: bool) -> PathBuf {
    use pourbook::scale::tape::{Chunk, Tape};
    let mut bench = pourbook::scale::VirtualBench::new(Spec::default(), 1);
    bench.hand(Hand::Load(grams("100")));
    let chunks = (0..readings).map(|number| Chunk { at_ms: 100 * number, bytes: bench.bytes(shape) });
    let tape = Tape { shape: says_so.then_some(shape), chunks: chunks.collect() };
    let file = folder.path().join(format!("{}.tape", shape.name()));
    std::fs::write(&file, tape.text()).unwrap();
    file
}

#[test]
fn a_tape_at_full_speed_gives_all_its_readings_and_ends() {
    let folder = tempfile::tempdir().unwrap();
    for shape in shape::ALL {
        // Two minutes of it: at its own speed the test would give up.
        let file = tape(&folder, *shape, 1_200, true);
        let mut heard = Heard::open(&format!("tape:{}?speed=full", file.display()));
        let readings = heard.readings(1_200);
        assert!(readings.iter().all(|reading| reading.frame.grams() == Some(grams("100"))));
        // In the tape's own time.
        assert!(readings.windows(2).all(|pair| pair[1].at.since(pair[0].at) == 100));
        let why = heard.ended();
        assert!(why.contains("the tape is at its end"), "{why}");
    }
}

#[test]
fn what_the_address_says_goes_before_what_the_tape_says() {
    let folder = tempfile::tempdir().unwrap();
    let file = tape(&folder, &shape::HeaderComma, 3, false);
    let mut heard = Heard::open(&format!("tape:{}?speed=full&shape=header-comma", file.display()));
    assert_eq!(heard.readings(3).len(), 3);
    heard.ended();
}

#[test]
fn a_tape_that_cannot_be_read_is_an_end_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let missing = folder.path().join("missing.tape");
    let why = Heard::open(&format!("tape:{}", missing.display())).ended();
    assert!(why.contains("cannot be played") && why.contains("missing.tape"), "{why}");
    std::fs::write(&missing, "shape sma\nnonsense\n").unwrap();
    let why = Heard::open(&format!("tape:{}", missing.display())).ended();
    assert!(why.contains("line 2 of the tape"), "{why}");
}

#[test]
fn a_mistyped_port_is_absent_and_says_so() {
    let mut heard = Heard::open("serial:/dev/ttyMISTYPED0?shape=sma");
    let (_, why) = heard.state(LinkState::Absent);
    assert!(why.contains("/dev/ttyMISTYPED0 is not there") && why.contains("plugged in"), "{why}");
    assert_eq!(heard.states(), [LinkState::Opening, LinkState::Absent]);
}

#[test]
fn a_port_that_another_program_holds_says_so_and_is_live_once_it_is_free() {
    let (stand_in, _folder, address) = on_pty(&shape::Sma, true);
    let holder = serialport::new(stand_in.place(), 9600).open_native().unwrap();
    let mut heard = Heard::open(&address);
    let (_, why) = heard.state(LinkState::Absent);
    assert!(why.contains("another program holds"), "{why}");
    drop(holder);
    heard.state(LinkState::Live);
}
