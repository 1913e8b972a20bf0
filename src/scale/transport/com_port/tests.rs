use super::*;
use proptest::prelude::*;
use rstest::rstest;

const NINE_SIX: UsualLine = UsualLine { baud: 9600, data_bits: 8, parity: 'N', stop_bits: 1 };
const NOTHING: [u8; 0] = [];
const WANTED: Wanted = Wanted { line: NINE_SIX, flow: Flow::None, dtr: true, rts: true };

fn hex(text: &str) -> Vec<u8> {
    text.split_whitespace().map(|byte| u8::from_str_radix(byte, 16).unwrap()).collect()
}

/// A negotiation, and what it has to say to each thing it hears.
struct Talk {
    port: ComPort,
    now: Moment,
    data: Vec<u8>,
}

impl Talk {
    fn new(wanted: Wanted) -> Self {
        Self { port: ComPort::new(wanted, Moment(0)), now: Moment(0), data: Vec::new() }
    }

    fn says(&mut self, text: &str) -> Result<Vec<u8>, Refusal> {
        self.port.take_in(&hex(text), self.now, &mut self.data)?;
        Ok(self.port.outgoing())
    }

    fn after(&mut self, milliseconds: u64) -> Result<Vec<u8>, Refusal> {
        self.now = self.now.plus(milliseconds);
        self.port.look(self.now)?;
        Ok(self.port.outgoing())
    }

    /// As far as that the port is as wanted.
    fn ready(wanted: Wanted) -> Self {
        let mut talk = Self::new(wanted);
        talk.port.outgoing();
        let mut said = talk.says("FF FD 2C").unwrap();
        for _ in ORDER {
            // A server that does as it is told: the same again with the answer's code.
            said[3] += ANSWER;
            let text: Vec<String> = said.iter().map(|byte| format!("{byte:02x}")).collect();
            said = talk.says(&text.join(" ")).unwrap();
        }
        assert!(talk.port.is_ready());
        talk
    }
}

/// 9600 8N1. The numbers are those of RFC 2217 (commands and values), RFC 854 (IAC, SB, SE, WILL, DO), RFC 856 and RFC
/// 858 (options 0 and 3); the bytes are worked out here from them.
#[test]
fn the_whole_negotiation_byte_for_byte() {
    let mut talk = Talk::new(WANTED);
    assert_eq!(talk.port.outgoing(), hex("FF FB 00 FF FD 00 FF FB 03 FF FD 03 FF FB 2C"));
    assert_eq!(talk.says("FF FD 00 FF FB 00 FF FD 03 FF FB 03").unwrap(), NOTHING);
    assert_eq!(talk.says("FF FD 2C").unwrap(), hex("FF FA 2C 01 00 00 25 80 FF F0"));
    assert_eq!(talk.says("FF FA 2C 65 00 00 25 80 FF F0").unwrap(), hex("FF FA 2C 02 08 FF F0"));
    assert_eq!(talk.says("FF FA 2C 66 08 FF F0").unwrap(), hex("FF FA 2C 03 01 FF F0"));
    assert_eq!(talk.says("FF FA 2C 67 01 FF F0").unwrap(), hex("FF FA 2C 04 01 FF F0"));
    assert!(!talk.port.is_ready());
    assert_eq!(
        talk.says("FF FA 2C 68 01 FF F0").unwrap(),
        hex("FF FA 2C 05 01 FF F0 FF FA 2C 05 08 FF F0 FF FA 2C 05 0B FF F0 \
             FF FA 2C 0A 0E FF F0 FF FA 2C 0B 00 FF F0")
    );
    assert!(talk.port.is_ready());
    assert_eq!(talk.says("FF FA 2C 69 01 FF F0 FF FA 2C 69 08 FF F0 FF FA 2C 69 0B FF F0").unwrap(), NOTHING);
    talk.says("31 32 FF FF 0D").unwrap();
    assert_eq!(talk.data, [0x31, 0x32, 0xFF, 0x0D]);
    assert_eq!(talk.port.wire(&[0xFF, 0x0D]), [0xFF, 0xFF, 0x0D]);
}

/// RFC 2217: parity 1 none, 2 odd, 3 even; SET-CONTROL 1 no flow, 2 XON/XOFF, 3 hardware, 8 and 9 DTR, 11 and 12
/// RTS. A speed with FF in it has it doubled.
#[rstest]
#[case("1200 7O1", Setting::Parity, "2C 03 02")]
#[case("2400 7E2", Setting::Parity, "2C 03 03")]
#[case("2400 7E2", Setting::StopBits, "2C 04 02")]
#[case("2400 7E2", Setting::DataBits, "2C 02 07")]
#[case("115200 8N1", Setting::Speed, "2C 01 00 01 C2 00")]
fn settings_have_the_numbers_of_the_rfc(#[case] line: &str, #[case] setting: Setting, #[case] bytes: &str) {
    let (baud, frame) = line.split_once(' ').unwrap();
    let letters: Vec<char> = frame.chars().collect();
    let digit = |place: usize| letters[place].to_digit(10).unwrap().try_into().unwrap();
    let line = UsualLine {
        baud: baud.parse().unwrap(),
        data_bits: digit(0),
        parity: letters[1],
        stop_bits: digit(2),
    };
    assert_eq!(setting.command(line), hex(bytes));
}

#[test]
fn flow_and_hand_shake_lines_have_the_numbers_of_the_rfc() {
    let said = |flow, dtr, rts| {
        let mut talk = Talk::new(Wanted { flow, dtr, rts, ..WANTED });
        talk.port.phase = Phase::Setting { setting: Setting::StopBits, again: false };
        talk.port.outgoing();
        let said = talk.says("FF FA 2C 68 01 FF F0").unwrap();
        said.chunks(7).filter(|one| one[3] == SET_CONTROL).map(|one| one[4]).collect::<Vec<_>>()
    };
    assert_eq!(said(Flow::None, false, false), [1, 9, 12]);
    assert_eq!(said(Flow::XonXoff, true, false), [2, 8, 12]);
    assert_eq!(said(Flow::RtsCts, true, true), [3, 8]);
}

#[test]
fn a_speed_with_ff_in_it_is_doubled() {
    let mut wire = Vec::new();
    telnet::sub(&Setting::Speed.command(UsualLine { baud: 0x00FF_0000, ..NINE_SIX }), &mut wire);
    assert_eq!(wire, hex("FF FA 2C 01 00 FF FF 00 00 FF F0"));
}

#[test]
fn another_value_in_use_is_refused_in_a_sentence() {
    let mut talk = Talk::new(WANTED);
    talk.says("FF FD 2C").unwrap();
    let refused = talk.says("FF FA 2C 65 00 00 09 60 FF F0").unwrap_err().to_string();
    assert!(refused.contains("uses 2400 baud where 9600 baud was asked for"), "{refused}");
    let mut talk = Talk::new(WANTED);
    talk.says("FF FD 2C FF FA 2C 65 00 00 25 80 FF F0").unwrap();
    let refused = talk.says("FF FA 2C 66 07 FF F0").unwrap_err().to_string();
    assert!(refused.contains("7 data bits where 8 data bits"), "{refused}");
}

#[test]
fn what_is_not_answered_is_sent_once_more_and_then_given_up() {
    let mut talk = Talk::new(WANTED);
    let speed = hex("FF FA 2C 01 00 00 25 80 FF F0");
    talk.port.outgoing();
    assert_eq!(talk.says("FF FD 2C").unwrap(), speed);
    assert_eq!(talk.after(999).unwrap(), NOTHING);
    assert_eq!(talk.after(1).unwrap(), speed);
    assert_eq!(talk.after(999).unwrap(), NOTHING);
    let why = talk.after(1).unwrap_err();
    assert_eq!(why, Refusal::Unanswered("the speed"));
    // An answer to the second try does; the first one's, late, does no harm.
    let mut talk = Talk::new(WANTED);
    talk.says("FF FD 2C").unwrap();
    talk.after(1_000).unwrap();
    let answer = "FF FA 2C 65 00 00 25 80 FF F0";
    assert_eq!(talk.says(answer).unwrap(), hex("FF FA 2C 02 08 FF F0"));
    assert_eq!(talk.says(answer).unwrap(), NOTHING);
}

#[test]
fn a_server_that_does_not_agree_is_told_for_what_it_is() {
    let after = |said: &str| {
        let mut talk = Talk::new(WANTED);
        talk.says(said).unwrap();
        assert_eq!(talk.after(2_999).map(|_| ()), Ok(()));
        talk.after(1).unwrap_err()
    };
    assert_eq!(after(""), Refusal::Silent);
    assert_eq!(after("53 54 2C 2B 30 30"), Refusal::Raw);
    assert_eq!(after("FF FB 01 FF FD 18"), Refusal::NoComPort);
    assert_eq!(Talk::new(WANTED).says("FF FE 2C"), Err(Refusal::NoComPort));
    for refusal in [Refusal::NoComPort, Refusal::Raw, Refusal::Silent] {
        assert!(refusal.to_string().contains("use tcp: instead of rfc2217:"), "{refusal}");
    }
}

/// RFC 855: an option that is not known is refused.
#[test]
fn other_options_are_refused() {
    let mut talk = Talk::new(WANTED);
    talk.port.outgoing();
    // ECHO 1, TERMINAL-TYPE 24.
    assert_eq!(talk.says("FF FB 01 FF FD 18 FF FC 01 FF FE 18").unwrap(), hex("FF FE 01 FF FC 18"));
}

#[test]
fn known_faults_of_servers_are_borne() {
    let mut talk = Talk::new(WANTED);
    // A banner before anything, and text between.
    talk.says("57 65 6C 63 6F 6D 65 0D 0A FF FB 2C FF FD 2C 21").unwrap();
    // More bytes than the four of the speed, before or behind.
    assert_eq!(talk.says("FF FA 2C 65 00 00 25 80 00 08 FF F0").unwrap(), hex("FF FA 2C 02 08 FF F0"));
    talk.says("FF FA 2C 66 08 FF F0 FF FA 2C 67 01 FF F0 FF FA 2C 6B B0 FF F0 FF FA 2C 68 01 FF F0").unwrap();
    assert!(talk.port.is_ready());
    // Wrong answers to SET-CONTROL, the state of the modem again and again, a signature.
    talk.says(
        "FF FA 2C 69 00 FF F0 FF FA 2C 69 FF F0 FF FA 2C 6B 30 FF F0 FF FA 2C 64 78 FF F0 FF FA 2C FF F0",
    )
    .unwrap();
    talk.says("41").unwrap();
    assert_eq!((talk.data.as_slice(), talk.port.line_errors()), (&b"A"[..], 0));
    let speed = |answer: &str| Setting::Speed.in_use(&hex(answer), 9600);
    assert_eq!(speed("01 00 00 25 80"), Some(9600));
    assert_eq!((speed("00 00 09 60 00"), speed("25 80")), (Some(2400), None));
}

/// RFC 2217, NOTIFY-LINESTATE: 8 framing, 4 parity, 2 overrun; 1 is "data ready" and no error.
#[test]
fn errors_of_the_line_are_counted() {
    let mut talk = Talk::ready(WANTED);
    talk.says("FF FA 2C 6A 08 FF F0 FF FA 2C 6A 05 FF F0 FF FA 2C 6A 01 FF F0 FF FA 2C 6A 60 FF F0").unwrap();
    assert_eq!(talk.port.line_errors(), 2);
}

#[test]
fn a_server_that_will_not_have_eight_bits_gets_text() {
    let mut talk = Talk::ready(WANTED);
    talk.says("FF FC 00 FF FE 00 31 0D 00 32").unwrap();
    assert_eq!(talk.data, b"1\r2");
    assert_eq!(talk.port.wire(b"W\r"), b"W\r\0");
}

proptest! {
    /// Whatever comes in whatever portions: no failure, the same as at once, and nothing of it counts as data
    /// before the port is as wanted.
    #[test]
    fn any_bytes_in_any_portions(bytes in prop::collection::vec(any::<u8>(), 0..2_000), cut in 1_usize..40) {
        let told = |portion: usize| {
            let mut port = ComPort::new(WANTED, Moment(0));
            let mut data = Vec::new();
            let result = bytes.chunks(portion).try_for_each(|part| port.take_in(part, Moment(1), &mut data));
            (result, data, port.outgoing(), port.is_ready())
        };
        let (result, data, out, ready) = told(cut);
        prop_assert!(ready || data.is_empty());
        prop_assert_eq!((result, data, out, ready), told(2_000));
    }
}
