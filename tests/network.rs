//! Serial servers on the network: RFC 2217 and raw TCP, with servers as they should be and as they are. What is waited
//! for comes as an event before a deadline, or the test fails.

#![expect(clippy::unwrap_used, clippy::panic, reason = "what helps a test fails as a test does")]

#[path = "common/heard.rs"]
mod heard;

use heard::{Heard, PATIENCE};
use pourbook::scale::shape::{self, Ask, Shape, UsualLine};
use pourbook::scale::{Control, LinkEvent, LinkState, Manner, ServerFault, Spec, StandIn, VirtualBench};
use pourbook::units::Grams;
use rstest::rstest;
use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::time::{Duration, Instant};

fn manner(shape: &'static dyn Shape, streams: bool) -> Manner {
    Manner { shape, spec: Spec::default(), seed: 5, streams }
}

/// A stand-in behind an RFC 2217 server with those faults, and its address.
fn served(shape: &'static dyn Shape, streams: bool, faults: Vec<ServerFault>) -> (StandIn, String) {
    let stand_in = StandIn::on_rfc2217(0, faults, manner(shape, streams)).unwrap();
    let address = format!("rfc2217:{}?shape={}", stand_in.place(), shape.name());
    (stand_in, address)
}

/// A server that does only what the test says, and the address of it.
fn scripted(scheme: &str) -> (TcpListener, String) {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = format!("{scheme}:{}?shape=sma", listener.local_addr().unwrap());
    (listener, address)
}

fn accept(listener: &TcpListener) -> TcpStream {
    let (stream, _) = listener.accept().unwrap();
    stream.set_read_timeout(Some(PATIENCE)).unwrap();
    stream
}

fn hex(text: &str) -> Vec<u8> {
    text.split_whitespace().map(|byte| u8::from_str_radix(byte, 16).unwrap()).collect()
}

/// Why a link cannot be opened.
fn refused(address: &str) -> String {
    let (_, why) = Heard::open(address).state(LinkState::Absent);
    assert!(why.contains("cannot be used so"), "{why}");
    why
}

#[test]
fn every_format_is_live_behind_a_server_that_sets_its_port_and_the_port_is_set() {
    for shape in shape::ALL {
        let (stand_in, address) = served(*shape, true, Vec::new());
        let mut heard = Heard::open(&address);
        heard.state(LinkState::Live);
        assert_eq!(heard.reading().frame.grams(), Some(Grams::parse("21.4").unwrap()));
        assert_eq!(stand_in.truth().unwrap().line, Some(shape.usual_line()), "{}", shape.name());
        assert_eq!(heard.states(), [LinkState::Opening, LinkState::Listening, LinkState::Live]);
        let evidence = heard.close();
        assert_eq!((evidence.noise, evidence.openings), (0, 1), "{}", shape.name());
    }
}

#[test]
fn the_addresss_own_settings_go_before_the_formats_usual_ones() {
    let (stand_in, address) = served(&shape::Sma, true, Vec::new());
    let mut heard = Heard::open(&format!("{address}&baud=2400&line=7O2"));
    heard.state(LinkState::Live);
    let line = UsualLine { baud: 2400, data_bits: 7, parity: 'O', stop_bits: 2 };
    assert_eq!(stand_in.truth().unwrap().line, Some(line));
}

#[test]
fn questions_reach_the_scale_and_nothing_of_the_negotiation_does() {
    let (stand_in, address) = served(&shape::Sma, false, Vec::new());
    let mut heard = Heard::open(&address);
    heard.state(LinkState::Live);
    heard.readings(5);
    let received = stand_in.truth().unwrap().received;
    let question = shape::Sma.ask(Ask::Now).unwrap();
    assert!(received.len() >= 5 * question.len());
    assert!(received.chunks(question.len()).all(|chunk| chunk == question), "{received:?}");
}

/// The bytes of the whole negotiation at 9600 8N1, by the numbers of RFC 2217, RFC 854, RFC 856 and RFC 858, against
/// a server of which only these bytes are known.
#[test]
fn the_negotiation_on_the_wire_is_byte_for_byte_the_rfcs() {
    let (listener, address) = scripted("rfc2217");
    let mut heard = Heard::open(&format!("{address}&baud=9600&line=8N1&poll=none"));
    let mut stream = accept(&listener);
    let mut expect = |wanted: &str, answer: &str| {
        let wanted = hex(wanted);
        let mut came = vec![0; wanted.len()];
        stream.read_exact(&mut came).unwrap();
        assert_eq!(came, wanted);
        stream.write_all(&hex(answer)).unwrap();
    };
    expect("FF FB 00 FF FD 00 FF FB 03 FF FD 03 FF FB 2C", "FF FD 00 FF FB 00 FF FD 03 FF FB 03 FF FD 2C");
    expect("FF FA 2C 01 00 00 25 80 FF F0", "FF FA 2C 65 00 00 25 80 FF F0");
    expect("FF FA 2C 02 08 FF F0", "FF FA 2C 66 08 FF F0");
    expect("FF FA 2C 03 01 FF F0", "FF FA 2C 67 01 FF F0");
    expect("FF FA 2C 04 01 FF F0", "FF FA 2C 68 01 FF F0");
    expect("FF FA 2C 05 01 FF F0", "FF FA 2C 69 01 FF F0");
    expect("FF FA 2C 05 08 FF F0", "FF FA 2C 69 08 FF F0");
    expect("FF FA 2C 05 0B FF F0", "FF FA 2C 69 0B FF F0");
    expect("FF FA 2C 0A 0E FF F0", "FF FA 2C 6E 0E FF F0");
    // Then a frame with a telnet command in its middle: no operation.
    let mut frame = VirtualBench::new(Spec::default(), 1).bytes(&shape::Sma);
    frame.splice(8..8, [0xFF, 0xF1]);
    expect("FF FA 2C 0B 00 FF F0", "FF FA 2C 6F 00 FF F0");
    stream.write_all(&frame).unwrap();
    heard.state(LinkState::Live);
    assert_eq!(heard.reading().frame.grams(), Some(Grams::parse("21.4").unwrap()));
    drop(stream);
    let (_, why) = heard.state(LinkState::Lost);
    assert!(why.contains("closed the connection") && why.contains("serial server on"), "{why}");
}

#[test]
fn servers_with_known_faults_are_live_all_the_same() {
    let faults = vec![
        ServerFault::Banner("Welcome to port 3\r\n".to_owned()),
        ServerFault::LosesTheFirst,
        ServerFault::LongSpeed,
        ServerFault::WrongControl,
        ServerFault::ModemState,
    ];
    let (_stand_in, address) = served(&shape::SignDigitsUnit, true, faults);
    let mut heard = Heard::open(&address);
    heard.state(LinkState::Live);
    heard.readings(3);
    // Nothing but the scale's own bytes was given to the format.
    assert_eq!(heard.close().noise, 0);
}

#[test]
fn what_the_server_tells_of_its_line_is_counted() {
    let (_stand_in, address) = served(&shape::Sma, true, vec![ServerFault::LineErrors]);
    let mut heard = Heard::open(&address);
    heard.readings(4);
    heard.next("line errors", |_, event| match event {
        LinkEvent::Evidence(evidence) => (evidence.line_errors >= 3).then_some(()),
        _ => None,
    });
}

#[rstest]
#[case(ServerFault::RefusesComPort, "no RFC 2217")]
#[case(ServerFault::NeverAnswers, "does not answer to RFC 2217")]
#[case(ServerFault::NeverConfirms, "though asked twice")]
#[case(ServerFault::OtherSpeed(2400), "uses 2400 baud where 9600 baud was asked for")]
fn a_server_that_cannot_be_used_says_why_and_what_to_use(#[case] fault: ServerFault, #[case] part: &str) {
    let (stand_in, address) = served(&shape::Sma, true, vec![fault]);
    let why = refused(&address);
    assert!(why.contains(part) && why.contains(stand_in.place()), "{why}");
    assert!(why.contains("use tcp:") || part.contains("2400"), "{why}");
}

#[test]
fn a_raw_server_where_rfc2217_was_said_is_told() {
    let stand_in = StandIn::on_tcp(0, manner(&shape::Sma, true)).unwrap();
    let why = refused(&format!("rfc2217:{}?shape=sma", stand_in.place()));
    assert!(why.contains("passes bytes unchanged") && why.contains("use tcp: instead"), "{why}");
}

/// IAC DO and IAC WILL, one byte at a time, as RFC 854 has them.
#[test]
fn a_telnet_server_where_raw_was_said_is_told_even_byte_by_byte() {
    for greeting in [&[0xFF, 0xFD, 0x2C][..], b"Welcome\r\n\xFF\xFB\x01"] {
        let (listener, address) = scripted("tcp");
        let mut heard = Heard::open(&address);
        let mut stream = accept(&listener);
        stream.set_nodelay(true).unwrap();
        for byte in greeting {
            stream.write_all(&[*byte]).unwrap();
        }
        let (_, why) = heard.state(LinkState::Lost);
        assert!(why.contains("telnet") && why.contains("rfc2217: instead of tcp:"), "{why}");
    }
}

#[test]
fn a_server_whose_port_is_taken_says_so_in_words() {
    for (scheme, state) in [("tcp", LinkState::Lost), ("rfc2217", LinkState::Absent)] {
        let (listener, address) = scripted(scheme);
        let mut heard = Heard::open(&address);
        let mut stream = accept(&listener);
        stream.write_all(b"Port already in use\r\n").unwrap();
        // Closed in order, not broken off: the text has to arrive.
        stream.shutdown(std::net::Shutdown::Write).unwrap();
        let (_, why) = heard.state(state);
        assert!(why.contains("another program is connected"), "{why}");
        assert!(why.contains("Port already in use") && !why.contains("cable"), "{why}");
    }
}

#[test]
fn a_banner_that_nothing_follows_is_quoted() {
    let (listener, address) = scripted("tcp");
    let heard = Heard::open(&address);
    let mut stream = accept(&listener);
    stream.write_all(b"serial line 3\r\n").unwrap();
    // Bytes that are no frame, until something has been heard and not understood.
    let deadline = Instant::now() + PATIENCE;
    loop {
        assert!(Instant::now() < deadline, "the banner was never quoted");
        stream.write_all(b"?\r\n").unwrap();
        let event = heard.inbox.recv_timeout(Duration::from_millis(20));
        if let Ok((_, LinkEvent::State { why, .. })) = event
            && why.contains("beginning with \u{201c}serial line 3\u{201d}, but it is not sma")
        {
            break;
        }
    }
}

#[test]
fn a_server_that_starts_again_is_live_again_and_its_port_set_anew() {
    let (stand_in, address) = served(&shape::CommandReply, true, Vec::new());
    let mut heard = Heard::open(&address);
    heard.state(LinkState::Live);
    stand_in.control(Control::Unplug);
    let (_, why) = heard.state(LinkState::Lost);
    assert!(why.contains("serial server"), "{why}");
    let (_, why) = heard.state(LinkState::Lost);
    assert!(why.contains("does not answer"), "{why}");
    stand_in.control(Control::Replug);
    heard.state(LinkState::Live);
    heard.readings(3);
    assert_eq!(stand_in.truth().unwrap().line, Some(shape::CommandReply.usual_line()));
    assert!(!heard.states().contains(&LinkState::Absent), "{:?}", heard.states());
}

#[test]
fn a_name_that_leads_nowhere_is_told() {
    let mut heard = Heard::open("rfc2217:nowhere.invalid:4001?shape=sma");
    let (_, why) = heard.state(LinkState::Absent);
    assert!(why.contains("nowhere.invalid:4001 does not answer"), "{why}");
}
