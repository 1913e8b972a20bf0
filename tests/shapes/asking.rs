//! What is asked of a scale, and its answers that are no weight.

use crate::captures::{decode, unhex};
use pourbook::scale::shape::{ALL, Answer, Ask, Decoded, by_name};

const ASKS: [Ask; 12] = [
    Ask::Now,
    Ask::WhenStable,
    Ask::Repeat,
    Ask::Stop,
    Ask::Zero,
    Ask::Tare,
    Ask::ClearTare,
    Ask::NextUnit,
    Ask::About,
    Ask::AboutNext,
    Ask::Information,
    Ask::InformationNext,
];

#[test]
fn a_scale_understands_what_it_is_asked() {
    for shape in ALL {
        let mut asked = 0;
        for ask in ASKS {
            let Some(bytes) = shape.ask(ask) else { continue };
            asked += 1;
            // Weights without end are ended by asking for one where the format has nothing better.
            let meant = if (shape.name(), ask) == ("command-reply", Ask::Stop) { Ask::Now } else { ask };
            assert_eq!(shape.understand(bytes), Some((meant, bytes.len())), "{} {ask:?}", shape.name());
            let behind = [b"\r\nhello\r\n", bytes, bytes].concat();
            assert_eq!(shape.understand(&behind), Some((meant, 9 + bytes.len())), "{} {ask:?}", shape.name());
            assert_eq!(shape.understand(&bytes[..1]).is_some(), bytes.len() == 1, "{} {ask:?}", shape.name());
        }
        match shape.name() {
            "stx-text" | "cr-led" => assert_eq!(asked, 0, "{} is only listened to", shape.name()),
            "soh-block" => assert!(asked == 1 && shape.ask(Ask::Now).is_some()),
            _ => assert!(asked >= 3 && shape.ask(Ask::Now).is_some() && shape.ask(Ask::Zero).is_some()),
        }
        assert_eq!(shape.understand(b""), None);
    }
}

/// SMA SCP-0499 clause 4: the commands of the standard, byte by byte.
#[test]
fn sma_commands_are_the_standards() {
    let sma = by_name("sma").unwrap();
    for (ask, hex) in [
        (Ask::Now, "0a 57 0d"),
        (Ask::WhenStable, "0a 50 0d"),
        (Ask::Repeat, "0a 52 0d"),
        (Ask::Stop, "1b"),
        (Ask::Zero, "0a 5a 0d"),
        (Ask::Tare, "0a 54 0d"),
        (Ask::About, "0a 41 0d"),
        (Ask::AboutNext, "0a 42 0d"),
        (Ask::Information, "0a 49 0d"),
        (Ask::InformationNext, "0a 4e 0d"),
        (Ask::ClearTare, "0a 43 0d"),
        (Ask::NextUnit, "0a 55 0d"),
    ] {
        assert_eq!(sma.ask(ask).unwrap(), unhex(hex), "{ask:?}");
    }
    // A tare that is given, not weighed, is another command.
    assert_eq!(sma.understand(&unhex("0a 54 38 36 2e 31 30 0d")), None);
}

/// The commands of the formats framed by control bytes: `stx-words` from memory, the others read second-hand.
#[test]
fn commands_of_control_framed_formats_are_a_byte_or_two() {
    for (name, ask, hex) in [
        ("stx-words", Ask::Now, "50"),
        ("stx-words", Ask::Zero, "5a"),
        ("stx-words", Ask::Tare, "54"),
        ("stx-words", Ask::ClearTare, "43"),
        ("lf-etx-status", Ask::Now, "57 0d"),
        ("lf-etx-status", Ask::Zero, "5a 0d"),
        ("lf-etx-status-inverted", Ask::Tare, "54 0d"),
        ("lf-etx-status-inverted", Ask::NextUnit, "55 0d"),
        ("soh-block", Ask::Now, "05 11"),
    ] {
        assert_eq!(by_name(name).unwrap().ask(ask).unwrap(), unhex(hex), "{name} {ask:?}");
    }
    // Half a question is none.
    assert_eq!(by_name("soh-block").unwrap().understand(&[0x05, 0x05]), None);
}

#[test]
fn an_answer_sent_is_the_answer_read() {
    let about = |name: &str, value: &str| Answer::About(name.into(), value.into());
    let sma = [
        (Ask::About, about("SMA", "2/1.0")),
        (Ask::AboutNext, about("SN", "")),
        (Ask::AboutNext, Answer::Unknown),
        (Ask::Now, Answer::Damaged),
        (Ask::About, about("diagnostics", "no fault found")),
    ];
    let refused: Vec<Answer> = ["Z I\r\n", "Z +\r\n", "Z -\r\n", "EL\r\n"]
        .iter()
        .map(|line| match decode(by_name("command-reply").unwrap(), [line.as_bytes()]).remove(0) {
            Decoded::Answer(answer @ Answer::Refused(_)) => answer,
            other => panic!("{line:?} was read as {other:?}"),
        })
        .collect();
    let reply = [
        (Ask::Zero, Answer::Done),
        (Ask::Tare, Answer::Done),
        (Ask::Now, Answer::Unknown),
        (Ask::Now, Answer::Damaged),
        (Ask::About, about("I2", "Bench 6000")),
    ];
    let reply = reply.into_iter().chain(refused.into_iter().map(|answer| (Ask::Zero, answer)));
    let unknown = vec![(Ask::Now, Answer::Unknown)];
    let not_ready = match decode(by_name("soh-block").unwrap(), [&[0x15][..]]).remove(0) {
        Decoded::Answer(answer) => vec![(Ask::Now, answer)],
        other => panic!("NAK was read as {other:?}"),
    };
    for (name, answers) in [
        ("sma", sma.to_vec()),
        ("command-reply", reply.collect()),
        ("lf-etx-status", unknown.clone()),
        ("lf-etx-status-inverted", unknown),
        ("soh-block", not_ready),
    ] {
        let shape = by_name(name).unwrap();
        for (to, answer) in answers {
            let bytes = shape.reply(to, &answer).unwrap();
            assert_eq!(decode(shape, [bytes.as_slice()]), [Decoded::Answer(answer)], "{name}");
        }
    }
    for (name, answer) in [
        ("sma", Answer::Done),
        ("header-comma", Answer::Done),
        ("sign-digits-unit", Answer::Unknown),
        ("stx-words", Answer::Done),
        ("stx-text", Answer::Unknown),
        ("lf-etx-status", Answer::Done),
        ("soh-block", Answer::Done),
        ("cr-led", Answer::Unknown),
    ] {
        assert_eq!(by_name(name).unwrap().reply(Ask::Zero, &answer), None);
    }
}
